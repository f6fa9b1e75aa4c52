//! P18. The sheet draws the plan: every wire from its own terminal to its own, none upon another, none so near to a lug of
//! another that it reads as soldered to it, at most one crossing a wire, each with the number of its line in the list.

#![allow(
    clippy::unwrap_used,
    clippy::float_cmp,
    reason = "a test stops where something is not as expected; places on the grid are exact"
)]

use std::collections::BTreeMap;

use crate::common::cavities::{guitars, read};
use drywire::harness::{Harness, sheet};
use roxmltree::{Document, Node};

/// Pixels to a cell of the grid.
const CELL: f64 = 10.0;
/// No line and no mark is nearer to another wire's lug, in cells.
const CLEAR: f64 = 1.9;

type Point = [f64; 2];

fn number(node: Node<'_, '_>, key: &str) -> f64 {
    node.attribute(key).unwrap_or_else(|| panic!("no {key} in {node:?}")).parse().unwrap()
}

/// Returns the corners of a path of right-angled lines.
fn corners(path: &str) -> Vec<Point> {
    let numbers: Vec<f64> = path.split(['M', 'L', ' ']).filter_map(|word| word.parse().ok()).collect();
    numbers.chunks(2).map(|pair| [pair[0], pair[1]]).collect()
}

fn distance([x, y]: Point, [a, b]: [Point; 2]) -> f64 {
    let clamp = |v: f64, one: f64, other: f64| v.clamp(one.min(other), one.max(other));
    (x - clamp(x, a[0], b[0])).hypot(y - clamp(y, a[1], b[1]))
}

/// Returns what two lines have in common: from where to where.
fn common(one: [Point; 2], other: [Point; 2]) -> Option<[Point; 2]> {
    let [x, y] = [0, 1].map(|axis| {
        let span = |line: [Point; 2]| [line[0][axis].min(line[1][axis]), line[0][axis].max(line[1][axis])];
        let ([a, b], [c, d]) = (span(one), span(other));
        [a.max(c), b.min(d)]
    });
    (x[0] <= x[1] && y[0] <= y[1]).then_some([[x[0], y[0]], [x[1], y[1]]])
}

fn crosses(one: [Point; 2], other: [Point; 2]) -> bool {
    let within = |v: f64, [a, b]: [f64; 2]| v > a.min(b) && v < a.max(b);
    let upright = |line: [Point; 2]| (line[0][0] - line[1][0]).abs() < 1e-9;
    match (upright(one), upright(other)) {
        (true, false) => {
            within(one[0][0], [other[0][0], other[1][0]]) && within(other[0][1], [one[0][1], one[1][1]])
        }
        (false, true) => crosses(other, one),
        _ => false,
    }
}

/// What a picture shows.
struct Shown {
    /// Wires by their labels.
    wires: BTreeMap<String, Vec<Point>>,
    /// Lugs, ends of leads and of legs.
    points: BTreeMap<String, Point>,
    /// Cases as circles.
    cases: BTreeMap<String, (Point, f64)>,
    /// Bars as rectangles: middle and half of each side.
    bars: BTreeMap<String, (Point, Point)>,
    badges: BTreeMap<String, Point>,
}

fn shown(page: &str) -> Shown {
    let from = page.find("<svg class=\"cavity\"").unwrap();
    let to = page[from..].find("</svg>").unwrap() + from + 6;
    let document = Document::parse(&page[from..to]).unwrap();
    let mut shown = Shown {
        wires: BTreeMap::new(),
        points: BTreeMap::new(),
        cases: BTreeMap::new(),
        bars: BTreeMap::new(),
        badges: BTreeMap::new(),
    };
    for node in document.descendants().filter(Node::is_element) {
        let class = node.attribute("class").unwrap_or_default();
        if let Some(label) = node.attribute("data-wire") {
            let path = node.children().find(Node::is_element).unwrap().attribute("d").unwrap();
            assert!(shown.wires.insert(label.to_owned(), corners(path)).is_none(), "{label} twice");
        }
        if class == "badge" {
            let circle = node.first_element_child().unwrap();
            let label = node.last_element_child().unwrap().text().unwrap().to_owned();
            shown.badges.insert(label, [number(circle, "cx"), number(circle, "cy")]);
        }
        let Some(terminal) = node.attribute("data-terminal").map(str::to_owned) else { continue };
        match (node.tag_name().name(), class) {
            ("circle", "case") => {
                shown.cases.insert(terminal, ([number(node, "cx"), number(node, "cy")], number(node, "r")));
            }
            ("circle", _) => {
                shown.points.insert(terminal, [number(node, "cx"), number(node, "cy")]);
            }
            ("rect", _) => {
                let half = ["width", "height"].map(|key| number(node, key) / 2.0);
                let middle = [number(node, "x") + half[0], number(node, "y") + half[1]];
                shown.bars.insert(terminal, (middle, half));
            }
            ("g", "lug") => {
                let rect = node.first_element_child().unwrap();
                let middle = [number(rect, "x") + 12.0, number(rect, "y") + 9.0];
                shown.points.insert(terminal, middle);
            }
            ("g", _) => {
                // A lead, from what it comes out of down to its end.
                let path = node.first_element_child().unwrap().attribute("d").unwrap().replace('V', " ");
                let numbers: Vec<f64> = path.split(['M', ' ']).filter_map(|word| word.parse().ok()).collect();
                shown.points.insert(terminal, [numbers[0], numbers[2]]);
            }
            other => panic!("{other:?}"),
        }
    }
    shown
}

impl Shown {
    fn is_at(&self, terminal: &str, at: Point) -> bool {
        let near = |[x, y]: Point, reach: f64| (x - at[0]).hypot(y - at[1]) <= reach;
        self.points.get(terminal).is_some_and(|point| near(*point, 1e-6))
            || self.cases.get(terminal).is_some_and(|(middle, radius)| near(*middle, radius - 0.5 * CELL))
            || self.bars.get(terminal).is_some_and(|(middle, half)| {
                (0..2).all(|axis| (middle[axis] - at[axis]).abs() <= half[axis])
            })
    }
}

fn lines(corners: &[Point]) -> impl Iterator<Item = [Point; 2]> + '_ {
    corners.windows(2).map(|pair| [pair[0], pair[1]])
}

#[test]
fn every_wire_leads_from_its_terminal_to_its_terminal_and_reads_as_nothing_else() {
    let (mut count, mut most) = (0, 0.0_f64);
    for (name, text) in guitars() {
        let harness = Harness::of(&read(&text)).unwrap();
        let parts = harness.parts();
        let plan = harness.plan().unwrap();
        let page = sheet(&harness, &plan, None).unwrap();
        if plan.wires.len() < 20 {
            assert_eq!(page, sheet(&harness, &plan, None).unwrap(), "{name}: the same bytes twice");
        }
        let shown = shown(&page);
        assert_eq!(shown.wires.len(), plan.wires.len(), "{name}: every wire is drawn");
        assert_eq!(shown.badges.len(), plan.wires.len(), "{name}: every wire has its number");
        for (place, wire) in plan.wires.iter().enumerate() {
            let label = (place + 1).to_string();
            let way = &shown.wires[&label];
            let ends = wire.ends.map(|end| parts.name_of(end));
            let at = [way[0], way[way.len() - 1]];
            let fits = |ends: [&String; 2]| (0..2).all(|end| shown.is_at(ends[end], at[end]));
            assert!(
                fits([&ends[0], &ends[1]]) || fits([&ends[1], &ends[0]]),
                "{name}: {label} {ends:?} {way:?}"
            );
            let row = format!("<td class=\"number\">{label}</td>");
            let listed = page.split(&row).nth(1).unwrap().split("</tr>").next().unwrap();
            assert!(
                ends.iter().all(|end| listed.contains(end.as_str())),
                "{name}: {label} {ends:?} {listed}"
            );
            for (lug, point) in shown.points.iter().filter(|(lug, _)| !ends.contains(lug)) {
                let near = lines(way).map(|line| distance(*point, line)).fold(f64::INFINITY, f64::min);
                assert!(near >= CLEAR * CELL, "{name}: {label} passes {lug} at {near}");
                let [x, y] = shown.badges[&label];
                let near = (point[0] - x).hypot(point[1] - y) - 8.5;
                assert!(near >= CLEAR * CELL - 1e-6, "{name}: the number {label} is {near} from {lug}");
            }
            let [x, y] = shown.badges[&label];
            assert!(lines(way).any(|line| distance([x, y], line) < 1e-6), "{name}: {label} is off its wire");
            for (other, [a, b]) in shown.badges.iter().filter(|(other, _)| **other != label) {
                assert!((a - x).hypot(b - y) > 17.0, "{name}: numbers {label} and {other}");
            }
        }
        let all: Vec<(&String, &Vec<Point>)> = shown.wires.iter().collect();
        let mut crossings = 0;
        for (place, (one, way)) in all.iter().enumerate() {
            for (other, others) in &all[place + 1..] {
                for a in lines(way) {
                    for b in lines(others) {
                        let Some([from, to]) = common(a, b) else { continue };
                        let is_end = |way: &[Point]| way[0] == from || way[way.len() - 1] == from;
                        if crosses(a, b) {
                            crossings += 1;
                        } else {
                            // They meet at a lug on which both are, and nowhere else.
                            let meets = from == to && is_end(way) && is_end(others);
                            assert!(meets, "{name}: {one} lies upon {other}: {a:?} {b:?}");
                        }
                    }
                }
            }
        }
        assert!(crossings <= plan.wires.len(), "{name}: {crossings} crossings of {} wires", plan.wires.len());
        count += plan.wires.len();
        most = most.max(crossings as f64 / plan.wires.len() as f64);
    }
    println!("{count} wires of {} guitars, at most {most:.2} crossings a wire", guitars().len());
}
