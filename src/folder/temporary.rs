//! Temporaries beside what they will become, and the removal of those that killed runs left.
//!
//! A temporary is a folder. The first thing in it is its lock, which says that it is one of ours; a folder that has no such
//! lock, whatever it is called, is left alone. Only between the folder's making and the lock's writing does it hold
//! nothing, and then its name tells: three of its letters follow from the others.
//!
//! A run holds the lock as long as it lives; a temporary without one who holds it is left over. The system drops the lock
//! however the run ends.

use std::ffi::OsStr;
use std::fs::{self, File, OpenOptions, TryLockError};
use std::hash::{BuildHasher, RandomState};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use tempfile::{Builder, NamedTempFile};

use crate::digest::Digest;

const PREFIX: &str = ".drywire-";
/// The letters of a name that are drawn, and those that follow from them.
const DRAWN: usize = 5;
const FOLLOWING: usize = 3;
const LETTERS: &[u8; 62] = b"0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz";

/// What lies in a temporary: the lock, and what is written.
const LOCK: &str = "lock";
const SET: &str = "set";
/// How a lock begins; after it comes the name of what is written.
const CLAIM: &[u8] = b"a temporary of drywire, removed by its next run here: ";

/// Another run's sweep may take a temporary for left over in the moment before it is locked.
const ATTEMPTS: u32 = 8;

/// A locked temporary folder with an empty set in it.
#[derive(Debug)]
pub(super) struct TemporaryFolder {
    folder: Folder,
    _lock: File,
}

/// A temporary's folder, which goes with it.
#[derive(Debug)]
struct Folder {
    path: PathBuf,
    is_kept: bool,
}

impl TemporaryFolder {
    /// Makes one in `place` for a folder called `name`, or for a file where the name is empty.
    pub(super) fn new(place: &Path, name: &OsStr) -> io::Result<Self> {
        for _ in 0..ATTEMPTS {
            let folder = place.join(drawn_name());
            match make_folder(&folder) {
                Err(e) if e.kind() == io::ErrorKind::AlreadyExists => continue,
                made => made?,
            }
            let folder = Folder { path: folder, is_kept: false };
            let lock = OpenOptions::new().write(true).create_new(true).open(folder.path.join(LOCK));
            let mut lock = match lock {
                Err(e) if e.kind() == io::ErrorKind::NotFound => continue,
                lock => lock?,
            };
            lock.write_all(&[CLAIM, name.as_encoded_bytes()].concat())?;
            if is_ours(&lock) {
                fs::create_dir(folder.path.join(SET))?;
                return Ok(Self { folder, _lock: lock });
            }
        }
        Err(io::Error::from(io::ErrorKind::ResourceBusy))
    }

    /// Returns the path of the set in it.
    pub(super) fn set(&self) -> PathBuf {
        self.folder.path.join(SET)
    }

    pub(super) fn path(&self) -> &Path {
        &self.folder.path
    }

    /// Leaves the folder where it is, for good, and returns the path of the set in it.
    pub(super) fn keep(&mut self) -> PathBuf {
        self.folder.is_kept = true;
        // No sweep takes a folder in which something stands that is not of a temporary.
        let _ = fs::write(self.folder.path.join("kept"), "");
        self.set()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        if !self.is_kept {
            remove(&self.path);
        }
    }
}

/// Removes a temporary, as far as possible. The lock goes after the set, so that a folder whose removal is cut short is
/// still known for one, and can be removed the next time.
fn remove(path: &Path) {
    let _ = fs::remove_dir_all(path.join(SET));
    let _ = fs::remove_file(path.join(LOCK));
    let _ = fs::remove_dir(path);
}

/// Makes a folder that is the user's alone.
fn make_folder(path: &Path) -> io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(path)
}

/// Returns a name that no other temporary is likely to have.
fn drawn_name() -> String {
    let mut chance = RandomState::new().hash_one(std::process::id());
    let drawn: Vec<u8> = std::iter::repeat_with(|| letter(&mut chance)).take(DRAWN).collect();
    let drawn = String::from_utf8_lossy(&drawn);
    format!("{PREFIX}{drawn}{}", following(&drawn))
}

/// Returns the letters that follow from those that were drawn.
fn following(drawn: &str) -> String {
    let digest = Digest::of(drawn.as_bytes()).to_string();
    let mut number = u64::from_str_radix(&digest[..16], 16).unwrap_or_default();
    std::iter::repeat_with(|| char::from(letter(&mut number))).take(FOLLOWING).collect()
}

/// Takes a letter from the lower end of `number`.
fn letter(number: &mut u64) -> u8 {
    let count = LETTERS.len() as u64;
    let index = usize::try_from(*number % count).unwrap_or_default();
    *number /= count;
    LETTERS[index]
}

/// Makes a temporary file in a temporary's set, with the permissions of any new file.
pub(super) fn file_in(set: &Path) -> io::Result<NamedTempFile> {
    let mut builder = Builder::new();
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // Less what the user's mask takes away.
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    builder.tempfile_in(set)
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
        let is_another = path.file_name() != own.file_name() && is_temporary_name(&entry.file_name());
        if is_another && entry.file_type().is_ok_and(|kind| kind.is_dir()) {
            is_busy |= sweep_folder(&path, name);
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
        if follows_from_itself(path) {
            let _ = fs::remove_dir(path);
        }
        return false;
    };
    let mut claim = Vec::new();
    if lock.read_to_end(&mut claim).is_err() {
        return false;
    }
    let target = claim.strip_prefix(CLAIM);
    // It may have been killed as it wrote the lock, before anything else was in the folder.
    let is_begun = CLAIM.starts_with(&claim) && follows_from_itself(path) && !path.join(SET).exists();
    if target.is_none() && !is_begun {
        return false;
    }
    match lock.try_lock() {
        Ok(()) => {
            remove(path);
            false
        }
        Err(TryLockError::WouldBlock) => target == Some(name.as_encoded_bytes()),
        Err(TryLockError::Error(_)) => false,
    }
}

/// Returns whether a name is such as we give.
pub(super) fn is_temporary_name(name: &OsStr) -> bool {
    let letters = name.to_str().and_then(|n| n.strip_prefix(PREFIX)).unwrap_or_default();
    letters.len() == DRAWN + FOLLOWING && letters.bytes().all(|b| b.is_ascii_alphanumeric())
}

/// Returns whether the last letters of such a name follow from those before.
fn follows_from_itself(path: &Path) -> bool {
    let name = path.file_name().and_then(OsStr::to_str).and_then(|name| name.strip_prefix(PREFIX));
    let parts = name.and_then(|letters| letters.split_at_checked(DRAWN));
    parts.is_some_and(|(drawn, last)| following(drawn) == last)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_empty_temporary_is_known_by_its_name_and_another_empty_folder_is_left_alone() {
        let place = tempfile::tempdir().unwrap();
        let begun = |lock: Option<&[u8]>| {
            let folder = place.path().join(drawn_name());
            fs::create_dir(&folder).unwrap();
            if let Some(bytes) = lock {
                fs::write(folder.join(LOCK), bytes).unwrap();
            }
            folder
        };
        let ours = [None, Some(&b""[..]), Some(&CLAIM[..7]), Some(CLAIM)].map(begun);
        let others = [".drywire-emptyone", ".drywire-00000000"].map(|name| place.path().join(name));
        for folder in &others {
            fs::create_dir(folder).unwrap();
        }
        fs::write(others[1].join(LOCK), "").unwrap();
        assert!(!sweep(place.path(), Path::new("own"), OsStr::new("out")));
        assert!(ours.iter().all(|folder| !folder.exists()));
        assert!(others.iter().all(|folder| folder.exists()));
    }
}
