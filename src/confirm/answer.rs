//! What takes tell, as it is printed, kept and drawn.

use serde::{Deserialize, Serialize};

use super::Verdict;
use crate::quantity::signed;

/// What takes of a guitar tell.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Confirmation {
    /// Each recording, or each block of one, in the order in which they were given.
    pub takes: Vec<TakeAnswer>,
    /// Each later voice against the first.
    pub differences: Vec<DifferenceAnswer>,
    /// What is to be said besides.
    pub notes: Vec<String>,
}

/// What one recording, or one block of it, tells.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TakeAnswer {
    /// The voice, as it was named.
    pub name: String,
    /// The recording's file.
    pub file: String,
    /// How many strums, or notes, were measured in it.
    pub strums: usize,
    /// The arrangements that it is consistent with, best first; empty of the first voice, which others are told against.
    pub consistent_with: Vec<ConsistentWith>,
    /// What it is, against what is drawn.
    pub verdict: Verdict,
    /// The same in words, with what is not seen.
    pub words: String,
}

/// An arrangement that a take is consistent with.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ConsistentWith {
    /// The arrangement, or the throw or position where it is none.
    pub name: String,
    /// The sum of squares of what is off, each against its standard deviation, what goes together being taken together.
    pub chi2: f64,
    /// How many third octaves that is of.
    pub degrees: usize,
    /// How often chance alone makes it larger.
    pub p: f64,
}

/// How a later voice differs from the first: the later one less the first.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DifferenceAnswer {
    /// The first voice and the later one, as they were named.
    pub between: [String; 2],
    /// The RMS level as it was measured, in dB.
    pub level_db: f64,
    /// Its standard deviation.
    pub level_sd_db: f64,
    /// The level as it is foretold.
    pub foretold_db: f64,
    /// Its standard deviation.
    pub foretold_sd_db: f64,
    /// The third octaves that were measured.
    pub bands: Vec<BandAnswer>,
}

/// A third octave of a difference.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct BandAnswer {
    /// Its exact mid-frequency.
    pub hz: f64,
    /// As it was measured, in dB.
    pub measured_db: f64,
    /// The standard deviation of that.
    pub sd_db: f64,
    /// As it is foretold.
    pub foretold_db: f64,
    /// The standard deviation of that.
    pub foretold_sd_db: f64,
}

/// What takes of a guitar told on a day, as it is kept in the guitar's folder.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KeptConfirmation {
    /// The day, as YYYY-MM-DD.
    pub date: String,
    /// The guitar's name.
    pub guitar: String,
    /// What they told.
    #[serde(flatten)]
    pub told: Confirmation,
}

impl Confirmation {
    /// Returns whether any take is not consistent with what is drawn.
    pub fn is_no(&self) -> bool {
        self.takes.iter().any(|take| match take.verdict {
            Verdict::NotConsistent => true,
            Verdict::Consistent | Verdict::CannotBeTold => false,
        })
    }

    /// Returns the takes in their order, of those of one voice that are told the same only the first.
    pub fn distinct(&self) -> Vec<&TakeAnswer> {
        let mut distinct: Vec<&TakeAnswer> = Vec::new();
        for take in &self.takes {
            if !distinct.iter().any(|known| known.is_told_as(take)) {
                distinct.push(take);
            }
        }
        distinct
    }
}

impl TakeAnswer {
    /// Returns whether `other` is of the same voice and the same is told of it.
    pub fn is_told_as(&self, other: &Self) -> bool {
        (&self.name, &self.words) == (&other.name, &other.words)
    }
}

impl DifferenceAnswer {
    /// Returns the level as measured and as foretold in words, each with its standard deviation.
    pub fn level_words(&self) -> String {
        format!(
            "level {} ± {:.1} dB, foretold {} ± {:.1} dB",
            signed(self.level_db, 1),
            self.level_sd_db,
            signed(self.foretold_db, 1),
            self.foretold_sd_db
        )
    }
}
