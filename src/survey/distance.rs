//! How far apart two combinations sound.
//!
//! # Source
//! The formula is a convention of this program's; what it is made of is not. Third octaves: IEC 61260-1:2014. The width
//! of the ear's filters, by which a band counts: B. Glasberg, B. Moore, "Derivation of auditory filter shapes from
//! notched-noise data", Hearing Research 47, 1990, ERB(f) = 24.7 (4.37 f/1000 + 1) Hz.

use crate::measure::CrossSpectrum;

/// The formula in words, for outputs.
pub const DISTANCE: &str = "Distance between two combinations: the root of the weighted mean square, over the third \
octaves from 50 Hz to 10 kHz, of the difference between their levels with a neutral source (an open chord), after the \
level match that makes it least. A band counts by the number of the ear's filters in it (ERB, Glasberg and Moore 1990); \
levels more than 50 dB below a spectrum's highest are taken as 50 dB below it. The formula, its floor and its thresholds \
are a convention, no source: 1 dB is about what can just be told side by side, 3 dB is plain.";

/// Below its highest band by more than this, a spectrum is taken to be inaudible beside the rest. A convention.
const FLOOR_DB: f64 = 50.0;

/// Spectra as points whose Euclidean distance is that of [`DISTANCE`]; so a way round is never shorter.
#[derive(Debug, Clone, PartialEq)]
pub struct Points(Vec<Vec<f64>>);

/// Returns the weight of each third octave; together they are one.
fn weights() -> Vec<f64> {
    let filters = CrossSpectrum::third_octaves().map(|centre| {
        let f = centre.value();
        let width = f * (10f64.powf(0.05) - 10f64.powf(-0.05));
        width / (24.7 * (4.37 * f / 1000.0 + 1.0))
    });
    let filters: Vec<f64> = filters.collect();
    let all: f64 = filters.iter().sum();
    filters.iter().map(|own| own / all).collect()
}

impl Points {
    /// Returns the points of spectra, each the levels in third octaves in dB.
    pub fn of<'s>(spectra: impl Iterator<Item = &'s [f64]>) -> Self {
        let weights = weights();
        let point = |levels: &[f64]| {
            let highest = levels.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let heard: Vec<f64> = levels.iter().map(|level| level.max(highest - FLOOR_DB)).collect();
            // The least distance is that at equal weighted means.
            let mean: f64 = heard.iter().zip(&weights).map(|(level, weight)| level * weight).sum();
            heard.iter().zip(&weights).map(|(level, weight)| (level - mean) * weight.sqrt()).collect()
        };
        Self(spectra.map(point).collect())
    }

    /// Returns the number of points.
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Returns whether there are none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Returns the distance between two points in dB.
    pub fn distance(&self, one: usize, other: usize) -> f64 {
        self.0[one].iter().zip(&self.0[other]).map(|(a, b)| (a - b).powi(2)).sum::<f64>().sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_change_of_level_alone_is_no_distance() {
        let spectrum: Vec<f64> = (0..24).map(|i| -20.0 - f64::from(i)).collect();
        let quieter: Vec<f64> = spectrum.iter().map(|level| level - 7.5).collect();
        assert!(Points::of([&*spectrum, &quieter].into_iter()).distance(0, 1) < 1e-12);
    }

    #[test]
    fn the_distance_is_the_weighted_deviation_from_the_mean_difference() {
        let flat = vec![0.0; 24];
        let weights = weights();
        // A step of 4 dB above 1 kHz: √(4² p (1 − p)), p being the weight above.
        let step: Vec<f64> = (0..24).map(|i| if i > 13 { 4.0 } else { 0.0 }).collect();
        let above: f64 = weights[14..].iter().sum();
        let distance = Points::of([&*flat, &step].into_iter()).distance(0, 1);
        assert!((distance - 4.0 * (above * (1.0 - above)).sqrt()).abs() < 1e-12, "{distance}");
    }

    #[test]
    fn what_lies_far_below_the_rest_does_not_count() {
        let mut one = vec![0.0; 24];
        let mut other = one.clone();
        (one[23], other[23]) = (-FLOOR_DB, -90.0);
        assert_eq!(Points::of([&*one, &other].into_iter()).distance(0, 1), 0.0);
    }

    #[test]
    fn a_band_at_1_khz_counts_by_the_ears_filters_in_it() {
        // ERB(1 kHz) = 132.6 Hz and the third octave is 230.8 Hz wide; at 100 Hz 35.5 Hz and 23.1 Hz.
        let weights = weights();
        assert!((weights[13] / weights[3] - (230.77 / 132.64) / (23.077 / 35.494)).abs() < 1e-3);
        assert!((weights.iter().sum::<f64>() - 1.0).abs() < 1e-12);
    }
}
