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
        let entries = self.takes_folder(guitar).map(|folder| fs::read_dir(folder).ok());
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
        let path = self.takes_folder(guitar)?.join(own.as_str());
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
        let folder = self.takes_folder(guitar)?;
        fs::create_dir_all(&folder).map_err(|cause| GuitarsError::System {
            what: format!("the folder `{}` could not be made", folder.display()),
            cause,
        })?;
        let given = Path::new(called);
        let stem = given.file_stem().map_or_else(|| "take".into(), |stem| stem.to_string_lossy());
        let stem = FolderName::for_guitar(&stem);
        let ending = given.extension().map(|ending| ending.to_string_lossy().to_lowercase());
        let ending =
            ending.filter(|ending| ending.chars().all(|c| c.is_ascii_alphanumeric()) && ending.len() < 6);
        let ending = ending.as_deref().unwrap_or("wav");
        let names = std::iter::once(stem.clone()).chain((2..).map(|number| stem.numbered(number)));
        let paths = names.map(|name| folder.join(format!("{name}.{ending}")));
        let free = |path: &PathBuf| fs::symlink_metadata(path).is_err();
        let path = paths.into_iter().find(free).ok_or_else(|| GuitarsError::NoTake(called.to_owned()))?;
        Ok(NewTake { file: NewFile::begin(&path, Existing::Keep, &Inputs::default())?, path })
    }

    /// Returns the folder of a guitar's takes, which need not be there.
    fn takes_folder(&self, guitar: &FolderName) -> Result<PathBuf, GuitarsError> {
        let folder = self.home(guitar)?.join(FOLDER);
        match fs::symlink_metadata(&folder) {
            Ok(there) if there.file_type().is_symlink() => {
                Err(GuitarsError::Link(folder.display().to_string()))
            }
            Ok(_) | Err(_) => Ok(folder),
        }
    }
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
