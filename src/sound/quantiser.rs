//! Samples turned into the values that a written file holds.
//!
//! # Source
//! Dither with a triangular density two steps wide makes the error's mean and power independent of the signal: S. P.
//! Lipshitz, R. A. Wannamaker, J. Vanderkooy, *Quantization and Dither: A Theoretical Survey*, J. Audio Eng. Soc.
//! 40(5), 1992.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use super::Depth;

/// The seed of the dither, the same for every file, so that the same samples give the same bytes.
const DITHER_SEED: u64 = 0;

/// Turns the samples of one channel of one file into the values as written.
///
/// What comes out is what any reader of the file gives back, so figures measured on it are the file's own.
#[derive(Debug, Clone)]
pub struct Quantiser {
    depth: Depth,
    dither: Option<ChaCha8Rng>,
    saturated: u64,
}

impl Quantiser {
    /// Returns a quantiser for channel `channel`, counted from 0, at its first frame.
    ///
    /// The dither of 16 bits depends on the channel and the frame alone, not on how the samples come in blocks.
    pub fn new(depth: Depth, channel: usize) -> Self {
        let dither = match depth {
            Depth::Pcm16 => {
                let mut noise = ChaCha8Rng::seed_from_u64(DITHER_SEED);
                noise.set_stream(channel as u64);
                Some(noise)
            }
            Depth::Pcm24 | Depth::Float32 => None,
        };
        Self { depth, dither, saturated: 0 }
    }

    /// Replaces the next `samples`, in full scales, by the values as written.
    ///
    /// Integers are rounded to the nearest, halves to even. What exceeds the range becomes its end, and NaN silence;
    /// neither is found in a render that keeps its promises, and [`Quantiser::saturated`] counts both.
    #[expect(
        clippy::needless_bitwise_bool,
        reason = "without short circuits the loop becomes vector instructions"
    )]
    pub fn quantise(&mut self, samples: &mut [f64]) {
        let Some(full_scale) = self.depth.full_scale() else {
            for x in samples {
                let limited = limited(*x, f64::from(f32::MIN), f64::from(f32::MAX));
                self.saturated += u64::from(limited.to_bits() != x.to_bits());
                #[expect(
                    clippy::cast_possible_truncation,
                    reason = "it is to be rounded to the precision of f32"
                )]
                let written = limited as f32;
                *x = f64::from(written);
            }
            return;
        };
        if let Some(noise) = &mut self.dither {
            for x in samples.iter_mut() {
                *x += triangular(noise.next_u64()) / full_scale;
            }
        }
        // The half steps at either end round to an even number, which is on the lower end and past the upper one.
        let (low, high) = (-full_scale - 0.5, full_scale - 0.5);
        for x in samples {
            let steps = *x * full_scale;
            self.saturated += u64::from((steps < low) | (steps >= high) | steps.is_nan());
            *x = nearest_step(steps, full_scale) / full_scale;
        }
    }

    /// Returns how many samples exceeded the range so far.
    pub fn saturated(&self) -> u64 {
        self.saturated
    }
}

/// Adding this to a magnitude under 2⁵¹ leaves no room for a fraction: the sum is rounded to a whole number, halves to
/// even, and its lowest bits are that number's.
pub(super) const ROUNDING: f64 = 1.5 * (1u64 << 52) as f64;

/// Returns the whole number nearest to `steps` within −`full_scale` to `full_scale` − 1, and 0 for NaN.
fn nearest_step(steps: f64, full_scale: f64) -> f64 {
    limited(steps, -full_scale, full_scale - 1.0) + ROUNDING - ROUNDING
}

/// Returns `x` within `low` to `high`, and 0 for NaN.
#[inline(always)]
pub(super) fn limited(x: f64, low: f64, high: f64) -> f64 {
    // `f64::max` would look for NaN again; these comparisons are one instruction each.
    let number = if x.is_nan() { 0.0 } else { x };
    let raised = if number > low { number } else { low };
    if raised < high { raised } else { high }
}

/// Returns a number in (−1, 1) of triangular density and mean zero, from 64 random bits.
fn triangular(bits: u64) -> f64 {
    const HALF: f64 = (1u64 << 32) as f64;
    let sum = (bits >> 32) + (bits & 0xFFFF_FFFF) + 1;
    sum as f64 / HALF - 1.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(depth: Depth, samples: &[f64]) -> (Vec<f64>, u64) {
        let mut values = samples.to_vec();
        let mut quantiser = Quantiser::new(depth, 0);
        quantiser.quantise(&mut values);
        (values, quantiser.saturated())
    }

    #[test]
    fn values_are_rounded_to_the_nearest_step_and_halves_to_even() {
        const STEP: f64 = 1.0 / 8388608.0;
        let (values, saturated) =
            written(Depth::Pcm24, &[0.5, 1.5, 2.5, -0.5, -1.5, 2.4999, 7.0].map(|n| n * STEP));
        assert_eq!(values, [0.0, 2.0, 2.0, 0.0, -2.0, 2.0, 7.0].map(|n| n * STEP));
        assert_eq!(saturated, 0);
    }

    #[test]
    fn what_exceeds_the_range_becomes_its_end_and_is_counted() {
        let top = 8388607.0 / 8388608.0;
        let (values, saturated) =
            written(Depth::Pcm24, &[1.0, -1.0, 2.0, -2.0, f64::INFINITY, f64::NEG_INFINITY, f64::NAN, top]);
        assert_eq!(values, [top, -1.0, top, -1.0, top, -1.0, 0.0, top]);
        assert_eq!(saturated, 6);
        let (values, saturated) = written(Depth::Float32, &[1.5, 1e300, f64::NEG_INFINITY, f64::NAN, 0.1]);
        assert_eq!(values, [1.5, f64::from(f32::MAX), f64::from(f32::MIN), 0.0, f64::from(0.1f32)]);
        assert_eq!(saturated, 3);
        let (values, _) = written(Depth::Pcm16, &[3.0, -3.0]);
        assert_eq!(values, [32767.0 / 32768.0, -1.0]);
    }

    #[test]
    fn dither_depends_on_channel_and_frame_alone() {
        let signal: Vec<f64> = (0..1000).map(|n| f64::from(n) * 1e-5).collect();
        let (whole, _) = written(Depth::Pcm16, &signal);
        let mut parts = signal.clone();
        let mut quantiser = Quantiser::new(Depth::Pcm16, 0);
        let (first, second) = parts.split_at_mut(7);
        quantiser.quantise(first);
        quantiser.quantise(second);
        assert_eq!(parts, whole);
        let mut other = signal;
        Quantiser::new(Depth::Pcm16, 1).quantise(&mut other);
        assert_ne!(other, whole);
    }

    #[test]
    fn the_error_of_dithered_samples_has_mean_zero_and_a_quarter_step_of_power_whatever_the_level() {
        // A triangular density over two steps has a variance of 1/6, rounding adds 1/12: together a quarter (Lipshitz
        // and others, eq. 27). Over n samples the mean scatters by 0.5/√n and the power by less than 0.35/√n; five
        // times that is allowed.
        const N: usize = 100_000;
        let scatter = 5.0 / (N as f64).sqrt();
        for level in [0.0, 0.25, 0.5, 123.75] {
            let (values, _) = written(Depth::Pcm16, &vec![level / 32768.0; N]);
            let errors: Vec<f64> = values.iter().map(|x| x * 32768.0 - level).collect();
            let mean = errors.iter().sum::<f64>() / N as f64;
            let power = errors.iter().map(|e| e * e).sum::<f64>() / N as f64;
            assert!(mean.abs() < 0.5 * scatter, "mean {mean} at {level}");
            assert!((power - 0.25).abs() < 0.35 * scatter, "power {power} at {level}");
        }
    }
}
