//! Ways for all wires of a picture: right-angled, with few bends and crossings, and none upon another.
//!
//! # Source
//! Negotiated congestion: L. McMurchie and C. Ebeling, "PathFinder: a negotiation-based performance-driven router for FPGAs",
//! Proceedings of the 1995 ACM International Symposium on Field-Programmable Gate Arrays.

use pathfinding::prelude::astar;

use super::grid::{Cell, Gate, Grid, Side};

/// A wire to be led from one of the first gates to one of the others.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Ends {
    pub(super) from: Vec<Gate>,
    pub(super) to: Vec<Gate>,
    /// The keys of the areas that it may enter.
    pub(super) keys: Vec<u16>,
}

/// The way of a wire from its gate at one end to that at the other, cell by cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Way {
    pub(super) from: Gate,
    pub(super) to: Gate,
    pub(super) cells: Vec<Cell>,
}

/// Prices in tenths of a cell.
const STEP: u32 = 10;
const BEND: u32 = 22;
const CROSSING: u32 = 200;
/// Close beside a lug of another wire.
const BESIDE_A_LUG: u32 = 12;
/// Close beside another wire.
const BESIDE_A_WIRE: u32 = 4;
/// On top of another wire, in the first round and more in each later one.
const UPON: u32 = 150;
const ROUNDS: u32 = 14;
/// Ways with crossings are looked for again so often.
const REVISIONS: usize = 5;

/// How a wire is in a cell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Through {
    Upright,
    Level,
    Bent,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
enum At {
    Start,
    Cell(u32, Side),
    End(u32, Side),
}

/// All wires' ways as far as they are found.
struct Board<'g> {
    grid: &'g Grid,
    ends: &'g [Ends],
    ways: Vec<Option<Way>>,
    /// What is in each cell.
    taken: Vec<Vec<(usize, Through)>>,
    /// What being upon another wire cost before, by cell.
    history: Vec<u32>,
    upon: u32,
}

/// Returns the way of each wire; nothing for those that find none, or that none is left for but upon another.
pub(super) fn ways(grid: &Grid, ends: &[Ends]) -> Vec<Option<Way>> {
    let mut board = Board {
        grid,
        ends,
        ways: vec![None; ends.len()],
        taken: vec![Vec::new(); grid.len()],
        history: vec![0; grid.len()],
        upon: UPON,
    };
    let mut order: Vec<usize> = (0..ends.len()).collect();
    order.sort_by_key(|wire| (board.least(*wire), *wire));
    for wire in &order {
        board.lead(*wire);
    }
    for round in 1..ROUNDS {
        let clashing = board.clashing();
        if clashing.is_empty() {
            break;
        }
        board.upon = UPON * (1 + round);
        for wire in order.iter().filter(|wire| clashing.contains(wire)) {
            board.lead(*wire);
        }
    }
    // What still lies upon another is taken off, so that nothing can be read wrong.
    while let Some(worst) = board.most_clashing() {
        board.lift(worst);
    }
    board.upon = UPON * 100;
    for _ in 0..REVISIONS {
        for wire in &order {
            if board.ways[*wire].is_none() || board.crossings(*wire) > 0 {
                board.revise(*wire);
            }
        }
    }
    board.ways
}

/// Returns how many pairs of wires cross.
pub(super) fn crossings(ways: &[Option<Way>]) -> usize {
    let mut all: Vec<Cell> = ways.iter().flatten().flat_map(|way| way.cells.iter().copied()).collect();
    all.sort_unstable();
    all.windows(2).filter(|pair| pair[0] == pair[1]).count()
}

impl Way {
    /// Returns how the wire is in each of its cells.
    fn through(&self) -> impl Iterator<Item = (Cell, Through)> + '_ {
        let last = self.cells.len() - 1;
        self.cells.iter().enumerate().map(move |(place, cell)| {
            let before = if place == 0 { self.from.dot } else { self.cells[place - 1] };
            let after = if place == last { self.to.dot } else { self.cells[place + 1] };
            let through = match (before.x == after.x, before.y == after.y) {
                (true, _) => Through::Upright,
                (_, true) => Through::Level,
                (false, false) => Through::Bent,
            };
            (*cell, through)
        })
    }
}

impl Board<'_> {
    fn least(&self, wire: usize) -> u32 {
        let Ends { from, to, .. } = &self.ends[wire];
        let pairs = from.iter().flat_map(|one| to.iter().map(|other| one.cell.steps_to(other.cell)));
        pairs.min().unwrap_or(0)
    }

    /// Takes a wire's way off.
    fn lift(&mut self, wire: usize) {
        let Some(way) = self.ways[wire].take() else { return };
        for cell in way.cells {
            if let Some(place) = self.grid.place(cell) {
                self.taken[place].retain(|(own, _)| *own != wire);
            }
        }
    }

    fn lay(&mut self, wire: usize, way: Way) {
        for (cell, through) in way.through() {
            if let Some(place) = self.grid.place(cell) {
                self.taken[place].push((wire, through));
            }
        }
        self.ways[wire] = Some(way);
    }

    /// Leads a wire anew.
    fn lead(&mut self, wire: usize) {
        self.lift(wire);
        if let Some(way) = self.found(wire) {
            self.lay(wire, way);
        }
    }

    /// Leads a wire anew where that costs less than before and lies upon nothing.
    fn revise(&mut self, wire: usize) {
        let before = self.ways[wire].clone();
        self.lead(wire);
        if self.clashes(wire) > 0 {
            self.lift(wire);
            if let Some(before) = before {
                self.lay(wire, before);
            }
        }
    }

    /// Returns whether two wires in one cell cross there and nothing else.
    fn cross(one: Through, other: Through) -> bool {
        matches!((one, other), (Through::Upright, Through::Level) | (Through::Level, Through::Upright))
    }

    fn clashes(&self, wire: usize) -> usize {
        let Some(way) = &self.ways[wire] else { return 0 };
        let clash = |(cell, through): (Cell, Through)| {
            let others = self.grid.place(cell).map(|place| self.taken[place].as_slice()).unwrap_or_default();
            others.iter().filter(|(other, own)| *other != wire && !Self::cross(through, *own)).count()
        };
        way.through().map(clash).sum()
    }

    fn crossings(&self, wire: usize) -> usize {
        let Some(way) = &self.ways[wire] else { return 0 };
        let taken = |cell: &Cell| self.grid.place(*cell).map_or(0, |place| self.taken[place].len() - 1);
        way.cells.iter().map(taken).sum()
    }

    /// Returns the wires that lie upon others, and makes the cells where they do dearer.
    fn clashing(&mut self) -> Vec<usize> {
        let mut clashing = Vec::new();
        for (place, taken) in self.taken.iter().enumerate() {
            for (at, (one, through)) in taken.iter().enumerate() {
                for (other, own) in &taken[at + 1..] {
                    if !Self::cross(*through, *own) {
                        self.history[place] += UPON;
                        clashing.extend([*one, *other]);
                    }
                }
            }
        }
        clashing
    }

    fn most_clashing(&self) -> Option<usize> {
        let clashes = (0..self.ways.len()).map(|wire| (self.clashes(wire), wire));
        clashes.max().filter(|(count, _)| *count > 0).map(|(_, wire)| wire)
    }

    fn found(&self, wire: usize) -> Option<Way> {
        let Ends { from, to, keys } = &self.ends[wire];
        let targets: Vec<(usize, Gate)> =
            to.iter().filter_map(|gate| Some((self.grid.open(gate.cell, keys)?, *gate))).collect();
        let next = |at: &At| -> Vec<(At, u32)> {
            match *at {
                At::Start => {
                    let open = from.iter().filter_map(|gate| {
                        let place = self.grid.open(gate.cell, keys)?;
                        Some((At::Cell(small(place), gate.side), 0))
                    });
                    open.collect()
                }
                At::End(..) => Vec::new(),
                At::Cell(place, side) => {
                    let mut all = Vec::with_capacity(4);
                    let here = self.cell(place);
                    for leaving in Side::ALL.into_iter().filter(|leaving| *leaving != side.opposite()) {
                        if let Some(place) = self.grid.open(here.next(leaving), keys) {
                            all.push((At::Cell(small(place), leaving), self.price(here, side, leaving)));
                        }
                    }
                    for (target, gate) in &targets {
                        let leaving = gate.side.opposite();
                        if small(*target) == place && leaving != side.opposite() {
                            all.push((At::End(place, gate.side), self.price(here, side, leaving)));
                        }
                    }
                    all
                }
            }
        };
        let least = |at: &At| match *at {
            At::Start | At::End(..) => 0,
            At::Cell(place, _) => {
                let here = self.cell(place);
                targets.iter().map(|(_, gate)| STEP * here.steps_to(gate.cell)).min().unwrap_or(0)
            }
        };
        let (path, _) = astar(&At::Start, next, least, |at| matches!(at, At::End(..)))?;
        let cells: Vec<Cell> = path
            .iter()
            .filter_map(|at| match *at {
                At::Cell(place, _) => Some(self.cell(place)),
                At::Start | At::End(..) => None,
            })
            .collect();
        let gate_at = |gates: &[Gate], cell: Cell, side: Side| {
            gates.iter().find(|gate| gate.cell == cell && gate.side == side).copied()
        };
        let (At::Cell(_, first), At::End(_, last)) = (*path.get(1)?, *path.last()?) else { return None };
        let from = gate_at(from, *cells.first()?, first)?;
        let to = gate_at(to, *cells.last()?, last)?;
        Some(Way { from, to, cells })
    }

    fn cell(&self, place: u32) -> Cell {
        // A grid has fewer cells than would overflow.
        let place = i32::try_from(place).unwrap_or(0);
        Cell::new(place % self.grid.width, place / self.grid.width)
    }

    /// Returns what it costs to come into a cell one way and leave it another.
    fn price(&self, cell: Cell, coming: Side, leaving: Side) -> u32 {
        let through = match (coming == leaving, leaving.is_upright()) {
            (true, true) => Through::Upright,
            (true, false) => Through::Level,
            (false, _) => Through::Bent,
        };
        let Some(place) = self.grid.place(cell) else { return STEP };
        let mut price = STEP + if through == Through::Bent { BEND } else { 0 };
        for (_, other) in &self.taken[place] {
            price += if Self::cross(through, *other) { CROSSING } else { self.upon + self.history[place] };
        }
        for side in Side::ALL.into_iter().filter(|side| side.is_upright() != leaving.is_upright()) {
            let beside = cell.next(side);
            let is_taken = self.grid.place(beside).is_some_and(|place| {
                let along = if leaving.is_upright() { Through::Upright } else { Through::Level };
                self.taken[place].iter().any(|(_, through)| *through == along)
            });
            price += if is_taken { BESIDE_A_WIRE } else { 0 };
            price += if self.grid.is_kept(beside) && !self.grid.is_kept(cell) { BESIDE_A_LUG } else { 0 };
        }
        price
    }
}

fn small(place: usize) -> u32 {
    // A grid has fewer cells than would overflow.
    u32::try_from(place).unwrap_or(u32::MAX)
}
