//! An impedance as it was measured, what the circuit makes of it, and what that leaves.

use super::face::Weight;
use super::palette::{Hue, Ink};
use super::picture::plain;
use super::scene::{Anchor, Frame, Point, Scene, whole};
use super::sheet::Sheet;
use crate::impedance::{FROM, Found, TO};
use crate::quantity::{Db, counted, engineering, signed};

/// A picture of a measured impedance.
#[derive(Debug, Clone)]
pub struct Followed {
    pub(super) title: String,
    subtitle: String,
    footing: Vec<String>,
    points: Vec<Own>,
}

/// A point: its frequency in Hz, the level of what was measured against 1 kΩ, and of what the circuit makes there.
#[derive(Debug, Clone, Copy)]
struct Own {
    hz: f64,
    measured: f64,
    follows: f64,
}

/// Levels up the side of a panel, from and to, and how far apart they are written.
#[derive(Debug, Clone, Copy)]
struct Side {
    from: f64,
    to: f64,
    step: f64,
    digits: usize,
}

/// The frequencies written below.
const WRITTEN: [f64; 6] = [200.0, 500.0, 1e3, 2e3, 5e3, 1e4];
/// How high the lower panel is against the upper one.
const LOWER: f64 = 0.45;
/// How wide grid lines are.
const FINE: f64 = 0.7;

impl Followed {
    /// Returns the picture of what was `found` of what is called `title`; without points where single readings told it.
    pub fn new(title: &str, found: &Found) -> Self {
        let level = |ohms: f64| Db::of_amplitude(ohms / 1000.0).value();
        let points = found.points.iter().map(|(point, follows)| Own {
            hz: point.frequency.value(),
            measured: level(point.impedance.norm()),
            follows: level(follows.norm()),
        });
        let subtitle = found.misfit.map(|misfit| {
            format!(
                "the circuit is off by {:.2} dB rms, most by {} dB at {}",
                misfit.rms_db,
                signed(misfit.worst_db, 2),
                misfit.worst_at
            )
        });
        Self {
            title: plain(title),
            subtitle: subtitle.unwrap_or_default(),
            footing: found.notes.iter().map(|note| plain(note)).collect(),
            points: points.collect(),
        }
    }

    pub(super) fn described(&self) -> String {
        format!(
            "Magnitude of the impedance at {}; {}.",
            counted(self.points.len(), "frequency point"),
            self.subtitle
        )
    }

    pub(super) fn height(&self, sheet: Sheet) -> f64 {
        sheet.head()
            + 2.0 * (sheet.above + 2.5 * sheet.tick)
            + sheet.response * (1.0 + LOWER)
            + sheet.row
            + sheet.foot(&self.footing)
    }

    pub(super) fn composed(&self, sheet: Sheet, height: f64) -> Scene {
        let mut scene = Scene { width: sheet.width, height, marks: Vec::new() };
        sheet.headline(&mut scene, &self.title, &self.subtitle);
        let spare = (height - self.height(sheet)).max(0.0);
        let whole = sheet.response * (1.0 + LOWER) + spare;
        let mut y = sheet.head();
        let mut panel = |scene: &mut Scene, heading: &str, unit: &str, share: f64| {
            sheet.heading(scene, y, heading, unit);
            let top = y + sheet.above;
            let bottom = top + share * whole;
            y = bottom + 2.5 * sheet.tick;
            Frame { left: sheet.gutter, top, right: sheet.width - sheet.margin, bottom }
        };
        let upper = panel(
            &mut scene,
            "Impedance: points measured, line the circuit",
            "dB against 1 kΩ",
            1.0 / (1.0 + LOWER),
        );
        let lower = panel(&mut scene, "What the circuit leaves", "dB", LOWER / (1.0 + LOWER));
        let levels = self.points.iter().flat_map(|own| [own.measured, own.follows]);
        let side = Side::holding(levels, 6.0, 0);
        grid(&mut scene, upper, side, sheet);
        let curve: Vec<Point> = self.points.iter().map(|own| at(upper, side, own.hz, own.follows)).collect();
        if curve.len() > 1 {
            scene.line(curve, sheet.line, Ink::Hue(Hue::Copper));
        }
        for own in &self.points {
            scene.disc(at(upper, side, own.hz, own.measured), 0.9 * sheet.line, Ink::Text);
        }
        let left = |own: &Own| own.measured - own.follows;
        let most = self.points.iter().map(|own| left(own).abs()).fold(0.05, f64::max);
        // Steps of 1, 2 or 5 times a power of ten.
        let decade = 10f64.powf((0.5 * most).log10().floor());
        let step =
            [1.0, 2.0, 5.0].map(|n| n * decade).into_iter().rfind(|step| *step <= most).unwrap_or(decade);
        let digits = if step < 0.1 { 2 } else { 1 };
        let side = Side::holding(self.points.iter().flat_map(|own| [left(own), 0.0]), step, digits);
        grid(&mut scene, lower, side, sheet);
        for own in &self.points {
            scene.disc(at(lower, side, own.hz, left(own)), 0.9 * sheet.line, Ink::Text);
        }
        sheet.footing(&mut scene, &self.footing);
        scene
    }
}

impl Side {
    /// Returns a side that holds `levels` in whole steps.
    fn holding(levels: impl Iterator<Item = f64>, step: f64, digits: usize) -> Self {
        let (least, most) =
            levels.fold((0.0_f64, 0.0_f64), |(least, most), level| (least.min(level), most.max(level)));
        let from = (least / step).floor() * step;
        let to = ((most / step).ceil() * step).max(from + step);
        // No side has more lines than can be read.
        let step = step * ((to - from) / step / 10.0).ceil().max(1.0);
        Self { from, to, step, digits }
    }
}

/// Draws the lines at which frequencies and levels are read.
fn grid(scene: &mut Scene, frame: Frame, side: Side, sheet: Sheet) {
    let count = whole((side.to - side.from) / side.step);
    for i in 0..=count {
        let level = side.from + f64::from(i) * side.step;
        let y = at(frame, side, FROM.value(), level).y;
        let ink = if level.abs() < 0.5 * side.step { Ink::Soft } else { Ink::Hairline };
        scene.line([Point::new(frame.left, y), Point::new(frame.right, y)], FINE, ink);
        let place = Point::new(frame.left - 0.6 * sheet.tick, y + 0.36 * sheet.tick);
        let text = signed(level, side.digits);
        scene.text(place, text, (sheet.tick, Weight::Regular), Anchor::End, Ink::Soft);
    }
    for hz in WRITTEN {
        let x = at(frame, side, hz, side.from).x;
        scene.line([Point::new(x, frame.top), Point::new(x, frame.bottom)], FINE, Ink::Hairline);
        let place = Point::new(x, frame.bottom + 1.5 * sheet.tick);
        let text = engineering(hz, "Hz", 2);
        scene.text(place, text, (sheet.tick, Weight::Regular), Anchor::Middle, Ink::Soft);
    }
}

/// Returns where a level at a frequency lies.
fn at(frame: Frame, side: Side, hz: f64, level: f64) -> Point {
    let [from, to] = [FROM.value() / 1.03, TO.value() * 1.03];
    let across = (hz.clamp(from, to) / from).ln() / (to / from).ln();
    let up = (level.clamp(side.from, side.to) - side.from) / (side.to - side.from);
    Point::new(frame.left + across * frame.width(), frame.bottom - up * frame.height())
}
