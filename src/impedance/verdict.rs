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

    /// Returns what to do about it; nothing where values were found.
    pub const fn hint(self) -> &'static str {
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

/// Why no values are told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// The verdict, which is not [`Verdict::Measured`].
    pub verdict: Verdict,
    /// What was found, in words.
    pub words: String,
}

impl Refused {
    /// Returns a refusal.
    pub(super) fn new(verdict: Verdict, words: impl Into<String>) -> Self {
        Self { verdict, words: words.into() }
    }
}
