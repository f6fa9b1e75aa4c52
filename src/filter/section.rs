//! A second-order resonance as one digital section.
//!
//! # Source
//! Poles at `z = e^{sT}`; a numerator that has the analogue magnitude at three frequencies, by the parametrisation
//! `|B|² = B₀ cos²(ω/2) + B₁ sin²(ω/2) + B₂ sin²ω` of M. Vicanek, *Matched Second Order Digital Filters*, 2016
//! (formulas from memory; a test checks the magnitudes).

use biquad::{Biquad, Coefficients, DirectForm2Transposed};

use crate::quantity::Hertz;

/// A section that filters one channel sample by sample.
#[derive(Debug, Clone)]
pub struct SectionFilter {
    coefficients: Coefficients<f64>,
    state: DirectForm2Transposed<f64>,
}

/// The highest frequency at which the magnitude is matched, as a share of the rate.
const HIGH: f64 = 0.45;

impl SectionFilter {
    /// Returns the section of a low-pass with the resonance `frequency`, the quality factor `q` and `gain` at low
    /// frequencies, at a rate of `rate_hz`.
    ///
    /// Its magnitude equals the analogue one at 0 Hz, at `frequency` where that lies below 0.45 of the rate, and at
    /// 0.45 of the rate where a real numerator reaches it.
    pub fn low_pass(rate_hz: u32, frequency: Hertz, q: f64, gain: f64) -> Self {
        let rate = f64::from(rate_hz);
        let omega0 = std::f64::consts::TAU * frequency.value() / rate;
        let decay = (-omega0 / (2.0 * q)).exp();
        let damping = 1.0 - 1.0 / (4.0 * q * q);
        let turn = omega0 * damping.abs().sqrt();
        let a1 = -2.0 * decay * if damping >= 0.0 { turn.cos() } else { turn.cosh() };
        let a2 = decay * decay;
        let analogue = |f: f64| {
            let x = f / frequency.value();
            1.0 / ((1.0 - x * x).powi(2) + (x / q).powi(2))
        };
        // |A|² in the same parametrisation as |B|².
        let (sum, alternating, product) = ((1.0 + a1 + a2).powi(2), (1.0 - a1 + a2).powi(2), -4.0 * a2);
        let basis = |f: f64| {
            let s = (std::f64::consts::PI * f / rate).sin().powi(2);
            [1.0 - s, s, 4.0 * s * (1.0 - s)]
        };
        let wanted = |f: f64| {
            let [c, s, d] = basis(f);
            analogue(f) * (sum * c + alternating * s + product * d)
        };
        let high = HIGH * rate;
        let middle = frequency.value().min(high / 2.0);
        let ([c1, s1, d1], [c2, s2, d2]) = (basis(middle), basis(high));
        let (r1, r2) = (wanted(middle) - sum * c1, wanted(high) - sum * c2);
        let determinant = s1 * d2 - s2 * d1;
        let at_half_the_rate = ((r1 * d2 - r2 * d1) / determinant).max(0.0);
        let cross = (r1 - s1 * at_half_the_rate) / d1;
        let w = 0.5 * (sum.sqrt() + at_half_the_rate.sqrt());
        let b0 = 0.5 * (w + (w * w + cross).max(0.0).sqrt());
        let b1 = 0.5 * (sum.sqrt() - at_half_the_rate.sqrt());
        // The sum of the numerator is kept exact, whatever was held at zero above: it is the gain at 0 Hz.
        let b2 = sum.sqrt() - b0 - b1;
        let coefficients = Coefficients { a1, a2, b0: gain * b0, b1: gain * b1, b2: gain * b2 };
        Self { coefficients, state: DirectForm2Transposed::new(coefficients) }
    }

    /// Filters `samples` in place.
    pub fn run(&mut self, samples: &mut [f64]) {
        for sample in samples {
            *sample = self.state.run(*sample);
        }
    }

    /// Returns the coefficients.
    pub fn coefficients(&self) -> Coefficients<f64> {
        self.coefficients
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use num_complex::Complex64;

    fn magnitude(c: Coefficients<f64>, f: f64, rate: f64) -> f64 {
        let z = Complex64::cis(-std::f64::consts::TAU * f / rate);
        ((c.b0 + z * (c.b1 + z * c.b2)) / (1.0 + z * (c.a1 + z * c.a2))).norm()
    }

    #[test]
    fn the_sections_magnitude_is_the_resonances_where_it_is_matched_and_near_it_between() {
        for rate in [44_100u32, 48_000, 96_000, 192_000] {
            for (f0, q) in [(2500.0, 2.5), (4800.0, 1.2), (7500.0, 4.0), (1200.0, 0.45), (900.0, 6.0)] {
                let section = SectionFilter::low_pass(rate, Hertz::new(f0), q, 1.0);
                let analogue = |f: f64| {
                    let x: f64 = f / f0;
                    1.0 / ((1.0 - x * x).powi(2) + (x / q).powi(2)).sqrt()
                };
                let off = |f: f64| {
                    (20.0 * (magnitude(section.coefficients(), f, f64::from(rate)) / analogue(f)).log10())
                        .abs()
                };
                assert!(off(0.01) < 1e-6 && off(f0) < 1e-6, "{rate} {f0} {q}: {} {}", off(0.01), off(f0));
                let worst =
                    (1..=200).map(|i| off(0.45 * f64::from(rate) * f64::from(i) / 200.0)).fold(0.0, f64::max);
                assert!(worst < 0.5, "{rate} {f0} {q}: {worst} dB");
            }
        }
    }
}
