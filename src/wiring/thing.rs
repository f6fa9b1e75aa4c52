//! The things that a joint joins, and the two ways to name a coil's ends.

use std::fmt;

use super::{CoilName, Lug, Switch, Terminal};

/// A point that can be soldered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Thing {
    /// An end of a coil, hot or ground.
    Terminal(Terminal),
    /// The cable's shield, which is always on ground.
    Shield,
    /// A lug of the switch.
    Lug(Lug),
}

/// How the ends of the coils are named.
///
/// The two say different things: the tap test finds which end is positive while steel approaches, a chart tells
/// where the winding starts. They agree for a coil where winding sense and top pole have the same sign.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum EndNames {
    /// By the tap test: `a+`, `a-`, `b+`, `b-`.
    PlusMinus,
    /// By the winding: `a-start`, `a-finish`, `b-start`, `b-finish`.
    StartFinish,
}

/// Which end of each coil is its tap-positive one, by coil: `true` where it is the finish.
///
/// The finish is the + end where winding sense times top pole is +1 (clockwise from start to finish seen from the
/// string side is +1, a north pole on top is +1).
pub type FinishIsPlus = [bool; 2];

impl EndNames {
    /// Returns the name of `end`, or nothing where it is hot or ground.
    pub fn name(self, end: Terminal, finish_is_plus: FinishIsPlus) -> &'static str {
        match self {
            Self::PlusMinus => end.name(),
            Self::StartFinish => {
                let finish = match end.coil() {
                    Some(coil) => (end == coil.plus()) == finish_is_plus[coil.index()],
                    None => return end.name(),
                };
                match (end.coil(), finish) {
                    (Some(CoilName::A), true) => "a-finish",
                    (Some(CoilName::A), false) => "a-start",
                    (Some(CoilName::B), true) => "b-finish",
                    (Some(CoilName::B), false) => "b-start",
                    (None, _) => end.name(),
                }
            }
        }
    }
}

impl fmt::Display for EndNames {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::PlusMinus => "tap names (+ and −)",
            Self::StartFinish => "winding names (start and finish)",
        })
    }
}

impl Thing {
    /// Returns the thing's place among the points of a circuit: terminals first, then lugs; the shield is
    /// ground.
    pub(crate) fn point(self) -> usize {
        match self {
            Self::Terminal(terminal) => terminal.index(),
            Self::Shield => Terminal::Ground.index(),
            Self::Lug(lug) => Terminal::ALL.len() + lug.index(),
        }
    }

    /// Returns the thing's name in files and reports.
    pub fn name(self, switch: &Switch, names: EndNames, finish_is_plus: FinishIsPlus) -> &str {
        match self {
            Self::Terminal(terminal) => names.name(terminal, finish_is_plus),
            Self::Shield => "shield",
            Self::Lug(lug) => switch.name_of(lug),
        }
    }
}
