//! The peak of the samples and the peak of the signal between them.
//!
//! # Source
//! ITU-R BS.1770-5 (2023), annex 2: the peak of the signal oversampled at least four times. The interpolator is
//! a windowed sinc (J. Kaiser's window: J. F. Kaiser, R. W. Schafer, *On the use of the I0-sinh window for
//! spectrum analysis*, IEEE Trans. ASSP 28(1), 1980).

use std::array;
use std::f64::consts::PI;
use std::sync::LazyLock;

use crate::vectors::{LANES, in_wide_vectors};

/// Samples under the interpolator: with the shape below every phase is within 0.005 dB and 0.04 degree of the
/// ideal up to 0.4535 of the rate, which is 20 kHz at 44.1 kHz.
const TAPS: usize = 48;
const SHAPE: f64 = 7.0;
/// Points read between two samples: four times oversampled at every rate, so that a tone at a quarter of the
/// rate is read at most 0.17 dB low, and one at 0.4 of the rate 0.44 dB low.
const BETWEEN: usize = 3;
/// The windows that are looked through or passed over at once.
const CHUNK: usize = 192;
/// The samples copied at once, so that a long block does not need as much memory again.
const PIECE: usize = 4096;

/// Samples looked at side by side: as many as keep a processor's vectors busy while they wait for each other.
const ABREAST: usize = 4 * LANES;

type Kernels = [[f64; TAPS]; BETWEEN];

static KERNELS: LazyLock<Kernels> = LazyLock::new(|| array::from_fn(kernel));

static BOUNDS: LazyLock<Bounds> = LazyLock::new(Bounds::of_kernels);

/// What bounds a point between two samples, each the largest over the kernels and rounded up.
struct Bounds {
    /// The sum of a kernel's magnitudes: a point is at most so many times the largest sample under it.
    reach: f64,
    /// A point is at most `straight` times the largest sample and `bend` times the largest second difference.
    straight: f64,
    bend: f64,
}

impl Bounds {
    /// A kernel is a straight line between the two samples around its point, and a rest r. As Σ r = 0, the sums
    /// Uₙ = Σ rₘ, m ≤ n, weight the first differences; less their own sum e, which weights one difference alone, they
    /// add up to zero as well, so that their sums Vₙ weight the second differences: |y| ≤ (1 + 2|e|) max|x| + Σ|V|
    /// max|Δ²x|.
    fn of_kernels() -> Self {
        let rounded_up = |bound: f64| bound * (1.0 + 1e-9);
        let magnitudes = |weights: &[f64]| weights.iter().map(|w| w.abs()).sum::<f64>();
        let running = |weights: &[f64; TAPS]| {
            let mut sum = 0.0;
            weights.map(|w| {
                sum += w;
                sum
            })
        };
        let (mut reach, mut straight, mut bend) = (0.0f64, 0.0f64, 0.0f64);
        for (index, kernel) in KERNELS.iter().enumerate() {
            let (left, share) = (TAPS / 2 - 1, (index + 1) as f64 / (BETWEEN + 1) as f64);
            let mut rest = *kernel;
            rest[left] -= 1.0 - share;
            rest[left + 1] -= share;
            let mut first = running(&rest);
            let slope: f64 = first.iter().sum();
            first[left] -= slope;
            reach = reach.max(magnitudes(kernel));
            straight = straight.max(1.0 + 2.0 * slope.abs());
            bend = bend.max(magnitudes(&running(&first)));
        }
        Self { reach: rounded_up(reach), straight: rounded_up(straight), bend: rounded_up(bend) }
    }

    /// Returns whether a point between `samples`, of which `peak` is the largest, could be greater than `least`.
    ///
    /// The first bound is quick to have; the second is near for all that is not the highest treble.
    fn may_exceed(&self, least: f64, peak: f64, samples: &[f64]) -> bool {
        peak * self.reach > least
            && peak * self.straight + in_wide_vectors!(largest_bend(samples)) * self.bend > least
    }
}

/// Returns the kernel of the point (`index` + 1)/4 of the way from the sample at `TAPS`/2 − 1 to the next.
fn kernel(index: usize) -> [f64; TAPS] {
    let half = (TAPS / 2) as f64;
    let place = half - 1.0 + (index + 1) as f64 / (BETWEEN + 1) as f64;
    let kernel: [f64; TAPS] = array::from_fn(|tap| {
        let t = place - tap as f64;
        let window = bessel_i0(SHAPE * (1.0 - (t / half).powi(2)).sqrt()) / bessel_i0(SHAPE);
        (PI * t).sin() / (PI * t) * window
    });
    // A constant is read exactly.
    let sum: f64 = kernel.iter().sum();
    kernel.map(|h| h / sum)
}

/// Returns the modified Bessel function I₀ by its power series Σ ((x/2)^k / k!)², for |x| of windows' shapes, below 16.
pub(crate) fn bessel_i0(x: f64) -> f64 {
    (1..32)
        .fold((1.0, 1.0), |(sum, term), k| {
            let term = term * (x / (2.0 * f64::from(k))).powi(2);
            (sum + term, term)
        })
        .0
}

/// Finds the peaks of one channel, with silence before its first and after its last sample.
#[derive(Debug, Clone)]
pub(super) struct PeakMeter {
    sample_peak: f64,
    true_peak: f64,
    /// The samples from the first of the next window on.
    line: Vec<f64>,
}

impl PeakMeter {
    pub(super) fn new() -> Self {
        let mut line = Vec::with_capacity(PIECE + CHUNK + TAPS);
        line.resize(TAPS - 1, 0.0);
        Self { sample_peak: 0.0, true_peak: 0.0, line }
    }

    pub(super) fn push(&mut self, samples: &[f64]) {
        for piece in samples.chunks(PIECE) {
            let peak = largest(piece);
            self.sample_peak = greater(peak, self.sample_peak);
            self.true_peak = greater(self.sample_peak, self.true_peak);
            let around = greater(peak, largest(&self.line));
            match piece.last_chunk::<{ TAPS - 1 }>() {
                // Nothing within this piece or up to it can beat the peak.
                Some(last) if around * BOUNDS.reach <= self.true_peak => {
                    self.line.clear();
                    self.line.extend_from_slice(last);
                }
                Some(_) | None => {
                    self.line.extend_from_slice(piece);
                    let windows = self.line.len() + 1 - TAPS;
                    self.pass(windows - windows % CHUNK);
                }
            }
        }
    }

    /// Returns the sample peak and the true peak as amplitudes, 1 being full scale.
    pub(super) fn finish(mut self) -> (f64, f64) {
        self.line.resize(self.line.len() + TAPS - 1, 0.0);
        self.pass(self.line.len() + 1 - TAPS);
        (self.sample_peak, self.true_peak)
    }

    /// Looks through the first `windows` windows and leaves the line at the next.
    ///
    /// Chunks whose largest sample cannot beat the peak are passed over; the result is the same as without.
    fn pass(&mut self, windows: usize) {
        for start in (0..windows).step_by(CHUNK) {
            let length = CHUNK.min(windows - start);
            let chunk = &self.line[start..start + length + TAPS - 1];
            if BOUNDS.may_exceed(self.true_peak, largest(chunk), chunk) {
                self.true_peak = greater(in_wide_vectors!(between(chunk)), self.true_peak);
            }
        }
        self.line.copy_within(windows.., 0);
        self.line.truncate(self.line.len() - windows);
    }
}

/// Returns the largest magnitude of the second differences, 0 of fewer than three samples.
#[inline(always)]
fn largest_bend(samples: &[f64]) -> f64 {
    let Some(count) = samples.len().checked_sub(2) else { return 0.0 };
    let bend = |first: f64, middle: f64, last: f64| (first - 2.0 * middle + last).abs();
    let [(firsts, a), (middles, b), (lasts, c)] =
        array::from_fn(|late| samples[late..][..count].as_chunks::<LANES>());
    let mut lanes = [0.0; LANES];
    for ((first, middle), last) in firsts.iter().zip(middles).zip(lasts) {
        for lane in 0..LANES {
            lanes[lane] = greater(bend(first[lane], middle[lane], last[lane]), lanes[lane]);
        }
    }
    let rest = a.iter().zip(b).zip(c).map(|((first, middle), last)| bend(*first, *middle, *last));
    lanes.into_iter().chain(rest).fold(0.0, greater)
}

/// Returns the largest magnitude, 0 of nothing.
pub(super) fn largest(samples: &[f64]) -> f64 {
    in_wide_vectors!(largest_in_lanes(samples))
}

#[inline(always)]
fn largest_in_lanes(samples: &[f64]) -> f64 {
    let (groups, rest) = samples.as_chunks::<ABREAST>();
    let mut lanes = [0.0; ABREAST];
    for group in groups {
        for lane in 0..ABREAST {
            lanes[lane] = greater(lanes[lane], group[lane].abs());
        }
    }
    lanes.into_iter().chain(rest.iter().map(|x| x.abs())).fold(0.0, greater)
}

/// The greater of two numbers, of which none is NaN: a single instruction, where `f64::max` needs three.
#[inline(always)]
fn greater(a: f64, b: f64) -> f64 {
    if a > b { a } else { b }
}

/// Returns the largest magnitude between the samples, over all windows of `TAPS` samples.
#[inline(always)]
fn between(samples: &[f64]) -> f64 {
    let windows = samples.len() + 1 - TAPS;
    let whole = windows - windows % LANES;
    let mut peak = 0.0;
    for start in (0..whole).step_by(LANES) {
        for kernel in KERNELS.iter() {
            let mut sums = [0.0; LANES];
            for (h, window) in kernel.iter().zip(samples[start..].windows(LANES)) {
                for (sum, x) in sums.iter_mut().zip(window) {
                    *sum += h * x;
                }
            }
            peak = sums.iter().fold(peak, |peak, sum| greater(peak, sum.abs()));
        }
    }
    for start in whole..windows {
        for kernel in KERNELS.iter() {
            let sum: f64 = kernel.iter().zip(&samples[start..]).map(|(h, x)| h * x).sum();
            peak = greater(peak, sum.abs());
        }
    }
    peak
}

#[cfg(test)]
mod tests {
    use super::*;
    use num_complex::Complex64;
    use proptest::prelude::*;

    fn peaks(samples: &[f64]) -> (f64, f64) {
        let mut meter = PeakMeter::new();
        meter.push(samples);
        meter.finish()
    }

    /// Every window of the signal between silence and silence, none passed over.
    fn by_brute_force(samples: &[f64]) -> f64 {
        let silence = [0.0; TAPS - 1];
        let line = [&silence, samples, &silence].concat();
        let between = line.windows(TAPS).flat_map(|window| {
            KERNELS.iter().map(move |kernel| kernel.iter().zip(window).map(|(h, x)| h * x).sum::<f64>())
        });
        between.chain(samples.iter().copied()).map(f64::abs).fold(0.0, f64::max)
    }

    #[test]
    fn up_to_20_khz_at_44100_hz_a_point_between_is_read_within_a_hundredth_of_a_decibel() {
        for step in 0..=20_000 {
            let frequency = f64::from(step) / 44_100.0;
            for (index, kernel) in KERNELS.iter().enumerate() {
                let delay = (TAPS / 2 - 1) as f64 + (index + 1) as f64 / (BETWEEN + 1) as f64;
                let turn = |tap: f64| Complex64::from_polar(1.0, 2.0 * PI * frequency * (tap - delay));
                let response: Complex64 = kernel.iter().enumerate().map(|(k, h)| h * turn(k as f64)).sum();
                let off = (response - 1.0).norm();
                assert!(off < 0.001, "off by {off} at {frequency} of the rate");
            }
        }
    }

    #[test]
    fn what_begins_or_ends_at_once_swings_over_outside_its_samples_too() {
        let alternating: Vec<f64> = (0..9).map(|n| if n % 2 == 0 { 1.0 } else { -1.0 }).collect();
        let (_, between) = peaks(&alternating);
        // The ideal a quarter, a half and three quarters of a sample before the first: Σ (−1)ⁿ sinc(n + q).
        let ideal = [0.25, 0.5, 0.75].map(|q| {
            let sinc = |t: f64| (PI * t).sin() / (PI * t);
            alternating.iter().zip(0..).map(|(x, n)| x * sinc(q + f64::from(n))).sum::<f64>()
        });
        let ideal = ideal.into_iter().fold(0.0, f64::max);
        assert!(ideal > 1.4, "{ideal}");
        // The tolerance is that of EBU Tech 3341 for a true peak.
        let off = 20.0 * (between / ideal).log10();
        assert!((-0.4..=0.2).contains(&off), "{between} for {ideal}");
    }

    #[test]
    fn a_constant_is_read_exactly_and_nothing_has_no_peak() {
        assert!((between(&[0.25; 200]) - 0.25).abs() < 1e-15);
        assert_eq!(peaks(&[]), (0.0, 0.0));
        assert_eq!(peaks(&[0.0; 100]), (0.0, 0.0));
        assert_eq!(peaks(&[-0.5]), (0.5, 0.5));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        /// Bursts of very different levels, so that most windows are passed over.
        #[test]
        fn windows_are_passed_over_without_a_change(
            bursts in prop::collection::vec((-60.0..0.0_f64, 1_usize..300), 1..12),
            noise in prop::collection::vec(-1.0..1.0_f64, 300),
        ) {
            let signal: Vec<f64> = bursts
                .iter()
                .flat_map(|(db, length)| noise[..*length].iter().map(move |x| x * 10f64.powf(db / 20.0)))
                .collect();
            let (found, expected) = (peaks(&signal).1, by_brute_force(&signal));
            // The two add the same products in another order.
            prop_assert!((found / expected - 1.0).abs() < 1e-12, "{} for {}", found, expected);
        }
    }
}
