//! A switch as data: its lugs, and the contacts that each throw closes.

mod built_in;
mod read;

use std::fmt;

pub use built_in::{BUILT_IN, SELECTORS, UnknownSwitch};

use crate::document::Name;

/// The most lugs a switch may have.
pub const MAX_LUGS: usize = 24;
/// The most throws a switch may have.
const MAX_THROWS: u8 = 12;

/// A lug of one switch: its place in [`Switch::lugs`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Lug(u8);

impl Lug {
    /// Returns the lug's place in [`Switch::lugs`].
    pub const fn index(self) -> usize {
        self.0 as usize
    }
}

/// A contact: two lugs that a throw joins.
pub type Contact = [Lug; 2];

/// A switch's contact table.
#[derive(Debug, Clone, PartialEq)]
pub struct Switch {
    name: Name,
    title: String,
    lugs: Vec<String>,
    poles: Vec<SwitchPole>,
    throws: Vec<Throw>,
}

/// A column of lugs of which one, the common, is joined to one of the others.
#[derive(Debug, Clone, PartialEq)]
pub struct SwitchPole {
    name: String,
    lugs: Vec<Lug>,
    common: Lug,
}

/// A position of a switch.
#[derive(Debug, Clone, PartialEq)]
pub struct Throw {
    number: u8,
    position: String,
    knob: Option<String>,
    contacts: Vec<Contact>,
}

/// What one pole joins in one position of its travel; nothing where it is between contacts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PoleState {
    /// The contacts that are closed.
    pub contacts: Vec<Contact>,
}

impl SwitchPole {
    /// Returns the pole's name, such as `left`.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Returns the pole's lugs from top to bottom, seen from behind.
    pub fn lugs(&self) -> &[Lug] {
        &self.lugs
    }

    /// Returns the lug that every contact of the pole has in common.
    pub fn common(&self) -> Lug {
        self.common
    }
}

impl Throw {
    /// Returns the throw's number, from 1.
    pub fn number(&self) -> u8 {
        self.number
    }

    /// Returns where the lever is, in words.
    pub fn position(&self) -> &str {
        &self.position
    }

    /// Returns where the knob of a push-pull pot with this switch is, in words.
    pub fn knob(&self) -> Option<&str> {
        self.knob.as_deref()
    }

    /// Returns the contacts that are closed.
    pub fn contacts(&self) -> &[Contact] {
        &self.contacts
    }
}

impl Switch {
    /// Returns the switch's name.
    pub fn name(&self) -> &str {
        self.name.as_str()
    }

    /// Returns what kind of switch it is, in a few words.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// Returns the lugs, pole by pole and from top to bottom.
    pub fn lugs(&self) -> impl Iterator<Item = Lug> + use<> {
        (0..).take(self.lugs.len()).map(Lug)
    }

    /// Returns the lug's name, such as `L1`.
    ///
    /// # Panics
    /// Where `lug` is another switch's and this one has fewer.
    pub fn name_of(&self, lug: Lug) -> &str {
        &self.lugs[lug.index()]
    }

    /// Returns the lug called `name`.
    pub fn lug(&self, name: &str) -> Option<Lug> {
        self.lugs().find(|lug| self.name_of(*lug) == name)
    }

    /// Returns the names of all lugs.
    pub fn lug_names(&self) -> &[String] {
        &self.lugs
    }

    /// Returns the poles from left to right, seen from behind.
    pub fn poles(&self) -> &[SwitchPole] {
        &self.poles
    }

    /// Returns the throws in the order of the lever's travel.
    pub fn throws(&self) -> &[Throw] {
        &self.throws
    }

    /// Returns whether `lug` is its pole's common one.
    pub fn is_common(&self, lug: Lug) -> bool {
        self.poles.iter().any(|pole| pole.common == lug)
    }

    /// Returns, pole by pole, the states of its travel: what it joins in each throw that differs, and nothing,
    /// which it joins on the way from one to the next.
    pub fn travel(&self) -> Vec<Vec<PoleState>> {
        let states_of = |pole: &SwitchPole| {
            let mut states: Vec<PoleState> = Vec::new();
            for throw in &self.throws {
                let own = throw.contacts.iter().filter(|c| pole.lugs.contains(&c[0])).copied();
                let state = PoleState { contacts: own.collect() };
                if !states.contains(&state) {
                    states.push(state);
                }
            }
            let open = PoleState { contacts: Vec::new() };
            if !states.contains(&open) {
                states.insert(states.len().min(1), open);
            }
            states
        };
        self.poles.iter().map(states_of).collect()
    }
}

impl fmt::Display for Switch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_pole_travels_through_two_contacts_and_nothing() {
        for switch in Switch::built_in() {
            for states in switch.travel() {
                let closed: Vec<usize> = states.iter().map(|state| state.contacts.len()).collect();
                assert_eq!(closed, [1, 0, 1], "{switch}");
            }
        }
    }
}
