//! Hand-written text files: read once, every fault found and placed, none reported alone.
//!
//! A [`Document`] is a TOML text with a name for messages. Its tables are read through [`Section`]s, which note
//! each wrong type, bad quantity and unknown key with its place; a document with any fault yields a [`Refusal`]
//! that holds all of them.

mod edit;
mod fault;
mod kind;
mod literal;
mod name;
mod place;
mod section;
mod unquoted;
mod visible;

use std::cell::RefCell;
use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use toml::de::DeTable;

pub use edit::{EditError, Stated};
pub use fault::{Fault, Refusal};
pub use kind::FileKind;
pub use literal::{Literal, quoted};
pub use name::{Name, NameError};
pub use place::{Place, PlaceError, PlaceStep};
pub use section::{KeyForm, KnownKey, Located, Section, nearest};
pub use visible::visible;

/// The largest document read, in bytes; a guitar with four pickups takes about three thousand.
pub const MAX_BYTES: u64 = 256 * 1024;

/// The most faults told of one document; how many more there are is told as well.
pub const MAX_FAULTS: usize = 100;

/// Returns the file beside `path`, of the same ending, whose name is most like its own, where one is alike enough to have
/// been meant.
pub fn nearest_file(path: &Path) -> Option<PathBuf> {
    let name = path.file_name()?.to_str()?;
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let is_of_its_kind = |entry: &Path| {
        path.extension().is_none_or(|ending| entry.extension() == Some(ending)) && entry.is_file()
    };
    let entries = std::fs::read_dir(folder).ok()?.filter_map(|entry| Some(entry.ok()?.path()));
    let mut names: Vec<String> = entries
        .filter(|entry| is_of_its_kind(entry))
        .filter_map(|entry| Some(entry.file_name()?.to_str()?.to_owned()))
        .collect();
    names.sort();
    nearest(name, names.iter().map(String::as_str)).map(|near| path.with_file_name(near))
}

/// A TOML text and the name by which messages call it.
#[derive(Debug, Clone)]
pub struct Document {
    name: String,
    text: String,
}

/// A document that could not be opened as text.
#[derive(Debug, thiserror::Error)]
pub enum OpenError {
    /// There is no such file, or it cannot be read.
    #[error("cannot read `{name}`: {cause}")]
    Unreadable {
        /// The path as given.
        name: String,
        /// What the system said.
        cause: io::Error,
    },
    /// A folder, pipe or device stands where a file is wanted.
    #[error("`{name}` is not a regular file")]
    NotAFile {
        /// The path as given.
        name: String,
    },
    /// The file is larger than any document of its kind.
    #[error("`{name}` has more than {MAX_BYTES} bytes, which is more than such a file may have")]
    TooLarge {
        /// The path as given.
        name: String,
    },
    /// The file is a sound.
    #[error("`{name}` is a sound file, where a text file is wanted")]
    Sound {
        /// The path as given.
        name: String,
    },
    /// The file holds bytes that are not UTF-8 text.
    #[error("`{name}` is not a text file: byte {at} is not UTF-8")]
    NotText {
        /// The path as given.
        name: String,
        /// The first offending byte, counted from zero.
        at: usize,
    },
}

impl OpenError {
    /// Returns what to do about it.
    pub fn hint(&self) -> String {
        let copies = "give the path of a text file in TOML; `drywire presets` copies out examples".to_owned();
        match self {
            Self::Unreadable { name, cause } if cause.kind() == io::ErrorKind::NotFound => {
                let near = nearest_file(Path::new(name));
                near.map_or(copies, |near| format!("did you mean `{}`?", near.display()))
            }
            Self::Sound { name } => format!("a sound is heard by `drywire hear {name}`"),
            Self::Unreadable { .. }
            | Self::NotAFile { .. }
            | Self::TooLarge { .. }
            | Self::NotText { .. } => copies,
        }
    }
}

impl Document {
    /// Returns a document of `text` that messages call `name`.
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Self {
        Self { name: name.into(), text: text.into() }
    }

    /// Reads the regular file at `path`.
    ///
    /// # Errors
    /// [`OpenError`] where it is missing, unreadable, no regular file (looked at before it is opened, so a pipe
    /// does not hang), a sound, larger than [`MAX_BYTES`] or not UTF-8.
    pub fn open(path: &Path) -> Result<Self, OpenError> {
        let name = path.display().to_string();
        let unreadable = |cause| OpenError::Unreadable { name: name.clone(), cause };
        if !std::fs::metadata(path).map_err(unreadable)?.is_file() {
            return Err(OpenError::NotAFile { name });
        }
        let mut bytes = Vec::new();
        File::open(path).and_then(|f| f.take(MAX_BYTES + 1).read_to_end(&mut bytes)).map_err(unreadable)?;
        if kind::is_sound(&bytes) {
            return Err(OpenError::Sound { name });
        }
        if bytes.len() as u64 > MAX_BYTES {
            return Err(OpenError::TooLarge { name });
        }
        match String::from_utf8(bytes) {
            Ok(text) => Ok(Self { name, text }),
            Err(e) => Err(OpenError::NotText { name, at: e.utf8_error().valid_up_to() }),
        }
    }

    /// Returns the name by which messages call the document.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Returns the line, counted from one, on which the byte `at` stands.
    pub fn line_at(&self, at: usize) -> usize {
        line_at(&self.text, at)
    }

    /// Returns what `interpret` makes of the document's top table.
    ///
    /// # Errors
    /// [`Refusal`] with every fault found: TOML's own, wrong types and values, and keys that `interpret` did not
    /// ask for.
    ///
    /// # Panics
    /// Where `interpret` returns `None` without having noted a fault, which is a bug of this program.
    pub fn interpret<T>(&self, interpret: impl FnOnce(&mut Section<'_>) -> Option<T>) -> Result<T, Refusal> {
        let faults = RefCell::new(Vec::new());
        let (table, errors) = DeTable::parse_recoverable(&self.text);
        let mut result = None;
        if errors.is_empty() {
            let mut top = Section::new(table.get_ref(), table.span(), String::new(), &faults);
            result = interpret(&mut top);
            top.refuse_unknown_keys();
        }
        let mut faults = faults.into_inner();
        if !errors.is_empty() {
            let errors = errors.iter().map(|e| Fault::new(e.span().unwrap_or(0..0), e.message().to_owned()));
            match kind::other_language(&self.text) {
                Some(fault) => faults.push(fault),
                None => faults.extend(unquoted::told(&self.text, errors.collect())),
            }
        }
        if faults.is_empty() {
            return Ok(result.expect("a document without faults is interpreted"));
        }
        faults.sort_by_key(|f| f.span.start);
        if let Some(next) = faults.get(MAX_FAULTS) {
            let more = faults.len() - MAX_FAULTS;
            let rest = Fault::new(next.span.clone(), format!("{more} more faults from here on"))
                .hint("mend those above first");
            faults.truncate(MAX_FAULTS);
            faults.push(rest);
        }
        Err(Refusal::new(self.name.clone(), self.text.clone(), faults))
    }
}

fn line_at(text: &str, at: usize) -> usize {
    1 + text.bytes().take(at).filter(|b| *b == b'\n').count()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Metres, Ohms};

    #[test]
    fn all_faults_of_a_document_are_reported_at_once_each_with_its_line() {
        let document = Document::new(
            "bench.toml",
            "scale = 648\n[coil]\nresistanse = \"3k9\"\nloss = \"12 apples\"\nleads = [\"red\", 3]\n",
        );
        let refusal = document
            .interpret(|top| {
                let scale = top.quantity::<Metres>("scale", &(0.5..=0.9));
                top.table("coil", |coil| {
                    coil.quantity::<Ohms>("resistance", &(1e3..=20e3));
                    coil.quantity::<Ohms>("loss", &(50e3..=5e6));
                    coil.texts("leads");
                });
                scale
            })
            .expect_err("four faults");
        let lines: Vec<usize> = refusal.faults().iter().map(|f| refusal.line_of(f)).collect();
        assert_eq!(lines, [1, 3, 4, 5], "{refusal}");
        let told = refusal.to_string();
        assert!(
            told.contains(
                "`scale` is 648 without its unit, which may be 648 mm (hint: in quotes: scale = \"648 mm\")"
            ),
            "{told}"
        );
        assert!(told.contains("did you mean `resistance`?"), "{told}");
        assert!(told.contains("`12 apples` is not a resistance such as"), "{told}");
        assert!(told.contains("`leads` is an integer where a text in quotes is wanted"), "{told}");
    }

    #[test]
    fn what_is_not_toml_is_a_fault_with_its_line() {
        let refusal = Document::new("x", "a = 1\nb = = 2\n").interpret(|_| Some(())).expect_err("no TOML");
        assert_eq!(refusal.line_of(&refusal.faults()[0]), 2);
    }

    #[test]
    fn a_folder_and_a_missing_file_are_refused_by_name() {
        assert!(matches!(Document::open(Path::new(".")), Err(OpenError::NotAFile { .. })));
        assert!(matches!(Document::open(Path::new("none.toml")), Err(OpenError::Unreadable { .. })));
    }
}
