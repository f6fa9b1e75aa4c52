//! What of a wiring is no fault and worth a word.

use super::union::Union;
use super::{Harness, PartKind, Terminal, Wire};

/// The most wires that a lug takes well, and a case.
pub(super) const MOST_ON_A_LUG: usize = 3;
pub(super) const MOST_ON_A_CASE: usize = 8;

const HARMLESS: &str = "It is harmless: a loop of 50 cm² takes up 52 dB less hum than one coil. It would matter where two outputs \
    led to two devices on the mains, or where a wire is there because something is grounded by touch alone";

pub(super) fn of(harness: &Harness, wires: &[Wire]) -> Vec<String> {
    let mut notes = loops(harness, wires);
    notes.extend(crowded(harness, wires));
    notes
}

/// Returns a note for every wire between terminals that the wires before it join already, or that is one of them.
fn loops(harness: &Harness, wires: &[Wire]) -> Vec<String> {
    let parts = harness.parts();
    let sleeve = parts.jack()[1].index();
    let mut before = Union::apart(parts.len());
    let mut looped: Vec<(&Wire, bool)> = Vec::new();
    for (place, wire) in wires.iter().enumerate() {
        let [one, other] = wire.map(Terminal::index);
        if before.joins(one, other) {
            let back = [wire[1], wire[0]];
            looped.push((wire, wires[..place].iter().any(|earlier| earlier == wire || *earlier == back)));
        }
        before.join(one, other);
    }
    let told = |(wire, is_twice): &(&Wire, bool)| {
        let [one, other] = wire.map(|end| parts.name_of(end));
        let is_ground = before.joins(wire[0].index(), sleeve);
        let why = match (is_twice, is_ground) {
            (true, true) => {
                format!("the wire from {one} to {other} is stated twice: with both there is a ground loop")
            }
            (true, false) => format!("the wire from {one} to {other} is stated twice: one of them is enough"),
            (false, true) => format!("a ground loop: {one} and {other} are joined by other wires as well"),
            (false, false) => format!("the wire from {one} to {other} is not needed: other wires join them"),
        };
        if is_ground { format!("{why}. {HARMLESS}") } else { why }
    };
    looped.iter().map(told).collect()
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
