//! `survey.html`: one file to look through a survey, by itself, without any network.

use serde::Serialize;

use super::{Illustration, STYLE as SHARED, illustrations};
use crate::cautions;
use crate::markup::{COLOURS, COMPONENTS, Head, content, escaped, filled, json_in_script, list};
use crate::quantity::signed;
use crate::survey::{CircuitFigures, SurveyFigures};
use crate::words;

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
    title: &'f str,
    combinations: &'f [String],
    resonance: Option<f64>,
    q: Option<f64>,
    level: Option<f64>,
    /// None where it counts as cancelled.
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
            title: &circuit.title,
            combinations: &circuit.combinations,
            resonance: circuit.resonance_hz,
            q: circuit.q,
            level: circuit.level_db,
            hum: circuit.hum_db.filter(|hum| !words::hum_cancels(Some(*hum))),
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
        style: &[COLOURS, COMPONENTS, SHARED, STYLE],
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
            ("kept", &kept(figures)),
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

/// Returns the rows of the positions that are kept, those that sound out of phase below a heading of their own.
fn kept(figures: &SurveyFigures) -> String {
    let number = |value: Option<f64>, digits| value.map_or_else(|| "–".to_owned(), |v| signed(v, digits));
    let row = |(place, circuit): (usize, &CircuitFigures)| {
        let cells = [
            number(circuit.resonance_hz.map(|f| f / 1000.0), 2),
            number(circuit.q, 2),
            number(circuit.level_db, 1),
            words::hum(circuit.hum_db),
            figures.stands_for(circuit).to_string(),
        ];
        let cells = cells.map(|cell| format!("<td class=\"n\">{cell}</td>")).concat();
        let (title, name) = (escaped(&circuit.title), content(&circuit.name));
        format!(
            "<tr><td class=\"n\">{place}</td><th scope=\"row\"><bdi>{title}</bdi> <span class=\"key parted\">{name}\
             </span></th>{cells}</tr>\n"
        )
    };
    let group = |(heading, in_phase)| {
        let own = (1..).zip(figures.kept()).filter(|(_, circuit)| circuit.in_phase == in_phase);
        let rows: String = own.map(row).collect();
        let head = format!("<tr class=\"group\"><th colspan=\"7\" scope=\"rowgroup\">{heading}</th></tr>\n");
        if rows.is_empty() { rows } else { format!("<tbody>\n{head}{rows}</tbody>\n") }
    };
    PHASES.map(group).concat()
}

/// The headings under which positions stand, and whether the strings sound in phase there.
const PHASES: [(&str, bool); 2] = [("In phase", true), ("Out of phase", false)];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_script_and_the_style_cannot_end_their_elements() {
        assert!(!SCRIPT.contains("</script") && !SCRIPT.contains("<!--"));
        assert!(!STYLE.contains("</style"));
    }
}
