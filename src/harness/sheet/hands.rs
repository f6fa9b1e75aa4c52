//! What of a picture is taken hold of where the cavity is worked on by hand: every terminal, every wire, and every part that can
//! be moved. They lie over the picture, and are told in words to those who do not see it.

use std::fmt::Write;

use super::board::{Board, Standing};
use super::footprint::{Footprint, Mark};
use super::marks::{CELL, of, point, scaled};
use super::picture::{corners_of, path_of};
use crate::harness::{Harness, Terminal, Wire};
use crate::markup::Escaped;

/// Half the room, in pixels, around a lug that counts as the lug: neighbours are five cells apart.
const REACH: f64 = 22.0;

/// A terminal on the picture: its point, and what counts as it.
struct Target {
    terminal: Terminal,
    at: [f64; 2],
    shape: Shape,
}

/// What counts as a terminal.
enum Shape {
    Round {
        radius: f64,
    },
    /// To the left and above, and to the right and below its point.
    Rect([f64; 4]),
}

/// Returns what is taken hold of, to be laid over the picture of `board`.
pub(super) fn hands(harness: &Harness, board: &Board, wires: &[Wire], labels: &[String]) -> String {
    let mut svg = String::from("<g class=\"hands\">\n");
    for ((wire, label), drawn) in wires.iter().zip(labels).zip(&board.drawn) {
        let [one, other] = wire.map(|end| harness.parts.name_of(end));
        let path = corners_of(drawn).map(|corners| path_of(&corners)).unwrap_or_default();
        let _ = writeln!(
            svg,
            "<path class=\"reach\" d=\"{path}\" data-one=\"{}\" data-other=\"{}\" data-number=\"{}\"/>",
            Escaped(&one),
            Escaped(&other),
            Escaped(label)
        );
    }
    let targets = board.footprints.iter().flat_map(reached);
    for (place, target) in targets.enumerate() {
        let there = there(harness, wires, labels, target.terminal);
        target.draw(&mut svg, harness, &there, place == 0);
    }
    for (place, own) in board.standing.iter().enumerate() {
        movable(&mut svg, harness, own, place == 0);
    }
    svg + "</g>\n"
}

fn movable(svg: &mut String, harness: &Harness, own: &Standing, is_first: bool) {
    let name = harness.parts.all()[own.part].name();
    let [[left, top], [right, bottom]] = [point(own.bounds.from), point(own.bounds.to)];
    let [across, down] = own.mm;
    let _ = writeln!(
        svg,
        "<rect class=\"movable\" id=\"part-{name}\" role=\"button\" tabindex=\"{}\" aria-pressed=\"false\" data-name=\"{name}\" \
         aria-label=\"{name}: {across:.0} mm to the right, {down:.0} mm down\" data-x=\"{}\" data-y=\"{}\" x=\"{left}\" y=\"{top}\" \
         width=\"{}\" height=\"{}\" rx=\"10\"/>",
        if is_first { "0" } else { "-1" },
        f64::midpoint(left, right),
        f64::midpoint(top, bottom),
        right - left,
        bottom - top,
        name = Escaped(name)
    );
}

/// Returns in words what is soldered to a terminal.
fn there(harness: &Harness, wires: &[Wire], labels: &[String], terminal: Terminal) -> String {
    let on = wires.iter().zip(labels).filter(|(wire, _)| wire.contains(&terminal));
    let told = on.map(|(wire, label)| {
        let other = if wire[0] == terminal { wire[1] } else { wire[0] };
        format!("wire {label} to {}", harness.parts.the(other))
    });
    let told: Vec<String> = told.collect();
    if told.is_empty() { "nothing".to_owned() } else { told.join(", ") }
}

/// Returns the terminals of a part.
fn reached(print: &Footprint) -> Vec<Target> {
    let target = |terminal, at, shape| Target { terminal, at, shape };
    let each = print.marks.iter().flat_map(|mark| match mark {
        Mark::Body { .. } => Vec::new(),
        Mark::Case { middle, radius, terminal } => {
            let radius = radius * CELL;
            terminal.map(|case| target(case, point(*middle), Shape::Round { radius })).into_iter().collect()
        }
        Mark::Bar { middle, half, terminal } => {
            let [w, h] = half.map(|half| half * CELL);
            let h = h.max(18.0);
            vec![target(*terminal, middle.map(scaled), Shape::Rect([w, h, w, h]))]
        }
        Mark::Strand { from, to, terminal } => {
            let above = point(*to)[1] - point(*from)[1] + 36.0;
            vec![target(*terminal, point(*to), Shape::Rect([REACH, above, REACH, REACH]))]
        }
        Mark::Lug { at, terminal, .. } => vec![target(*terminal, point(*at), Shape::Rect([REACH; 4]))],
        Mark::Plates { middle, legs } | Mark::Resistor { middle, legs } => {
            let [x, y] = point(*middle);
            let leg = |(leg, x): (&Terminal, f64)| target(*leg, [x, y], Shape::Rect([REACH; 4]));
            legs.iter().zip([x - 50.0, x + 50.0]).map(leg).collect()
        }
    });
    each.collect()
}

impl Target {
    /// Draws it; by the tabulator key one comes to the first, and from there by the arrow keys to the others.
    fn draw(&self, svg: &mut String, harness: &Harness, there: &str, is_first: bool) {
        let Self { terminal, at: [x, y], shape } = self;
        let parts = &harness.parts;
        let words = parts.the(*terminal);
        let lead = if parts.is_lead(*terminal) { " data-lead" } else { "" };
        let hit = match shape {
            Shape::Round { radius } => format!("<circle cx=\"{x}\" cy=\"{y}\" r=\"{radius}\"/>"),
            Shape::Rect([left, above, right, below]) => format!(
                "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" rx=\"8\"/>",
                x - left,
                y - above,
                left + right,
                above + below
            ),
        };
        let _ = writeln!(
            svg,
            "<g class=\"target\" id=\"at-{}\" role=\"button\" tabindex=\"{}\" aria-pressed=\"false\" {} data-x=\"{x}\" \
             data-y=\"{y}\" data-words=\"{words}\"{lead} aria-label=\"{words}: {}\">{hit}</g>",
            Escaped(&parts.name_of(*terminal)),
            if is_first { "0" } else { "-1" },
            of(harness, *terminal),
            Escaped(there),
            words = Escaped(&words),
        );
    }
}
