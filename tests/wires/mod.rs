//! Joints and contacts as wires between names, walked along and solved, apart from the program's own data.
#![allow(dead_code, unreachable_pub, reason = "each test binary uses its own part")]

use std::collections::{BTreeMap, BTreeSet};

use drywire::circuit::{Circuit, Netlist, Node};
use drywire::quantity::{Henries, Hertz, Ohms};
use num_complex::Complex64;

/// A pair of names that are joined.
pub type Joint = (String, String);

/// The contacts of each throw, written down here once more.
pub fn contacts(switch: &str) -> Vec<Vec<Joint>> {
    let pairs = |text: &str| -> Vec<Joint> {
        let pair = |p: &str| p.split_once('-').map(|(a, b)| (a.to_owned(), b.to_owned()));
        text.split_whitespace().filter_map(pair).collect()
    };
    let throws: &[&str] = match switch {
        "on-on" => &["L2-L1 R2-R1", "L2-L3 R2-R3"],
        "on-on-single" => &["L2-L1", "L2-L3"],
        "on-off-on" => &["L2-L1 R2-R1", "", "L2-L3 R2-R3"],
        "on-on-on" => &["L2-L1 R2-R1", "L2-L1 R2-R3", "L2-L3 R2-R3"],
        "on-on-on-mirrored" => &["L2-L1 R2-R1", "L2-L3 R2-R1", "L2-L3 R2-R3"],
        other => panic!("no such switch: {other}"),
    };
    throws.iter().map(|throw| pairs(throw)).collect()
}

/// Returns the names that a walk along the wires from `start` comes past.
pub fn walk(start: &str, wires: &[Joint]) -> BTreeSet<String> {
    let mut met = BTreeSet::from([start.to_owned()]);
    let mut ahead = vec![start.to_owned()];
    while let Some(at) = ahead.pop() {
        for (one, other) in wires {
            for (near, far) in [(one, other), (other, one)] {
                if *near == at && met.insert(far.clone()) {
                    ahead.push(far.clone());
                }
            }
        }
    }
    met
}

/// Returns the response at hot, into 250 kΩ, to each coil: two unlike coils, coupled, on the nodes that `wires` join.
pub fn solved(wires: &[Joint]) -> [Complex64; 2] {
    let mut netlist = Netlist::new(2);
    let mut nodes: BTreeMap<String, Node> = BTreeMap::from([("ground".to_owned(), Node::GROUND)]);
    let mut at = |netlist: &mut Netlist, name: &str| {
        *nodes.entry(name.to_owned()).or_insert_with(|| netlist.node(name))
    };
    for (one, other) in wires {
        let (one, other) = (at(&mut netlist, one), at(&mut netlist, other));
        netlist.short(one, other);
    }
    let mut inductors = Vec::new();
    for (source, (plus, minus, ohms, henries)) in
        [("a+", "a-", 4.1e3, 2.1), ("b+", "b-", 3.7e3, 1.8)].into_iter().enumerate()
    {
        let (plus, minus) = (at(&mut netlist, plus), at(&mut netlist, minus));
        let inner = netlist.node("inner");
        netlist.resistor(plus, inner, Ohms::new(ohms));
        inductors.push(netlist.inductor(inner, minus, Henries::new(henries), source, 1.0));
    }
    netlist.couple(inductors[0], inductors[1], Henries::new(0.25));
    let hot = at(&mut netlist, "hot");
    netlist.resistor(hot, Node::GROUND, Ohms::new(250e3));
    let paths = Circuit::new(&netlist, hot).response(Hertz::new(700.0)).expect("a circuit with a solution");
    [paths[0], paths[1]]
}
