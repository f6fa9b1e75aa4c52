//! The name of a file within a folder of ours.

use std::fmt;
use std::path::Path;

/// A relative name such as `matched/series.wav`, which cannot lead out of its folder.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct EntryName(String);

/// A text that is no name of a file within a folder.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{given}` is no name of a file within a folder, such as `matched/series.wav`")]
pub struct NotAName {
    /// The text as given.
    pub given: String,
}

impl EntryName {
    /// Returns the name that `text` is: one to four parts joined by `/`, each of 1 to 200 bytes without control
    /// characters or `\`, and none with a dot in front.
    ///
    /// # Errors
    /// [`NotAName`] where it is none.
    pub fn new(text: &str) -> Result<Self, NotAName> {
        let is_part = |part: &str| {
            (1..=200).contains(&part.len())
                && !part.starts_with('.')
                && !part.contains(|c: char| c.is_control() || c == '\\')
        };
        let parts = text.split('/');
        if parts.clone().count() <= 4 && parts.clone().all(is_part) {
            Ok(Self(text.to_owned()))
        } else {
            Err(NotAName { given: text.to_owned() })
        }
    }

    /// Returns the name as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    pub(super) fn as_path(&self) -> &Path {
        Path::new(&self.0)
    }

    /// Returns the folders that the file lies in, the outermost first.
    pub(super) fn folders(&self) -> impl Iterator<Item = &Path> {
        self.0.match_indices('/').map(|(at, _)| Path::new(&self.0[..at]))
    }
}

impl fmt::Display for EntryName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_cannot_lead_out_of_its_folder() {
        for name in ["figures.json", "matched/series.wav", "a/b/c/d"] {
            assert_eq!(EntryName::new(name).map(|n| n.to_string()), Ok(name.to_owned()));
        }
        for text in [
            "",
            "/etc/passwd",
            "../x",
            "a/../b",
            "a//b",
            "a/",
            ".hidden",
            "a/b/c/d/e",
            "a\\b",
            "a\nb",
            "a\0b",
        ] {
            assert!(EntryName::new(text).is_err(), "{text:?}");
        }
        let name = EntryName::new("a/b/c.wav").unwrap();
        assert_eq!(name.folders().collect::<Vec<_>>(), [Path::new("a"), Path::new("a/b")]);
    }
}
