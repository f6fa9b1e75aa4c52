//! What a take is told to be.

use std::fmt;

use serde::{Deserialize, Serialize};

/// What a take is, against what is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Verdict {
    /// As it is drawn, as far as takes tell.
    #[serde(rename = "consistent")]
    Consistent,
    /// Not as it is drawn.
    #[serde(rename = "not consistent")]
    NotConsistent,
    /// The takes tell neither.
    #[serde(rename = "cannot be told")]
    CannotBeTold,
}

impl Verdict {
    /// Returns it in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Consistent => "consistent",
            Self::NotConsistent => "not consistent",
            Self::CannotBeTold => "cannot be told",
        }
    }
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.words())
    }
}
