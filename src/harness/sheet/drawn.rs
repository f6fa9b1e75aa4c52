//! How the wires of a board are drawn: bent to a case, or led over the grid between the parts.

use super::board::TOP;
use super::footprint::{Footprint, Spot};
use super::grid::{Area, Cell, Gate, Grid, Pass};
use super::route::{self, Ends, Way};
use crate::harness::{PartKind, Parts, Terminal, Wire};

/// From a lug down to where it is soldered to its own case.
const BENT: i32 = 6;

/// How a wire is drawn.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Drawn {
    /// From a pot's lug straight to its own case.
    Bent { lug: Cell, case: Cell },
    /// Along its way.
    Led(Way),
    /// Not at all: there was no way for it.
    Left,
}

/// Returns how each of `wires` is drawn among these parts of a board of so many cells.
pub(super) fn drawn(
    parts: &Parts,
    wires: &[Wire],
    footprints: &[Footprint],
    [width, height]: [i32; 2],
) -> Vec<Drawn> {
    let mut grid = Grid::free(width, height);
    let spots: Vec<(&Spot, usize)> = footprints
        .iter()
        .enumerate()
        .flat_map(|(own, print)| print.spots.iter().map(move |spot| (spot, own)))
        .collect();
    for own in footprints {
        own.closed.iter().for_each(|area| grid.give(*area, Pass::Closed));
    }
    // Keys: of each terminal its place among all, and of each part's inside one beyond them.
    let key = |place: usize| u16::try_from(place).unwrap_or(u16::MAX);
    for (place, print) in footprints.iter().enumerate() {
        let own = key(spots.len() + place);
        print.inside.iter().for_each(|area| grid.give(*area, Pass::Only(own)));
    }
    // Between and beside what leads come from nothing is led.
    grid.give(Area::new(0, 0, width, TOP), Pass::Closed);
    for (place, (spot, _)) in spots.iter().enumerate() {
        let Some(kept) = spot.kept else { continue };
        grid.give(kept, Pass::Closed);
        // A wire comes straight to a lug, and so never runs along it.
        spot.gates
            .iter()
            .for_each(|gate| grid.give(Area { from: gate.cell, to: gate.cell }, Pass::Only(key(place))));
    }
    let place = |terminal: Terminal| spots.iter().position(|(spot, _)| spot.terminal == terminal);
    let ends = |wire: &Wire| -> Option<Ends> {
        let [one, other] = [place(wire[0])?, place(wire[1])?];
        let gates = |place: usize| -> Vec<Gate> { spots[place].0.gates.clone() };
        let mut keys = vec![key(one), key(other)];
        if spots[one].1 == spots[other].1 {
            keys.push(key(spots.len() + spots[one].1));
        }
        Some(Ends { from: gates(one), to: gates(other), keys })
    };
    let bent = |wire: &Wire| {
        let [one, other] = [wire[0], wire[1]];
        let is_own = parts.part_of(one) == parts.part_of(other)
            && matches!(parts.part_of(one).kind(), PartKind::Pot(..));
        let lug = match (parts.is_metal(one), parts.is_metal(other)) {
            (false, true) => one,
            (true, false) => other,
            (true, true) | (false, false) => return None,
        };
        let lug = spots[place(lug)?].0.gates.first()?.dot;
        is_own.then(|| Drawn::Bent { lug, case: Cell::new(lug.x, lug.y + BENT) })
    };
    let mut drawn: Vec<Option<Drawn>> = wires.iter().map(bent).collect();
    let led: Vec<usize> = (0..drawn.len()).filter(|wire| drawn[*wire].is_none()).collect();
    let (mut routed, mut all) = (Vec::new(), Vec::new());
    for wire in led {
        if let Some(ends) = ends(&wires[wire]) {
            routed.push(wire);
            all.push(ends);
        }
    }
    for (wire, way) in routed.into_iter().zip(route::ways(&grid, &all)) {
        drawn[wire] = way.map(Drawn::Led);
    }
    drawn.into_iter().map(|drawn| drawn.unwrap_or(Drawn::Left)).collect()
}
