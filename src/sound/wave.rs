//! The structure of a WAVE file: its chunks, in which the format and the audio lie.
//!
//! Nothing that a header states is believed further than the file bears it out: sizes are clamped to the bytes
//! that are there, and the number of chunks is bounded.
//!
//! # Source
//! IBM and Microsoft, *Multimedia Programming Interface and Data Specifications 1.0*, 1991, §2 and §3; EBU Tech
//! 3306, *RF64*, 2009, and ITU-R BS.2088, *BW64*, for the sizes of 64 bits.

use std::mem::discriminant;
use std::ops::Range;

use super::format::Format;
use super::medium::Medium;
use super::{Problem, Warning};

/// The most chunks looked at; recorders write fewer than twenty.
const MAX_CHUNKS: u32 = 10_000;

/// The bytes of a chunk's name and size, before its body.
const CHUNK_HEADER: u64 = 8;

/// The size by which a header says that it is stated elsewhere, or not known.
const UNKNOWN: u32 = u32::MAX;

/// Where the audio of a WAVE file lies and how it is stored.
#[derive(Debug, Clone)]
pub(super) struct Layout {
    pub(super) format: Format,
    /// The byte of the first sample.
    pub(super) start: u64,
    pub(super) frames: u64,
}

#[derive(Debug, Clone, Copy)]
struct Chunk {
    id: [u8; 4],
    stated: u32,
    start: u64,
}

impl Layout {
    /// Finds the format and the audio in `medium`.
    pub(super) fn read(medium: &Medium, warnings: &mut Vec<Warning>) -> Result<Self, Problem> {
        let (mut format, mut audio, mut wide) = (None, None, None);
        let mut format_at = 0;
        let mut at = 12;
        let mut looked_at = 0;
        while let Some(chunk) = Chunk::read(medium, at)? {
            let is_complete = format.is_some() && audio.is_some();
            looked_at += 1;
            if looked_at > MAX_CHUNKS || !chunk.is_plausible() {
                if is_complete {
                    break;
                }
                if chunk.is_plausible() {
                    return Err(Problem::ManyChunks { most: MAX_CHUNKS });
                }
                let what = "no chunk begins where one should".to_owned();
                return Err(Problem::BadStructure { at, what });
            }
            let mut end = chunk.end(wide.as_ref());
            match &chunk.id {
                b"ds64" if wide.is_none() => wide = Some(WideSizes::read(medium, &chunk)?),
                b"fmt " if format.is_none() => {
                    let mut body = [0; 40];
                    let wanted = usize::try_from(chunk.stated).map_or(40, |n| n.min(40));
                    let read =
                        medium.read_at(chunk.start, &mut body[..wanted]).map_err(Problem::Unreadable)?;
                    format = Some(Format::read(&body[..read], chunk.start, warnings)?);
                    format_at = at;
                }
                b"fmt " => tell_once(warnings, Warning::SecondFormat { at }),
                // An empty chunk of audio before the true one is a leftover.
                b"data" if audio.as_ref().is_none_or(Range::is_empty) => {
                    if let Some(Range { start, .. }) = audio {
                        tell_once(warnings, Warning::EmptyAudio { at: start - CHUNK_HEADER });
                    }
                    let range = audio_range(medium, &chunk, wide.as_ref(), warnings)?;
                    end = Some(range.end).filter(|end| *end < medium.len());
                    audio = Some(range);
                }
                b"data" => tell_once(warnings, Warning::SecondAudio { at }),
                _ => {}
            }
            match end {
                Some(end) if (end - chunk.start).is_multiple_of(2) => at = end,
                Some(end) => at = after_odd_chunk(medium, end, warnings)?,
                None => break,
            }
        }
        let missing = |what: &str| Problem::BadStructure { at, what: what.to_owned() };
        let format = format.ok_or_else(|| missing("the file ends before any description of its format"))?;
        let audio = audio.ok_or_else(|| missing("the file ends before any audio"))?;
        if audio.start < format_at {
            warnings.push(Warning::AudioBeforeFormat { at: audio.start - CHUNK_HEADER });
        }
        let frame_bytes = u64::from(format.frame_bytes());
        let bytes = audio.end - audio.start;
        let frames = bytes / frame_bytes;
        let is_cut =
            warnings.iter().any(|w| matches!(w, Warning::Truncated { .. } | Warning::NoStatedLength));
        if !bytes.is_multiple_of(frame_bytes) && !is_cut {
            warnings.push(Warning::PartialFrame { bytes: bytes % frame_bytes });
        }
        if frames == 0 {
            return Err(Problem::NoFrames);
        }
        Ok(Self { format, start: audio.start, frames })
    }
}

impl Chunk {
    fn read(medium: &Medium, at: u64) -> Result<Option<Self>, Problem> {
        Ok(medium.array_at(at)?.map(|[a, b, c, d, size @ ..]: [u8; 8]| Self {
            id: [a, b, c, d],
            stated: u32::from_le_bytes(size),
            start: at + CHUNK_HEADER,
        }))
    }

    /// Returns the byte after the chunk's body as stated, `None` where its size is unknown.
    fn end(&self, wide: Option<&WideSizes>) -> Option<u64> {
        let size = if self.stated == UNKNOWN { wide?.size_of(self.id)? } else { self.stated.into() };
        self.start.checked_add(size)
    }

    fn is_plausible(&self) -> bool {
        self.id.iter().all(|b| (b' '..=b'~').contains(b))
    }

    /// Returns how much the chunk looks like one: by its name, and by whether it ends within the file.
    fn likeness(self, medium: &Medium) -> u8 {
        const KNOWN: [&[u8; 4]; 20] = [
            b"fmt ", b"data", b"fact", b"LIST", b"bext", b"JUNK", b"junk", b"PAD ", b"FLLR", b"cue ",
            b"smpl", b"inst", b"plst", b"PEAK", b"iXML", b"axml", b"chna", b"cart", b"id3 ", b"ID3 ",
        ];
        let ends_within = self.start + u64::from(self.stated) <= medium.len();
        match (KNOWN.contains(&&self.id), self.is_plausible() && ends_within) {
            (true, _) => 3,
            (false, true) => 2,
            (false, false) => 0,
        }
    }
}

/// Adds a warning unless there is one of its kind: thousands of chunks may have the same fault.
fn tell_once(warnings: &mut Vec<Warning>, warning: Warning) {
    if !warnings.iter().any(|told| discriminant(told) == discriminant(&warning)) {
        warnings.push(warning);
    }
}

/// The end of the file as the place of a chunk: likelier than bytes that are none, less likely than a chunk.
const END_OF_FILE: u8 = 1;

/// Returns where the chunk after one of odd size begins that ends at `end`: after a pad byte, or at once where a
/// writer left that out.
fn after_odd_chunk(medium: &Medium, end: u64, warnings: &mut Vec<Warning>) -> Result<u64, Problem> {
    let likeness = |at| Ok(Chunk::read(medium, at)?.map_or(END_OF_FILE, |c: Chunk| c.likeness(medium)));
    if likeness(end)? > likeness(end.saturating_add(1))? {
        tell_once(warnings, Warning::Unpadded { at: end });
        return Ok(end);
    }
    Ok(end.saturating_add(1))
}

/// Returns the bytes of audio in a `data` chunk, clamped to the file.
fn audio_range(
    medium: &Medium,
    chunk: &Chunk,
    wide: Option<&WideSizes>,
    warnings: &mut Vec<Warning>,
) -> Result<Range<u64>, Problem> {
    let present = medium.len() - chunk.start.min(medium.len());
    let stated = match chunk.stated {
        // Programs that write to a pipe state the largest size they can, some just under 2 GiB.
        0x7FFF_F000..=0x7FFF_FFFF if u64::from(chunk.stated) > present => None,
        UNKNOWN => wide.map(|sizes| sizes.data).filter(|size| *size > 0),
        0 => {
            let follows = Chunk::read(medium, chunk.start)?;
            let is_truly_empty = present == 0 || follows.is_some_and(|next| next.likeness(medium) == 3);
            is_truly_empty.then_some(0)
        }
        size => Some(size.into()),
    };
    let bytes = match stated {
        None => {
            warnings.push(Warning::NoStatedLength);
            present
        }
        Some(stated) if stated > present => {
            warnings.push(Warning::Truncated { stated, present });
            present
        }
        Some(stated) => stated,
    };
    Ok(chunk.start..chunk.start + bytes)
}

/// The sizes of 64 bits in a `ds64` chunk.
#[derive(Debug)]
struct WideSizes {
    data: u64,
    others: Vec<([u8; 4], u64)>,
}

impl WideSizes {
    fn read(medium: &Medium, chunk: &Chunk) -> Result<Self, Problem> {
        const MOST_ENTRIES: u32 = 64;
        let short =
            || Problem::BadStructure { at: chunk.start, what: "the chunk of wide sizes is cut short".into() };
        // The sizes of the whole file, of the audio and of the frames, before a table for other chunks.
        let [_, data, _] = medium
            .array_at::<24>(chunk.start)?
            .filter(|_| chunk.stated >= 24)
            .map(words)
            .ok_or_else(short)?;
        let listed = medium.array_at(chunk.start + 24)?.map_or(0, u32::from_le_bytes);
        let fitting = chunk.stated.saturating_sub(28) / 12;
        let mut others = Vec::new();
        for entry in 0..listed.min(fitting).min(MOST_ENTRIES) {
            let at = chunk.start + 28 + 12 * u64::from(entry);
            let [a, b, c, d, size @ ..]: [u8; 12] = medium.array_at(at)?.ok_or_else(short)?;
            others.push(([a, b, c, d], u64::from_le_bytes(size)));
        }
        Ok(Self { data, others })
    }

    fn size_of(&self, id: [u8; 4]) -> Option<u64> {
        self.others.iter().find(|(name, _)| *name == id).map(|(_, size)| *size)
    }
}

fn words(bytes: [u8; 24]) -> [u64; 3] {
    let (words, _) = bytes.as_chunks::<8>();
    std::array::from_fn(|i| u64::from_le_bytes(words[i]))
}
