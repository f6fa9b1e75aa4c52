//! The long-term spectrum of a sound in third octaves.
//!
//! # Source
//! IEC 61260-1:2014: base-ten bands, mid-frequencies 1000 Hz · 10^(x/10), edges 10^(±1/20) of them. The powers
//! are summed over the bins of a transform, which are sharper than the filters that the standard asks for.

use crate::quantity::{Db, Dbfs, Hertz};

use super::guard::{Guard, Unmeasurable};
use super::transform::HannTransform;

/// The bands' nominal mid-frequencies in hertz, from 25 Hz (x = −16) to 20 kHz (x = 13).
const NOMINAL: [f64; 30] = [
    25.0, 31.5, 40.0, 50.0, 63.0, 80.0, 100.0, 125.0, 160.0, 200.0, 250.0, 315.0, 400.0, 500.0, 630.0, 800.0,
    1000.0, 1250.0, 1600.0, 2000.0, 2500.0, 3150.0, 4000.0, 5000.0, 6300.0, 8000.0, 10_000.0, 12_500.0,
    16_000.0, 20_000.0,
];
const FIRST_BAND: i32 = -16;
/// The frames in which each sample stands: they overlap by three quarters, where the squares of the Hann
/// windows add up to 3/2 at every sample, so that each counts alike and the bands' powers add up to the
/// sound's.
const OVERLAPPING: usize = 4;
const SQUARED_WINDOWS: f64 = 1.5;

/// The level of one third octave.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThirdOctave {
    nominal: Hertz,
    centre: Hertz,
    level: Dbfs,
}

impl ThirdOctave {
    /// Returns the nominal mid-frequency, by which the band is called.
    pub const fn nominal(&self) -> Hertz {
        self.nominal
    }

    /// Returns the exact mid-frequency.
    pub const fn centre(&self) -> Hertz {
        self.centre
    }

    /// Returns the RMS level of what lies in the band, over the whole sound, −∞ where nothing does.
    pub const fn level(&self) -> Dbfs {
        self.level
    }
}

/// Measures the long-term spectrum of a sound as its blocks go by.
///
/// The result is the same, to the last bit, however the sound is cut into blocks; the memory is constant.
#[derive(Debug, Clone)]
pub struct ThirdOctaveMeter {
    guard: Guard,
    rate_hz: f64,
    transform: HannTransform,
    length: usize,
    channels: Vec<Channel>,
}

#[derive(Debug, Clone)]
struct Channel {
    /// The samples of the frame so far, fewer than a frame has.
    frame: Vec<f64>,
    /// Σ |X|² of each bin over the frames.
    powers: Vec<f64>,
}

impl ThirdOctaveMeter {
    /// Returns a meter for a sound of `rate_hz` samples a second and `channels` channels.
    ///
    /// # Errors
    /// [`Unmeasurable::Rate`] and [`Unmeasurable::Channels`] where they are out of range.
    pub fn new(rate_hz: u32, channels: usize) -> Result<Self, Unmeasurable> {
        let guard = Guard::new(rate_hz, channels)?;
        // A third of a second or more: a bin is then at most 3 Hz wide, half of the lowest band.
        let length = (rate_hz as usize / 3).next_power_of_two();
        // The first frames begin before the sound, so that its first samples stand in four as well.
        let channel =
            Channel { frame: vec![0.0; length - length / OVERLAPPING], powers: vec![0.0; length / 2 + 1] };
        Ok(Self {
            guard,
            rate_hz: f64::from(rate_hz),
            transform: HannTransform::new(length),
            length,
            channels: vec![channel; channels],
        })
    }

    /// Measures the next samples: one slice a channel, all of one length, 1 being full scale.
    ///
    /// # Errors
    /// [`Unmeasurable::Shape`] for a block of another shape and [`Unmeasurable::Sample`] for the first sample
    /// that is not finite; nothing of such a block is measured.
    pub fn push(&mut self, block: &[&[f64]]) -> Result<(), Unmeasurable> {
        self.guard.admit(block)?;
        for (channel, samples) in self.channels.iter_mut().zip(block) {
            channel.add(samples, self.length, &mut self.transform);
        }
        Ok(())
    }

    /// Returns the levels of the bands from 25 Hz up whose mid-frequency lies below half the rate, which can
    /// cut off the upper part of the last one.
    pub fn finish(mut self) -> Vec<ThirdOctave> {
        let frames = self.guard.frames().max(1) as f64;
        // The last sample stands in four frames when as much silence follows it as the frames are long.
        let silence = vec![0.0; self.length];
        for channel in &mut self.channels {
            channel.add(&silence, self.length, &mut self.transform);
        }
        let bin_width = self.rate_hz / self.length as f64;
        let to_mean_square =
            1.0 / (SQUARED_WINDOWS * self.length as f64 * frames * self.channels.len() as f64);
        let power_about =
            |centre| self.channels.iter().map(|c| c.power_about(centre / bin_width)).sum::<f64>();
        (FIRST_BAND..)
            .zip(NOMINAL)
            .map(|(x, nominal)| (nominal, 1000.0 * 10f64.powf(f64::from(x) / 10.0)))
            .filter(|(_, centre)| *centre < self.rate_hz / 2.0)
            .map(|(nominal, centre)| ThirdOctave {
                nominal: Hertz::new(nominal),
                centre: Hertz::new(centre),
                level: Dbfs::new(Db::of_power(power_about(centre) * to_mean_square).value()),
            })
            .collect()
    }
}

impl Channel {
    fn add(&mut self, mut samples: &[f64], length: usize, transform: &mut HannTransform) {
        while self.frame.len() + samples.len() >= length {
            let (ahead, rest) = samples.split_at(length - self.frame.len());
            self.frame.extend_from_slice(ahead);
            samples = rest;
            for (power, x) in self.powers.iter_mut().zip(transform.of(&self.frame)) {
                *power += x.norm_sqr();
            }
            self.frame.drain(..length / OVERLAPPING);
        }
        self.frame.extend_from_slice(samples);
    }

    /// Returns the power of the band about bin `centre`; a bin that straddles an edge counts by its share.
    fn power_about(&self, centre: f64) -> f64 {
        let half_band = 10f64.powf(0.05);
        let (low, high) = (centre / half_band, centre * half_band);
        let last = self.powers.len() - 1;
        self.powers
            .iter()
            .enumerate()
            .map(|(bin, power)| {
                let at = bin as f64;
                let share = (high.min(at + 0.5) - low.max(at - 0.5)).max(0.0);
                // The bins between the ends stand for their mirror images above half the rate too.
                let sides = if bin == 0 || bin == last { 1.0 } else { 2.0 };
                sides * share * power
            })
            .sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn bands(rate_hz: u32, channels: &[&[f64]]) -> Vec<ThirdOctave> {
        let mut meter = ThirdOctaveMeter::new(rate_hz, channels.len()).unwrap();
        meter.push(channels).unwrap();
        meter.finish()
    }

    #[test]
    fn a_band_is_called_by_a_round_number_near_its_exact_mid_frequency() {
        let all = bands(48_000, &[&[0.0]]);
        assert_eq!(all.len(), NOMINAL.len());
        for band in &all {
            let off = band.nominal().value() / band.centre().value() - 1.0;
            assert!(off.abs() < 0.013, "{} for {}", band.nominal(), band.centre());
        }
        // IEC 61260-1:2014, annex E: x = −15, 1 and 13.
        for (index, exact) in [(1, 31.6228), (17, 1258.93), (29, 19_952.6)] {
            let off = all[index].centre().value() / exact - 1.0;
            assert!(off.abs() < 5e-6, "{off} at {exact} Hz");
        }
        assert_eq!(bands(8_000, &[&[0.0]]).len(), 23, "up to 4 kHz, whose upper half is cut off");
    }

    #[test]
    fn a_sine_has_its_level_in_its_band_alone() {
        // Ten seconds, the first and the last faded: ends at once would spread into all bands.
        let sine: Vec<f64> = (0..480_000)
            .map(|n| {
                let t = f64::from(n) / 48_000.0;
                t.min(10.0 - t).min(1.0) * (2.0 * PI * 1000.0 * t).sin()
            })
            .collect();
        let expected = Db::of_power(0.5 * (8.0 + 2.0 / 3.0) / 10.0).value();
        for band in bands(48_000, &[&sine]) {
            let level = band.level().value();
            if band.nominal() == Hertz::new(1000.0) {
                assert!((level - expected).abs() < 0.001, "{level} for {expected}");
            } else {
                assert!(level < -80.0, "{level} at {}", band.nominal());
            }
        }
    }

    #[test]
    fn an_impulse_anywhere_has_the_same_power_in_every_hertz() {
        for (length, place) in [(1, 0), (1000, 500), (48_000, 0), (48_000, 47_999), (20_000, 12_345)] {
            let mut sound = vec![0.0; length];
            sound[place] = 1.0;
            for band in bands(48_000, &[&sound]) {
                let width = band.centre().value() * (10f64.powf(0.05) - 10f64.powf(-0.05));
                let expected = Db::of_power(width / 24_000.0 / length as f64).value();
                assert!(
                    (band.level().value() - expected).abs() < 1e-9,
                    "{} at {}",
                    band.level(),
                    band.centre()
                );
            }
        }
    }

    #[test]
    fn two_channels_have_the_mean_of_their_powers() {
        let sound: Vec<f64> = (0..9000).map(|n| f64::from(n % 97) / 97.0 - 0.5).collect();
        let alone = bands(44_100, &[&sound]);
        let with_silence = bands(44_100, &[&vec![0.0; sound.len()], &sound]);
        for (one, two) in alone.iter().zip(&with_silence) {
            assert!(((one.level() - two.level()).value() - 3.0103).abs() < 1e-4);
        }
    }
}
