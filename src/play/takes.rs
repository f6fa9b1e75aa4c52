//! The samples of a set, all in memory.

use super::FileLevels;
use super::resample::resampled;
use crate::set::StoredSet;
use crate::sound::{Sound, SoundError};

/// The most samples of a set that are kept in memory: two gigabytes of them.
pub const MOST_SAMPLES: u64 = 1 << 29;

/// The takes of a set as samples, interleaved by channel, all equally long.
#[derive(Debug, Clone, PartialEq)]
pub struct Takes {
    names: Vec<String>,
    rate_hz: u32,
    channels: usize,
    frames: usize,
    /// For each take its samples at matched and at true level.
    samples: Vec<[Vec<f32>; 2]>,
}

/// Why a set cannot be taken into memory.
#[derive(Debug, thiserror::Error)]
pub enum TakesError {
    /// A file cannot be read.
    #[error(transparent)]
    Sound(#[from] SoundError),
    /// There are too many samples.
    #[error("the set has {samples} samples at {rate_hz} Hz; at most {MOST_SAMPLES} are played from memory")]
    TooLarge {
        /// Their number.
        samples: u64,
        /// The rate that they are played at.
        rate_hz: u32,
    },
}

impl TakesError {
    /// Returns what to do about it.
    pub fn hint(&self) -> &'static str {
        match self {
            Self::Sound(e) => e.hint(),
            Self::TooLarge { .. } => {
                "render a shorter source or fewer arrangements; the set's listen.html plays an excerpt of it"
            }
        }
    }
}

impl Takes {
    /// Reads every file of `set` and brings it to `rate_hz` where the set is of another rate.
    ///
    /// # Errors
    /// [`TakesError`] where a file cannot be read or the whole is larger than [`MOST_SAMPLES`].
    pub fn read(set: &StoredSet, rate_hz: u32) -> Result<Self, TakesError> {
        let grows = (f64::from(rate_hz) / f64::from(set.rate_hz())).max(1.0);
        let each = set.frames().saturating_mul(2 * (set.channels() * set.takes().len()) as u64);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "saturating is what is wanted"
        )]
        let samples = (each as f64 * grows) as u64;
        if samples > MOST_SAMPLES {
            return Err(TakesError::TooLarge { samples, rate_hz });
        }
        let channels = set.channels();
        let read = |sound: &Sound| {
            let own = interleaved(sound)?;
            let same = set.rate_hz() == rate_hz;
            Ok(if same { own } else { resampled(&own, channels, set.rate_hz(), rate_hz) })
        };
        let both = |take: &crate::set::StoredTake| Ok([read(&take.matched)?, read(&take.as_is)?]);
        let samples: Vec<[Vec<f32>; 2]> = set.takes().iter().map(both).collect::<Result<_, SoundError>>()?;
        let names = set.takes().iter().map(|take| take.name.clone()).collect();
        let frames = samples[0][0].len() / channels;
        Ok(Self { names, rate_hz, channels, frames, samples })
    }

    /// Returns the names of the takes, at least one.
    pub fn names(&self) -> &[String] {
        &self.names
    }

    /// Returns the sample rate in hertz.
    pub fn rate_hz(&self) -> u32 {
        self.rate_hz
    }

    /// Returns the number of channels.
    pub fn channels(&self) -> usize {
        self.channels
    }

    /// Returns the number of frames of every take.
    pub fn frames(&self) -> usize {
        self.frames
    }

    /// Returns the samples of a take, interleaved by channel.
    pub fn samples(&self, take: usize, levels: FileLevels) -> &[f32] {
        &self.samples[take][match levels {
            FileLevels::Matched => 0,
            FileLevels::AsIs => 1,
        }]
    }
}

const BLOCK: usize = 65_536;

fn interleaved(sound: &Sound) -> Result<Vec<f32>, SoundError> {
    let channels = sound.channels();
    let mut samples = Vec::new();
    let mut blocks = sound.blocks(BLOCK);
    while let Some(planes) = blocks.next_block()? {
        for frame in 0..planes[0].len() {
            #[expect(clippy::cast_possible_truncation, reason = "24 bits, and floats of 32, fit whole")]
            samples.extend(planes.iter().take(channels).map(|plane| plane[frame] as f32));
        }
    }
    Ok(samples)
}
