//! A circuit as its knobs see it, so that it can be solved again elsewhere for any position of theirs.
//!
//! The parts that knobs set are taken out and a resistor of the scaling impedance stands in each one's place, so
//! that the rest always has a solution. A part of admittance y is put back by adding y − 1, in scaled units, between
//! its two rows.

use serde::Serialize;

use super::solve::{OMEGA0, R0};
use super::{Circuit, KnobPart, Netlist, Node};
use crate::quantity::Ohms;

/// The equations `(G + s/ω₀ C) x = b e` of a circuit without the parts that knobs set.
///
/// Impedances are scaled by [`KnobCircuit::impedance`] and frequencies by [`KnobCircuit::omega`]. Matrices are lists
/// of row, column and value.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KnobCircuit {
    /// The number of unknowns.
    pub size: usize,
    /// The impedance of one scaled unit in ohms.
    pub impedance: f64,
    /// The angular frequency of one scaled unit, ω₀, in rad/s.
    pub omega: f64,
    /// The conductive part, G.
    pub conductive: Vec<(usize, usize, f64)>,
    /// The reactive part, C.
    pub reactive: Vec<(usize, usize, f64)>,
    /// For each source the rows that it drives, with its share.
    pub drives: Vec<Vec<(usize, f64)>>,
    /// The row of the jack's voltage, absent where the jack is ground.
    pub output: Option<usize>,
    /// Where the parts belong that knobs set.
    pub places: Vec<KnobPlace>,
}

/// The two rows between which a part belongs; absent where that end is ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct KnobPlace {
    /// The part.
    pub part: KnobPart,
    /// The row of one end.
    pub a: Option<usize>,
    /// The row of the other.
    pub b: Option<usize>,
}

impl KnobCircuit {
    /// Returns the equations of `netlist`, whose places for knobs are free, with the voltage of `output` as its
    /// response.
    pub(super) fn new(netlist: &Netlist, output: Node) -> Self {
        let mut held = netlist.clone();
        for (a, b, _) in netlist.free() {
            held.resistor(*a, *b, Ohms::new(R0));
        }
        let circuit = Circuit::new(&held, output);
        let row = |node: Node| circuit.row_of[node.0];
        let places =
            netlist.free().iter().map(|(a, b, part)| KnobPlace { part: *part, a: row(*a), b: row(*b) });
        Self { places: places.collect(), ..Self::fixed(&circuit) }
    }

    /// Returns the equations of `circuit`, in which no part is left to a knob.
    pub fn fixed(circuit: &Circuit) -> Self {
        let entries = |m: &nalgebra::DMatrix<f64>| {
            let places = (0..m.nrows()).flat_map(|i| (0..m.ncols()).map(move |j| (i, j)));
            places.map(|(i, j)| (i, j, m[(i, j)])).filter(|(.., value)| *value != 0.0).collect()
        };
        Self {
            size: circuit.size(),
            impedance: R0,
            omega: OMEGA0,
            conductive: entries(&circuit.g),
            reactive: entries(&circuit.c),
            drives: circuit.drives.clone(),
            output: circuit.output,
            places: Vec::new(),
        }
    }
}

#[cfg(test)]
mod tests {
    use nalgebra::{DMatrix, DVector};
    use num_complex::Complex64;

    use super::*;
    use crate::circuit::{JackLoad, Strapping, Wired, circuit_of, knobs_of};
    use crate::document::Document;
    use crate::guitar::{Guitar, Pot};
    use crate::quantity::Hertz;
    use crate::wiring::Arrangement;

    fn guitar(volume: f64, tone: f64, cable: &str) -> Guitar {
        let text = format!(
            "format = 1\n[[pickup]]\nname = \"p\"\nlike = \"vintage-full-size\"\nbypass = \"22n\"\n\
             [pickup.coil_b]\nresistance = \"4.2k\"\ninductance = \"2.1\"\neddy_share = 0.2\neddy_corner = \"6k\"\n\
             [controls]\nvolume = {{ pot = \"500k\", turned = {volume} }}\n\
             tone = {{ pot = \"250k\", turned = {tone}, capacitor = \"22n\" }}\n\
             bleed = {{ capacitor = \"1n\", resistor = \"150k\", joined = \"series\" }}\n[cable]\ntotal = \"{cable}\"\n"
        );
        Guitar::read(&Document::new("turned", text)).unwrap()
    }

    /// Puts the parts back as `guitar` has them and solves.
    fn solved(knobs: &KnobCircuit, guitar: &Guitar, f: Hertz) -> Vec<Complex64> {
        let s = Complex64::new(0.0, std::f64::consts::TAU * f.value());
        let mut system = DMatrix::<Complex64>::zeros(knobs.size, knobs.size);
        for (i, j, value) in &knobs.conductive {
            system[(*i, *j)] += value;
        }
        for (i, j, value) in &knobs.reactive {
            system[(*i, *j)] += s / knobs.omega * value;
        }
        let share = |pot: Pot| pot.track().value() * pot.fraction();
        let (volume, tone) = (guitar.controls().volume().unwrap(), guitar.controls().tone().unwrap());
        for place in &knobs.places {
            // A milliohm stands for a short: nothing beside the circuit, and no pole of the equations.
            let of = |ohms: f64| Complex64::from(knobs.impedance / ohms.max(1e-3));
            let admittance = match place.part {
                KnobPart::VolumeAbove => of(volume.track().value() - share(volume)),
                KnobPart::VolumeBelow => of(share(volume)),
                KnobPart::Tone => of(share(tone.pot())),
                KnobPart::Cable => s * guitar.cable().capacitance().value() * knobs.impedance,
            };
            for (row, other) in [(place.a, place.b), (place.b, place.a)] {
                if let Some(row) = row {
                    system[(row, row)] += admittance - 1.0;
                    if let Some(other) = other {
                        system[(row, other)] -= admittance - 1.0;
                    }
                }
            }
        }
        let inverse = system.lu();
        let driven = |rows: &Vec<(usize, f64)>| {
            let mut b = DVector::<Complex64>::zeros(knobs.size);
            for (row, share) in rows {
                b[*row] += share;
            }
            inverse.solve(&b).unwrap()[knobs.output.unwrap()]
        };
        knobs.drives.iter().map(driven).collect()
    }

    #[test]
    fn with_its_parts_put_back_at_any_position_the_circuit_is_the_one_built_there() {
        let full = guitar(10.0, 10.0, "360p");
        for arrangement in Arrangement::TWO_COIL {
            let strapping = Strapping::of(arrangement);
            let knobs = knobs_of(&full, Wired::Pickup(&full.pickups()[0], strapping)).unwrap();
            for (volume, tone, cable) in
                [(10.0, 10.0, "360p"), (7.3, 10.0, "100p"), (2.0, 3.5, "1.2n"), (10.0, 0.0, "0")]
            {
                let there = guitar(volume, tone, cable);
                let wired = Wired::Pickup(&there.pickups()[0], strapping);
                let built = circuit_of(&there, wired, JackLoad::Plugged).unwrap();
                let built = Circuit::new(&built.netlist, built.jack);
                for f in [20.0, 440.0, 2900.0, 7000.0, 19_000.0].map(Hertz::new) {
                    let (ours, theirs) = (solved(&knobs, &there, f), built.response(f).unwrap());
                    let loudest = theirs.iter().map(|h| h.norm()).fold(0.0, f64::max);
                    for (ours, theirs) in ours.iter().zip(&theirs) {
                        let off = (ours - theirs).norm() / loudest;
                        assert!(off < 1e-5, "{arrangement} at {volume}, {tone}, {cable}, {f}: {off}");
                    }
                }
            }
        }
    }
}
