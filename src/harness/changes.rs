//! Every single change of a wiring.

use super::union::Union;
use super::wiring::Wiring;
use super::{Change, Harness, PartKind, Terminal, Wire};

impl Harness {
    /// Returns every single change of `wires`: a wire off, a wire between two nets, an end moved to another net, two lugs of a
    /// part or two leads of pickups exchanged. Of terminals that are one net one stands for all.
    pub(super) fn changes(&self, wires: &[Wire]) -> Vec<Change> {
        let solder = Wiring::of(&self.parts, &self.branches, wires).solder;
        let mut all: Vec<Change> = wires.iter().map(|wire| Change::Remove(*wire)).collect();
        let nets = self.representatives(&solder);
        for (place, one) in nets.iter().enumerate() {
            all.extend(nets[..place].iter().map(|other| Change::Add([*other, *one])));
        }
        for (place, wire) in wires.iter().enumerate() {
            let mut without = Union::apart(self.parts.len());
            for [one, other] in
                wires.iter().enumerate().filter(|(own, _)| *own != place).map(|(_, wire)| wire)
            {
                without.join(one.index(), other.index());
            }
            let nets = self.representatives(&without);
            for (from, stays) in [(wire[0], wire[1]), (wire[1], wire[0])] {
                // The end of a lead at its own pickup or part stays there, unless it is spliced to another.
                if self.parts.is_lead(from) && !self.parts.is_lead(stays) {
                    continue;
                }
                let elsewhere = nets.iter().filter(|to| {
                    let to = to.index();
                    !without.joins(to, from.index()) && !without.joins(to, stays.index())
                });
                all.extend(elsewhere.map(|to| Change::Move { wire: *wire, from, to: *to }));
            }
        }
        all.extend(self.exchanges(wires));
        all
    }

    /// Returns one terminal of each net: the one that takes most wires, a pot's case before a frame, no lead where there is a lug.
    pub(super) fn representatives(&self, solder: &Union) -> Vec<Terminal> {
        let mut best: Vec<Option<Terminal>> = vec![None; solder.len()];
        let rank = |terminal: Terminal| {
            let is_pot = matches!(self.parts.part_of(terminal).kind(), PartKind::Pot(..));
            (!self.parts.is_lead(terminal), super::notes::most_on(self, terminal), is_pot)
        };
        for terminal in self.parts.terminals() {
            let own = &mut best[solder.least(terminal.index())];
            if own.is_none_or(|own| rank(own) < rank(terminal)) {
                *own = Some(terminal);
            }
        }
        best.into_iter().flatten().collect()
    }

    /// Returns every exchange of two lugs of a part, and of two leads of pickups, of which one is soldered.
    pub(super) fn exchanges(&self, wires: &[Wire]) -> Vec<Change> {
        let is_on = |terminal: &Terminal| wires.iter().any(|wire| wire.contains(terminal));
        let mut all = Vec::new();
        let mut pairs = |of: &[Terminal]| {
            for (place, one) in of.iter().enumerate() {
                let others = of[..place].iter().filter(|other| is_on(one) || is_on(other));
                all.extend(others.map(|other| Change::Exchange([*other, *one])));
            }
        };
        for part in self.parts.all() {
            match part.kind() {
                PartKind::Pot(..)
                | PartKind::Lever(_)
                | PartKind::Jack
                | PartKind::Buffer
                | PartKind::Battery => {
                    let lugs: Vec<Terminal> =
                        part.terminals().filter(|own| !self.parts.is_metal(*own)).collect();
                    pairs(&lugs);
                }
                // The legs of a part are alike; leads of pickups are exchanged below, those of one among them.
                PartKind::TwoLegs(..) | PartKind::Pickup(_) | PartKind::Strings | PartKind::Cavity => {}
            }
        }
        let of_pickups = self.parts.all().iter().filter(|part| matches!(part.kind(), PartKind::Pickup(_)));
        let leads: Vec<Terminal> = of_pickups.flat_map(super::Part::terminals).collect();
        pairs(&leads);
        all
    }
}
