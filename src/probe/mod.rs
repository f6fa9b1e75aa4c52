//! What the meter must read at the jack, and which single mistake explains it where it reads something else.
//!
//! Every single mistake of a plan is a changed plan; its direct-current circuit, throw by throw, is compared with
//! the readings. What the meter cannot tell apart is told apart by tests whose outcomes are worked out in the same
//! way.

mod bench;
mod check;
mod expected;
mod reading;
mod report;
mod settle;
mod suspect;
mod unseen;

pub use bench::{Bench, Position};
pub use expected::{Expected, Tolerance};
pub use reading::{ReadingError, ReadingOf};
pub use report::{Explanation, Report, Test, ThrowReading, Verdict, prove};
