//! What the meter must read at the jack, and which single mistake explains it where it reads something else.
//!
//! Every single mistake is another guitar: something else is soldered, a coil is not sound, a knob or a lever stands
//! elsewhere. Its direct-current circuit, state by state, is compared with the readings. What the meter cannot tell
//! apart is told apart by tests whose outcomes are worked out in the same way.

mod bench;
mod case;
mod check;
mod kept;
mod naming;
mod reading;
mod report;
mod settle;
mod suspect;
mod suspects;
mod unseen;
mod words;

pub use crate::jack::{Expected, Tolerance};
pub use bench::{Bench, Position};
pub use kept::{KeptReading, KeptReadings};
pub use reading::{JackReadingError, ReadingOf, state_named};
pub use report::{Explanation, ProbeReport, ProbeVerdict, Stands, Test, ThrowReading, prove};
