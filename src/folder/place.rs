//! The steps that put something in its place at once, and that bring it to the disk.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use crate::workers::share_out;

/// Lets two folders change places in one step.
#[cfg(any(target_os = "linux", target_os = "android", target_vendor = "apple"))]
pub(super) fn exchange(one: &Path, other: &Path) -> io::Result<()> {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    Ok(renameat_with(CWD, one, CWD, other, RenameFlags::EXCHANGE)?)
}

#[cfg(not(any(target_os = "linux", target_os = "android", target_vendor = "apple")))]
pub(super) fn exchange(_: &Path, _: &Path) -> io::Result<()> {
    Err(io::Error::from(io::ErrorKind::Unsupported))
}

/// Returns whether the program may make entries in `folder`, without making one.
#[cfg(unix)]
pub(super) fn check_writable(folder: &Path) -> io::Result<()> {
    use rustix::fs::{Access, AtFlags, CWD, accessat};
    Ok(accessat(CWD, folder, Access::WRITE_OK | Access::EXEC_OK, AtFlags::EACCESS)?)
}

#[cfg(not(unix))]
pub(super) fn check_writable(folder: &Path) -> io::Result<()> {
    tempfile::tempfile_in(folder).map(|_| ())
}

/// Returns the bytes that the user may still write to the disk of `folder`, `None` where the system does not tell.
#[cfg(unix)]
pub(super) fn free_bytes(folder: &Path) -> Option<u64> {
    let disk = rustix::fs::statvfs(folder).ok()?;
    disk.f_bavail.checked_mul(disk.f_frsize)
}

#[cfg(not(unix))]
pub(super) fn free_bytes(_: &Path) -> Option<u64> {
    None
}

/// Brings files, or folders' entries, to the disk.
///
/// They are waited for together, since the system brings those to the disk in one go that wait at the same time.
///
/// # Errors
/// What the system says, with the path where it is a file's.
pub(super) fn sync_all(paths: &[PathBuf]) -> Result<(), (&Path, io::Error)> {
    const AT_ONCE: usize = 16;
    paths.chunks(AT_ONCE).try_for_each(|some| {
        // Each is waited for before the first error is told.
        let results = share_out(some, some.len(), |path| sync(path));
        some.iter().zip(results).try_for_each(|(path, result)| result.map_err(|e| (path.as_path(), e)))
    })
}

/// Brings a file's content, or a folder's entries where the system knows how, to the disk.
pub(super) fn sync(path: &Path) -> io::Result<()> {
    let is_folder = path.is_dir();
    if is_folder && !cfg!(unix) {
        return Ok(());
    }
    match File::open(path)?.sync_all() {
        Err(e)
            if is_folder && matches!(e.kind(), io::ErrorKind::InvalidInput | io::ErrorKind::Unsupported) =>
        {
            Ok(())
        }
        result => result,
    }
}

/// Returns `path` and all folders below it.
pub(super) fn folders_from(path: &Path) -> io::Result<Vec<PathBuf>> {
    let mut folders = vec![path.to_owned()];
    let mut looked_at = 0;
    while let Some(folder) = folders.get(looked_at).cloned() {
        for entry in fs::read_dir(folder)? {
            let entry = entry?;
            if entry.file_type()?.is_dir() {
                folders.push(entry.path());
            }
        }
        looked_at += 1;
    }
    Ok(folders)
}
