//! A set: one source through several voices, at matched and at true levels, measured as written; and read back.

mod files;
mod heard;
mod impulses;
mod listener;
mod spec;
mod stored;

pub use heard::{LISTENING_LEVEL, LISTENING_LEVELS};
pub use impulses::Impulses;
pub use listener::Spectrum;
pub use spec::{Filled, SetError, SetSpec, Watch, Without};
pub use stored::{FIGURES, MOST_ARRANGEMENTS, StoredError, StoredProblem, StoredSet, StoredTake};
