//! Properties that every circuit of passive parts has, and closed forms.

use num_complex::Complex64;
use proptest::prelude::*;

use super::*;
use crate::quantity::{Farads, Henries, Hertz, Ohms};

/// A part between two of six nodes, node 0 being ground.
#[derive(Debug, Clone, Copy)]
enum Part {
    Resistor(usize, usize, f64),
    Capacitor(usize, usize, f64),
    Inductor(usize, usize, f64),
}

const NODES: usize = 6;

fn part() -> impl Strategy<Value = Part> {
    let ends = (0..NODES, 0..NODES);
    prop_oneof![
        (ends.clone(), 2.0..6.0_f64).prop_map(|((a, b), e)| Part::Resistor(a, b, 10f64.powf(e))),
        (ends.clone(), -11.0..-8.0_f64).prop_map(|((a, b), e)| Part::Capacitor(a, b, 10f64.powf(e))),
        (ends, 0.1..10.0_f64).prop_map(|((a, b), l)| Part::Inductor(a, b, l)),
    ]
}

/// The circuit of `parts` on nodes added in `order`, with a resistor from each node to ground so that it has a
/// solution, and node 1 as output. The first inductor carries source 0.
fn circuit(parts: &[Part], order: &[usize]) -> Circuit {
    let mut netlist = Netlist::new(1);
    let mut nodes = [Node::GROUND; NODES];
    for n in order {
        nodes[*n] = netlist.node(format!("n{n}"));
        netlist.resistor(nodes[*n], Node::GROUND, Ohms::new(1e6));
    }
    let mut first = true;
    for part in parts {
        match *part {
            Part::Resistor(a, b, r) => netlist.resistor(nodes[a], nodes[b], Ohms::new(r)),
            Part::Capacitor(a, b, c) => netlist.capacitor(nodes[a], nodes[b], Farads::new(c)),
            Part::Inductor(a, b, l) => {
                let share = if first { 1.0 } else { 0.0 };
                netlist.inductor(nodes[a], nodes[b], Henries::new(l), 0, share);
                first = false;
            }
        }
    }
    Circuit::new(&netlist, nodes[1])
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(64) })]

    #[test]
    fn passive_parts_never_deliver_power(parts in prop::collection::vec(part(), 3..12), f in 20.0..20e3_f64) {
        let circuit = circuit(&parts, &[1, 2, 3, 4, 5]);
        let z = circuit.output_impedance(Complex64::new(0.0, std::f64::consts::TAU * f)).unwrap();
        prop_assert!(z.re >= -1e-9 * z.norm(), "{z}");
    }

    #[test]
    fn the_order_in_which_nodes_are_numbered_is_irrelevant(
        parts in prop::collection::vec(part(), 3..12),
        order in Just(vec![1, 2, 3, 4, 5]).prop_shuffle(),
        f in 20.0..20e3_f64,
    ) {
        let at = |order: &[usize]| circuit(&parts, order).response(Hertz::new(f)).unwrap()[0];
        let (one, other) = (at(&[1, 2, 3, 4, 5]), at(&order));
        prop_assert!((one - other).norm() <= 1e-9 * (1.0 + one.norm()), "{one} {other}");
    }

    #[test]
    fn the_response_is_the_sum_of_its_modes(k in 0.0..0.3_f64, f in 50.0..15e3_f64) {
        // A coil with its capacitance and a load, coupled to a shorted one.
        let mut netlist = Netlist::new(2);
        let (hot, inner, other) = (netlist.node("hot"), netlist.node("inner"), netlist.node("other"));
        netlist.resistor(hot, inner, Ohms::new(4e3));
        let a = netlist.inductor(inner, Node::GROUND, Henries::new(2.0), 0, 1.0);
        netlist.capacitor(hot, Node::GROUND, Farads::new(450e-12));
        netlist.resistor(hot, Node::GROUND, Ohms::new(300e3));
        let b = netlist.inductor(other, Node::GROUND, Henries::new(2.1), 1, 1.0);
        netlist.resistor(other, Node::GROUND, Ohms::new(4.2e3));
        netlist.couple(a, b, Henries::new(k * f64::sqrt(2.0 * 2.1)));
        let circuit = Circuit::new(&netlist, hot);
        let s = Complex64::new(0.0, std::f64::consts::TAU * f);
        let exact = circuit.transfer(s).unwrap();
        for (source, exact) in exact.iter().enumerate() {
            let sum: Complex64 = modes(&circuit)
                .iter()
                .map(|m| {
                    let own = m.residues[source] / (s - m.pole);
                    let twin = if m.rings() { m.residues[source].conj() / (s - m.pole.conj()) } else { Complex64::ZERO };
                    own + twin
                })
                .sum();
            prop_assert!((sum - exact).norm() < 1e-7, "source {source}: {sum} and {exact}");
        }
    }
}

#[test]
fn a_divider_and_a_low_pass_have_their_closed_forms() {
    let mut netlist = Netlist::new(1);
    let (source, out) = (netlist.node("source"), netlist.node("out"));
    // An inductor too small to matter carries the source.
    netlist.inductor(source, Node::GROUND, Henries::new(1e-9), 0, 1.0);
    netlist.resistor(source, out, Ohms::new(10e3));
    netlist.resistor(out, Node::GROUND, Ohms::new(30e3));
    netlist.capacitor(out, Node::GROUND, Farads::new(1e-9));
    let circuit = Circuit::new(&netlist, out);
    let f = 5000.0;
    let expected = 0.75 / Complex64::new(1.0, std::f64::consts::TAU * f * 7500.0 * 1e-9);
    assert!((circuit.response(Hertz::new(f)).unwrap()[0] - expected).norm() < 1e-6);
    assert_eq!(
        resistance_to_ground(&netlist, out).unwrap().map(|r| (r.value() * 1e3).round() / 1e3),
        Some(7500.0)
    );
}

#[test]
fn an_output_on_ground_is_silent_and_one_with_no_path_has_no_resistance() {
    let mut netlist = Netlist::new(1);
    let (hot, far) = (netlist.node("hot"), netlist.node("far"));
    netlist.inductor(hot, Node::GROUND, Henries::new(2.0), 0, 1.0);
    netlist.capacitor(hot, far, Farads::new(1e-9));
    assert_eq!(resistance_to_ground(&netlist, far).unwrap(), None);
    netlist.short(hot, Node::GROUND);
    assert_eq!(Circuit::new(&netlist, hot).response(Hertz::new(1e3)).unwrap(), [Complex64::ZERO]);
}

#[test]
fn a_part_of_the_circuit_that_hangs_in_the_air_changes_nothing() {
    let mut netlist = Netlist::new(2);
    let (hot, p, q) = (netlist.node("hot"), netlist.node("p"), netlist.node("q"));
    netlist.inductor(hot, Node::GROUND, Henries::new(2.0), 0, 1.0);
    netlist.resistor(hot, Node::GROUND, Ohms::new(1e4));
    let alone = Circuit::new(&netlist, hot).response(Hertz::new(800.0)).unwrap()[0];
    netlist.inductor(p, q, Henries::new(2.0), 1, 1.0);
    netlist.capacitor(p, q, Farads::new(1e-10));
    netlist.resistor(p, q, Ohms::new(5e3));
    let beside = Circuit::new(&netlist, hot).response(Hertz::new(800.0)).unwrap();
    assert!((beside[0] - alone).norm() < 1e-12 && beside[1].norm() < 1e-12);
}
