//! Modified nodal analysis: the unknowns are the nodes' voltages and the inductors' currents.
//!
//! # Source
//! C.-W. Ho, A. Ruehli, P. Brennan, "The modified nodal approach to network analysis", IEEE Trans. Circuits and
//! Systems 22(6), 1975. The system is `(G + sC) x = b e`; the transfer from every source at once follows from
//! one solution of the transposed system with the output's unit vector.

use nalgebra::{DMatrix, DVector, Dyn, LU};
use num_complex::Complex64;

use super::{Element, Netlist, Node};
use crate::quantity::{Hertz, Ohms};

/// Impedances are scaled by this, so that the entries of the system are of the order of one.
pub(super) const R0: f64 = 100e3;
/// Frequencies are scaled by this: 2π·4 kHz, in the middle of where pickups resonate.
pub(super) const OMEGA0: f64 = std::f64::consts::TAU * 4e3;

/// In rad/s: so slow that no part of a guitar tells it from direct current.
const NEARLY_DIRECT: f64 = std::f64::consts::TAU * 1e-6;

/// A circuit ready to be solved at any frequency.
#[derive(Debug, Clone)]
pub struct Circuit {
    /// The conductive part, scaled.
    pub(super) g: DMatrix<f64>,
    /// The reactive part, scaled.
    pub(super) c: DMatrix<f64>,
    /// For each source the rows it drives, with its share.
    pub(super) drives: Vec<Vec<(usize, f64)>>,
    /// The resistors that are between two nodes: the rows of their ends and their ohms.
    pub(super) resistors: Vec<(Option<usize>, Option<usize>, f64)>,
    /// The row of the output node's voltage, absent where the output is ground.
    pub(super) output: Option<usize>,
    rows: Vec<String>,
    /// How many of the rows, the first, are nodes; the others are inductors.
    nodes: usize,
    /// For each node the row of its voltage, absent where it is ground or nothing touches it.
    pub(super) row_of: Vec<Option<usize>>,
}

/// A circuit without a unique solution.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SolveError {
    /// The circuit's equations are singular at some frequency.
    #[error("the circuit has no unique solution at {at}; it holds the nodes {nodes}")]
    Singular {
        /// The frequency.
        at: String,
        /// The circuit's nodes.
        nodes: String,
    },
}

impl Circuit {
    /// Returns the circuit of `netlist` with the voltage of `output` against ground as its response.
    ///
    /// Parts without any path to ground keep their solution by one of their nodes being tied to it.
    pub fn new(netlist: &Netlist, output: Node) -> Self {
        let mut netlist = netlist.clone();
        tie_floating_parts(&mut netlist, |_| true);
        Self::assemble(&netlist, output)
    }

    fn assemble(netlist: &Netlist, output: Node) -> Self {
        // Nodes that no part touches have no equation.
        let mut row_of = vec![None; netlist.node_count()];
        let mut rows = Vec::new();
        let mut row = |node: Node| {
            let root = netlist.root(node.0);
            if root != Node::GROUND.0 && row_of[root].is_none() {
                row_of[root] = Some(rows.len());
                rows.push(netlist.name(root).to_owned());
            }
            row_of[root]
        };
        let live: Vec<(usize, Option<usize>, Option<usize>, Element)> = netlist
            .parts()
            .iter()
            .enumerate()
            .filter(|(_, (a, b, element))| {
                !netlist.joined(*a, *b) || matches!(element, Element::Inductor { .. })
            })
            .map(|(i, (a, b, element))| (i, row(*a), row(*b), *element))
            .collect();
        let output = row(output);
        let nodes = rows.len();
        let mut branch_of = vec![None; netlist.parts().len()];
        for (i, ..) in live.iter().filter(|(.., e)| matches!(e, Element::Inductor { .. })) {
            branch_of[*i] = Some(rows.len());
            rows.push(format!("inductor {i}"));
        }
        let size = rows.len();
        let (mut g, mut c) = (DMatrix::zeros(size, size), DMatrix::zeros(size, size));
        let mut drives = vec![Vec::new(); netlist.sources()];
        let mut resistors = Vec::new();
        for (i, a, b, element) in live {
            match element {
                Element::Resistor(r) => {
                    stamp(&mut g, a, b, R0 / r.value());
                    resistors.push((a, b, r.value()));
                }
                Element::Capacitor(f) => stamp(&mut c, a, b, OMEGA0 * f.value() * R0),
                Element::Follower(r) => {
                    // A current into the output alone: what it follows is not loaded.
                    let admittance = R0 / r.value();
                    if let Some(b) = b {
                        g[(b, b)] += admittance;
                        if let Some(a) = a {
                            g[(b, a)] -= admittance;
                        }
                    }
                }
                Element::Inductor { inductance, source, share } => {
                    let branch = branch_of[i].unwrap_or(nodes);
                    for (node, sign) in [(a, 1.0), (b, -1.0)] {
                        if let Some(node) = node {
                            g[(node, branch)] += sign;
                            g[(branch, node)] += sign;
                        }
                    }
                    c[(branch, branch)] -= OMEGA0 * inductance.value() / R0;
                    drives[source].push((branch, share));
                }
            }
        }
        for (one, other, mutual) in netlist.couplings() {
            if let (Some(one), Some(other)) = (branch_of[*one], branch_of[*other]) {
                c[(one, other)] -= OMEGA0 * mutual.value() / R0;
                c[(other, one)] -= OMEGA0 * mutual.value() / R0;
            }
        }
        let row_of = (0..netlist.node_count()).map(|n| row_of[netlist.root(n)]).collect();
        Self { g, c, drives, resistors, output, rows, nodes, row_of }
    }

    /// Returns the output's voltage per volt of each source's EMF at the complex frequency `s` in rad/s.
    ///
    /// # Errors
    /// [`SolveError::Singular`] where the circuit has a pole at `s`.
    pub fn transfer(&self, s: Complex64) -> Result<Vec<Complex64>, SolveError> {
        let Some(y) = self.transimpedances(s)? else { return Ok(vec![Complex64::ZERO; self.drives.len()]) };
        Ok(self.drives.iter().map(|rows| rows.iter().map(|(row, share)| y[*row] * *share).sum()).collect())
    }

    /// Returns the output's voltage per unit of each equation's right side, scaled, at the complex frequency `s` in
    /// rad/s; `None` where the output is ground.
    pub(super) fn transimpedances(&self, s: Complex64) -> Result<Option<DVector<Complex64>>, SolveError> {
        let Some(output) = self.output else { return Ok(None) };
        let mut unit = DVector::zeros(self.rows.len());
        unit[output] = Complex64::ONE;
        let at = |s: Complex64| self.solved(&LU::new(self.system(s).transpose()), &unit, s);
        match at(s) {
            // A coil that only capacitances hold floats at direct current, where just above it does not.
            Err(_) if s == Complex64::ZERO => at(Complex64::new(0.0, NEARLY_DIRECT)).map(Some),
            solved => solved.map(Some),
        }
    }

    /// Returns the output's voltage per volt of each source's EMF at a real frequency.
    ///
    /// # Errors
    /// [`SolveError::Singular`] where the circuit has no solution there.
    pub fn response(&self, frequency: Hertz) -> Result<Vec<Complex64>, SolveError> {
        self.transfer(Complex64::new(0.0, std::f64::consts::TAU * frequency.value()))
    }

    /// Returns the impedance between the output and ground at the complex frequency `s` in rad/s, every EMF
    /// being zero.
    ///
    /// # Errors
    /// [`SolveError::Singular`] where the circuit has a pole at `s`.
    pub fn output_impedance(&self, s: Complex64) -> Result<Complex64, SolveError> {
        let Some(output) = self.output else { return Ok(Complex64::ZERO) };
        let mut unit = DVector::zeros(self.rows.len());
        unit[output] = Complex64::ONE;
        let x = self.solved(&LU::new(self.system(s)), &unit, s)?;
        Ok(x[output] * R0)
    }

    /// Returns the number of unknowns.
    pub fn size(&self) -> usize {
        self.rows.len()
    }

    /// Returns whether the equations hold anything at this place.
    pub(super) fn is_filled(&self, row: usize, column: usize) -> bool {
        self.g[(row, column)] != 0.0 || self.c[(row, column)] != 0.0
    }

    /// Returns whether the unknown of this row is an inductor's current.
    pub(super) fn is_inductor(&self, row: usize) -> bool {
        row >= self.nodes
    }

    fn system(&self, s: Complex64) -> DMatrix<Complex64> {
        let s = s / OMEGA0;
        self.g.zip_map(&self.c, |g, c| Complex64::from(g) + s * c)
    }

    fn solved(
        &self,
        system: &LU<Complex64, Dyn, Dyn>,
        unit: &DVector<Complex64>,
        s: Complex64,
    ) -> Result<DVector<Complex64>, SolveError> {
        system.solve(unit).filter(|x| x.iter().all(|v| v.is_finite())).ok_or_else(|| SolveError::Singular {
            at: Hertz::new(s.norm() / std::f64::consts::TAU).to_string(),
            nodes: self.rows.join(", "),
        })
    }
}

/// Returns the direct-current resistance between `node` and ground, or `None` where no path leads from one to
/// the other. Inductors conduct, capacitors and followers do not.
///
/// # Errors
/// [`SolveError::Singular`] where inductors short each other without any resistance.
pub fn resistance_to_ground(netlist: &Netlist, node: Node) -> Result<Option<Ohms>, SolveError> {
    let conducts = |e: &Element| !matches!(e, Element::Capacitor(_) | Element::Follower(_));
    if !netlist.reaching(Node::GROUND, conducts)[node.0] {
        return Ok(None);
    }
    let mut resistive = netlist.clone();
    tie_floating_parts(&mut resistive, conducts);
    let mut circuit = Circuit::assemble(&resistive, node);
    circuit.c.fill(0.0);
    circuit.output_impedance(Complex64::ZERO).map(|z| Some(Ohms::new(z.re)))
}

/// Ties one node of every part of the circuit that no conducting path joins to ground.
fn tie_floating_parts(netlist: &mut Netlist, conducts: impl Fn(&Element) -> bool) {
    loop {
        let grounded = netlist.reaching(Node::GROUND, &conducts);
        // Only the part's potential is free, so tying its last node (a coil's − end where one is known) changes
        // no voltage across it.
        let floating = netlist.parts().iter().map(|(_, b, _)| *b).find(|b| !grounded[b.0]);
        let floating = floating.or_else(|| netlist.parts().iter().map(|(a, ..)| *a).find(|a| !grounded[a.0]));
        let Some(floating) = floating else { return };
        netlist.short(floating, Node::GROUND);
    }
}

fn stamp(matrix: &mut DMatrix<f64>, a: Option<usize>, b: Option<usize>, admittance: f64) {
    for (node, other) in [(a, b), (b, a)] {
        if let Some(node) = node {
            matrix[(node, node)] += admittance;
            if let Some(other) = other {
                matrix[(node, other)] -= admittance;
            }
        }
    }
}
