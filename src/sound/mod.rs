//! Sound in and sound out: any source as blocks of samples, and samples as the bytes of a WAV file.
//!
//! A [`Sound`] is a file, bytes in memory or samples in memory; all three are read as planar [`Blocks`] of `f64`,
//! as often as wanted, in constant memory. What is odd about a file travels as [`Warning`]s: those of its header
//! with the [`Sound`], those of a pass with the [`Blocks`], and those of the samples out of an [`Inspector`] that
//! the pass feeds.
//!
//! On the way out a [`Quantiser`] turns samples into exactly those values that a reader of the file will see, so
//! that levels can be measured on the file as written, and a [`WaveWriter`] packs them.

mod blocks;
mod coded;
mod coding;
mod container;
mod depth;
mod format;
mod inspector;
mod medium;
mod problem;
mod quantiser;
mod source;
mod warning;
mod wave;
mod writer;

pub use blocks::Blocks;
pub use coded::is_guarded;
pub use depth::Depth;
pub use inspector::Inspector;
pub use problem::{Problem, SoundError};
pub use quantiser::Quantiser;
pub use source::Sound;
pub use warning::Warning;
pub use writer::{WaveShape, WaveWriter, WriteError};

use std::ops::RangeInclusive;

/// The sample rates read and written, in hertz.
pub const RATES_HZ: RangeInclusive<u32> = 8_000..=384_000;

/// The most channels read; what to do with more than two is for the caller to say.
pub const MAX_CHANNELS: usize = 32;

/// The largest magnitude of a sample, in full scales (200 dB above it): larger ones, like NaN and infinities, come
/// from a fault and would overflow in the sums of powers that follow.
pub const MAX_SAMPLE: f64 = 1e10;
