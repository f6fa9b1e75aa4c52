//! A source of sound, whatever it lies in.

use std::borrow::Cow;
use std::ops::Range;
use std::path::Path;
use std::sync::Arc;

use super::blocks::{Blocks, Reader};
use super::container::{self, Container};
use super::medium::Medium;
use super::wave::Layout;
use super::{MAX_CHANNELS, MAX_SAMPLE, Problem, RATES_HZ, SoundError, Warning, coded};
use crate::quantity::{Seconds, counted};

/// Frames read at once where all are looked at.
const AT_ONCE: usize = 8192;

/// A sound that can be read, as often as wanted: an opened file, or bytes or samples in memory.
#[derive(Debug, Clone)]
pub struct Sound {
    name: Arc<str>,
    file_name: String,
    rate_hz: u32,
    channels: usize,
    frames: u64,
    full_scale: f64,
    description: String,
    warnings: Vec<Warning>,
    body: Body,
    repairs: bool,
}

/// What the samples of a sound come from.
#[derive(Debug, Clone)]
pub(super) enum Body {
    Wave(Medium, Layout),
    Coded(Medium, coded::Kind),
    Samples(Arc<Vec<Vec<f64>>>),
}

impl Sound {
    /// Opens the sound file at `path`, whose container is known by its content.
    ///
    /// Compressed files are decoded once, to count their frames and find their damage before any work is done.
    ///
    /// # Errors
    /// [`SoundError`] where the file is missing, unreadable, no regular file (looked at before it is opened, so a
    /// pipe does not hang), of a kind that is not read, damaged or without audio.
    pub fn open(path: &Path) -> Result<Self, SoundError> {
        let name = path.display().to_string();
        let file_name = path.file_name().map_or_else(|| name.clone(), |n| n.to_string_lossy().into_owned());
        Medium::open(path)
            .and_then(|medium| Self::read(&name, file_name, &medium))
            .map_err(|problem| SoundError::new(name, problem))
    }

    /// Returns the sound in the bytes of a file, such as an embedded one; messages call it `name`.
    ///
    /// # Errors
    /// [`SoundError`] as for [`Sound::open`].
    pub fn from_bytes(name: &str, bytes: impl Into<Cow<'static, [u8]>>) -> Result<Self, SoundError> {
        Self::read(name, name.to_owned(), &Medium::of_bytes(bytes.into()))
            .map_err(|problem| SoundError::new(name, problem))
    }

    /// Returns the sound of `planes`, one of samples in full scales for each channel; messages call it `name`.
    ///
    /// # Errors
    /// [`SoundError`] where the rate or the number of channels is not allowed, the planes have unequal lengths or
    /// none, or a sample is not finite or beyond [`MAX_SAMPLE`].
    pub fn from_planes(name: &str, rate_hz: u32, planes: Vec<Vec<f64>>) -> Result<Self, SoundError> {
        let refused = |problem| Err(SoundError::new(name, problem));
        if !RATES_HZ.contains(&rate_hz) {
            return refused(Problem::Rate { given: rate_hz });
        }
        if planes.is_empty() || planes.len() > MAX_CHANNELS {
            return refused(Problem::Channels { given: planes.len() });
        }
        let frames = planes[0].len();
        if let Some(other) = planes.iter().find(|plane| plane.len() != frames) {
            let what = format!("its channels have {frames} and {}", counted(other.len(), "frame"));
            return refused(Problem::Damaged { frame: frames.min(other.len()) as u64, what });
        }
        if frames == 0 {
            return refused(Problem::NoFrames);
        }
        if let Some(problem) = first_bad_sample(&planes, 0) {
            return refused(problem);
        }
        Ok(Self {
            name: name.into(),
            file_name: name.to_owned(),
            rate_hz,
            channels: planes.len(),
            frames: frames as u64,
            full_scale: 1.0,
            description: "samples in memory".to_owned(),
            warnings: Vec::new(),
            body: Body::Samples(Arc::new(planes)),
            repairs: false,
        })
    }

    fn read(name: &str, file_name: String, medium: &Medium) -> Result<Self, Problem> {
        let (container, at) = container::detect(medium)?;
        let medium = medium.from(at);
        let mut warnings = Vec::new();
        let (rate_hz, channels, frames, bits, description, body) = match container {
            Container::Wave => {
                let layout = Layout::read(&medium, &mut warnings)?;
                let format = &layout.format;
                let bits = (!format.coding.is_float()).then_some(u32::from(format.bits));
                let description = format!("WAV, {}", format.description());
                let (rate_hz, channels, frames) = (format.rate_hz, format.channels.into(), layout.frames);
                (rate_hz, channels, frames, bits, description, Body::Wave(medium, layout))
            }
            Container::Coded(kind) => {
                let found = kind.survey(&medium, &mut warnings)?;
                let body = Body::Coded(medium, kind);
                (found.rate_hz, found.channels, found.frames, found.bits, found.description, body)
            }
        };
        // The largest integer of n bits is one step below full scale.
        let full_scale = bits.map_or(1.0, |n| 1.0 - 2f64.powi(1 - n.cast_signed()));
        let name = name.into();
        Ok(Self {
            name,
            file_name,
            rate_hz,
            channels,
            frames,
            full_scale,
            description,
            warnings,
            body,
            repairs: false,
        })
    }

    /// Returns the sound such that samples that are not finite or beyond [`MAX_SAMPLE`] are read as silence, which
    /// [`Blocks::warnings`] tells, where `repairs`; else they are refused when they are reached.
    #[must_use]
    pub fn repairing(mut self, repairs: bool) -> Self {
        self.repairs = repairs;
        self
    }

    /// Returns what repairing does to the whole sound, by a pass through it; nothing where it does not repair.
    ///
    /// # Errors
    /// [`SoundError`] as for [`Blocks::next_block`].
    pub fn repairs(&self) -> Result<Vec<Warning>, SoundError> {
        let mut blocks = self.blocks(AT_ONCE);
        while self.repairs && blocks.next_block()?.is_some() {}
        Ok(blocks.warnings())
    }

    /// Starts a pass through the sound in blocks of `frames_per_block` frames (at least one); the last may be
    /// shorter. Passes are independent of each other.
    pub fn blocks(&self, frames_per_block: usize) -> Blocks {
        let reader = Reader::new(self.body.clone(), self.repairs);
        Blocks::new(self.name.clone(), self.channels, self.frames, frames_per_block.max(1), reader)
    }

    /// Returns all samples of a sound that is known to be short, one list a channel.
    ///
    /// # Errors
    /// [`SoundError`] where it cannot be read.
    pub fn planes(&self) -> Result<Vec<Vec<f64>>, SoundError> {
        let mut planes = vec![Vec::new(); self.channels];
        let mut blocks = self.blocks(AT_ONCE);
        while let Some(block) = blocks.next_block()? {
            for (plane, channel) in planes.iter_mut().zip(block) {
                plane.extend_from_slice(channel);
            }
        }
        Ok(planes)
    }

    /// Returns the samples of the frames that are within a range, one plane a channel.
    ///
    /// # Errors
    /// [`SoundError`] where the sound cannot be read.
    pub fn planes_within(&self, frames: &Range<u64>) -> Result<Vec<Vec<f64>>, SoundError> {
        let mut planes = vec![Vec::new(); self.channels];
        let mut blocks = self.blocks(AT_ONCE);
        let mut at = 0;
        while at < frames.end {
            let Some(block) = blocks.next_block()? else { break };
            let length = block.first().map_or(0, Vec::len) as u64;
            let within = |frame: u64| usize::try_from(frame.clamp(at, at + length) - at).unwrap_or(0);
            for (plane, samples) in planes.iter_mut().zip(block) {
                plane.extend_from_slice(&samples[within(frames.start)..within(frames.end)]);
            }
            at += length;
        }
        Ok(planes)
    }

    /// Returns the name of the file without its folder, or the name given.
    pub fn file_name(&self) -> &str {
        &self.file_name
    }

    /// Returns the sample rate in hertz, within [`RATES_HZ`].
    pub fn rate_hz(&self) -> u32 {
        self.rate_hz
    }

    /// Returns the number of channels, 1 to [`MAX_CHANNELS`].
    pub fn channels(&self) -> usize {
        self.channels
    }

    /// Returns the exact number of frames, at least one.
    pub fn frames(&self) -> u64 {
        self.frames
    }

    /// Returns how long the sound lasts.
    pub fn duration(&self) -> Seconds {
        Seconds::new(self.frames as f64 / f64::from(self.rate_hz))
    }

    /// Returns the container and how a sample is stored, such as `WAV, 24-bit integer`.
    pub fn description(&self) -> &str {
        &self.description
    }

    /// Returns what was odd about the file when it was opened.
    pub fn warnings(&self) -> &[Warning] {
        &self.warnings
    }

    /// Returns the largest sample that the coding can hold; 1 where it can hold more.
    pub(super) fn full_scale(&self) -> f64 {
        self.full_scale
    }
}

/// Returns whether `sample` can be one of a sound.
pub(super) fn is_sound(sample: f64) -> bool {
    sample.abs() <= MAX_SAMPLE
}

/// Returns the first sample in `planes`, by frame and then by channel, that cannot be one of a sound; the planes
/// begin at frame `start`.
pub(super) fn first_bad_sample(planes: &[Vec<f64>], start: u64) -> Option<Problem> {
    let bad = planes.iter().enumerate().filter_map(|(channel, plane)| {
        plane.iter().position(|x| !is_sound(*x)).map(|frame| (frame, channel, plane[frame]))
    });
    bad.min_by_key(|(frame, channel, _)| (*frame, *channel)).map(|(frame, channel, value)| {
        Problem::BadSample { value, frame: start + frame as u64, channel: channel + 1 }
    })
}
