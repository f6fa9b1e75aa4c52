//! A set: one source through several voices, at matched and at true levels, measured as written; and read back.

mod files;
mod impulses;
mod order;
mod stored;

pub use impulses::Impulses;
pub use order::{Filled, Order, SetError, Spectrum, Watch};
pub use stored::{FIGURES, MOST_ARRANGEMENTS, StoredError, StoredProblem, StoredSet, StoredTake};
