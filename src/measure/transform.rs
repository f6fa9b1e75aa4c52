//! The spectrum of a frame under a Hann window.

use std::f64::consts::PI;
use std::fmt;
use std::sync::Arc;

use realfft::num_complex::Complex;
use realfft::{FftNum, RealFftPlanner, RealToComplex};

/// The transform of frames of one length under the periodic Hann window, with the memory that it needs, in single
/// (`f32`) or double precision (`f64`).
#[derive(Clone)]
pub(super) struct HannTransform<T> {
    plan: Arc<dyn RealToComplex<T>>,
    window: Vec<f64>,
    windowed: Vec<T>,
    spectrum: Vec<Complex<T>>,
    scratch: Vec<Complex<T>>,
}

impl<T: FftNum> HannTransform<T> {
    /// Returns the transform of frames of `length` samples, an even number.
    pub(super) fn new(length: usize) -> Self {
        let plan = RealFftPlanner::new().plan_fft_forward(length);
        Self {
            window: (0..length).map(|n| 0.5 - 0.5 * (2.0 * PI * n as f64 / length as f64).cos()).collect(),
            windowed: plan.make_input_vec(),
            spectrum: plan.make_output_vec(),
            scratch: plan.make_scratch_vec(),
            plan,
        }
    }

    /// Returns the bins from 0 to half the rate, times `gain`: X[k] = g Σ w[n] x[n] e^(−2πi kn/N).
    pub(super) fn of(&mut self, frame: &[f64], gain: f64) -> &[Complex<T>] {
        for ((windowed, x), w) in self.windowed.iter_mut().zip(frame).zip(&self.window) {
            *windowed = T::from_f64(gain * x * w).unwrap_or_else(T::zero);
        }
        let done = self.plan.process_with_scratch(&mut self.windowed, &mut self.spectrum, &mut self.scratch);
        debug_assert!(done.is_ok(), "the planner itself made the vectors, of the lengths it needs");
        &self.spectrum
    }
}

impl<T> fmt::Debug for HannTransform<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("HannTransform").field("length", &self.window.len()).finish_non_exhaustive()
    }
}
