//! The circuit of a guitar as it stands in one voice, drawn as a schematic: coils as they are connected, controls, cable
//! and input, each with its value.
//!
//! The data's way: what is heard becomes rows of pickups and a chain of parts behind them; both are drawn from
//! left to right between a hot and a ground conductor. The picture takes its colours from the page that it stands in.
//!
//! # Source
//! Symbols after IEC 60617: resistors as rectangles, coils as half circles, capacitors as two lines.

mod chain;
mod coils;
mod pen;
mod row;

use self::chain::{Chain, jack_and_beyond};
use self::pen::{GROUND, HOT, Pen};
use self::row::Row;
use crate::guitar::Guitar;
use crate::markup::escaped;
use crate::response::{Scope, VoiceResponse};
use crate::words;

/// The height of a row, from one hot conductor to the next.
const ROW: f64 = 230.0;

/// Returns the circuit of `guitar` in the voice of `response` as an SVG element of a page, told in its description too.
pub fn schematic(guitar: &Guitar, scope: Scope<'_>, response: &VoiceResponse) -> String {
    let rows = Row::of(guitar, scope, response);
    let mut pen = Pen::default();
    let mut ends = Vec::new();
    for (i, row) in rows.iter().enumerate() {
        pen.move_to(ROW * i as f64);
        ends.push(row.draw(&mut pen));
    }
    pen.move_to(0.0);
    let joined_at = ends.iter().fold(0.0f64, |most, end| most.max(*end));
    let mut x = joined_at;
    if rows.len() > 1 {
        for (i, (row, end)) in rows.iter().zip(&ends).enumerate() {
            pen.move_to(ROW * i as f64);
            if row.is_heard {
                pen.wire(&[(*end, HOT), (joined_at, HOT)]);
            }
            pen.wire_of(row.is_heard, &[(*end, GROUND), (joined_at, GROUND)]);
        }
        pen.move_to(0.0);
        let position = words::voice(response, guitar, scope);
        let width = pen.joined(joined_at, ROW * (rows.len() - 1) as f64, response.voice().name(), &position);
        x = joined_at + width;
    }
    let mut chain = Chain::new(&mut pen, x);
    chain.controls(guitar.controls());
    let mut x = chain.end();
    x = jack_and_beyond(&mut pen, guitar, x);
    let height = ROW * (rows.len() - 1) as f64 + pen::HEIGHT;
    let told = escaped(&description(guitar, scope, response));
    format!(
        "<svg class=\"schematic\" viewBox=\"0 0 {x:.0} {height:.0}\" width=\"{x:.0}\" height=\"{height:.0}\" role=\"img\" \
         aria-label=\"{told}\">{}</svg>",
        pen.drawn()
    )
}

/// Returns what the picture shows, for those who do not see it.
fn description(guitar: &Guitar, scope: Scope<'_>, response: &VoiceResponse) -> String {
    let coils: Vec<String> = scope
        .coils(guitar)
        .zip(response.coils())
        .map(|(coil, name)| {
            format!("{name}: {}, {}, {}", coil.resistance(), coil.inductance(), coil.capacitance())
        })
        .collect();
    format!("The circuit: {}. {}.", words::voice(response, guitar, scope), coils.join("; "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::guitar::{Draft, guitar_presets};
    use crate::response::Selection;

    fn drawn(text: &str, voice: usize) -> String {
        let guitar = Draft::of(crate::document::Document::new("mine.toml", text)).check().expect("no fault");
        let selection = Selection::usual(&guitar).expect("heard");
        schematic(&guitar, selection.scope(), &selection.responses()[voice])
    }

    #[test]
    fn every_built_in_guitar_is_drawn_in_each_voice_as_well_formed_xml() {
        for preset in guitar_presets() {
            let guitar = Guitar::built_in(preset.name).expect("listed");
            let selection = Selection::usual(&guitar).expect("heard");
            for response in selection.responses() {
                let svg = schematic(&guitar, selection.scope(), response);
                let document = roxmltree::Document::parse(&svg).expect("well-formed");
                let coils = document
                    .descendants()
                    .filter(|n| n.attribute("class").is_some_and(|c| c.contains("coil")));
                assert_eq!(
                    coils.count(),
                    response.coils().len(),
                    "{}: {}",
                    preset.name,
                    response.voice().name()
                );
                assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
            }
        }
    }

    #[test]
    fn what_is_drawn_has_the_files_values_and_changes_with_them() {
        let text = guitar_presets()[0].text;
        assert!(drawn(text, 0).contains("500 kΩ"));
        let changed = drawn(&text.replace("pot = \"500k\"", "pot = \"236k\""), 0);
        assert!(changed.contains("236 kΩ") && !changed.contains("500 kΩ"));
    }

    #[test]
    fn coils_in_parallel_hang_on_the_same_conductors() {
        let text = "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"vintage-full-size\"\n";
        let svg = drawn(text, 1);
        for height in ["46.0", "206.0"] {
            for wire in [format!("M22.0 {height}L122.0 {height}"), format!("M122.0 {height}L244.0 {height}")]
            {
                assert!(svg.contains(&wire), "{wire}: {svg}");
            }
        }
    }

    #[test]
    fn a_coil_that_is_not_heard_is_drawn_as_idle() {
        let text = "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"vintage-full-size\"\n";
        let idle = |voice| drawn(text, voice).matches("coil idle").count();
        // The usual voices: series, parallel, split-a, split-b and more.
        assert_eq!([idle(0), idle(1), idle(2), idle(3)], [0, 0, 1, 1]);
    }
}
