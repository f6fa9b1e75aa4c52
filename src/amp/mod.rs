//! A generic amplifier and its loudspeaker after the guitar: what is left of a drop once an amplifier evens it out, and which
//! voice breaks up sooner.
//!
//! It is no particular amplifier. In the order in which a signal passes: gain, a coupling, an asymmetric stage, a coupling, a
//! symmetric limiter, a loudspeaker in a closed box. All curves pass zero with slope one, so that with little signal the chain
//! is exactly linear. The stages work at 352.8 kHz or more; no delay is added.
//!
//! How hard it is driven is told without volts, by how far the loudest moment of the baseline at the jack lies below or above
//! the level at which the stages clip.

mod cabinet;
mod chain;
mod coupling;
mod curve;
mod drive;
mod half_band;
mod stages;
mod tables;
mod triode;

pub use cabinet::Cabinet;
pub use chain::{Chain, LinearChain, rate_factor};
pub use curve::Curve;
pub use drive::{Amplification, Drive, DriveError, Headroom, Setting};
pub use stages::{Stages, TriodeSolution};
pub use tables::Tables;
