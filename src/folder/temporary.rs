//! Temporaries beside what they will become, and the removal of those that killed runs left.
//!
//! A run holds a lock on its temporary as long as it lives; one without a lock is left over. The system drops the lock
//! however the run ends.

use std::ffi::OsStr;
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use tempfile::{Builder, NamedTempFile, TempDir};

const PREFIX: &str = ".drywire-";
const RANDOM_LETTERS: usize = 8;

/// What lies in a temporary folder: the lock, which tells the name of what is written, and the set.
const LOCK: &str = "lock";
const SET: &str = "set";

/// Another run's sweep may take a temporary for left over in the moment before it is locked.
const ATTEMPTS: u32 = 8;

/// A locked temporary folder with an empty set in it.
#[derive(Debug)]
pub(super) struct TemporaryFolder {
    folder: TempDir,
    is_kept: bool,
    _lock: File,
}

impl TemporaryFolder {
    /// Makes one in `place` for a folder called `name`.
    pub(super) fn new(place: &Path, name: &OsStr) -> io::Result<Self> {
        for _ in 0..ATTEMPTS {
            let folder = Builder::new().prefix(PREFIX).rand_bytes(RANDOM_LETTERS).tempdir_in(place)?;
            let lock = folder.path().join(LOCK);
            let mut lock = match OpenOptions::new().write(true).create(true).truncate(true).open(lock) {
                Err(e) if e.kind() == io::ErrorKind::NotFound => continue,
                lock => lock?,
            };
            lock.write_all(name.as_encoded_bytes())?;
            if is_ours(&lock) {
                fs::create_dir(folder.path().join(SET))?;
                return Ok(Self { folder, is_kept: false, _lock: lock });
            }
        }
        Err(io::Error::from(io::ErrorKind::ResourceBusy))
    }

    /// Returns the path of the set in it.
    pub(super) fn set(&self) -> PathBuf {
        self.folder.path().join(SET)
    }

    pub(super) fn path(&self) -> &Path {
        self.folder.path()
    }

    /// Leaves the folder where it is, for good, and returns the path of the set in it.
    pub(super) fn keep(&mut self) -> PathBuf {
        self.is_kept = true;
        self.folder.disable_cleanup(true);
        // No sweep takes a folder in which something stands that is not of a temporary.
        let _ = fs::write(self.folder.path().join("kept"), "");
        self.set()
    }
}

impl Drop for TemporaryFolder {
    fn drop(&mut self) {
        // The lock goes last: a folder whose removal is cut short is then still known for one.
        if !self.is_kept {
            let _ = fs::remove_dir_all(self.set());
        }
    }
}

/// Makes a locked temporary file in `place`, with the permissions of any new file.
pub(super) fn temporary_file(place: &Path) -> io::Result<NamedTempFile> {
    let mut builder = Builder::new();
    builder.prefix(PREFIX).rand_bytes(RANDOM_LETTERS);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // Less what the user's mask takes away.
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    for _ in 0..ATTEMPTS {
        let file = builder.tempfile_in(place)?;
        if is_ours(file.as_file()) {
            return Ok(file);
        }
    }
    Err(io::Error::from(io::ErrorKind::ResourceBusy))
}

/// Locks a file just made and returns whether it is still there; a file system without locks has no sweep either.
fn is_ours(file: &File) -> bool {
    match file.try_lock() {
        Ok(()) => still_linked(file),
        Err(TryLockError::WouldBlock) => false,
        Err(TryLockError::Error(_)) => true,
    }
}

#[cfg(unix)]
fn still_linked(file: &File) -> bool {
    use std::os::unix::fs::MetadataExt;
    file.metadata().is_ok_and(|m| m.nlink() > 0)
}

#[cfg(not(unix))]
fn still_linked(_: &File) -> bool {
    true
}

/// Removes what killed runs left in `place`, as far as possible, and returns whether a living run other than that of
/// the temporary at `own` writes to a folder called `name` there.
pub(super) fn sweep(place: &Path, own: &Path, name: &OsStr) -> bool {
    let mut is_busy = false;
    for entry in fs::read_dir(place).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.file_name() == own.file_name() || !is_temporary_name(&entry.file_name()) {
            continue;
        }
        match entry.file_type() {
            Ok(kind) if kind.is_dir() => is_busy |= sweep_folder(&path, name),
            Ok(kind) if kind.is_file() => sweep_file(&path),
            Ok(_) | Err(_) => {}
        }
    }
    is_busy
}

fn sweep_folder(path: &Path, name: &OsStr) -> bool {
    let is_known =
        |entry: io::Result<fs::DirEntry>| entry.is_ok_and(|e| e.file_name() == LOCK || e.file_name() == SET);
    let holds_only_ours = fs::read_dir(path).is_ok_and(|mut entries| entries.all(is_known));
    if !holds_only_ours {
        return false;
    }
    let Ok(mut lock) = OpenOptions::new().read(true).write(true).open(path.join(LOCK)) else {
        // It was killed before it made its lock, or after it removed it; only then is it empty.
        let _ = fs::remove_dir(path);
        return false;
    };
    match lock.try_lock() {
        Ok(()) => {
            // The lock goes last, so that a removal that is itself cut short can be taken up again.
            let _ = fs::remove_dir_all(path.join(SET));
            let _ = fs::remove_dir_all(path);
            false
        }
        Err(TryLockError::WouldBlock) => {
            let mut target = Vec::new();
            lock.read_to_end(&mut target).is_ok() && target == name.as_encoded_bytes()
        }
        Err(TryLockError::Error(_)) => false,
    }
}

fn sweep_file(path: &Path) {
    let Ok(file) = OpenOptions::new().write(true).open(path) else { return };
    if file.try_lock().is_ok() {
        let _ = fs::remove_file(path);
    }
}

/// Returns whether a name is one that only we give.
pub(super) fn is_temporary_name(name: &OsStr) -> bool {
    let letters = name.to_str().and_then(|n| n.strip_prefix(PREFIX)).unwrap_or_default();
    letters.len() == RANDOM_LETTERS && letters.bytes().all(|b| b.is_ascii_alphanumeric())
}
