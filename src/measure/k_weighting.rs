//! K-weighting at any sample rate.
//!
//! # Source
//! ITU-R BS.1770-5 (2023), annex 1, tables 1 and 2: two second-order sections for 48 kHz; other rates need
//! coefficients that "provide the same frequency response" as these do.

use std::f64::consts::PI;

use num_complex::Complex64;

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

/// A section whose output goes back only as far as two and four samples, so that two neighbours are computed side by
/// side: numerator and denominator times 1 − a1 z⁻¹ + a2 z⁻², which adds to each pole its opposite and a zero upon that.
#[derive(Debug, Clone, Copy)]
struct Spread {
    b: [f64; 5],
    a2: f64,
    a4: f64,
}

impl Spread {
    fn of(Section { b: [b0, b1, b2], a: [a1, a2] }: Section) -> Self {
        Self {
            b: [b0, b1 - a1 * b0, b2 - a1 * b1 + a2 * b0, a2 * b1 - a1 * b2, a2 * b2],
            a2: 2.0 * a2 - a1 * a1,
            a4: a2 * a2,
        }
    }

    /// Returns the outputs for the last two of `x`, the inputs, where `y` are the outputs for those before.
    #[inline]
    fn two(&self, x: &[f64; 6], y: &[f64; 4]) -> [f64; 2] {
        [
            self.one([x[0], x[1], x[2], x[3], x[4]], y[0], y[2]),
            self.one([x[1], x[2], x[3], x[4], x[5]], y[1], y[3]),
        ]
    }

    /// Returns the output for the last of `x`, where `y4` and `y2` were the outputs four and two samples before.
    #[inline]
    fn one(&self, x: [f64; 5], y4: f64, y2: f64) -> f64 {
        let [b0, b1, b2, b3, b4] = self.b;
        let forward = (b0 * x[4] + b1 * x[3]) + (b2 * x[2] + b3 * x[1]);
        // What needs the newest output comes last, so that a sample waits for one product and one difference.
        (forward + (b4 * x[0] - self.a4 * y4)) - self.a2 * y2
    }
}

/// The K-weighting of one channel, with its memory.
#[derive(Debug, Clone)]
pub(super) struct KWeighting {
    shelf: Spread,
    high_pass: Spread,
    /// The last four samples before, between and after the sections, the newest last.
    before: [f64; 4],
    between: [f64; 4],
    after: [f64; 4],
}

impl KWeighting {
    /// Returns the weighting at `rate_hz` samples a second, at rest.
    pub(super) fn new(rate_hz: u32) -> Self {
        let rate = f64::from(rate_hz);
        let (before, between, after) = ([0.0; 4], [0.0; 4], [0.0; 4]);
        let (shelf, high_pass) = (Spread::of(SHELF.at(rate)), Spread::of(HIGH_PASS.at(rate)));
        Self { shelf, high_pass, before, between, after }
    }

    /// Returns the weighting's power at `rate_hz` samples a second and `frequency`, a share of that rate.
    pub(super) fn power_at(rate_hz: u32, frequency: f64) -> f64 {
        let rate = f64::from(rate_hz);
        SHELF.at(rate).power_at(frequency) * HIGH_PASS.at(rate).power_at(frequency)
    }

    /// Returns the weighted samples that follow the earlier ones; the same as one after the other.
    #[inline]
    pub(super) fn next_two(&mut self, [x0, x1]: [f64; 2]) -> [f64; 2] {
        let [xa, xb, xc, xd] = self.before;
        let [va, vb, vc, vd] = self.between;
        let [_, _, yc, yd] = self.after;
        let [v0, v1] = self.shelf.two(&[xa, xb, xc, xd, x0, x1], &self.between);
        let [y0, y1] = self.high_pass.two(&[va, vb, vc, vd, v0, v1], &self.after);
        self.before = [xc, xd, x0, x1];
        self.between = [vc, vd, v0, v1];
        self.after = [yc, yd, y0, y1];
        [y0, y1]
    }

    /// Returns the weighted sample that follows the earlier ones.
    #[inline]
    pub(super) fn next(&mut self, x: f64) -> f64 {
        let [xa, xb, xc, xd] = self.before;
        let [va, vb, vc, vd] = self.between;
        let [ya, yb, yc, yd] = self.after;
        let v = self.shelf.one([xa, xb, xc, xd, x], va, vc);
        let y = self.high_pass.one([va, vb, vc, vd, v], ya, yc);
        self.before = [xb, xc, xd, x];
        self.between = [vb, vc, vd, v];
        self.after = [yb, yc, yd, y];
        y
    }

    /// Forgets what is far below any sound, so that silence is not computed in slow subnormal numbers.
    pub(super) fn settle(&mut self) {
        const NOTHING: f64 = 1e-200;
        let memory = [self.before, self.between, self.after];
        if memory.iter().flatten().all(|x| x.abs() < NOTHING) {
            (self.before, self.between, self.after) = ([0.0; 4], [0.0; 4], [0.0; 4]);
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
        let mut weighting = KWeighting::new(44_100);
        let impulse = std::iter::once(1.0).chain(std::iter::repeat_n(0.0, 44_100));
        let answer: Vec<f64> = impulse.map(|x| weighting.next(x)).collect();
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
        weighting.next(1.0);
        for _ in 0..80_000 {
            weighting.next(0.0);
            weighting.settle();
        }
        assert!(weighting.after.iter().all(|y| y.abs() < f64::MIN_POSITIVE));
    }
}
