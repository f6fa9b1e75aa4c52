//! The cross spectrum of a sound with a channel for each coil: what is needed to tell the level and the long-term
//! spectrum of any mixture of its channels, each through a path of its own, without rendering it.
//!
//! # Source
//! Parseval's theorem: the energy of `Σ h_i ∗ x_i` is the sum over all frequencies of `Σ H_i H_j* X_i X_j*`. Within a
//! narrow band the paths are taken as they are where the band's power lies, so that one Hermitian matrix
//! `S_ij = Σ X_i X_j*` a band is all that is left of the sound.

use num_complex::Complex64;
use realfft::RealFftPlanner;

use super::k_weighting::KWeighting;
use super::loudness::level_of;
use crate::quantity::{Db, Dbfs, Hertz, Lufs};

/// Bands in a third octave: four, of a twelfth of an octave each.
const PARTS: usize = 4;
/// The first and the last third octave, as x in 1000 Hz · 10^(x/10): 50 Hz and 10 kHz.
const REACH: (i32, i32) = (-13, 10);

/// The cross powers of a sound's channels, band by band.
#[derive(Debug, Clone)]
pub struct CrossSpectrum {
    channels: usize,
    bands: Vec<Band>,
}

/// A twelfth of an octave.
#[derive(Debug, Clone)]
struct Band {
    /// Where its power lies.
    centre: Hertz,
    /// The cross power of each pair of channels, row by row.
    powers: Vec<Complex64>,
    /// The K-weighting's power gain in it.
    weighting: f64,
}

/// The levels of a mixture of the channels.
#[derive(Debug, Clone, PartialEq)]
pub struct MixLevels {
    /// Its RMS level over the whole sound; a full-scale sine reads −3.01.
    pub rms: Dbfs,
    /// Its K-weighted level over the whole sound, without the gates of integrated loudness.
    pub k_weighted: Lufs,
    /// The mean square in each third octave from 50 Hz to 10 kHz; the outermost hold what lies beyond them.
    pub third_octaves: Vec<f64>,
}

impl CrossSpectrum {
    /// Returns the cross spectrum of `planes`, one a channel and all of one length, at `rate_hz` samples a second.
    ///
    /// # Panics
    /// Where there are no planes, or they differ in length.
    pub fn of(rate_hz: u32, planes: &[Vec<f64>]) -> Self {
        let frames = planes[0].len();
        assert!(planes.iter().all(|plane| plane.len() == frames), "channels of one length");
        // Twice as long as a power of two need be: a bin is then narrow against the lowest band.
        let length = (2 * frames.max(rate_hz as usize)).next_power_of_two();
        let plan = RealFftPlanner::new().plan_fft_forward(length);
        let mut spectra = Vec::with_capacity(planes.len());
        for plane in planes {
            let mut padded = plane.clone();
            padded.resize(length, 0.0);
            let mut spectrum = plan.make_output_vec();
            let done = plan.process(&mut padded, &mut spectrum);
            debug_assert!(done.is_ok(), "both are of the length that was planned");
            spectra.push(spectrum);
        }
        let bin = f64::from(rate_hz) / length as f64;
        // The bins between the ends stand for their mirror images too.
        let to_mean_square = 2.0 / (length as f64 * frames.max(1) as f64);
        let lowest = 1000.0 * 10f64.powf((f64::from(REACH.0) - 0.5) / 10.0);
        let edge = |band: usize| lowest * 10f64.powf(band as f64 / (10.0 * PARTS as f64));
        let count = Self::third_octaves().count() * PARTS;
        let mut bands = Vec::with_capacity(count);
        let mut from = 1;
        for band in 0..count {
            let last = band + 1 == count;
            let below = |k: &usize| last || (*k as f64) * bin < edge(band + 1);
            let to = (from..spectra[0].len()).take_while(below).last().map_or(from, |k| k + 1);
            let middle = Hertz::new((edge(band) * edge(band + 1)).sqrt());
            let over: Vec<&[Complex64]> = spectra.iter().map(|s| &s[from..to]).collect();
            bands.push(Band::over(&over, (from as f64 * bin, bin), middle, to_mean_square, rate_hz));
            from = to;
        }
        Self { channels: planes.len(), bands }
    }

    /// Returns the number of channels.
    pub fn channels(&self) -> usize {
        self.channels
    }

    /// Returns the frequencies at which paths are asked for.
    pub fn frequencies(&self) -> impl ExactSizeIterator<Item = Hertz> {
        self.bands.iter().map(|band| band.centre)
    }

    /// Returns the exact mid-frequencies of the third octaves.
    pub fn third_octaves() -> impl Iterator<Item = Hertz> {
        (REACH.0..=REACH.1).map(|x| Hertz::new(1000.0 * 10f64.powf(f64::from(x) / 10.0)))
    }

    /// Returns the levels of the mixture in which each channel goes through its path; `paths` has for each of
    /// [`CrossSpectrum::frequencies`] the channels' factors, and channels beyond those are left out.
    pub fn levels<P: AsRef<[Complex64]>>(&self, paths: &[P]) -> MixLevels {
        debug_assert_eq!(paths.len(), self.bands.len());
        let power = |(band, path): (&Band, &P)| band.through(path.as_ref(), self.channels);
        let powers: Vec<f64> = self.bands.iter().zip(paths).map(power).collect();
        let weighted: f64 = powers.iter().zip(&self.bands).map(|(power, band)| power * band.weighting).sum();
        MixLevels {
            rms: Dbfs::new(Db::of_power(powers.iter().sum()).value()),
            k_weighted: Lufs::new(level_of(weighted)),
            third_octaves: powers.chunks(PARTS).map(|parts| parts.iter().sum()).collect(),
        }
    }
}

impl Band {
    /// Returns the band whose bins, the first at `start` and each `bin` hertz wide, are in `spectra`.
    fn over(
        spectra: &[&[Complex64]],
        (start, bin): (f64, f64),
        middle: Hertz,
        scale: f64,
        rate_hz: u32,
    ) -> Self {
        let cross = |one: &[Complex64], other: &[Complex64]| {
            one.iter().zip(other).map(|(x, y)| x * y.conj()).sum::<Complex64>() * scale
        };
        let pairs = spectra.iter().flat_map(|one| spectra.iter().map(|other| cross(one, other)));
        let (mut moment, mut total) = (0.0, 0.0);
        for spectrum in spectra {
            for (k, x) in spectrum.iter().enumerate() {
                total += x.norm_sqr();
                moment += x.norm_sqr() * (start + k as f64 * bin);
            }
        }
        let centre = if total > 0.0 { Hertz::new(moment / total) } else { middle };
        let weighting = KWeighting::power_at(rate_hz, centre.value() / f64::from(rate_hz));
        Self { powers: pairs.collect(), weighting, centre }
    }

    fn through(&self, path: &[Complex64], channels: usize) -> f64 {
        let mut power = 0.0;
        for (row, one) in self.powers.chunks(channels).zip(path) {
            let sum: Complex64 = row.iter().zip(path).map(|(cross, other)| cross * other.conj()).sum();
            power += (one * sum).re;
        }
        power.max(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    fn sine(frequency: f64, amplitude: f64) -> Vec<f64> {
        (0..48_000).map(|n| amplitude * (TAU * frequency * f64::from(n) / 48_000.0).sin()).collect()
    }

    fn constant(spectrum: &CrossSpectrum, factors: &[f64]) -> MixLevels {
        let path: Vec<Complex64> = factors.iter().map(|f| Complex64::from(*f)).collect();
        spectrum.levels(&vec![path; spectrum.frequencies().len()])
    }

    #[test]
    fn a_full_scale_sine_has_the_levels_that_the_standards_give_it() {
        let levels = constant(&CrossSpectrum::of(48_000, &[sine(997.0, 1.0)]), &[1.0]);
        assert!((levels.rms.value() + 3.01).abs() < 0.01, "{}", levels.rms);
        assert!((levels.k_weighted.value() + 3.01).abs() < 0.01, "{}", levels.k_weighted);
        assert_eq!(levels.third_octaves.len(), CrossSpectrum::third_octaves().count());
    }

    #[test]
    fn channels_that_are_alike_add_in_amplitude_cancel_when_one_is_turned_and_others_add_in_power() {
        let spectrum = CrossSpectrum::of(48_000, &[sine(400.0, 0.1), sine(400.0, 0.1), sine(900.0, 0.1)]);
        let alone = constant(&spectrum, &[1.0, 0.0, 0.0]).rms;
        assert!((constant(&spectrum, &[1.0, 1.0, 0.0]).rms - alone - Db::new(6.0206)).value().abs() < 1e-3);
        assert!((constant(&spectrum, &[1.0, -1.0, 0.0]).rms - alone).value() < -100.0);
        assert!((constant(&spectrum, &[1.0, 0.0, 1.0]).rms - alone - Db::new(3.0103)).value().abs() < 1e-3);
    }

    #[test]
    fn the_bands_powers_add_up_to_the_sounds_own() {
        let noise: Vec<f64> = (0..30_000u32)
            .map(|n| f64::from(n.wrapping_mul(2_654_435_761) >> 8) / 2f64.powi(23) - 1.0)
            .collect();
        let mean = noise.iter().sum::<f64>() / noise.len() as f64;
        let noise: Vec<f64> = noise.iter().map(|x| x - mean).collect();
        let own = noise.iter().map(|x| x * x).sum::<f64>() / noise.len() as f64;
        let levels = constant(&CrossSpectrum::of(44_100, &[noise]), &[1.0]);
        assert!((levels.rms.value() - 10.0 * own.log10()).abs() < 0.01, "{} {own}", levels.rms);
    }
}
