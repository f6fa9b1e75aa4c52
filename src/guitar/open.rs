//! A guitar by the path of its file, or by the name of a built-in one.

use std::path::Path;

use super::{Guitar, guitar_presets};
use crate::document::{Document, OpenError, Refusal, nearest};

/// Why there is no guitar at a path or under a name.
#[derive(Debug, thiserror::Error)]
pub enum GuitarError {
    /// It is a single word, and neither a file nor a built-in guitar.
    #[error("`{given}` is neither a file nor a built-in guitar")]
    Unknown {
        /// The word as given.
        given: String,
    },
    /// The file cannot be read.
    #[error(transparent)]
    Open(#[from] OpenError),
    /// The file has faults.
    #[error(transparent)]
    Refused(Box<Refusal>),
}

impl GuitarError {
    /// Returns what to do about it; nothing beside what each fault of a file says itself.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::Unknown { given } => {
                let known = || guitar_presets().iter().map(|preset| preset.name);
                Some(nearest(given, known()).map_or_else(
                    || {
                        format!(
                            "built in are {}; `drywire presets copy NAME` makes a file to edit",
                            known().collect::<Vec<_>>().join(", ")
                        )
                    },
                    |near| format!("did you mean `{near}`?"),
                ))
            }
            Self::Open(error) => Some(error.hint()),
            Self::Refused(_) => None,
        }
    }
}

impl From<Refusal> for GuitarError {
    fn from(refusal: Refusal) -> Self {
        Self::Refused(Box::new(refusal))
    }
}

impl Guitar {
    /// Returns the guitar whose file is at `path`, or the built-in one of that name where no file is called so.
    ///
    /// # Errors
    /// [`GuitarError`] where there is neither, or the file cannot be read or has faults.
    pub fn open(path: &Path) -> Result<Self, GuitarError> {
        let given = path.to_string_lossy();
        let built_in = guitar_presets().iter().find(|preset| path.as_os_str() == preset.name);
        match built_in {
            Some(preset) if !path.is_file() => Ok(Self::read(&preset.document())?),
            _ if !given.contains(['/', '.', '\\']) && !path.exists() => {
                Err(GuitarError::Unknown { given: given.into_owned() })
            }
            _ => Ok(Self::read(&Document::open(path)?)?),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_guitar_is_found_by_its_file_or_its_built_in_name() {
        let built_in = Guitar::built_in("set-neck").unwrap();
        assert_eq!(Guitar::open(Path::new("set-neck")).unwrap(), built_in);
        assert_eq!(Guitar::open(Path::new("presets/guitars/set-neck.toml")).unwrap(), built_in);
        let near = Guitar::open(Path::new("set-nek")).unwrap_err();
        assert_eq!(near.hint().as_deref(), Some("did you mean `set-neck`?"));
        let far = Guitar::open(Path::new("xylophone")).unwrap_err();
        assert!(far.hint().unwrap().contains("built in are set-neck, "), "{far}");
        let missing = Guitar::open(Path::new("none/such.toml")).unwrap_err();
        assert!(matches!(missing, GuitarError::Open(OpenError::Unreadable { .. })), "{missing}");
    }
}
