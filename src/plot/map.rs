//! A survey's map: every circuit by its resonance and its level, the positions that are kept, and the distances between
//! these.

use std::collections::BTreeSet;

use super::axis::{LevelAxis, WRITTEN};
use super::callout::{self, Crowd};
use super::face::{Weight, cut, parted, width};
use super::palette::{Hue, Ink, Look};
use super::picture::{plain, rising};
use super::scene::{Anchor, Frame, Point, Scene, whole};
use super::sheet::Sheet;
use crate::quantity::{engineering, signed};
use crate::survey::{CircuitFigures, DISTANCE, SurveyFigures};

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
    /// The place of the kept position that is nearest.
    kept: usize,
}

/// A position that is kept.
#[derive(Debug, Clone)]
struct Kept {
    name: String,
    told: String,
    dot: Dot,
}

/// Hum above this against one coil alone is marked as hum: a tenth of it. A convention.
const HUMS: f64 = -20.0;
/// Levels that the map reaches, whatever the numbers.
const LIMIT: (f64, f64) = (-72.0, 36.0);
/// Of more positions than this the distances are not drawn.
const MOST_IN_MATRIX: usize = 40;
/// The radii of a circuit's mark and of a kept position's, in widths of a line, and half a number's tag, in ems.
const DOT: f64 = 1.5;
const POINT: f64 = 2.4;
const TAG: f64 = 0.66;
/// From one line of a name to the next, in rows.
const LEADING: f64 = 0.9;
/// A matrix cell's opacity at the largest distance; dark enough to be seen, light enough for the number in it.
const DARKEST: f64 = 0.55;

impl Map {
    /// Returns the map of a survey.
    pub fn new(figures: &SurveyFigures) -> Self {
        let places = &figures.keep.positions;
        let kept_by = |c: &CircuitFigures| places.iter().position(|name| c.nearest.as_ref() == Some(name));
        let dot = |c: &CircuitFigures| {
            let kept = kept_by(c)?;
            let hums = c.hum_db.is_some_and(|hum| hum > HUMS);
            Some(Dot { at: c.resonance_hz.zip(c.level_db), hums, kept })
        };
        let dots: Vec<Dot> = figures.circuits.iter().filter_map(dot).collect();
        let kept = figures.kept().filter_map(|c| {
            let dot = dot(c)?;
            Some(Kept { name: plain(&c.name), told: told(c), dot })
        });
        let unseen = dots.iter().filter(|dot| dot.at.is_none()).count();
        let ring =
            "A hollow mark hums, by a tenth of one coil alone or more; a filled one does not.".to_owned();
        let none = (unseen > 0).then(|| format!("{unseen} circuits without a resonance are not on the map."));
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
            .map(|(kept, number)| format!(" {number}: {}, {}.", kept.name, kept.told));
        format!(
            "Every circuit by its resonance and its level against {}; {} positions near which all others sound.{}",
            self.baseline,
            self.kept.len(),
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
        sheet.head()
            + sheet.above
            + sheet.response
            + 2.5 * sheet.tick
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
        sheet.heading(&mut scene, y, "Resonance and level", &format!("dB against {}", self.baseline));
        let top = y + sheet.above;
        let spare = (height - self.height(sheet)).max(0.0);
        let bottom = top + sheet.response + spare;
        let frame = Frame { left: sheet.gutter, top, right: sheet.width - sheet.margin, bottom };
        self.plane(&mut scene, frame, sheet);
        y = bottom + 2.5 * sheet.tick;
        sheet.heading(&mut scene, y, "Positions that keep the variety", "and what each is");
        y += sheet.above;
        for (number, row) in (1..).zip(self.rows(sheet)) {
            row.draw(&mut scene, y, number, sheet);
            y += row.height;
        }
        if self.has_matrix() {
            sheet.heading(&mut scene, y, "Distances between them", "dB; the darker, the farther");
            self.matrix(&mut scene, y + sheet.above, sheet);
        }
        sheet.footing(&mut scene, &self.footing);
        scene
    }

    fn plane(&self, scene: &mut Scene, frame: Frame, sheet: Sheet) {
        const FINE: f64 = 0.7;
        let on_map: Vec<(f64, f64)> = self.dots.iter().filter_map(|dot| dot.at).collect();
        let extent = |low: f64, high: f64, x: f64| (low.min(x), high.max(x));
        let (low, high) = on_map.iter().fold((0.0, 0.0), |(l, h), (_, level)| extent(l, h, *level));
        let (from, to) = on_map.iter().fold((2e3, 5e3), |(l, h), (f, _)| extent(l, h, *f));
        let (from, to) = (from.max(20.0) / 1.06, to.min(100e3) * 1.06);
        let axis = LevelAxis::holding((low - 1.0, high + 1.0), LIMIT, (frame.bottom, frame.top));
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
        let radius = DOT * sheet.line;
        let (mut taken, mut dots) = (BTreeSet::new(), Vec::new());
        for dot in &self.dots {
            let Some(at) = dot.at.map(place) else { continue };
            // Of dots that nobody could tell apart one is enough.
            if taken.insert((whole(at.x), whole(at.y), dot.hums, dot.kept)) {
                dots.push(at);
                disc(scene, at, (radius, 0.45 * radius), hue(dot.kept), dot.hums);
            }
        }
        let shown: Vec<(usize, &Kept, Point)> =
            (1..).zip(&self.kept).filter_map(|(n, kept)| Some((n, kept, place(kept.dot.at?)))).collect();
        let points: Vec<Point> = shown.iter().map(|(.., at)| *at).collect();
        let (point, tag) = (POINT * sheet.line, TAG * sheet.label);
        let crowd = Crowd { frame, dots: &dots, points: &points, dot: radius, point, tag };
        let numbers = callout::numbered(crowd);
        for (at, number) in points.iter().zip(&numbers) {
            scene.line([*at, *number], FINE, Ink::Soft);
        }
        for (_, kept, at) in &shown {
            scene.disc(*at, point + 0.5 * sheet.line, Ink::Paper);
            disc(scene, *at, (point, 0.8 * sheet.line), hue(kept.dot.kept), kept.dot.hums);
        }
        for ((number, kept, _), at) in shown.iter().zip(numbers) {
            numbered(scene, at, (*number, hue(kept.dot.kept)), sheet);
        }
    }

    /// Returns what is written about each kept position.
    fn rows(&self, sheet: Sheet) -> impl Iterator<Item = Row> {
        self.kept.iter().map(move |kept| Row::new(kept, sheet))
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
                scene.frame(frame, Ink::Hue(Hue::Copper), DARKEST * distance / farthest.max(1e-9));
                let digits = usize::from(cell > 2.2 * sheet.tick);
                text(scene, left + middle(j), top + middle(i), signed(*distance, digits), Ink::Text);
            }
        }
    }
}

/// What is written about a kept position: its name in as many lines as it needs, and what it is beside the first line,
/// or below the last where the sheet is narrow.
struct Row {
    name: Vec<String>,
    told: String,
    ink: Ink,
    height: f64,
}

impl Row {
    fn new(kept: &Kept, sheet: Sheet) -> Self {
        let room = sheet.width - sheet.margin - Self::left(sheet);
        let told = cut(&kept.told, Weight::Regular, sheet.label, room);
        let taken = width(&told, Weight::Regular, sheet.label) + sheet.label;
        let room = if sheet.scale { room - taken } else { room };
        let name = parted(&kept.name, Weight::Strong, sheet.label, room);
        let lines = name.len() as f64 + if sheet.scale { 0.0 } else { 1.0 };
        let apart = if sheet.scale { 0.25 } else { 0.2 };
        Self { name, told, ink: hue(kept.dot.kept), height: (LEADING * lines + apart) * sheet.row }
    }

    fn left(sheet: Sheet) -> f64 {
        sheet.margin + 2.0 * sheet.label
    }

    fn draw(&self, scene: &mut Scene, top: f64, number: usize, sheet: Sheet) {
        let middle = top + 0.5 * sheet.row;
        numbered(scene, Point::new(sheet.margin + 0.75 * sheet.label, middle), (number, self.ink), sheet);
        let base = |line: usize| middle + 0.36 * sheet.label + LEADING * sheet.row * line as f64;
        let left = Self::left(sheet);
        for (i, line) in self.name.iter().enumerate() {
            scene.text(
                Point::new(left, base(i)),
                line,
                (sheet.label, Weight::Strong),
                Anchor::Start,
                Ink::Text,
            );
        }
        let (at, anchor) = if sheet.scale {
            (Point::new(sheet.width - sheet.margin, base(0)), Anchor::End)
        } else {
            (Point::new(left, base(self.name.len())), Anchor::Start)
        };
        scene.text(at, &self.told, (sheet.label, Weight::Regular), anchor, Ink::Soft);
    }
}

fn told(circuit: &CircuitFigures) -> String {
    let resonance = circuit.resonance_hz.map(|f| engineering(f, "Hz", 3));
    let level = circuit.level_db.map(|level| format!("{} dB", signed(level, 1)));
    let hum = match circuit.hum_db {
        None => "no hum".to_owned(),
        Some(hum) => format!("hum {} dB", signed(hum, 0)),
    };
    let against = (!circuit.in_phase).then(|| "out of phase".to_owned());
    let facts: Vec<String> = [resonance, level, Some(hum), against].into_iter().flatten().collect();
    facts.join(", ")
}

fn hue(place: usize) -> Ink {
    Ink::Hue(Look::ALL[place % Look::ALL.len()].hue)
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
