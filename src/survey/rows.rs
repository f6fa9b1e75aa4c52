//! A survey as comma-separated rows.

use super::SurveyFigures;
use crate::report::{cell, number, written};

/// Returns a row for each combination, below a heading, in the order of the circuits.
pub fn survey_rows(figures: &SurveyFigures) -> String {
    let heading = [
        "combination",
        "circuit",
        "resonance_hz",
        "q",
        "level_db",
        "loudness_lu",
        "hum_db",
        "in_phase",
        "dc_at_jack_ohm",
        "group",
        "nearest",
        "nearest_db",
        "title",
    ];
    let rows = figures.circuits.iter().flat_map(|circuit| {
        circuit.combinations.iter().map(|combination| {
            vec![
                cell(combination),
                cell(&circuit.name),
                number(circuit.resonance_hz),
                number(circuit.q),
                number(circuit.level_db),
                number(circuit.loudness_lu),
                number(circuit.hum_db),
                circuit.in_phase.to_string(),
                number(circuit.dc_at_jack_ohm),
                cell(circuit.group.as_deref().unwrap_or_default()),
                cell(circuit.nearest.as_deref().unwrap_or_default()),
                number(circuit.nearest_db),
                cell(&circuit.title),
            ]
        })
    });
    written(std::iter::once(heading.map(str::to_owned).to_vec()).chain(rows))
}
