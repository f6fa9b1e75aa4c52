//! A survey's map: every circuit by its resonance and its level, those that sound out of phase on a plane of their own; the
//! positions that are kept, and the distances between these.

use std::collections::BTreeSet;

use super::axis::{LevelAxis, WRITTEN};
use super::callout::{self, Crowd};
use super::face::{Weight, cut, parted, width, wrapped};
use super::palette::{Dash, Ink, Look};
use super::picture::{plain, rising};
use super::scene::{Anchor, Frame, Mark, Point, Scene, whole};
use super::sheet::Sheet;
use crate::quantity::{counted, engineering, signed};
use crate::survey::{CircuitFigures, DISTANCE, SurveyFigures};
use crate::wiring::Arrangement;
use crate::words;

/// A picture of a survey.
#[derive(Debug, Clone)]
pub struct Map {
    pub(super) title: String,
    subtitle: String,
    baseline: String,
    footing: Vec<String>,
    dots: Vec<Dot>,
    kept: Vec<Kept>,
    distances: Vec<Vec<f64>>,
}

/// A circuit on the map.
#[derive(Debug, Clone, Copy)]
struct Dot {
    /// Resonance in Hz and level in dB; `None` without a resonance.
    at: Option<(f64, f64)>,
    hums: bool,
    in_phase: bool,
    /// The place of the kept position that is nearest.
    kept: usize,
}

/// A position that is kept.
#[derive(Debug, Clone)]
struct Kept {
    /// What it is, in words.
    title: String,
    name: String,
    told: String,
    dot: Dot,
    hue: Ink,
}

/// A plane of the map: the circuits that sound in phase, or out of phase.
#[derive(Debug, Clone, Copy)]
struct Plane {
    in_phase: bool,
    /// The levels that it reaches.
    levels: (f64, f64),
}

/// What planes have in common: where frequencies lie, from and to.
type Reach = (f64, f64);

/// Hum above this against one coil alone is marked as hum: a tenth of it. A convention.
const HUMS: f64 = -20.0;
/// Levels that the map reaches, whatever the numbers.
const LIMIT: (f64, f64) = (-72.0, 36.0);
/// Of more positions than this the distances are not drawn.
const MOST_IN_MATRIX: usize = 40;
/// A second plane makes the map higher by this share.
const TWO_PLANES: f64 = 0.8;
/// No plane is lower than this share of both.
const LOWEST: f64 = 0.3;
/// How far a mark's tail reaches from its middle, in radii, and how wide it is, in widths of a line.
const TAIL: f64 = 3.0;
const TAIL_WIDTH: f64 = 0.6;
/// The radii of a circuit's mark and of a kept position's, in widths of a line, and half a number's tag, in ems.
const DOT: f64 = 1.5;
const POINT: f64 = 2.4;
const TAG: f64 = 0.66;
/// From one line of a name to the next, in rows.
const LEADING: f64 = 0.9;
/// A matrix cell's opacity at the largest distance; dark enough to be seen, light enough for the number in it.
const DARKEST: f64 = 0.5;

impl Map {
    /// Returns the map of a survey.
    pub fn new(figures: &SurveyFigures) -> Self {
        let places = &figures.keep.positions;
        let kept_by = |c: &CircuitFigures| places.iter().position(|name| c.nearest.as_ref() == Some(name));
        let dot = |c: &CircuitFigures| {
            let kept = kept_by(c)?;
            let hums = c.hum_db.is_some_and(|hum| hum > HUMS);
            Some(Dot { at: c.resonance_hz.zip(c.level_db), hums, in_phase: c.in_phase, kept })
        };
        let dots: Vec<Dot> = figures.circuits.iter().filter_map(dot).collect();
        let arrangements: Vec<Option<Arrangement>> = figures.kept().map(|c| c.arrangement).collect();
        // A position that is kept has the colour that it has among the voices of a set.
        let looks = Look::assigned(&arrangements);
        let kept = figures.kept().zip(looks).filter_map(|(c, look)| {
            let (dot, hue) = (dot(c)?, Ink::Hue(look.hue));
            Some(Kept { title: plain(&c.title), name: plain(&c.name), told: told(c), dot, hue })
        });
        let unseen = dots.iter().filter(|dot| dot.at.is_none()).count();
        let ring =
            "A hollow mark hums, by a tenth of one coil alone or more; a filled one does not. Its tail points to the \
             position it sounds nearest to; a number in dots is where one of the other plane would lie."
                .to_owned();
        let none = (unseen > 0).then(|| {
            if unseen == 1 {
                "1 circuit without a resonance is not on the map.".to_owned()
            } else {
                format!("{unseen} circuits without a resonance are not on the map.")
            }
        });
        let footing = [ring]
            .into_iter()
            .chain(none)
            .chain([DISTANCE.to_owned(), format!("This is {}.", plain(&figures.honesty))]);
        Self {
            title: plain(&figures.guitar),
            subtitle: figures.count(),
            baseline: plain(&figures.baseline),
            footing: footing.collect(),
            kept: kept.collect(),
            distances: figures.keep.distances_db.clone(),
            dots,
        }
    }

    pub(super) fn described(&self) -> String {
        let kept = self
            .kept
            .iter()
            .zip(1..)
            .map(|(kept, number)| format!(" {number}: {} ({}), {}.", kept.title, kept.name, kept.told));
        format!(
            "Every circuit by its resonance and its level against {}; {} near which all others sound.{}",
            self.baseline,
            counted(self.kept.len(), "position"),
            kept.collect::<String>()
        )
    }

    pub(super) fn height(&self, sheet: Sheet) -> f64 {
        let rows: f64 = self.rows(sheet).map(|row| row.height).sum();
        let matrix = if self.has_matrix() {
            sheet.above + self.cell(sheet) * (self.kept.len() as f64 + 1.0)
        } else {
            0.0
        };
        let more = self.planes().len().saturating_sub(1) as f64;
        sheet.head()
            + sheet.response * (1.0 + TWO_PLANES * more)
            + (sheet.above + 2.5 * sheet.tick) * (1.0 + more)
            + sheet.above
            + rows
            + matrix
            + sheet.row
            + sheet.foot(&self.footing)
    }

    pub(super) fn composed(&self, sheet: Sheet, height: f64) -> Scene {
        let mut scene = Scene { width: sheet.width, height, marks: Vec::new() };
        sheet.headline(&mut scene, &self.title, &self.subtitle);
        let mut y = sheet.head();
        let spare = (height - self.height(sheet)).max(0.0);
        let (planes, reach) = (self.planes(), self.reach());
        let shared = sheet.response * (1.0 + TWO_PLANES * (planes.len() as f64 - 1.0)) + spare;
        for (plane, share) in planes.iter().zip(shares(&planes)) {
            let heading = match (plane.in_phase, planes.len()) {
                (true, 1) => "Resonance and level",
                (true, _) => "Resonance and level, in phase",
                (false, _) => "Resonance and level, out of phase",
            };
            sheet.heading(&mut scene, y, heading, &format!("dB against {}", self.baseline));
            let top = y + sheet.above;
            let bottom = top + share * shared;
            let frame = Frame { left: sheet.gutter, top, right: sheet.width - sheet.margin, bottom };
            self.plane(&mut scene, frame, (*plane, reach), sheet);
            y = bottom + 2.5 * sheet.tick;
        }
        sheet.heading(&mut scene, y, "Positions that keep the variety", "and what each is");
        y += sheet.above;
        for row in self.rows(sheet) {
            row.draw(&mut scene, y, sheet);
            y += row.height;
        }
        if self.has_matrix() {
            sheet.heading(&mut scene, y, "Distances between them", "dB; the darker, the farther");
            self.matrix(&mut scene, y + sheet.above, sheet);
        }
        sheet.footing(&mut scene, &self.footing);
        scene
    }

    /// Returns the plane of what sounds in phase, and that of what does not where there is any.
    fn planes(&self) -> Vec<Plane> {
        let plane = |in_phase: bool| {
            let own = self.dots.iter().filter(|dot| dot.in_phase == in_phase);
            let places = own.flat_map(|dot| [dot.at, self.kept[dot.kept].dot.at]).flatten();
            let levels: Vec<f64> = places.map(|(_, level)| level).collect();
            let least = levels.iter().copied().fold(f64::INFINITY, f64::min);
            let most = levels.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            (least <= most).then_some(Plane { in_phase, levels: (least - 1.0, most + 1.0) })
        };
        let found: Vec<Plane> = [true, false].into_iter().filter_map(plane).collect();
        if found.is_empty() { vec![Plane { in_phase: true, levels: (-1.0, 1.0) }] } else { found }
    }

    /// Returns the frequencies that all planes reach.
    fn reach(&self) -> Reach {
        let on_map = self.dots.iter().filter_map(|dot| dot.at);
        let (from, to) = on_map.fold((2e3, 5e3), |(l, h), (f, _)| (f64::min(l, f), f64::max(h, f)));
        (from.max(20.0) / 1.06, to.min(100e3) * 1.06)
    }

    fn plane(&self, scene: &mut Scene, frame: Frame, (plane, (from, to)): (Plane, Reach), sheet: Sheet) {
        const FINE: f64 = 0.7;
        let axis = LevelAxis::holding(plane.levels, LIMIT, (frame.bottom, frame.top));
        let across = |f: f64| frame.left + (f.clamp(from, to) / from).ln() / (to / from).ln() * frame.width();
        for level in axis.written(1.9 * sheet.tick) {
            let y = axis.place(level);
            let ink = if level == 0.0 { Ink::Soft } else { Ink::Hairline };
            scene.line([Point::new(frame.left, y), Point::new(frame.right, y)], FINE, ink);
            let at = Point::new(frame.left - 0.6 * sheet.tick, y + 0.36 * sheet.tick);
            scene.text(at, rising(level), (sheet.tick, Weight::Regular), Anchor::End, Ink::Soft);
        }
        let mut free_from = f64::NEG_INFINITY;
        let between = [1500.0, 3e3, 4e3, 6e3, 7e3, 8e3];
        let mut written: Vec<f64> = WRITTEN.iter().map(|(f, ..)| *f).chain(between).collect();
        written.sort_by(f64::total_cmp);
        for f in written.into_iter().filter(|f| (from..=to).contains(f)) {
            let (x, text) = (across(f), engineering(f, "Hz", 2));
            scene.line([Point::new(x, frame.top), Point::new(x, frame.bottom)], FINE, Ink::Hairline);
            let half = 0.5 * width(&text, Weight::Regular, sheet.tick);
            if x - half > free_from && x + half < frame.right {
                let at = Point::new(x, frame.bottom + 1.5 * sheet.tick);
                scene.text(at, text, (sheet.tick, Weight::Regular), Anchor::Middle, Ink::Soft);
                free_from = x + half + sheet.tick;
            }
        }
        let place = |(f, level): (f64, f64)| Point::new(across(f), axis.place_within(level));
        let kept_at = |place_of: usize| self.kept[place_of].dot.at.map(place);
        let radius = DOT * sheet.line;
        let (mut taken, mut dots, mut referred) = (BTreeSet::new(), Vec::new(), BTreeSet::new());
        for dot in self.dots.iter().filter(|dot| dot.in_phase == plane.in_phase) {
            let Some(at) = dot.at.map(place) else { continue };
            referred.insert(dot.kept);
            // Of dots that nobody could tell apart one is enough.
            if taken.insert((whole(at.x), whole(at.y), dot.hums, dot.kept)) {
                dots.push((at, dot));
            }
        }
        for (at, dot) in &dots {
            let Some(end) = kept_at(dot.kept).and_then(|to| toward(*at, to, TAIL * radius)) else { continue };
            scene.line([*at, end], TAIL_WIDTH * sheet.line, self.kept[dot.kept].hue);
        }
        for (at, dot) in &dots {
            disc(scene, *at, (radius, 0.45 * radius), self.kept[dot.kept].hue, dot.hums);
        }
        // A position of the other plane is shown by its number alone, where a mark here sounds nearest to it.
        let is_own = |kept: &Kept| kept.dot.in_phase == plane.in_phase;
        let shown: Vec<(usize, &Kept, Point)> = self
            .kept
            .iter()
            .enumerate()
            .filter(|(i, kept)| is_own(kept) || referred.contains(i))
            .filter_map(|(i, kept)| Some((i + 1, kept, place(kept.dot.at?))))
            .collect();
        let points: Vec<Point> = shown.iter().map(|(.., at)| *at).collect();
        let places: Vec<Point> = dots.iter().map(|(at, _)| *at).collect();
        let (point, tag) = (POINT * sheet.line, TAG * sheet.label);
        // Around a kept position's mark lies a ring of the ground.
        let ring = point + 0.5 * sheet.line;
        let crowd = Crowd { frame, dots: &places, points: &points, dot: radius, point: ring, tag };
        let numbers = callout::numbered(crowd);
        for (at, number) in points.iter().zip(&numbers) {
            scene.line([*at, *number], FINE, Ink::Soft);
        }
        for (_, kept, at) in &shown {
            if is_own(kept) {
                scene.disc(*at, ring, Ink::Paper);
                disc(scene, *at, (point, 0.8 * sheet.line), kept.hue, kept.dot.hums);
            }
        }
        for ((number, kept, _), at) in shown.iter().zip(numbers) {
            if is_own(kept) {
                numbered(scene, at, (*number, kept.hue), sheet);
            } else {
                referred_to(scene, at, *number, sheet);
            }
        }
    }

    /// Returns what is written about each kept position.
    fn rows(&self, sheet: Sheet) -> impl Iterator<Item = Row> {
        let numbered = (1..).zip(&self.kept);
        numbered.map(move |(number, kept)| {
            // The first of those out of phase stands below a heading, where there are others above it.
            let is_first = number > 1 && !kept.dot.in_phase && self.kept[number - 2].dot.in_phase;
            Row::new(number, kept, is_first, sheet)
        })
    }

    /// Returns whether any circuit on the map sounds out of phase.
    #[cfg(test)]
    pub(super) fn has_against(&self) -> bool {
        self.dots.iter().any(|dot| dot.at.is_some() && !dot.in_phase)
    }

    /// Returns the name and the colour of each kept position.
    #[cfg(test)]
    pub(super) fn kept_by_name(&self) -> impl Iterator<Item = (&str, Ink)> {
        self.kept.iter().map(|kept| (kept.name.as_str(), kept.hue))
    }

    /// Returns what each kept position is, in words.
    #[cfg(test)]
    pub(super) fn titles(&self) -> impl Iterator<Item = &str> {
        self.kept.iter().map(|kept| kept.title.as_str())
    }

    fn has_matrix(&self) -> bool {
        (2..=MOST_IN_MATRIX).contains(&self.kept.len()) && self.distances.len() == self.kept.len()
    }

    fn cell(&self, sheet: Sheet) -> f64 {
        let across = sheet.width - sheet.margin - sheet.gutter;
        let most = if sheet.scale { 2.6 } else { 1.4 };
        (across / self.kept.len() as f64).min(most * sheet.row)
    }

    fn matrix(&self, scene: &mut Scene, top: f64, sheet: Sheet) {
        let cell = self.cell(sheet);
        let left = sheet.gutter;
        let farthest = self.distances.iter().flatten().copied().fold(0.0, f64::max);
        let size = sheet.tick.min(0.4 * cell);
        let text = |scene: &mut Scene, x: f64, y: f64, text: String, ink: Ink| {
            let at = Point::new(x, y + 0.36 * size);
            scene.text(at, text, (size, Weight::Regular), Anchor::Middle, ink);
        };
        let top = top + cell;
        for (i, row) in self.distances.iter().enumerate() {
            let middle = |place: usize| cell * (place as f64 + 0.5);
            text(scene, left + middle(i), top - 0.5 * cell, (i + 1).to_string(), Ink::Soft);
            text(scene, left - 0.5 * cell.min(left), top + middle(i), (i + 1).to_string(), Ink::Soft);
            for (j, distance) in row.iter().enumerate().filter(|(j, _)| *j != i) {
                let frame = Frame {
                    left: left + cell * j as f64,
                    top: top + cell * i as f64,
                    right: left + cell * (j + 1) as f64 - 1.0,
                    bottom: top + cell * (i + 1) as f64 - 1.0,
                };
                scene.frame(frame, Ink::Soft, DARKEST * distance / farthest.max(1e-9));
                let digits = usize::from(cell > 2.2 * sheet.tick);
                text(scene, left + middle(j), top + middle(i), signed(*distance, digits), Ink::Text);
            }
        }
    }
}

/// What is written about a kept position: what it is in as many lines as it needs, its name below, and its figures beside
/// the first line, or below the last where the sheet is narrow.
struct Row {
    number: usize,
    heading: Option<&'static str>,
    title: Vec<String>,
    name: Vec<String>,
    told: String,
    ink: Ink,
    height: f64,
}

impl Row {
    fn new(number: usize, kept: &Kept, is_first_out_of_phase: bool, sheet: Sheet) -> Self {
        let room = sheet.width - sheet.margin - Self::left(sheet);
        let told = cut(&kept.told, Weight::Regular, sheet.label, room);
        let taken = width(&told, Weight::Regular, sheet.label) + sheet.label;
        let beside = if sheet.scale { room - taken } else { room };
        let title = wrapped(&kept.title, Weight::Strong, sheet.label, beside);
        let name = parted(&kept.name, Weight::Regular, sheet.note, beside);
        let heading = is_first_out_of_phase.then_some("Out of phase");
        let extra = if sheet.scale { 0.0 } else { 1.0 } + if heading.is_some() { 1.4 } else { 0.0 };
        let lines = title.len() as f64 + name.len() as f64 + extra;
        let height = (LEADING * lines + 0.3) * sheet.row;
        Self { number, heading, title, name, told, ink: kept.hue, height }
    }

    fn left(sheet: Sheet) -> f64 {
        sheet.margin + 2.0 * sheet.label
    }

    fn draw(&self, scene: &mut Scene, mut top: f64, sheet: Sheet) {
        if let Some(heading) = self.heading {
            let at = Point::new(sheet.margin, top + LEADING * sheet.row);
            scene.text(at, heading, (sheet.label, Weight::Strong), Anchor::Start, Ink::Soft);
            top += 1.4 * LEADING * sheet.row;
        }
        let middle = top + 0.5 * sheet.row;
        let tag = Point::new(sheet.margin + 0.75 * sheet.label, middle);
        numbered(scene, tag, (self.number, self.ink), sheet);
        let base = |line: usize| middle + 0.36 * sheet.label + LEADING * sheet.row * line as f64;
        let left = Self::left(sheet);
        let titled = self.title.iter().map(|line| (line, sheet.label, Weight::Strong, Ink::Text));
        let named = self.name.iter().map(|line| (line, sheet.note, Weight::Regular, Ink::Soft));
        for (i, (line, size, weight, ink)) in titled.chain(named).enumerate() {
            scene.text(Point::new(left, base(i)), line, (size, weight), Anchor::Start, ink);
        }
        let (at, anchor) = if sheet.scale {
            (Point::new(sheet.width - sheet.margin, base(0)), Anchor::End)
        } else {
            (Point::new(left, base(self.title.len() + self.name.len())), Anchor::Start)
        };
        scene.text(at, &self.told, (sheet.label, Weight::Regular), anchor, Ink::Soft);
    }
}

/// Returns the share of the height that each plane has: as its levels reach, so that a decibel is as high in all.
fn shares(planes: &[Plane]) -> Vec<f64> {
    let reach = |plane: &Plane| {
        let axis = LevelAxis::holding(plane.levels, LIMIT, (0.0, 1.0));
        axis.high - axis.low
    };
    let whole: f64 = planes.iter().map(reach).sum();
    let highest = 1.0 - LOWEST * (planes.len() as f64 - 1.0);
    planes.iter().map(|plane| (reach(plane) / whole).clamp(LOWEST.min(highest), highest)).collect()
}

/// Returns the point at `reach` from one point toward another, or none where they are one.
fn toward(from: Point, to: Point, reach: f64) -> Option<Point> {
    let distance = from.distance(to);
    let t = reach.min(distance) / distance;
    (distance > 0.0).then(|| Point::new(from.x + t * (to.x - from.x), from.y + t * (to.y - from.y)))
}

fn told(circuit: &CircuitFigures) -> String {
    let resonance = circuit.resonance_hz.map(|f| engineering(f, "Hz", 3));
    let level = circuit.level_db.map(|level| format!("{} dB", signed(level, 1)));
    let hum = format!("hum {}", words::hum(circuit.hum_db));
    let against = (!circuit.in_phase).then(|| "out of phase".to_owned());
    let facts: Vec<String> = [resonance, level, Some(hum), against].into_iter().flatten().collect();
    facts.join(", ")
}

/// Draws a disc, or a ring.
fn disc(scene: &mut Scene, at: Point, (radius, line): (f64, f64), ink: Ink, is_ring: bool) {
    scene.disc(at, radius, ink);
    if is_ring {
        scene.disc(at, radius - line, Ink::Paper);
    }
}

/// Draws a kept position's number on a tag edged in its colour.
fn numbered(scene: &mut Scene, at: Point, (number, ink): (usize, Ink), sheet: Sheet) {
    let tag = Frame::around(at, TAG * sheet.label);
    scene.frame(tag, ink, 1.0);
    scene.frame(tag.grown(-0.7 * sheet.line), Ink::Paper, 1.0);
    let size = 0.8 * sheet.label;
    let base = Point::new(at.x, at.y + 0.36 * size);
    scene.text(base, number.to_string(), (size, Weight::Strong), Anchor::Middle, Ink::Text);
}

/// Draws the number of a position that lies on the other plane.
fn referred_to(scene: &mut Scene, at: Point, number: usize, sheet: Sheet) {
    let tag = Frame::around(at, TAG * sheet.label);
    scene.frame(tag, Ink::Paper, 1.0);
    let [a, b, c, d] = tag.corners();
    let points = vec![a, b, c, d, a];
    scene.marks.push(Mark::Line { points, width: 0.5 * sheet.line, ink: Ink::Soft, dash: Dash::Dotted });
    let size = 0.8 * sheet.label;
    let base = Point::new(at.x, at.y + 0.36 * size);
    scene.text(base, number.to_string(), (size, Weight::Regular), Anchor::Middle, Ink::Soft);
}
