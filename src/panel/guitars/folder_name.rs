//! Names of guitars' folders.

use std::fmt;

use serde::Serialize;

/// The most bytes of a name; file systems take 255.
const LONGEST: usize = 120;

/// The name of a folder that lies in the panel's: a single name, never a way out.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub(crate) struct FolderName(String);

impl FolderName {
    /// Returns `name` where it is the name of a folder that the panel may use.
    pub(crate) fn new(name: &str) -> Option<Self> {
        let is_plain = !name.is_empty()
            && name.len() <= LONGEST
            && !name.starts_with('.')
            && !name.contains(['/', '\\', ':'])
            && !name.chars().any(char::is_control)
            && name.trim() == name;
        is_plain.then(|| Self(name.to_owned()))
    }

    /// Returns a name made of what a guitar is called: its letters and digits, with `-` between.
    pub(crate) fn for_guitar(called: &str) -> Self {
        let mut name = String::new();
        for c in called.chars().flat_map(char::to_lowercase) {
            if c.is_alphanumeric() {
                name.push(c);
            } else if !name.is_empty() && !name.ends_with('-') {
                name.push('-');
            }
            if name.len() > LONGEST - 8 {
                break;
            }
        }
        let name = name.trim_end_matches('-');
        Self(if name.is_empty() { "guitar".to_owned() } else { name.to_owned() })
    }

    /// Returns the name with a number behind it.
    pub(crate) fn numbered(&self, number: usize) -> Self {
        Self(format!("{}-{number}", self.0))
    }

    pub(crate) fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for FolderName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_never_leads_out_of_the_folder() {
        for name in
            ["", ".", "..", "../x", "a/b", "a\\b", ".hidden", "a\0b", "a\nb", " a", "c:x", &"x".repeat(300)]
        {
            assert_eq!(FolderName::new(name), None, "{name:?}");
        }
        assert!(FolderName::new("Grandpa's guitar").is_some() && FolderName::new("ギター").is_some());
    }

    #[test]
    fn a_guitars_name_makes_a_folders_name() {
        for (called, name) in [
            ("Blue travel guitar", "blue-travel-guitar"),
            ("../../etc/passwd", "etc-passwd"),
            ("  ", "guitar"),
            ("Ä 2 (after)", "ä-2-after"),
        ] {
            assert_eq!(FolderName::for_guitar(called).as_str(), name);
            assert!(FolderName::new(name).is_some());
        }
        assert!(FolderName::new(FolderName::for_guitar(&"ä".repeat(500)).as_str()).is_some());
    }
}
