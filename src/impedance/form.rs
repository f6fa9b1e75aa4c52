//! What was found, as JSON.

use serde::Serialize;
use serde_json::{Map, Value, json};

use super::found::{Found, Measured};
use super::{Refused, Verdict};
use crate::guitar::Measurand;
use crate::quantity::Ohms;
use crate::wiring::CoilName;

/// A measurement's report: the same fields whatever it comes to.
#[derive(Debug, Clone, Serialize)]
pub struct MeasurementForm {
    verdict: Verdict,
    coils: Vec<Value>,
    health: Vec<&'static str>,
    coupling: Option<f64>,
    coupling_sd: Option<f64>,
    source_and_input_ohm: Option<f64>,
    input_ohm: Option<f64>,
    cable_f: Option<f64>,
    misfit_db: Option<Value>,
    notes: Vec<String>,
}

impl MeasurementForm {
    /// Returns the report of what was found; the input alone is told where the series resistor is stated.
    pub fn found(found: &Found, series: Option<Ohms>) -> Self {
        let source = found.source.map(|source| source.resistance.value());
        let input = found.source.zip(series).map(|(source, series)| source.input(series));
        let (input, not_told) =
            input.map_or((None, None), |input| (input.as_ref().ok().copied(), input.err()));
        Self {
            verdict: Verdict::Measured,
            coils: found.coils.iter().map(coil).collect(),
            health: found.coils.iter().map(|coil| coil.health.words()).collect(),
            coupling: found.coupling.map(|own| own.value),
            coupling_sd: found.coupling.map(|own| own.deviation),
            source_and_input_ohm: source,
            input_ohm: input.map(Ohms::value),
            cable_f: found.source.map(|source| source.capacitance.value()),
            misfit_db: found.misfit.map(|misfit| {
                json!({
                    "rms": misfit.rms_db,
                    "worst": misfit.worst_db,
                    "worst_at_hz": misfit.worst_at.value(),
                })
            }),
            notes: not_told.into_iter().chain(found.notes.clone()).collect(),
        }
    }

    /// Returns the report of a measurement that tells no values.
    pub fn refused(refused: &Refused) -> Self {
        let health = if refused.verdict == Verdict::Open { vec!["open"] } else { Vec::new() };
        Self {
            verdict: refused.verdict,
            coils: Vec::new(),
            health,
            coupling: None,
            coupling_sd: None,
            source_and_input_ohm: None,
            input_ohm: None,
            cable_f: None,
            misfit_db: None,
            notes: vec![refused.words.clone(), refused.hint().to_owned()],
        }
    }
}

/// The fields of a coil's values, in the order of [`Measurand::ALL`].
const FIELDS: [&str; Measurand::ALL.len()] =
    ["resistance_ohm", "inductance_h", "capacitance_f", "loss_ohm", "eddy_share", "eddy_corner_hz"];

fn coil(coil: &super::CoilFound) -> Value {
    let mut fields = Map::new();
    let name = match coil.name {
        CoilName::A => "coil_a",
        CoilName::B => "coil_b",
    };
    fields.insert("name".to_owned(), json!(name));
    let mut put = |field: &str, own: Option<Measured>| {
        fields.insert(field.to_owned(), json!(own.map(|own| own.value)));
        fields.insert(format!("{field}_sd"), json!(own.map(|own| own.deviation)));
    };
    for (field, own) in FIELDS.into_iter().zip(coil.values) {
        put(field, own);
        if field == FIELDS[Measurand::Inductance.index()] {
            put("inductance_1khz_h", Some(coil.inductance_1khz));
        }
    }
    fields.insert("health".to_owned(), json!(coil.health.words()));
    Value::Object(fields)
}
