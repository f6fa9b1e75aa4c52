//! How the program knows a file for one that it wrote, and whether it was changed since.
//!
//! Of the files of a folder the folder's own list tells the [`Digest`] of each. A file that stands by itself, and the list
//! itself, ends with a mark that tells the digest of all that comes before it: a comment in a page, a chunk after the
//! audio of a WAV file, the last entry of a JSON object. Readers of such files pass over it.

mod mark;
mod sha256;
mod side_by_side;

use std::fs::File;
use std::io;
use std::path::PathBuf;
use std::thread::available_parallelism;

use crate::workers::share_out;

pub use mark::{Form, MarkedWriter, is_whole, is_whole_file};
pub use sha256::{Digest, NotADigest};
pub use side_by_side::Digests;

/// Returns the digests of the files at `paths`, in their order: read two side by side, and as many such pairs at once as the
/// processor has threads.
///
/// # Errors
/// What the system says of the first that cannot be read.
pub fn of_files(paths: &[PathBuf]) -> io::Result<Vec<Digest>> {
    let workers = available_parallelism().map_or(1, usize::from);
    let pairs = share_out(paths.chunks(2), workers, |pair| match pair {
        [one, other] => Ok(Digests::of_all([File::open(one)?, File::open(other)?])?.to_vec()),
        alone => alone.iter().map(|path| Digest::of_all(File::open(path)?)).collect(),
    });
    Ok(pairs.into_iter().collect::<io::Result<Vec<_>>>()?.concat())
}
