//! What a measurement comes to.

use serde::{Serialize, Serializer};

/// What a measurement comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Values were found.
    Measured,
    /// Nothing conducts where the coil is to be.
    Open,
    /// Samples were lost or doubled while it was recorded.
    Slipped,
    /// What played and what recorded ran at rates too far apart.
    TwoClocks,
    /// The recording reached the end of its range.
    Clipped,
    /// The recording has too little of the signal above its noise.
    TooQuiet,
    /// The recording is not one of the signal, or not of a coil.
    NotThisSignal,
    /// The known resistor is not what it was said to be.
    WrongResistor,
}

impl Verdict {
    /// Returns it in the words of reports.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Measured => "measured",
            Self::Open => "open",
            Self::Slipped => "slipped",
            Self::TwoClocks => "two clocks",
            Self::Clipped => "clipped",
            Self::TooQuiet => "too quiet",
            Self::NotThisSignal => "not this signal",
            Self::WrongResistor => "wrong resistor",
        }
    }

    /// Returns what to do about it where there is a recording; nothing where values were found.
    const fn hint(self) -> &'static str {
        match self {
            Self::Measured => "",
            Self::Open => {
                "look whether both leads make contact and the levers stand where they were said to; then the wire is broken"
            }
            Self::Slipped => "the takes slipped: record again without stopping, with nothing else running",
            Self::TwoClocks => "play and record with the same sound card",
            Self::Clipped => "turn the input down until its meter stays below the end, and record again",
            Self::TooQuiet => "turn the output up, or the input, and look which channel is recorded",
            Self::NotThisSignal => {
                "play the file that this program wrote from its beginning to its end, record all of it, and look which input \
                 is recorded"
            }
            Self::WrongResistor => {
                "read the known resistor and the coil once more with the meter, and look whether it hung there in its turn"
            }
        }
    }
}

impl Serialize for Verdict {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.words())
    }
}

/// What an impedance was measured by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum By {
    /// A recording of the signal, against a known resistor.
    Recording,
    /// Another instrument, of which there is a table.
    Instrument,
}

/// Why no values are told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// The verdict, which is not [`Verdict::Measured`].
    pub verdict: Verdict,
    /// What was found, in words.
    pub words: String,
    by: By,
}

impl Refused {
    /// Returns a refusal of a recording.
    pub(super) fn new(verdict: Verdict, words: impl Into<String>) -> Self {
        Self { verdict, words: words.into(), by: By::Recording }
    }

    /// Returns a refusal of what was measured so.
    pub(super) fn of(by: By, verdict: Verdict, words: impl Into<String>) -> Self {
        Self { verdict, words: words.into(), by }
    }

    /// Returns the verdict in the words of reports, which are those of what it was measured by.
    pub fn told(&self) -> &'static str {
        match (self.by, self.verdict) {
            (By::Instrument, Verdict::NotThisSignal) => "no coil",
            (By::Instrument, Verdict::WrongResistor) => "wrong scale",
            (By::Instrument | By::Recording, verdict) => verdict.words(),
        }
    }

    /// Returns what to do about it.
    pub fn hint(&self) -> &'static str {
        match (self.by, self.verdict) {
            (By::Instrument, Verdict::NotThisSignal) => {
                "look whether the table is of what was said, with nothing else across it, in hertz, ohms and degrees"
            }
            (By::Instrument, Verdict::WrongResistor) => {
                "measure a resistor that you know with that instrument, and read the coil's ohms once more with the meter"
            }
            (By::Instrument | By::Recording, verdict) => verdict.hint(),
        }
    }
}
