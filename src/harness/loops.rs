//! Wires that join what others join: ground loops, told with how much hum they take up at most, and what is not needed.
//!
//! # Source
//! A loop's voltage in a field that is the same everywhere goes by its area (law of induction); one coil of 5,000 turns of 4 cm² has
//! [`COIL`] together.

use super::layout::Layout;
use super::union::Union;
use super::{Harness, PartKind, Terminal, Wire};

/// The area of all turns of a coil, in square millimetres.
const COIL: f64 = 2e6;
/// The most area between a wire and the straight line between its ends, as a share of that line's square: an arc 15 % longer.
const SLACK: f64 = 0.17;
/// A loop that takes up at least so much less than a coil is not heard, in decibels.
const UNHEARD: f64 = 40.0;

/// Returns a note for every wire between terminals that the wires before it join already.
pub(super) fn of(harness: &Harness, wires: &[Wire]) -> Vec<String> {
    let parts = &harness.parts;
    let sleeve = parts.jack()[1].index();
    let mut joined = Union::apart(parts.len());
    let mut looped: Vec<usize> = Vec::new();
    for (place, [one, other]) in wires.iter().enumerate() {
        if joined.joins(one.index(), other.index()) {
            looped.push(place);
        }
        joined.join(one.index(), other.index());
    }
    let layout = Layout::of(parts);
    let told = |place: usize| {
        let (wire, before) = (wires[place], &wires[..place]);
        let [one, other] = wire.map(|end| parts.name_of(end));
        let is_twice = before.iter().any(|own| *own == wire || *own == [wire[1], wire[0]]);
        let is_ground = joined.joins(wire[0].index(), sleeve);
        let why = match (is_twice, is_ground) {
            (true, true) => {
                format!("the wire from {one} to {other} is stated twice: with both there is a ground loop")
            }
            (true, false) => format!("the wire from {one} to {other} is stated twice: one of them is enough"),
            (false, true) => format!("a ground loop: {one} and {other} are joined by other wires as well"),
            (false, false) => format!("the wire from {one} to {other} is not needed: other wires join them"),
        };
        if is_ground { format!("{why}. {}", of_area(area(harness, &layout, wire, before))) } else { why }
    };
    looped.into_iter().map(told).collect()
}

/// Returns what a ground loop of so many square millimetres at most does.
fn of_area(area: f64) -> String {
    let less = -20.0 * (area / COIL).log10();
    let cm2 = (area / 100.0).max(1.0);
    if less >= UNHEARD {
        format!(
            "It is harmless: as the parts lie it is of {cm2:.0} cm² at most, which takes up {less:.0} dB less hum than one coil. It \
             would matter where two outputs led to two devices on the mains, or where a wire is there because something is \
             grounded by touch alone"
        )
    } else {
        format!(
            "As the parts lie it may be of {cm2:.0} cm², and takes up only {:.0} dB less hum than one coil: lead one of the wires \
             beside another, or take it off",
            less.max(0.0)
        )
    }
}

/// Returns the most area that a wire encloses with the wires before it that lead from its one end to the other, in square
/// millimetres: what their ends enclose, and what each may bulge.
fn area(harness: &Harness, layout: &Layout, wire: Wire, before: &[Wire]) -> f64 {
    let around = way(wire, before);
    // Legs lie where they are soldered to.
    let is_placed = |own: &&Terminal| !matches!(harness.parts.part_of(**own).kind(), PartKind::TwoLegs(..));
    let points: Vec<[f64; 2]> = around.iter().filter(is_placed).map(|own| layout.at(*own)).collect();
    let length = |[a, b]: [[f64; 2]; 2]| (a[0] - b[0]).hypot(a[1] - b[1]);
    let legs =
        points.iter().zip(points.iter().cycle().skip(1)).map(|(a, b)| SLACK * length([*a, *b]).powi(2));
    hull(&points) + legs.sum::<f64>()
}

/// Returns the terminals on the way from the wire's one end to its other over `before`, both among them.
fn way([from, to]: Wire, before: &[Wire]) -> Vec<Terminal> {
    let mut came: Vec<(Terminal, usize)> = vec![(from, 0)];
    let mut next = 0;
    while next < came.len() && came[next].0 != to {
        let at = came[next].0;
        let ends = before.iter().filter_map(|[one, other]| match at {
            own if own == *one => Some(*other),
            own if own == *other => Some(*one),
            _ => None,
        });
        for end in ends {
            if came.iter().all(|(own, _)| *own != end) {
                came.push((end, next));
            }
        }
        next += 1;
    }
    let mut at = next.min(came.len() - 1);
    let mut all = vec![came[at].0];
    while at > 0 {
        at = came[at].1;
        all.push(came[at].0);
    }
    all
}

/// Returns the area of the convex hull (A. M. Andrew, Information Processing Letters 9(5), 1979).
fn hull(points: &[[f64; 2]]) -> f64 {
    let cross =
        |o: [f64; 2], a: [f64; 2], b: [f64; 2]| (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0]);
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    let half = |points: &mut dyn Iterator<Item = &[f64; 2]>| {
        let mut chain: Vec<[f64; 2]> = Vec::new();
        for point in points {
            while let [.., before, last] = chain.as_slice()
                && cross(*before, *last, *point) <= 0.0
            {
                chain.pop();
            }
            chain.push(*point);
        }
        chain
    };
    let around = [half(&mut sorted.iter()), half(&mut sorted.iter().rev())].concat();
    let edges = around.iter().zip(around.iter().cycle().skip(1));
    edges.map(|(a, b)| a[0] * b[1] - a[1] * b[0]).sum::<f64>().abs() / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_loops_area_is_that_of_its_hull_and_its_hum_goes_by_it() {
        let square = [[0.0, 0.0], [100.0, 0.0], [100.0, 50.0], [0.0, 50.0], [40.0, 20.0]];
        assert!((hull(&square) - 5000.0).abs() < 1e-9);
        assert_eq!(hull(&[[3.0, 4.0], [10.0, 8.0]]), 0.0);
        assert_eq!(hull(&[]), 0.0);
        let said = |area: f64| of_area(area);
        assert!(said(5000.0).contains("50 cm² at most, which takes up 52 dB less"), "{}", said(5000.0));
        assert!(said(1000.0).contains("10 cm² at most, which takes up 66 dB less"), "{}", said(1000.0));
        assert!(said(4e5).contains("takes up only 14 dB less hum"), "{}", said(4e5));
    }
}
