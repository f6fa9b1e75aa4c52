//! A WAV file written as its samples come.
//!
//! The header is written first and never again, since the length is known beforehand; nothing is seeked in. What is
//! handed to the system begins and ends at whole pages, so that it touches none twice. Whoever has more to do with the
//! bytes packs a block, looks at what is waiting, and hands it on.

use std::io::{self, Write};
use std::ops::Range;

use super::quantiser::{ROUNDING, limited};
use super::{Depth, MAX_CHANNELS, RATES_HZ};
use crate::vectors::in_wide_vectors;

/// The bytes handed to the system at once; larger ones were measured to be slower.
const BUFFER_BYTES: usize = 64 * 1024;

/// The frames packed at once.
const AT_ONCE: usize = 1024;

/// The rate, channels, depth and length of a WAV file to be written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WaveShape {
    rate_hz: u32,
    channels: u16,
    depth: Depth,
    frames: u64,
    /// The bytes of the chunks after the audio.
    after: u32,
}

/// A WAV file that cannot be written.
#[derive(Debug, thiserror::Error)]
pub enum WriteError {
    /// The sample rate is outside of what is written.
    #[error("a sample rate of {given} Hz cannot be written; {} to {} Hz can", RATES_HZ.start(), RATES_HZ.end())]
    Rate {
        /// The rate given.
        given: u32,
    },
    /// There is no channel, or there are too many.
    #[error("{given} channels cannot be written; 1 to {MAX_CHANNELS} can")]
    Channels {
        /// The number given.
        given: usize,
    },
    /// A WAV file cannot say how long it is.
    #[error("{frames} frames would make a WAV file of {bytes} bytes; its header can state at most {most}")]
    TooLong {
        /// The frames asked for.
        frames: u64,
        /// The size that the file would have.
        bytes: u64,
        /// The largest size there is.
        most: u64,
    },
    /// Another number of frames came than the header states, which is a fault of the program.
    #[error("{given} frames came for a WAV file of {stated}")]
    OtherLength {
        /// The frames stated.
        stated: u64,
        /// The frames that came, so far.
        given: u64,
    },
    /// The system could not write.
    #[error(transparent)]
    Io(#[from] io::Error),
}

impl WriteError {
    /// Returns what to do about it.
    pub fn hint(&self) -> &'static str {
        match self {
            Self::Rate { .. } => "convert the source to 44100 or 48000 Hz",
            Self::Channels { .. } => "take one or two channels",
            Self::TooLong { .. } => "cut the source into shorter parts, or write fewer bits a sample",
            Self::OtherLength { .. } => "this is a fault of the program's own; please report it",
            Self::Io(_) => "check the free space and the permissions of the folder",
        }
    }
}

impl WaveShape {
    /// Returns the shape of a file of `frames` frames, which may be none.
    ///
    /// # Errors
    /// [`WriteError`] where the rate or the number of channels is outside of what is written, or the file would be
    /// larger than the 4 GiB that its header can state.
    pub fn new(rate_hz: u32, channels: usize, depth: Depth, frames: u64) -> Result<Self, WriteError> {
        if !RATES_HZ.contains(&rate_hz) {
            return Err(WriteError::Rate { given: rate_hz });
        }
        let Some(count) =
            u16::try_from(channels).ok().filter(|n| (1..=MAX_CHANNELS).contains(&usize::from(*n)))
        else {
            return Err(WriteError::Channels { given: channels });
        };
        Self { rate_hz, channels: count, depth, frames, after: 0 }.checked()
    }

    /// Returns the shape of the same file with `bytes` of further chunks after the audio, an even number, which whoever
    /// writes the file adds to it.
    ///
    /// # Errors
    /// [`WriteError::TooLong`] where the file would be larger than its header can state.
    pub fn followed_by(self, bytes: u32) -> Result<Self, WriteError> {
        Self { after: bytes, ..self }.checked()
    }

    fn checked(self) -> Result<Self, WriteError> {
        let most = u64::from(u32::MAX) + RIFF_HEADER;
        let bytes = self.file_bytes();
        if bytes > most { Err(WriteError::TooLong { frames: self.frames, bytes, most }) } else { Ok(self) }
    }

    /// Returns the size of the file in bytes, chunks after the audio included.
    pub fn file_bytes(&self) -> u64 {
        let before = RIFF_HEADER + self.chunks_before_data().len() as u64 + CHUNK_HEADER;
        let data = self.data_bytes();
        before.saturating_add(data).saturating_add(data % 2).saturating_add(self.after.into())
    }

    fn frame_bytes(&self) -> u16 {
        self.channels * self.depth.bytes()
    }

    fn data_bytes(&self) -> u64 {
        self.frames.saturating_mul(self.frame_bytes().into())
    }

    /// Returns the form type and the chunks that describe the format: the plain form for one or two channels, the
    /// extensible one for more, and the number of frames where the samples are no integers.
    fn chunks_before_data(&self) -> Vec<u8> {
        const PCM: u16 = 1;
        const FLOAT: u16 = 3;
        const EXTENSIBLE: u16 = 0xFFFE;
        let code = if self.depth.full_scale().is_some() { PCM } else { FLOAT };
        let (frame_bytes, bits) = (self.frame_bytes(), self.depth.bytes() * 8);
        let is_extensible = self.channels > 2;
        let mut format = Vec::new();
        format.extend((if is_extensible { EXTENSIBLE } else { code }).to_le_bytes());
        format.extend(self.channels.to_le_bytes());
        format.extend(self.rate_hz.to_le_bytes());
        format.extend((self.rate_hz * u32::from(frame_bytes)).to_le_bytes());
        format.extend(frame_bytes.to_le_bytes());
        format.extend(bits.to_le_bytes());
        if is_extensible {
            format.extend(22u16.to_le_bytes());
            format.extend(bits.to_le_bytes());
            // No place in a room is stated for the channels.
            format.extend(0u32.to_le_bytes());
            format.extend(code.to_le_bytes());
            format.extend([0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xAA, 0, 0x38, 0x9B, 0x71]);
        } else if code == FLOAT {
            format.extend(0u16.to_le_bytes());
        }
        let size = |body: &[u8]| u32::try_from(body.len()).unwrap_or(u32::MAX).to_le_bytes();
        let mut bytes = [b"WAVE", &b"fmt "[..], &size(&format), &format].concat();
        if code == FLOAT {
            let frames = u32::try_from(self.frames).unwrap_or(u32::MAX);
            bytes.extend([&b"fact"[..], &4u32.to_le_bytes(), &frames.to_le_bytes()].concat());
        }
        bytes
    }

    fn header(&self) -> Vec<u8> {
        // The shape was made only if the whole fits.
        let size = |bytes: u64| u32::try_from(bytes).unwrap_or(u32::MAX).to_le_bytes();
        let riff = size(self.file_bytes() - RIFF_HEADER);
        [b"RIFF", &riff[..], &self.chunks_before_data(), b"data", &size(self.data_bytes())].concat()
    }
}

/// The name and the size in front of the whole, and of each chunk.
const RIFF_HEADER: u64 = 8;
const CHUNK_HEADER: u64 = 8;

/// Writes a WAV file to `W`, which needs no buffer of its own.
#[derive(Debug)]
pub struct WaveWriter<W: Write> {
    out: W,
    shape: WaveShape,
    written: u64,
    is_ended: bool,
    /// What waits to be handed to the system, as far as it is filled.
    buffer: Vec<u8>,
    filled: usize,
    /// The samples being packed, channel by channel in each frame, in the lowest bytes of each number.
    words: Vec<u32>,
}

impl<W: Write> WaveWriter<W> {
    /// Returns the writer of a file of this shape.
    pub fn new(out: W, shape: WaveShape) -> Self {
        let mut writer = Self {
            out,
            shape,
            written: 0,
            is_ended: false,
            buffer: Vec::new(),
            filled: 0,
            words: Vec::new(),
        };
        let header = shape.header();
        writer.room_for(header.len()).copy_from_slice(&header);
        writer
    }

    /// Writes the next block, one plane of equal length for each channel, as a
    /// [`Quantiser`](super::Quantiser) of this depth left it.
    ///
    /// # Errors
    /// [`WriteError::OtherLength`] where more frames come than stated, [`WriteError::Io`] where the system cannot write.
    ///
    /// # Panics
    /// Where the number of planes is not that of the channels, or their lengths differ.
    pub fn write(&mut self, block: &[&[f64]]) -> Result<(), WriteError> {
        for frames in self.pieces_of(block)? {
            self.pack_frames(block, frames, 1.0);
            self.hand_on()?;
        }
        Ok(())
    }

    /// Packs the next block, as [`WaveWriter::write`] does, and leaves it [waiting](Self::waiting).
    ///
    /// # Errors
    /// [`WriteError::OtherLength`] where more frames come than stated.
    ///
    /// # Panics
    /// As [`WaveWriter::write`].
    pub fn pack(&mut self, block: &[&[f64]]) -> Result<(), WriteError> {
        self.pack_rounded(block, 1.0)
    }

    /// Packs the next block times `gain`, rounded as a [`Quantiser`](super::Quantiser) rounds it that adds no dither, and
    /// leaves it [waiting](Self::waiting).
    ///
    /// # Errors
    /// As [`WaveWriter::pack`].
    ///
    /// # Panics
    /// As [`WaveWriter::write`].
    pub fn pack_rounded(&mut self, block: &[&[f64]], gain: f64) -> Result<(), WriteError> {
        for frames in self.pieces_of(block)? {
            self.pack_frames(block, frames, gain);
        }
        Ok(())
    }

    /// Counts the next block and returns the frames of it that are packed at once.
    fn pieces_of(
        &mut self,
        block: &[&[f64]],
    ) -> Result<impl Iterator<Item = Range<usize>> + use<W>, WriteError> {
        assert_eq!(block.len(), usize::from(self.shape.channels), "one plane a channel");
        let frames = block[0].len();
        assert!(block.iter().all(|plane| plane.len() == frames), "planes of equal length");
        self.written += frames as u64;
        if self.written > self.shape.frames {
            return Err(WriteError::OtherLength { stated: self.shape.frames, given: self.written });
        }
        Ok((0..frames).step_by(AT_ONCE).map(move |from| from..frames.min(from + AT_ONCE)))
    }

    /// Returns what waits to be handed to the system, in whole pages until the file has ended.
    pub fn waiting(&self) -> &[u8] {
        let left = if self.is_ended { 0 } else { self.filled % BUFFER_BYTES };
        &self.buffer[..self.filled - left]
    }

    /// Hands what is [waiting](Self::waiting) to the system.
    ///
    /// # Errors
    /// What the system says where it cannot write.
    pub fn hand_on(&mut self) -> io::Result<()> {
        let length = self.waiting().len();
        if length > 0 {
            self.out.write_all(&self.buffer[..length])?;
            self.buffer.copy_within(length..self.filled, 0);
            self.filled -= length;
        }
        Ok(())
    }

    /// Ends the audio: all that is left is now waiting.
    ///
    /// # Errors
    /// [`WriteError::OtherLength`] where fewer frames came than stated.
    pub fn end(&mut self) -> Result<(), WriteError> {
        if self.written != self.shape.frames {
            return Err(WriteError::OtherLength { stated: self.shape.frames, given: self.written });
        }
        if self.shape.data_bytes() % 2 == 1 && !self.is_ended {
            self.room_for(1)[0] = 0;
        }
        self.is_ended = true;
        Ok(())
    }

    /// Writes what is left and returns the writer.
    ///
    /// # Errors
    /// [`WriteError::OtherLength`] where fewer frames came than stated, [`WriteError::Io`] where the system cannot write.
    pub fn finish(mut self) -> Result<W, WriteError> {
        self.end()?;
        self.hand_on()?;
        self.out.flush()?;
        Ok(self.out)
    }

    fn pack_frames(&mut self, block: &[&[f64]], frames: Range<usize>, gain: f64) {
        self.words.resize(frames.len() * block.len(), 0);
        match self.shape.depth.full_scale() {
            Some(full_scale) => {
                let steps = gain * full_scale;
                in_wide_vectors!(interleave(&mut self.words, block, frames, |x| nearest(
                    x * steps,
                    full_scale
                )));
            }
            #[expect(
                clippy::cast_possible_truncation,
                reason = "it is to be rounded to the precision of f32"
            )]
            None => {
                in_wide_vectors!(
                    interleave(&mut self.words, block, frames, |x| ((x * gain) as f32).to_bits())
                );
            }
        }
        let (words, depth) = (std::mem::take(&mut self.words), self.shape.depth);
        let bytes = self.room_for(words.len() * usize::from(depth.bytes()));
        match depth {
            Depth::Pcm16 => copy_lowest::<2>(&words, bytes),
            Depth::Pcm24 => in_wide_vectors!(copy_lowest_three(&words, bytes)),
            Depth::Float32 => copy_lowest::<4>(&words, bytes),
        }
        self.words = words;
    }

    /// Returns the next `count` bytes of the buffer, which count as filled and hold whatever stood there before.
    fn room_for(&mut self, count: usize) -> &mut [u8] {
        let from = self.filled;
        self.filled += count;
        if self.buffer.len() < self.filled {
            self.buffer.resize(self.filled, 0);
        }
        &mut self.buffer[from..self.filled]
    }
}

/// Turns the samples of `frames` into words, channel by channel in each frame.
#[inline(always)]
fn interleave(words: &mut [u32], block: &[&[f64]], frames: Range<usize>, word: impl Fn(f64) -> u32) {
    if let [plane] = block {
        for (to, x) in words.iter_mut().zip(&plane[frames]) {
            *to = word(*x);
        }
        return;
    }
    for (channel, plane) in block.iter().enumerate() {
        for (to, x) in words.iter_mut().skip(channel).step_by(block.len()).zip(&plane[frames.clone()]) {
            *to = word(*x);
        }
    }
}

/// Returns the whole number nearest to `steps`, in two's complement, within the range of the depth even where the
/// sample was not.
#[inline(always)]
fn nearest(steps: f64, full_scale: f64) -> u32 {
    let [a, b, c, d, ..] = (limited(steps, -full_scale, full_scale - 1.0) + ROUNDING).to_bits().to_le_bytes();
    u32::from_le_bytes([a, b, c, d])
}

#[inline(always)]
fn copy_lowest<const N: usize>(words: &[u32], bytes: &mut [u8]) {
    for (to, word) in bytes.as_chunks_mut::<N>().0.iter_mut().zip(words) {
        to.copy_from_slice(&word.to_le_bytes()[..N]);
    }
}

/// Copies the lowest three bytes of each word: of four words at a time as three whole ones.
#[inline(always)]
fn copy_lowest_three(words: &[u32], bytes: &mut [u8]) {
    let (fours, rest) = words.as_chunks::<4>();
    let (twelves, last) = bytes.split_at_mut(12 * fours.len());
    for (to, four) in twelves.as_chunks_mut::<12>().0.iter_mut().zip(fours) {
        let [a, b, c, d] = four.map(|word| word & 0xFF_FFFF);
        let three = [a | b << 24, b >> 8 | c << 16, c >> 16 | d << 8];
        for (to, word) in to.as_chunks_mut::<4>().0.iter_mut().zip(three) {
            *to = word.to_le_bytes();
        }
    }
    copy_lowest::<3>(rest, last);
}
