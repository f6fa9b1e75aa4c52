//! What wires make of a cavity.

use super::branches::Branches;
use super::union::Union;
use super::{PartKind, Parts, Terminal, Throws, Wire};

/// A cavity with its wires in it.
#[derive(Debug, Clone)]
pub(super) struct Wiring {
    /// What solder alone joins.
    pub(super) solder: Union,
    /// The same with what is joined inside parts.
    inside: Union,
    /// The same with what the plug joins.
    plugged: Union,
    /// Which terminals count as tip and sleeve.
    pub(super) jack: [Terminal; 2],
}

impl Wiring {
    pub(super) fn of(parts: &Parts, branches: &Branches, wires: &[Wire]) -> Self {
        let mut solder = Union::apart(parts.len());
        for [one, other] in wires {
            solder.join(one.index(), other.index());
        }
        Self::soldered(parts, branches, solder)
    }

    /// Returns the cavity in which solder joins what `solder` says.
    pub(super) fn soldered(parts: &Parts, branches: &Branches, solder: Union) -> Self {
        let mut inside = solder.clone();
        branches.inside.iter().for_each(|[one, other]| inside.join(one.index(), other.index()));
        let mut plugged = inside.clone();
        let jack = parts.of_kind(PartKind::Jack);
        if let Some([ring, sleeve]) = jack.and_then(|jack| Some([jack.lug("ring")?, jack.lug("sleeve")?])) {
            plugged.join(ring.index(), sleeve.index());
        }
        Self { solder, inside, plugged, jack: parts.jack() }
    }

    /// Returns the same with these two soldered together.
    pub(super) fn with_joined(mut self, [one, other]: Wire) -> Self {
        for nets in [&mut self.solder, &mut self.inside, &mut self.plugged] {
            nets.join(one.index(), other.index());
        }
        self
    }

    /// Returns the same with tip and sleeve taken for each other.
    pub(super) fn with_jack_swapped(mut self) -> Self {
        self.jack.reverse();
        self
    }

    /// Returns the nets in the state at `place`, with a plug in the jack.
    pub(super) fn nets(&self, throws: &Throws, place: usize) -> Union {
        throws.closed(&self.plugged, place)
    }

    /// Returns the nets in the state at `place`, with nothing plugged in.
    pub(super) fn unplugged(&self, throws: &Throws, place: usize) -> Union {
        throws.closed(&self.inside, place)
    }

    /// Returns whether the buffer has power with these nets.
    pub(super) fn has_power(branches: &Branches, nets: &Union) -> bool {
        branches.follower.is_some_and(|buffer| {
            let [plus, minus] = buffer.battery.map(Terminal::index);
            nets.joins(plus, buffer.supply.index()) && nets.joins(minus, buffer.ground.index())
        })
    }

    /// Returns whether the buffer has power with nothing plugged in, in the state at `place`.
    pub(super) fn is_always_on(&self, branches: &Branches, throws: &Throws, place: usize) -> bool {
        Self::has_power(branches, &self.unplugged(throws, place))
    }
}
