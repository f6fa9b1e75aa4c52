//! What is read of a wired cavity: the states at the jack, knobs turned, metal against the sleeve.

use super::{Harness, Meter, ReadWhere, Role, Terminal};
use crate::document::{Document, Refusal};
use crate::guitar::Guitar;
use crate::harness::{HarnessError, MeterReadingError, MeterReport, Unseen, Wire, read_wires};
use crate::jack::{Expected, State};
use crate::quantity::Ohms;

/// A reading that a cavity has beside those at the jack with all knobs at 10.
#[derive(Debug, Clone, PartialEq)]
pub struct CavityCheck {
    /// The name by which what is read is given, such as `selector:2+volume@0` or `tone.case`.
    pub name: String,
    /// The same in words: `volume at 0, toward the neck`, or `the case of the tone control`.
    pub words: String,
    /// What must be read.
    pub expected: Expected,
    /// Whether it is metal that must beep against the sleeve.
    pub is_metal: bool,
}

/// A guitar's cavity at the meter, with its wires.
#[derive(Debug, Clone)]
pub struct AtMeter {
    meter: Meter,
    harness: Harness,
    wires: Vec<Wire>,
}

/// Why nothing can be read of a cavity.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum AtMeterError {
    /// No cavity follows from the guitar's file.
    #[error(transparent)]
    Harness(#[from] HarnessError),
    /// Its wires have faults.
    #[error(transparent)]
    Wires(#[from] Refusal),
}

impl AtMeter {
    /// Returns the cavity of `guitar` with the wires that its `document` states, or where it states none, those of the simplest
    /// plan.
    ///
    /// # Errors
    /// [`AtMeterError`] where no cavity follows from the guitar, or its wires have faults.
    pub fn of(guitar: &Guitar, document: Option<&Document>) -> Result<Self, AtMeterError> {
        let harness = Harness::of(guitar)?;
        let wires = match (guitar.cavity().wires(), document) {
            (Some(named), Some(document)) => read_wires(document, harness.parts(), named)?,
            (Some(_) | None, _) => harness.simple_wires(),
        };
        Ok(Self { meter: Meter::of(&harness)?, harness, wires })
    }

    /// Returns what is told by the readings `of_cavity`, with a knob turned or of continuity, together with the `plain` ones at
    /// the jack: those with every knob at 10 that name a whole state explain together with the others.
    ///
    /// # Errors
    /// [`MeterReadingError`] where one `of_cavity` is no reading.
    pub fn judge(&self, of_cavity: &[String], plain: &[String]) -> Result<MeterReport, MeterReadingError> {
        let mut readings = Vec::new();
        for text in of_cavity {
            readings.push(self.harness.reading(text)?);
        }
        let whole =
            plain.iter().flat_map(|text| text.split(',')).filter_map(|text| self.harness.reading(text).ok());
        readings.extend(whole);
        Ok(self.meter.judge(&self.wires, &readings))
    }

    /// Returns what no reading at the jack shows, each with the test that does.
    pub fn unseen(&self) -> Vec<Unseen> {
        self.meter.unseen(&self.wires)
    }

    /// Returns what is read beside the states at the jack: each knob turned, where that moves the reading most, and all metal.
    /// Through a buffer nothing is read but metal.
    pub fn checks(&self) -> Vec<CavityCheck> {
        let Self { meter, harness, .. } = self;
        let metal = |terminal: &Terminal| {
            let name = harness.parts.name_of(*terminal);
            let expected = meter.expected(ReadWhere::Metal(*terminal));
            CavityCheck { words: harness.parts.the(*terminal), name, expected, is_metal: true }
        };
        let knob = |(track, at): (usize, f64)| {
            let state = telling(harness, meter, track, at);
            let part = harness.parts.all()[harness.branches.tracks[track].part].name();
            let levers = &harness.throws.names()[state];
            let before = if levers == State::AS_IT_IS { String::new() } else { format!("{levers}+") };
            let place = words(harness, state).map(|words| format!(", {words}")).unwrap_or_default();
            CavityCheck {
                name: format!("{before}{part}@{at}"),
                words: format!("{part} at {at}{place}"),
                expected: meter.expected(ReadWhere::Jack { state, knob: Some((track, at)) }),
                is_metal: false,
            }
        };
        let turned = if harness.parts.guitar().buffer().is_some() { Vec::new() } else { turned(harness) };
        turned.into_iter().map(knob).chain(harness.metal.iter().map(metal)).collect()
    }
}

/// With more states than this only those one lever off are read.
const MOST_STATES: usize = 8;

/// Returns the states that are read: all, or of many those that are one lever off from where the guitar stands.
pub(super) fn states(harness: &Harness) -> Vec<usize> {
    let names = harness.throws.names();
    if !are_many(harness) {
        return (0..names.len()).collect();
    }
    let guitar = harness.parts.guitar();
    let near = State::standing(guitar, 0).with_one_moved(guitar);
    let place = |state: &State| names.iter().position(|name| *name == state.name(guitar));
    near.iter().filter_map(place).collect()
}

/// Returns whether there are more states than are read one by one.
pub(super) fn are_many(harness: &Harness) -> bool {
    harness.throws.len() > MOST_STATES && harness.parts.guitar().levers().len() > 1
}

/// Returns where the levers stand in a state; of many states only which lever is off from where the guitar stands.
pub(super) fn words(harness: &Harness, state: usize) -> Option<String> {
    let guitar = harness.parts.guitar();
    let standing = State::standing(guitar, 0);
    let name = &harness.throws.names()[state];
    let off = standing.throws().iter().find_map(|(lever, at)| {
        let throws = lever.table(guitar).throws().iter().enumerate();
        let off =
            |(throw, _): &(usize, _)| throw != at && standing.with(*lever, *throw).name(guitar) == *name;
        let (_, throw) = throws.into_iter().find(off)?;
        Some(format!("{}: {}", lever.name(guitar), throw.position()))
    });
    match off {
        Some(off) if are_many(harness) => Some(off),
        Some(_) | None => harness.throws.position(state).map(str::to_owned),
    }
}

/// Returns the knobs that are turned for a reading, each with where to.
pub(super) fn turned(harness: &Harness) -> Vec<(usize, f64)> {
    let places = |(track, own): (usize, &super::branches::Track)| match own.role {
        Role::Volume => vec![(track, 0.0), (track, 5.0)],
        Role::Tone | Role::BassCut | Role::Blend => vec![(track, 0.0)],
    };
    harness.branches.tracks.iter().enumerate().flat_map(places).collect()
}

/// Returns the state in which turning the knob moves the reading most, the first of several.
pub(super) fn telling(harness: &Harness, meter: &Meter, track: usize, at: f64) -> usize {
    let ohms = |state: usize, knob: Option<(usize, f64)>| {
        meter.expected(ReadWhere::Jack { state, knob }).nominal().map_or(f64::MAX, Ohms::value)
    };
    let moved = |state: usize| {
        let [one, other] = [ohms(state, None), ohms(state, Some((track, at)))].map(|ohms| (ohms + 1.0).ln());
        (one - other).abs()
    };
    let mut best = (0, 0.0);
    for state in states(harness) {
        let own = moved(state);
        // A difference this small is rounding.
        if own > best.1 + 1e-9 {
            best = (state, own);
        }
    }
    best.0
}
