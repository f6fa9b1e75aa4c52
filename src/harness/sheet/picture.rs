//! The picture of a cavity as SVG: wires first, then the parts over them, then their numbers.

use std::fmt::Write;

use super::badges::{BADGE, badges};
use super::board::Board;
use super::drawn::Drawn;
use super::grid::Cell;
use super::hands::hands;
use super::marks::{CELL, over, point, said, scaled, strand, under};
use super::route::Way;
use crate::harness::called::lead_called;
use crate::harness::union::Union;
use crate::harness::{Harness, PartKind, Terminal, Wire};
use crate::lugs::Colour;
use crate::markup::Escaped;

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
    painted(harness, &Board::of(harness, wires), wires, labels, told, "role=\"img\"", "")
}

/// Returns the picture of these wires as it is worked on by hand, its parts as they would lie with the wires `laid_by`.
pub(super) fn picture_by_hand(
    harness: &Harness,
    laid_by: &[Wire],
    wires: &[Wire],
    labels: &[String],
    told: &str,
) -> Picture {
    let board = Board::laid_by(harness, laid_by, wires);
    let hands = hands(harness, &board, wires, labels);
    painted(harness, &board, wires, labels, told, "role=\"group\" data-hands", &hands)
}

fn painted(
    harness: &Harness,
    board: &Board,
    wires: &[Wire],
    labels: &[String],
    told: &str,
    role: &str,
    hands: &str,
) -> Picture {
    let [width, height] = [board.width, board.height].map(|cells| f64::from(cells) * CELL);
    let mut svg = format!(
        "<svg class=\"cavity\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" height=\"{height}\" {role} \
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
    for (place, at) in badges(board).into_iter().enumerate() {
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
    Picture { svg: svg + hands + "</svg>", left }
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

/// Returns the corners of a wire, where it is drawn.
pub(super) fn corners_of(drawn: &Drawn) -> Option<Vec<Cell>> {
    match drawn {
        Drawn::Left => None,
        Drawn::Bent { lug, case } => Some(vec![*lug, *case]),
        Drawn::Led(way) => Some(corners(way)),
    }
}

/// Returns the path from corner to corner.
pub(super) fn path_of(corners: &[Cell]) -> String {
    corners.iter().enumerate().fold(String::new(), |mut path, (place, cell)| {
        let [x, y] = point(*cell);
        let _ = write!(path, "{}{x} {y}", if place == 0 { "M" } else { " L" });
        path
    })
}

fn wire_drawn(svg: &mut String, harness: &Harness, drawn: &Drawn, wire: Wire, nets: &Nets, label: &str) {
    let Some(corners) = corners_of(drawn) else { return };
    let path = path_of(&corners);
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
