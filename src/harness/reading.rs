//! A meter's readings on a wired cavity as they are given: `selector:2=3.9k`, `selector:2+volume@0=0`, `tone.case=beep`.

use std::fmt;

use super::{Harness, Terminal};
use crate::document::nearest;
use crate::guitar::Pot;
use crate::jack::State;
use crate::leads::{MeterError, OhmmeterReading};
use crate::quantity::parse_plain;

/// Where a reading is taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ReadWhere {
    /// Between tip and sleeve, every knob at 10 but the one named.
    Jack {
        /// The place of the state.
        state: usize,
        /// The place of the turned knob's track, and where it stands.
        knob: Option<(usize, f64)>,
    },
    /// Between this terminal and the sleeve.
    Metal(Terminal),
}

/// What the meter showed.
#[derive(Debug, Clone, PartialEq)]
pub enum Shown {
    /// A resistance, or open.
    Ohms(OhmmeterReading),
    /// Continuity.
    Beep,
    /// None.
    NoBeep,
}

/// A reading.
#[derive(Debug, Clone, PartialEq)]
pub struct MeterReading {
    /// Where it was taken, as it is called.
    pub name: String,
    /// The same.
    pub place: ReadWhere,
    /// What was shown.
    pub shown: Shown,
}

/// A text that is no reading on this cavity.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum MeterReadingError {
    /// The text does not say what was read where.
    #[error("`{given}` is not a place and what the meter read there, such as selector:2+volume@0=0")]
    NoPair {
        /// The text as given.
        given: String,
    },
    /// The guitar has no such state.
    #[error("the guitar has no state `{given}`")]
    UnknownState {
        /// The name as given.
        given: String,
        /// What to do about it.
        hint: String,
    },
    /// The guitar has no such knob.
    #[error("the guitar has no knob `{given}`")]
    UnknownKnob {
        /// The name as given.
        given: String,
        /// What to do about it.
        hint: String,
    },
    /// A knob stands nowhere there.
    #[error("`{given}` is no place of a knob; allowed is from 0 to 10")]
    NoPlace {
        /// The text as given.
        given: String,
    },
    /// The guitar has no such terminal.
    #[error("the guitar has no terminal `{given}`")]
    UnknownTerminal {
        /// The name as given.
        given: String,
        /// What to do about it.
        hint: String,
    },
    /// Continuity that is neither there nor not.
    #[error("`{given}` is neither `beep` nor `open`")]
    NoBeep {
        /// The text as given.
        given: String,
    },
    /// What was read is no resistance.
    #[error("what `{place}` reads: {cause}")]
    NoMeter {
        /// Where it was read.
        place: String,
        /// Why it is none.
        cause: MeterError,
    },
}

impl MeterReadingError {
    /// Returns what to do about it.
    pub fn hint(&self) -> String {
        match self {
            Self::NoPair { .. } => "write the place, =, and what the meter shows".to_owned(),
            Self::UnknownState { hint, .. }
            | Self::UnknownKnob { hint, .. }
            | Self::UnknownTerminal { hint, .. } => hint.clone(),
            Self::NoPlace { .. } => "as in volume@0 or volume@5".to_owned(),
            Self::NoBeep { .. } => "write beep where the meter beeps against the jack's sleeve".to_owned(),
            Self::NoMeter { .. } => {
                "write what the meter shows, such as 7.9k, or open where it shows OL".to_owned()
            }
        }
    }
}

impl fmt::Display for Shown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Ohms(ohms) => ohms.fmt(f),
            Self::Beep => f.write_str("beep"),
            Self::NoBeep => f.write_str("open"),
        }
    }
}

/// The most of a wrong text that is repeated.
const SHOWN: usize = 80;

impl MeterReading {
    /// Returns whether `text` is a reading of a kind that only a whole cavity has: with a knob turned, or of continuity.
    pub fn is_of_a_cavity(text: &str) -> bool {
        let place = text.split_once('=').map_or(text, |(place, _)| place);
        place.contains('@') || place.contains('.')
    }
}

impl Harness {
    /// Returns the reading that `text` states.
    ///
    /// # Errors
    /// [`MeterReadingError`] where it is none.
    pub fn reading(&self, text: &str) -> Result<MeterReading, MeterReadingError> {
        let short = |text: &str| text.trim().chars().take(SHOWN).collect::<String>();
        let (place, shown) =
            text.split_once('=').ok_or_else(|| MeterReadingError::NoPair { given: short(text) })?;
        let place = place.trim();
        if place.contains('.') && !place.contains('@') {
            return self.continuity(place, shown.trim(), short);
        }
        let (mut throws, mut knob) = (Vec::new(), None);
        for part in place.split('+').map(str::trim) {
            match part.split_once('@') {
                Some((name, turned)) => knob = Some(self.knob(&short(name), &short(turned))?),
                None => throws.push(part),
            }
        }
        let name = if throws.is_empty() { State::AS_IT_IS.to_owned() } else { throws.join("+") };
        let names = self.throws.names();
        let state = names.iter().position(|own| *own == name).ok_or_else(|| {
            let near = nearest(&name, names.iter().map(String::as_str));
            let hint = near.map_or_else(
                || format!("name a throw of every selector and switch, as in {}", names[0]),
                |near| format!("did you mean `{near}`?"),
            );
            MeterReadingError::UnknownState { given: short(&name), hint }
        })?;
        let shown = OhmmeterReading::parse(shown)
            .map_err(|cause| MeterReadingError::NoMeter { place: short(place), cause })?;
        let place_read = ReadWhere::Jack { state, knob };
        Ok(MeterReading { name: place.to_owned(), place: place_read, shown: Shown::Ohms(shown) })
    }

    fn continuity(
        &self,
        place: &str,
        shown: &str,
        short: impl Fn(&str) -> String,
    ) -> Result<MeterReading, MeterReadingError> {
        let terminal = self.parts.terminal(place).ok_or_else(|| {
            let all: Vec<String> = self.parts.terminals().map(|own| self.parts.name_of(own)).collect();
            let metal = self.metal.iter().map(|own| self.parts.name_of(*own));
            let hint = nearest(place, all.iter().map(String::as_str)).map_or_else(
                || format!("metal that must beep is {}", metal.collect::<Vec<_>>().join(", ")),
                |near| format!("did you mean `{near}`?"),
            );
            MeterReadingError::UnknownTerminal { given: short(place), hint }
        })?;
        let shown = match shown {
            "beep" => Shown::Beep,
            "open" | "OL" | "0L" => Shown::NoBeep,
            other => match OhmmeterReading::parse(other) {
                Ok(ohms) => Shown::Ohms(ohms),
                Err(_) => return Err(MeterReadingError::NoBeep { given: short(other) }),
            },
        };
        Ok(MeterReading { name: place.to_owned(), place: ReadWhere::Metal(terminal), shown })
    }

    /// Returns the track of the knob called `name`, and where `turned` says that it stands.
    fn knob(&self, name: &str, turned: &str) -> Result<(usize, f64), MeterReadingError> {
        let names: Vec<&str> =
            self.branches.tracks.iter().map(|track| self.parts.all()[track.part].name()).collect();
        let track = names.iter().position(|own| *own == name).ok_or_else(|| {
            let hint = nearest(name, names.iter().copied()).map_or_else(
                || format!("it has {}", names.join(", ")),
                |near| format!("did you mean `{near}`?"),
            );
            MeterReadingError::UnknownKnob { given: name.to_owned(), hint }
        })?;
        let place = parse_plain(turned).ok().filter(|place| (0.0..=Pot::FULL).contains(place));
        let place = place.ok_or_else(|| MeterReadingError::NoPlace { given: turned.to_owned() })?;
        Ok((track, place))
    }
}
