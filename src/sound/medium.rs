//! The bytes under a sound: a file or memory, read at any place, by any number of readers at once.

use std::borrow::Cow;
use std::fs::{File, Metadata};
use std::io::{self, Read, Seek, SeekFrom};
use std::path::Path;
use std::sync::Arc;
use std::time::SystemTime;

use super::Problem;

/// A stretch of bytes whose length was fixed when it was opened.
#[derive(Debug, Clone)]
pub(super) struct Medium {
    body: Body,
    start: u64,
    len: u64,
}

#[derive(Debug, Clone)]
enum Body {
    File { file: Arc<File>, len: u64, modified: Option<SystemTime> },
    Memory(Arc<Cow<'static, [u8]>>),
}

impl Medium {
    /// Opens the regular file at `path`, which is looked at before it is opened, so that a pipe does not hang.
    pub(super) fn open(path: &Path) -> Result<Self, Problem> {
        let kind = std::fs::metadata(path).map_err(Problem::Unreadable)?;
        if let Some(other) = other_than_a_file(&kind) {
            return Err(Problem::NotAFile(other));
        }
        let file = File::open(path).map_err(Problem::Unreadable)?;
        let state = file.metadata().map_err(Problem::Unreadable)?;
        let (len, modified) = (state.len(), state.modified().ok());
        Ok(Self { body: Body::File { file: Arc::new(file), len, modified }, start: 0, len })
    }

    pub(super) fn of_bytes(bytes: Cow<'static, [u8]>) -> Self {
        let len = bytes.len() as u64;
        Self { body: Body::Memory(Arc::new(bytes)), start: 0, len }
    }

    pub(super) fn len(&self) -> u64 {
        self.len
    }

    /// Returns the bytes from `at` on as a medium of their own.
    pub(super) fn from(&self, at: u64) -> Self {
        let skipped = at.min(self.len);
        Self { body: self.body.clone(), start: self.start + skipped, len: self.len - skipped }
    }

    /// Returns whether the file is still as it was when it was opened.
    pub(super) fn is_unchanged(&self) -> bool {
        match &self.body {
            Body::Memory(_) => true,
            Body::File { file, len, modified } => {
                file.metadata().is_ok_and(|now| now.len() == *len && now.modified().ok() == *modified)
            }
        }
    }

    /// Fills `buffer` from byte `at` on and returns the number of bytes that were there.
    pub(super) fn read_at(&self, at: u64, buffer: &mut [u8]) -> io::Result<usize> {
        let present = self.len.saturating_sub(at);
        let wanted = usize::try_from(present).map_or(buffer.len(), |p| p.min(buffer.len()));
        let place = self.start + at.min(self.len);
        match &self.body {
            Body::Memory(bytes) => {
                // A start past what an address can hold cannot lie within bytes in memory.
                let from = usize::try_from(place).unwrap_or(bytes.len());
                buffer[..wanted].copy_from_slice(&bytes[from..from + wanted]);
                Ok(wanted)
            }
            Body::File { file, .. } => {
                let mut filled = 0;
                while filled < wanted {
                    match read_file_at(file, &mut buffer[filled..wanted], place + filled as u64) {
                        Ok(0) => break,
                        Ok(n) => filled += n,
                        Err(e) if e.kind() == io::ErrorKind::Interrupted => {}
                        Err(e) => return Err(e),
                    }
                }
                Ok(filled)
            }
        }
    }

    /// Returns the `N` bytes at `at`, or `None` where the medium ends before them.
    pub(super) fn array_at<const N: usize>(&self, at: u64) -> Result<Option<[u8; N]>, Problem> {
        let mut array = [0; N];
        let read = self.read_at(at, &mut array).map_err(Problem::Unreadable)?;
        Ok((read == N).then_some(array))
    }
}

#[cfg(unix)]
fn read_file_at(file: &File, buffer: &mut [u8], at: u64) -> io::Result<usize> {
    std::os::unix::fs::FileExt::read_at(file, buffer, at)
}

#[cfg(windows)]
fn read_file_at(file: &File, buffer: &mut [u8], at: u64) -> io::Result<usize> {
    std::os::windows::fs::FileExt::seek_read(file, buffer, at)
}

/// Returns what stands at a path in place of a regular file.
fn other_than_a_file(metadata: &Metadata) -> Option<&'static str> {
    let kind = metadata.file_type();
    if kind.is_file() {
        return None;
    }
    if kind.is_dir() {
        return Some("a folder");
    }
    #[cfg(unix)]
    {
        use std::os::unix::fs::FileTypeExt;
        if kind.is_fifo() {
            return Some("a pipe");
        }
        if kind.is_socket() {
            return Some("a socket");
        }
    }
    Some("a device")
}

/// One reader's place in a medium.
pub(super) struct Cursor {
    medium: Medium,
    at: u64,
}

impl Cursor {
    pub(super) fn new(medium: Medium) -> Self {
        Self { medium, at: 0 }
    }

    pub(super) fn len(&self) -> u64 {
        self.medium.len
    }
}

impl Read for Cursor {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let read = self.medium.read_at(self.at, buffer)?;
        self.at += read as u64;
        Ok(read)
    }
}

impl Seek for Cursor {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        let place = match to {
            SeekFrom::Start(at) => Some(at),
            SeekFrom::End(by) => self.medium.len.checked_add_signed(by),
            SeekFrom::Current(by) => self.at.checked_add_signed(by),
        };
        self.at = place.ok_or_else(|| io::Error::from(io::ErrorKind::InvalidInput))?;
        Ok(self.at)
    }
}
