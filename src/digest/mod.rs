//! How the program knows a file for one that it wrote, and whether it was changed since.
//!
//! Of the files of a folder the folder's own list tells the [`Digest`] of each. A file that stands by itself, and the list
//! itself, ends with a mark that tells the digest of all that comes before it: a comment in a page, a chunk after the
//! audio of a WAV file, the last entry of a JSON object. Readers of such files pass over it.

mod mark;
mod sha256;
mod side_by_side;

pub use mark::{Form, MarkedWriter, is_whole, is_whole_file};
pub use sha256::{Digest, NotADigest};
pub use side_by_side::Digests;
