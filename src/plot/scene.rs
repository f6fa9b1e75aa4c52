//! A picture as plain marks on a sheet, from the first drawn to the last.

use super::face::Weight;
use super::palette::{Dash, Ink};

/// Returns the whole number nearest to `x`; what no sheet has room for becomes the largest there is, and what is no
/// number zero.
#[expect(clippy::cast_possible_truncation, reason = "a cast saturates, and a sheet has a few thousand units")]
pub(super) fn whole(x: f64) -> i32 {
    x.round() as i32
}

/// Returns the whole number nearest to `x`, zero for what lies below.
pub(super) fn count(x: f64) -> u32 {
    whole(x).max(0).unsigned_abs()
}

/// A point in the sheet's units, from its upper left corner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Point {
    pub(super) x: f64,
    pub(super) y: f64,
}

/// An upright rectangle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Frame {
    pub(super) left: f64,
    pub(super) top: f64,
    pub(super) right: f64,
    pub(super) bottom: f64,
}

/// Where a text's point lies on its baseline.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// One thing drawn.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Mark {
    /// A line through at least two points.
    Line { points: Vec<Point>, width: f64, ink: Ink, dash: Dash },
    /// A filled outline, its opacity from 0 to 1.
    Area { outline: Vec<Point>, ink: Ink, opacity: f64 },
    /// A filled circle.
    Disc { centre: Point, radius: f64, ink: Ink },
    /// A text on its baseline, `size` per em.
    Text { at: Point, text: String, size: f64, weight: Weight, anchor: Anchor, ink: Ink },
}

/// What is drawn on a sheet, on its ground.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Scene {
    pub(super) width: f64,
    pub(super) height: f64,
    pub(super) marks: Vec<Mark>,
}

impl Point {
    pub(super) const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    pub(super) fn distance(self, other: Self) -> f64 {
        self.distance_squared(other).sqrt()
    }

    pub(super) fn distance_squared(self, other: Self) -> f64 {
        (self.x - other.x).powi(2) + (self.y - other.y).powi(2)
    }
}

impl Frame {
    pub(super) fn around(centre: Point, radius: f64) -> Self {
        Self {
            left: centre.x - radius,
            top: centre.y - radius,
            right: centre.x + radius,
            bottom: centre.y + radius,
        }
    }

    pub(super) fn grown(self, by: f64) -> Self {
        Self { left: self.left - by, top: self.top - by, right: self.right + by, bottom: self.bottom + by }
    }

    pub(super) fn corners(self) -> [Point; 4] {
        let Self { left, top, right, bottom } = self;
        [Point::new(left, top), Point::new(right, top), Point::new(right, bottom), Point::new(left, bottom)]
    }

    pub(super) fn width(self) -> f64 {
        self.right - self.left
    }

    pub(super) fn height(self) -> f64 {
        self.bottom - self.top
    }

    pub(super) fn middle(self) -> Point {
        Point::new(0.5 * (self.left + self.right), 0.5 * (self.top + self.bottom))
    }

    pub(super) fn overlaps(self, other: Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }

    /// Returns the point of the frame that is nearest to `point`.
    pub(super) fn nearest(self, point: Point) -> Point {
        Point::new(point.x.clamp(self.left, self.right), point.y.clamp(self.top, self.bottom))
    }

    pub(super) fn distance(self, point: Point) -> f64 {
        self.nearest(point).distance(point)
    }

    pub(super) fn distance_squared(self, point: Point) -> f64 {
        self.nearest(point).distance_squared(point)
    }
}

impl Scene {
    pub(super) fn line(&mut self, points: impl Into<Vec<Point>>, width: f64, ink: Ink) {
        self.marks.push(Mark::Line { points: points.into(), width, ink, dash: Dash::Solid });
    }

    pub(super) fn text(
        &mut self,
        at: Point,
        text: impl Into<String>,
        (size, weight): (f64, Weight),
        anchor: Anchor,
        ink: Ink,
    ) {
        self.marks.push(Mark::Text { at, text: text.into(), size, weight, anchor, ink });
    }

    pub(super) fn frame(&mut self, frame: Frame, ink: Ink, opacity: f64) {
        self.marks.push(Mark::Area { outline: frame.corners().to_vec(), ink, opacity });
    }

    /// Returns the sheet.
    pub(super) fn whole(&self) -> Frame {
        Frame { left: 0.0, top: 0.0, right: self.width, bottom: self.height }
    }

    pub(super) fn disc(&mut self, centre: Point, radius: f64, ink: Ink) {
        self.marks.push(Mark::Disc { centre, radius, ink });
    }
}
