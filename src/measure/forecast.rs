//! The levels that filters will give a sound, foretold from its spectrum without filtering it.
//!
//! The sound is cut into frames under Hann windows that overlap by three quarters, whose squares add up to 3/2 at every
//! sample: the frames' powers add up to the sound's, and so they do after a filter that is short beside a frame. The
//! frames around a tenth of a second, half as long each, give that tenth's K-weighted power, which loudness is made of. Longer
//! ones would spread an attack that dies away at once over more than its own tenths, and the gates would keep more of them.

use num_complex::Complex64;

use super::k_weighting::KWeighting;
use super::loudness::Loudness;
use super::transform::HannTransform;
use crate::quantity::{Db, Dbfs, Hertz};

/// The frames in which each sample stands, and what their squared windows add up to.
const OVERLAPPING: usize = 4;
const SQUARED_WINDOWS: f64 = 1.5;

/// Frames, end to end, in a tenth of a second.
const IN_A_TENTH: usize = 2;

/// Foretells levels of sounds of one rate, a frame lasting a twentieth of a second.
#[derive(Debug, Clone)]
pub struct Forecast {
    rate_hz: u32,
    length: usize,
}

/// The levels that were foretold.
#[derive(Debug, Clone, PartialEq)]
pub struct Foretold {
    /// The RMS level.
    pub rms: Dbfs,
    /// The integrated loudness.
    pub loudness: Loudness,
}

impl Forecast {
    /// Returns the forecast for sounds of `rate_hz` samples a second.
    pub fn new(rate_hz: u32) -> Self {
        Self { rate_hz, length: rate_hz as usize / (10 * IN_A_TENTH * OVERLAPPING) * OVERLAPPING }
    }

    /// Returns the frequencies at which filters are to be known.
    pub fn frequencies(&self) -> impl Iterator<Item = Hertz> {
        let width = f64::from(self.rate_hz) / self.length as f64;
        (0..=self.length / 2).map(move |bin| Hertz::new(bin as f64 * width))
    }

    /// Returns the levels that the sum of `channels` will have, each through its own filter of `filters`, for each of
    /// them; a filter is its response at [`Forecast::frequencies`].
    pub fn of(&self, channels: &[Vec<f64>], filters: &[Vec<Vec<Complex64>>]) -> Vec<Foretold> {
        let hop = self.length / OVERLAPPING;
        let frames = channels.first().map_or(0, Vec::len);
        let weights: Vec<f64> = self.weights();
        let mut powers = vec![0.0; filters.len()];
        let tenth_of_a_second = self.length * IN_A_TENTH;
        let mut tenths = vec![vec![0.0; frames / tenth_of_a_second]; filters.len()];
        let mut transform = HannTransform::new(self.length);
        let mut spectra = vec![Vec::new(); channels.len()];
        // The first frames begin before the sound and the last end after it, so that each sample stands in four.
        for place in 0..frames.div_ceil(hop) + OVERLAPPING - 1 {
            for (spectrum, channel) in spectra.iter_mut().zip(channels) {
                *spectrum = transform.of(&frame(channel, place, hop)).to_vec();
            }
            let middle = (place + 1).saturating_sub(OVERLAPPING / 2) / (OVERLAPPING * IN_A_TENTH);
            for ((filter, power), tenths) in filters.iter().zip(&mut powers).zip(&mut tenths) {
                let (plain, weighted) = through(filter, &spectra, &weights);
                *power += plain;
                if let Some(tenth) = tenths.get_mut(middle) {
                    *tenth += weighted;
                }
            }
        }
        let to_energy = 1.0 / (SQUARED_WINDOWS * self.length as f64);
        let told = powers.into_iter().zip(tenths).map(|(power, tenths)| {
            let mut loudness = Loudness::default();
            for tenth in &tenths {
                loudness.keep(tenth * to_energy / tenth_of_a_second as f64);
            }
            let mean = Db::of_power(power * to_energy / frames.max(1) as f64);
            Foretold { rms: Dbfs::new(mean.value()), loudness }
        });
        told.collect()
    }

    /// Returns the K-weighting's power at each bin.
    fn weights(&self) -> Vec<f64> {
        let share = |f: Hertz| f.value() / f64::from(self.rate_hz);
        self.frequencies().map(|f| KWeighting::power_at(self.rate_hz, share(f))).collect()
    }
}

/// Returns the frame whose last quarter begins at `place` times `hop`.
fn frame(channel: &[f64], place: usize, hop: usize) -> Vec<f64> {
    let at = |n: usize| (place * hop + n).checked_sub((OVERLAPPING - 1) * hop).and_then(|n| channel.get(n));
    (0..OVERLAPPING * hop).map(|n| at(n).copied().unwrap_or(0.0)).collect()
}

/// Returns the power of a frame's sum over its channels, and the same with each bin weighted.
fn through(filter: &[Vec<Complex64>], spectra: &[Vec<Complex64>], weights: &[f64]) -> (f64, f64) {
    let last = weights.len() - 1;
    let (mut plain, mut weighted) = (0.0, 0.0);
    for (bin, weight) in weights.iter().enumerate() {
        let sum: Complex64 = filter.iter().zip(spectra).map(|(h, x)| h[bin] * x[bin]).sum();
        // The bins between the ends stand for their mirror images above half the rate too.
        let sides = if bin == 0 || bin == last { 1.0 } else { 2.0 };
        plain += sides * sum.norm_sqr();
        weighted += sides * sum.norm_sqr() * weight;
    }
    (plain, weighted)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::LevelMeter;

    #[test]
    fn without_a_filter_the_levels_are_those_that_are_measured() {
        // Bursts that rise and fall over four seconds, at two frequencies that K-weighting tells apart.
        let channel = |turn: f64| -> Vec<f64> {
            let at = |n: i32| f64::from(n) / 48_000.0;
            (0..192_000).map(|n| 0.5 * (at(n) * turn).sin() * (at(n) * 2.0).cos().powi(2)).collect()
        };
        let channels = [channel(600.0), channel(18_000.0)];
        let sum: Vec<f64> = channels[0].iter().zip(&channels[1]).map(|(a, b)| a - 0.5 * b).collect();
        let mut meter = LevelMeter::new(48_000, 1).unwrap();
        meter.push(&[&sum]).unwrap();
        let measured = meter.finish();
        let forecast = Forecast::new(48_000);
        let flat = |gain: f64| forecast.frequencies().map(|_| Complex64::from(gain)).collect::<Vec<_>>();
        let told = &forecast.of(&channels, &[vec![flat(1.0), flat(-0.5)]])[0];
        assert!((told.rms - measured.rms()).value().abs() < 1e-6, "{}", told.rms);
        let (foretold, found) =
            (told.loudness.integrated().unwrap(), measured.loudness().integrated().unwrap());
        assert!((foretold - found).value().abs() < 0.05, "{foretold} for {found}");
    }

    #[test]
    fn a_sound_that_is_none_has_no_levels() {
        let told = &Forecast::new(44_100).of(&[Vec::new()], &[vec![vec![Complex64::ONE; 2206]]])[0];
        assert_eq!(told.rms, Dbfs::new(f64::NEG_INFINITY));
        assert_eq!(told.loudness.integrated(), None);
    }
}
