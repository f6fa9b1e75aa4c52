//! The levels of a sound, from one pass over its blocks.

use crate::quantity::{Db, DbTp, Dbfs};

use super::energy::EnergyMeter;
use super::guard::{Guard, Unmeasurable};
use super::loudness::Loudness;
use super::true_peak::PeakMeter;

/// The levels of a sound.
///
/// A gain of the whole sound adds to the RMS level and the peaks; what it makes of the loudness tells
/// [`Loudness::with_gain`].
#[derive(Debug, Clone, PartialEq)]
pub struct Levels {
    frames: u64,
    rms: Dbfs,
    sample_peak: Dbfs,
    true_peak: DbTp,
    dc_offset: f64,
    loudness: Loudness,
}

impl Levels {
    /// Returns the number of frames that were measured.
    pub const fn frames(&self) -> u64 {
        self.frames
    }

    /// Returns the RMS level, of which a full-scale sine has −3.01 dBFS and silence −∞; of two channels the
    /// level of the mean of their powers.
    pub const fn rms(&self) -> Dbfs {
        self.rms
    }

    /// Returns the level of the largest sample of any channel, −∞ for silence.
    pub const fn sample_peak(&self) -> Dbfs {
        self.sample_peak
    }

    /// Returns the true peak of any channel, −∞ for silence; it is not below the sample peak.
    pub const fn true_peak(&self) -> DbTp {
        self.true_peak
    }

    /// Returns the mean of the samples, 1 being full scale; of two channels the mean that is farther from 0.
    pub const fn dc_offset(&self) -> f64 {
        self.dc_offset
    }

    /// Returns the integrated loudness.
    pub const fn loudness(&self) -> &Loudness {
        &self.loudness
    }
}

/// Measures the levels of a sound as its blocks go by.
///
/// The result is the same, to the last bit, however the sound is cut into blocks. The memory does not grow
/// with the sound, but for one number each 100 ms (0.3 MB an hour).
#[derive(Debug, Clone)]
pub struct LevelMeter {
    guard: Guard,
    energy: EnergyMeter,
    peaks: Vec<PeakMeter>,
}

impl LevelMeter {
    /// Returns a meter for a sound of `rate_hz` samples a second and `channels` channels.
    ///
    /// # Errors
    /// [`Unmeasurable::Rate`] and [`Unmeasurable::Channels`] where they are out of range.
    pub fn new(rate_hz: u32, channels: usize) -> Result<Self, Unmeasurable> {
        Ok(Self {
            guard: Guard::new(rate_hz, channels)?,
            energy: EnergyMeter::new(rate_hz, channels),
            peaks: vec![PeakMeter::new(); channels],
        })
    }

    /// Measures the next samples: one slice a channel, all of one length, 1 being full scale.
    ///
    /// # Errors
    /// [`Unmeasurable::Shape`] for a block of another shape and [`Unmeasurable::Sample`] for the first sample
    /// that is not finite; nothing of such a block is measured.
    pub fn push(&mut self, block: &[&[f64]]) -> Result<(), Unmeasurable> {
        self.guard.admit(block)?;
        self.energy.push(block);
        for (peaks, samples) in self.peaks.iter_mut().zip(block) {
            peaks.push(samples);
        }
        Ok(())
    }

    /// Returns the levels of all that was pushed.
    pub fn finish(self) -> Levels {
        let frames = self.guard.frames();
        // A sound without samples is silence: its sums of zero are divided by one.
        let count = frames.max(1) as f64;
        let (mut power, mut dc_offset) = (0.0, 0.0_f64);
        let (sums, loudness) = self.energy.finish();
        for (sum, squares) in sums {
            power += squares / count / self.peaks.len() as f64;
            if sum.abs() > dc_offset.abs() * count {
                dc_offset = sum / count;
            }
        }
        let (mut sample_peak, mut true_peak) = (0.0_f64, 0.0_f64);
        for (sample, between) in self.peaks.into_iter().map(PeakMeter::finish) {
            sample_peak = sample_peak.max(sample);
            true_peak = true_peak.max(between);
        }
        Levels {
            frames,
            rms: Dbfs::new(Db::of_power(power).value()),
            sample_peak: Dbfs::new(Db::of_amplitude(sample_peak).value()),
            true_peak: DbTp::new(Db::of_amplitude(true_peak).value()),
            dc_offset,
            loudness,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Lufs;
    use std::f64::consts::PI;

    fn levels(rate_hz: u32, channels: &[&[f64]]) -> Levels {
        let mut meter = LevelMeter::new(rate_hz, channels.len()).unwrap();
        meter.push(channels).unwrap();
        meter.finish()
    }

    fn sine(amplitude: f64, length: u32) -> Vec<f64> {
        (0..length).map(|n| amplitude * (2.0 * PI * f64::from(n) / 100.0 + 0.1).sin()).collect()
    }

    #[test]
    fn a_full_scale_sine_has_minus_3_01_dbfs_and_a_mute_channel_halves_the_power() {
        let sine = sine(1.0, 48_000);
        let mono = levels(48_000, &[&sine]);
        assert!((mono.rms().value() + 3.0103).abs() < 1e-4);
        assert!(mono.dc_offset().abs() < 1e-12);
        let half = levels(48_000, &[&sine, &vec![0.0; sine.len()]]);
        assert!((half.rms().value() + 6.0206).abs() < 1e-4);
        assert_eq!(half.sample_peak(), mono.sample_peak());
    }

    #[test]
    fn silence_and_nothing_have_no_levels() {
        for silent in [levels(44_100, &[&vec![0.0; 44_100]]), levels(44_100, &[&[]])] {
            assert_eq!(silent.rms(), Dbfs::new(f64::NEG_INFINITY));
            assert_eq!(silent.sample_peak(), Dbfs::new(f64::NEG_INFINITY));
            assert_eq!(silent.true_peak(), DbTp::new(f64::NEG_INFINITY));
            assert!(silent.dc_offset().abs() < f64::MIN_POSITIVE);
            assert_eq!(silent.loudness().integrated(), None);
        }
    }

    #[test]
    fn one_sample_has_every_level_but_loudness() {
        let one = levels(96_000, &[&[-0.5]]);
        assert_eq!((one.frames(), one.dc_offset()), (1, -0.5));
        for level in [one.rms().value(), one.sample_peak().value(), one.true_peak().value()] {
            assert!((level + 6.0206).abs() < 1e-4);
        }
        assert_eq!(one.loudness().integrated(), None);
    }

    #[test]
    fn loudness_begins_at_400_ms() {
        let sine = sine(0.5, 3200);
        assert_eq!(levels(8_000, &[&sine[..3199]]).loudness().integrated(), None);
        assert!(levels(8_000, &[&sine]).loudness().integrated().is_some());
    }

    #[test]
    fn a_sound_120_db_down_has_levels_and_a_gain_brings_it_to_any_loudness() {
        let quiet = levels(48_000, &[&sine(1e-6, 48_000)]);
        assert!((quiet.rms().value() + 123.0103).abs() < 1e-4);
        assert_eq!(quiet.loudness().integrated(), None);
        let target = Lufs::new(-23.0);
        let gain = quiet.loudness().gain_for(target).unwrap();
        let raised = levels(48_000, &[&sine(1e-6 * gain.amplitude(), 48_000)]);
        assert!((raised.loudness().integrated().unwrap() - target).value().abs() < 1e-9);
    }

    #[test]
    fn the_offset_is_that_of_the_channel_farther_from_zero() {
        let offset = levels(48_000, &[&[0.1, 0.1], &[-0.5, 0.1]]).dc_offset();
        assert!((offset + 0.2).abs() < 1e-15);
    }

    #[test]
    fn a_refused_block_leaves_what_was_measured_before() {
        let mut meter = LevelMeter::new(48_000, 1).unwrap();
        meter.push(&[&[0.5]]).unwrap();
        let refusal = meter.push(&[&[0.7, f64::NAN]]);
        assert!(
            matches!(refusal, Err(Unmeasurable::Sample { channel: 0, frame: 2, value }) if value.is_nan())
        );
        assert_eq!(meter.finish(), levels(48_000, &[&[0.5]]));
    }
}
