//! What of a circuit its output hears, as a digest by which two circuits are known for the same.

use std::collections::HashMap;

use sha2::{Digest, Sha256};

use super::{Element, Netlist, Node};

/// What of a circuit is heard at a node. Circuits of one likeness have the same response there from every source.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Likeness {
    digest: [u8; 32],
    heard: Vec<bool>,
}

impl Likeness {
    /// Returns of each source whether a part that it drives leads to the node.
    pub fn heard(&self) -> &[bool] {
        &self.heard
    }
}

impl Netlist {
    /// Returns the likeness of the circuit as `output` hears it.
    ///
    /// What is joined to the output by ground alone is not heard: no part of it is, and the coupling of inductors
    /// counts as a joint. Nodes are numbered as they come up among the parts that are heard, so that circuits built
    /// in the same order from the same parts are alike.
    pub fn likeness(&self, output: Node) -> Likeness {
        // Nodes are told by what they are merged with, and a place that is free for a knob by the part that is put there.
        let Self { merged: _, names: _, parts, couplings, sources, free } = self;
        debug_assert!(free.is_none(), "a circuit is compared with its knobs set");
        let within = self.parts_within_reach(self.root(output.0));
        let mut number = HashMap::from([(Node::GROUND.0, 0)]);
        let mut hash = Sha256::new();
        let mut heard = vec![false; *sources];
        let mut place = vec![None; parts.len()];
        let mut node = |hash: &mut Sha256, root: usize| {
            let next = number.len() as u64;
            hash.update(number.entry(root).or_insert(next).to_le_bytes());
        };
        for (count, (i, (a, b, element))) in parts.iter().enumerate().filter(|(i, _)| within[*i]).enumerate()
        {
            place[i] = Some(count as u64);
            node(&mut hash, self.root(a.0));
            node(&mut hash, self.root(b.0));
            let (kind, values): (u8, [f64; 2]) = match element {
                Element::Resistor(r) => (0, [r.value(), 0.0]),
                Element::Capacitor(c) => (1, [c.value(), 0.0]),
                Element::Follower(r) => (2, [r.value(), 0.0]),
                Element::Inductor { inductance, source, share } => {
                    heard[*source] = true;
                    hash.update((*source as u64).to_le_bytes());
                    (3, [inductance.value(), *share])
                }
            };
            hash.update([kind]);
            for value in values {
                hash.update(value.to_bits().to_le_bytes());
            }
        }
        for (one, other, mutual) in couplings {
            if let (Some(one), Some(other)) = (place[*one], place[*other]) {
                hash.update(one.to_le_bytes());
                hash.update(other.to_le_bytes());
                hash.update(mutual.value().to_bits().to_le_bytes());
            }
        }
        node(&mut hash, self.root(output.0));
        Likeness { digest: hash.finalize().into(), heard }
    }

    /// Returns of each part whether a way leads from it to the node `output` that does not go through ground.
    fn parts_within_reach(&self, output: usize) -> Vec<bool> {
        let ends: Vec<[usize; 2]> =
            self.parts().iter().map(|(a, b, _)| [self.root(a.0), self.root(b.0)]).collect();
        let mut reached = vec![false; self.node_count()];
        let mut within = vec![false; ends.len()];
        reached[output] = true;
        loop {
            let mut is_more = false;
            for (part, nodes) in ends.iter().enumerate().filter(|(_, nodes)| nodes[0] != nodes[1]) {
                if !within[part] && nodes.iter().any(|n| *n != Node::GROUND.0 && reached[*n]) {
                    within[part] = true;
                    is_more = true;
                    for n in nodes {
                        reached[*n] = true;
                    }
                }
            }
            for (one, other, _) in self.couplings() {
                if within[*one] != within[*other] {
                    within[*one] = true;
                    within[*other] = true;
                    is_more = true;
                    ends[*one].iter().chain(&ends[*other]).for_each(|n| reached[*n] = true);
                }
            }
            if !is_more {
                return within;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Henries, Ohms};

    /// A coil on the output, and one that is coupled to it or not, by itself.
    fn two_coils(mutual: f64, other: f64) -> Likeness {
        let mut netlist = Netlist::new(2);
        let [output, inside] = [netlist.node("output"), netlist.node("inside")];
        let one = netlist.inductor(output, Node::GROUND, Henries::new(2.0), 0, 1.0);
        let two = netlist.inductor(inside, Node::GROUND, Henries::new(other), 1, 1.0);
        netlist.resistor(inside, Node::GROUND, Ohms::new(1e4));
        netlist.couple(one, two, Henries::new(mutual));
        netlist.likeness(output)
    }

    #[test]
    fn what_ground_alone_joins_to_the_output_is_not_heard_and_what_is_coupled_to_it_is() {
        assert_eq!(two_coils(0.0, 2.0), two_coils(0.0, 3.0));
        assert_eq!(two_coils(0.0, 2.0).heard(), [true, false]);
        assert_ne!(two_coils(0.2, 2.0), two_coils(0.2, 3.0));
        assert_eq!(two_coils(0.2, 2.0).heard(), [true, true]);
        assert_ne!(two_coils(0.2, 2.0), two_coils(0.3, 2.0));
    }

    #[test]
    fn a_follower_is_not_the_resistor_that_its_output_has() {
        let heard = |is_followed: bool| {
            let mut netlist = Netlist::new(1);
            let [inside, output] = [netlist.node("inside"), netlist.node("output")];
            netlist.inductor(inside, Node::GROUND, Henries::new(2.0), 0, 1.0);
            netlist.resistor(output, Node::GROUND, Ohms::new(1e6));
            if is_followed {
                netlist.follower(inside, output, Ohms::new(1e3));
            } else {
                netlist.resistor(inside, output, Ohms::new(1e3));
            }
            netlist.likeness(output)
        };
        assert_ne!(heard(true), heard(false));
    }

    #[test]
    fn a_grounded_output_hears_nothing() {
        let mut netlist = Netlist::new(1);
        let output = netlist.node("output");
        netlist.inductor(output, Node::GROUND, Henries::new(2.0), 0, 1.0);
        netlist.short(output, Node::GROUND);
        assert_eq!(netlist.likeness(output).heard(), [false]);
    }
}
