//! K-weighting at any sample rate.
//!
//! # Source
//! ITU-R BS.1770-5 (2023), annex 1, tables 1 and 2: two second-order sections for 48 kHz; other rates need
//! coefficients that "provide the same frequency response" as these do.

use std::array;
use std::f64::consts::PI;

use num_complex::Complex64;

use crate::vectors::LANES;

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

/// The memories of both sections.
const STATES: usize = 4;

/// Passes `x` through the sections in turn, whose memories are in `states` (transposed direct form II).
fn step(sections: &[Section; 2], states: &mut [f64; STATES], x: f64) -> f64 {
    sections.iter().zip(states.as_chunks_mut::<2>().0).fold(x, |x, (Section { b, a }, [near, far])| {
        let y = b[0] * x + *near;
        (*near, *far) = (b[1] * x - a[0] * y + *far, b[2] * x - a[1] * y);
        y
    })
}

/// What the weighting does to N samples at once: outputs and memories after them are sums over the samples and the memories
/// before.
#[derive(Debug, Clone, Copy)]
struct Stride<const N: usize> {
    /// What each sample, being 1, adds.
    of_samples: [Share<N>; N],
    /// What each memory, being 1, adds.
    of_states: [Share<N>; STATES],
}

/// What one of them adds; aligned so that no vector of four numbers lies across two lines of the cache.
#[derive(Debug, Clone, Copy)]
#[repr(align(32))]
struct Share<const N: usize> {
    outputs: [f64; N],
    states: [f64; STATES],
}

impl<const N: usize> Stride<N> {
    fn of(sections: &[Section; 2]) -> Self {
        let share = |samples: [f64; N], mut states: [f64; STATES]| Share {
            outputs: samples.map(|x| step(sections, &mut states, x)),
            states,
        };
        Self {
            of_samples: array::from_fn(|n| share(unit(n), [0.0; STATES])),
            of_states: array::from_fn(|n| share([0.0; N], unit(n))),
        }
    }

    /// Returns the outputs and replaces the memories by those after them.
    #[inline(always)]
    fn run(&self, samples: &[f64; N], states: &mut [f64; STATES]) -> [f64; N] {
        // Nothing is added to −0 by what is added first, so that it costs no addition.
        let (mut outputs, mut after) = ([-0.0; N], [-0.0; STATES]);
        for (share, x) in self.of_samples.iter().zip(samples) {
            outputs.iter_mut().zip(share.outputs).for_each(|(sum, own)| *sum += own * x);
            after.iter_mut().zip(share.states).for_each(|(sum, own)| *sum += own * x);
        }
        // What the next samples wait for comes last and is short.
        let kept = sum(self.of_states.each_ref().map(|share| &share.outputs), *states);
        outputs.iter_mut().zip(kept).for_each(|(sum, kept)| *sum += kept);
        let kept = sum(self.of_states.each_ref().map(|share| &share.states), *states);
        after.iter_mut().zip(kept).for_each(|(sum, kept)| *sum += kept);
        *states = after;
        outputs
    }
}

/// Returns the sum of four `rows`, each times its factor.
#[inline(always)]
fn sum<const M: usize>([a, b, c, d]: [&[f64; M]; STATES], [p, q, r, s]: [f64; STATES]) -> [f64; M] {
    array::from_fn(|n| (a[n] * p + b[n] * q) + (c[n] * r + d[n] * s))
}

/// Returns what is 1 at place `at` and 0 elsewhere.
fn unit<const N: usize>(at: usize) -> [f64; N] {
    array::from_fn(|n| if n == at { 1.0 } else { 0.0 })
}

/// The K-weighting of one channel, with its memory.
#[derive(Debug, Clone)]
pub(super) struct KWeighting {
    single: Stride<1>,
    group: Stride<LANES>,
    states: [f64; STATES],
}

impl KWeighting {
    /// Returns the weighting at `rate_hz` samples a second, at rest.
    pub(super) fn new(rate_hz: u32) -> Self {
        let sections = [SHELF, HIGH_PASS].map(|s| s.at(f64::from(rate_hz)));
        Self { single: Stride::of(&sections), group: Stride::of(&sections), states: [0.0; STATES] }
    }

    /// Returns the weighting's power at `rate_hz` samples a second and `frequency`, a share of that rate.
    pub(super) fn power_at(rate_hz: u32, frequency: f64) -> f64 {
        let rate = f64::from(rate_hz);
        SHELF.at(rate).power_at(frequency) * HIGH_PASS.at(rate).power_at(frequency)
    }

    /// Calls `each` with the next samples, eight at a time, and what they are weighted.
    #[inline(always)]
    pub(super) fn run(&mut self, groups: &[[f64; LANES]], mut each: impl FnMut(&[f64; LANES], [f64; LANES])) {
        // What is not reached through a reference stays in the processor's registers.
        let (group, mut states) = (self.group, self.states);
        for samples in groups {
            each(samples, group.run(samples, &mut states));
        }
        self.states = states;
    }

    /// Returns the weighted sample of the next one alone, which rounds otherwise than one of eight.
    pub(super) fn run_one(&mut self, sample: f64) -> f64 {
        let [weighted] = self.single.run(&[sample], &mut self.states);
        weighted
    }

    /// Forgets what is far below any sound, so that silence is not computed in slow subnormal numbers.
    pub(super) fn settle(&mut self) {
        const NOTHING: f64 = 1e-200;
        if self.states.iter().all(|x| x.abs() < NOTHING) {
            self.states = [0.0; STATES];
        }
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
        let impulse: Vec<f64> = std::iter::once(1.0).chain(std::iter::repeat_n(0.0, 44_103)).collect();
        let (mut by_eights, mut by_ones) = (KWeighting::new(44_100), KWeighting::new(44_100));
        let mut answer = Vec::new();
        by_eights.run(impulse.as_chunks().0, |_, weighted| answer.extend(weighted));
        assert_eq!(answer.len(), impulse.len());
        for (x, y) in impulse.iter().zip(&answer) {
            assert!((by_ones.run_one(*x) - y).abs() < 1e-12);
        }
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
        weighting.run_one(1.0);
        for _ in 0..100 {
            weighting.run(&[[0.0; LANES]; 100], |_, _| {});
            weighting.settle();
        }
        assert_eq!(weighting.states, [0.0; STATES]);
    }
}
