//! The modes of one plucked string, and how much of each reaches each coil.

use std::f64::consts::{PI, TAU};

use super::performance::Pluck;
use super::strings::Sounding;
use super::{Layout, Settings};

/// A mode at a coil is `weight · e^(−σ t) · sin(ω t)`, from the moment at which the string is let go.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Mode {
    /// ω in radians a second.
    pub(super) omega: f64,
    /// σ in 1/s.
    pub(super) sigma: f64,
    /// One a coil.
    pub(super) weights: Vec<f64>,
}

/// No mode is made above this frequency, nor above [`SHARE_OF_RATE`] of the rate.
const HIGHEST: f64 = 20_000.0;
const SHARE_OF_RATE: f64 = 0.45;
/// The share of the highest frequency from which modes are made weaker, so that the band ends without ringing.
const TAPER_FROM: f64 = 0.8;
/// The frequency at which the damping of the treble is stated.
const TREBLE: f64 = 5_000.0;

/// Returns the modes of `string`, plucked as `pluck` says.
///
/// A coil senses velocity, and a string held aside at one point and let go moves with velocities of
/// sin(nπp/ℓ)/f_n in mode n, by the static deflection of a stiff string under a point force; that is the
/// sin(nπp/ℓ)/n of an ideal string. They are scaled by the fundamental, so that every string starts as strong
/// as every other for the same force, as strings and pole pieces are balanced to do; a convention. The pluck's
/// contact and the coil's aperture each take the mean over a length. Which mode reaches a coil follows from
/// its place alone.
///
/// # Source
/// N. H. Fletcher, T. D. Rossing, *The Physics of Musical Instruments*, on the plucked string (from memory);
/// that a coil senses velocity: an experimental characterisation in JAES 65(9), 2017, pp. 711–721.
pub(super) fn modes(string: &Sounding, pluck: &Pluck, layout: &Layout, settings: &Settings) -> Vec<Mode> {
    let highest = HIGHEST.min(SHARE_OF_RATE * f64::from(settings.rate));
    let damping = Damping::of(string.frequency(1.0), settings);
    let mut modes = Vec::new();
    // A string's overtones rise with their number, so that the loop ends: after 20 kHz / 82 Hz turns or fewer.
    for n in (1u16..).map(f64::from) {
        let frequency = string.frequency(n);
        if frequency >= highest {
            break;
        }
        let struck = pluck.force * string.fundamental / frequency
            * string.shape(n, pluck.at)
            * string.mean_over(n, settings.contact.value())
            * taper(frequency / highest);
        let sensed = |x: f64, w: f64| struck * string.shape(n, x) * string.mean_over(n, w);
        modes.push(Mode {
            omega: TAU * frequency,
            sigma: damping.at(frequency),
            weights: layout
                .coils()
                .iter()
                .map(|coil| sensed(coil.from_bridge.value(), coil.aperture.value()))
                .collect(),
        });
    }
    modes
}

/// A raised cosine from 1 at [`TAPER_FROM`] to 0 at 1.
fn taper(share: f64) -> f64 {
    if share <= TAPER_FROM {
        return 1.0;
    }
    0.5 + 0.5 * (PI * (share - TAPER_FROM) / (1.0 - TAPER_FROM)).cos()
}

/// Decay rates that grow with the square of the frequency, σ = b₁ + b₃ f².
///
/// # Source
/// The law of a string with a loss that is even and one that grows with the square of the frequency: A. Chaigne,
/// A. Askenfelt, JASA 95, 1994 (from memory); J. O. Smith, *Physical Audio Signal Processing*, "Frequency-Dependent
/// Damping". That it is stated by its time at the fundamental and its ratio at 5 kHz is a convention.
#[derive(Debug, Clone, Copy)]
struct Damping {
    b1: f64,
    b3: f64,
}

impl Damping {
    fn of(fundamental: f64, settings: &Settings) -> Self {
        // e^(−σ T) = 10^(−60/20)
        let slowest = 3.0 * std::f64::consts::LN_10 / settings.decay.value();
        let squares = TREBLE * TREBLE - fundamental * fundamental;
        let b3 = slowest * (settings.treble_damping - 1.0) / squares;
        Self { b1: slowest - b3 * fundamental * fundamental, b3 }
    }

    fn at(self, frequency: f64) -> f64 {
        self.b1 + self.b3 * frequency * frequency
    }
}

#[cfg(test)]
mod tests {
    use nalgebra::{DMatrix, DVector};

    use super::*;
    use crate::pluck::phrase::Stroke;
    use crate::pluck::{CoilPlace, STANDARD};
    use crate::quantity::{Metres, Seconds};

    fn ideal() -> Settings {
        Settings { contact: Metres::new(0.0), treble_damping: 1.0, ..Settings::default() }
    }

    fn made(string: &Sounding, settings: &Settings) -> Vec<Mode> {
        let coil = CoilPlace { aperture: Metres::new(0.0), ..CoilPlace::at(Metres::new(0.045)) };
        let layout = Layout::new(Metres::new(0.648), &[coil]).unwrap();
        let stroke = Stroke { string: 0, fret: 0 };
        let pluck = Pluck { stroke, start: 0.0, stop: None, force: 1.0, at: 0.14 };
        modes(string, &pluck, &layout, settings)
    }

    /// The deflection is found by finite differences on a grid, and not from any mode:
    /// T y'' − EI y'''' = −F δ(x − p) with pinned ends, where EI/T = B ℓ²/π².
    #[test]
    fn a_stiff_string_is_let_go_from_the_shape_it_is_held_in() {
        const NODES: usize = 323;
        let string = Sounding { stiffness: 1e-3, ..STANDARD[0].sounding(0, 0.648, 1.0) };
        let step = string.length / (NODES + 1) as f64;
        let second = DMatrix::from_fn(NODES, NODES, |i, j| match i.abs_diff(j) {
            0 => 2.0 / (step * step),
            1 => -1.0 / (step * step),
            _ => 0.0,
        });
        let bending = string.stiffness * string.length * string.length / (PI * PI);
        let held = DVector::from_fn(NODES, |i, _| f64::from(u8::from(i + 1 == 70)));
        let shape = (&second + &second * &second * bending).lu().solve(&held).unwrap();

        let moved = |n: f64| -> f64 {
            let along = |i: usize| (PI * n * (i + 1) as f64 / (NODES + 1) as f64).sin();
            (0..NODES).map(|i| shape[i] * along(i)).sum()
        };
        let at = string.length * 70.0 / (NODES + 1) as f64;
        assert!((at - 0.14).abs() < 1e-9);
        let modes = made(&string, &ideal());
        let sensed = |n: f64| (PI * n * 0.045 / string.length).sin();
        let expected = |n: f64| moved(n) * string.frequency(n) * sensed(n);
        let unit = modes[0].weights[0] / expected(1.0);
        for (mode, n) in modes.iter().zip(1u8..=20) {
            // The grid's own error: (nπ/N)²/12, for 20 modes about 0.3 %, twice that for the fourth derivative.
            let (given, wanted) = (mode.weights[0], expected(f64::from(n)) * unit);
            assert!((given - wanted).abs() < 0.01 * wanted.abs() + 1e-6, "mode {n}: {given} {wanted}");
        }
    }

    #[test]
    fn the_fundamental_falls_by_the_decay_and_five_kilohertz_faster_by_the_damping() {
        let settings = Settings { decay: Seconds::new(4.0), treble_damping: 10.0, ..ideal() };
        let damping = Damping::of(82.4, &settings);
        let fall = |frequency: f64, time: f64| 20.0 * (-damping.at(frequency) * time).exp().log10();
        assert!((fall(82.4, 4.0) + 60.0).abs() < 1e-9);
        assert!((fall(5000.0, 0.4) + 60.0).abs() < 1e-9);
        // A linear share of the way in f²: (1 kHz / 5 kHz)² of nine more.
        assert!((fall(1000.0, 4.0) / fall(82.4, 4.0) - 1.0 - 9.0 / 25.0).abs() < 0.01);
    }

    #[test]
    fn no_mode_is_above_the_band_and_the_last_are_made_weaker() {
        for (rate, highest) in [(48_000, 20_000.0), (44_100, 19_845.0), (8_000, 3_600.0), (192_000, 20_000.0)]
        {
            let string = STANDARD[0].sounding(0, 0.648, 0.0);
            let modes = made(&string, &Settings { rate, ..ideal() });
            let last = modes.last().unwrap().omega / TAU;
            assert!(last < highest && last + string.fundamental >= highest, "{rate}: {last}");
            assert!(modes.last().unwrap().weights[0].abs() < 1e-4, "{rate}");
        }
    }
}
