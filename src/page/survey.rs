//! `survey.html`: one file to look through a survey, by itself, without any network.

use serde::Serialize;

use super::html::table;
use super::{Illustration, STYLE as SHARED, illustrations};
use crate::cautions;
use crate::markup::{COLOURS, Head, content, escaped, filled, json_in_script, list};
use crate::survey::{CircuitFigures, SurveyFigures};

const TEMPLATE: &str = include_str!("survey.html");
const STYLE: &str = include_str!("survey.css");
const SCRIPT: &str = concat!(include_str!("script/made.js"), include_str!("script/survey.js"));

/// What the page's script needs of a survey.
#[derive(Serialize)]
struct Payload<'f> {
    kept: &'f [String],
    circuits: Vec<Row<'f>>,
}

/// A circuit, without what the page does not show.
#[derive(Serialize)]
struct Row<'f> {
    name: &'f str,
    combinations: &'f [String],
    resonance: Option<f64>,
    q: Option<f64>,
    level: Option<f64>,
    hum: Option<f64>,
    phase: bool,
    group: Option<&'f str>,
    nearest: Option<&'f str>,
    off: Option<f64>,
}

impl<'f> From<&'f CircuitFigures> for Row<'f> {
    fn from(circuit: &'f CircuitFigures) -> Self {
        Self {
            name: &circuit.name,
            combinations: &circuit.combinations,
            resonance: circuit.resonance_hz,
            q: circuit.q,
            level: circuit.level_db,
            hum: circuit.hum_db,
            phase: circuit.in_phase,
            group: circuit.group.as_deref(),
            nearest: circuit.nearest.as_deref(),
            off: circuit.nearest_db,
        }
    }
}

/// Returns the page as one HTML document, with the survey's map `light` and `dark`, each an SVG document.
///
/// # Panics
/// Only where this module's own template has a fault, which a test rules out.
pub fn survey_page(figures: &SurveyFigures, [light, dark]: [String; 2]) -> String {
    let payload =
        Payload { kept: &figures.keep.positions, circuits: figures.circuits.iter().map(Row::from).collect() };
    let json = serde_json::to_string(&payload).expect("the payload holds nothing that JSON cannot");
    let map = Illustration {
        title: "The map".to_owned(),
        description: "Every circuit by its resonance and its level; the table below has the same figures"
            .to_owned(),
        light,
        dark,
    };
    let head = Head {
        about: &figures.guitar,
        kind: "survey",
        style: &[COLOURS, SHARED, STYLE],
        scripts: &[SCRIPT],
        has_worker: false,
        has_pictures: true,
    };
    let assumed = [figures.assumed.as_slice(), figures.notes.as_slice()].concat();
    filled(
        TEMPLATE,
        &[
            ("head", &head.to_string()),
            ("guitar", &escaped(&figures.guitar)),
            ("count", &escaped(&figures.count())),
            ("verdict", &content(&figures.verdict())),
            ("kept", &table("Positions that keep the variety", &figures.kept_table(), &content, &content)),
            ("levels_against", &content(&format!("Levels are told against {}.", figures.baseline))),
            ("map", &illustrations(&[map])),
            ("distance", &escaped(&figures.distance)),
            ("source", &escaped(&figures.source)),
            ("honesty", &escaped(&figures.honesty)),
            ("assumed", &list(&assumed)),
            ("bench_cautions", &list(&cautions::BENCH)),
            ("program", &escaped(&figures.program)),
            ("survey", &json_in_script(&json)),
            ("script", SCRIPT),
        ],
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_script_and_the_style_cannot_end_their_elements() {
        assert!(!SCRIPT.contains("</script") && !SCRIPT.contains("<!--"));
        assert!(!STYLE.contains("</style"));
    }
}
