//! The steps that put something in its place at once, and that bring it to the disk.

use std::fs::{self, File};
use std::io;
use std::path::Path;

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

/// Brings a file's content to the disk.
pub(super) fn sync_file(path: &Path) -> io::Result<()> {
    File::open(path)?.sync_all()
}

/// Brings a folder's entries to the disk, where the system knows how.
pub(super) fn sync_folder(path: &Path) -> io::Result<()> {
    if !cfg!(unix) {
        return Ok(());
    }
    match File::open(path)?.sync_all() {
        Err(e) if matches!(e.kind(), io::ErrorKind::InvalidInput | io::ErrorKind::Unsupported) => Ok(()),
        result => result,
    }
}

/// Brings a folder and all folders in it to the disk.
pub(super) fn sync_folders(path: &Path) -> io::Result<()> {
    for entry in fs::read_dir(path)? {
        let entry = entry?;
        if entry.file_type()?.is_dir() {
            sync_folders(&entry.path())?;
        }
    }
    sync_folder(path)
}
