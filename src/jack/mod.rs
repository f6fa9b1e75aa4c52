//! What a meter reads at a guitar's jack, wherever its selectors and switches stand.
//!
//! One function tells it, with its band, to everything that asks: a plan that is checked, the sheet to solder from,
//! and the judgement of readings.

mod expected;
mod readings;
mod seat;
mod state;

pub use expected::{AtJack, Expected, Tolerance};
pub use readings::JackReadings;
pub use seat::Seat;
pub(crate) use seat::heard;
pub use state::State;
