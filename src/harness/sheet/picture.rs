//! The picture of a cavity as SVG: wires first, then the parts over them, then their numbers.

use std::fmt::Write;

use super::board::{Board, Drawn};
use super::footprint::{Anchor, Mark, Style, Words};
use super::grid::Cell;
use super::route::Way;
use crate::harness::called::lead_called;
use crate::harness::union::Union;
use crate::harness::{Harness, PartKind, Terminal, Wire};
use crate::lugs::Colour;
use crate::markup::Escaped;

/// Pixels to a cell.
const CELL: f64 = 10.0;
/// A number's disc, in cells.
const BADGE: f64 = 0.85;
/// No number is nearer to another wire's lug than this.
const CLEAR_OF_LUGS: f64 = 1.9 + BADGE;
/// Nor nearer to a lug of its own wire.
const CLEAR_OF_OWN: f64 = 2.0;
/// The tints of nets whose wires have no colour of a person's: of differing lightness, so that grey tells them apart too.
const TINTS: [&str; 6] = ["#b5622a", "#3568a8", "#3f8a4d", "#c7a24a", "#7d569b", "#3fa3a0"];

/// How a wire is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Look {
    Ground,
    Leg,
    Signal,
}

/// A picture, with what it could not show.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Picture {
    pub(super) svg: String,
    /// The labels of the wires that are not drawn.
    pub(super) left: Vec<String>,
}

/// Returns the picture of these wires, each with its label.
pub(super) fn picture(harness: &Harness, wires: &[Wire], labels: &[String], told: &str) -> Picture {
    let board = Board::of(harness, wires);
    let [width, height] = [board.width, board.height].map(|cells| f64::from(cells) * CELL);
    let mut svg = format!(
        "<svg class=\"cavity\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" height=\"{height}\" role=\"img\" \
         aria-label=\"{}\" data-crossings=\"{}\">\n",
        Escaped(told),
        board.crossings()
    );
    let nets = Nets::of(harness, wires);
    for print in &board.footprints {
        for mark in &print.marks {
            under(&mut svg, mark, harness);
        }
    }
    for (place, wire) in wires.iter().enumerate() {
        wire_drawn(&mut svg, harness, &board.drawn[place], *wire, &nets, &labels[place]);
    }
    for print in &board.footprints {
        for mark in &print.marks {
            over(&mut svg, mark, harness);
        }
        for words in &print.words {
            said(&mut svg, words);
        }
    }
    for (place, at) in badges(&board).into_iter().enumerate() {
        if let Some([x, y]) = at {
            let [x, y] = [x, y].map(scaled);
            let _ = writeln!(
                svg,
                "<g class=\"badge\"><circle cx=\"{x}\" cy=\"{y}\" r=\"{}\"/><text x=\"{x}\" y=\"{}\">{}</text></g>",
                BADGE * CELL,
                y + 4.0,
                Escaped(&labels[place])
            );
        }
    }
    let is_left = |place: &usize| board.drawn[*place] == Drawn::Left;
    let left = (0..wires.len()).filter(is_left).map(|place| labels[place].clone()).collect();
    Picture { svg: svg + "</svg>", left }
}

/// What wires join, and in which tint.
struct Nets {
    solder: Union,
    sleeve: usize,
    /// The nets but ground, in the order in which they are met.
    met: Vec<usize>,
}

impl Nets {
    fn of(harness: &Harness, wires: &[Wire]) -> Self {
        let mut solder = Union::apart(harness.parts.len());
        for [one, other] in wires {
            solder.join(one.index(), other.index());
        }
        let sleeve = harness.parts.jack()[1].index();
        let mut met = Vec::new();
        for [one, _] in wires {
            let net = solder.least(one.index());
            if !solder.joins(net, sleeve) && !met.contains(&net) {
                met.push(net);
            }
        }
        Self { solder, sleeve, met }
    }

    fn look(&self, harness: &Harness, wire: Wire) -> Look {
        let is_leg = |end: &Terminal| matches!(harness.parts.part_of(*end).kind(), PartKind::TwoLegs(..));
        if wire.iter().any(is_leg) {
            Look::Leg
        } else if self.solder.joins(wire[0].index(), self.sleeve) {
            Look::Ground
        } else {
            Look::Signal
        }
    }

    fn tint(&self, wire: Wire) -> &'static str {
        let net = self.solder.least(wire[0].index());
        let place = self.met.iter().position(|own| *own == net).unwrap_or(0);
        TINTS[place % TINTS.len()]
    }
}

fn scaled(cells: f64) -> f64 {
    (cells + 0.5) * CELL
}

fn point(cell: Cell) -> [f64; 2] {
    [cell.x, cell.y].map(|cells| scaled(f64::from(cells)))
}

/// Returns the attribute by which what is drawn says which terminal it is.
fn of(harness: &Harness, terminal: Terminal) -> String {
    format!("data-terminal=\"{}\"", Escaped(&harness.parts.name_of(terminal)))
}

/// Draws what lies below the wires.
fn under(svg: &mut String, mark: &Mark, harness: &Harness) {
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
fn over(svg: &mut String, mark: &Mark, harness: &Harness) {
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

fn said(svg: &mut String, words: &Words) {
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

fn strand(svg: &mut String, path: &str, base: &str, stripe: Option<&str>) {
    let _ = write!(
        svg,
        "<path class=\"edge\" d=\"{path}\"/><path class=\"strand\" d=\"{path}\" stroke=\"{base}\"/>"
    );
    if let Some(stripe) = stripe {
        let _ = write!(svg, "<path class=\"stripe\" d=\"{path}\" stroke=\"{stripe}\"/>");
    }
    svg.push('\n');
}

/// Returns the corners of a way, its solder points at both ends.
fn corners(way: &Way) -> Vec<Cell> {
    let mut all = vec![way.from.dot];
    all.extend(way.cells.iter().copied());
    all.push(way.to.dot);
    all.dedup();
    let mut corners = vec![all[0]];
    for three in all.windows(3) {
        let is_straight =
            three.iter().all(|cell| cell.x == three[0].x) || three.iter().all(|cell| cell.y == three[0].y);
        if !is_straight {
            corners.push(three[1]);
        }
    }
    corners.extend(all.last());
    corners
}

fn wire_drawn(svg: &mut String, harness: &Harness, drawn: &Drawn, wire: Wire, nets: &Nets, label: &str) {
    let corners = match drawn {
        Drawn::Left => return,
        Drawn::Bent { lug, case } => vec![*lug, *case],
        Drawn::Led(way) => corners(way),
    };
    let path: String = corners.iter().enumerate().fold(String::new(), |mut path, (place, cell)| {
        let [x, y] = point(*cell);
        let _ = write!(path, "{}{x} {y}", if place == 0 { "M" } else { " L" });
        path
    });
    let _ = writeln!(
        svg,
        "<g class=\"wire\" data-wire=\"{}\"><path class=\"halo\" d=\"{path}\"/>",
        Escaped(label)
    );
    match nets.look(harness, wire) {
        Look::Ground => {
            let _ = writeln!(svg, "<path class=\"ground\" d=\"{path}\"/>");
        }
        Look::Leg => {
            let _ = writeln!(svg, "<path class=\"leg\" d=\"{path}\"/>");
        }
        Look::Signal => {
            let called = wire.iter().find_map(|end| lead_called(&harness.parts, *end));
            let colour = called.and_then(|called| Colour::named(&called));
            let base = colour.as_ref().map_or_else(|| nets.tint(wire), |colour| colour.base);
            strand(svg, &path, base, colour.and_then(|own| own.stripe));
        }
    }
    for (end, cell) in wire.iter().zip([corners.first(), corners.last()]) {
        let is_on_metal = harness.parts.is_metal(*end) && !harness.parts.is_lead(*end);
        // The first corner is at the wire's first end, but where a lug is bent to its case.
        let cell = match drawn {
            Drawn::Bent { lug, case } => Some(if is_on_metal { case } else { lug }),
            Drawn::Led(_) | Drawn::Left => cell,
        };
        if let (true, Some(cell)) = (is_on_metal, cell) {
            let [x, y] = point(*cell);
            let _ = writeln!(svg, "<circle class=\"solder\" cx=\"{x}\" cy=\"{y}\" r=\"5\"/>");
        }
    }
    let is_splice = wire.iter().all(|end| harness.parts.is_lead(*end));
    if let (true, Some([x, y])) = (is_splice, middle(&corners)) {
        let _ = writeln!(svg, "<ellipse class=\"splice\" cx=\"{x}\" cy=\"{y}\" rx=\"13\" ry=\"5\"/>");
    }
    svg.push_str("</g>\n");
}

/// Returns a point near the middle of a way, in pixels.
fn middle(corners: &[Cell]) -> Option<[f64; 2]> {
    let longest = corners.windows(2).max_by_key(|pair| pair[0].steps_to(pair[1]))?;
    let [one, other] = [point(longest[0]), point(longest[1])];
    Some([f64::midpoint(one[0], other[0]), f64::midpoint(one[1], other[1])])
}

/// Returns where the number of each wire stands: on it, clear of lugs, words, solder and other numbers, and clear of other
/// wires where there is room.
fn badges(board: &Board) -> Vec<Option<[f64; 2]>> {
    let cells: Vec<Vec<Cell>> = board
        .drawn
        .iter()
        .map(|drawn| match drawn {
            Drawn::Left => Vec::new(),
            Drawn::Bent { lug, case } => (lug.y..=case.y).map(|y| Cell::new(lug.x, y)).collect(),
            Drawn::Led(way) => way.cells.clone(),
        })
        .collect();
    let near = |[x, y]: [f64; 2], cell: Cell| (x - f64::from(cell.x)).hypot(y - f64::from(cell.y));
    let spots =
        board.footprints.iter().flat_map(|print| print.spots.iter().filter(|spot| spot.kept.is_some()));
    let lugs: Vec<Cell> = spots.map(|spot| spot.gates[0].dot).collect();
    let of_wire = |wire: usize, lug: &Cell| match &board.drawn[wire] {
        Drawn::Left => false,
        Drawn::Bent { lug: own, .. } => own == lug,
        Drawn::Led(way) => [way.from.dot, way.to.dot].contains(lug),
    };
    let words: Vec<[f64; 4]> =
        board.footprints.iter().flat_map(|print| print.words.iter().map(Words::room)).collect();
    let off_words = |[x, y]: [f64; 2]| {
        words.iter().all(|[left, top, right, bottom]| {
            x + BADGE < *left || x - BADGE > *right || y + BADGE < *top || y - BADGE > *bottom
        })
    };
    let mut placed: Vec<Option<[f64; 2]>> = vec![None; cells.len()];
    // The shortest have least choice.
    let mut order: Vec<usize> = (0..cells.len()).collect();
    order.sort_by_key(|wire| (cells[*wire].len(), *wire));
    for wire in order {
        let own = &cells[wire];
        let count = own.len();
        let mut best: Option<(u32, usize, [f64; 2])> = None;
        let centres = own.iter().map(|cell| [f64::from(cell.x), f64::from(cell.y)]);
        let between = own.windows(2).map(|pair| {
            let [one, other] = [pair[0], pair[1]];
            [
                f64::midpoint(f64::from(one.x), f64::from(other.x)),
                f64::midpoint(f64::from(one.y), f64::from(other.y)),
            ]
        });
        for (place, at) in centres.enumerate().chain(between.enumerate()) {
            let is_clear = |lug: &Cell| {
                let room = if of_wire(wire, lug) { CLEAR_OF_OWN } else { CLEAR_OF_LUGS };
                near(at, *lug) >= room
            };
            if !lugs.iter().all(is_clear) || !off_words(at) {
                continue;
            }
            if placed
                .iter()
                .flatten()
                .any(|other| (at[0] - other[0]).hypot(at[1] - other[1]) < 2.0 * BADGE + 0.2)
            {
                continue;
            }
            let others =
                cells.iter().enumerate().filter(|(other, _)| *other != wire).flat_map(|(_, cells)| cells);
            let closest = others.map(|other| near(at, *other)).fold(f64::INFINITY, f64::min);
            let crowded = if closest < 0.9 { 2 } else { u32::from(closest < 1.4) };
            let off_middle = place.abs_diff(count / 2);
            if crowded < 2 && best.is_none_or(|(least, far, _)| (crowded, off_middle) < (least, far)) {
                best = Some((crowded, off_middle, at));
            }
        }
        placed[wire] = best.map(|(_, _, at)| at);
    }
    placed
}
