//! Readings at the jack as they are given: `mode:1=7.9k`.

use super::Bench;
use crate::document::nearest;
use crate::leads::{Meter, MeterError};

/// What the meter showed in one position of a [`Bench`].
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingOf {
    pub(super) position: usize,
    pub(super) shown: Meter,
}

/// A text that is no reading at this bench.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ReadingError {
    /// The text does not say what was read where.
    #[error("`{}` is not a throw and what the meter read there, such as mode:1=7.9k", given.escape_debug())]
    NoPair {
        /// The text as given.
        given: String,
    },
    /// The guitar has no such throw.
    #[error("the guitar has no throw `{}`", given.escape_debug())]
    UnknownThrow {
        /// The name as given.
        given: String,
        /// What to do about it.
        hint: String,
    },
    /// One throw has two readings.
    #[error("`{throw}` is read twice")]
    Twice {
        /// The throw's name.
        throw: String,
    },
    /// What was read is no resistance.
    #[error("what `{throw}` reads: {cause}")]
    NoMeter {
        /// The throw's name.
        throw: String,
        /// Why it is none.
        cause: MeterError,
    },
}

/// The most of a wrong text that is repeated.
const SHOWN: usize = 40;

impl ReadingOf {
    /// Returns the reading that each of `texts` states; every fault is returned.
    ///
    /// # Errors
    /// A [`ReadingError`] for each text that is no reading or repeats a throw.
    pub fn parse_all(texts: &[String], bench: &Bench) -> Result<Vec<Self>, Vec<ReadingError>> {
        let mut readings: Vec<Self> = Vec::new();
        let mut faults = Vec::new();
        for text in texts {
            match Self::parse(text, bench) {
                Ok(reading) if readings.iter().any(|r| r.position == reading.position) => {
                    let throw = bench.positions()[reading.position].name().to_owned();
                    faults.push(ReadingError::Twice { throw });
                }
                Ok(reading) => readings.push(reading),
                Err(fault) => faults.push(fault),
            }
        }
        if faults.is_empty() { Ok(readings) } else { Err(faults) }
    }

    fn parse(text: &str, bench: &Bench) -> Result<Self, ReadingError> {
        let short = |text: &str| text.trim().chars().take(SHOWN).collect::<String>();
        let (name, read) = text.split_once('=').ok_or_else(|| ReadingError::NoPair { given: short(text) })?;
        let name = name.trim();
        let known = || bench.positions().iter().map(super::Position::name);
        let position = known().position(|known| known == name).ok_or_else(|| {
            let all = || format!("it has {}", known().collect::<Vec<_>>().join(", "));
            let hint = nearest(name, known()).map_or_else(all, |near| format!("did you mean `{near}`?"));
            ReadingError::UnknownThrow { given: short(name), hint }
        })?;
        let throw = || bench.positions()[position].name().to_owned();
        let shown = Meter::parse(read).map_err(|cause| ReadingError::NoMeter { throw: throw(), cause })?;
        Ok(Self { position, shown })
    }
}

impl ReadingError {
    /// Returns what to do about it.
    pub fn hint(&self) -> String {
        match self {
            Self::NoPair { .. } => {
                "write throw=ohms, separated by commas, with a point in decimals".to_owned()
            }
            Self::UnknownThrow { hint, .. } => hint.clone(),
            Self::Twice { .. } => "give each throw once: the reading that you trust".to_owned(),
            Self::NoMeter { .. } => {
                "write what the meter shows, such as 7.9k, or open where it shows OL".to_owned()
            }
        }
    }
}
