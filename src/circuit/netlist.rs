//! The parts of a circuit and what they join.

use serde::Serialize;

use crate::quantity::{Farads, Henries, Ohms};

/// A point of a circuit; [`Node::GROUND`] is the reference.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Node(pub(super) usize);

impl Node {
    /// The reference node.
    pub const GROUND: Self = Self(0);
}

/// A part between two nodes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Element {
    /// A resistor.
    Resistor(Ohms),
    /// A capacitor.
    Capacitor(Farads),
    /// A unity-gain follower from the first node to the second, whose output has this resistance; it draws nothing
    /// from the first.
    Follower(Ohms),
    /// An inductor in series with a source: `v = L di/dt + Σ M di'/dt + share·e`, where `e` is the EMF of the
    /// numbered source.
    Inductor {
        /// The inductance.
        inductance: Henries,
        /// The number of the source and the share of its EMF.
        source: usize,
        /// The share of the source's EMF in this inductor.
        share: f64,
    },
}

/// A part whose value a knob sets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum KnobPart {
    /// The volume pot's track between its input and its wiper.
    VolumeAbove,
    /// The volume pot's track between its wiper and ground.
    VolumeBelow,
    /// The part of the tone pot's track in series with its capacitor.
    Tone,
    /// The cable's capacitance, which is chosen with the cable.
    Cable,
}

/// Resistors below this are shorts: they would only cost accuracy.
const SHORT: f64 = 1.0;

/// A list of parts, in which shorts are merged nodes.
#[derive(Debug, Clone, Default)]
pub struct Netlist {
    /// For each node the one it is merged with, itself where none.
    pub(super) merged: Vec<usize>,
    pub(super) names: Vec<String>,
    pub(super) parts: Vec<(Node, Node, Element)>,
    /// Pairs of inductors, by their place in `parts`, and their mutual inductance.
    pub(super) couplings: Vec<(usize, usize, Henries)>,
    pub(super) sources: usize,
    /// Where the parts that knobs set would be; `None` where they stand among the parts.
    pub(super) free: Option<Vec<(Node, Node, KnobPart)>>,
}

impl Netlist {
    /// Returns a circuit of the ground node alone, with `sources` sources.
    pub fn new(sources: usize) -> Self {
        Self { merged: vec![0], names: vec!["ground".to_owned()], sources, ..Self::default() }
    }

    /// Returns a circuit of the ground node alone, with `sources` sources, in which the places of parts that knobs
    /// set are kept free.
    pub fn with_free_knobs(sources: usize) -> Self {
        Self { free: Some(Vec::new()), ..Self::new(sources) }
    }

    /// Adds a node that messages call `name`.
    pub fn node(&mut self, name: impl Into<String>) -> Node {
        self.merged.push(self.merged.len());
        self.names.push(name.into());
        Node(self.merged.len() - 1)
    }

    /// Makes two nodes one.
    pub fn short(&mut self, a: Node, b: Node) {
        let (a, b) = (self.root(a.0), self.root(b.0));
        // The lower number stays, so that whatever is joined to ground is ground.
        self.merged[a.max(b)] = a.min(b);
    }

    /// Adds a resistor; one below 1 Ω is a short.
    pub fn resistor(&mut self, a: Node, b: Node, resistance: Ohms) {
        if resistance.value() < SHORT {
            self.short(a, b);
        } else {
            self.parts.push((a, b, Element::Resistor(resistance)));
        }
    }

    /// Adds a capacitor; one of zero is left out.
    pub fn capacitor(&mut self, a: Node, b: Node, capacitance: Farads) {
        if capacitance.value() > 0.0 {
            self.parts.push((a, b, Element::Capacitor(capacitance)));
        }
    }

    /// Adds a resistor or a capacitor that a knob sets, or keeps its place free.
    pub fn turned(&mut self, a: Node, b: Node, element: Element, part: KnobPart) {
        if let Some(free) = &mut self.free {
            free.push((a, b, part));
            return;
        }
        match element {
            Element::Resistor(resistance) => self.resistor(a, b, resistance),
            Element::Capacitor(capacitance) => self.capacitor(a, b, capacitance),
            Element::Follower(_) | Element::Inductor { .. } => self.parts.push((a, b, element)),
        }
    }

    /// Adds a follower from `input` to `output`.
    pub fn follower(&mut self, input: Node, output: Node, resistance: Ohms) {
        self.parts.push((input, output, Element::Follower(resistance)));
    }

    /// Returns the places that are kept free.
    pub(super) fn free(&self) -> &[(Node, Node, KnobPart)] {
        self.free.as_deref().unwrap_or_default()
    }

    /// Adds an inductor whose source makes `a` positive, and returns its number for [`Netlist::couple`].
    pub fn inductor(&mut self, a: Node, b: Node, inductance: Henries, source: usize, share: f64) -> usize {
        debug_assert!(source < self.sources);
        self.parts.push((a, b, Element::Inductor { inductance, source, share }));
        self.parts.len() - 1
    }

    /// Couples two inductors, numbered by [`Netlist::inductor`]; their first nodes are the dotted ends.
    pub fn couple(&mut self, one: usize, other: usize, mutual: Henries) {
        if mutual.value() != 0.0 {
            self.couplings.push((one, other, mutual));
        }
    }

    /// Returns the number of sources.
    pub fn sources(&self) -> usize {
        self.sources
    }

    /// Returns whether two nodes are one.
    pub fn joined(&self, a: Node, b: Node) -> bool {
        self.root(a.0) == self.root(b.0)
    }

    pub(super) fn parts(&self) -> &[(Node, Node, Element)] {
        &self.parts
    }

    pub(super) fn couplings(&self) -> &[(usize, usize, Henries)] {
        &self.couplings
    }

    pub(super) fn root(&self, node: usize) -> usize {
        let mut at = node;
        while self.merged[at] != at {
            at = self.merged[at];
        }
        at
    }

    pub(super) fn name(&self, node: usize) -> &str {
        &self.names[node]
    }

    pub(super) fn node_count(&self) -> usize {
        self.merged.len()
    }

    /// Returns, for each node, whether a path of parts accepted by `conducts` leads from it to `target`.
    pub(super) fn reaching(&self, target: Node, conducts: impl Fn(&Element) -> bool) -> Vec<bool> {
        let mut group: Vec<usize> = (0..self.node_count()).map(|n| self.root(n)).collect();
        for (a, b, element) in &self.parts {
            if conducts(element) {
                let (a, b) = (group[a.0], group[b.0]);
                for entry in &mut group {
                    if *entry == a.max(b) {
                        *entry = a.min(b);
                    }
                }
            }
        }
        group.iter().map(|g| *g == group[target.0]).collect()
    }
}
