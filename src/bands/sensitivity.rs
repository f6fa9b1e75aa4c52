//! Which single unknown matters most, and so what to measure first, and how.

use super::monte_carlo::{curve, outputs, telling, unlike};
use crate::circuit::Sweep;
use crate::guitar::{Guitar, Measurand, MeasuredWith, Part, PartKind, Variation};
use crate::response::{Selection, VoiceError};

/// An unknown and how far it alone moves what is heard.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensitivity {
    /// The part, with its pickup's name where it is a pickup's: `bridge, coil A, inductance`; or what is one unknown of both
    /// coils: `bridge, both coils, inductance`.
    pub part: String,
    /// Where in the guitar's file it stands, or might: of what is one unknown of both coils, each of its places.
    pub places: Vec<String>,
    /// By how much the response of the voice that it moves most differs between the ends of its tolerance, in dB by
    /// the rule of [`Listening`](crate::measure::Listening).
    pub moves_db: f64,
    /// How it is measured, with the guitar unplugged, in a few words.
    pub measure_by: &'static str,
}

/// Parts that are off together, because they are one unknown.
struct Unknown {
    of: String,
    called: &'static str,
    kind: PartKind,
    is_shared: bool,
    /// Where in the guitar's file it stands.
    places: Vec<String>,
    /// Which of the guitar's parts they are, each with the least and the most that the part may be.
    parts: Vec<(usize, [f64; 2])>,
}

/// Returns every unknown of the guitar of `selection`, the one that moves its voices most first.
///
/// # Errors
/// [`VoiceError`] where a circuit has no solution.
pub fn sensitivity(selection: &Selection<'_>) -> Result<Vec<Sensitivity>, VoiceError> {
    let (guitar, scope, voices) = (selection.guitar(), selection.scope(), selection.responses());
    let sweeps: Vec<Sweep> = voices.iter().map(|voice| Sweep::of(voice.circuit())).collect();
    let mut all = Vec::new();
    for unknown in unknowns(guitar) {
        let [low, high] = [0, 1].map(|end| unknown.at(guitar, end));
        let mut moves_db = 0.0f64;
        for (voice, sweep) in voices.iter().zip(&sweeps) {
            let ends: Result<Vec<Vec<f64>>, VoiceError> = [&low, &high]
                .into_iter()
                .map(|guitar| {
                    let circuit = voice.voice().circuit(guitar, scope.on(guitar))?;
                    Ok(curve(&telling(voice, &outputs(guitar, scope)), &circuit, sweep)?)
                })
                .collect();
            let ends = ends?;
            moves_db = moves_db.max(unlike(&ends[0], &ends[1]));
        }
        let (part, measure_by) = (unknown.name(), measure_by(unknown.kind));
        all.push(Sensitivity { part, places: unknown.places, moves_db, measure_by });
    }
    all.sort_by(|a, b| b.moves_db.total_cmp(&a.moves_db));
    Ok(all)
}

fn unknowns(guitar: &Guitar) -> Vec<Unknown> {
    let tolerances = guitar.tolerances();
    let mut all: Vec<Unknown> = Vec::new();
    let mut place = 0;
    let _ = guitar.with_parts(|part| {
        let Part { kind, of, called, key: _, value, origin, coil: _, measurement: _ } = part;
        let stands_at = part.place(guitar);
        let (ends, is_shared) = match tolerances.variation(kind, origin, value) {
            Variation::Alone(ends) => (ends, is_of_a_pair(&part)),
            Variation::AsType(ends) => (ends, true),
        };
        let same = all
            .iter_mut()
            .find(|other| is_shared && other.is_shared && (other.of.as_str(), other.kind) == (of, kind));
        if let Some(same) = same {
            same.parts.push((place, ends));
            same.places.push(stands_at);
        } else {
            let (of, places, parts) = (of.to_owned(), vec![stands_at], vec![(place, ends)]);
            all.push(Unknown { of, called, kind, is_shared, places, parts });
        }
        place += 1;
        value
    });
    all
}

/// Returns whether the part was measured with the other coil's as one.
fn is_of_a_pair(part: &Part<'_>) -> bool {
    part.origin.deviation().is_some()
        && part.measurement.is_some_and(|measurement| measurement.with() == MeasuredWith::Pair)
        && Measurand::of(part.kind).is_some_and(|measurand| measurand != Measurand::Resistance)
}

impl Unknown {
    fn name(&self) -> String {
        let called = match (self.parts.as_slice(), self.called.split_once(", ")) {
            ([_, _, ..], Some((_, quantity))) => format!("both coils, {quantity}"),
            _ => self.called.to_owned(),
        };
        if self.of.is_empty() { called } else { format!("{}, {called}", self.of) }
    }

    /// Returns the guitar with its parts at their least, end 0, or their most, end 1.
    fn at(&self, guitar: &Guitar, end: usize) -> Guitar {
        let mut place = 0;
        guitar.with_parts(|part| {
            let own = self.parts.iter().find(|(own, _)| *own == place);
            place += 1;
            own.map_or(part.value, |(_, ends)| ends[end])
        })
    }
}

/// Returns how a part of this kind is measured, with the guitar unplugged.
const fn measure_by(kind: PartKind) -> &'static str {
    match kind {
        PartKind::Resistance => "a multimeter on the coil's two leads, unsoldered",
        PartKind::Inductance => {
            "an inductance meter at 1 kHz on each coil's two leads, unsoldered, or the peak that a coil has with a known \
             capacitor of some nanofarads across its leads"
        }
        PartKind::Capacitance => {
            "the peak that the unsoldered coil has with nothing across its leads but a probe of known capacitance"
        }
        PartKind::Loss | PartKind::EddyShare | PartKind::EddyCorner => {
            "the height of the peak that the unsoldered coil has, driven through a known resistor at its leads"
        }
        PartKind::Lead => {
            "a capacitance meter from one unsoldered conductor of the pickup's lead to its shield"
        }
        PartKind::Output | PartKind::Turns => "two takes of the same strum, one through each coil alone",
        PartKind::Coupling => {
            "an inductance meter on both unsoldered coils in series, less the sum of the two"
        }
        PartKind::Pot => {
            "a multimeter from one end of its track to the other, with all other lugs unsoldered"
        }
        PartKind::Taper => {
            "a multimeter from wiper to the grounded end, the knob at 5, with all other lugs unsoldered"
        }
        PartKind::Capacitor => "a capacitance meter across it, one leg unsoldered",
        PartKind::Resistor => "a multimeter across it, one leg unsoldered",
        PartKind::Cable => {
            "a capacitance meter from tip to sleeve of the cable with nothing at its other end"
        }
        PartKind::InputResistance | PartKind::InputCapacitance => {
            "the amplifier's data sheet, and never by opening the amplifier"
        }
    }
}
