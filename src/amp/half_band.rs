//! The rate doubled and halved by half-band filters.
//!
//! # Source
//! A sinc under J. Kaiser's window (J. F. Kaiser, R. W. Schafer, "On the use of the I0-sinh window for spectrum analysis",
//! IEEE Trans. ASSP 28(1), 1980), of the shape and length for 110 dB. Every second tap but the middle one is zero.

use std::f64::consts::PI;

use crate::measure::bessel_i0;
use crate::vectors::{LANES, in_wide_vectors};

/// What the filters hold back, in dB.
const STOPS: f64 = 110.0;
/// What is kept: ears' range, or this share of a lower rate.
const EARS: f64 = 20e3;
const KEPT: f64 = 0.4535;

/// A half-band filter's taps on the side that is not zero, and its middle.
#[derive(Debug, Clone)]
struct Taps {
    /// The first half of every second tap; the others mirror them. The middle tap is a half.
    half: Vec<f64>,
}

impl Taps {
    /// Returns the taps between a rate of `lower` and twice that.
    fn between(lower: f64) -> Self {
        let kept = EARS.min(KEPT * lower);
        let steepness = (lower - 2.0 * kept) / (2.0 * lower);
        let wanted = (STOPS - 7.95) / (14.36 * steepness);
        // Lengths are 4 k + 3, so that both ends are taps that are not zero.
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a small positive number"
        )]
        let quarter = ((wanted - 3.0) / 4.0).ceil().max(1.0) as usize;
        let middle = (2 * quarter + 1) as f64;
        let shape = 0.1102 * (STOPS - 8.7);
        let tap = |n: usize| {
            let off = 2.0 * n as f64 - middle;
            let window = bessel_i0(shape * (1.0 - (off / middle).powi(2)).max(0.0).sqrt());
            (PI * off / 2.0).sin() / (PI * off) * window
        };
        let half: Vec<f64> = (0..=quarter).map(tap).collect();
        // Together with the middle one they let a constant pass unchanged.
        let sum: f64 = 2.0 * half.iter().sum::<f64>();
        Self { half: half.iter().map(|tap| tap / sum / 2.0).collect() }
    }

    /// Returns how many samples of the lower rate the filter reaches back.
    fn reach(&self) -> usize {
        2 * self.half.len() - 1
    }

    /// Returns the delay in samples of the lower rate, of one filter.
    fn delay(&self) -> f64 {
        self.reach() as f64 / 2.0
    }
}

/// Returns the first half of every second tap of the filter between a rate of `lower` and twice that.
pub(super) fn taps_between(lower: f64) -> Vec<f64> {
    Taps::between(lower).half
}

/// Doubles a rate.
#[derive(Debug, Clone)]
pub(super) struct Doubler {
    /// Twice the taps, since every second sample that goes in is zero.
    taps: Vec<f64>,
    delay: f64,
    line: Vec<f64>,
    between: Vec<f64>,
}

/// Halves a rate.
#[derive(Debug, Clone)]
pub(super) struct Halver {
    taps: Vec<f64>,
    even: Vec<f64>,
    odd: Vec<f64>,
}

impl Doubler {
    pub(super) fn new(lower: f64) -> Self {
        let taps = Taps::between(lower);
        Self {
            line: vec![0.0; taps.reach()],
            delay: taps.delay(),
            taps: taps.half.iter().map(|tap| 2.0 * tap).collect(),
            between: Vec::new(),
        }
    }

    /// Returns the delay in samples of the lower rate.
    pub(super) fn delay(&self) -> f64 {
        self.delay
    }

    /// Writes twice as many samples as there are in `input` to `output`.
    pub(super) fn run(&mut self, input: &[f64], output: &mut Vec<f64>) {
        let reach = 2 * self.taps.len() - 1;
        self.line.extend_from_slice(input);
        self.between.resize(input.len(), 0.0);
        in_wide_vectors!(convolve(&mut self.between, &self.line, &self.taps));
        output.clear();
        // The middle tap passes a sample on.
        let passed = &self.line[reach / 2 + 1..];
        output.extend(self.between.iter().zip(passed).flat_map(|(even, odd)| [*even, *odd]));
        self.line.drain(..input.len());
    }
}

impl Halver {
    pub(super) fn new(lower: f64) -> Self {
        let taps = Taps::between(lower);
        Self { even: vec![0.0; taps.reach()], odd: vec![0.0; taps.half.len()], taps: taps.half }
    }

    /// Writes half as many samples as there are in `input`, an even number, to `output`.
    pub(super) fn run(&mut self, input: &[f64], output: &mut Vec<f64>) {
        self.even.extend(input.iter().step_by(2));
        self.odd.extend(input.iter().skip(1).step_by(2));
        let count = input.len() / 2;
        output.clear();
        output.resize(count, 0.0);
        in_wide_vectors!(convolve(output, &self.even, &self.taps));
        for (y, middle) in output.iter_mut().zip(&self.odd) {
            *y += 0.5 * middle;
        }
        self.even.drain(..count);
        self.odd.drain(..count);
    }
}

/// Convolves `line`, which begins before the first of `to` by the filter's reach, with `half` of its taps and their mirror.
///
/// Each sum is in the same order however many are done side by side.
#[inline(always)]
fn convolve(to: &mut [f64], line: &[f64], half: &[f64]) {
    const ABREAST: usize = 2 * LANES;
    let reach = 2 * half.len() - 1;
    let mut chunks = to.chunks_exact_mut(ABREAST);
    let mut at = 0;
    for chunk in &mut chunks {
        let mut sums = [0.0; ABREAST];
        for (n, tap) in half.iter().enumerate() {
            let (newer, older) = (&line[at + reach - n..][..ABREAST], &line[at + n..][..ABREAST]);
            for ((sum, newer), older) in sums.iter_mut().zip(newer).zip(older) {
                *sum += tap * (newer + older);
            }
        }
        chunk.copy_from_slice(&sums);
        at += ABREAST;
    }
    for y in chunks.into_remainder() {
        let terms = half.iter().enumerate().map(|(n, tap)| tap * (line[at + reach - n] + line[at + n]));
        *y = terms.fold(0.0, |sum, term| sum + term);
        at += 1;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_those_that_hold_back_110_decibels() {
        for (rate, length) in [
            (44_100.0, 155),
            (48_000.0, 87),
            (88_200.0, 27),
            (96_000.0, 27),
            (176_400.0, 19),
            (192_000.0, 19),
        ] {
            assert_eq!(4 * Taps::between(rate).half.len() - 1, length, "{rate}");
        }
    }

    #[test]
    fn a_filter_passes_what_is_kept_and_holds_back_what_would_be_folded() {
        for rate in [8_000.0, 44_100.0, 48_000.0, 96_000.0, 192_000.0] {
            let taps = Taps::between(rate);
            let level = |f: f64| {
                let middle = taps.reach() as f64;
                let sum: f64 = taps
                    .half
                    .iter()
                    .enumerate()
                    .map(|(n, tap)| 2.0 * tap * (PI * f / rate * (2.0 * n as f64 - middle)).cos())
                    .sum();
                0.5 + sum
            };
            let kept = EARS.min(KEPT * rate);
            for step in 0..=200 {
                let f = kept * f64::from(step) / 200.0;
                assert!((level(f) - 1.0).abs() < 1e-5, "{rate} at {f}: {}", level(f));
                assert!(level(rate - f).abs() < 1e-5, "{rate} at {}: {}", rate - f, level(rate - f));
            }
        }
    }
}
