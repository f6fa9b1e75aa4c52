//! The ratio of two sections in twelfths of an octave, each with its own noise.

use std::ops::RangeInclusive;

use nalgebra::{SMatrix, SVector};
use num_complex::Complex64;

use super::section::Spectrum;
use crate::quantity::Hertz;

/// The lowest frequency that is measured.
pub const FROM: Hertz = Hertz::new(200.0);
/// The highest frequency that is measured.
pub const TO: Hertz = Hertz::new(12e3);
/// The twelfths of an octave around 1 kHz that lie within.
pub(super) const BANDS: RangeInclusive<i32> = -27..=43;
/// Mains frequencies, whose overtones are left out with what is near them.
const MAINS: [f64; 2] = [50.0, 60.0];
/// How near, in hertz.
const NEAR: f64 = 2.0;
/// A band with fewer bins tells nothing.
const FEWEST: usize = 20;
/// The coefficients of what a ratio is over a band: of the fourth degree, which follows a resonance of a Q of 10.
const COEFFICIENTS: usize = 5;

/// An impedance at a frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// The frequency.
    pub frequency: Hertz,
    /// The impedance in ohms.
    pub impedance: Complex64,
    /// The standard deviation of the logarithm's real part, and of its imaginary part.
    pub deviation: f64,
}

/// A ratio of two sections at a frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Ratio {
    pub(super) hz: f64,
    pub(super) value: Complex64,
    /// The variance, of both parts together.
    pub(super) variance: f64,
}

/// Returns the ratio of `section` to `base` in every band in which it can be told.
///
/// In each band the ratio is a polynomial over the logarithm of the frequency, by least squares, and what is
/// told is its value in the middle; what it leaves over is the noise.
pub(super) fn ratios(base: &Spectrum, section: &Spectrum) -> Vec<Ratio> {
    BANDS.filter_map(|band| ratio(centre(band), base, section)).collect()
}

/// Returns the middle of a band in hertz.
pub(super) fn centre(band: i32) -> f64 {
    1000.0 * 2f64.powf(f64::from(band) / 12.0)
}

fn ratio(hz: f64, base: &Spectrum, section: &Spectrum) -> Option<Ratio> {
    let half = 2f64.powf(1.0 / 24.0);
    let step = base.step;
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a bin's number, not negative"
    )]
    let [from, to] = [hz / half / step, hz * half / step].map(|bin| bin.ceil() as usize);
    let to = to.min(base.bins.len()).min(section.bins.len());
    let bins = (from..to).filter(|k| !is_near_mains(*k as f64 * step));
    let place = |k: usize| (k as f64 * step / hz).ln() / half.ln();
    let mut matrix = SMatrix::<f64, COEFFICIENTS, COEFFICIENTS>::zeros();
    let mut right = [SVector::<f64, COEFFICIENTS>::zeros(); 2];
    let mut count = 0;
    for k in bins.clone() {
        let powers = powers(place(k));
        let common = section.bins[k] * base.bins[k].conj();
        matrix += powers * powers.transpose() * base.bins[k].norm_sqr();
        right[0] += powers * common.re;
        right[1] += powers * common.im;
        count += 1;
    }
    if count < FEWEST {
        return None;
    }
    let inverse = matrix.try_inverse()?;
    let [re, im] = right.map(|right| inverse * right);
    let told = |u: f64| Complex64::new(powers(u).dot(&re), powers(u).dot(&im));
    let left: f64 = bins.map(|k| (section.bins[k] - told(place(k)) * base.bins[k]).norm_sqr()).sum();
    let variance = left / (count - COEFFICIENTS) as f64 * inverse[(0, 0)];
    Some(Ratio { hz, value: told(0.0), variance })
}

fn powers(u: f64) -> SVector<f64, COEFFICIENTS> {
    SVector::from_fn(|row, _| (0..row).map(|_| u).product())
}

fn is_near_mains(hz: f64) -> bool {
    MAINS.iter().any(|mains| (hz - (hz / mains).round() * mains).abs() < NEAR)
}
