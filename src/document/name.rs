//! Names of a guitar's parts, which become file names and option values.

use std::fmt;

/// A name of 1 to 32 lower-case letters, digits and hyphens.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Name(String);

/// A text that is no [`Name`].
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{given}` is no name: 1 to 32 of a-z, 0-9 and - are allowed")]
pub struct NameError {
    /// The text as given.
    pub given: String,
}

impl Name {
    /// Returns `text` as a name.
    ///
    /// # Errors
    /// [`NameError`] where it is empty, longer than 32 characters or has any but `a-z`, `0-9` and `-`.
    pub fn new(text: &str) -> Result<Self, NameError> {
        let fits = (1..=32).contains(&text.len());
        let plain = text.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-');
        if fits && plain { Ok(Self(text.to_owned())) } else { Err(NameError { given: text.to_owned() }) }
    }

    /// Returns the name as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Name {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}
