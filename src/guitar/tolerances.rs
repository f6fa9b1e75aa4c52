//! How far parts may be from what is written on them.

use super::Origin;

/// How far each kind of part may be off, as a share of its value.
///
/// # Source
/// Common practice, no source: pots ±20 %, film capacitors ±10 %, resistors ±5 %; coils, losses and cables as far as
/// samples of one kind differ.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerances {
    pub(super) pots: f64,
    pub(super) resistance: f64,
    pub(super) inductance: f64,
    pub(super) capacitance: f64,
    pub(super) loss: f64,
    pub(super) capacitors: f64,
    pub(super) resistors: f64,
    pub(super) cable: f64,
    pub(super) coupling: [f64; 2],
}

impl Default for Tolerances {
    fn default() -> Self {
        Self {
            pots: 0.20,
            resistance: 0.10,
            inductance: 0.10,
            capacitance: 0.20,
            loss: 0.30,
            capacitors: 0.10,
            resistors: 0.05,
            cable: 0.20,
            coupling: [0.0, 0.2],
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
    /// The share of a coil's eddy section, where it was measured.
    EddyShare,
    /// The corner frequency of a coil's eddy section, where it was measured.
    EddyCorner,
    /// The coupling of two coils.
    Coupling,
    /// A pot's track.
    Pot,
    /// A capacitor that is soldered in.
    Capacitor,
    /// A resistor that is soldered in.
    Resistor,
    /// The cable's capacitance.
    Cable,
}

/// A handheld meter's share: what it reads may be off by this.
const METER: f64 = 0.01;

impl Tolerances {
    /// Returns the least and the most that a part of this kind and `value` may be, which is from there: of a measured one,
    /// the ends between which a value spread evenly has the measurement's standard deviation.
    pub fn range(&self, kind: PartKind, origin: Origin, value: f64) -> [f64; 2] {
        if let Some(deviation) = origin.deviation() {
            return [
                value * (1.0 - 3f64.sqrt() * deviation).max(0.0),
                value * (1.0 + 3f64.sqrt() * deviation),
            ];
        }
        let share = match kind {
            PartKind::Coupling => {
                let [low, high] = self.coupling;
                // A coupling that is stated beyond the usual range is as far off as the range is wide.
                let beyond = (value - high).max(0.0) + (value - low).min(0.0);
                return [(low + beyond).max(0.0), (high + beyond).min(0.99)];
            }
            // Who states a resistance has read it from a meter.
            PartKind::Resistance if origin.is_stated() => METER,
            PartKind::Resistance => self.resistance,
            PartKind::Inductance => self.inductance,
            PartKind::Capacitance => self.capacitance,
            PartKind::Loss => self.loss,
            // Told only where they were measured.
            PartKind::EddyShare | PartKind::EddyCorner => 0.0,
            PartKind::Pot => self.pots,
            PartKind::Capacitor => self.capacitors,
            PartKind::Resistor => self.resistors,
            PartKind::Cable => self.cable,
        };
        [value * (1.0 - share), value * (1.0 + share)]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_is_off_by_its_share_and_a_coupling_within_its_range() {
        let tolerances = Tolerances::default();
        let stated = |kind, value| tolerances.range(kind, Origin::Stated, value);
        assert_eq!(stated(PartKind::Pot, 500e3), [400e3, 600e3]);
        assert_eq!(stated(PartKind::Coupling, 0.13), [0.0, 0.2]);
        let [low, high] = stated(PartKind::Coupling, 0.3);
        assert!((low - 0.1).abs() < 1e-12 && (high - 0.3).abs() < 1e-12);
    }

    #[test]
    fn how_far_off_a_coils_value_may_be_goes_by_where_it_is_from() {
        let tolerances = Tolerances::default();
        let preset = Origin::Preset { preset: "mini" };
        assert_eq!(tolerances.range(PartKind::Resistance, preset, 4000.0), [3600.0, 4400.0]);
        assert_eq!(tolerances.range(PartKind::Resistance, Origin::Stated, 4000.0), [3960.0, 4040.0]);
        assert_eq!(tolerances.range(PartKind::Inductance, Origin::Stated, 2.0), [1.8, 2.2]);
        let [low, high] = tolerances.range(PartKind::Inductance, Origin::Measured { deviation: 0.01 }, 2.0);
        // An even spread from end to end has a standard deviation of a twelfth's root of the width.
        assert!(((high - low) / 12f64.sqrt() - 0.02).abs() < 1e-12 && (low + high - 4.0).abs() < 1e-12);
    }
}
