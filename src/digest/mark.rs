//! The mark at the end of a file that stands by itself.

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::Path;

use sha2::{Digest as _, Sha256};

use super::Digest;

/// What a mark says before the digest.
const WORDS: &str = "written by drywire; SHA-256 of all before this: ";

/// The kinds of files that can end with a mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// A page: a comment after its end.
    Html,
    /// A manual page: a comment in its last line.
    Roff,
    /// A WAV file: a comment in a list of information after the audio, which the header's size takes in.
    Wave,
    /// A JSON object over several lines: its last entry, `own_sha256`, from the comma before it to the end.
    Json,
}

impl Form {
    const ALL: [Self; 4] = [Self::Html, Self::Roff, Self::Wave, Self::Json];

    /// The size of the longest mark in bytes.
    const LONGEST: u64 = 256;

    /// Returns what stands before the digest and after it.
    fn around(self) -> [Vec<u8>; 2] {
        let (before, after) = match self {
            Self::Html => (format!("<!-- {WORDS}"), " -->\n"),
            Self::Roff => (format!(".\\\" {WORDS}"), "\n"),
            Self::Json => (",\n  \"own_sha256\": \"".to_owned(), "\"\n}"),
            Self::Wave => {
                // A text ends with a zero byte, and a chunk of odd size with another.
                let text = u32::try_from(WORDS.len() + Digest::DIGITS + 1).unwrap_or(u32::MAX);
                let padded = text.next_multiple_of(2);
                // The kind of list and the text's own name and size stand in the list.
                let list = 4 + 8 + padded;
                let chunk = [&b"LIST"[..], &list.to_le_bytes(), b"INFOICMT", &text.to_le_bytes()].concat();
                let zeros = if padded > text { &b"\0\0"[..] } else { b"\0" };
                return [[&chunk[..], WORDS.as_bytes()].concat(), zeros.to_vec()];
            }
        };
        [before.into_bytes(), after.as_bytes().to_vec()]
    }

    /// Returns the size of the mark in bytes, an even number for a WAV file.
    pub fn bytes(self) -> usize {
        self.around().map(|part| part.len()).iter().sum::<usize>() + Digest::DIGITS
    }

    /// Returns the mark of a file in which all that comes before it has this `digest`.
    fn mark(self, digest: Digest) -> Vec<u8> {
        let [before, after] = self.around();
        [&before, digest.to_string().as_bytes(), &after].concat()
    }

    /// Returns `text` with its mark: the whole text of a page, or a JSON object as it is printed over several lines with
    /// one entry or more.
    ///
    /// # Panics
    /// Where a JSON text does not end with its closing brace in a line of its own.
    pub fn marked(self, text: &str) -> String {
        let body = match self {
            Self::Html | Self::Roff | Self::Wave => text,
            Self::Json => text.strip_suffix("\n}").expect("an object printed over several lines"),
        };
        let mark = self.mark(Digest::of(body.as_bytes()));
        format!("{body}{}", String::from_utf8_lossy(&mark))
    }

    /// Returns the digest that a file with this `end` states, and the size of its mark, where it has one.
    fn stated(self, end: &[u8]) -> Option<(Digest, usize)> {
        let [before, after] = self.around();
        let rest = end.strip_suffix(&after[..])?;
        let (rest, digits) = rest.split_at_checked(rest.len().checked_sub(Digest::DIGITS)?)?;
        let digest = std::str::from_utf8(digits).ok()?.parse().ok()?;
        rest.ends_with(&before).then(|| (digest, self.bytes()))
    }
}

/// Returns the digest that a file with this `end` states, and the size of its mark, where it has one of any form.
fn stated(end: &[u8]) -> Option<(Digest, usize)> {
    Form::ALL.iter().find_map(|form| form.stated(end))
}

/// Returns whether `bytes` are a whole file that ends with a mark, unchanged since it was written.
pub fn is_whole(bytes: &[u8]) -> bool {
    stated(bytes).is_some_and(|(digest, mark)| Digest::of(&bytes[..bytes.len() - mark]) == digest)
}

/// Returns whether the file at `path` ends with a mark and is unchanged since it was written.
///
/// # Errors
/// What the system says where it cannot be read.
pub fn is_whole_file(path: &Path) -> io::Result<bool> {
    let mut file = File::open(path)?;
    let length = file.metadata()?.len();
    let mut end = Vec::new();
    file.seek(SeekFrom::Start(length.saturating_sub(Form::LONGEST)))?;
    (&file).take(Form::LONGEST).read_to_end(&mut end)?;
    let Some((digest, mark)) = stated(&end) else { return Ok(false) };
    file.rewind()?;
    Ok(Digest::of_all(file.take(length - mark as u64))? == digest)
}

/// Writes a file and, at its end, its mark.
#[derive(Debug)]
pub struct MarkedWriter<W: Write> {
    out: W,
    hash: Sha256,
}

impl<W: Write> MarkedWriter<W> {
    /// Returns the writer of a file into `out`, in which nothing stands yet.
    pub fn new(out: W) -> Self {
        Self { out, hash: Sha256::new() }
    }

    /// Writes the mark and returns what was written to.
    ///
    /// # Errors
    /// What the system says where it cannot be written.
    pub fn finish(mut self, form: Form) -> io::Result<W> {
        self.out.write_all(&form.mark(Digest::of_hashed(self.hash)))?;
        self.out.flush()?;
        Ok(self.out)
    }
}

impl<W: Write> Write for MarkedWriter<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = self.out.write(bytes)?;
        self.hash.update(&bytes[..written]);
        Ok(written)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.out.flush()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(form: Form, body: &[u8]) -> Vec<u8> {
        let mut writer = MarkedWriter::new(Vec::new());
        writer.write_all(body).unwrap();
        writer.finish(form).unwrap()
    }

    #[test]
    fn a_marked_file_is_known_until_any_byte_of_it_changes() {
        let place = tempfile::tempdir().unwrap();
        let path = place.path().join("file");
        let body = "{\n  \"a\": 1\n}";
        for form in Form::ALL {
            let marked = form.marked(body).into_bytes();
            assert!(form.bytes() as u64 <= Form::LONGEST);
            assert!(is_whole(&marked), "{form:?}");
            std::fs::write(&path, &marked).unwrap();
            assert!(is_whole_file(&path).unwrap(), "{form:?}");
            let changed = (0..marked.len()).map(|at| {
                let mut bytes = marked.clone();
                bytes[at] ^= 1;
                bytes
            });
            let longer = [&marked[..], b" "].concat();
            let (shorter, later) = (marked[..marked.len() - 1].to_vec(), marked[1..].to_vec());
            let unmarked = body.as_bytes().to_vec();
            for bytes in changed.chain([longer, shorter, later, unmarked, Vec::new()]) {
                assert!(!is_whole(&bytes), "{form:?}: {bytes:?}");
                std::fs::write(&path, &bytes).unwrap();
                assert!(!is_whole_file(&path).unwrap(), "{form:?}: {bytes:?}");
            }
        }
    }

    #[test]
    fn what_is_written_bit_by_bit_ends_as_what_is_marked_whole() {
        let page = "<!doctype html>\n<title>x</title>\n".repeat(20);
        assert_eq!(written(Form::Html, page.as_bytes()), Form::Html.marked(&page).into_bytes());
        assert!(is_whole(&written(Form::Roff, b"")));
    }

    #[test]
    fn a_marked_object_is_one_still_and_a_list_after_the_audio_fills_its_stated_size() {
        let marked = Form::Json.marked("{\n  \"files\": []\n}");
        let object: serde_json::Value = serde_json::from_str(&marked).unwrap();
        assert_eq!(object["files"], serde_json::json!([]));
        assert_eq!(object["own_sha256"], Digest::of(b"{\n  \"files\": []").to_string());
        assert_eq!(object.as_object().unwrap().len(), 2);

        let list = written(Form::Wave, b"");
        let size = |at: usize| u32::from_le_bytes(list[at..at + 4].try_into().unwrap()) as usize;
        assert_eq!((&list[..4], &list[8..16]), (&b"LIST"[..], &b"INFOICMT"[..]));
        assert_eq!((list.len(), list.len() % 2), (size(4) + 8, 0));
        assert_eq!(list.len(), 20 + size(16).next_multiple_of(2));
        assert_eq!(list[20 + size(16) - 1], 0);
    }
}
