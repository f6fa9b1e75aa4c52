//! A set: one source through several voices, at matched and at true levels, measured as written.

mod files;
mod order;

pub use order::{Filled, Order, SetError, Spectrum, Watch};
