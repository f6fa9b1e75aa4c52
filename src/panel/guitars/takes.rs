//! The takes in a guitar's folder: recordings that are heard through its arrangements, tell what its coils are, or whether it sounds
//! as it was foretold.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use drywire::folder::{Existing, Inputs, NewFile};

use super::proofs::today;
use super::{FolderName, Guitars, GuitarsError, free_in};

/// What takes are for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum TakesFor {
    /// They are heard through the guitar's arrangements.
    Hearing,
    /// They tell what its coils are.
    Measuring,
    /// They tell whether it sounds as it was foretold.
    Confirming,
}

impl TakesFor {
    /// Returns where they lie in the guitar's folder.
    pub(crate) fn folder(self) -> &'static str {
        match self {
            Self::Hearing => "takes",
            Self::Measuring => "measured",
            Self::Confirming => "confirmed",
        }
    }

    /// Returns what a take is called whose owner calls it so: by its day where that tells one from another.
    fn called(self, called: &str) -> String {
        // Of a path that is sent in place of a name, the name.
        let name = Path::new(called).file_name().unwrap_or_default().to_string_lossy();
        match self {
            Self::Hearing => name.into_owned(),
            Self::Measuring | Self::Confirming => format!("{}-{name}", today()),
        }
    }
}

/// A take on its way into its place.
#[derive(Debug)]
pub(crate) struct NewTake {
    file: NewFile,
    path: PathBuf,
}

impl Guitars {
    /// Returns the names of a guitar's takes.
    pub(crate) fn takes(&self, guitar: &FolderName, of: TakesFor) -> Vec<String> {
        self.files_within(guitar, of.folder()).into_iter().map(|(name, _)| name).collect()
    }

    /// Returns the path of a take.
    pub(crate) fn take(
        &self,
        guitar: &FolderName,
        of: TakesFor,
        name: &str,
    ) -> Result<PathBuf, GuitarsError> {
        let path = self.file_within(guitar, of.folder(), name)?;
        path.ok_or_else(|| GuitarsError::NoTake(name.to_owned()))
    }

    /// Begins a take that its owner calls so, under a name that is free.
    pub(crate) fn begin_take(
        &self,
        guitar: &FolderName,
        of: TakesFor,
        called: &str,
    ) -> Result<NewTake, GuitarsError> {
        let folder = self.made_within(guitar, of.folder())?;
        let ending = ending(Path::new(called)).unwrap_or_else(|| "wav".to_owned());
        let path = free(&folder, Path::new(&of.called(called)), &ending);
        Ok(NewTake { file: NewFile::begin(&path, Existing::Keep, &Inputs::default())?, path })
    }

    /// Calls a take so, or so with a number where another is called so already, and returns its file's name.
    pub(crate) fn rename_take(
        &self,
        guitar: &FolderName,
        of: TakesFor,
        name: &str,
        called: &str,
    ) -> Result<String, GuitarsError> {
        let from = self.take(guitar, of, name)?;
        let own = ending(&from).unwrap_or_else(|| "wav".to_owned());
        let called = called.trim();
        let bare = called.strip_suffix(&format!(".{own}")).unwrap_or(called);
        if from.file_stem() == Some(FolderName::for_guitar(bare).as_str().as_ref()) {
            return Ok(name.to_owned());
        }
        // What stands behind a point is part of the name here, and no ending.
        let to = free(&self.within(guitar, of.folder())?, Path::new(&format!("{bare}.{own}")), &own);
        let what = format!("the take `{name}` could not be renamed");
        fs::rename(&from, &to).map_err(|cause| GuitarsError::System { what, cause })?;
        Ok(to.file_name().unwrap_or_default().to_string_lossy().into_owned())
    }

    /// Puts a take into the system's bin.
    pub(crate) fn remove_take(
        &self,
        guitar: &FolderName,
        of: TakesFor,
        name: &str,
    ) -> Result<(), GuitarsError> {
        trash::delete(self.take(guitar, of, name)?).map_err(GuitarsError::NoBin)
    }
}

/// Returns the ending of a take's name, where it is one.
fn ending(name: &Path) -> Option<String> {
    let ending = name.extension()?.to_string_lossy().to_lowercase();
    (ending.len() < 6 && ending.chars().all(|c| c.is_ascii_alphanumeric())).then_some(ending)
}

/// Returns a path in `folder` where nothing is, named like `given`.
fn free(folder: &Path, given: &Path, ending: &str) -> PathBuf {
    let stem = given.file_stem().map_or_else(|| "take".into(), |stem| stem.to_string_lossy());
    free_in(folder, FolderName::for_guitar(&stem).as_str(), ending)
}

impl NewTake {
    /// Adds what came next.
    pub(crate) fn add(&mut self, bytes: &[u8]) -> Result<(), GuitarsError> {
        let written = self.file.file().write_all(bytes);
        written.map_err(|cause| self.file.failed(cause).into())
    }

    /// Puts it in its place, and returns its path.
    pub(crate) fn commit(self) -> Result<PathBuf, GuitarsError> {
        self.file.commit()?;
        Ok(self.path)
    }
}
