//! What of a wiring is no fault and worth a word.

use super::{Harness, PartKind, Terminal, Wire, loops};

/// The most wires that a lug takes well, and a case.
pub(super) const MOST_ON_A_LUG: usize = 3;
pub(super) const MOST_ON_A_CASE: usize = 8;

pub(super) fn of(harness: &Harness, wires: &[Wire]) -> Vec<String> {
    let mut notes = loops::of(harness, wires);
    notes.extend(crowded(harness, wires));
    notes
}

fn crowded(harness: &Harness, wires: &[Wire]) -> Vec<String> {
    let parts = harness.parts();
    let count = |terminal: Terminal| wires.iter().flatten().filter(|end| **end == terminal).count();
    let crowd = |terminal: Terminal| {
        let (count, most) = (count(terminal), most_on(harness, terminal));
        (count > most).then(|| {
            format!("{count} wires on {}: more than {most} are hard to solder well", parts.name_of(terminal))
        })
    };
    parts.terminals().filter_map(crowd).collect()
}

/// Returns how many wires the terminal takes.
pub(super) fn most_on(harness: &Harness, terminal: Terminal) -> usize {
    let parts = harness.parts();
    let is_large = match parts.part_of(terminal).kind() {
        PartKind::Cavity => true,
        PartKind::Pot(..) | PartKind::Lever(_) => parts.is_metal(terminal),
        PartKind::TwoLegs(..)
        | PartKind::Jack
        | PartKind::Pickup(_)
        | PartKind::Strings
        | PartKind::Buffer
        | PartKind::Battery => false,
    };
    if is_large { MOST_ON_A_CASE } else { MOST_ON_A_LUG }
}
