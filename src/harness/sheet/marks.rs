//! The marks and words of parts as SVG, below and over the wires. A cell of the grid is [`CELL`] pixels wide.

use std::fmt::Write;

use super::footprint::{Anchor, Mark, Style, Words};
use super::grid::Cell;
use crate::harness::called::lead_called;
use crate::harness::{Harness, Terminal};
use crate::lugs::Colour;
use crate::markup::Escaped;

/// Pixels to a cell.
pub(super) const CELL: f64 = 10.0;

pub(super) fn scaled(cells: f64) -> f64 {
    (cells + 0.5) * CELL
}

pub(super) fn point(cell: Cell) -> [f64; 2] {
    [cell.x, cell.y].map(|cells| scaled(f64::from(cells)))
}

/// Returns the attribute by which what is drawn says which terminal it is.
pub(super) fn of(harness: &Harness, terminal: Terminal) -> String {
    format!("data-terminal=\"{}\"", Escaped(&harness.parts.name_of(terminal)))
}

/// Draws what lies below the wires.
pub(super) fn under(svg: &mut String, mark: &Mark, harness: &Harness) {
    match mark {
        Mark::Body { middle, half } => {
            let [x, y] = [scaled(middle[0] - half[0]), scaled(middle[1] - half[1])];
            let [w, h] = half.map(|half| 2.0 * half * CELL);
            let _ = writeln!(
                svg,
                "<rect class=\"body\" x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" rx=\"7\"/>"
            );
        }
        Mark::Bar { middle, half, terminal } => {
            let [x, y] = [scaled(middle[0] - half[0]), scaled(middle[1] - half[1])];
            let [w, h] = half.map(|half| 2.0 * half * CELL);
            let _ = writeln!(
                svg,
                "<rect class=\"body\" {} x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" rx=\"7\"/>",
                of(harness, *terminal)
            );
        }
        Mark::Case { middle, radius, terminal } => {
            let [x, y] = point(*middle);
            let (left, right, top, neck) = (x - 64.0, x + 64.0, y - 100.0, radius * CELL);
            let _ = writeln!(
                svg,
                "<rect class=\"neck\" x=\"{left}\" y=\"{top}\" width=\"{}\" height=\"60\" rx=\"7\"/>\
                 <circle class=\"case\" {} cx=\"{x}\" cy=\"{y}\" r=\"{neck}\"/>",
                right - left,
                terminal.map(|case| of(harness, case)).unwrap_or_default()
            );
        }
        Mark::Strand { from, to, terminal } => {
            let ([x, top], [_, bottom]) = (point(*from), point(*to));
            let colour = lead_called(&harness.parts, *terminal).and_then(|called| Colour::named(&called));
            let path = format!("M{x} {top} V{bottom}");
            let _ = writeln!(svg, "<g {}>", of(harness, *terminal));
            strand(
                svg,
                &path,
                colour.as_ref().map_or("var(--slate)", |colour| colour.base),
                colour.and_then(|own| own.stripe),
            );
            svg.push_str("</g>\n");
        }
        Mark::Lug { .. } | Mark::Plates { .. } | Mark::Resistor { .. } => {}
    }
}

/// Draws what lies over the wires.
pub(super) fn over(svg: &mut String, mark: &Mark, harness: &Harness) {
    match mark {
        Mark::Lug { at, name, terminal } => {
            let [x, y] = point(*at);
            let words = name
                .as_ref()
                .map(|name| format!("<text x=\"{x}\" y=\"{}\">{}</text>", y + 4.6, Escaped(name)));
            let _ = writeln!(
                svg,
                "<g class=\"lug\" {}><rect x=\"{}\" y=\"{}\" width=\"24\" height=\"18\" rx=\"5\"/>{}</g>",
                of(harness, *terminal),
                x - 12.0,
                y - 9.0,
                words.unwrap_or_default()
            );
        }
        Mark::Plates { middle, legs } => {
            let [x, y] = point(*middle);
            let _ = writeln!(
                svg,
                "<path class=\"symbol\" d=\"M{} {y} H{} M{} {y} H{} M{} {} V{} M{} {} V{}\"/>",
                x - 50.0,
                x - 5.0,
                x + 5.0,
                x + 50.0,
                x - 5.0,
                y - 14.0,
                y + 14.0,
                x + 5.0,
                y - 14.0,
                y + 14.0
            );
            ends(svg, [x, y], *legs, harness);
        }
        Mark::Resistor { middle, legs } => {
            let [x, y] = point(*middle);
            let _ = writeln!(
                svg,
                "<path class=\"symbol\" d=\"M{} {y} H{} M{} {y} H{}\"/><rect class=\"symbol\" x=\"{}\" y=\"{}\" width=\"44\" \
                 height=\"16\"/>",
                x - 50.0,
                x - 22.0,
                x + 22.0,
                x + 50.0,
                x - 22.0,
                y - 8.0
            );
            ends(svg, [x, y], *legs, harness);
        }
        Mark::Body { .. } | Mark::Bar { .. } | Mark::Case { .. } | Mark::Strand { .. } => {}
    }
}

/// Draws where the legs of a part end and what leads on from them begins.
fn ends(svg: &mut String, [x, y]: [f64; 2], legs: [Terminal; 2], harness: &Harness) {
    for (x, leg) in [x - 50.0, x + 50.0].into_iter().zip(legs) {
        let _ = writeln!(svg, "<circle class=\"end\" {} cx=\"{x}\" cy=\"{y}\" r=\"3.5\"/>", of(harness, leg));
    }
}

pub(super) fn said(svg: &mut String, words: &Words) {
    let class = match words.style {
        Style::Name => "name",
        Style::Label => "label",
        Style::Detail => "detail",
    };
    let anchor = match words.anchor {
        Anchor::Start => "start",
        Anchor::Middle => "middle",
    };
    let [x, y] = [scaled(words.at[0]), scaled(words.at[1]) + words.style.size() * CELL * 0.36];
    let _ = writeln!(
        svg,
        "<text class=\"{class}\" x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"{anchor}\">{}</text>",
        Escaped(&words.text)
    );
}

pub(super) fn strand(svg: &mut String, path: &str, base: &str, stripe: Option<&str>) {
    let _ = write!(
        svg,
        "<path class=\"edge\" d=\"{path}\"/><path class=\"strand\" d=\"{path}\" stroke=\"{base}\"/>"
    );
    if let Some(stripe) = stripe {
        let _ = write!(svg, "<path class=\"stripe\" d=\"{path}\" stroke=\"{stripe}\"/>");
    }
    svg.push('\n');
}
