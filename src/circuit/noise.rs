//! The noise that the circuit's resistances make of their warmth.
//!
//! # Source
//! J. B. Johnson, "Thermal agitation of electricity in conductors", and H. Nyquist, "Thermal agitation of electric charge
//! in conductors", Physical Review 32, 1928: a resistance R makes a voltage of power density 4kTR. The powers of all are
//! added at the output; where nothing but passive parts is there, that is 4kT times the real part of its impedance.

use num_complex::Complex64;

use super::solve::R0;
use super::{Circuit, SolveError};
use crate::quantity::Hertz;

/// The Boltzmann constant in J/K, exact by the definition of the kelvin.
const BOLTZMANN: f64 = 1.380_649e-23;
/// The temperature in kelvins of every resistance.
pub const NOISE_KELVINS: f64 = 300.0;
/// The band over which noise is added up.
pub const NOISE_BAND: (Hertz, Hertz) = (Hertz::new(20.0), Hertz::new(20e3));
/// Steps of the sum, equal in the logarithm of the frequency: twenty to an octave follow any resonance of a pickup.
const STEPS: u32 = 200;

impl Circuit {
    /// Returns the power density in V²/Hz that the resistances' warmth makes at the output; a follower adds nothing of
    /// its own.
    ///
    /// # Errors
    /// [`SolveError::Singular`] where the circuit has no solution there.
    pub fn noise_density(&self, frequency: Hertz) -> Result<f64, SolveError> {
        let s = Complex64::new(0.0, std::f64::consts::TAU * frequency.value());
        let Some(transimpedance) = self.transimpedances(s)? else { return Ok(0.0) };
        let at = |row: Option<usize>| row.map_or(Complex64::ZERO, |row| transimpedance[row] * R0);
        let from = |(a, b, ohms): &(Option<usize>, Option<usize>, f64)| (at(*a) - at(*b)).norm_sqr() / ohms;
        Ok(4.0 * BOLTZMANN * NOISE_KELVINS * self.resistors.iter().map(from).sum::<f64>())
    }

    /// Returns the voltage in volts RMS of that noise over [`NOISE_BAND`], its power weighted by `weight`.
    ///
    /// # Errors
    /// [`SolveError::Singular`] where the circuit has no solution at some frequency.
    pub fn noise_volts<const N: usize>(
        &self,
        weight: impl Fn(Hertz) -> [f64; N],
    ) -> Result<[f64; N], SolveError> {
        let (low, high) = (NOISE_BAND.0.value(), NOISE_BAND.1.value());
        let step = (high / low).ln() / f64::from(STEPS);
        let mut power = [0.0; N];
        for k in 0..=STEPS {
            let f = low * (f64::from(k) * step).exp();
            // Simpson's rule in ln f, where a hertz is worth 1/f.
            let share = match k {
                0 | STEPS => 1.0,
                k if k % 2 == 1 => 4.0,
                _ => 2.0,
            };
            let density = self.noise_density(Hertz::new(f))?;
            for (power, weight) in power.iter_mut().zip(weight(Hertz::new(f))) {
                *power += share * step / 3.0 * f * density * weight;
            }
        }
        Ok(power.map(f64::sqrt))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{Netlist, Node};
    use crate::quantity::{Farads, Henries, Ohms};

    fn volts(netlist: &Netlist, output: Node) -> f64 {
        Circuit::new(netlist, output).noise_volts(|_| [1.0]).expect("it has a solution")[0]
    }

    #[test]
    fn a_resistor_makes_what_johnsons_formula_says() {
        let mut netlist = Netlist::new(0);
        let out = netlist.node("out");
        netlist.resistor(out, Node::GROUND, Ohms::new(10e3));
        let expected = (4.0 * 1.380_649e-23 * 300.0 * 10e3 * 19_980.0f64).sqrt();
        assert!((volts(&netlist, out) / expected - 1.0).abs() < 1e-6, "{} V", volts(&netlist, out));
        // The round number of the handbooks: 10 kΩ over 20 kHz make about 1.8 µV.
        assert!((expected - 1.82e-6).abs() < 0.01e-6);
    }

    #[test]
    fn a_capacitor_across_a_resistor_holds_k_t_over_c() {
        let (r, c) = (500e3, 1e-9);
        let mut netlist = Netlist::new(0);
        let out = netlist.node("out");
        netlist.resistor(out, Node::GROUND, Ohms::new(r));
        netlist.capacitor(out, Node::GROUND, Farads::new(c));
        let power = volts(&netlist, out).powi(2);
        let whole = 1.380_649e-23 * 300.0 / c;
        // The band has this share of all frequencies: 2/π of the difference of two arcs.
        let arc = |f: f64| (std::f64::consts::TAU * f * r * c).atan();
        let share = (arc(20e3) - arc(20.0)) * 2.0 / std::f64::consts::PI;
        assert!((power / (whole * share) - 1.0).abs() < 1e-6, "{power} V²");
        assert!(share > 0.9);
    }

    #[test]
    fn of_passive_parts_it_is_that_of_the_impedances_real_part() {
        let mut netlist = Netlist::new(1);
        let [coil, out, tone] = ["coil", "out", "tone"].map(|name| netlist.node(name));
        netlist.inductor(coil, Node::GROUND, Henries::new(4.0), 0, 1.0);
        netlist.resistor(coil, out, Ohms::new(8e3));
        netlist.capacitor(out, Node::GROUND, Farads::new(500e-12));
        netlist.resistor(out, tone, Ohms::new(250e3));
        netlist.capacitor(tone, Node::GROUND, Farads::new(22e-9));
        let circuit = Circuit::new(&netlist, out);
        for f in [20.0, 300.0, 3000.0, 3559.0, 12e3] {
            let s = Complex64::new(0.0, std::f64::consts::TAU * f);
            let real = circuit.output_impedance(s).expect("it has a solution").re;
            let density = circuit.noise_density(Hertz::new(f)).expect("it has a solution");
            assert!((density / (4.0 * 1.380_649e-23 * 300.0 * real) - 1.0).abs() < 1e-9, "{f} Hz");
        }
    }

    #[test]
    fn a_follower_hands_on_the_noise_before_it_and_adds_none() {
        let mut netlist = Netlist::new(0);
        let [before, out] = ["before", "out"].map(|name| netlist.node(name));
        netlist.resistor(before, Node::GROUND, Ohms::new(100e3));
        let alone = volts(&netlist, before);
        netlist.follower(before, out, Ohms::new(1e3));
        assert!((volts(&netlist, out) / alone - 1.0).abs() < 1e-9);
    }
}
