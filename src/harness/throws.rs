//! The states of a cavity: one throw of every selector and switch.

use super::union::Union;
use super::{HarnessError, Parts, Terminal};
use crate::circuit::Spot;
use crate::guitar::Lever;
use crate::jack::State;

/// The most states looked at.
pub(super) const MOST: u64 = 1024;

/// Every state, each with its name, where the levers are in words, and the contacts that it closes.
#[derive(Debug, Clone, PartialEq)]
pub struct Throws {
    states: Vec<State>,
    names: Vec<String>,
    positions: Vec<Option<String>>,
    contacts: Vec<Vec<[Terminal; 2]>>,
}

impl Throws {
    /// Returns the states of the cavity of `parts`: the first selector turns slowest.
    ///
    /// # Errors
    /// [`HarnessError::TooManyStates`] where there are more than are looked at.
    pub fn of(parts: &Parts) -> Result<Self, HarnessError> {
        let guitar = parts.guitar();
        let standing = State::standing(guitar, 0);
        let ways = standing.ways(guitar);
        if ways > MOST {
            return Err(HarnessError::TooManyStates { ways });
        }
        let states = standing.every(guitar, &guitar.levers());
        let of_spot = |spot: Spot| match spot {
            Spot::Lug(lever, lug) => parts.of_lug(lever, lug.index()),
            Spot::Ground
            | Spot::Out
            | Spot::BlendEnd(_)
            | Spot::Terminal(..)
            | Spot::Behind(_)
            | Spot::Shield(_) => None,
        };
        let contacts = |state: &State| {
            let pairs = state.contacts(guitar).into_iter();
            pairs.filter_map(|[one, other]| Some([of_spot(one)?, of_spot(other)?])).collect()
        };
        Ok(Self {
            names: states.iter().map(|state| state.name(guitar)).collect(),
            positions: states.iter().map(|state| state.position(guitar)).collect(),
            contacts: states.iter().map(contacts).collect(),
            states,
        })
    }

    /// Returns the number of states.
    pub fn len(&self) -> usize {
        self.states.len()
    }

    /// Returns whether there is none, which never is.
    pub fn is_empty(&self) -> bool {
        self.states.is_empty()
    }

    /// Returns what each state is called, as in `selector:2+mode:1`.
    pub fn names(&self) -> &[String] {
        &self.names
    }

    /// Returns where the levers are in words in the state at `place`; nothing where there is none.
    pub fn position(&self, place: usize) -> Option<&str> {
        self.positions[place].as_deref()
    }

    /// Returns `solder` with the contacts closed in the state at `place`.
    pub(super) fn closed(&self, solder: &Union, place: usize) -> Union {
        let mut nets = solder.clone();
        for [one, other] in &self.contacts[place] {
            nets.join(one.index(), other.index());
        }
        nets
    }
}

impl Parts {
    /// Returns the lug of this place of a selector or switch.
    pub(super) fn of_lug(&self, lever: Lever, lug: usize) -> Option<Terminal> {
        let part = self.of_kind(super::PartKind::Lever(lever))?;
        part.terminals().nth(lug)
    }
}
