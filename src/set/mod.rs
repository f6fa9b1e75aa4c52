//! A set: one source through several voices, at matched and at true levels, measured as written.

mod files;
mod heard;
mod impulses;
mod listener;
mod order;

pub use impulses::Impulses;
pub use listener::Spectrum;
pub use order::{Filled, Order, SetError, Watch};
