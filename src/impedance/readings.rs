//! Single readings in place of a recording, and impedances of other instruments.

use std::f64::consts::PI;

use num_complex::Complex64;

use super::bands::{FROM, Point, TO};
use super::fit::Datum;
use crate::quantity::{Farads, Henries, Hertz, Quantity, parse_quantity};

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
    /// The rows of a curve are none.
    #[error("row {row} of the curve: {what}")]
    Row {
        /// Which row, the heading being the first.
        row: usize,
        /// What is wrong.
        what: String,
    },
    /// The curve has too few points.
    #[error("the curve has {given} points from {FROM} to {TO}; wanted are 12 or more")]
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
            Self::Row { .. } => {
                "the first line is frequency_hz,magnitude_ohm,phase_deg; numbers follow, one row a frequency"
            }
            Self::Few { .. } => "measure from 200 Hz to 12 kHz, some twelve points an octave",
        }
    }
}

/// The standard deviation of an inductance as read: of the meter and of what the circuit does not tell of the core.
const OF_INDUCTANCE: f64 = 0.02;
/// The standard deviation of a peak's frequency: of reading it, of the capacitor, and of what the circuit does not tell.
const OF_PEAK: f64 = 0.015;
/// The standard deviation of another instrument's impedance at a point.
const OF_CURVE: f64 = 0.003;

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

/// Returns the impedance that rows of `frequency_hz,magnitude_ohm,phase_deg` state, in twelfths of an octave.
///
/// # Errors
/// [`ReadingError`] where a row states none, or there are too few between [`FROM`] and [`TO`].
pub fn curve(rows: &str) -> Result<Vec<Point>, ReadingError> {
    const FEWEST: usize = 12;
    const HEADING: [&str; 3] = ["frequency_hz", "magnitude_ohm", "phase_deg"];
    let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(rows.as_bytes());
    let row_error = |row: usize, what: String| ReadingError::Row { row, what };
    let heading = reader.headers().map_err(|error| row_error(1, error.to_string()))?.clone();
    if heading.iter().ne(HEADING) {
        return Err(row_error(1, format!("it is `{}`", heading.iter().collect::<Vec<_>>().join(","))));
    }
    let mut told: Vec<(i32, f64, Complex64)> = Vec::new();
    for (place, record) in reader.deserialize().enumerate() {
        let row = place + 2;
        let (hz, magnitude, phase): (f64, f64, f64) =
            record.map_err(|error| row_error(row, error.to_string()))?;
        let is_one =
            hz.is_finite() && hz > 0.0 && magnitude.is_finite() && magnitude > 0.0 && phase.abs() <= 360.0;
        if !is_one {
            return Err(row_error(row, format!("{hz},{magnitude},{phase} is no impedance at a frequency")));
        }
        if (FROM.value()..=TO.value()).contains(&hz) {
            #[expect(clippy::cast_possible_truncation, reason = "some hundred twelfths of an octave at most")]
            let twelfth = (12.0 * hz.log2()).round() as i32;
            told.push((twelfth, hz.ln(), Complex64::new(magnitude.ln(), phase * PI / 180.0)));
        }
    }
    told.sort_by(|one, other| one.1.total_cmp(&other.1));
    let points: Vec<Point> = told
        .chunk_by(|one, other| one.0 == other.0)
        .map(|band| {
            let count = band.len() as f64;
            Point {
                frequency: Hertz::new((band.iter().map(|(_, hz, _)| hz).sum::<f64>() / count).exp()),
                impedance: (band.iter().map(|(.., log)| log).sum::<Complex64>() / count).exp(),
                deviation: OF_CURVE,
            }
        })
        .collect();
    if points.len() < FEWEST { Err(ReadingError::Few { given: points.len() }) } else { Ok(points) }
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

    #[test]
    fn a_curve_is_read_in_twelfths_and_its_faults_are_told_by_row() {
        let row = |i: i32| {
            let hz = 100.0 * 200f64.powf(f64::from(i) / 399.0);
            format!("{hz},{},45", hz * 2.0)
        };
        let rows = (0..400).map(row).collect::<Vec<_>>().join("\n");
        let points = curve(&format!("frequency_hz,magnitude_ohm,phase_deg\n{rows}")).unwrap();
        assert!((70..75).contains(&points.len()), "{}", points.len());
        for point in &points {
            assert!((point.impedance.norm() / point.frequency.value() - 2.0).abs() < 1e-9);
            assert!((point.impedance.arg() - PI / 4.0).abs() < 1e-9);
        }
        for (text, told) in [
            ("f,z\n1,2\n", "row 1"),
            ("frequency_hz,magnitude_ohm,phase_deg\n100,2\n", "row 2"),
            ("frequency_hz,magnitude_ohm,phase_deg\n300,-2,0\n", "no impedance"),
            ("frequency_hz,magnitude_ohm,phase_deg\n300,2,0\n", "1 points"),
        ] {
            let error = curve(text).unwrap_err();
            assert!(error.to_string().contains(told) && !error.hint().is_empty(), "{text}: {error}");
        }
    }
}
