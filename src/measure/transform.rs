//! The spectra of frames under a Hann window.

use std::f64::consts::PI;
use std::fmt;
use std::sync::Arc;

use realfft::num_complex::{Complex32, Complex64};
use realfft::{RealFftPlanner, RealToComplex};
use rustfft::{Fft, FftPlanner};

use crate::vectors::{Aligned, in_wide_vectors};

/// Returns the periodic Hann window of `length` samples.
fn hann(length: usize) -> Vec<f64> {
    (0..length).map(|n| 0.5 - 0.5 * (2.0 * PI * n as f64 / length as f64).cos()).collect()
}

/// Returns the bins from 0 to half the rate of `samples` with silence behind them up to `length`, an even number.
pub(crate) fn padded_spectrum(samples: &[f64], length: usize) -> Vec<Complex64> {
    let plan = RealFftPlanner::new().plan_fft_forward(length);
    let mut padded = samples.to_vec();
    padded.resize(length, 0.0);
    let mut bins = plan.make_output_vec();
    let done = plan.process(&mut padded, &mut bins);
    debug_assert!(done.is_ok(), "both are of the length that was planned");
    bins
}

/// The transform of frames of one length under the periodic Hann window, with the memory that it needs.
#[derive(Clone)]
pub(crate) struct HannTransform {
    plan: Arc<dyn RealToComplex<f64>>,
    window: Vec<f64>,
    windowed: Vec<f64>,
    spectrum: Vec<Complex64>,
    scratch: Vec<Complex64>,
}

impl HannTransform {
    /// Returns the transform of frames of `length` samples, an even number.
    pub(crate) fn new(length: usize) -> Self {
        let plan = RealFftPlanner::new().plan_fft_forward(length);
        Self {
            window: hann(length),
            windowed: plan.make_input_vec(),
            spectrum: plan.make_output_vec(),
            scratch: plan.make_scratch_vec(),
            plan,
        }
    }

    /// Returns the bins from 0 to half the rate: X[k] = Σ w[n] x[n] e^(−2πi kn/N).
    pub(crate) fn of(&mut self, frame: &[f64]) -> &[Complex64] {
        for ((windowed, x), w) in self.windowed.iter_mut().zip(frame).zip(&self.window) {
            *windowed = x * w;
        }
        let done = self.plan.process_with_scratch(&mut self.windowed, &mut self.spectrum, &mut self.scratch);
        debug_assert!(done.is_ok(), "the planner itself made the vectors, of the lengths it needs");
        &self.spectrum
    }
}

impl fmt::Debug for HannTransform {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("HannTransform").field("length", &self.window.len()).finish_non_exhaustive()
    }
}

/// The transform of two frames at once, in single precision: one is the real and one the imaginary part of what is
/// transformed, and the spectrum's even and odd parts tell them apart.
#[derive(Clone)]
pub(super) struct HannPair {
    plan: Arc<dyn Fft<f32>>,
    window: Aligned<f32>,
    both: Aligned<Complex32>,
    scratch: Aligned<Complex32>,
    /// The powers of either frame's bins.
    powers: [Aligned<f32>; 2],
}

impl HannPair {
    /// Returns the transform of frames of `length` samples, an even number.
    pub(super) fn new(length: usize) -> Self {
        let plan = FftPlanner::new().plan_fft_forward(length);
        let mut window = Aligned::filled(0.0, length);
        #[expect(clippy::cast_possible_truncation, reason = "it is to be rounded to single precision")]
        window.iter_mut().zip(hann(length)).for_each(|(to, w)| *to = w as f32);
        Self {
            window,
            both: Aligned::filled(Complex32::ZERO, length),
            scratch: Aligned::filled(Complex32::ZERO, plan.get_inplace_scratch_len()),
            powers: [(); 2].map(|()| Aligned::filled(0.0, length / 2 + 1)),
            plan,
        }
    }

    /// Returns the powers |X\[k\]|² of two frames' bins from 0 to half the rate, either frame times its gain.
    pub(super) fn of(&mut self, frames: [&[f64]; 2], gains: [f64; 2]) -> [&[f32]; 2] {
        in_wide_vectors!(join(&mut self.both, &self.window, frames, gains));
        self.plan.process_with_scratch(&mut self.both, &mut self.scratch);
        let [first, second] = &mut self.powers;
        in_wide_vectors!(part(&self.both, first, second));
        [first, second]
    }
}

#[inline(always)]
fn join(both: &mut [Complex32], window: &[f32], [first, second]: [&[f64]; 2], [g, h]: [f64; 2]) {
    for ((both, w), (x, y)) in both.iter_mut().zip(window).zip(first.iter().zip(second)) {
        #[expect(clippy::cast_possible_truncation, reason = "it is to be rounded to single precision")]
        let (x, y) = ((g * x) as f32, (h * y) as f32);
        *both = Complex32::new(w * x, w * y);
    }
}

/// Parts the spectrum Z of x + i y into X[k] = (Z[k] + Z*[N−k])/2 and Y[k] = (Z[k] − Z*[N−k])/2i, of which it keeps the
/// powers.
#[inline(always)]
fn part(both: &[Complex32], first: &mut [f32], second: &mut [f32]) {
    let half = both.len() / 2;
    // The bin at 0 is its own mirror.
    (first[0], second[0]) = (both[0].re * both[0].re, both[0].im * both[0].im);
    let mirrored = both[1..=half].iter().zip(both[half..].iter().rev());
    for ((x, y), (z, m)) in first[1..].iter_mut().zip(&mut second[1..]).zip(mirrored) {
        let (x_re, x_im, y_re, y_im) = (z.re + m.re, z.im - m.im, z.im + m.im, m.re - z.re);
        (*x, *y) = (0.25 * (x_re * x_re + x_im * x_im), 0.25 * (y_re * y_re + y_im * y_im));
    }
}

impl fmt::Debug for HannPair {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("HannPair").field("length", &self.window.len()).finish_non_exhaustive()
    }
}
