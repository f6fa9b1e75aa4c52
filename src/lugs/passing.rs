//! What is heard while a lever travels.

use std::fmt;

use crate::wiring::{Connection, Function};

/// What hot and ground see for a moment, from the best to the worst.
///
/// The order is our own: common practice, no source. A moment without tone is worse than one of a wrong tone, and
/// a hot conductor that leads nowhere pops and hums where a muted one is merely silent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Passing {
    /// One coil or both, in phase.
    Sounds,
    /// Both coils, out of phase.
    Thin,
    /// One coil, the other hanging from hot.
    Hangs,
    /// Hot is on ground.
    Muted,
    /// No coil is on hot.
    Open,
    /// A coil hangs from hot, and nothing leads to ground.
    Antenna,
}

impl Passing {
    /// Returns what is heard of `connection`.
    pub fn of(connection: &Connection) -> Self {
        let hangs = connection.dangles_from_hot();
        match Function::of(connection) {
            Function::Muted => Self::Muted,
            Function::Dead if !connection.hanging_from_hot().is_empty() => Self::Antenna,
            Function::Dead => Self::Open,
            Function::OneCoil { .. } if hangs => Self::Hangs,
            Function::OneCoil { .. } => Self::Sounds,
            Function::TwoCoils { a, b, .. } if a == b => Self::Sounds,
            Function::TwoCoils { .. } => Self::Thin,
        }
    }
}

impl fmt::Display for Passing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Sounds => "something sounds",
            Self::Thin => "out of phase",
            Self::Hangs => "a coil hangs from hot",
            Self::Muted => "silence, hot being on ground",
            Self::Open => "hum or a pop, hot leading nowhere",
            Self::Antenna => "hum or a pop, hot leading to a coil and no further",
        })
    }
}
