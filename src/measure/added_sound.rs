//! How much an amplifier adds to what it is given.
//!
//! In each whole window of 50 ms a gain is fitted to what the amplifier would give if it were linear; what remains of its sound
//! is added. On a sine that is the total harmonic distortion against the whole, THD_R. The fit keeps compression apart, which
//! a coherence counts as distortion.
//!
//! # Source
//! J. Kates, "Cross-correlation procedures for measuring noise and distortion in AGC hearing aids", J. Acoust. Soc. Am., 2000,
//! for what coherence counts. The measure itself is a convention.

use super::windows::Windows;
use crate::quantity::Db;

/// Compares a sound with its linear counterpart as their blocks go by.
#[derive(Debug, Clone)]
pub struct AddedSoundMeter {
    windows: Windows,
    /// Of the window at hand, a channel: y², y l, l².
    sums: Vec<[f64; 3]>,
    told: AddedSound,
}

/// What was added, window by window. It takes 0.6 MB an hour.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct AddedSound {
    power: f64,
    remainder: f64,
    loudest: f64,
    windows: Vec<Window>,
}

/// A window: its power, and the share of that which is added.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Window {
    power: f32,
    added: f32,
}

/// Windows that lie further below the loudest count as silent.
const SOUNDING: Db = Db::new(30.0);
/// A window is broken up where as much of its amplitude is added: −26 dB.
const BROKEN_UP: f64 = 0.05;

impl AddedSoundMeter {
    /// Returns a meter for sounds of `rate_hz` samples a second and `channels` channels.
    pub fn new(rate_hz: u32, channels: usize) -> Self {
        Self { windows: Windows::new(rate_hz), sums: vec![[0.0; 3]; channels], told: AddedSound::default() }
    }

    /// Takes the next samples of the sound and of its linear counterpart: one slice a channel, all of one length.
    pub fn push(&mut self, sound: &[&[f64]], linear: &[&[f64]]) {
        let frames = sound.first().map_or(0, |channel| channel.len());
        self.windows.cut(frames, |part, ends| {
            for ((sums, y), l) in self.sums.iter_mut().zip(sound).zip(linear) {
                for (y, l) in y[part.clone()].iter().zip(&l[part.clone()]) {
                    sums[0] += y * y;
                    sums[1] += y * l;
                    sums[2] += l * l;
                }
            }
            if ends {
                self.told.add(&self.sums);
                self.sums.fill([0.0; 3]);
            }
        });
    }

    /// Returns what was added.
    pub fn finish(self) -> AddedSound {
        self.told
    }
}

impl AddedSound {
    fn add(&mut self, sums: &[[f64; 3]]) {
        let power: f64 = sums.iter().map(|[yy, ..]| yy).sum();
        let fitted = |[_, yl, ll]: &[f64; 3]| if *ll > 0.0 { yl * yl / ll } else { 0.0 };
        let remainder = sums.iter().map(|own| (own[0] - fitted(own)).max(0.0)).sum::<f64>();
        self.power += power;
        self.remainder += remainder;
        self.loudest = self.loudest.max(power);
        let added = if power > 0.0 { remainder / power } else { 0.0 };
        #[expect(clippy::cast_possible_truncation, reason = "single precision is enough to compare by")]
        self.windows.push(Window { power: power as f32, added: added as f32 });
    }

    /// Returns the level of what was added against the whole, over all windows; nothing for silence.
    pub fn level(&self) -> Option<Db> {
        (self.power > 0.0).then(|| Db::of_power(self.remainder / self.power))
    }

    /// Returns the share, in percent, of the windows within 30 dB of the loudest of `baseline` in which a twentieth of the
    /// amplitude or more is added; nothing where there are none.
    pub fn broken_up_percent(&self, baseline: &Self) -> Option<f64> {
        let least = baseline.loudest * 10f64.powf(-SOUNDING.value() / 10.0);
        let sounding = || self.windows.iter().filter(|w| f64::from(w.power) >= least && w.power > 0.0);
        let broken = sounding().filter(|w| f64::from(w.added) >= BROKEN_UP * BROKEN_UP).count();
        let count = sounding().count();
        (count > 0).then(|| 100.0 * broken as f64 / count as f64)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Returns what is told of a sine with `third` of its third harmonic, at half the linear sine's gain.
    fn told(third: f64) -> AddedSound {
        let turn = |n: u32| std::f64::consts::TAU * f64::from(n) / 48.0;
        let linear: Vec<f64> = (0..4800).map(|n| turn(n).sin()).collect();
        let sound: Vec<f64> =
            (0..4800).map(|n| 0.5 * (turn(n).sin() + third * (3.0 * turn(n)).sin())).collect();
        let mut meter = AddedSoundMeter::new(48_000, 1);
        meter.push(&[&sound], &[&linear]);
        meter.finish()
    }

    #[test]
    fn what_is_added_is_told_against_the_whole_and_a_gain_is_not_counted() {
        for third in [0.3f64, 0.05, 1e-3] {
            let expected = 20.0 * (third / third.hypot(1.0)).log10();
            assert!((told(third).level().unwrap().value() - expected).abs() < 1e-6);
        }
        assert!(told(0.0).level().unwrap().value() < -140.0);
        assert_eq!(AddedSound::default().level(), None);
    }

    #[test]
    fn windows_are_broken_up_from_a_twentieth_on() {
        assert_eq!(told(0.0502).broken_up_percent(&told(0.0)), Some(100.0));
        assert_eq!(told(0.0498).broken_up_percent(&told(0.0)), Some(0.0));
        assert_eq!(AddedSound::default().broken_up_percent(&told(0.0)), None);
    }
}
