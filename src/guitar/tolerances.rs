//! How far parts may be from what is written on them.

use super::{Origin, Value};

/// How far each kind of part may be off, as a share of its value.
///
/// # Source
/// Common practice, no source: pots ±20 %, film capacitors ±10 %, resistors ±5 %; coils, losses and cables as far as
/// samples of one kind differ; an amplifier's input 1 MΩ ±20 %, 50 to 150 pF. A taper's fraction at mid-travel: makers' data
/// sheets state 10 to 17 %.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerances {
    pub(super) pots: f64,
    pub(super) taper: [f64; 2],
    pub(super) resistance: Value<f64>,
    pub(super) inductance: Value<f64>,
    pub(super) capacitance: Value<f64>,
    pub(super) loss: Value<f64>,
    pub(super) capacitors: f64,
    pub(super) resistors: f64,
    pub(super) cable: f64,
    pub(super) input_resistance: f64,
    pub(super) input_capacitance: f64,
    pub(super) coupling: Value<[f64; 2]>,
}

impl Default for Tolerances {
    fn default() -> Self {
        Self {
            pots: 0.20,
            taper: [0.10, 0.17],
            resistance: Value::usual(0.10),
            inductance: Value::usual(0.10),
            capacitance: Value::usual(0.20),
            loss: Value::usual(0.30),
            capacitors: 0.10,
            resistors: 0.05,
            cable: 0.20,
            input_resistance: 0.20,
            input_capacitance: 0.50,
            coupling: Value::usual([0.0, 0.2]),
        }
    }
}

/// What kind of part a value is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PartKind {
    /// A coil's resistance.
    Resistance,
    /// A coil's inductance.
    Inductance,
    /// A coil's winding capacitance.
    Capacitance,
    /// A coil's parallel loss.
    Loss,
    /// The share of a coil's eddy section, where it was measured or is a built-in pickup's.
    EddyShare,
    /// The corner frequency of a coil's eddy section, where it was measured or is a built-in pickup's.
    EddyCorner,
    /// The capacitance of a coil's lead, from each of its ends to the shield.
    Lead,
    /// A coil's voltage from the strings against that of another.
    Output,
    /// A coil's turns against those of another.
    Turns,
    /// The coupling of two coils.
    Coupling,
    /// A pot's track.
    Pot,
    /// The fraction of an audio taper's track at mid-travel.
    Taper,
    /// A capacitor that is soldered in.
    Capacitor,
    /// A resistor that is soldered in.
    Resistor,
    /// The cable's capacitance.
    Cable,
    /// The amplifier's input resistance.
    InputResistance,
    /// The amplifier's input capacitance.
    InputCapacitance,
}

/// How a part's value varies from guitar to guitar: every value between two is as likely.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Variation {
    /// Between these, by itself.
    Alone([f64; 2]),
    /// Between these as a whole type of pickup does: at the same place between them as the same value of the pickup's other
    /// coil; each coil is up to [`Tolerances::OWN`] off that by itself.
    AsType([f64; 2]),
}

/// A handheld meter's share: what it reads may be off by this.
const METER: f64 = 0.01;

impl Tolerances {
    /// Returns the least and the most fraction of an audio taper's track at mid-travel.
    pub fn taper(&self) -> [f64; 2] {
        self.taper
    }

    /// By how much each coil of a pickup may be off by itself, beside what all of its type may be off. Common practice, no
    /// source.
    pub const OWN: f64 = 0.03;

    /// Returns how a part of this kind and `value` varies, which is from there.
    ///
    /// A built-in pickup's value varies as its file says, unless the guitar's own file states a tolerance; of a measured one,
    /// the ends are those between which a value spread evenly has the measurement's standard deviation.
    pub fn variation(&self, kind: PartKind, origin: Origin, value: f64) -> Variation {
        let by = |share: f64| [value * (1.0 - share), value * (1.0 + share)];
        match origin {
            Origin::Measured { deviation } => {
                let share = 3f64.sqrt() * deviation;
                Variation::Alone([value * (1.0 - share).max(0.0), value * (1.0 + share)])
            }
            Origin::Preset { .. } | Origin::Scaled { .. } => {
                let stated = match kind {
                    PartKind::Resistance => self.resistance,
                    PartKind::Inductance => self.inductance,
                    PartKind::Capacitance => self.capacitance,
                    PartKind::Loss => self.loss,
                    PartKind::Coupling => return Variation::Alone(self.coupling(origin, value)),
                    PartKind::EddyShare
                    | PartKind::EddyCorner
                    | PartKind::Lead
                    | PartKind::Output
                    | PartKind::Turns
                    | PartKind::Pot
                    | PartKind::Taper
                    | PartKind::Capacitor
                    | PartKind::Resistor
                    | PartKind::Cable
                    | PartKind::InputResistance
                    | PartKind::InputCapacitance => Value::usual(0.0),
                };
                if stated.origin.is_stated() {
                    return Variation::Alone(by(stated.value));
                }
                let of_type = origin.spread();
                Variation::AsType(of_type.map_or_else(|| by(stated.value), |spread| spread.limits(value)))
            }
            Origin::Stated | Origin::Default => Variation::Alone(match kind {
                // Who states a resistance has read it from a meter.
                PartKind::Resistance if origin.is_stated() => by(METER),
                PartKind::Resistance => by(self.resistance.value),
                PartKind::Inductance => by(self.inductance.value),
                PartKind::Capacitance => by(self.capacitance.value),
                PartKind::Loss => by(self.loss.value),
                PartKind::Output | PartKind::Turns => by(Self::OWN),
                // An eddy section that is stated is off with the inductance that it is a share of.
                PartKind::EddyShare | PartKind::EddyCorner => by(0.0),
                PartKind::Coupling => self.coupling(origin, value),
                PartKind::Pot => by(self.pots),
                PartKind::Taper => shifted(self.taper, value, [0.01, 0.99]),
                PartKind::Capacitor => by(self.capacitors),
                PartKind::Resistor => by(self.resistors),
                PartKind::Lead | PartKind::Cable => by(self.cable),
                PartKind::InputResistance => by(self.input_resistance),
                PartKind::InputCapacitance => by(self.input_capacitance),
            }),
        }
    }

    /// Returns the least and the most that a part of this kind and `value` may be, which is from there.
    pub fn range(&self, kind: PartKind, origin: Origin, value: f64) -> [f64; 2] {
        match self.variation(kind, origin, value) {
            Variation::Alone(limits) => limits,
            Variation::AsType([low, high]) => [low * (1.0 - Self::OWN), high * (1.0 + Self::OWN)],
        }
    }

    fn coupling(&self, origin: Origin, value: f64) -> [f64; 2] {
        match origin.spread().filter(|_| !self.coupling.origin.is_stated()) {
            Some(spread) => spread.limits(value),
            None => shifted(self.coupling.value, value, [0.0, 0.99]),
        }
    }
}

/// Returns the usual range, and of a `value` beyond it one as wide that ends there, held within `[least, most]`.
fn shifted([low, high]: [f64; 2], value: f64, [least, most]: [f64; 2]) -> [f64; 2] {
    let beyond = (value - high).max(0.0) + (value - low).min(0.0);
    [(low + beyond).max(least), (high + beyond).min(most)]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::guitar::Spread;

    #[test]
    fn a_part_is_off_by_its_share_and_a_coupling_within_its_range() {
        let tolerances = Tolerances::default();
        let stated = |kind, value| tolerances.range(kind, Origin::Stated, value);
        assert_eq!(stated(PartKind::Pot, 500e3), [400e3, 600e3]);
        assert_eq!(stated(PartKind::Coupling, 0.13), [0.0, 0.2]);
        let [low, high] = stated(PartKind::Coupling, 0.3);
        assert!((low - 0.1).abs() < 1e-12 && (high - 0.3).abs() < 1e-12);
        assert_eq!(stated(PartKind::Taper, 0.13), [0.10, 0.17]);
        let [low, high] = stated(PartKind::Taper, 0.05);
        assert!((low - 0.05).abs() < 1e-12 && (high - 0.12).abs() < 1e-12);
        assert_eq!(stated(PartKind::InputCapacitance, 100.0), [50.0, 150.0]);
    }

    #[test]
    fn how_far_off_a_coils_value_may_be_goes_by_where_it_is_from() {
        let tolerances = Tolerances::default();
        let preset = |spread| Origin::Preset { preset: "mini", spread };
        let near = |[low, high]: [f64; 2], ends: [f64; 2]| {
            (low / ends[0] - 1.0).abs() < 1e-12 && (high / ends[1] - 1.0).abs() < 1e-12
        };
        let spread = Spread::around(4.0, [3.0, 4.5]);
        let vary = |tolerances: &Tolerances, origin| match tolerances.variation(
            PartKind::Resistance,
            origin,
            4000.0,
        ) {
            Variation::AsType(limits) => limits,
            Variation::Alone(limits) => panic!("{limits:?}"),
        };
        assert!(near(vary(&tolerances, preset(None)), [3600.0, 4400.0]));
        assert!(near(vary(&tolerances, preset(spread)), [3000.0, 4500.0]));
        let own = Tolerances { resistance: Value::stated(0.05), ..tolerances };
        // The guitar's own file says more, of each coil by itself.
        let by_itself = own.variation(PartKind::Resistance, preset(spread), 4000.0);
        assert_eq!(by_itself, Variation::Alone([3800.0, 4200.0]));
        let range = tolerances.range(PartKind::Resistance, preset(spread), 4000.0);
        assert!(near(range, [3000.0 * 0.97, 4500.0 * 1.03]), "{range:?}");
        assert_eq!(tolerances.range(PartKind::Resistance, Origin::Stated, 4000.0), [3960.0, 4040.0]);
        assert_eq!(tolerances.range(PartKind::Inductance, Origin::Stated, 2.0), [1.8, 2.2]);
        let [low, high] = tolerances.range(PartKind::Inductance, Origin::Measured { deviation: 0.01 }, 2.0);
        // An even spread from end to end has a standard deviation of a twelfth's root of the width.
        assert!(((high - low) / 12f64.sqrt() - 0.02).abs() < 1e-12 && (low + high - 4.0).abs() < 1e-12);
    }
}
