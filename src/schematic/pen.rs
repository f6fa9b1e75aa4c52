//! Marks of a schematic.

use std::fmt::Write;

use crate::markup::escaped;

/// The height of the hot conductor of a row.
pub(super) const HOT: f64 = 46.0;
/// The height of its ground conductor.
pub(super) const GROUND: f64 = 206.0;
/// The height of a picture with one row.
pub(super) const HEIGHT: f64 = 250.0;

/// Marks drawn so far, below an offset.
#[derive(Default)]
pub(super) struct Pen {
    marks: String,
    down: f64,
}

impl Pen {
    /// Draws what follows so far down.
    pub(super) fn move_to(&mut self, down: f64) {
        self.down = down;
    }

    pub(super) fn drawn(self) -> String {
        self.marks
    }

    fn path(&mut self, class: &str, d: &str) {
        let _ = write!(self.marks, "<path class=\"{class}\" d=\"{d}\"/>");
    }

    /// Draws a conductor through `points`.
    pub(super) fn wire(&mut self, points: &[(f64, f64)]) {
        self.wire_of(true, points);
    }

    /// Draws a conductor that is in use, or not.
    pub(super) fn wire_of(&mut self, is_used: bool, points: &[(f64, f64)]) {
        let mut d = String::new();
        for (i, (x, y)) in points.iter().enumerate() {
            let _ = write!(d, "{}{x:.1} {:.1}", if i == 0 { 'M' } else { 'L' }, y + self.down);
        }
        self.path(if is_used { "wire" } else { "wire idle" }, &d);
    }

    /// Draws the dot of a joint.
    pub(super) fn dot(&mut self, x: f64, y: f64) {
        let y = y + self.down;
        let _ = write!(self.marks, "<circle class=\"dot\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"3\"/>");
    }

    /// Draws the ring of a contact.
    pub(super) fn ring(&mut self, x: f64, y: f64) {
        let y = y + self.down;
        let _ = write!(self.marks, "<circle class=\"ring\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"5\"/>");
    }

    /// Writes `text`, which begins at `x`, or with the class `middle` has its middle there.
    pub(super) fn text(&mut self, class: &str, x: f64, y: f64, text: &str) {
        let y = y + self.down;
        let _ =
            write!(self.marks, "<text class=\"{class}\" x=\"{x:.1}\" y=\"{y:.1}\">{}</text>", escaped(text));
    }

    /// Writes what a part is called and its values on lines below each other.
    pub(super) fn told(&mut self, x: f64, y: f64, called: &str, values: &[String]) {
        self.text("called", x, y, called);
        for (i, value) in values.iter().enumerate() {
            self.text("value", x, y + 14.0 * (i + 1) as f64, value);
        }
    }

    /// Draws a coil from `top` to `bottom`, its + end marked above or below.
    pub(super) fn coil(&mut self, x: f64, [top, bottom]: [f64; 2], is_used: bool, plus_is_above: bool) {
        const TURNS: usize = 4;
        let radius = 6.0;
        let length = 2.0 * radius * TURNS as f64;
        let from = f64::midpoint(top, bottom) - length / 2.0 + self.down;
        let mut d = format!("M{x:.1} {:.1}L{x:.1} {from:.1}", top + self.down);
        for turn in 1..=TURNS {
            let _ = write!(d, "A{radius} {radius} 0 0 1 {x:.1} {:.1}", from + 2.0 * radius * turn as f64);
        }
        let _ = write!(d, "L{x:.1} {:.1}", bottom + self.down);
        self.path(if is_used { "coil" } else { "coil idle" }, &d);
        let y = if plus_is_above { from - self.down - 4.0 } else { from - self.down + length + 12.0 };
        self.text("mark", x - 12.0, y, "+");
    }

    /// Draws a resistor upright between `top` and `bottom`.
    pub(super) fn resistor(&mut self, x: f64, [top, bottom]: [f64; 2]) {
        let middle = f64::midpoint(top, bottom);
        self.wire(&[(x, top), (x, middle - 18.0)]);
        self.wire(&[(x, middle + 18.0), (x, bottom)]);
        let y = middle - 18.0 + self.down;
        self.path("part", &format!("M{:.1} {y:.1}h12v36h-12z", x - 6.0));
    }

    /// Draws a capacitor upright between `top` and `bottom`.
    pub(super) fn capacitor(&mut self, x: f64, [top, bottom]: [f64; 2]) {
        let middle = f64::midpoint(top, bottom);
        self.wire(&[(x, top), (x, middle - 3.0)]);
        self.wire(&[(x, middle + 3.0), (x, bottom)]);
        let y = middle + self.down;
        self.path("part", &format!("M{:.1} {:.1}h18M{:.1} {:.1}h18", x - 9.0, y - 3.0, x - 9.0, y + 3.0));
    }

    /// Draws a capacitor that lies between `left` and `right`.
    pub(super) fn capacitor_lying(&mut self, [left, right]: [f64; 2], y: f64) {
        let middle = f64::midpoint(left, right);
        self.wire(&[(left, y), (middle - 3.0, y)]);
        self.wire(&[(middle + 3.0, y), (right, y)]);
        let y = y + self.down;
        self.path(
            "part",
            &format!("M{:.1} {:.1}v18M{:.1} {:.1}v18", middle - 3.0, y - 9.0, middle + 3.0, y - 9.0),
        );
    }

    /// Draws a resistor that lies between `left` and `right`.
    pub(super) fn resistor_lying(&mut self, [left, right]: [f64; 2], y: f64) {
        let middle = f64::midpoint(left, right);
        self.wire(&[(left, y), (middle - 18.0, y)]);
        self.wire(&[(middle + 18.0, y), (right, y)]);
        self.path("part", &format!("M{:.1} {:.1}h36v12h-36z", middle - 18.0, y - 6.0 + self.down));
    }

    /// Draws the arrow of a pot's wiper that comes from `from` to the middle of the track at `x`.
    pub(super) fn wiper(&mut self, from: f64, x: f64, y: f64) {
        let side = if from > x { 1.0 } else { -1.0 };
        let tip = x + side * 7.0;
        self.wire(&[(from, y), (tip, y)]);
        let y = y + self.down;
        self.path("part head", &format!("M{tip:.1} {y:.1}l{:.1} -4v8z", side * 7.0));
    }

    /// Draws the box in which pickups are joined, over `rows` further rows, and returns its width.
    pub(super) fn joined(&mut self, x: f64, rows: f64, name: &str, position: &str) -> f64 {
        let width = 150.0;
        self.path(
            "part",
            &format!("M{x:.1} {:.1}h{width}V{:.1}h-{width}z", HOT - 18.0, GROUND + rows + 16.0),
        );
        self.text("called", x + 10.0, HOT + 4.0, name);
        let mut y = HOT + 20.0;
        let mut line = String::new();
        for word in position.split(' ') {
            if line.chars().count() + word.chars().count() > 20 {
                self.text("value", x + 10.0, y, &line);
                line.clear();
                y += 14.0;
            }
            line += if line.is_empty() { "" } else { " " };
            line += word;
        }
        self.text("value", x + 10.0, y, &line);
        width
    }
}
