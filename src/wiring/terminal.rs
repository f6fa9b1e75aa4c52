//! The points of one pickup that a joint can meet.

use std::fmt;

use super::CoilName;

/// An end of a coil, or one of the two conductors that lead to the jack.
///
/// The ends are named as the tap test names them: at the + end the string's voltage is positive while steel
/// approaches.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Terminal {
    /// The tap-positive end of coil A, the coil nearer the bridge.
    APlus,
    /// The other end of coil A.
    AMinus,
    /// The tap-positive end of coil B.
    BPlus,
    /// The other end of coil B.
    BMinus,
    /// The conductor that leads to the volume pot and on to the jack's tip.
    Hot,
    /// The conductor that leads to the jack's sleeve.
    Ground,
}

impl Terminal {
    /// Every terminal, coils first.
    pub const ALL: [Self; 6] =
        [Self::APlus, Self::AMinus, Self::BPlus, Self::BMinus, Self::Hot, Self::Ground];

    /// Returns the terminal's place in [`Terminal::ALL`].
    pub const fn index(self) -> usize {
        self as usize
    }

    /// Returns the coil whose end the terminal is.
    pub const fn coil(self) -> Option<CoilName> {
        match self {
            Self::APlus | Self::AMinus => Some(CoilName::A),
            Self::BPlus | Self::BMinus => Some(CoilName::B),
            Self::Hot | Self::Ground => None,
        }
    }

    /// Returns the other end of the same coil; hot and ground are their own.
    #[must_use]
    pub const fn far_end(self) -> Self {
        match self {
            Self::APlus => Self::AMinus,
            Self::AMinus => Self::APlus,
            Self::BPlus => Self::BMinus,
            Self::BMinus => Self::BPlus,
            Self::Hot | Self::Ground => self,
        }
    }

    /// Returns the terminal's name in files and reports.
    pub const fn name(self) -> &'static str {
        match self {
            Self::APlus => "a+",
            Self::AMinus => "a-",
            Self::BPlus => "b+",
            Self::BMinus => "b-",
            Self::Hot => "hot",
            Self::Ground => "ground",
        }
    }
}

impl fmt::Display for Terminal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}
