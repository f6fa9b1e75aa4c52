//! Where the terminals of a cavity lie, in millimetres from its top left corner, seen from behind.

use super::{PartKind, Parts, Terminal};
use crate::guitar::Lever;

/// From the middle of a pot's case to where a wire meets it.
const CASE: f64 = 12.0;
/// Between neighbouring parts.
const APART: f64 = 40.0;
/// The row in which parts stand that nothing places elsewhere.
const ROW: f64 = 60.0;

/// Every terminal's place, and the middle of every part.
#[derive(Debug, Clone)]
pub(super) struct Layout {
    terminals: Vec<[f64; 2]>,
    middles: Vec<[f64; 2]>,
}

impl Layout {
    /// Returns the places: those that the file states, selectors on the left, pots beside them, the jack on the right, leads
    /// from above; the switch of a push-pull pot lies over its case.
    pub(super) fn of(parts: &Parts) -> Self {
        let mut places = vec![[0.0; 2]; parts.len()];
        let (mut across, mut above) = (APART, APART);
        let mut middles: Vec<(String, [f64; 2])> = Vec::new();
        let cavity = parts.guitar().cavity();
        let under = |name: &str| {
            let own = cavity.under().iter().find(|(switch, _)| switch.value == name);
            own.map(|(_, pot)| pot.value.clone())
        };
        // A switch that lies over a pot comes after it.
        let order = |part: &&super::Part| match part.kind() {
            PartKind::Lever(_) if under(part.name()).is_none() => 0,
            PartKind::Pot(..) => 1,
            PartKind::Lever(_) => 2,
            PartKind::Buffer | PartKind::Battery => 3,
            PartKind::Jack => 4,
            PartKind::TwoLegs(..) | PartKind::Pickup(_) | PartKind::Strings | PartKind::Cavity => 5,
        };
        let mut all: Vec<&super::Part> = parts.all().iter().collect();
        all.sort_by_key(order);
        for part in all {
            let stated = cavity.places().iter().find(|(name, _)| name.value == part.name());
            let mut next = || {
                let own = [across, ROW];
                across += APART;
                own
            };
            let middle = match (stated, part.kind()) {
                (Some((_, [right, down])), _) => [right.value() * 1e3, down.value() * 1e3],
                (None, PartKind::Lever(_)) => {
                    let pot = under(part.name());
                    let over = pot.and_then(|pot| middles.iter().find(|(name, _)| *name == pot));
                    over.map_or_else(&mut next, |(_, place)| *place)
                }
                (None, PartKind::Pot(..) | PartKind::Buffer | PartKind::Battery | PartKind::Jack) => next(),
                (None, PartKind::Pickup(_)) => {
                    above += APART;
                    [above, 0.0]
                }
                (None, PartKind::Strings) => [0.0, ROW / 2.0],
                (None, PartKind::Cavity) => [APART / 2.0, 2.0 * ROW],
                // Legs reach from lug to lug.
                (None, PartKind::TwoLegs(..)) => [0.0; 2],
            };
            middles.push((part.name().to_owned(), middle));
            for (place, terminal) in part.terminals().enumerate() {
                let [right, down] = offset(parts, part, place);
                places[terminal.index()] = [middle[0] + right, middle[1] + down];
            }
        }
        let middle = |part: &super::Part| {
            middles.iter().find(|(name, _)| name == part.name()).map_or([0.0; 2], |(_, middle)| *middle)
        };
        Self { terminals: places, middles: parts.all().iter().map(middle).collect() }
    }

    /// Returns the middle of the part at `place` among all; of a part of two legs, which reach from lug to lug, nothing of use.
    pub(super) fn middle(&self, place: usize) -> [f64; 2] {
        self.middles[place]
    }

    /// Returns where a terminal lies; of a part of two legs, which reach from lug to lug, nothing of use.
    pub(super) fn at(&self, terminal: Terminal) -> [f64; 2] {
        self.terminals[terminal.index()]
    }

    /// Returns the straight way between two terminals, to a case's edge where one is a case.
    pub(super) fn way(&self, parts: &Parts, one: Terminal, other: Terminal) -> f64 {
        let [a, b] = [one, other].map(|terminal| self.at(terminal));
        let radius = |terminal: Terminal| match parts.part_of(terminal).kind() {
            PartKind::Pot(..) if parts.is_metal(terminal) => CASE,
            _ => 0.0,
        };
        ((a[0] - b[0]).hypot(a[1] - b[1]) - radius(one) - radius(other)).max(0.0)
    }
}

/// Returns where a terminal lies from the middle of its part.
fn offset(parts: &Parts, part: &super::Part, place: usize) -> [f64; 2] {
    const LUG: f64 = 8.0;
    const PITCH: f64 = 5.0;
    // A part has few terminals.
    let nth = |place: usize| f64::from(u16::try_from(place).unwrap_or(u16::MAX));
    match part.kind() {
        PartKind::Pot(..) if place < 3 => [(nth(place) - 1.0) * LUG, -14.0],
        PartKind::Lever(lever) => lever_offset(parts, lever, place, PITCH),
        PartKind::Jack | PartKind::Buffer | PartKind::Battery => [nth(place) * LUG, 0.0],
        PartKind::Pickup(_) => [nth(place) * 2.0, 0.0],
        PartKind::Pot(..) | PartKind::TwoLegs(..) | PartKind::Strings | PartKind::Cavity => [0.0; 2],
    }
}

/// Returns where a lug of a selector or switch lies: poles are columns.
fn lever_offset(parts: &Parts, lever: Lever, place: usize, pitch: f64) -> [f64; 2] {
    let nth = |place: usize| f64::from(u16::try_from(place).unwrap_or(u16::MAX));
    let table = lever.table(parts.guitar());
    let column = |(pole, own): (usize, &crate::wiring::SwitchPole)| {
        let row = own.lugs().iter().position(|lug| lug.index() == place)?;
        Some([nth(pole) * 1.5 * pitch, nth(row) * pitch])
    };
    // The frame lies beside the columns.
    table.poles().iter().enumerate().find_map(column).unwrap_or([-2.0 * pitch, 0.0])
}
