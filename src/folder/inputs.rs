//! The files that are read, which no writing may replace.

use std::io;
use std::path::Path;

/// Files that must be as they were when the work is done, known by what they are and not by their paths.
#[derive(Debug, Clone, Default)]
pub struct Inputs(Vec<(String, FileId)>);

impl Inputs {
    /// Returns no inputs.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds the file at `path`.
    ///
    /// # Errors
    /// What the system says where there is no such file.
    pub fn add(&mut self, path: &Path) -> io::Result<()> {
        self.0.push((path.display().to_string(), FileId::of(path)?));
        Ok(())
    }

    /// Returns the input, as it was given, that `path` leads to.
    pub(super) fn at(&self, path: &Path) -> Option<&str> {
        let id = FileId::of(path).ok()?;
        self.0.iter().find(|(_, input)| *input == id).map(|(name, _)| name.as_str())
    }
}

/// What makes a file the same file under any path.
#[cfg(unix)]
#[derive(Debug, Clone, PartialEq, Eq)]
struct FileId(u64, u64);

#[cfg(unix)]
impl FileId {
    fn of(path: &Path) -> io::Result<Self> {
        use std::os::unix::fs::MetadataExt;
        let metadata = std::fs::metadata(path)?;
        Ok(Self(metadata.dev(), metadata.ino()))
    }
}

/// The path free of links stands for the file where the system has no number for it; a second hard link to an input is
/// then not known for it.
#[cfg(not(unix))]
#[derive(Debug, Clone, PartialEq, Eq)]
struct FileId(std::path::PathBuf);

#[cfg(not(unix))]
impl FileId {
    fn of(path: &Path) -> io::Result<Self> {
        Ok(Self(path.canonicalize()?))
    }
}
