//! A panel of curves over frequency, each labelled where it runs.

use super::axis::{FrequencyAxis, LevelAxis, WRITTEN};
use super::face::{Weight, width};
use super::palette::{Ink, Look};
use super::picture::{REACH, rising};
use super::place::{Field, Heights, Wanted, placed};
use super::scene::{Anchor, Frame, Mark, Point, Scene};
use super::trace;

/// A curve of a panel, by frequency and level.
#[derive(Debug, Clone)]
pub(super) struct Curve {
    pub(super) look: Look,
    /// Whether the others are told against this one.
    pub(super) baseline: bool,
    pub(super) points: Vec<(f64, f64)>,
    /// Frequency, lower and upper edge.
    pub(super) band: Vec<(f64, f64, f64)>,
    pub(super) mark: Option<(f64, f64)>,
    pub(super) name: String,
    /// What stands after the name, in a lighter weight.
    pub(super) detail: Vec<String>,
}

/// How a panel is set.
#[derive(Debug, Clone, Copy)]
pub(super) struct Setting {
    /// The sizes of labels and of what is written at the axis.
    pub(super) label: f64,
    pub(super) tick: f64,
    /// The width of a curve.
    pub(super) line: f64,
    /// The length of the sample of a curve's line before its name.
    pub(super) sample: f64,
    /// Whether frequencies are written below the panel.
    pub(super) frequencies: bool,
}

/// Curves nearer than this everywhere look like one, and share a label.
const ALIKE: f64 = 1.0;
const BAND_OPACITY: f64 = 0.16;
/// The baseline's line is heavier by this.
const HEAVIER: f64 = 1.25;
/// Lines of a label from baseline to baseline, and what a label is high above its first and below its last, in ems.
const LEADING: f64 = 1.22;
const ASCENT: f64 = 0.78;
const DESCENT: f64 = 0.24;
const SPACE: f64 = 0.42;

/// A line of a label: the sample of a curve's line, a name and what follows it.
struct LabelLine<'a> {
    look: Option<Look>,
    name: &'a str,
    detail: String,
}

/// Draws a panel into `frame`.
pub(super) fn draw(scene: &mut Scene, frame: Frame, axis: LevelAxis, curves: &[Curve], set: Setting) {
    let across = FrequencyAxis { left: frame.left, right: frame.right };
    grid(scene, frame, axis, across, set);
    let place = |f: f64, level: f64| Point::new(across.place(f), axis.place_near(level));
    let lines: Vec<Vec<Point>> =
        curves.iter().map(|c| c.points.iter().map(|(f, l)| place(*f, *l)).collect()).collect();
    for curve in curves {
        band(scene, across, axis, curve);
    }
    for (curve, line) in curves.iter().zip(&lines) {
        let width = set.line * if curve.baseline { HEAVIER } else { 1.0 };
        for part in trace::within(frame, line) {
            let points = trace::simplified(&part);
            scene.marks.push(Mark::Line {
                points,
                width,
                ink: Ink::Hue(curve.look.hue),
                dash: curve.look.dash,
            });
        }
    }
    let marks: Vec<Option<Point>> = curves
        .iter()
        .map(|c| c.mark.map(|(f, level)| place(f, level)).filter(|p| frame.distance(*p) == 0.0))
        .collect();
    for (curve, mark) in curves.iter().zip(&marks) {
        if let Some(at) = mark {
            scene.disc(*at, 2.4 * set.line, Ink::Paper);
            scene.disc(*at, 1.7 * set.line, Ink::Hue(curve.look.hue));
        }
    }
    labels(scene, frame, curves, &lines, &marks, set);
}

fn grid(scene: &mut Scene, frame: Frame, axis: LevelAxis, across: FrequencyAxis, set: Setting) {
    const FINE: f64 = 0.7;
    for (f, _, _) in WRITTEN.iter().filter(|w| w.2) {
        let x = across.place(*f);
        scene.line([Point::new(x, frame.top), Point::new(x, frame.bottom)], FINE, Ink::Hairline);
    }
    for level in axis.written(1.9 * set.tick) {
        let y = axis.place(level);
        let ink = if level == 0.0 { Ink::Soft } else { Ink::Hairline };
        scene.line([Point::new(frame.left, y), Point::new(frame.right, y)], FINE, ink);
        let at = Point::new(frame.left - 0.6 * set.tick, y + 0.36 * set.tick);
        scene.text(at, rising(level), (set.tick, Weight::Regular), Anchor::End, Ink::Soft);
    }
    let (foot, tick) = (frame.bottom, 0.4 * set.tick);
    scene.line([Point::new(frame.left, foot), Point::new(frame.right, foot)], FINE, Ink::Soft);
    for (f, text, _) in WRITTEN {
        let x = across.place(f);
        scene.line([Point::new(x, foot), Point::new(x, foot + tick)], FINE, Ink::Soft);
        if set.frequencies {
            // The last one would reach over the sheet's edge.
            let (x, anchor) =
                if f < REACH.1 { (x, Anchor::Middle) } else { (x + 0.6 * set.tick, Anchor::End) };
            let at = Point::new(x, foot + tick + 1.15 * set.tick);
            scene.text(at, text, (set.tick, Weight::Regular), anchor, Ink::Soft);
        }
    }
}

fn band(scene: &mut Scene, across: FrequencyAxis, axis: LevelAxis, curve: &Curve) {
    let edge = |f: f64, level: f64| Point::new(across.place(f), axis.place_within(level));
    let upper = curve.band.iter().map(|(f, _, high)| edge(*f, *high));
    let lower = curve.band.iter().rev().map(|(f, low, _)| edge(*f, *low));
    let outline: Vec<Point> = upper.chain(lower).collect();
    if outline.len() > 3 {
        scene.marks.push(Mark::Area { outline, ink: Ink::Hue(curve.look.hue), opacity: BAND_OPACITY });
    }
}

fn labels(
    scene: &mut Scene,
    frame: Frame,
    curves: &[Curve],
    lines: &[Vec<Point>],
    marks: &[Option<Point>],
    set: Setting,
) {
    let groups = alike(frame, lines);
    let heights: Vec<Heights> = groups.iter().map(|g| Heights::of(&lines[g[0]])).collect();
    let texts: Vec<Vec<LabelLine<'_>>> = groups.iter().map(|g| label(g, curves)).collect();
    let wanted: Vec<Wanted> = groups
        .iter()
        .zip(&texts)
        .enumerate()
        .map(|(i, (group, text))| Wanted {
            width: text.iter().map(|l| l.width(set)).fold(0.0, f64::max),
            height: (ASCENT + DESCENT + LEADING * (text.len().max(1) - 1) as f64) * set.label,
            curve: i,
            mark: group
                .iter()
                .find_map(|i| marks[*i])
                .or_else(|| apart(frame.grown(-set.label), i, &heights)),
        })
        .collect();
    let taken: Vec<Frame> = marks.iter().flatten().map(|p| Frame::around(*p, 3.2 * set.line)).collect();
    let field =
        Field { frame: frame.grown(-0.3 * set.label), curves: &heights, marks: &taken, em: set.label };
    for (text, place) in texts.iter().zip(placed(field, &wanted)) {
        let Some(place) = place else { continue };
        if let Some([from, to]) = place.leader {
            let length = from.distance(to);
            let short = if marks.contains(&Some(to)) { 3.0 * set.line } else { 0.0 };
            let stop = (length - short).max(0.0) / length.max(1e-9);
            let end = Point::new(from.x + stop * (to.x - from.x), from.y + stop * (to.y - from.y));
            if length > 1.5 * short {
                scene.line([from, end], 0.8, Ink::Soft);
            }
        }
        scene.frame(place.frame.grown(0.1 * set.label), Ink::Paper, 0.8);
        for (i, line) in text.iter().enumerate() {
            let base = place.frame.top + (ASCENT + LEADING * i as f64) * set.label;
            line.draw(scene, Point::new(place.frame.left, base), set);
        }
    }
}

/// Returns the point inside the frame at which a curve lies farthest from all others.
fn apart(frame: Frame, own: usize, curves: &[Heights]) -> Option<Point> {
    let far = |p: &Point| {
        let others = curves.iter().enumerate().filter(|(i, _)| *i != own);
        others.filter_map(|(_, c)| c.at(p.x)).map(|y| (y - p.y).abs()).fold(frame.height(), f64::min)
    };
    let inside = curves[own].between(frame.left, frame.right).filter(|p| frame.distance(*p) == 0.0);
    inside.max_by(|a, b| far(a).total_cmp(&far(b)))
}

/// Returns the curves in groups that look like one inside the frame.
fn alike(frame: Frame, lines: &[Vec<Point>]) -> Vec<Vec<usize>> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (i, line) in lines.iter().enumerate() {
        let seen = |p: &Point| p.y.clamp(frame.top, frame.bottom);
        let same = |other: &[Point]| {
            other.len() == line.len()
                && line
                    .iter()
                    .zip(other)
                    .all(|(a, b)| (a.x - b.x).abs() < ALIKE && (seen(a) - seen(b)).abs() < ALIKE)
        };
        match groups.iter_mut().find(|g| same(&lines[g[0]])) {
            Some(group) => group.push(i),
            None => groups.push(vec![i]),
        }
    }
    groups
}

fn label<'a>(group: &[usize], curves: &'a [Curve]) -> Vec<LabelLine<'a>> {
    let mut lines = Vec::new();
    for curve in group.iter().map(|i| &curves[*i]) {
        let mut details = curve.detail.iter();
        let beside = details.next().cloned().unwrap_or_default();
        lines.push(LabelLine { look: Some(curve.look), name: &curve.name, detail: beside });
        lines.extend(details.map(|d| LabelLine { look: None, name: "", detail: d.clone() }));
    }
    lines
}

impl LabelLine<'_> {
    fn name_at(set: Setting) -> f64 {
        set.sample + SPACE * set.label
    }

    fn detail_at(&self, set: Setting) -> f64 {
        if self.name.is_empty() {
            return Self::name_at(set);
        }
        Self::name_at(set) + width(self.name, Weight::Strong, set.label) + SPACE * set.label
    }

    fn width(&self, set: Setting) -> f64 {
        self.detail_at(set) + width(&self.detail, Weight::Regular, set.label)
    }

    fn draw(&self, scene: &mut Scene, at: Point, set: Setting) {
        if let Some(look) = self.look {
            sample(scene, Point::new(at.x, at.y - 0.36 * set.label), set.sample, look, set.line);
        }
        let word = |x: f64| Point::new(at.x + x, at.y);
        if !self.name.is_empty() {
            scene.text(
                word(Self::name_at(set)),
                self.name,
                (set.label, Weight::Strong),
                Anchor::Start,
                Ink::Text,
            );
        }
        if !self.detail.is_empty() {
            let style = (set.label, Weight::Regular);
            scene.text(word(self.detail_at(set)), self.detail.clone(), style, Anchor::Start, Ink::Soft);
        }
    }
}

/// Draws a short piece of a curve's line.
pub(super) fn sample(scene: &mut Scene, at: Point, length: f64, look: Look, width: f64) {
    let points = vec![at, Point::new(at.x + length, at.y)];
    scene.marks.push(Mark::Line { points, width, ink: Ink::Hue(look.hue), dash: look.dash });
}
