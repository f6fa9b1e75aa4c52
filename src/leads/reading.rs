//! What a meter, a needle and a compass said.

use std::fmt;

use crate::guitar::Pole;
use crate::quantity::{Ohms, parse_quantity};

/// A lead or the shield, by its place among the conductors of the [`Readings`](super::Readings) it belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Conductor(pub(super) u8);

impl Conductor {
    /// Returns the conductor's place: the leads in their order, then the shield.
    pub const fn index(self) -> usize {
        self.0 as usize
    }
}

/// One of the two coils, told apart by its bobbin: the one named first and the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Bobbin {
    /// The coil named first.
    First,
    /// The other coil.
    Second,
}

impl Bobbin {
    /// Both coils.
    pub const BOTH: [Self; 2] = [Self::First, Self::Second];

    /// Returns 0 for the first coil and 1 for the second.
    pub const fn index(self) -> usize {
        self as usize
    }
}

/// What an ohmmeter showed.
#[derive(Debug, Clone, PartialEq)]
pub struct Meter {
    shown: String,
    ohms: Option<Ohms>,
}

/// A text that no ohmmeter shows.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum MeterError {
    /// The text is neither a resistance nor `open`.
    #[error("`{}` is not a resistance such as 5.9k, 5k9 or 5900, nor `open`", given.escape_debug())]
    NoResistance {
        /// The text as given.
        given: String,
    },
    /// The resistance is below zero.
    #[error("`{}` is below zero, which no resistance is", given.escape_debug())]
    Negative {
        /// The text as given.
        given: String,
    },
}

impl Meter {
    /// From here on a reading counts as open: no coil of a pickup has as much, fingers on the probes do.
    pub const OPEN_FROM: Ohms = Ohms::new(1e6);
    const LONGEST: usize = 24;

    /// Returns what `text` says: a resistance in any notation, or `open` (as shown by many meters also `OL`).
    ///
    /// # Errors
    /// [`MeterError`] where it is neither, or negative.
    pub fn parse(text: &str) -> Result<Self, MeterError> {
        let shown = text.trim();
        let given = || shown.chars().take(2 * Self::LONGEST).collect();
        if ["open", "ol", "o.l", "o.l."].contains(&shown.to_lowercase().as_str()) {
            return Ok(Self { shown: shown.to_owned(), ohms: None });
        }
        let fits = shown.chars().count() <= Self::LONGEST && !shown.chars().any(char::is_control);
        match parse_quantity::<Ohms>(shown) {
            Ok(ohms) if fits && ohms.value() >= 0.0 => Ok(Self { shown: shown.to_owned(), ohms: Some(ohms) }),
            Ok(ohms) if ohms.value() < 0.0 => Err(MeterError::Negative { given: given() }),
            Ok(_) | Err(_) => Err(MeterError::NoResistance { given: given() }),
        }
    }

    /// Returns the resistance, `None` where it was open or at least [`Meter::OPEN_FROM`].
    pub fn closed(&self) -> Option<Ohms> {
        self.ohms.filter(|ohms| *ohms < Self::OPEN_FROM)
    }

    /// Returns the resistance where one was shown that is too large to be a coil's.
    pub fn leakage(&self) -> Option<Ohms> {
        self.ohms.filter(|ohms| *ohms >= Self::OPEN_FROM)
    }
}

impl fmt::Display for Meter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.shown)
    }
}

/// The first swing of the needle, or of the digits, on touching a coil's poles with steel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Swing {
    /// Upwards.
    Plus,
    /// Downwards.
    Minus,
    /// At most a third of what the tapped coil's own leads show.
    None,
}

impl Swing {
    /// The swings by the text that stands for each in files.
    pub const CHOICES: [(&'static str, Self); 3] =
        [("+", Self::Plus), ("-", Self::Minus), ("none", Self::None)];

    /// Returns the swing's text in files and reports.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Plus => "+",
            Self::Minus => "-",
            Self::None => "none",
        }
    }
}

/// One reading taken on the bench.
#[derive(Debug, Clone, PartialEq)]
pub enum Reading {
    /// The resistance between two conductors.
    Ohms {
        /// The two conductors, which differ.
        between: [Conductor; 2],
        /// What the meter showed.
        reads: Meter,
    },
    /// The swing of a meter on two conductors while a coil's poles are touched with steel.
    Tap {
        /// The coil touched.
        coil: Bobbin,
        /// The conductor on the red probe.
        red: Conductor,
        /// The conductor on the black probe, not that on the red one.
        black: Conductor,
        /// The first swing.
        swing: Swing,
    },
    /// The pole at a coil's top, by a compass.
    Compass {
        /// The coil.
        coil: Bobbin,
        /// The pole that faces the strings.
        top_pole: Pole,
    },
}

/// Returns the pole's name in files and reports.
pub(super) const fn pole_name(pole: Pole) -> &'static str {
    match pole {
        Pole::North => "north",
        Pole::South => "south",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_meter_shows_a_resistance_or_that_the_circuit_is_open() {
        assert_eq!(Meter::parse("5k9").map(|m| m.closed()), Ok(Some(Ohms::new(5900.0))));
        assert_eq!(Meter::parse("0.0").map(|m| m.closed()), Ok(Some(Ohms::new(0.0))));
        for text in ["open", "OL", " Open "] {
            assert_eq!(Meter::parse(text).map(|m| m.closed()), Ok(None), "{text}");
        }
        let fingers = Meter::parse("2.2M").expect("a resistance");
        assert_eq!((fingers.closed(), fingers.leakage()), (None, Some(Ohms::new(2.2e6))));
    }

    #[test]
    fn what_no_meter_shows_is_refused_with_what_was_given() {
        for text in ["12 apples", "", "about 6k", "0000000000000000000000005.9k", "inf"] {
            let refusal = Meter::parse(text).expect_err(text);
            assert_eq!(refusal, MeterError::NoResistance { given: text.to_owned() });
        }
        assert_eq!(Meter::parse("-5k"), Err(MeterError::Negative { given: "-5k".to_owned() }));
    }
}
