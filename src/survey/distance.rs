//! How far apart two combinations sound.
//!
//! # Source
//! The formula is that of [`Listening`], a convention of this program's. Third octaves: IEC 61260-1:2014.

use crate::measure::{CrossSpectrum, Listening};

/// The formula in words, for outputs.
pub const DISTANCE: &str = "Distance between two combinations: the root of the weighted mean square, over the third \
octaves from 50 Hz to 10 kHz, of the difference between their levels with a neutral source (an open chord) as a guitar \
loudspeaker gives them, after the level match that makes it least. A band counts by the number of the ear's filters in it \
(ERB, Glasberg and Moore 1990); levels more than 40 dB below a spectrum's highest are taken as 40 dB below it. The formula, \
its floor and its thresholds are a convention, no source: 1 dB is about what can just be told side by side, 3 dB is plain.";

/// Spectra as points whose Euclidean distance is that of [`DISTANCE`]; so a way round is never shorter.
#[derive(Debug, Clone, PartialEq)]
pub struct Points(Vec<Vec<f64>>);

impl Points {
    /// Returns the points of spectra, each the levels in third octaves in dB.
    pub fn of<'s>(spectra: impl Iterator<Item = &'s [f64]>) -> Self {
        let rule = Listening::along(CrossSpectrum::third_octaves());
        Self(spectra.map(|levels| rule.point(levels)).collect())
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
        Listening::distance(&self.0[one], &self.0[other]).value()
    }
}
