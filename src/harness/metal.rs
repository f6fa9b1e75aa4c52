//! Metal that is not on ground. What is joined to one another and to no ground is one fault, whatever it makes of the circuit.

use super::fault::{FaultKind, WiringFault};
use super::wiring::Wiring;
use super::{Harness, PartKind, Parts, Terminal};
use crate::quantity::listed;

/// What metal is joined to by solder, where it is not the sleeve.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum MetalOn {
    Tip,
    Neither,
}

/// Metal that is joined to one another, and to no sleeve.
struct Island {
    on: MetalOn,
    /// Its terminals, that first from which ground is led on.
    metal: Vec<Terminal>,
    /// The states of whose circuit it makes another.
    shows: Vec<usize>,
}

/// What is wrong with the metal of a wiring.
pub(super) struct Metal<'h> {
    harness: &'h Harness,
    /// The wiring, its jack as it is meant.
    wiring: Wiring,
    is_swapped: bool,
    islands: Vec<Island>,
}

impl<'h> Metal<'h> {
    pub(super) fn of(harness: &'h Harness, wiring: Wiring) -> Self {
        let mut islands: Vec<Island> = Vec::new();
        let tip = harness.parts.jack()[0];
        let joins = |one: Terminal, other: Terminal| wiring.solder.joins(one.index(), other.index());
        for metal in harness.unsafe_metal(&wiring) {
            if let Some(island) = islands.iter_mut().find(|own| joins(own.metal[0], metal)) {
                island.metal.push(metal);
            } else {
                let on = if joins(metal, tip) { MetalOn::Tip } else { MetalOn::Neither };
                islands.push(Island { on, metal: vec![metal], shows: Vec::new() });
            }
        }
        for island in &mut islands {
            island.metal.sort_by_key(|metal| leads_on(&harness.parts, *metal));
        }
        let on_tip =
            islands.iter().filter(|own| own.on == MetalOn::Tip).map(|own| own.metal.len()).sum::<usize>();
        let off = islands.iter().map(|own| own.metal.len()).sum::<usize>();
        let is_swapped = off == harness.metal.len() && 2 * on_tip > off;
        let wiring = if is_swapped { wiring.with_jack_swapped() } else { wiring };
        if is_swapped {
            islands.retain(|own| own.on != MetalOn::Tip);
        }
        Self { harness, wiring, is_swapped, islands }
    }

    /// Returns the wiring, its jack as it is meant.
    pub(super) fn wiring(&self) -> &Wiring {
        &self.wiring
    }

    /// Returns the wiring with all its metal on ground; nothing where no ground is missing.
    pub(super) fn grounded(&self) -> Option<Wiring> {
        let mut missing = self.islands.iter().filter(|own| own.on == MetalOn::Neither).peekable();
        missing.peek()?;
        Some(missing.fold(self.wiring.clone(), |wiring, island| island.grounded(wiring)))
    }

    /// Tells of missing ground in which states it makes the circuit another.
    pub(super) fn explain(&mut self) {
        let (harness, wiring) = (self.harness, &self.wiring);
        for island in self.islands.iter_mut().filter(|own| own.on == MetalOn::Neither) {
            let grounded = island.grounded(wiring.clone());
            let differs =
                |place: &usize| harness.signature(wiring, *place) != harness.signature(&grounded, *place);
            island.shows = (0..harness.throws.len()).filter(differs).collect();
        }
    }

    /// Returns the faults.
    pub(super) fn into_faults(self) -> Vec<WiringFault> {
        let swapped = self.is_swapped.then(|| {
            let words = "tip and sleeve of the jack are exchanged: all metal is on the tip".to_owned();
            self.harness.fault(FaultKind::JackSwapped, "jack", &[], words)
        });
        swapped.into_iter().chain(self.islands.iter().map(|own| own.fault(self.harness))).collect()
    }
}

impl Island {
    fn grounded(&self, wiring: Wiring) -> Wiring {
        let sleeve = wiring.jack[1];
        wiring.with_joined([self.metal[0], sleeve])
    }

    fn fault(&self, harness: &Harness) -> WiringFault {
        let parts = &harness.parts;
        let first = self.metal[0];
        let (own, are) = words(parts, first);
        let others: Vec<String> = self.metal[1..].iter().map(|metal| words(parts, *metal).0).collect();
        let with =
            if others.is_empty() { String::new() } else { format!(", and with it {}", listed(&others)) };
        let (kind, words) = match self.on {
            MetalOn::Tip => (
                FaultKind::MetalOnHot,
                format!("{own} {are} on the tip{with}: it hums, and more when touched"),
            ),
            MetalOn::Neither if self.shows.is_empty() => {
                (FaultKind::Ungrounded, format!("{own} {are} joined to nothing that is on ground{with}"))
            }
            MetalOn::Neither => (
                FaultKind::Ungrounded,
                format!(
                    "{own} {are} joined to nothing that is on ground{with}; ground that is led over it is missing {}",
                    harness.at(&self.shows)
                ),
            ),
        };
        harness.fault(kind, &parts.name_of(first), &self.shows, words)
    }
}

impl Harness {
    /// Returns the metal that is not on the sleeve.
    pub(super) fn unsafe_metal<'h>(&'h self, wiring: &'h Wiring) -> impl Iterator<Item = Terminal> + 'h {
        let sleeve = self.parts.jack()[1].index();
        self.metal.iter().copied().filter(move |metal| !wiring.solder.joins(metal.index(), sleeve))
    }
}

/// Returns how far down the way of ground such metal is.
fn leads_on(parts: &Parts, metal: Terminal) -> u8 {
    match parts.part_of(metal).kind() {
        PartKind::Pot(..) => 0,
        PartKind::Lever(_) => 1,
        PartKind::Cavity => 2,
        PartKind::Pickup(_) => 3,
        PartKind::Strings | PartKind::TwoLegs(..) | PartKind::Jack | PartKind::Buffer | PartKind::Battery => {
            4
        }
    }
}

/// Returns what metal is called, and whether that is or are.
fn words(parts: &Parts, metal: Terminal) -> (String, &'static str) {
    match parts.part_of(metal).kind() {
        PartKind::Strings => ("the strings".to_owned(), "are"),
        PartKind::Cavity
        | PartKind::Pot(..)
        | PartKind::TwoLegs(..)
        | PartKind::Lever(_)
        | PartKind::Jack
        | PartKind::Pickup(_)
        | PartKind::Buffer
        | PartKind::Battery => (parts.the(metal), "is"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::guitar::Guitar;
    use crate::harness::{Change, Wire};

    /// Returns the planned wires of the set-neck guitar, and what is found with these changes.
    fn found(changes: &dyn Fn(&Harness, Vec<Wire>) -> Vec<Wire>) -> Vec<WiringFault> {
        let harness = Harness::of(&Guitar::built_in("set-neck").unwrap()).unwrap();
        let wires = harness.plan().unwrap().wires.iter().map(|wire| wire.ends).collect();
        harness.check(&changes(&harness, wires)).faults
    }

    fn without(harness: &Harness, wires: Vec<Wire>, ends: [&str; 2]) -> Vec<Wire> {
        let ends = ends.map(|name| harness.parts().terminal(name).unwrap());
        let count = wires.len();
        let left: Vec<Wire> =
            wires.into_iter().filter(|wire| !ends.iter().all(|end| wire.contains(end))).collect();
        assert_eq!(left.len() + 1, count, "{ends:?}");
        left
    }

    #[test]
    fn a_missing_ground_between_cases_is_one_fault_whatever_it_silences() {
        let faults = found(&|harness, wires| without(harness, wires, ["volume.case", "tone.case"]));
        assert_eq!(faults.len(), 1, "{faults:#?}");
        let WiringFault { kind, what, positions, words } = &faults[0];
        assert_eq!((kind, what.as_str()), (&FaultKind::Ungrounded, "volume.case"));
        assert_eq!(positions, &["selector:1", "selector:2", "selector:3"]);
        let with = "and with it the frame of the selector, the bridge pickup's shield and the strings";
        assert!(
            words.starts_with("the case of the volume control is joined to nothing") && words.contains(with),
            "{words}"
        );
    }

    #[test]
    fn another_fault_beside_a_missing_ground_is_named_as_without_it() {
        let faults = found(&|harness, wires| {
            let lugs = ["tone.1", "tone.3"].map(|name| harness.parts().terminal(name).unwrap());
            Change::Exchange(lugs).applied(&without(harness, wires, ["volume.case", "tone.case"]))
        });
        let kinds: Vec<FaultKind> = faults.iter().map(|fault| fault.kind).collect();
        assert_eq!(kinds, [FaultKind::Ungrounded, FaultKind::ToneBackwards], "{faults:#?}");
    }

    #[test]
    fn metal_that_no_circuit_leads_over_is_told_without_positions() {
        let faults = found(&|harness, wires| without(harness, wires, ["selector.frame", "volume.case"]));
        assert_eq!(faults.len(), 1, "{faults:#?}");
        assert_eq!(
            faults[0].words,
            "the frame of the selector is joined to nothing that is on ground, and with it the strings"
        );
        assert!(faults[0].positions.is_empty());
    }
}
