//! Figures of a set read back from their text.

use serde::Deserialize;

use super::{SCHEMA, SetFigures};

/// The largest text of figures that is read; a hundred arrangements with their notes take a twentieth of it.
pub const MAX_FIGURES_BYTES: u64 = 4 * 1024 * 1024;

/// A text that holds no figures which can be used.
#[derive(Debug, thiserror::Error)]
pub enum FiguresError {
    /// It is longer than any that is read.
    #[error("has more than {MAX_FIGURES_BYTES} bytes, and no set's figures have")]
    TooLong,
    /// It is no JSON, or a field is missing or of another kind.
    #[error("is broken: {0}")]
    Broken(#[from] serde_json::Error),
    /// It is in another form.
    #[error("is of schema {given}; schema {SCHEMA} is read")]
    OtherSchema {
        /// The number of that form.
        given: u64,
    },
}

impl FiguresError {
    /// Returns what to do about it.
    pub fn hint(&self) -> &'static str {
        match self {
            Self::TooLong | Self::Broken(_) => "render the set again with `drywire hear`",
            Self::OtherSchema { .. } => {
                "use the version of drywire that wrote the set, or render it again with this one"
            }
        }
    }
}

/// What every form of the figures states first.
#[derive(Deserialize)]
struct Form {
    schema: u64,
}

impl SetFigures {
    /// Returns the figures that the JSON `text` holds.
    ///
    /// # Errors
    /// [`FiguresError`] where it is too long, no JSON of such figures, or of another schema.
    pub fn from_json(text: &[u8]) -> Result<Self, FiguresError> {
        if text.len() as u64 > MAX_FIGURES_BYTES {
            return Err(FiguresError::TooLong);
        }
        let Form { schema } = serde_json::from_slice(text)?;
        if schema != u64::from(SCHEMA) {
            return Err(FiguresError::OtherSchema { given: schema });
        }
        Ok(serde_json::from_slice(text)?)
    }
}
