//! What counts when two spectra are compared: the rule by which a survey, bands and near-duplicates tell sounds apart.
//!
//! A spectrum is taken as a guitar loudspeaker gives it; what lies far below the highest of that is not heard beside it; and a
//! frequency counts by how many of the ear's filters lie about it.
//!
//! # Source
//! The rule is a convention of this program's; what it is made of is not. The ear's filters: B. Glasberg, B. Moore,
//! "Derivation of auditory filter shapes from notched-noise data", Hearing Research 47, 1990,
//! ERB(f) = 24.7 (4.37 f/1000 + 1) Hz.

use super::loudspeaker::Loudspeaker;
use crate::quantity::{Db, Hertz};

/// Below its highest by more than this a spectrum counts for nothing beside the rest. A convention: of a chord through a pickup
/// in parallel the band at 6.3 kHz, by which series and parallel differ most, lies 35 dB below the highest behind the
/// loudspeaker, in series 48 dB, and where all of that counts series and parallel are further apart than bridge and neck.
pub const FLOOR: Db = Db::new(40.0);

/// Spectra along frequencies that are evenly spaced on a logarithmic scale, made comparable.
#[derive(Debug, Clone, PartialEq)]
pub struct Listening {
    /// The share with which each frequency counts; together they are one.
    weights: Vec<f64>,
    /// What the loudspeaker adds at each, in dB.
    loudspeaker: Vec<f64>,
}

impl Listening {
    /// Returns the rule along `frequencies`, which are evenly spaced on a logarithmic scale.
    pub fn along(frequencies: impl IntoIterator<Item = Hertz>) -> Self {
        let loudspeaker = Loudspeaker::GENERIC;
        let (filters, loudspeaker): (Vec<f64>, Vec<f64>) = frequencies
            .into_iter()
            .map(|f| (f.value() / (24.7 * (4.37 * f.value() / 1000.0 + 1.0)), loudspeaker.level(f).value()))
            .unzip();
        let all: f64 = filters.iter().sum();
        Self { weights: filters.iter().map(|own| own / all).collect(), loudspeaker }
    }

    /// Returns the share with which each frequency counts.
    pub fn weights(&self) -> &[f64] {
        &self.weights
    }

    /// Returns a spectrum of `levels` in dB as a point: the Euclidean distance between two points is the weighted RMS of their
    /// difference in dB after the level match that makes it least.
    pub fn point(&self, levels: &[f64]) -> Vec<f64> {
        let given: Vec<f64> = levels.iter().zip(&self.loudspeaker).map(|(level, own)| level + own).collect();
        let highest = given.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let heard: Vec<f64> = given.iter().map(|level| level.max(highest - FLOOR.value())).collect();
        // The least distance is that at equal weighted means.
        let mean: f64 = heard.iter().zip(&self.weights).map(|(level, weight)| level * weight).sum();
        heard.iter().zip(&self.weights).map(|(level, weight)| (level - mean) * weight.sqrt()).collect()
    }

    /// Returns the distance between two points in dB.
    pub fn distance(one: &[f64], other: &[f64]) -> Db {
        Db::new(one.iter().zip(other).map(|(a, b)| (a - b).powi(2)).sum::<f64>().sqrt())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The nominal third octaves from 50 Hz to 10 kHz.
    fn third_octaves() -> Vec<Hertz> {
        (-13..=10).map(|i| Hertz::new(1000.0 * 10f64.powf(f64::from(i) / 10.0))).collect()
    }

    fn distance(rule: &Listening, one: &[f64], other: &[f64]) -> f64 {
        Listening::distance(&rule.point(one), &rule.point(other)).value()
    }

    #[test]
    fn a_change_of_level_alone_is_no_distance() {
        let rule = Listening::along(third_octaves());
        let spectrum: Vec<f64> = (0..24).map(|i| -20.0 - f64::from(i)).collect();
        let quieter: Vec<f64> = spectrum.iter().map(|level| level - 7.5).collect();
        assert!(distance(&rule, &spectrum, &quieter) < 1e-12);
    }

    #[test]
    fn the_distance_is_the_weighted_deviation_from_the_mean_difference() {
        let rule = Listening::along(third_octaves());
        // A step of 4 dB above 1 kHz: √(4² p (1 − p)), p being the weight above.
        let step: Vec<f64> = (0..24).map(|i| if i > 13 { 4.0 } else { 0.0 }).collect();
        let above: f64 = rule.weights()[14..].iter().sum();
        let found = distance(&rule, &[0.0; 24], &step);
        assert!((found - 4.0 * (above * (1.0 - above)).sqrt()).abs() < 1e-12, "{found}");
    }

    #[test]
    fn what_lies_far_below_the_rest_behind_the_loudspeaker_does_not_count() {
        let rule = Listening::along(third_octaves());
        // At 10 kHz the loudspeaker is some 30 dB below its highest: 10 dB more are out of hearing.
        let with = |band: usize, level: f64| {
            let mut levels = [0.0; 24];
            levels[band] = level;
            levels
        };
        assert_eq!(distance(&rule, &with(23, -12.0), &with(23, -90.0)), 0.0);
        assert!(distance(&rule, &with(13, -22.0), &with(13, 0.0)) > 1.0);
    }

    #[test]
    fn a_band_at_1_khz_counts_by_the_ears_filters_in_it() {
        // ERB(1 kHz) = 132.6 Hz and the third octave is 230.8 Hz wide; at 100 Hz 35.5 Hz and 23.1 Hz.
        let weights = Listening::along(third_octaves()).weights;
        assert!((weights[13] / weights[3] - (230.77 / 132.64) / (23.077 / 35.494)).abs() < 1e-3);
        assert!((weights.iter().sum::<f64>() - 1.0).abs() < 1e-12);
    }
}
