//! What is let into a meter, and what is refused.

use crate::quantity::brief;
use crate::vectors::in_wide_vectors;

/// What cannot be measured, and why.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum Unmeasurable {
    /// The sample rate is outside [`RATES`].
    #[error("{given} samples a second cannot be measured, only {} to {} (hint: convert the file)", RATES.start(), RATES.end())]
    Rate {
        /// The rate asked for, in samples a second.
        given: u32,
    },
    /// The number of channels is outside [`CHANNELS`].
    #[error("{given} channels cannot be measured, only {} or {} (hint: choose or mix channels first)", CHANNELS.start(), CHANNELS.end())]
    Channels {
        /// The number of channels asked for.
        given: usize,
    },
    /// A block has another number of channels than its meter, or channels of different lengths.
    #[error(
        "a block of {given} channels was given to a meter of {expected}, or its channels differ in length"
    )]
    Shape {
        /// The meter's number of channels.
        expected: usize,
        /// The block's number of channels.
        given: usize,
    },
    /// A sample is not a number, infinite or beyond ±[`LARGEST_SAMPLE`].
    #[error("sample {frame} of channel {} is {}, which has no level (hint: repair the file)", channel + 1, brief(*value))]
    Sample {
        /// The sample's channel, counted from zero.
        channel: usize,
        /// The sample's place in its channel, counted from zero over all blocks.
        frame: u64,
        /// The sample.
        value: f64,
    },
}

/// The sample rates that can be measured, in samples a second.
pub const RATES: std::ops::RangeInclusive<u32> = 8_000..=384_000;

/// The numbers of channels that can be measured: one, or left and right.
///
/// More channels would need to be told apart, because BS.1770 weights the surround channels by their place.
pub const CHANNELS: std::ops::RangeInclusive<usize> = 1..=2;

/// The largest magnitude of a sample, full scale being 1: sums of squares of what lies below stay finite.
pub const LARGEST_SAMPLE: f64 = 1e100;

/// Keeps a meter from what it cannot measure, and counts what it lets in.
#[derive(Debug, Clone)]
pub(super) struct Guard {
    channels: usize,
    frames: u64,
}

impl Guard {
    pub(super) fn new(rate_hz: u32, channels: usize) -> Result<Self, Unmeasurable> {
        if !RATES.contains(&rate_hz) {
            return Err(Unmeasurable::Rate { given: rate_hz });
        }
        if !CHANNELS.contains(&channels) {
            return Err(Unmeasurable::Channels { given: channels });
        }
        Ok(Self { channels, frames: 0 })
    }

    /// Returns the number of frames let in so far.
    pub(super) const fn frames(&self) -> u64 {
        self.frames
    }

    /// Lets a block in, or refuses all of it.
    pub(super) fn admit(&mut self, block: &[&[f64]]) -> Result<(), Unmeasurable> {
        let length = block.first().map_or(0, |channel| channel.len());
        if block.len() != self.channels || block.iter().any(|channel| channel.len() != length) {
            return Err(Unmeasurable::Shape { expected: self.channels, given: block.len() });
        }
        if let Some(refusal) = self.first_refused(block, length) {
            return Err(refusal);
        }
        self.frames += length as u64;
        Ok(())
    }

    fn first_refused(&self, block: &[&[f64]], length: usize) -> Option<Unmeasurable> {
        // Searched only where there is one: what has no early end becomes vectors.
        if !block.iter().any(|channel| in_wide_vectors!(holds_refused(channel))) {
            return None;
        }
        (0..length)
            .flat_map(|at| block.iter().enumerate().map(move |(channel, samples)| (at, channel, samples[at])))
            .find(|(_, _, value)| !is_measurable(*value))
            .map(|(at, channel, value)| Unmeasurable::Sample {
                channel,
                frame: self.frames + at as u64,
                value,
            })
    }
}

/// Magnitudes are in the order of their bits, with what is not a number beyond all others.
#[inline(always)]
fn holds_refused(samples: &[f64]) -> bool {
    let largest = samples.iter().fold(0, |largest, x| x.abs().to_bits().max(largest));
    largest > LARGEST_SAMPLE.to_bits()
}

/// Is false for what is not a number too, as every comparison with it.
fn is_measurable(sample: f64) -> bool {
    sample.abs() <= LARGEST_SAMPLE
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rate_or_a_number_of_channels_out_of_range_is_refused_with_what_is_allowed() {
        let refusal = Guard::new(0, 1).err().map(|e| e.to_string());
        assert_eq!(
            refusal.as_deref(),
            Some("0 samples a second cannot be measured, only 8000 to 384000 (hint: convert the file)")
        );
        assert_eq!(Guard::new(384_001, 1).err(), Some(Unmeasurable::Rate { given: 384_001 }));
        assert_eq!(Guard::new(48_000, 0).err(), Some(Unmeasurable::Channels { given: 0 }));
        assert_eq!(Guard::new(48_000, 3).err(), Some(Unmeasurable::Channels { given: 3 }));
        assert!(Guard::new(8_000, 1).is_ok() && Guard::new(384_000, 2).is_ok());
    }

    #[test]
    fn a_block_of_another_shape_is_refused() {
        let mut guard = Guard::new(48_000, 2).unwrap();
        let refused = Err(Unmeasurable::Shape { expected: 2, given: 2 });
        assert_eq!(guard.admit(&[&[0.0, 0.0], &[0.0]]), refused);
        assert_eq!(guard.admit(&[&[0.0]]), Err(Unmeasurable::Shape { expected: 2, given: 1 }));
        assert_eq!(guard.admit(&[]), Err(Unmeasurable::Shape { expected: 2, given: 0 }));
        assert_eq!(guard.frames(), 0);
    }

    #[test]
    fn the_first_sample_without_a_level_is_named_by_its_place_in_the_whole_sound() {
        for bad in [f64::INFINITY, f64::NEG_INFINITY, 1e101] {
            let mut guard = Guard::new(48_000, 2).unwrap();
            guard.admit(&[&[0.0; 3], &[1e100; 3]]).unwrap();
            let refusal = guard.admit(&[&[0.0, 0.0, bad], &[0.0, bad, 0.0]]);
            assert_eq!(refusal, Err(Unmeasurable::Sample { channel: 1, frame: 4, value: bad }));
        }
        let mut guard = Guard::new(48_000, 1).unwrap();
        let refusal = guard.admit(&[&[0.0, f64::NAN]]).map_err(|e| e.to_string());
        assert_eq!(
            refusal,
            Err("sample 1 of channel 1 is NaN, which has no level (hint: repair the file)".to_owned())
        );
    }
}
