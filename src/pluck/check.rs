//! Why a source cannot be made.

use std::fmt::Display;
use std::ops::RangeInclusive;

use super::{MAX_COILS, MAX_SAMPLES};
use crate::quantity::{Metres, Seconds};

/// A reason why a source cannot be made, with what was given and what is allowed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Unplayable {
    /// A setting lies outside its range, or is no number.
    #[error("{what} is {given}, outside {lowest} to {highest}")]
    OutOfRange {
        /// The setting, in words.
        what: &'static str,
        /// Its value.
        given: String,
        /// The least value allowed.
        lowest: String,
        /// The greatest value allowed.
        highest: String,
    },
    /// The layout has no coil, or more than a guitar has.
    #[error("a layout of {given} coils, where 1 to {MAX_COILS} are allowed")]
    CoilCount {
        /// How many were given.
        given: usize,
    },
    /// A fretted string ends before the place where it would be plucked or sensed.
    #[error("{what} is {at} from the bridge, but string {string} at fret {fret} is only {length} long")]
    BeyondTheFret {
        /// What lies too far out, in words.
        what: &'static str,
        /// Its distance from the bridge.
        at: Metres,
        /// The string's number, 1 for the highest.
        string: usize,
        /// The fret, 0 to [`super::FRETS`].
        fret: u8,
        /// The length left to sound.
        length: Metres,
    },
    /// A chord ends before its last string is struck.
    #[error("event {event} strums its last string {after:.3} s after the first but lasts only {length:.3} s")]
    StrumTooLong {
        /// The event's number, counted from one.
        event: usize,
        /// When the last string is struck, in seconds.
        after: f64,
        /// How long the event lasts, in seconds.
        length: f64,
    },
    /// The source ends before its last string is plucked.
    #[error("a string is plucked at {start}, but the source ends at {length}")]
    TooShort {
        /// When the first string that would be missing is plucked.
        start: Seconds,
        /// How long the source lasts.
        length: Seconds,
    },
    /// The source would take more memory than is given to it.
    #[error("{samples} samples in all channels, where at most {MAX_SAMPLES} are allowed")]
    TooLarge {
        /// How many samples would be made.
        samples: u64,
    },
}

impl Unplayable {
    /// Returns what to do about it.
    pub const fn hint(&self) -> &'static str {
        match self {
            Self::OutOfRange { .. } => "leave it out to have the usual value",
            Self::CoilCount { .. } => "give the place of each coil that is to have a channel",
            Self::BeyondTheFret { .. } => "play lower on the neck, or move that nearer to the bridge",
            Self::StrumTooLong { .. } => "strum faster, slow the tempo or lengthen the event",
            Self::TooShort { .. } => "leave the length out to have the whole phrase, or give a longer one",
            Self::TooLarge { .. } => "ask for a shorter time, a lower rate or fewer coils",
        }
    }
}

/// Faults being gathered, so that all are reported at once.
#[derive(Debug, Default)]
pub(super) struct Checks {
    faults: Vec<Unplayable>,
}

impl Checks {
    pub(super) fn fault(&mut self, fault: Unplayable) {
        self.faults.push(fault);
    }

    /// Notes a fault unless `value` is in `allowed`, in which no NaN is.
    pub(super) fn range<T: PartialOrd + Display + Copy>(
        &mut self,
        what: &'static str,
        value: T,
        allowed: RangeInclusive<T>,
    ) {
        if !allowed.contains(&value) {
            self.fault(Unplayable::OutOfRange {
                what,
                given: value.to_string(),
                lowest: allowed.start().to_string(),
                highest: allowed.end().to_string(),
            });
        }
    }

    /// Returns `value` where nothing was found against it.
    pub(super) fn passed<T>(self, value: T) -> Result<T, Vec<Unplayable>> {
        if self.faults.is_empty() { Ok(value) } else { Err(self.faults) }
    }

    /// Returns the faults where there are any on which further checks would stumble.
    pub(super) fn passed_so_far(&mut self) -> Result<(), Vec<Unplayable>> {
        std::mem::take(self).passed(())
    }
}
