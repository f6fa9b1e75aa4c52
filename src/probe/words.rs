//! What readings say, in words.

use super::{ProbeReport, ProbeVerdict};

impl ProbeReport {
    /// Returns what the readings say; nothing where nothing was read.
    pub fn verdict_in_words(&self) -> Option<&'static str> {
        match (self.verdict, self.faults.len()) {
            (ProbeVerdict::NothingRead, _) => None,
            (ProbeVerdict::AsExpected, _) => {
                Some("As expected: every reading is what the plan as drawn gives.")
            }
            (ProbeVerdict::Explained, 1) => {
                Some("Not as drawn. One single mistake, and no other, gives all of these readings.")
            }
            (ProbeVerdict::Explained, _) => {
                Some("Not as drawn. Any one of these mistakes gives all of these readings.")
            }
            (ProbeVerdict::Unexplained, 0) => Some(
                "Unexplained: no single mistake gives these readings, or any more of them than the plan as drawn. Read \
                 again, with the throws and the range of the meter checked; then look for two mistakes.",
            ),
            (ProbeVerdict::Unexplained, _) => Some(
                "Unexplained: no single mistake gives all of these readings. Read again, with the throws and the range \
                 of the meter checked; then look for two mistakes. These give some of the readings:",
            ),
        }
    }

    /// Returns what stands above the faults that these readings do not show.
    pub fn unseen_heading(&self) -> &'static str {
        match self.verdict {
            ProbeVerdict::AsExpected => "Not shown by these readings, although all are right",
            ProbeVerdict::NothingRead | ProbeVerdict::Explained | ProbeVerdict::Unexplained => {
                "Not shown by any reading at the jack, even when all are right"
            }
        }
    }
}
