//! The coils of one pickup as they are connected.

use super::pen::{GROUND, HOT, Pen};
use crate::guitar::{Bypass, Coil, Coils, Pickup};
use crate::wiring::{Arrangement, CoilName};

/// The width of a coil with what is told of it.
const WIDTH: f64 = 122.0;
const MIDDLE: f64 = f64::midpoint(HOT, GROUND);

/// Draws the coils of `pickup` in an arrangement from `x` on and returns where they end.
pub(super) fn draw(pen: &mut Pen, x: f64, pickup: &Pickup, arrangement: Arrangement) -> f64 {
    let a = pickup.coil_a();
    let Some(b) = pickup.coil_b() else {
        return beside(pen, x, (CoilName::A, a), true);
    };
    let coils = [(CoilName::A, a), (CoilName::B, b)];
    match arrangement {
        Arrangement::Series => stacked(pen, x, coils, false, None),
        Arrangement::SeriesReversed => stacked(pen, x, coils, true, None),
        Arrangement::SeriesBypassed => {
            let bypass = match pickup.coils() {
                Coils::Two { bypass, .. } => *bypass,
                Coils::One(_) => None,
            };
            stacked(pen, x, coils, false, bypass)
        }
        Arrangement::Parallel => {
            let next = beside(pen, x, coils[0], true);
            beside(pen, next, coils[1], true)
        }
        Arrangement::ParallelReversed => {
            let next = beside(pen, x, coils[0], true);
            beside(pen, next, coils[1], false)
        }
        Arrangement::SplitA => shorted(pen, x, coils[0], coils[1]),
        Arrangement::SplitB => shorted(pen, x, coils[1], coils[0]),
        Arrangement::SplitAOpen => open(pen, x, coils[0], coils[1]),
        Arrangement::SplitBOpen => open(pen, x, coils[1], coils[0]),
        Arrangement::Alone => beside(pen, x, coils[0], true),
    }
}

/// Draws the coils of a pickup whose connection has no name, both idle, with what the connection is in words.
pub(super) fn draw_unnamed(pen: &mut Pen, x: f64, pickup: &Pickup, words: &str) -> f64 {
    let mut next = x;
    for (name, coil) in CoilName::BOTH.into_iter().zip([Some(pickup.coil_a()), pickup.coil_b()]) {
        let Some(coil) = coil else { continue };
        pen.coil(next + 22.0, [HOT + 24.0, GROUND - 24.0], false, true);
        told(pen, next, MIDDLE, (name, coil));
        next += WIDTH;
    }
    pen.text("value", x + 22.0, GROUND - 6.0, words);
    pen.wire(&[(x, GROUND), (next, GROUND)]);
    next
}

type Named<'c> = (CoilName, &'c Coil);

fn told(pen: &mut Pen, x: f64, y: f64, (name, coil): Named<'_>) {
    let mut values =
        vec![coil.resistance().to_string(), coil.inductance().to_string(), coil.capacitance().to_string()];
    values.extend(coil.loss().map(|loss| format!("loss {loss}")));
    pen.told(x + 36.0, y - 24.0, &name.to_string(), &values);
}

/// Draws a coil from the hot conductor to ground.
fn beside(pen: &mut Pen, x: f64, coil: Named<'_>, plus_is_above: bool) -> f64 {
    let at = x + 22.0;
    pen.coil(at, [HOT, GROUND], true, plus_is_above);
    told(pen, x, MIDDLE, coil);
    along(pen, x, x + WIDTH);
    pen.dot(at, HOT);
    pen.dot(at, GROUND);
    x + WIDTH
}

/// Draws the second coil below the first, turned round or not, and what lies from their joint to ground.
fn stacked(pen: &mut Pen, x: f64, [a, b]: [Named<'_>; 2], b_is_turned: bool, bypass: Option<Bypass>) -> f64 {
    let at = x + 22.0;
    pen.coil(at, [HOT, MIDDLE], true, true);
    told(pen, x, f64::midpoint(HOT, MIDDLE), a);
    pen.coil(at, [MIDDLE, GROUND], true, !b_is_turned);
    told(pen, x, f64::midpoint(MIDDLE, GROUND), b);
    let mut end = x + WIDTH;
    if let Some(bypass) = bypass {
        pen.wire(&[(at, MIDDLE), (end + 12.0, MIDDLE)]);
        pen.dot(at, MIDDLE);
        match bypass {
            Bypass::Capacitor(_) => pen.capacitor(end + 12.0, [MIDDLE, GROUND]),
            Bypass::Resistor(_) => pen.resistor(end + 12.0, [MIDDLE, GROUND]),
        }
        pen.told(end + 28.0, f64::midpoint(MIDDLE, GROUND), "bypass", &[bypass.to_string()]);
        end += 100.0;
    }
    along(pen, x, end);
    pen.dot(at, HOT);
    pen.dot(at, GROUND);
    end
}

/// Draws the first coil between the conductors and the other, whose ends are joined to each other.
fn shorted(pen: &mut Pen, x: f64, heard: Named<'_>, other: Named<'_>) -> f64 {
    let next = beside(pen, x, heard, true);
    let at = next + 22.0;
    let (top, bottom) = (HOT + 34.0, GROUND - 34.0);
    pen.coil(at, [top, bottom], false, true);
    pen.wire_of(false, &[(at, top), (at - 20.0, top), (at - 20.0, bottom), (at, bottom)]);
    told(pen, next, MIDDLE, other);
    pen.text("value", next + 36.0, GROUND - 22.0, "shorted");
    along(pen, next, next + WIDTH);
    next + WIDTH
}

/// Draws the first coil between the conductors and the other, of which one end is left open.
fn open(pen: &mut Pen, x: f64, heard: Named<'_>, other: Named<'_>) -> f64 {
    let next = beside(pen, x, heard, true);
    let at = next + 22.0;
    pen.coil(at, [HOT + 34.0, GROUND], false, true);
    pen.dot(at, GROUND);
    told(pen, next, MIDDLE, other);
    pen.text("value", next + 36.0, HOT + 22.0, "left open");
    along(pen, next, next + WIDTH);
    next + WIDTH
}

/// Draws both conductors onward.
fn along(pen: &mut Pen, from: f64, to: f64) {
    // They begin at the first coil.
    let from = if from > 0.0 { from } else { 22.0 };
    pen.wire(&[(from, HOT), (to, HOT)]);
    pen.wire(&[(from, GROUND), (to, GROUND)]);
}
