//! A single file that appears whole or not at all.

use std::ffi::OsStr;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use super::place::sync;
use super::temporary::{TemporaryFolder, file_in, sweep};
use super::{FolderError, Inputs, Obstacle};
use crate::digest::is_whole_file;

/// What to do where a file is there already.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Existing {
    /// It is replaced, whoever wrote it, and the new one has its permissions.
    Replace,
    /// It is replaced where it is one of ours, unchanged since it was written; else nothing is written.
    #[default]
    ReplaceOwn,
    /// It is kept, and nothing is written.
    Keep,
}

/// A file on its way into its place.
#[derive(Debug)]
pub struct NewFile {
    shown: String,
    target: PathBuf,
    existing: Existing,
    replaces: bool,
    // It goes before the folder that it lies in.
    file: NamedTempFile,
    _temporary: TemporaryFolder,
}

impl NewFile {
    /// Begins a file at `target`, through a link that may be there, and finds out whether it can be written.
    ///
    /// What killed runs left beside it is removed.
    ///
    /// # Errors
    /// [`FolderError`] where it cannot: see [`Obstacle`]. Nothing is changed then.
    pub fn begin(target: &Path, existing: Existing, inputs: &Inputs) -> Result<Self, FolderError> {
        let shown = target.display().to_string();
        Self::prepare(&shown, target, existing, inputs)
            .map_err(|obstacle| FolderError::new(shown, obstacle).through(target))
    }

    fn prepare(shown: &str, target: &Path, existing: Existing, inputs: &Inputs) -> Result<Self, Obstacle> {
        let there = match fs::metadata(target) {
            Ok(there) if there.is_file() => Some(there),
            Ok(there) if there.is_dir() => return Err(Obstacle::IsFolder),
            Ok(_) => return Err(Obstacle::IsSpecial { wanted: "file" }),
            Err(e) if e.kind() == io::ErrorKind::NotFound => None,
            Err(e) => return Err(e.into()),
        };
        if let Some(input) = inputs.at(target) {
            return Err(Obstacle::IsInput { name: None, input: input.to_owned() });
        }
        let target = match &there {
            Some(_) if existing == Existing::Keep => return Err(Obstacle::Exists),
            Some(_) if existing == Existing::ReplaceOwn && !is_whole_file(target)? => {
                return Err(Obstacle::Others { names: Vec::new() });
            }
            Some(there) if there.permissions().readonly() => return Err(Obstacle::Denied),
            Some(_) => target.canonicalize()?,
            None if fs::symlink_metadata(target).is_ok() => return Err(Obstacle::DanglingLink),
            None => std::path::absolute(target)?,
        };
        let folder = target.parent().ok_or(Obstacle::IsFolder)?;
        if !folder.is_dir() {
            return Err(Obstacle::NoFolder);
        }
        let temporary = TemporaryFolder::new(folder, OsStr::new(""))?;
        let file = file_in(&temporary.set())?;
        if let Some(there) = &there {
            file.as_file().set_permissions(there.permissions())?;
        }
        sweep(folder, temporary.path(), OsStr::new(""));
        let replaces = there.is_some();
        Ok(Self { shown: shown.to_owned(), target, existing, replaces, file, _temporary: temporary })
    }

    /// Writes all of `bytes` to a file at `target`, in place of one that may be there.
    ///
    /// # Errors
    /// As for [`NewFile::begin`] and [`NewFile::commit`].
    pub fn write(
        target: &Path,
        bytes: &[u8],
        existing: Existing,
        inputs: &Inputs,
    ) -> Result<(), FolderError> {
        let mut new = Self::begin(target, existing, inputs)?;
        let written = new.file().write_all(bytes);
        written.map_err(|e| new.failed(e))?;
        new.commit()
    }

    /// Returns the file to write to.
    pub fn file(&mut self) -> &mut fs::File {
        self.file.as_file_mut()
    }

    /// Returns the error that `cause` is, come up while writing.
    pub fn failed(&self, cause: io::Error) -> FolderError {
        FolderError::new(self.shown.clone(), cause)
    }

    /// Brings the file to the disk and puts it in its place.
    ///
    /// # Errors
    /// [`FolderError`] where the system cannot; what was there before is then still there.
    pub fn commit(self) -> Result<(), FolderError> {
        let Self { shown, target, existing, replaces, file, _temporary } = self;
        let put = || {
            file.as_file().sync_all()?;
            match (existing, replaces) {
                (Existing::Replace, _) => {}
                // It may have been changed while the new one was written.
                (Existing::ReplaceOwn, true) if is_whole_file(&target).or_else(nothing_is_whole)? => {}
                (Existing::ReplaceOwn, true) => return Err(Obstacle::Others { names: Vec::new() }),
                (Existing::Keep, _) | (Existing::ReplaceOwn, false) => {
                    return file.persist_noclobber(&target).map(drop).map_err(|e| match e.error.kind() {
                        io::ErrorKind::AlreadyExists => Obstacle::Exists,
                        _ => e.error.into(),
                    });
                }
            }
            file.persist(&target).map(drop).map_err(|e| e.error.into())
        };
        let synced = put().and_then(|()| Ok(target.parent().map_or(Ok(()), sync)?));
        synced.map_err(|obstacle| FolderError::new(shown, obstacle))
    }
}

/// Takes a file that is gone for one that may be replaced.
fn nothing_is_whole(error: io::Error) -> io::Result<bool> {
    if error.kind() == io::ErrorKind::NotFound { Ok(true) } else { Err(error) }
}
