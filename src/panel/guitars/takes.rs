//! The takes in a guitar's folder: recordings that are heard through its arrangements.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use drywire::folder::{Existing, Inputs, NewFile};

use super::{FolderName, Guitars, GuitarsError};

/// Where they lie in the guitar's folder.
const FOLDER: &str = "takes";

/// A take on its way into its place.
#[derive(Debug)]
pub(crate) struct NewTake {
    file: NewFile,
    path: PathBuf,
}

impl Guitars {
    /// Returns the names of a guitar's takes.
    pub(crate) fn takes(&self, guitar: &FolderName) -> Vec<String> {
        let entries = self.within(guitar, FOLDER).map(|folder| fs::read_dir(folder).ok());
        let files = entries.ok().flatten().into_iter().flatten().flatten();
        let mut names: Vec<String> = files
            .filter(|entry| entry.file_type().is_ok_and(|kind| kind.is_file()))
            .filter_map(|entry| FolderName::new(entry.file_name().to_str()?).map(|name| name.to_string()))
            .collect();
        names.sort();
        names
    }

    /// Returns the path of a take.
    pub(crate) fn take(&self, guitar: &FolderName, name: &str) -> Result<PathBuf, GuitarsError> {
        let missing = || GuitarsError::NoTake(name.to_owned());
        let own = FolderName::new(name).ok_or_else(missing)?;
        let path = self.within(guitar, FOLDER)?.join(own.as_str());
        match fs::symlink_metadata(&path) {
            Ok(there) if there.file_type().is_symlink() => {
                Err(GuitarsError::Link(path.display().to_string()))
            }
            Ok(there) if there.is_file() => Ok(path),
            Ok(_) | Err(_) => Err(missing()),
        }
    }

    /// Begins a take that its owner calls so, under a name that is free.
    pub(crate) fn begin_take(&self, guitar: &FolderName, called: &str) -> Result<NewTake, GuitarsError> {
        let folder = self.made_within(guitar, FOLDER)?;
        let ending = ending(Path::new(called)).unwrap_or_else(|| "wav".to_owned());
        let path = free(&folder, Path::new(called), &ending);
        Ok(NewTake { file: NewFile::begin(&path, Existing::Keep, &Inputs::default())?, path })
    }

    /// Calls a take so, or so with a number where another is called so already, and returns its file's name.
    pub(crate) fn rename_take(
        &self,
        guitar: &FolderName,
        name: &str,
        called: &str,
    ) -> Result<String, GuitarsError> {
        let from = self.take(guitar, name)?;
        let own = ending(&from).unwrap_or_else(|| "wav".to_owned());
        let called = called.trim();
        let bare = called.strip_suffix(&format!(".{own}")).unwrap_or(called);
        // What stands behind a point is part of the name here, and no ending.
        let to = free(&self.within(guitar, FOLDER)?, Path::new(&format!("{bare}.{own}")), &own);
        if from.file_stem() != Some(FolderName::for_guitar(bare).as_str().as_ref()) {
            let what = format!("the take `{name}` could not be renamed");
            fs::rename(&from, &to).map_err(|cause| GuitarsError::System { what, cause })?;
            return Ok(to.file_name().unwrap_or_default().to_string_lossy().into_owned());
        }
        Ok(name.to_owned())
    }

    /// Puts a take into the system's bin.
    pub(crate) fn remove_take(&self, guitar: &FolderName, name: &str) -> Result<(), GuitarsError> {
        trash::delete(self.take(guitar, name)?).map_err(GuitarsError::NoBin)
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
    let stem = FolderName::for_guitar(&stem);
    let path = |name: FolderName| folder.join(format!("{name}.{ending}"));
    let mut number = 1;
    let mut free = path(stem.clone());
    while fs::symlink_metadata(&free).is_ok() {
        number += 1;
        free = path(stem.numbered(number));
    }
    free
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
