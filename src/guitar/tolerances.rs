//! How far parts may be from what is written on them.

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
    /// A coil's resistance that the guitar's file does not state.
    Resistance,
    /// A coil's resistance that was measured: as far off as a meter.
    MeasuredResistance,
    /// A coil's inductance.
    Inductance,
    /// A coil's winding capacitance.
    Capacitance,
    /// A coil's parallel loss.
    Loss,
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
    /// Returns the least and the most that a part of this kind and `value` may be.
    pub fn range(&self, kind: PartKind, value: f64) -> [f64; 2] {
        let share = match kind {
            PartKind::Coupling => {
                let [low, high] = self.coupling;
                // A coupling that is stated beyond the usual range is as far off as the range is wide.
                let beyond = (value - high).max(0.0) + (value - low).min(0.0);
                return [(low + beyond).max(0.0), (high + beyond).min(0.99)];
            }
            PartKind::Resistance => self.resistance,
            PartKind::MeasuredResistance => METER,
            PartKind::Inductance => self.inductance,
            PartKind::Capacitance => self.capacitance,
            PartKind::Loss => self.loss,
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
        assert_eq!(tolerances.range(PartKind::Pot, 500e3), [400e3, 600e3]);
        assert_eq!(tolerances.range(PartKind::Coupling, 0.13), [0.0, 0.2]);
        let [low, high] = tolerances.range(PartKind::Coupling, 0.3);
        assert!((low - 0.1).abs() < 1e-12 && (high - 0.3).abs() < 1e-12);
        assert_eq!(tolerances.range(PartKind::MeasuredResistance, 4000.0), [3960.0, 4040.0]);
    }
}
