//! Mains hum, through each coil's winding sense and the circuit to the jack.
//!
//! The field about a guitar is the same at every coil, so that each has the EMF of its turns and winding sense, and the
//! sum at the jack is steady: it is computed from the circuit at each harmonic, exactly, and added to every take.

use std::f64::consts::{PI, TAU};
use std::ops::RangeInclusive;

use num_complex::Complex64;

use crate::circuit::SolveError;
use crate::quantity::{Dbfs, Hertz};
use crate::response::VoiceResponse;

/// The frequency of the mains.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mains {
    /// 50 Hz.
    Hz50,
    /// 60 Hz.
    Hz60,
}

/// Mains hum of a level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hum {
    mains: Mains,
    level: Dbfs,
}

/// The harmonics of the mains that the field holds; the last lies at 2 or 2.4 kHz.
const HARMONICS: u32 = 40;

impl Mains {
    /// Returns the number of cycles a second.
    pub const fn hertz(self) -> u32 {
        match self {
            Self::Hz50 => 50,
            Self::Hz60 => 60,
        }
    }
}

impl Hum {
    /// The level where none is stated: a convention, 40 to 50 dB below hard playing with one coil. Common practice, no
    /// source.
    pub const USUAL: Dbfs = Dbfs::new(-50.0);
    /// The levels that may be asked for: from below any noise to the source's full scale.
    pub const LEVELS: RangeInclusive<Dbfs> = Dbfs::new(-120.0)..=Dbfs::new(0.0);

    /// Returns hum whose EMF in a coil of one turn, of which the source's full scale is 1 in a coil of output 1, has this
    /// RMS level with all harmonics.
    pub const fn new(mains: Mains, level: Dbfs) -> Self {
        Self { mains, level }
    }

    /// Returns the frequency of the mains.
    pub const fn mains(&self) -> Mains {
        self.mains
    }

    /// Returns the RMS level of the EMF in a coil of one turn.
    pub const fn level(&self) -> Dbfs {
        self.level
    }

    /// Returns the frequency and the complex amplitude of each harmonic of the EMF in a coil of one turn.
    ///
    /// A field harmonic n is raised by n in EMF, which goes with the field's change. The field's own spectrum is a
    /// convention: 1/n² for odd harmonics, which a saturating transformer makes, and half of that for even ones, which
    /// rectifiers make; the phases keep the peaks low (M. Schroeder, IEEE Trans. Information Theory 16(1), 1970).
    fn harmonics(&self) -> impl Iterator<Item = (Hertz, Complex64)> {
        let relative = |n: u32| {
            let field = if n % 2 == 1 { 1.0 } else { 0.5 } / f64::from(n * n);
            f64::from(n) * field
        };
        let power: f64 = (1..=HARMONICS).map(|n| relative(n).powi(2) / 2.0).sum();
        let scale = 10f64.powf(self.level.value() / 20.0) / power.sqrt();
        let hertz = f64::from(self.mains.hertz());
        (1..=HARMONICS).map(move |n| {
            let phase = -PI * f64::from(n * (n - 1)) / f64::from(HARMONICS);
            (Hertz::new(hertz * f64::from(n)), Complex64::from_polar(relative(n) * scale, phase))
        })
    }

    /// Returns the hum at the jack in the voice of `response`, from its first sample until it repeats itself.
    pub(super) fn at_jack(&self, response: &VoiceResponse, rate_hz: u32) -> Result<Vec<f64>, SolveError> {
        let length = rate_hz / greatest_common_divisor(rate_hz, self.mains.hertz());
        let mut samples = vec![0.0; length as usize];
        for (frequency, emf) in self.harmonics() {
            let at_jack = emf * response.hum(&response.at(frequency)?);
            let turn = TAU * frequency.value() / f64::from(rate_hz);
            for (n, sample) in samples.iter_mut().enumerate() {
                *sample += (at_jack * Complex64::cis(turn * n as f64)).re;
            }
        }
        Ok(samples)
    }
}

fn greatest_common_divisor(a: u32, b: u32) -> u32 {
    if b == 0 { a } else { greatest_common_divisor(b, a % b) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_emf_has_the_level_that_is_stated_and_falls_by_six_decibels_an_octave_of_odd_harmonics() {
        let hum = Hum::new(Mains::Hz60, Dbfs::new(-40.0));
        let harmonics: Vec<(Hertz, Complex64)> = hum.harmonics().collect();
        let power: f64 = harmonics.iter().map(|(_, a)| a.norm_sqr() / 2.0).sum();
        assert!((10.0 * power.log10() + 40.0).abs() < 1e-9);
        assert_eq!(harmonics[2].0, Hertz::new(180.0));
        assert!((harmonics[0].1.norm() / harmonics[2].1.norm() - 3.0).abs() < 1e-9);
        assert!((harmonics[0].1.norm() / harmonics[1].1.norm() - 4.0).abs() < 1e-9);
    }

    #[test]
    fn hum_repeats_itself_after_whole_cycles_at_every_rate() {
        for (rate, mains, expected) in [(44_100, 60, 735), (48_000, 50, 960), (22_255, 60, 4451)] {
            let length = rate / greatest_common_divisor(rate, mains);
            assert_eq!(length, expected);
            assert_eq!(length * mains % rate, 0);
        }
    }
}
