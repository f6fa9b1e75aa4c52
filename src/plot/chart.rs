//! Levels against frequency, with the lines at which both are read.

use super::face::Weight;
use super::palette::Ink;
use super::scene::{Anchor, Frame, Point, Scene, whole};
use super::sheet::Sheet;
use crate::quantity::{engineering, signed};

/// Levels up the side of a panel, from and to, and how far apart they are written.
#[derive(Debug, Clone, Copy)]
pub(super) struct Side {
    from: f64,
    to: f64,
    step: f64,
    digits: usize,
}

/// Frequencies along the foot of a panel in Hz: the lowest, the highest, and those that are written.
#[derive(Debug, Clone, Copy)]
pub(super) struct Foot {
    pub(super) reach: [f64; 2],
    pub(super) written: &'static [f64],
}

/// A panel with what is read at its side and its foot.
#[derive(Debug, Clone, Copy)]
pub(super) struct Chart {
    pub(super) frame: Frame,
    pub(super) side: Side,
    pub(super) foot: Foot,
}

/// How wide grid lines are.
const FINE: f64 = 0.7;

impl Side {
    /// Returns a side that holds `levels` in whole steps.
    pub(super) fn holding(levels: impl Iterator<Item = f64>, step: f64, digits: usize) -> Self {
        let (least, most) =
            levels.fold((0.0_f64, 0.0_f64), |(least, most), level| (least.min(level), most.max(level)));
        let from = (least / step).floor() * step;
        let to = ((most / step).ceil() * step).max(from + step);
        // No side has more lines than can be read.
        let step = step * ((to - from) / step / 10.0).ceil().max(1.0);
        Self { from, to, step, digits }
    }
}

impl Chart {
    /// Draws the lines at which frequencies and levels are read.
    pub(super) fn grid(self, scene: &mut Scene, sheet: Sheet) {
        let Self { frame, side, foot } = self;
        let count = whole((side.to - side.from) / side.step);
        for i in 0..=count {
            let level = side.from + f64::from(i) * side.step;
            let y = self.at(foot.reach[0], level).y;
            let ink = if level.abs() < 0.5 * side.step { Ink::Soft } else { Ink::Hairline };
            scene.line([Point::new(frame.left, y), Point::new(frame.right, y)], FINE, ink);
            let place = Point::new(frame.left - 0.6 * sheet.tick, y + 0.36 * sheet.tick);
            let text = signed(level, side.digits);
            scene.text(place, text, (sheet.tick, Weight::Regular), Anchor::End, Ink::Soft);
        }
        for hz in foot.written {
            let x = self.at(*hz, side.from).x;
            scene.line([Point::new(x, frame.top), Point::new(x, frame.bottom)], FINE, Ink::Hairline);
            let place = Point::new(x, frame.bottom + 1.5 * sheet.tick);
            let text = engineering(*hz, "Hz", 2);
            scene.text(place, text, (sheet.tick, Weight::Regular), Anchor::Middle, Ink::Soft);
        }
    }

    /// Returns where a level at a frequency lies.
    pub(super) fn at(self, hz: f64, level: f64) -> Point {
        let Self { frame, side, foot } = self;
        let [from, to] = foot.reach;
        let across = (hz.clamp(from, to) / from).ln() / (to / from).ln();
        let up = (level.clamp(side.from, side.to) - side.from) / (side.to - side.from);
        Point::new(frame.left + across * frame.width(), frame.bottom - up * frame.height())
    }
}
