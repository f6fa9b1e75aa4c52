//! The known resistor: its value and how far it may be off.

use std::fmt;
use std::str::FromStr;

use crate::quantity::{Ohms, parse_plain, parse_quantity};

/// A resistor of known value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Known {
    resistance: Ohms,
    /// As a share of the resistance.
    tolerance: f64,
}

/// A text that states no resistor that can serve.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum KnownError {
    /// It states no resistance.
    #[error("`{given}` is no resistor; wanted is a resistance with its tolerance, such as `10k 1%`")]
    NoResistor {
        /// The text.
        given: String,
    },
    /// The resistance is too far from that of a coil.
    #[error("the known resistor has {given}; allowed are {} to {}", Known::LEAST, Known::MOST)]
    Resistance {
        /// The resistance.
        given: Ohms,
    },
    /// The tolerance is none.
    #[error("the known resistor is to be within {given} %; allowed are 0 to 20 %")]
    Tolerance {
        /// The tolerance in percent.
        given: f64,
    },
}

impl KnownError {
    /// Returns what to do about it.
    pub const fn hint(&self) -> &'static str {
        match self {
            Self::NoResistor { .. } => "put it in quotes: a resistance, a space, its tolerance in percent",
            Self::Resistance { .. } => "take 10 kΩ with 1 %, which costs next to nothing",
            Self::Tolerance { .. } => {
                "without a tolerance it counts as 5 %; one that a good meter read counts as 1 %"
            }
        }
    }
}

impl Known {
    /// The smallest that is taken.
    const LEAST: Ohms = Ohms::new(500.0);
    /// The largest that is taken.
    const MOST: Ohms = Ohms::new(200e3);
    /// What one counts as whose tolerance is not told.
    const USUAL_TOLERANCE: f64 = 0.05;
    /// The largest tolerance taken.
    const WIDEST: f64 = 0.2;

    /// Returns the resistance.
    pub const fn resistance(self) -> Ohms {
        self.resistance
    }

    /// Returns how far the resistance may be off, as a share of it.
    pub const fn tolerance(self) -> f64 {
        self.tolerance
    }

    /// Returns the standard deviation of the resistance, as a share of it: anywhere within the tolerance is as likely.
    pub fn deviation(self) -> f64 {
        self.tolerance / 3f64.sqrt()
    }
}

impl FromStr for Known {
    type Err = KnownError;

    /// Reads `10k 1%`, `10k ±1 %`, `9.98k` and the like.
    fn from_str(text: &str) -> Result<Self, KnownError> {
        let refused = || KnownError::NoResistor { given: text.to_owned() };
        let trimmed = text.trim();
        let (resistance, tolerance) = match trimmed.strip_suffix('%') {
            None => (trimmed, None),
            Some(rest) => {
                let rest = rest.trim_end();
                let at = rest.rfind([' ', '±', ',']).ok_or_else(refused)?;
                let (resistance, tolerance) = rest.split_at(at);
                let tolerance = tolerance.trim_start_matches([' ', '±', ',', '+', '/', '-']);
                (resistance.trim_end_matches([' ', '±', ',', '+', '/', '-']), Some(tolerance))
            }
        };
        let resistance: Ohms = parse_quantity(resistance).map_err(|_| refused())?;
        let percent = tolerance.map(parse_plain).transpose().map_err(|_| refused())?;
        let tolerance = percent.map_or(Self::USUAL_TOLERANCE, |percent| percent / 100.0);
        if !(Self::LEAST..=Self::MOST).contains(&resistance) {
            return Err(KnownError::Resistance { given: resistance });
        }
        if !(0.0..=Self::WIDEST).contains(&tolerance) {
            return Err(KnownError::Tolerance { given: tolerance * 100.0 });
        }
        Ok(Self { resistance, tolerance })
    }
}

impl fmt::Display for Known {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ± {:.2} %", self.resistance, self.tolerance * 100.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_resistor_is_read_with_its_tolerance_as_people_write_it() {
        for (text, ohms, tolerance) in [
            ("10k 1%", 10e3, 0.01),
            ("10k ±1 %", 10e3, 0.01),
            ("10k +/- 0.5%", 10e3, 0.005),
            ("9.98k", 9980.0, 0.05),
            ("10 kΩ, 2%", 10e3, 0.02),
            ("4k7 1%", 4700.0, 0.01),
        ] {
            let known: Known = text.parse().unwrap_or_else(|e| panic!("{text}: {e}"));
            assert!((known.resistance().value() - ohms).abs() < 1e-6, "{text}: {known}");
            assert!((known.tolerance() - tolerance).abs() < 1e-12, "{text}: {known}");
        }
    }

    #[test]
    fn what_cannot_serve_is_refused_with_what_can() {
        for (text, told) in [
            ("ten k", "such as `10k 1%`"),
            ("10%", "such as `10k 1%`"),
            ("10 1%", "500 Ω to 200 kΩ"),
            ("10k 50%", "0 to 20 %"),
            ("", "such as"),
        ] {
            let error = text.parse::<Known>().unwrap_err();
            assert!(error.to_string().contains(told) && !error.hint().is_empty(), "{text}: {error}");
        }
    }
}
