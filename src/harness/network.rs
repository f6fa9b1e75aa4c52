//! A cavity's circuit solved: nodal analysis of admittances, in any kind of numbers.
//!
//! # Source
//! C.-W. Ho, A. Ruehli, P. Brennan, "The modified nodal approach to network analysis", IEEE Trans. Circuits and Systems
//! 22(6), 1975. Coils are admittances with the EMF in series (Norton); all transfers follow from one solution of the
//! transposed system.

use super::Terminal;
use super::branches::Branches;
use super::field::Field;
use super::union::Union;

/// What each part of a cavity admits.
#[derive(Debug, Clone)]
pub(super) struct Admittances<F> {
    /// Of each track, below and above its wiper.
    pub(super) tracks: Vec<[F; 2]>,
    pub(super) fixed: Vec<F>,
    /// Of each coil on itself.
    pub(super) coils: Vec<F>,
    /// Of the two coils of each pair, by the place of the first, on each other.
    pub(super) mutual: Vec<(usize, F)>,
    /// The cable and the amplifier; zero where nothing is plugged in.
    pub(super) load: F,
    /// The buffer's output, where it has power.
    pub(super) follower: Option<F>,
}

/// A network of one state.
pub(super) struct Network<'b> {
    pub(super) branches: &'b Branches,
    /// The nets with all contacts closed.
    pub(super) nets: &'b Union,
    /// Which terminals count as tip and sleeve.
    pub(super) jack: [Terminal; 2],
}

/// The most nodes that coils and what reaches them make: each needs a branch.
const MOST: usize = 128;
/// The node that potentials are told against.
const REFERENCE: usize = usize::MAX;

/// What is solved.
struct System<F> {
    size: usize,
    /// The transposed system, row by row.
    rows: Vec<F>,
    /// Of each row the columns that hold anything.
    filled: Vec<u128>,
}

impl Network<'_> {
    /// Returns the voltage between tip and sleeve per volt of each coil's EMF, coil by coil.
    pub(super) fn transfers<F: Field>(&self, admittances: &Admittances<F>) -> Vec<F> {
        let Some((nodes, potentials)) = self.solved(admittances) else {
            return vec![F::ZERO; self.branches.coils.len()];
        };
        let at = |terminal: Terminal| match nodes[self.nets.least(terminal.index())] {
            REFERENCE => F::ZERO,
            node => potentials[node],
        };
        let across: Vec<F> =
            self.branches.coils.iter().map(|coil| at(coil.ends[0]) - at(coil.ends[1])).collect();
        let mut transfers: Vec<F> =
            across.iter().zip(&admittances.coils).map(|(across, own)| *across * *own).collect();
        for (first, mutual) in &admittances.mutual {
            transfers[*first] = transfers[*first] + *mutual * across[first + 1];
            transfers[first + 1] = transfers[first + 1] + *mutual * across[*first];
        }
        transfers
    }

    /// Returns the resistance between tip and sleeve where `admittances` are conductances; nothing where no path leads from
    /// one to the other.
    pub(super) fn ohms(&self, admittances: &Admittances<f64>) -> Option<f64> {
        let [tip, sleeve] = self.jack.map(|terminal| self.nets.least(terminal.index()));
        if tip == sleeve {
            return Some(0.0);
        }
        let parts = self.parts(&self.edges(admittances));
        if parts[tip] != parts[sleeve] {
            return None;
        }
        let (nodes, potentials) = self.solved(admittances)?;
        Some(potentials[nodes[tip]])
    }

    /// Returns the admittances between nets.
    fn edges<F: Field>(&self, admittances: &Admittances<F>) -> Vec<(usize, usize, F)> {
        let net = |terminal: Terminal| self.nets.least(terminal.index());
        let branches = self.branches;
        let mut edges = Vec::new();
        for (track, [below, above]) in branches.tracks.iter().zip(&admittances.tracks) {
            edges.push((net(track.low), net(track.wiper), *below));
            edges.push((net(track.wiper), net(track.high), *above));
        }
        let fixed = branches.fixed.iter().zip(&admittances.fixed);
        edges.extend(fixed.map(|(branch, own)| (net(branch.ends[0]), net(branch.ends[1]), *own)));
        let coils = branches.coils.iter().zip(&admittances.coils);
        edges.extend(coils.map(|(coil, own)| (net(coil.ends[0]), net(coil.ends[1]), *own)));
        edges.push((net(self.jack[0]), net(self.jack[1]), admittances.load));
        if let (Some(own), Some(follower)) = (admittances.follower, branches.follower) {
            edges.push((net(follower.output), net(follower.ground), own));
        }
        edges.retain(|(one, other, own)| one != other && *own != F::ZERO);
        edges
    }

    /// Returns for each net the least net that `edges` lead to from it.
    fn parts<F>(&self, edges: &[(usize, usize, F)]) -> Vec<usize> {
        let mut parts = Union::apart(self.nets.len());
        for (one, other, _) in edges {
            parts.join(*one, *other);
        }
        (0..self.nets.len()).map(|net| parts.least(net)).collect()
    }

    /// Returns the node of each net and the potential of each node where one unit flows in at the tip and out at the sleeve,
    /// in the transposed network; nothing where tip and sleeve are one net. A path leads from one to the other.
    fn solved<F: Field>(&self, admittances: &Admittances<F>) -> Option<(Vec<usize>, Vec<F>)> {
        let [tip, sleeve] = self.jack.map(|terminal| self.nets.least(terminal.index()));
        if tip == sleeve {
            return None;
        }
        let edges = self.edges(admittances);
        let nodes = self.nodes(&edges, [tip, sleeve]);
        let size = nodes.iter().filter(|node| **node != REFERENCE).max().map_or(0, |most| most + 1);
        assert!(size <= MOST, "a cavity has at most {MOST} nodes, and this one {size}");
        let mut system = System { size, rows: vec![F::ZERO; size * size], filled: vec![0; size] };
        for (one, other, own) in edges {
            let [one, other] = [nodes[one], nodes[other]];
            system.add(one, one, own);
            system.add(other, other, own);
            system.add(one, other, F::ZERO - own);
            system.add(other, one, F::ZERO - own);
        }
        let net = |terminal: Terminal| nodes[self.nets.least(terminal.index())];
        for (first, mutual) in &admittances.mutual {
            let [a, b] = [*first, first + 1].map(|coil| self.branches.coils[coil].ends.map(net));
            for (i, from) in a.into_iter().enumerate() {
                for (j, to) in b.into_iter().enumerate() {
                    let own = if i == j { *mutual } else { F::ZERO - *mutual };
                    system.add(from, to, own);
                    system.add(to, from, own);
                }
            }
        }
        if let (Some(own), Some(follower)) = (admittances.follower, self.branches.follower) {
            // What flows out follows the input; the input draws nothing of it. Transposed.
            let [input, output, ground] = [follower.input, follower.output, follower.ground].map(net);
            system.add(input, output, F::ZERO - own);
            system.add(ground, output, own);
            system.add(input, ground, own);
            system.add(ground, ground, F::ZERO - own);
        }
        Some((nodes, system.solved()))
    }

    /// Returns the node of each net that some coil or the jack reaches: the tip is the last, the sleeve and one net of every
    /// part that does not reach it are the reference, as are nets that nothing reaches. The tip reaches the sleeve.
    fn nodes<F>(&self, edges: &[(usize, usize, F)], [tip, sleeve]: [usize; 2]) -> Vec<usize> {
        let parts = self.parts(edges);
        let reached =
            self.branches.coils.iter().flat_map(|coil| coil.ends.map(|end| self.nets.least(end.index())));
        let mut is_reached = vec![false; parts.len()];
        reached.chain([tip, sleeve]).for_each(|net| is_reached[parts[net]] = true);
        let mut nodes = vec![REFERENCE; parts.len()];
        let mut next = 0;
        let mut number = |net: usize| {
            nodes[net] = next;
            next += 1;
        };
        for net in (0..parts.len()).filter(|net| self.nets.least(*net) == *net && *net != tip) {
            // The least net of a part without the sleeve is its reference.
            let is_reference = if parts[net] == parts[sleeve] { net == sleeve } else { parts[net] == net };
            if is_reached[parts[net]] && !is_reference {
                number(net);
            }
        }
        number(tip);
        nodes
    }
}

impl<F: Field> System<F> {
    fn add(&mut self, row: usize, column: usize, value: F) {
        if row != REFERENCE && column != REFERENCE {
            let at = row * self.size + column;
            self.rows[at] = self.rows[at] + value;
            self.filled[row] |= 1 << column;
        }
    }

    /// Returns the solution for one unit at the last node, by elimination in the order of the least fill.
    fn solved(mut self) -> Vec<F> {
        let size = self.size;
        let mut left: u128 = if size == 128 { u128::MAX } else { (1 << size) - 1 };
        let mut order = Vec::with_capacity(size);
        let mut scale = Vec::with_capacity(size);
        for _ in 0..size {
            let last = size - 1;
            let free = (0..last).filter(|node| left >> node & 1 == 1);
            let pivot = free.min_by_key(|node| (self.filled[*node] & left).count_ones()).unwrap_or(last);
            left &= !(1 << pivot);
            let reciprocal = self.rows[pivot * size + pivot].reciprocal();
            order.push(pivot);
            scale.push(reciprocal);
            let columns = self.filled[pivot] & left;
            let reaching: Vec<usize> =
                (0..size).filter(|row| left >> row & 1 == 1 && self.filled[*row] >> pivot & 1 == 1).collect();
            for row in reaching {
                let factor = self.rows[row * size + pivot] * reciprocal;
                let mut rest = columns;
                while rest != 0 {
                    let column = rest.trailing_zeros() as usize;
                    rest &= rest - 1;
                    let at = row * size + column;
                    self.rows[at] = self.rows[at] - factor * self.rows[pivot * size + column];
                }
                self.filled[row] |= columns;
            }
        }
        // The one unit stands at the node that is eliminated last, so that nothing was carried to it.
        let mut solution = vec![F::ZERO; size];
        for (place, (pivot, reciprocal)) in order.iter().zip(&scale).enumerate().rev() {
            let mut sum = if *pivot == size - 1 { F::ONE } else { F::ZERO };
            for later in &order[place + 1..] {
                if self.filled[*pivot] >> later & 1 == 1 {
                    sum = sum - self.rows[pivot * size + later] * solution[*later];
                }
            }
            solution[*pivot] = sum * *reciprocal;
        }
        solution
    }
}
