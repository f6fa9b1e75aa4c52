//! What a value may be: the range that is typical, outside which a remark is made, and the range allowed.
//!
//! # Source
//! Typical ranges: H. Lemme, *The Secrets of Electric Guitar Pickups*, as quoted (inductances, capacitances);
//! the rest is common practice, no source. The allowed range is a thousand times wider at each end, but for the scale: strings
//! of 200 mm to 2 m can be plucked.

use std::ops::RangeInclusive;

use crate::document::{Fault, Located, Section};
use crate::quantity::{Metres, Quantity};

/// The scales that a guitar may have.
pub const SCALES: RangeInclusive<Metres> = Metres::new(0.2)..=Metres::new(2.0);

/// The typical and the allowed range of a quantity in SI base units, and whether zero is allowed as well.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    typical: (f64, f64),
    allowed: (f64, f64),
    zero: bool,
}

const WIDER: f64 = 1000.0;

const fn from(low: f64, high: f64) -> Bounds {
    Bounds { typical: (low, high), allowed: (low / WIDER, high * WIDER), zero: false }
}

const fn zero_or(low: f64, high: f64) -> Bounds {
    Bounds { typical: (low, high), allowed: (low / WIDER, high * WIDER), zero: true }
}

pub(super) const COIL_RESISTANCE: Bounds = from(1e3, 20e3);
pub(super) const COIL_INDUCTANCE: Bounds = from(0.5, 12.0);
pub(super) const COIL_CAPACITANCE: Bounds = zero_or(20e-12, 400e-12);
pub(super) const LEAD_CAPACITANCE: Bounds = zero_or(10e-12, 300e-12);
pub(super) const LOSS: Bounds = from(50e3, 5e6);
pub(super) const EDDY_CORNER: Bounds = from(500.0, 50e3);
pub(super) const POT: Bounds = from(100e3, 1e6);
pub(super) const TONE_CAPACITOR: Bounds = from(1e-9, 100e-9);
pub(super) const BLEED_CAPACITOR: Bounds = from(100e-12, 3e-9);
pub(super) const BLEED_RESISTOR: Bounds = from(20e3, 1e6);
pub(super) const BYPASS: Bounds = from(1e-9, 220e-9);
pub(super) const BYPASS_RESISTOR: Bounds = from(1e3, 50e3);
pub(super) const BASS_CUT_CAPACITOR: Bounds = from(0.5e-9, 10e-9);
pub(super) const BASS_CUT_POT: Bounds = from(100e3, 2e6);
pub(super) const LOAD: Bounds = from(50e3, 5e6);
pub(super) const BUFFER_INPUT: Bounds = from(500e3, 10e6);
pub(super) const BUFFER_OUTPUT: Bounds = from(50.0, 10e3);
pub(super) const CABLE_LENGTH: Bounds = zero_or(0.2, 20.0);
pub(super) const CABLE_PER_METRE: Bounds = zero_or(60e-12, 200e-12);
pub(super) const CABLE_TOTAL: Bounds = zero_or(50e-12, 2e-9);
pub(super) const INPUT_RESISTANCE: Bounds = from(100e3, 10e6);
pub(super) const INPUT_CAPACITANCE: Bounds = zero_or(10e-12, 500e-12);
pub(super) const SCALE: Bounds =
    Bounds { typical: (0.5, 0.9), allowed: (SCALES.start().value(), SCALES.end().value()), zero: false };
pub(super) const FROM_BRIDGE: Bounds = from(0.01, 0.25);
pub(super) const SPACING: Bounds = from(5e-3, 25e-3);

impl Bounds {
    /// Returns the typical range, in base units, outside which a remark is made.
    pub const fn typical(&self) -> RangeInclusive<f64> {
        self.typical.0..=self.typical.1
    }

    /// Returns the allowed range, in base units, outside which a value is refused.
    pub const fn allowed(&self) -> RangeInclusive<f64> {
        self.allowed.0..=self.allowed.1
    }

    /// Returns whether zero is allowed as well.
    pub const fn allows_zero(&self) -> bool {
        self.zero
    }

    /// Returns whether a value in base units is one that a file may state.
    pub(super) fn allows(&self, value: f64) -> bool {
        (self.zero && value == 0.0) || self.allowed().contains(&value)
    }

    /// Returns the largest value that a file may state, in base units.
    pub(super) const fn most(&self) -> f64 {
        self.allowed.1
    }

    /// Returns the quantity at `key` where it is allowed, and adds a remark to `notes` where it is not typical.
    pub(super) fn quantity<Q: Quantity>(
        &self,
        section: &mut Section<'_>,
        key: &str,
        notes: &mut Vec<String>,
    ) -> Option<Q> {
        let stated = section.quantity::<Q>(key, &self.typical())?;
        self.held(section, key, stated, notes)
    }

    /// Returns the quantities of the list at `key`, each as [`Bounds::quantity`] returns it.
    pub(super) fn quantities<Q: Quantity>(
        &self,
        section: &mut Section<'_>,
        key: &str,
        notes: &mut Vec<String>,
    ) -> Option<Vec<Q>> {
        let stated = section.quantities::<Q>(key, &self.typical())?;
        let held = stated.into_iter().map(|stated| self.held(section, key, stated, notes));
        // Every fault is noted before any of them is the answer.
        held.collect::<Vec<_>>().into_iter().collect()
    }

    fn held<Q: Quantity>(
        &self,
        section: &Section<'_>,
        key: &str,
        Located { value: quantity, span }: Located<Q>,
        notes: &mut Vec<String>,
    ) -> Option<Q> {
        let (low, high) = self.typical;
        let value = quantity.value();
        if !self.allows(value) {
            let zero = if self.zero { "0, or " } else { "" };
            let message = format!(
                "`{key}` is {quantity}; allowed is {zero}from {} to {}",
                Q::new(self.allowed.0),
                Q::new(self.most())
            );
            section.note(Fault::new(span, message).hint(format!(
                "typical is {} to {}",
                Q::new(low),
                Q::new(high)
            )));
            return None;
        }
        if !(low..=high).contains(&value) && value != 0.0 {
            let place = section.path_to(key);
            notes.push(format!(
                "{place} is {quantity}, outside the typical {} to {}",
                Q::new(low),
                Q::new(high)
            ));
        }
        Some(quantity)
    }
}

/// Returns the plain number at `key` where it lies in `allowed`, whose end is excluded where `below_end`.
pub(super) fn number(
    section: &mut Section<'_>,
    key: &str,
    allowed: &RangeInclusive<f64>,
    below_end: bool,
) -> Option<f64> {
    let Located { value, span } = section.number(key)?;
    if allowed.contains(&value) && !(below_end && value >= *allowed.end()) {
        return Some(value);
    }
    let end = if below_end { format!("below {}", allowed.end()) } else { format!("{}", allowed.end()) };
    section
        .note(Fault::new(span, format!("`{key}` is {value}; allowed is from {} to {end}", allowed.start())));
    None
}
