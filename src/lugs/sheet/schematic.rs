//! A small schematic of what lies between hot and ground.

use std::fmt::Write;

use crate::wiring::Terminal::Hot;
use crate::wiring::{CoilName, CoilsJoined, Connection, Function, Sense, Unused};

const WIDTH: f64 = 210.0;
const HEIGHT: f64 = 92.0;
/// The ends of the line from hot to ground.
const ENDS: (f64, f64) = (22.0, 188.0);
/// Half a coil's length.
const COIL: f64 = 26.0;

/// Returns the schematic of a connection.
pub(super) fn schematic(connection: Connection) -> String {
    let middle = f64::midpoint(ENDS.0, ENDS.1);
    let mut svg = format!(
        "<svg class=\"schematic\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" width=\"{WIDTH}\" height=\"{HEIGHT}\" \
         aria-hidden=\"true\">"
    );
    let y = match Function::of(&connection) {
        Function::Muted => {
            svg += &line((ENDS.0, 46.0), (ENDS.1, 46.0));
            svg += &note(middle, 36.0, "hot on ground");
            46.0
        }
        Function::Dead => {
            svg += &line((ENDS.0, 46.0), (middle - 16.0, 46.0));
            svg += &line((middle + 16.0, 46.0), (ENDS.1, 46.0));
            svg += &note(middle, 36.0, "nothing between");
            46.0
        }
        Function::OneCoil { coil, sense, other } => {
            svg += &branch(30.0, &[(coil, sense, middle)]);
            svg += &unused(coil.other(), other);
            30.0
        }
        Function::TwoCoils { joined: CoilsJoined::Series, a, b } => {
            let first =
                if connection.joins(Hot, CoilName::A.plus()) || connection.joins(Hot, CoilName::A.minus()) {
                    [(CoilName::A, a), (CoilName::B, b)]
                } else {
                    [(CoilName::B, b), (CoilName::A, a)]
                };
            let places = [middle - 40.0, middle + 40.0];
            let coils = [0, 1].map(|i| (first[i].0, first[i].1, places[i]));
            svg += &branch(46.0, &coils);
            46.0
        }
        Function::TwoCoils { joined: CoilsJoined::Parallel, a, b } => {
            for (coil, sense, y) in [(CoilName::A, a, 28.0), (CoilName::B, b, 70.0)] {
                svg += &coil_symbol(coil, sense, middle, y);
                for (end, sign) in [(middle - 52.0, -1.0), (middle + 52.0, 1.0)] {
                    svg += &line((middle + sign * COIL, y), (end, y));
                    svg += &line((end, y), (end, 46.0));
                }
            }
            svg += &line((ENDS.0, 46.0), (middle - 52.0, 46.0));
            svg += &line((middle + 52.0, 46.0), (ENDS.1, 46.0));
            46.0
        }
    };
    svg += &terminals(y);
    svg + "</svg>"
}

/// Returns hot's dot and ground's symbol at the ends of the line at `y`.
fn terminals(y: f64) -> String {
    let mut svg = format!(
        "<circle class=\"joined\" cx=\"{0}\" cy=\"{y}\" r=\"3.5\"/><text class=\"detail\" x=\"{0}\" y=\"{1}\" \
         text-anchor=\"middle\">hot</text>",
        ENDS.0 - 4.0,
        y + 18.0
    );
    svg += &line((ENDS.1, y), (ENDS.1, y + 8.0));
    for (i, half) in [9.0, 6.0, 3.0].into_iter().enumerate() {
        let at = y + 8.0 + 4.0 * i as f64;
        svg += &line((ENDS.1 - half, at), (ENDS.1 + half, at));
    }
    svg
}

/// Returns coils one after the other on the line at `y`.
fn branch(y: f64, coils: &[(CoilName, Sense, f64)]) -> String {
    let mut svg = String::new();
    let mut from = ENDS.0;
    for (coil, sense, x) in coils {
        svg += &line((from, y), (x - COIL, y));
        svg += &coil_symbol(*coil, *sense, *x, y);
        from = x + COIL;
    }
    svg + &line((from, y), (ENDS.1, y))
}

/// Returns a coil's four humps with its letter above and a + at its + end; hot is to the left.
fn coil_symbol(coil: CoilName, sense: Sense, x: f64, y: f64) -> String {
    let mut path = format!("M{} {y}", x - COIL);
    for _ in 0..4 {
        let _ = write!(path, " a{0} {0} 0 0 1 {1} 0", COIL / 4.0, COIL / 2.0);
    }
    let plus = match sense {
        Sense::Upright => x - COIL - 6.0,
        Sense::Turned => x + COIL + 6.0,
    };
    format!(
        "<path class=\"coil\" d=\"{path}\"/><text class=\"letter\" x=\"{x}\" y=\"{}\" text-anchor=\"middle\">{}</text>\
         <text class=\"plus\" x=\"{plus}\" y=\"{}\" text-anchor=\"middle\">+</text>",
        y - 11.0,
        letter(coil),
        y - 5.0
    )
}

fn letter(coil: CoilName) -> &'static str {
    match coil {
        CoilName::A => "A",
        CoilName::B => "B",
    }
}

/// Returns the unused coil, faint, below the line.
fn unused(coil: CoilName, how: Unused) -> String {
    let (x, y) = (f64::midpoint(ENDS.0, ENDS.1), 74.0);
    let mut svg = format!("<g class=\"unused\">{}", coil_symbol(coil, Sense::Upright, x, y));
    match how {
        Unused::Shorted => {
            for (one, other) in [
                ((x - COIL, y), (x - COIL, y + 12.0)),
                ((x - COIL, y + 12.0), (x + COIL, y + 12.0)),
                ((x + COIL, y + 12.0), (x + COIL, y)),
            ] {
                svg += &line(one, other);
            }
            svg += &note(x + COIL + 34.0, y + 4.0, "shorted");
        }
        Unused::Open => svg += &note(x + COIL + 28.0, y + 4.0, "open"),
    }
    svg + "</g>"
}

fn line((x1, y1): (f64, f64), (x2, y2): (f64, f64)) -> String {
    format!("<line class=\"lead\" x1=\"{x1}\" y1=\"{y1}\" x2=\"{x2}\" y2=\"{y2}\"/>")
}

fn note(x: f64, y: f64, words: &str) -> String {
    format!("<text class=\"detail\" x=\"{x}\" y=\"{y}\" text-anchor=\"middle\">{words}</text>")
}
