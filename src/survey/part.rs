//! A survey that was not finished, kept so that the next run goes on from it.

use base64::Engine;
use base64::engine::general_purpose::STANDARD as BASE64;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::{DistinctCircuit, Heard, Space};
use crate::digest::{Form, is_whole};

/// What was heard so far.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SurveyPart {
    /// Which survey it is of: the digest of the guitar, the program and the circuits.
    #[serde(rename = "part_of_drywire_survey")]
    pub survey: String,
    /// What was heard of each circuit.
    pub heard: Vec<Option<Heard>>,
}

/// A text that is no part of a survey.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("it is no part of a survey: {reason}")]
pub struct NotAPart {
    /// Why not.
    pub reason: String,
}

impl SurveyPart {
    /// Returns the part of the survey of `circuits` in which nothing is heard yet.
    pub fn begun(space: &Space<'_>, circuits: &[DistinctCircuit<'_>]) -> Self {
        let mut hash = Sha256::new();
        hash.update(env!("CARGO_PKG_VERSION"));
        hash.update(format!("{:?}", space.guitar()));
        for circuit in circuits {
            hash.update(circuit.first.scope.to_string());
            hash.update(format!("{:?}", circuit.first.voice));
        }
        let survey = BASE64.encode(hash.finalize());
        Self { survey, heard: vec![None; circuits.len()] }
    }

    /// Returns the part that `text` is.
    ///
    /// # Errors
    /// [`NotAPart`] where it is none, or was changed after it was written.
    pub fn read(text: &[u8]) -> Result<Self, NotAPart> {
        if !is_whole(text) {
            return Err(NotAPart {
                reason: "it was not written by a survey, or was changed since".to_owned(),
            });
        }
        serde_json::from_slice(text).map_err(|e| NotAPart { reason: e.to_string() })
    }

    /// Takes over what `earlier` heard and returns whether it is of the same survey.
    pub fn take_up(&mut self, earlier: Self) -> bool {
        let is_same = earlier.survey == self.survey && earlier.heard.len() == self.heard.len();
        if is_same {
            self.heard = earlier.heard;
        }
        is_same
    }

    /// Returns the part as text that ends with a mark.
    ///
    /// # Panics
    /// Never: a part holds nothing that JSON cannot.
    pub fn text(&self) -> Vec<u8> {
        let mut text = serde_json::to_string(self).expect("a part holds nothing that JSON cannot");
        // The mark asks for the closing brace in a line of its own.
        text.insert(text.len() - 1, '\n');
        Form::Json.marked(&text).into_bytes()
    }
}
