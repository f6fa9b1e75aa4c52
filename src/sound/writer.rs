//! A WAV file written as its samples come.
//!
//! The header is written first and never again, since the length is known beforehand; nothing is seeked in.

use std::io::{self, Write};
use std::ops::Range;

use super::quantiser::{ROUNDING, limited};
use super::{Depth, MAX_CHANNELS, RATES_HZ};

/// The bytes handed to the system at once; larger ones were measured to be slower.
const BUFFER_BYTES: usize = 64 * 1024;

/// The rate, channels, depth and length of a WAV file to be written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WaveShape {
    rate_hz: u32,
    channels: u16,
    depth: Depth,
    frames: u64,
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
            Self::TooLong { .. } => "cut the source into shorter parts, or write fewer bits with `--bits 16`",
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
        let shape = Self { rate_hz, channels: count, depth, frames };
        let most = u64::from(u32::MAX) + RIFF_HEADER;
        let bytes = shape.file_bytes();
        if bytes > most { Err(WriteError::TooLong { frames, bytes, most }) } else { Ok(shape) }
    }

    /// Returns the size of the file in bytes.
    pub fn file_bytes(&self) -> u64 {
        let before = RIFF_HEADER + self.chunks_before_data().len() as u64 + CHUNK_HEADER;
        let data = self.data_bytes();
        before.saturating_add(data).saturating_add(data % 2)
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
    buffer: Vec<u8>,
}

impl<W: Write> WaveWriter<W> {
    /// Writes the header.
    ///
    /// # Errors
    /// [`WriteError::Io`] where the system cannot write.
    pub fn new(mut out: W, shape: WaveShape) -> Result<Self, WriteError> {
        out.write_all(&shape.header())?;
        Ok(Self { out, shape, written: 0, buffer: Vec::with_capacity(BUFFER_BYTES) })
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
        assert_eq!(block.len(), usize::from(self.shape.channels), "one plane a channel");
        let frames = block[0].len();
        assert!(block.iter().all(|plane| plane.len() == frames), "planes of equal length");
        self.written += frames as u64;
        if self.written > self.shape.frames {
            return Err(WriteError::OtherLength { stated: self.shape.frames, given: self.written });
        }
        let at_once = BUFFER_BYTES / usize::from(self.shape.frame_bytes());
        let mut from = 0;
        while from < frames {
            let to = frames.min(from + at_once);
            match self.shape.depth {
                Depth::Pcm16 => self.pack(block, from..to, |x| {
                    let [a, b, ..] = whole(x * 32768.0, 32768.0);
                    [a, b]
                }),
                Depth::Pcm24 => self.pack(block, from..to, |x| {
                    let [a, b, c, _] = whole(x * 8388608.0, 8388608.0);
                    [a, b, c]
                }),
                #[expect(clippy::cast_possible_truncation, reason = "the value is an f32 already")]
                Depth::Float32 => self.pack(block, from..to, |x| (x as f32).to_le_bytes()),
            }
            self.out.write_all(&self.buffer)?;
            from = to;
        }
        Ok(())
    }

    /// Writes what is left and returns the writer.
    ///
    /// # Errors
    /// [`WriteError::OtherLength`] where fewer frames came than stated, [`WriteError::Io`] where the system cannot write.
    pub fn finish(mut self) -> Result<W, WriteError> {
        if self.written != self.shape.frames {
            return Err(WriteError::OtherLength { stated: self.shape.frames, given: self.written });
        }
        if self.shape.data_bytes() % 2 == 1 {
            self.out.write_all(&[0])?;
        }
        self.out.flush()?;
        Ok(self.out)
    }

    fn pack<const N: usize>(
        &mut self,
        block: &[&[f64]],
        frames: Range<usize>,
        bytes: impl Fn(f64) -> [u8; N],
    ) {
        self.buffer.resize(frames.len() * block.len() * N, 0);
        let (words, _) = self.buffer.as_chunks_mut::<N>();
        for (channel, plane) in block.iter().enumerate() {
            let places = words.iter_mut().skip(channel).step_by(block.len());
            for (word, x) in places.zip(&plane[frames.clone()]) {
                *word = bytes(*x);
            }
        }
    }
}

/// Returns the bytes of the whole number nearest to `steps`, which are within the range of the depth even where the
/// sample was not.
fn whole(steps: f64, full_scale: f64) -> [u8; 4] {
    let [a, b, c, d, ..] = (limited(steps, -full_scale, full_scale - 1.0) + ROUNDING).to_bits().to_le_bytes();
    [a, b, c, d]
}
