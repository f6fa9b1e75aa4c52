//! A file put in place whole, or not at all.

use std::io::{self, Write};
use std::path::Path;

use tempfile::NamedTempFile;

use super::Failure;

/// Writes `bytes` to `path` through a new file beside it that replaces it in one step, never onto one of the
/// `inputs`.
pub(crate) fn write_whole(path: &Path, bytes: &[u8], inputs: &[&Path]) -> Result<(), Failure> {
    let shown = path.display();
    let resolved = path.canonicalize().ok();
    if resolved.is_some() && inputs.iter().any(|input| input.canonicalize().ok() == resolved) {
        return Err(Failure::input(format!("`{shown}` is an input"), "write to another file"));
    }
    if resolved.as_ref().is_some_and(|at| !at.is_file()) {
        return Err(Failure::input(format!("`{shown}` is not a regular file"), "name a file to be written"));
    }
    let folder = match path.parent() {
        Some(folder) if folder.as_os_str().is_empty() => Path::new("."),
        Some(folder) => folder,
        None => Path::new("."),
    };
    let written = new_file(folder)
        .and_then(|mut file| file.write_all(bytes).and_then(|()| file.as_file().sync_all()).map(|()| file))
        .and_then(|file| file.persist(path).map_err(|e| e.error));
    written.map(|_| ()).map_err(|cause| {
        Failure::input(
            format!("cannot write `{shown}`: {cause}"),
            "name a file in a folder that can be written",
        )
    })
}

/// Returns a new file in `folder` with an ordinary file's permissions, which the process's mask narrows; temporary
/// files are otherwise for their owner alone.
#[cfg(unix)]
fn new_file(folder: &Path) -> io::Result<NamedTempFile> {
    let ordinary = std::os::unix::fs::PermissionsExt::from_mode(0o666);
    tempfile::Builder::new().permissions(ordinary).tempfile_in(folder)
}

/// Returns a new file in `folder`.
#[cfg(not(unix))]
fn new_file(folder: &Path) -> io::Result<NamedTempFile> {
    NamedTempFile::new_in(folder)
}
