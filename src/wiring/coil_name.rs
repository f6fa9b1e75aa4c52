//! The two coils of a pickup and the way each stands in a circuit.

use std::fmt;

use super::Terminal;

/// One of a pickup's two coils.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum CoilName {
    /// The coil nearer the bridge.
    A,
    /// The other coil.
    B,
}

impl CoilName {
    /// Both coils.
    pub const BOTH: [Self; 2] = [Self::A, Self::B];

    /// Returns the tap-positive end.
    pub const fn plus(self) -> Terminal {
        match self {
            Self::A => Terminal::APlus,
            Self::B => Terminal::BPlus,
        }
    }

    /// Returns the tap-negative end.
    pub const fn minus(self) -> Terminal {
        match self {
            Self::A => Terminal::AMinus,
            Self::B => Terminal::BMinus,
        }
    }

    /// Returns the pickup's other coil.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::A => Self::B,
            Self::B => Self::A,
        }
    }

    /// Returns the coil's place in [`CoilName::BOTH`].
    pub const fn index(self) -> usize {
        self as usize
    }
}

impl fmt::Display for CoilName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::A => "coil A",
            Self::B => "coil B",
        })
    }
}

/// Which end of a coil is toward hot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Sense {
    /// The + end is toward hot.
    Upright,
    /// The − end is toward hot.
    Turned,
}
