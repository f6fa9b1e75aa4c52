//! K-weighting at any sample rate.
//!
//! # Source
//! ITU-R BS.1770-5 (2023), annex 1, tables 1 and 2: two second-order sections for 48 kHz; other rates need
//! coefficients that "provide the same frequency response" as these do.

use std::array;
use std::f64::consts::PI;

use num_complex::Complex64;

use crate::vectors::in_wide_vectors;

/// The rate for which the recommendation prints its coefficients, in hertz.
const PUBLISHED_RATE: f64 = 48_000.0;

/// The shelf that stands for the head's diffraction, annex 1, table 1.
const SHELF: Section = Section {
    b: [1.53512485958697, -2.69169618940638, 1.19839281085285],
    a: [-1.69065929318241, 0.73248077421585],
};

/// The high-pass (revised low-frequency B-curve), annex 1, table 2.
const HIGH_PASS: Section = Section { b: [1.0, -2.0, 1.0], a: [-1.99004745483398, 0.99007225036621] };

/// A second-order section, H(z) = (b0 + b1 z⁻¹ + b2 z⁻²) / (1 + a1 z⁻¹ + a2 z⁻²).
#[derive(Debug, Clone, Copy, PartialEq)]
struct Section {
    b: [f64; 3],
    a: [f64; 2],
}

impl Section {
    /// Returns the section for another rate, by way of its analogue prototype.
    ///
    /// The bilinear transform takes Hₐ(s) = (V_h s² + (V_b/Q) s + V_l) / (s² + s/Q + 1), s in units of its own
    /// corner, to the printed section with Ω = tan(π f₀/f_s). Solved for Ω, Q and the three gains, and with Ω
    /// of the new rate, it gives the new section: the same in the limits and at f₀, within 0.01 dB up to 4 kHz
    /// from 32 kHz upwards and within 0.21 dB at 8 kHz, where the transform bends the frequencies most. The
    /// gains are kept, so that the high-pass has its 0.043 dB at every rate.
    fn at(self, rate: f64) -> Self {
        let Self { b: [b0, b1, b2], a: [a1, a2] } = self;
        let at_half_the_rate = 1.0 - a1 + a2;
        let omega = ((1.0 + a1 + a2) / at_half_the_rate).sqrt();
        let q = omega * at_half_the_rate / (2.0 * (1.0 - a2));
        let v_l = (b0 + b1 + b2) / (1.0 + a1 + a2);
        let v_b = (b0 - b2) / (1.0 - a2);
        let v_h = (b0 - b1 + b2) / at_half_the_rate;

        let corner = omega.atan() / PI * PUBLISHED_RATE;
        let w = (PI * corner / rate).tan();
        let d = w * w + w / q + 1.0;
        Self {
            b: [
                (v_l * w * w + v_b * w / q + v_h) / d,
                2.0 * (v_l * w * w - v_h) / d,
                (v_l * w * w - v_b * w / q + v_h) / d,
            ],
            a: [2.0 * (w * w - 1.0) / d, (w * w - w / q + 1.0) / d],
        }
    }
}

impl Section {
    /// Returns |H|² at `frequency`, a share of the rate.
    fn power_at(&self, frequency: f64) -> f64 {
        let z1 = Complex64::from_polar(1.0, -2.0 * PI * frequency);
        let numerator = self.b[0] + z1 * (self.b[1] + z1 * self.b[2]);
        (numerator / (1.0 + z1 * (self.a[0] + z1 * self.a[1]))).norm_sqr()
    }
}

/// Samples computed side by side: each goes back to the ones so many and twice as many before, not to its neighbours.
const LANES: usize = 8;
/// The samples that are kept from before.
const BEFORE: usize = 2 * LANES;

/// A part of a numerator, y[n] = Σ tₖ x[n − k d], with its memory.
#[derive(Debug, Clone)]
struct Comb<const D: usize, const TAPS: usize> {
    taps: [f64; TAPS],
    /// The last inputs, the newest last.
    earlier: [f64; BEFORE],
}

impl<const D: usize, const TAPS: usize> Comb<D, TAPS> {
    /// Returns the product of polynomials in z⁻ᵈ.
    fn product(factors: &[[f64; 3]]) -> Self {
        let mut taps = [0.0; TAPS];
        taps[0] = 1.0;
        for factor in factors {
            let before = taps;
            taps = array::from_fn(|n| (0..=n.min(2)).map(|k| factor[k] * before[n - k]).sum());
        }
        Self { taps, earlier: [0.0; BEFORE] }
    }

    /// Filters what lies in `from` after the first [`BEFORE`] into the same places of `to`.
    #[inline(always)]
    fn run(&mut self, from: &mut [f64], to: &mut [f64]) {
        from[..BEFORE].copy_from_slice(&self.earlier);
        let length = from.len() - BEFORE;
        let late: [&[f64]; TAPS] = array::from_fn(|k| &from[BEFORE - k * D..][..length]);
        for (n, y) in to[BEFORE..].iter_mut().enumerate() {
            *y = late.iter().zip(&self.taps).map(|(x, tap)| tap * x[n]).sum();
        }
        self.earlier.copy_from_slice(&from[length..]);
    }
}

/// A denominator 1 + a₁ z⁻⁸ + a₂ z⁻¹⁶ with its memory.
#[derive(Debug, Clone)]
struct Recursion {
    a: [f64; 2],
    /// The last outputs, the newest last.
    earlier: [f64; BEFORE],
}

impl Recursion {
    /// Filters what lies in `line` after the first [`BEFORE`].
    #[inline(always)]
    fn run(&mut self, line: &mut [f64]) {
        line[..BEFORE].copy_from_slice(&self.earlier);
        let [a1, a2] = self.a;
        let (mut far, mut near): ([f64; LANES], [f64; LANES]) =
            (array::from_fn(|lane| self.earlier[lane]), array::from_fn(|lane| self.earlier[LANES + lane]));
        let (groups, rest) = line[BEFORE..].as_chunks_mut::<LANES>();
        for group in groups {
            for lane in 0..LANES {
                // What needs the newest output comes last.
                group[lane] = (group[lane] - a2 * far[lane]) - a1 * near[lane];
            }
            (far, near) = (near, *group);
        }
        for (x, (far, near)) in rest.iter_mut().zip(far.iter().zip(near)) {
            *x = (*x - a2 * far) - a1 * near;
        }
        self.earlier.copy_from_slice(&line[line.len() - BEFORE..]);
    }
}

/// The K-weighting of one channel, with its memory.
///
/// Numerator and denominator of a section, times 1 − a₁ z⁻ᵈ + a₂ z⁻²ᵈ for d of 1, 2 and 4 in turn, have the poles' rotations
/// by eighths of a turn and zeros upon those; what is left of the denominator is 1 + a₁ z⁻⁸ + a₂ z⁻¹⁶. The numerators of both
/// sections come first, those of one d in one.
#[derive(Debug, Clone)]
pub(super) struct KWeighting {
    neighbours: Comb<1, 9>,
    pairs: Comb<2, 5>,
    fours: Comb<4, 5>,
    recursions: [Recursion; 2],
    lines: [Vec<f64>; 2],
}

impl KWeighting {
    /// Returns the weighting at `rate_hz` samples a second, at rest.
    pub(super) fn new(rate_hz: u32) -> Self {
        let sections = [SHELF, HIGH_PASS].map(|s| s.at(f64::from(rate_hz)));
        let factor = |[a1, a2]: [f64; 2]| [1.0, -a1, a2];
        let doubled = |[a1, a2]: [f64; 2]| [2.0 * a2 - a1 * a1, a2 * a2];
        let [one, two, four, eight] =
            [0, 1, 2, 3].map(|times| sections.map(|s| (0..times).fold(s.a, |a, _| doubled(a))));
        let [[b, c], [d, e]] = [sections.map(|s| s.b), one.map(factor)];
        Self {
            neighbours: Comb::product(&[b, c, d, e]),
            pairs: Comb::product(&two.map(factor)),
            fours: Comb::product(&four.map(factor)),
            recursions: eight.map(|a| Recursion { a, earlier: [0.0; BEFORE] }),
            lines: [Vec::new(), Vec::new()],
        }
    }

    /// Returns the weighting's power at `rate_hz` samples a second and `frequency`, a share of that rate.
    pub(super) fn power_at(rate_hz: u32, frequency: f64) -> f64 {
        let rate = f64::from(rate_hz);
        SHELF.at(rate).power_at(frequency) * HIGH_PASS.at(rate).power_at(frequency)
    }

    /// Returns the weighted samples of those that follow the earlier ones; they do not depend on how many come at once.
    pub(super) fn run(&mut self, samples: &[f64]) -> &[f64] {
        for line in &mut self.lines {
            line.resize(BEFORE + samples.len(), 0.0);
        }
        self.lines[0][BEFORE..].copy_from_slice(samples);
        in_wide_vectors!(self.run_lines());
        &self.lines[1][BEFORE..]
    }

    #[inline(always)]
    fn run_lines(&mut self) {
        let [line, other] = &mut self.lines;
        self.neighbours.run(line, other);
        self.pairs.run(other, line);
        self.fours.run(line, other);
        for recursion in &mut self.recursions {
            recursion.run(other);
        }
    }

    /// Forgets what is far below any sound, so that silence is not computed in slow subnormal numbers.
    pub(super) fn settle(&mut self) {
        const NOTHING: f64 = 1e-200;
        if self.memory().all(|x| x.abs() < NOTHING) {
            self.memory().for_each(|x| *x = 0.0);
        }
    }

    /// Returns all that is remembered.
    fn memory(&mut self) -> impl Iterator<Item = &mut f64> {
        let inputs = [&mut self.neighbours.earlier, &mut self.pairs.earlier, &mut self.fours.earlier];
        inputs.into_iter().flatten().chain(self.recursions.iter_mut().flat_map(|r| &mut r.earlier))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The level of the weighting in dB at `frequency`, from its coefficients.
    fn response_db(rate: f64, frequency: f64) -> f64 {
        let power = |s: Section| s.at(rate).power_at(frequency / rate);
        10.0 * (power(SHELF) * power(HIGH_PASS)).log10()
    }

    #[test]
    fn at_48_khz_the_coefficients_are_the_published_ones() {
        for section in [SHELF, HIGH_PASS] {
            let Section { b, a } = section.at(PUBLISHED_RATE);
            for (derived, published) in b.iter().chain(&a).zip(section.b.iter().chain(&section.a)) {
                assert!((derived - published).abs() < 1e-13, "{derived} is not {published}");
            }
        }
    }

    #[test]
    fn at_every_rate_the_response_is_that_at_48_khz() {
        for (rate, allowed) in [
            (8_000.0, 0.21),
            (16_000.0, 0.07),
            (22_050.0, 0.03),
            (32_000.0, 0.011),
            (44_100.0, 0.002),
            (88_200.0, 0.01),
            (96_000.0, 0.01),
            (192_000.0, 0.01),
            (384_000.0, 0.01),
        ] {
            for frequency in [20.0, 38.0, 60.0, 100.0, 300.0, 700.0, 997.0, 1500.0, 2000.0, 3000.0, 3900.0] {
                let off = response_db(rate, frequency) - response_db(PUBLISHED_RATE, frequency);
                assert!(off.abs() < allowed, "{off} dB at {frequency} Hz and {rate} samples a second");
            }
        }
    }

    #[test]
    fn the_running_filter_has_the_response_of_its_coefficients() {
        let mut weighting = KWeighting::new(44_100);
        let impulse: Vec<f64> = std::iter::once(1.0).chain(std::iter::repeat_n(0.0, 44_100)).collect();
        let answer = weighting.run(&impulse);
        for frequency in [50.0, 997.0, 8000.0, 20_000.0] {
            let turn = Complex64::from_polar(1.0, -2.0 * PI * frequency / 44_100.0);
            let sum = answer.iter().rev().fold(Complex64::default(), |sum, y| sum * turn + y);
            let off = 20.0 * sum.norm().log10() - response_db(44_100.0, frequency);
            assert!(off.abs() < 1e-6, "{off} dB at {frequency} Hz");
        }
    }

    #[test]
    fn after_a_sound_silence_settles_to_nothing() {
        let mut weighting = KWeighting::new(8_000);
        weighting.run(&[1.0]);
        for _ in 0..100 {
            weighting.run(&[0.0; 800]);
            weighting.settle();
        }
        assert!(weighting.memory().all(|x| *x == 0.0));
    }

    #[test]
    fn how_many_samples_come_at_once_changes_no_bit() {
        let sound: Vec<f64> = (0..500_u32).map(|n| f64::from(n * n % 77) / 77.0 - 0.5).collect();
        let whole = KWeighting::new(44_100).run(&sound).to_vec();
        for at_once in [1, 3, 8, 17] {
            let mut weighting = KWeighting::new(44_100);
            let parts: Vec<f64> =
                sound.chunks(at_once).flat_map(|part| weighting.run(part).to_vec()).collect();
            assert_eq!(parts, whole, "{at_once}");
        }
    }
}
