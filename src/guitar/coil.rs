//! One coil: its circuit, its magnet and winding, and its leads.

use crate::quantity::{Farads, Henries, Hertz, Ohms};

/// A coil as a lumped circuit: an EMF in series with the inductance, the loss resistance across those two, the
/// wire's resistance, and the winding capacitance across the ends.
#[derive(Debug, Clone, PartialEq)]
pub struct Coil {
    pub(crate) resistance: Ohms,
    /// Whether the file states it; else it is a built-in pickup's.
    pub(crate) resistance_is_stated: bool,
    pub(crate) inductance: Henries,
    pub(crate) capacitance: Farads,
    pub(crate) loss: Option<Ohms>,
    pub(crate) eddy: Option<Eddy>,
    pub(crate) output: f64,
    pub(crate) turns: f64,
    pub(crate) winding: Winding,
    pub(crate) top_pole: Pole,
    pub(crate) leads: Option<LeadNames>,
}

/// An eddy section: a share of the inductance, and of the EMF, that a steel core or cover shunts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Eddy {
    /// The share κ of the inductance, from 0 to below 1.
    pub share: f64,
    /// The corner frequency `f_c`; the shunt is `2π f_c κ L`.
    pub corner: Hertz,
}

/// The sense of a coil's winding from the lead called start to the lead called finish, seen from the strings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Winding {
    /// Clockwise.
    Clockwise,
    /// Counter-clockwise.
    CounterClockwise,
}

/// The magnetic pole that faces the strings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pole {
    /// North.
    North,
    /// South.
    South,
}

/// What a coil's two leads are called, and which kind of name that is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LeadNames {
    /// Names from a maker's chart, by the order of winding.
    Chart {
        /// The lead at which the winder began.
        start: String,
        /// The lead at which the winder ended.
        finish: String,
    },
    /// Names from the tap test, by the polarity of the string's voltage.
    Tap {
        /// The lead that goes positive while steel approaches.
        plus: String,
        /// The other lead.
        minus: String,
    },
}

impl Winding {
    /// Returns +1 for clockwise and −1 for counter-clockwise.
    pub const fn sign(self) -> f64 {
        match self {
            Self::Clockwise => 1.0,
            Self::CounterClockwise => -1.0,
        }
    }
}

impl Pole {
    /// Returns +1 for north and −1 for south.
    pub const fn sign(self) -> f64 {
        match self {
            Self::North => 1.0,
            Self::South => -1.0,
        }
    }
}

impl Coil {
    /// Returns the wire's direct-current resistance.
    pub fn resistance(&self) -> Ohms {
        self.resistance
    }

    /// Returns whether the guitar's file states the resistance; else it is a built-in pickup's.
    pub fn resistance_is_stated(&self) -> bool {
        self.resistance_is_stated
    }

    /// Returns the inductance, eddy section included.
    pub fn inductance(&self) -> Henries {
        self.inductance
    }

    /// Returns the winding capacitance across the ends.
    pub fn capacitance(&self) -> Farads {
        self.capacitance
    }

    /// Returns the parallel eddy-loss resistance, where there is one.
    pub fn loss(&self) -> Option<Ohms> {
        self.loss
    }

    /// Returns the eddy section, where there is one.
    pub fn eddy(&self) -> Option<Eddy> {
        self.eddy
    }

    /// Returns the string's EMF relative to a coil of output 1.
    pub fn output(&self) -> f64 {
        self.output
    }

    /// Returns the number of turns relative to a coil of 1, for hum.
    pub fn turns(&self) -> f64 {
        self.turns
    }

    /// Returns the winding sense from start to finish.
    pub fn winding(&self) -> Winding {
        self.winding
    }

    /// Returns the pole that faces the strings.
    pub fn top_pole(&self) -> Pole {
        self.top_pole
    }

    /// Returns the leads' names, where the file gives them.
    pub fn leads(&self) -> Option<&LeadNames> {
        self.leads.as_ref()
    }

    /// Returns whether the finish is the tap-positive end, as it is where winding and pole have equal signs.
    ///
    /// # Source
    /// The string's EMF is proportional to `w·p` and positive at the finish where that is +1.
    pub fn finish_is_plus(&self) -> bool {
        self.winding.sign() * self.top_pole.sign() > 0.0
    }

    /// Returns the hum EMF at the + end: `w·turns` at the finish, hence `p·turns` at the + end.
    pub fn hum_at_plus(&self) -> f64 {
        self.top_pole.sign() * self.turns
    }
}
