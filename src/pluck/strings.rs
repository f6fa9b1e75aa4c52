//! The six strings.

use super::Pitch;
use crate::quantity::Hertz;

/// The highest fret.
pub const FRETS: u8 = 24;

/// A string as it is strung: its open pitch and its stiffness.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GuitarString {
    open: Pitch,
    stiffness: f64,
}

/// A length of a string that sounds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Sounding {
    /// The length in metres.
    pub(super) length: f64,
    /// The fundamental without stiffness, in hertz.
    pub(super) fundamental: f64,
    /// The inharmonicity coefficient B.
    pub(super) stiffness: f64,
}

/// The standard tuning, lowest string first: light plain strings of 0.43, 0.33 and 0.25 mm and wound ones to
/// match, at 648 mm.
///
/// # Source
/// The inharmonicity of the plain strings follows from their gauges by H. Fletcher, *Normal Vibration
/// Frequencies of a Stiff Piano String*, JASA 36, 1964: B = π³ E d⁴ / (64 T ℓ²), with E = 200 GPa and
/// 7850 kg/m³ (a test computes it). Those of the wound strings depend on the core and are typical values from
/// memory, no source.
pub const STANDARD: [GuitarString; 6] = [
    GuitarString { open: Pitch::above_c0(28), stiffness: 1e-4 },
    GuitarString { open: Pitch::above_c0(33), stiffness: 6e-5 },
    GuitarString { open: Pitch::above_c0(38), stiffness: 4e-5 },
    GuitarString { open: Pitch::above_c0(43), stiffness: 1.1e-4 },
    GuitarString { open: Pitch::above_c0(47), stiffness: 4e-5 },
    GuitarString { open: Pitch::above_c0(52), stiffness: 1.3e-5 },
];

impl GuitarString {
    /// Returns the pitch of the whole string.
    pub const fn open(&self) -> Pitch {
        self.open
    }

    /// Returns the inharmonicity coefficient B of the whole string.
    pub const fn stiffness(&self) -> f64 {
        self.stiffness
    }

    /// Returns the frequency at `fret` without stiffness.
    pub fn frequency(&self, fret: u8) -> Hertz {
        Hertz::new(self.open.frequency().value() * semitones(fret))
    }

    /// Returns what sounds at `fret` of a string of `scale` metres, its stiffness times `stiffening`.
    ///
    /// The tension is the open string's, so that the wave speed is too, and B grows as 1/ℓ² (the formula of
    /// [`STANDARD`]).
    pub(super) fn sounding(&self, fret: u8, scale: f64, stiffening: f64) -> Sounding {
        Sounding {
            length: scale / semitones(fret),
            fundamental: self.frequency(fret).value(),
            stiffness: self.stiffness * stiffening * semitones(fret) * semitones(fret),
        }
    }
}

/// The ratio of frequencies of `count` equal-tempered semitones.
fn semitones(count: u8) -> f64 {
    (f64::from(count) / 12.0).exp2()
}

impl Sounding {
    /// Returns the frequency of mode `n` in hertz.
    ///
    /// # Source
    /// f_n = n f_0 √(1 + B n²): H. Fletcher, JASA 36, 1964, for pinned ends.
    pub(super) fn frequency(&self, n: f64) -> f64 {
        n * self.fundamental * (1.0 + self.stiffness * n * n).sqrt()
    }

    /// Returns how far mode `n` moves at `from_bridge` metres, 1 at its loops.
    pub(super) fn shape(&self, n: f64, from_bridge: f64) -> f64 {
        (std::f64::consts::PI * n * from_bridge / self.length).sin()
    }

    /// Returns the mean of mode `n`'s shape over `width` metres, against its value in the middle.
    ///
    /// For an ideal string this is sinc(f w/c), whatever the fret.
    pub(super) fn mean_over(&self, n: f64, width: f64) -> f64 {
        let half = std::f64::consts::FRAC_PI_2 * n * width / self.length;
        if half == 0.0 { 1.0 } else { half.sin() / half }
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;

    #[test]
    fn the_stiffness_of_the_plain_strings_is_that_of_their_gauges() {
        const YOUNG: f64 = 200e9;
        const DENSITY: f64 = 7850.0;
        const SCALE: f64 = 0.648;
        for (string, inches) in STANDARD[3..].iter().zip([0.017, 0.013, 0.010]) {
            let d: f64 = inches * 0.0254;
            let speed = 2.0 * SCALE * string.open().frequency().value();
            let tension = DENSITY * PI * d * d / 4.0 * speed * speed;
            let b = PI.powi(3) * YOUNG * d.powi(4) / (64.0 * tension * SCALE * SCALE);
            assert!((string.stiffness() / b - 1.0).abs() < 0.05, "{}: {b:e}", string.open());
        }
    }

    #[test]
    fn a_fretted_string_keeps_its_wave_speed_and_is_stiffer_by_its_length_squared() {
        let open = STANDARD[0].sounding(0, 0.648, 1.0);
        let fretted = STANDARD[0].sounding(12, 0.648, 1.0);
        assert!((fretted.length * 2.0 - open.length).abs() < 1e-12);
        assert!((fretted.length * fretted.fundamental - open.length * open.fundamental).abs() < 1e-12);
        assert!((fretted.stiffness / open.stiffness - 4.0).abs() < 1e-12);
    }
}
