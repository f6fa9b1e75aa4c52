//! A single change of a wiring: what a person does with the iron.

use serde::Serialize;

use super::{Parts, Terminal, Wire};

/// A single change.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Change {
    /// A wire is taken off.
    Remove(Wire),
    /// A wire is added.
    Add(Wire),
    /// One end of a wire is moved.
    Move {
        /// The wire as it is.
        wire: Wire,
        /// Its end that is moved.
        from: Terminal,
        /// Where that goes.
        to: Terminal,
    },
    /// All that is on one terminal goes to another, and the other way round.
    Exchange([Terminal; 2]),
}

/// A change as JSON tells it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ChangeForm {
    /// `remove`, `add`, `move` or `exchange`.
    #[serde(rename = "do")]
    what: &'static str,
    from: String,
    to: String,
    /// The wire whose end is moved.
    #[serde(skip_serializing_if = "Option::is_none")]
    wire: Option<[String; 2]>,
    words: String,
}

impl Change {
    /// Returns `wires` after the change.
    pub fn applied(self, wires: &[Wire]) -> Vec<Wire> {
        match self {
            Self::Remove(wire) => {
                let gone = wires.iter().position(|own| *own == wire);
                let left = wires.iter().enumerate().filter(|(place, _)| Some(*place) != gone);
                left.map(|(_, own)| *own).collect()
            }
            Self::Add(wire) => wires.iter().copied().chain([wire]).collect(),
            Self::Move { wire, from, to } => {
                let mut wires = wires.to_vec();
                if let Some(own) = wires.iter_mut().find(|own| **own == wire) {
                    *own = own.map(|end| if end == from { to } else { end });
                }
                wires
            }
            Self::Exchange([one, other]) => {
                let exchanged = |end: Terminal| match end {
                    end if end == one => other,
                    end if end == other => one,
                    end => end,
                };
                wires.iter().map(|wire| wire.map(exchanged)).collect()
            }
        }
    }

    /// Returns how many joints of `wires` the change touches.
    pub(super) fn touched(self, wires: &[Wire]) -> usize {
        match self {
            // Both ends of the wire.
            Self::Remove(_) | Self::Add(_) | Self::Move { .. } => 2,
            Self::Exchange(ends) => {
                let is_on = |wire: &&Wire| ends.iter().any(|end| wire.contains(end));
                // Each is taken off and put on.
                2 * wires.iter().filter(is_on).count()
            }
        }
    }

    /// Returns what to do, in a sentence, with terminals by their names.
    pub fn words(self, parts: &Parts) -> String {
        self.sentence(|terminal| parts.name_of(terminal))
    }

    /// Returns the same with terminals in the trade's words, their names after these.
    pub fn told(self, parts: &Parts) -> String {
        self.sentence(|terminal| parts.told(terminal))
    }

    fn sentence(self, name: impl Fn(Terminal) -> String) -> String {
        match self {
            Self::Remove([one, other]) => format!("take off the wire from {} to {}", name(one), name(other)),
            Self::Add([one, other]) => format!("add a wire from {} to {}", name(one), name(other)),
            Self::Move { wire, from, to } => {
                let stays = if wire[0] == from { wire[1] } else { wire[0] };
                format!("move what leads from {} to {} over to {}", name(stays), name(from), name(to))
            }
            Self::Exchange([one, other]) => {
                format!("exchange what is on {} with what is on {}", name(one), name(other))
            }
        }
    }

    /// Returns the change as JSON tells it.
    pub fn form(self, parts: &Parts) -> ChangeForm {
        let name = |terminal: Terminal| parts.name_of(terminal);
        let (what, [from, to], wire) = match self {
            Self::Remove(ends) => ("remove", ends, None),
            Self::Add(ends) => ("add", ends, None),
            Self::Move { wire, from, to } => ("move", [from, to], Some(wire.map(name))),
            Self::Exchange(ends) => ("exchange", ends, None),
        };
        ChangeForm { what, from: name(from), to: name(to), wire, words: self.words(parts) }
    }
}
