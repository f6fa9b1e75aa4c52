//! The switch drawn from behind: lugs, the wires that leave each, and the jumpers between.
//!
//! Every wire is a short stub that ends at its own label beside the switch, so no wire crosses another or a label;
//! only jumpers run inside the outline.

use std::fmt::Write;

use super::colour::Colour;
use crate::lugs::Labels;
use crate::markup::{Escaped, shortened};
use crate::wiring::{Lug, Plan, Soldering, Switch, SwitchPole, Terminal, Thing, Throw};

/// The drawing's width, in units that are pixels at full size.
const WIDTH: f64 = 480.0;
/// Where the columns of one and of two poles stand.
const COLUMNS: [&[f64]; 2] = [&[240.0], &[188.0, 292.0]];
/// Half a lug's width and height.
const LUG: (f64, f64) = (21.0, 14.0);
/// How far a stub reaches out of its lug's centre, and its label beyond.
const STUB: f64 = 56.0;
/// The height of a label.
const LABEL: f64 = 42.0;
/// The space between rows of lugs, beyond their labels.
const GAP: f64 = 16.0;
/// Space above the first row: the outline's own, and the mark of the top.
const ABOVE: f64 = 34.0;
/// The room for a label, in ems of the largest type that the style sheet has for it; the table beside the drawing has the
/// whole.
const ROOM: f64 = 6.8;

/// Which side of the switch a wire leaves to.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Side {
    Left,
    Right,
}

/// Returns the drawing of a plan's switch.
pub(super) fn switch(plan: &Plan, labels: &Labels) -> String {
    let switch = plan.switch();
    let soldering = plan.soldering();
    let places = Places::new(switch, &soldering);
    let bottom = places.bottom;
    let spliced_heights: Vec<f64> = soldering.splices.iter().map(|wires| splice_height(wires)).collect();
    let height = bottom + spliced_heights.iter().sum::<f64>() + 8.0;
    let mut svg = format!(
        "<svg class=\"switch\" viewBox=\"0 0 {WIDTH} {height}\" role=\"img\" aria-label=\"The switch from behind \
         with its wires; the table says the same in words\">\n"
    );
    let columns = places.columns;
    let (left, right) = (columns[0] - LUG.0 - 14.0, columns[columns.len() - 1] + LUG.0 + 14.0);
    let _ = writeln!(
        svg,
        "<rect class=\"body\" x=\"{left}\" y=\"{}\" width=\"{}\" height=\"{}\" rx=\"12\"/>\
         <text class=\"top\" x=\"{}\" y=\"12\" text-anchor=\"middle\">▲ top</text>",
        ABOVE - 16.0,
        right - left,
        bottom - ABOVE + 16.0,
        f64::midpoint(left, right)
    );
    for [one, other] in &soldering.jumpers {
        svg += &jumper(places.at(*one), places.at(*other));
    }
    for lug in switch.lugs() {
        let (x, y) = places.at(lug);
        for side in [Side::Left, Side::Right] {
            let wires: Vec<Thing> = places.wires_to(side, lug, &soldering).collect();
            for (i, wire) in wires.iter().enumerate() {
                let end = y + (i as f64 - (wires.len() as f64 - 1.0) / 2.0) * LABEL;
                svg += &stub((x, y), end, side, STUB, *wire, labels);
            }
        }
        svg += &eyelet((x, y), switch.name_of(lug), switch.is_common(lug));
    }
    let mut above = bottom;
    for (splice, height) in soldering.splices.iter().zip(spliced_heights) {
        svg += &spliced(splice, above + height / 2.0, labels);
        above += height;
    }
    svg + "</svg>"
}

/// Returns a small picture of the contacts that a throw closes.
pub(super) fn contacts(switch: &Switch, throw: &Throw) -> String {
    const STEP: f64 = 26.0;
    let at = |lug: Lug| {
        let row = |pole: &SwitchPole| pole.lugs().iter().position(|own| *own == lug);
        let place = switch.poles().iter().enumerate().find_map(|(p, pole)| row(pole).map(|row| (p, row)));
        let (pole, row) = place.unwrap_or((0, 0));
        (18.0 + 30.0 * pole as f64, 14.0 + STEP * row as f64)
    };
    let rows = switch.poles().iter().map(|pole| pole.lugs().len()).max().unwrap_or(0);
    let (width, height) =
        (36.0 + 30.0 * (switch.poles().len() as f64 - 1.0), 28.0 + STEP * (rows as f64 - 1.0));
    let mut svg = format!(
        "<svg class=\"contacts\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" height=\"{height}\" \
         aria-hidden=\"true\"><rect class=\"body\" x=\"1\" y=\"1\" width=\"{}\" height=\"{}\" rx=\"7\"/>",
        width - 2.0,
        height - 2.0
    );
    for contact in throw.contacts() {
        let [(x1, y1), (x2, y2)] = contact.map(at);
        let _ = write!(svg, "<line class=\"closed\" x1=\"{x1}\" y1=\"{y1}\" x2=\"{x2}\" y2=\"{y2}\"/>");
    }
    for lug in switch.lugs() {
        let (x, y) = at(lug);
        let joined = throw.contacts().iter().any(|contact| contact.contains(&lug));
        let class = if joined { "joined" } else { "apart" };
        let _ = write!(svg, "<circle class=\"{class}\" cx=\"{x}\" cy=\"{y}\" r=\"5\"/>");
    }
    svg + "</svg>"
}

/// Where the lugs stand.
struct Places<'s> {
    columns: &'static [f64],
    centres: Vec<(f64, f64)>,
    sides: Vec<Side>,
    bottom: f64,
    switch: &'s Switch,
}

impl<'s> Places<'s> {
    /// Lays the rows out.
    fn new(switch: &'s Switch, soldering: &Soldering) -> Self {
        let poles = switch.poles();
        let columns = COLUMNS[poles.len().clamp(1, COLUMNS.len()) - 1];
        let mut places = Self {
            columns,
            centres: vec![(0.0, 0.0); switch.lug_names().len()],
            sides: vec![Side::Left; switch.lug_names().len()],
            bottom: ABOVE,
            switch,
        };
        let rows = poles.iter().map(|pole| pole.lugs().len()).max().unwrap_or(0);
        for (pole, column) in poles.iter().zip(columns) {
            for lug in pole.lugs() {
                places.centres[lug.index()].0 = *column;
                let is_right = *column > WIDTH / 2.0;
                places.sides[lug.index()] = if is_right { Side::Right } else { Side::Left };
            }
        }
        // Every row is as high as the fullest, so that the lugs are spaced as on a switch.
        let labels = |lug: Lug| {
            [Side::Left, Side::Right]
                .map(|side| places.wires_to(side, lug, soldering).count())
                .into_iter()
                .max()
        };
        let most = switch.lugs().filter_map(labels).max().unwrap_or(0).max(1);
        let height = LABEL * most as f64 + GAP;
        for pole in poles {
            for (row, lug) in pole.lugs().iter().enumerate() {
                places.centres[lug.index()].1 = ABOVE + height * (row as f64 + 0.5);
            }
        }
        places.bottom = ABOVE + height * rows as f64;
        places
    }

    fn at(&self, lug: Lug) -> (f64, f64) {
        self.centres[lug.index()]
    }

    /// Returns the wires of `lug` that leave to `side`: beside two columns each column's to its own side, beside
    /// one the coils' to the left and the others to the right.
    fn wires_to<'p>(
        &'p self,
        side: Side,
        lug: Lug,
        soldering: &'p Soldering,
    ) -> impl Iterator<Item = Thing> + 'p {
        let alone = self.switch.poles().len() == 1;
        let leaves = move |wire: &Thing| {
            let own = if alone { side_of(*wire) } else { self.sides[lug.index()] };
            own == side
        };
        soldering.at_lug[lug.index()].iter().copied().filter(leaves)
    }
}

/// Returns the side to which a wire leaves where it may choose.
fn side_of(wire: Thing) -> Side {
    match wire {
        Thing::Terminal(end) if end.coil().is_some() => Side::Left,
        Thing::Terminal(_) | Thing::Shield | Thing::Lug(_) => Side::Right,
    }
}

fn eyelet((x, y): (f64, f64), name: &str, is_common: bool) -> String {
    let class = if is_common { "lug common" } else { "lug" };
    format!(
        "<g class=\"{class}\"><rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" rx=\"9\"/>\
         <text x=\"{x}\" y=\"{}\" text-anchor=\"middle\">{}</text></g>\n",
        x - LUG.0,
        y - LUG.1,
        2.0 * LUG.0,
        2.0 * LUG.1,
        y + 5.0,
        Escaped(name)
    )
}

/// Returns a wire from a point to its label at the height `end`.
fn stub((x, y): (f64, f64), end: f64, side: Side, reach: f64, wire: Thing, labels: &Labels) -> String {
    let (sign, anchor) = match side {
        Side::Left => (-1.0, "end"),
        Side::Right => (1.0, "start"),
    };
    let (from, to) = (x + sign * (LUG.0 - 6.0), x + sign * reach);
    let middle = f64::midpoint(from, to);
    let path = format!("M{from} {y} C{middle} {y} {middle} {end} {to} {end}");
    let (title, detail) = words(wire, labels);
    let at = to + sign * 9.0;
    format!(
        "{}<text class=\"wire\" x=\"{at}\" y=\"{}\" text-anchor=\"{anchor}\">{}</text>\
         <text class=\"detail\" x=\"{at}\" y=\"{}\" text-anchor=\"{anchor}\">{}</text>\n",
        strand(&path, Colour::of(wire, lead(wire, labels))),
        end,
        Escaped(&title),
        end + 15.0,
        Escaped(&detail)
    )
}

fn lead(wire: Thing, labels: &Labels) -> Option<&str> {
    match wire {
        Thing::Terminal(end) => labels.lead(end),
        Thing::Shield | Thing::Lug(_) => None,
    }
}

/// Returns a wire's name and what it is.
fn words(wire: Thing, labels: &Labels) -> (String, String) {
    let Thing::Terminal(end) = wire else { return ("shield".to_owned(), "stays on ground".to_owned()) };
    let Some(coil) = end.coil() else {
        let to = if end == Terminal::Hot { "to the controls" } else { "to a pot’s case" };
        return (end.name().to_owned(), to.to_owned());
    };
    let name = labels.end(end);
    // The ends are named by the coil's letter and `+`, `-`, `-start` or `-finish`.
    let which = match name.get(1..).unwrap_or_default() {
        "-" => "−",
        "+" => "+",
        word => word.trim_start_matches('-'),
    };
    let title = labels.lead(end).unwrap_or(name);
    (shortened(title, ROOM), format!("{coil} {which}"))
}

/// Returns a wire: a dark edge, the insulation, and its stripe.
fn strand(path: &str, colour: Colour) -> String {
    let stripe = match colour.stripe {
        Some(stripe) => format!("<path class=\"stripe\" d=\"{path}\" stroke=\"{stripe}\"/>"),
        None => String::new(),
    };
    format!(
        "<path class=\"edge\" d=\"{path}\"/><path class=\"strand\" d=\"{path}\" stroke=\"{}\"/>{stripe}",
        colour.base
    )
}

/// Returns a jumper between two lugs' inner edges.
fn jumper((x1, y1): (f64, f64), (x2, y2): (f64, f64)) -> String {
    let is_one_column = (x1 - x2).abs() < 1.0;
    let inner = |x: f64| if x > WIDTH / 2.0 { -1.0 } else { 1.0 };
    let (a, b) = (x1 + inner(x1) * (LUG.0 - 4.0), x2 + inner(x2) * (LUG.0 - 4.0));
    // In one column it arches past the lugs between; across, it swings from one to the other.
    let reach = if is_one_column { 40.0 } else { 46.0 };
    let (c, d) = (a + inner(x1) * reach, b + inner(x2) * reach);
    let path = format!("M{a} {y1} C{c} {y1} {d} {y2} {b} {y2}");
    format!("<path class=\"edge\" d=\"{path}\"/><path class=\"jumper\" d=\"{path}\"/>\n")
}

/// Returns the height that a splice takes: the labels of its fuller side, or its own.
fn splice_height(wires: &[Thing]) -> f64 {
    let left = wires.iter().filter(|wire| side_of(**wire) == Side::Left).count();
    let most = left.max(wires.len() - left).max(1);
    LABEL * most as f64 + 2.0 * GAP
}

/// Returns wires that are joined to one another off the switch, at the height `y`.
fn spliced(wires: &[Thing], y: f64, labels: &Labels) -> String {
    let mut svg = String::new();
    let x = WIDTH / 2.0;
    for side in [Side::Left, Side::Right] {
        let own: Vec<Thing> = wires.iter().copied().filter(|wire| side_of(*wire) == side).collect();
        for (i, wire) in own.iter().enumerate() {
            let end = y + (i as f64 - (own.len() as f64 - 1.0) / 2.0) * LABEL;
            svg += &stub((x, y), end, side, STUB + 30.0, *wire, labels);
        }
    }
    svg + &format!(
        "<circle class=\"splice\" cx=\"{x}\" cy=\"{y}\" r=\"7\"/>\
         <text class=\"detail\" x=\"{x}\" y=\"{}\" text-anchor=\"middle\">off the switch</text>\n",
        y + 26.0
    )
}
