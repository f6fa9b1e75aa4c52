//! What of a guitar can be thrown: its selectors and the switches at its pickups.

use super::Guitar;
use crate::document::Name;
use crate::wiring::{Connection, Switch};

/// A selector or a switch of one guitar, by its place there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Lever {
    /// The selector at this place in [`super::Joined::selectors`].
    Selector(usize),
    /// The switch at this place in [`Guitar::switches`].
    Switch(usize),
}

impl Guitar {
    /// Returns its levers: selectors, then switches, in the order of the file.
    pub fn levers(&self) -> Vec<Lever> {
        let selectors = (0..self.joined.selectors.len()).map(Lever::Selector);
        selectors.chain((0..self.switches.len()).map(Lever::Switch)).collect()
    }

    /// Returns the place in [`Guitar::pickups`] of the pickup that the switch at `place` is on.
    pub fn pickup_switched_at(&self, place: usize) -> usize {
        let on = self.switched_by(&self.switches[place]).name();
        self.pickups.iter().position(|pickup| pickup.name() == on).unwrap_or_default()
    }

    /// Returns what the switches on the pickup at this place join together, each, by its place in [`Guitar::switches`], in
    /// the throw at the place that `throw_of` says or left out; nothing where none is on it.
    pub fn switched(&self, pickup: usize, throw_of: impl Fn(usize) -> Option<usize>) -> Option<Connection> {
        let finish_is_plus = self.pickups[pickup].finish_is_plus();
        let on = (0..self.switches.len()).filter(|switch| self.pickup_switched_at(*switch) == pickup);
        let made = on.filter_map(|switch| {
            throw_of(switch).map(|throw| self.switches[switch].plan(finish_is_plus).throws()[throw])
        });
        made.reduce(Connection::and)
    }
}

impl Lever {
    /// Returns its name.
    ///
    /// # Panics
    /// Where `guitar` is not the one that it is of; so do the others.
    pub fn name(self, guitar: &Guitar) -> &Name {
        match self {
            Self::Selector(place) => guitar.joined.selectors[place].name(),
            Self::Switch(place) => &guitar.switches[place].name().value,
        }
    }

    /// Returns its contact table.
    pub fn table(self, guitar: &Guitar) -> &Switch {
        match self {
            Self::Selector(place) => guitar.joined.selectors[place].switch(),
            Self::Switch(place) => guitar.switches[place].switch(),
        }
    }

    /// Returns the place of the throw in which it stands by the guitar's file; a switch at a pickup stands in its first.
    pub fn stands(self, guitar: &Guitar) -> usize {
        match self {
            Self::Selector(place) => guitar.joined.selectors[place].stands(),
            Self::Switch(_) => 0,
        }
    }
}
