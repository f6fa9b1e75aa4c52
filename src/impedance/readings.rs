//! Single readings in place of a recording.

use super::bands::{FROM, TO};
use super::fit::Datum;
use crate::quantity::{Farads, Henries, Hertz, Quantity, counted, parse_quantity};

/// A single reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reading {
    /// What a meter for inductance read in series mode, and at which frequency.
    Inductance {
        /// What it read.
        read: Henries,
        /// Its frequency.
        at: Hertz,
    },
    /// The frequency at which the coil is loudest with a capacitor across.
    Peak {
        /// The capacitor; zero where there is none.
        capacitor: Farads,
        /// The frequency.
        at: Hertz,
    },
}

/// A text that states no readings.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ReadingError {
    /// An inductance is not stated as one.
    #[error("`{given}` is no reading of an inductance; wanted is one such as `1.9H@1kHz`")]
    Inductance {
        /// The text.
        given: String,
    },
    /// A resonance is not stated as one.
    #[error("`{given}` is no resonance; wanted are some such as `3.1k with 470p, 2.4k with 1n`")]
    Peak {
        /// The text.
        given: String,
    },
    /// A value is beyond what can be.
    #[error("{what} is {given}; allowed are {allowed}")]
    Beyond {
        /// What it is.
        what: &'static str,
        /// What was given.
        given: String,
        /// What is allowed.
        allowed: &'static str,
    },
    /// Of two peaks the one with the larger capacitor is not the lower.
    #[error(
        "with {less} the peak is at {lower} and with {more} at {higher}; a larger capacitor makes it lower, and each counts once"
    )]
    Rising {
        /// The capacitor of the one.
        less: Farads,
        /// Its peak.
        lower: Hertz,
        /// The capacitor of the other, as large or larger.
        more: Farads,
        /// Its peak, as high or higher.
        higher: Hertz,
    },
    /// A table of an impedance is no text.
    #[error("the curve is no text in UTF-8 or UTF-16")]
    NoText,
    /// The rows of a curve are none.
    #[error("row {row} of the curve: {what}")]
    Row {
        /// Which row, the heading being the first.
        row: usize,
        /// What is wrong.
        what: String,
    },
    /// The curve has too few points.
    #[error("the curve has {} from {FROM} to {TO}; wanted are 12 or more", counted(*given, "point"))]
    Few {
        /// How many.
        given: usize,
    },
}

impl ReadingError {
    /// Returns what to do about it.
    pub const fn hint(&self) -> &'static str {
        match self {
            Self::Inductance { .. } => "a meter says at which frequency it reads; without it 1 kHz is taken",
            Self::Peak { .. } => {
                "name for each the frequency of the peak and the capacitor across the coil, in quotes"
            }
            Self::Rising { .. } => "look whether two were exchanged, and measure again",
            Self::Beyond { .. } => "look at the prefix, and at the meter's range",
            Self::NoText => "save it as CSV, in UTF-8",
            Self::Row { .. } => {
                "the first line is frequency_hz,magnitude_ohm,phase_deg; numbers follow, one row a frequency, with commas, \
                 semicolons or tabs between them"
            }
            Self::Few { .. } => "measure from 200 Hz to 12 kHz, some twelve points an octave",
        }
    }
}

/// The standard deviation of an inductance as read: of the meter and of what the circuit does not tell of the core.
const OF_INDUCTANCE: f64 = 0.02;
/// The standard deviation of a peak's frequency: of reading it, of the capacitor, and of what the circuit does not tell.
const OF_PEAK: f64 = 0.015;

impl Reading {
    /// Returns the reading of an inductance that `text` states, such as `1.9H@1kHz`.
    ///
    /// # Errors
    /// [`ReadingError`] where it states none, or one that no coil has.
    pub fn inductance(text: &str) -> Result<Self, ReadingError> {
        let refused = || ReadingError::Inductance { given: text.to_owned() };
        let (read, at) = text.split_once('@').unwrap_or((text, "1k"));
        let read: Henries = parse_quantity(read.trim()).map_err(|_| refused())?;
        let at: Hertz = parse_quantity(at.trim()).map_err(|_| refused())?;
        within("the inductance", read, [0.01, 100.0], "10 mH to 100 H")?;
        within("the meter's frequency", at, [50.0, 10e3], "50 Hz to 10 kHz")?;
        Ok(Self::Inductance { read, at })
    }

    /// Returns the resonances that `text` states, such as `3.1k with 470p, 2.4k with 1n`.
    ///
    /// # Errors
    /// [`ReadingError`] where it states none, or some that no coil has.
    pub fn peaks(text: &str) -> Result<Vec<Self>, ReadingError> {
        let refused = |given: &str| ReadingError::Peak { given: given.trim().to_owned() };
        let peak = |part: &str| {
            let (at, capacitor) = part.split_once("with").ok_or_else(|| refused(part))?;
            let at: Hertz = parse_quantity(at.trim()).map_err(|_| refused(part))?;
            let capacitor: Farads = parse_quantity(capacitor.trim()).map_err(|_| refused(part))?;
            within("a resonance", at, [300.0, 30e3], "300 Hz to 30 kHz")?;
            within(
                "a capacitor across a coil",
                capacitor,
                [0.0, 2e-9],
                "none to 2 nF, beyond which the coil's own is not told",
            )?;
            Ok((capacitor, at))
        };
        let peaks: Vec<(Farads, Hertz)> = text.split(',').map(peak).collect::<Result<_, _>>()?;
        refuse_rising(&peaks)?;
        Ok(peaks.into_iter().map(|(capacitor, at)| Self::Peak { capacitor, at }).collect())
    }

    /// Returns the reading in words, with what it would be were it not off by so many standard deviations.
    pub(super) fn off_by(&self, deviations: f64) -> String {
        let by = |deviation: f64| (-deviations * deviation).exp();
        match *self {
            Self::Inductance { read, at } => {
                let fits = Henries::new(read.value() * by(OF_INDUCTANCE));
                format!("{read} was read at {at}, and {fits} goes best with all of them")
            }
            Self::Peak { capacitor, at } => {
                let with = if capacitor.value() > 0.0 {
                    format!("with {capacitor}")
                } else {
                    "without a capacitor".to_owned()
                };
                let fits = Hertz::new(at.value() * by(OF_PEAK));
                format!("{with} the peak was read at {at}, and {fits} goes best with all of them")
            }
        }
    }

    pub(super) fn datum(&self) -> Datum {
        match *self {
            Self::Inductance { read, at } => Datum::Inductance(read, at, OF_INDUCTANCE),
            Self::Peak { capacitor, at } => Datum::Peak(capacitor, at, OF_PEAK),
        }
    }
}

/// Refuses two peaks of which the one with the larger capacitor is not the lower: a coil has none such.
fn refuse_rising(peaks: &[(Farads, Hertz)]) -> Result<(), ReadingError> {
    let mut sorted = peaks.to_vec();
    sorted.sort_by(|one, other| {
        let [one, other] = [one, other].map(|(capacitor, at)| [capacitor.value(), at.value()]);
        one[0].total_cmp(&other[0]).then(one[1].total_cmp(&other[1]))
    });
    match sorted.windows(2).find(|pair| pair[0].1 <= pair[1].1) {
        Some(&[(less, lower), (more, higher)]) => Err(ReadingError::Rising { less, lower, more, higher }),
        Some(_) | None => Ok(()),
    }
}

fn within<Q: Quantity>(
    what: &'static str,
    given: Q,
    [least, most]: [f64; 2],
    allowed: &'static str,
) -> Result<(), ReadingError> {
    if (least..=most).contains(&given.value()) {
        Ok(())
    } else {
        Err(ReadingError::Beyond { what, given: given.to_string(), allowed })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readings_are_read_as_people_write_them_and_refused_with_what_is_wanted() {
        let read = Reading::inductance("1,9 H @ 120 Hz").unwrap();
        assert_eq!(read, Reading::Inductance { read: Henries::new(1.9), at: Hertz::new(120.0) });
        assert_eq!(Reading::inductance("2.2").unwrap(), Reading::inductance("2.2H@1k").unwrap());
        let peaks = Reading::peaks("3.1k with 470p, 2.4 kHz with 1n").unwrap();
        assert_eq!(peaks[1], Reading::Peak { capacitor: Farads::new(1e-9), at: Hertz::new(2400.0) });
        for (error, told) in [
            (Reading::inductance("much").unwrap_err(), "1.9H@1kHz"),
            (Reading::inductance("1.9mH").unwrap_err(), "10 mH to 100 H"),
            (Reading::peaks("3.1k").unwrap_err(), "with 470p"),
            (Reading::peaks("3.1k with 10n").unwrap_err(), "2 nF"),
            (Reading::peaks("2.4k with 470p, 3.1k with 1n").unwrap_err(), "a larger capacitor"),
            (Reading::peaks("3k with 1n, 3k with 1n").unwrap_err(), "counts once"),
        ] {
            assert!(error.to_string().contains(told) && !error.hint().is_empty(), "{error}");
        }
    }
}
