//! One coil: its circuit, its magnet and winding, and its leads.

use std::fmt;

use super::keys::Worded;
use super::{Measurand, Measurement, Origin, Value};
use crate::quantity::{Farads, Henries, Hertz, Ohms};

/// A coil as a lumped circuit: an EMF in series with the inductance, the loss resistance across those two, the
/// wire's resistance, and the winding capacitance across the ends.
#[derive(Debug, Clone, PartialEq)]
pub struct Coil {
    pub(crate) resistance: Value<Ohms>,
    pub(crate) inductance: Value<Henries>,
    pub(crate) capacitance: Value<Farads>,
    pub(crate) loss: Option<Value<Ohms>>,
    pub(crate) eddy: Option<Eddy>,
    /// From each of its ends to the shield, which is ground; zero where there is none.
    pub(crate) lead: Value<Farads>,
    pub(crate) output: Value<f64>,
    pub(crate) turns: Value<f64>,
    pub(crate) winding: Value<Winding>,
    pub(crate) top_pole: Value<Pole>,
    pub(crate) leads: Option<LeadNames>,
    /// Where some of its values are measured.
    pub(crate) measurement: Option<Measurement>,
}

/// An eddy section: a share of the inductance, and of the EMF, that a steel core or cover shunts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Eddy {
    /// The share κ of the inductance, from 0 to below 1.
    pub share: Value<f64>,
    /// The corner frequency `f_c`; the shunt is `2π f_c κ L`.
    pub corner: Value<Hertz>,
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

/// What lies over a pickup's coils.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cover {
    /// Nothing, or nothing that conducts.
    None,
    /// A thin cover of nickel silver.
    NickelSilver,
    /// A cover of brass.
    Brass,
}

impl Worded for Cover {
    const WORDS: &'static [(&'static str, Self)] =
        &[("none", Self::None), ("nickel-silver", Self::NickelSilver), ("brass", Self::Brass)];
}

impl fmt::Display for Cover {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::None => "none",
            Self::NickelSilver => "nickel silver",
            Self::Brass => "brass",
        })
    }
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
    /// What is added where it is told whether hum cancels and the top poles of two coils are not known.
    pub const HUM_IF_OPPOSITE: &'static str = "if the top poles are opposite, which a compass tells";

    /// Returns +1 for north and −1 for south.
    pub const fn sign(self) -> f64 {
        match self {
            Self::North => 1.0,
            Self::South => -1.0,
        }
    }
}

impl Worded for Winding {
    const WORDS: &'static [(&'static str, Self)] =
        &[("clockwise", Self::Clockwise), ("counter-clockwise", Self::CounterClockwise)];
}

impl Worded for Pole {
    const WORDS: &'static [(&'static str, Self)] = &[("north", Self::North), ("south", Self::South)];
}

impl fmt::Display for Winding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Clockwise => "clockwise",
            Self::CounterClockwise => "counter-clockwise",
        })
    }
}

impl fmt::Display for Pole {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::North => "north",
            Self::South => "south",
        })
    }
}

impl Coil {
    /// Returns the coil with `factor` times as many turns of the same wire on the same bobbin and core.
    ///
    /// Resistance, winding capacitance and output go with the turns and the inductance with their square. The parallel loss goes with
    /// the square as well, since the core's eddy currents are seen through the turns twice; an eddy section is a share of the
    /// inductance and keeps its corner.
    pub(super) fn with_turns(&self, factor: f64) -> Self {
        let with = |value: f64, power: i32| value * factor.powi(power);
        let mut coil = self.clone();
        coil.resistance.value = Ohms::new(with(coil.resistance().value(), 1));
        coil.inductance.value = Henries::new(with(coil.inductance().value(), 2));
        coil.capacitance.value = Farads::new(with(coil.capacitance().value(), 1));
        if let Some(loss) = &mut coil.loss {
            loss.value = Ohms::new(with(loss.value.value(), 2));
        }
        coil.output.value = with(coil.output.value, 1);
        coil.turns.value = with(coil.turns.value, 1);
        coil
    }

    /// Returns the wire's direct-current resistance.
    pub fn resistance(&self) -> Ohms {
        self.resistance.value
    }

    /// Returns whether the guitar's file states the resistance; else it is a built-in pickup's.
    pub fn resistance_is_stated(&self) -> bool {
        self.resistance.origin.is_stated()
    }

    /// Returns where the resistance is from.
    pub fn resistance_origin(&self) -> Origin {
        self.resistance.origin
    }

    /// Returns the value in words and where it is from, where the coil has such a value.
    pub fn measurand(&self, measurand: Measurand) -> Option<(String, Origin)> {
        let told = |value: &dyn fmt::Display, origin| Some((value.to_string(), origin));
        match measurand {
            Measurand::Resistance => told(&self.resistance, self.resistance.origin),
            Measurand::Inductance => told(&self.inductance, self.inductance.origin),
            Measurand::Capacitance => told(&self.capacitance, self.capacitance.origin),
            Measurand::Loss => self.loss.and_then(|loss| told(&loss, loss.origin)),
            Measurand::EddyShare => self.eddy.and_then(|eddy| told(&eddy.share, eddy.share.origin)),
            Measurand::EddyCorner => self.eddy.and_then(|eddy| told(&eddy.corner, eddy.corner.origin)),
        }
    }

    /// Returns how it was measured, where some of its values are.
    pub fn measurement(&self) -> Option<&Measurement> {
        self.measurement.as_ref()
    }

    /// Returns a built-in pickup's coil as it is under a cover, whose eddy currents are told with the core's.
    ///
    /// # Source
    /// Fits of one section to diffusive steel slugs from 200 Hz to 12 kHz: a share of 0.125 from 2.1 kHz without a cover, 0.14
    /// from 2.3 kHz with one of nickel silver, 0.17 from 2.7 kHz with one of brass. For other cores the same steps are assumed.
    /// The loss beside it is such that a cover of brass takes 1.3 dB from series at 3 to 4 kHz.
    pub(super) fn under(&self, cover: Cover) -> Self {
        let (more, raised, of_loss) = match cover {
            Cover::None => return self.clone(),
            Cover::NickelSilver => (0.015, 2.3 / 2.1, 0.83),
            Cover::Brass => (0.045, 2.7 / 2.1, 0.57),
        };
        let loss = self.loss.map(|loss| Value { value: Ohms::new(loss.value.value() * of_loss), ..loss });
        let eddy = match self.eddy {
            Some(Eddy { share, corner }) => Eddy {
                share: Value { value: share.value + more, ..share },
                corner: Value { value: Hertz::new(corner.value.value() * raised), ..corner },
            },
            None => Eddy {
                share: Value { value: more, origin: self.inductance.origin.within(None) },
                corner: Value {
                    value: Hertz::new(2100.0 * raised),
                    origin: self.inductance.origin.within(None),
                },
            },
        };
        Self { eddy: Some(eddy), loss, ..self.clone() }
    }

    /// Returns a built-in pickup's coil for a guitar's that states its inductance or its loss, and so what its core does:
    /// without eddy section and lead, the loss that of a core that is told by it alone.
    pub(super) fn told_by_its_loss(&self) -> Self {
        /// How many times as high the loss beside an eddy section is as one that stands for both.
        const BESIDE_A_SECTION: f64 = 1.6;
        let mut coil = self.clone();
        coil.lead = Value { value: Farads::new(0.0), ..coil.lead };
        if coil.eddy.take().is_some()
            && let Some(loss) = &mut coil.loss
        {
            loss.value = Ohms::new(loss.value.value() / BESIDE_A_SECTION);
        }
        coil
    }

    /// Returns the coil as a guitar takes it over from the built-in pickup `preset`.
    pub(super) fn of(self, preset: &'static str) -> Self {
        Self {
            resistance: self.resistance.of(preset),
            inductance: self.inductance.of(preset),
            capacitance: self.capacitance.of(preset),
            loss: self.loss.map(|loss| loss.of(preset)),
            eddy: self
                .eddy
                .map(|Eddy { share, corner }| Eddy { share: share.of(preset), corner: corner.of(preset) }),
            lead: self.lead.of(preset),
            output: self.output.of(preset),
            turns: self.turns.of(preset),
            winding: self.winding.of(preset),
            top_pole: self.top_pole.of(preset),
            leads: self.leads,
            measurement: None,
        }
    }

    /// Returns the inductance, eddy section included.
    pub fn inductance(&self) -> Henries {
        self.inductance.value
    }

    /// Returns the winding capacitance across the ends.
    pub fn capacitance(&self) -> Farads {
        self.capacitance.value
    }

    /// Returns the parallel eddy-loss resistance, where there is one.
    pub fn loss(&self) -> Option<Ohms> {
        self.loss.map(|loss| loss.value)
    }

    /// Returns the eddy section, where there is one.
    pub fn eddy(&self) -> Option<Eddy> {
        self.eddy
    }

    /// Returns the capacitance of its lead from each of its ends to the shield; zero where there is none.
    pub fn lead(&self) -> Farads {
        self.lead.value
    }

    /// Returns the string's EMF relative to a coil of output 1.
    pub fn output(&self) -> f64 {
        self.output.value
    }

    /// Returns the number of turns relative to a coil of 1, for hum.
    pub fn turns(&self) -> f64 {
        self.turns.value
    }

    /// Returns the winding sense from start to finish.
    pub fn winding(&self) -> Winding {
        self.winding.value
    }

    /// Returns the pole that faces the strings.
    pub fn top_pole(&self) -> Pole {
        self.top_pole.value
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
        self.winding.value.sign() * self.top_pole.value.sign() > 0.0
    }

    /// Returns the hum EMF at the + end: `w·turns` at the finish, hence `p·turns` at the + end.
    pub fn hum_at_plus(&self) -> f64 {
        self.top_pole.value.sign() * self.turns.value
    }
}
