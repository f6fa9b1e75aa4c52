//! A finite impulse response as a short head and what decays slowly after it.
//!
//! A pickup's resonance is over within a few milliseconds, while a tone control's capacitor discharges through its pot for
//! a tenth of a second, as Σ a pⁿ. Taken out of the response, such decays cost two products a sample each, and what is left
//! is many times shorter.

use std::sync::Arc;

use num_complex::Complex64;
use realfft::{RealFftPlanner, RealToComplex};

use super::kernel::fade;

/// One decay a pⁿ, n counted from time zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Decay {
    pub(super) amplitude: f64,
    /// What a sample is of the one before, between 0 and 1.
    pub(super) ratio: f64,
}

/// A response that equals another one's but is quicker to convolve with.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Parts {
    /// The taps, the first at time `−before`.
    pub(super) head: Vec<f64>,
    pub(super) before: usize,
    pub(super) decays: Vec<Decay>,
}

/// The shortest head tried.
const SHORTEST: usize = 512;
/// The share of a head before time zero, where the response has as much, and of a fade at either end.
const BEFORE: usize = 4;
const FADE: usize = 16;
/// The share of a response at its end that is no longer looked at for decays: it is faded.
const FADED: usize = 8;
/// The samples between those from which decays are found: far enough apart for two slow ones to be told apart.
const APART: usize = 128;
/// What share of a spectrum parts may be off by: 0.0003 dB and 0.002 degree.
const OFF: f64 = 3e-5;
/// The share of half the rate up to which each frequency counts for itself. Above it what parts are off by is compared with
/// the whole response.
const HEARD: f64 = 0.9;
/// Where a response has fallen so far below its largest, what parts may be off by falls no further.
const DEEPEST: f64 = 1e-5;

impl Parts {
    /// Returns the quickest parts of the response `taps` of which `before` lie before time zero: those with the shortest
    /// head whose spectrum is the whole's, and the whole itself where there are none.
    pub(super) fn of(taps: &[f64], before: usize) -> Self {
        let whole = Whole::new(taps, before);
        let mut length = SHORTEST;
        while length < taps.len() {
            for count in 0..=MOST_DECAYS {
                if let Some(parts) = whole.cut(length, count).filter(|parts| whole.is_kept_by(parts)) {
                    return parts;
                }
            }
            length *= 2;
        }
        Self::undivided(taps, before)
    }

    /// Returns the response as one head.
    pub(super) fn undivided(taps: &[f64], before: usize) -> Self {
        Self { head: taps.to_vec(), before, decays: Vec::new() }
    }
}

/// More decays than these are not looked for: a third is never far from the two.
const MOST_DECAYS: usize = 2;

/// A response to be cut into parts.
struct Whole<'t> {
    taps: &'t [f64],
    before: usize,
    transform: Arc<dyn RealToComplex<f64>>,
    /// The response's spectrum.
    spectrum: Vec<Complex64>,
}

impl<'t> Whole<'t> {
    fn new(taps: &'t [f64], before: usize) -> Self {
        let transform = RealFftPlanner::<f64>::new().plan_fft_forward(taps.len());
        let mut whole = Self { taps, before, transform, spectrum: Vec::new() };
        whole.spectrum = whole.spectrum_of(taps, before);
        whole
    }

    /// Returns the spectrum of `taps`, no more than the whole's, of which `before` lie before time zero.
    fn spectrum_of(&self, taps: &[f64], before: usize) -> Vec<Complex64> {
        let mut wrapped = self.transform.make_input_vec();
        let length = wrapped.len();
        wrapped[..taps.len() - before].copy_from_slice(&taps[before..]);
        wrapped[length - before..].copy_from_slice(&taps[..before]);
        let mut spectrum = self.transform.make_output_vec();
        self.transform.process(&mut wrapped, &mut spectrum).expect("lengths are the transform's own");
        spectrum
    }

    /// Returns a head of `length` taps and `count` decays, `None` where there are no such decays.
    fn cut(&self, length: usize, count: usize) -> Option<Parts> {
        let before = (length / BEFORE).min(self.before);
        let decays = decays(&self.taps[self.before..], length - before - length / FADE, count)?;
        let mut head = self.taps[self.before - before..][..length].to_vec();
        for Decay { amplitude, ratio } in &decays {
            for (tap, share) in head[before..].iter_mut().zip(course(*ratio)) {
                *tap -= amplitude * share;
            }
        }
        fade(&mut head, length / FADE);
        Some(Parts { head, before, decays })
    }

    fn is_kept_by(&self, parts: &Parts) -> bool {
        let bins = self.spectrum.len();
        let step = -std::f64::consts::PI / (bins - 1) as f64;
        let powers = || self.spectrum.iter().map(Complex64::norm_sqr);
        let (largest, mean) = (powers().fold(0.0, f64::max), powers().sum::<f64>() / bins as f64);
        let head = self.spectrum_of(&parts.head, parts.before);
        self.spectrum.iter().zip(head).enumerate().all(|(k, (wanted, head))| {
            let later = || Complex64::cis(step * k as f64);
            let decays: Complex64 =
                parts.decays.iter().map(|d| d.amplitude / (1.0 - d.ratio * later())).sum();
            let is_heard = k as f64 <= HEARD * bins as f64;
            let floor = if is_heard { DEEPEST * DEEPEST * largest } else { mean };
            (head + decays - wanted).norm_sqr() <= wanted.norm_sqr().max(floor) * OFF * OFF
        })
    }
}

/// Returns the `count` decays, at most two, that the end of `taps`, of which the first is at time zero, is made of from
/// place `from` on: by linear prediction, since a sum of decays is a fixed sum of its own earlier values (R. de Prony,
/// 1795).
fn decays(taps: &[f64], from: usize, count: usize) -> Option<Vec<Decay>> {
    let tail = taps.get(from..taps.len() - taps.len() / FADED)?;
    let (now, later) = (tail.get(APART..)?, tail.get(2 * APART..)?);
    let over_the_distance = match count {
        0 => return Some(Vec::new()),
        1 => vec![dot(now, tail) / dot(tail, tail)],
        _ => {
            let equations = [[dot(now, now), dot(now, tail)], [dot(now, tail), dot(tail, tail)]];
            let [middle, product] = solved(equations, [dot(later, now), dot(later, tail)])?;
            let apart = (middle * middle / 4.0 + product).sqrt();
            vec![middle / 2.0 + apart, middle / 2.0 - apart]
        }
    };
    if !over_the_distance.iter().all(|r| *r > 0.0 && *r < 1.0) {
        return None;
    }
    let ratios = over_the_distance.iter().map(|r| r.powf(1.0 / APART as f64));
    let courses: Vec<Vec<f64>> = ratios.clone().map(|r| course(r).take(tail.len()).collect()).collect();
    let amplitudes = match courses.as_slice() {
        [one] => vec![dot(one, tail) / dot(one, one)],
        [one, other] => {
            let equations = [[dot(one, one), dot(one, other)], [dot(one, other), dot(other, other)]];
            solved(equations, [dot(one, tail), dot(other, tail)])?.to_vec()
        }
        _ => unreachable!("there are one or two"),
    };
    let at_zero = |amplitude: f64, ratio: f64| amplitude * ratio.powf(-(from as f64));
    let pairs = amplitudes.into_iter().zip(ratios);
    Some(pairs.map(|(amplitude, ratio)| Decay { amplitude: at_zero(amplitude, ratio), ratio }).collect())
}

/// Returns 1, p, p², … for a `ratio` p.
fn course(ratio: f64) -> impl Iterator<Item = f64> {
    std::iter::successors(Some(1.0), move |now| Some(now * ratio))
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Returns the solution of two linear equations, `None` where they have not one.
fn solved([[a, b], [c, d]]: [[f64; 2]; 2], [x, y]: [f64; 2]) -> Option<[f64; 2]> {
    let determinant = a * d - b * c;
    (determinant != 0.0).then(|| [(x * d - b * y) / determinant, (a * y - c * x) / determinant])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::filter::{Fidelity, Kernel};
    use crate::quantity::Hertz;
    use proptest::prelude::*;
    use std::convert::Infallible;

    const RATE: u32 = 48_000;

    /// A resonance with slow decays beside it, as shares of its gain with their corners in hertz.
    fn kernel(resonance: f64, q: f64, slow: &[(f64, f64)]) -> Kernel {
        Kernel::of(RATE, Fidelity::Exact, |f: Hertz| {
            let x = f.value() / resonance;
            let quick = Complex64::ONE / Complex64::new(1.0 - x * x, x / q);
            let slow = slow.iter().map(|(share, corner)| share / Complex64::new(1.0, f.value() / corner));
            Ok::<_, Infallible>(quick + slow.sum::<Complex64>())
        })
        .expect("it dies away")
    }

    /// The spectrum of parts, by its definition.
    fn spectrum(parts: &Parts, frequency: f64) -> Complex64 {
        let later = Complex64::cis(-std::f64::consts::TAU * frequency / f64::from(RATE));
        let head = parts.head.iter().rev().fold(Complex64::ZERO, |sum, tap| sum * later + tap);
        let decays: Complex64 = parts.decays.iter().map(|d| d.amplitude / (1.0 - d.ratio * later)).sum();
        head * later.powf(-(parts.before as f64)) + decays
    }

    fn whole(kernel: &Kernel, frequency: f64) -> Complex64 {
        let taps = Parts { head: kernel.taps().to_vec(), before: kernel.before(), decays: Vec::new() };
        spectrum(&taps, frequency)
    }

    #[test]
    fn a_resonance_alone_is_a_short_head() {
        let parts = kernel(3500.0, 4.0, &[]).parts().clone();
        assert!(parts.head.len() <= 512 && parts.decays.is_empty(), "{}", parts.head.len());
    }

    #[test]
    fn a_head_may_be_as_long_as_half_the_response() {
        let parts = kernel(250.0, 3.0, &[]).parts().clone();
        assert_eq!((parts.head.len(), parts.before), (4096, 512));
    }

    #[test]
    fn what_decays_slowly_is_taken_out_of_the_head_with_its_own_ratio() {
        let parts = kernel(3500.0, 4.0, &[(0.02, 14.5)]).parts().clone();
        assert!(parts.head.len() <= 512, "{}", parts.head.len());
        let expected = (-std::f64::consts::TAU * 14.5 / f64::from(RATE)).exp();
        assert!(
            matches!(parts.decays[..], [Decay { ratio, .. }] if (ratio - expected).abs() < 1e-6),
            "{parts:?}"
        );
    }

    #[test]
    fn a_response_that_is_no_sum_of_decays_is_left_whole() {
        let taps: Vec<f64> = (0..8192_u32).map(|n| f64::from(n * n % 251) - 125.0).collect();
        let parts = Parts::of(&taps, 512);
        assert_eq!(parts, Parts { head: taps, before: 512, decays: Vec::new() });
    }

    #[test]
    fn silence_has_parts_too() {
        let parts = Parts::of(&vec![0.0; 8192], 512);
        assert!(parts.head.iter().all(|tap| *tap == 0.0) && parts.decays.is_empty());
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]

        #[test]
        fn parts_have_the_spectrum_of_the_whole(
            resonance in 900.0..9000.0_f64,
            q in 0.4..6.0_f64,
            slow in prop::collection::vec((-0.1..0.1_f64, 8.0..200.0_f64), 0..4),
        ) {
            let kernel = kernel(resonance, q, &slow);
            for frequency in [0.0, 20.0, 37.0, 333.0, 2718.0, 9000.0, 15_001.0, 19_990.0, 23_000.0] {
                let (found, wanted) = (spectrum(kernel.parts(), frequency), whole(&kernel, frequency));
                let off = (found / wanted - 1.0).norm();
                prop_assert!(off < 1.1 * OFF, "{off} at {frequency} Hz with {:?}", kernel.parts().decays);
            }
        }
    }
}
