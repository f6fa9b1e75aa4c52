//! The response of a guitar loudspeaker in a closed box.
//!
//! It is no particular loudspeaker: a driver of twelve inches with values in the middle of what is usual, in a box of 40 l; a
//! broad rise where its cone breaks up, and a fall beyond.
//!
//! # Source
//! The box: R. Small, "Closed-Box Loudspeaker Systems", JAES 20(10), 1972: `fc = fs √(1 + Vas/Vb)`, `Qtc = Qts √(1 + Vas/Vb)`,
//! the formula from memory. The driver's values are typical, from memory: fs 75 Hz (70 to 110), Qts 0.6 (0.4 to 1.2), Vas 60 l
//! (30 to 120). The break-up and the fall are a convention after the shape of published curves.

use std::f64::consts::PI;

use num_complex::Complex64;

use crate::quantity::{Db, Hertz};

/// A loudspeaker in a closed box.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loudspeaker {
    /// The resonance of driver and box in hertz.
    box_resonance: f64,
    /// Its quality factor.
    box_q: f64,
    /// The rise at the break-up of the cone in dB, its frequency in hertz and its quality factor.
    break_up: (f64, f64, f64),
    /// Where the fall begins, of a Butterworth low-pass of fourth order, in hertz.
    fall: f64,
}

impl Loudspeaker {
    /// The loudspeaker of this module's description.
    pub const GENERIC: Self = Self {
        box_resonance: 118.585_412_256_314_23,
        box_q: 0.948_683_298_050_513_8,
        break_up: (6.0, 2500.0, 1.2),
        fall: 5000.0,
    };

    /// Returns the response at `frequency`, 1 where it is neither raised nor lowered.
    pub fn response(&self, frequency: Hertz) -> Complex64 {
        let f = frequency.value();
        let (up_s, fall_s) = (Complex64::new(0.0, f / self.break_up.1), Complex64::new(0.0, f / self.fall));
        let (rise, _, q) = self.break_up;
        let a = 10f64.powf(rise / 40.0);
        let bell = (up_s * up_s + up_s * (a / q) + 1.0) / (up_s * up_s + up_s / (a * q) + 1.0);
        let pair = |k: f64| fall_s * fall_s + fall_s * (2.0 * (PI * k / 8.0).sin()) + 1.0;
        self.closed_box(frequency) * bell / (pair(1.0) * pair(3.0))
    }

    /// Returns the response of driver and box alone at `frequency`, below the break-up of the cone.
    pub fn closed_box(&self, frequency: Hertz) -> Complex64 {
        let s = Complex64::new(0.0, frequency.value() / self.box_resonance);
        s * s / (s * s + s / self.box_q + 1.0)
    }

    /// Returns the level of the response at `frequency`.
    pub fn level(&self, frequency: Hertz) -> Db {
        Db::of_amplitude(self.response(frequency).norm())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The box from its driver's values by the closed form, and the levels that a computation apart from this program gave.
    #[test]
    fn the_box_is_that_of_its_driver_and_the_levels_are_those_of_the_model() {
        let loudspeaker = Loudspeaker::GENERIC;
        let stiffer = (1.0f64 + 60.0 / 40.0).sqrt();
        assert!((loudspeaker.box_resonance - 75.0 * stiffer).abs() < 1e-12);
        assert!((loudspeaker.box_q - 0.6 * stiffer).abs() < 1e-15);
        for (hertz, decibels) in [(82.0, -5.4), (2500.0, 6.0), (5000.0, -1.5), (10_000.0, -24.0)] {
            let found = loudspeaker.level(Hertz::new(hertz)).value();
            assert!((found - decibels).abs() < 0.35, "{hertz} Hz: {found}");
        }
    }
}
