//! Where a value of a guitar is from.

use std::fmt;

/// Where a value of a guitar is from, and so how far it is to be believed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Origin {
    /// The guitar's file states it.
    Stated,
    /// The guitar's file states it as measured.
    Measured {
        /// The standard deviation of the measurement as a share of the value, from 0 to 0.9.
        deviation: f64,
    },
    /// A built-in pickup's, scaled as the resistance that the file states is to that one's.
    Scaled {
        /// The built-in pickup.
        preset: &'static str,
    },
    /// A built-in pickup's as it is.
    Preset {
        /// The built-in pickup.
        preset: &'static str,
    },
    /// What is usual where nothing is stated.
    Default,
}

/// A value of a guitar, and where it is from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Value<T> {
    /// The value.
    pub value: T,
    /// Where it is from.
    pub origin: Origin,
}

impl Origin {
    /// Returns whether the guitar's own file states the value, measured or not.
    pub const fn is_stated(self) -> bool {
        match self {
            Self::Stated | Self::Measured { .. } => true,
            Self::Scaled { .. } | Self::Preset { .. } | Self::Default => false,
        }
    }

    /// Returns the standard deviation of a measured value as a share of it.
    pub const fn deviation(self) -> Option<f64> {
        match self {
            Self::Measured { deviation } => Some(deviation),
            Self::Stated | Self::Scaled { .. } | Self::Preset { .. } | Self::Default => None,
        }
    }
}

impl<T> Value<T> {
    /// Returns a value that the guitar's file states.
    pub const fn stated(value: T) -> Self {
        Self { value, origin: Origin::Stated }
    }

    /// Returns a value that is usual where nothing is stated.
    pub const fn usual(value: T) -> Self {
        Self { value, origin: Origin::Default }
    }

    /// Returns `given`, which the file states, or what is `usual`.
    pub(super) fn or_usual(given: Option<T>, usual: T) -> Self {
        given.map_or(Self::usual(usual), Self::stated)
    }

    /// Returns the value as a guitar takes it over from the built-in pickup `preset`.
    pub(super) fn of(self, preset: &'static str) -> Self {
        Self { origin: Origin::Preset { preset }, ..self }
    }
}

impl<T: fmt::Display> fmt::Display for Value<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.value.fmt(f)
    }
}

/// Tells a value of a guitar in a few words: `from a built-in pickup`, `measured, ± 1 %`; nothing where it is stated.
impl fmt::Display for Origin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Stated => Ok(()),
            Self::Measured { deviation } => write!(f, "measured, ± {}", percent(*deviation)),
            Self::Scaled { preset } => write!(f, "from `{preset}`, scaled to the stated resistance"),
            Self::Preset { preset } => write!(f, "from `{preset}`"),
            Self::Default => f.write_str("assumed"),
        }
    }
}

/// Returns a share in percent, to a tenth of one.
pub(super) fn percent(share: f64) -> String {
    format!("{} %", (share * 1000.0).round() / 10.0)
}
