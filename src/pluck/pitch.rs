//! Note names and the frequencies they stand for.

use std::fmt;
use std::str::FromStr;

use crate::quantity::Hertz;

/// A pitch of the equal-tempered scale with A4 at 440 Hz, counted in semitones from C0.
///
/// # Source
/// ISO 16:1975, *Acoustics: Standard tuning frequency*, for A4; octaves are numbered from C as in scientific
/// pitch notation, in which a guitar's open strings are E2 A2 D3 G3 B3 E4.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Pitch(u8);

/// A text that is no note name.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "`{given}` is no note: a letter A to G, `#` or `b` if any, and the octave 0 to 8, such as E2, A#3 or Bb2"
)]
pub struct UnknownNote {
    /// The text as given.
    pub given: String,
}

const A4: u8 = 57;
const NAMES: [&str; 12] = ["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"];

impl Pitch {
    /// Returns the pitch `semitones` above C0.
    pub(super) const fn above_c0(semitones: u8) -> Self {
        Self(semitones)
    }

    /// Returns how many semitones the pitch lies above `other`, `None` where it lies below.
    pub fn semitones_above(self, other: Self) -> Option<u8> {
        self.0.checked_sub(other.0)
    }

    /// Returns the frequency.
    pub fn frequency(self) -> Hertz {
        Hertz::new(440.0 * ((f64::from(self.0) - f64::from(A4)) / 12.0).exp2())
    }
}

impl fmt::Display for Pitch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{}{}", NAMES[usize::from(self.0 % 12)], self.0 / 12))
    }
}

impl FromStr for Pitch {
    type Err = UnknownNote;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        read(text).ok_or_else(|| UnknownNote { given: text.to_owned() })
    }
}

fn read(text: &str) -> Option<Pitch> {
    let mut letters = text.chars();
    let letter = letters.next()?.to_ascii_uppercase();
    let step = match letter {
        'C' => 0,
        'D' => 2,
        'E' => 4,
        'F' => 5,
        'G' => 7,
        'A' => 9,
        'B' => 11,
        _ => return None,
    };
    let rest = letters.as_str();
    let (shift, octave) = match (rest.strip_prefix('#'), rest.strip_prefix('b')) {
        (Some(octave), _) => (1, octave),
        (None, Some(octave)) => (-1, octave),
        (None, None) => (0, rest),
    };
    let &[digit @ b'0'..=b'8'] = octave.as_bytes() else { return None };
    let semitones = 12 * i16::from(digit - b'0') + step + shift;
    u8::try_from(semitones).ok().map(Pitch)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_open_strings_have_the_frequencies_that_tables_of_the_scale_give() {
        // Any table of equal temperament at A4 = 440 Hz, to its two decimals.
        for (name, hertz) in
            [("E2", 82.41), ("A2", 110.0), ("D3", 146.83), ("G3", 196.0), ("B3", 246.94), ("E4", 329.63)]
        {
            let pitch: Pitch = name.parse().unwrap();
            assert!((pitch.frequency().value() - hertz).abs() < 0.005, "{name}");
            assert_eq!(pitch.to_string(), name);
        }
    }

    #[test]
    fn sharps_and_flats_name_the_same_pitch() {
        for (sharp, flat) in [("A#3", "Bb3"), ("C4", "B#3"), ("B3", "Cb4"), ("e3", "Fb3")] {
            assert_eq!(sharp.parse::<Pitch>(), flat.parse::<Pitch>(), "{sharp} {flat}");
        }
    }

    #[test]
    fn what_is_no_note_is_refused() {
        for text in ["", "H2", "E", "E9", "E-1", "E#b2", "E22", "2E", "Cb0", "é2", "E2 "] {
            assert_eq!(text.parse::<Pitch>(), Err(UnknownNote { given: text.to_owned() }));
        }
    }
}
