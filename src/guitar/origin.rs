//! Where a value of a guitar is from.

use std::fmt;

/// How far samples of one type are apart: the least and the most as shares of the built-in value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    low: f64,
    high: f64,
}

impl Spread {
    /// Returns the spread of a `value` that lies within `[low, high]`; nothing where it does not.
    pub(super) fn around(value: f64, [low, high]: [f64; 2]) -> Option<Self> {
        let holds = 0.0 <= low && low <= value && value <= high && value > 0.0;
        holds.then(|| Self { low: low / value, high: high / value })
    }

    /// Returns the spread with its ends that many times as far from nothing.
    pub(super) fn stretched(self, [low, high]: [f64; 2]) -> Self {
        Self { low: self.low * low, high: self.high * high }
    }

    /// Returns the least and the most that a sample is whose built-in value is `value`.
    pub fn limits(self, value: f64) -> [f64; 2] {
        [self.low * value, self.high * value]
    }
}

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
        /// How far samples of it are apart, where its file says.
        spread: Option<Spread>,
    },
    /// A built-in pickup's as it is.
    Preset {
        /// The built-in pickup.
        preset: &'static str,
        /// How far samples of it are apart, where its file says.
        spread: Option<Spread>,
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

    /// Returns the same origin, where that is a built-in pickup, with how far samples of it are apart.
    pub(super) fn within(self, spread: Option<Spread>) -> Self {
        match self {
            Self::Scaled { preset, spread: _ } => Self::Scaled { preset, spread },
            Self::Preset { preset, spread: _ } => Self::Preset { preset, spread },
            Self::Stated | Self::Measured { .. } | Self::Default => self,
        }
    }

    /// Returns how far samples of the built-in pickup are apart that a value is from, where its file says.
    pub(super) const fn spread(self) -> Option<Spread> {
        match self {
            Self::Scaled { spread, .. } | Self::Preset { spread, .. } => spread,
            Self::Stated | Self::Measured { .. } | Self::Default => None,
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
        Self { origin: Origin::Preset { preset, spread: None }, ..self }
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
            Self::Scaled { preset, .. } => write!(f, "from `{preset}`, scaled to the stated resistance"),
            Self::Preset { preset, .. } => write!(f, "from `{preset}`"),
            Self::Default => f.write_str("assumed"),
        }
    }
}

/// Returns a share in percent, to a tenth of one.
pub(super) fn percent(share: f64) -> String {
    format!("{} %", (share * 1000.0).round() / 10.0)
}
