//! The levels of a set's files against the baseline's: a bar for RMS, a ring for loudness, and both as numbers.

use super::axis::LevelAxis;
use super::face::{Weight, parted, width};
use super::palette::Ink;
use super::panel::sample;
use super::picture::{Drawn, rising};
use super::scene::{Anchor, Frame, Point, Scene};
use crate::quantity::signed;

/// How the panel is set.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rows {
    pub(super) size: f64,
    pub(super) tick: f64,
    pub(super) height: f64,
    pub(super) line: f64,
    pub(super) sample: f64,
    /// Whether levels are written below the rows.
    pub(super) scale: bool,
}

/// Half a bar's height, and a ring's radius, in ems.
const BAR: f64 = 0.27;
const RING: f64 = 0.4;
/// The share of the panel that names take at most, and from one line of a name to the next, in ems.
const WIDEST: f64 = 0.34;
const LEADING: f64 = 1.15;
/// More than this is cut at the panel's edge; the numbers beside it stay true.
const LIMIT: (f64, f64) = (-60.0, 30.0);

/// Returns the height that the panel takes.
pub(super) fn height(voices: usize, rows: Rows) -> f64 {
    rows.height * voices as f64 + if rows.scale { 1.9 } else { 0.6 } * rows.tick
}

/// Returns the height that a row needs for the longest of the names, in a panel `across` wide.
pub(super) fn row(voices: &[Drawn], across: f64, size: f64) -> f64 {
    let room = room(voices, across, size);
    let lines = voices.iter().map(|v| parted(&v.name, Weight::Strong, size, room).len()).max().unwrap_or(0);
    LEADING * size * (lines as f64 + 0.3)
}

/// Returns the room for names in a panel `across` wide.
fn room(voices: &[Drawn], across: f64, size: f64) -> f64 {
    let longest = voices.iter().map(|v| width(&v.name, Weight::Strong, size)).fold(0.0, f64::max);
    longest.min(WIDEST * across)
}

/// Draws the panel between `left` and `right`, with its first row's upper edge at `top`.
pub(super) fn draw(scene: &mut Scene, (left, right, top): (f64, f64, f64), voices: &[Drawn], rows: Rows) {
    let size = rows.size;
    let numbers = width("≈ −88.8 dB", Weight::Regular, size);
    let name_at = left + rows.sample + 0.5 * size;
    let room = room(voices, right - left, size);
    let plot_left = name_at + room + 1.2 * size;
    let plot_right = right - 2.0 * numbers - 1.6 * size;
    let bottom = top + rows.height * voices.len() as f64;
    let drops = voices.iter().flat_map(|v| [v.drop_rms, v.drop_loudness]).flatten();
    let range = drops.fold((-1.0, 0.0), |(low, high), d| (f64::min(low, d), f64::max(high, d)));
    let axis = LevelAxis::holding(range, LIMIT, (plot_left, plot_right));
    // A grid that is not written out tells nothing, but for the baseline's own level.
    for level in axis.written(2.6 * rows.tick).into_iter().filter(|l| rows.scale || *l == 0.0) {
        let x = axis.place(level);
        let ink = if level == 0.0 { Ink::Soft } else { Ink::Hairline };
        scene.line([Point::new(x, top), Point::new(x, bottom)], 0.7, ink);
        if rows.scale {
            let at = Point::new(x, bottom + 1.35 * rows.tick);
            scene.text(at, rising(level), (rows.tick, Weight::Regular), Anchor::Middle, Ink::Soft);
        }
    }
    for (i, voice) in voices.iter().enumerate() {
        let middle = top + rows.height * (i as f64 + 0.5);
        let base = middle + 0.36 * size;
        sample(scene, Point::new(left, middle), rows.sample, voice.look, rows.line);
        let name = parted(&voice.name, Weight::Strong, size, room);
        let first = base - 0.5 * LEADING * size * (name.len() as f64 - 1.0);
        for (k, line) in name.into_iter().enumerate() {
            let at = Point::new(name_at, first + LEADING * size * k as f64);
            scene.text(at, line, (size, Weight::Strong), Anchor::Start, Ink::Text);
        }
        let hue = Ink::Hue(voice.look.hue);
        if let Some(drop) = voice.drop_rms {
            let (zero, end) = (axis.place_within(0.0), axis.place_within(drop));
            let half = BAR * rows.size;
            let bar = Frame {
                left: zero.min(end),
                top: middle - half,
                right: zero.max(end),
                bottom: middle + half,
            };
            if bar.width() > 0.0 {
                scene.frame(bar, hue, 1.0);
            }
        }
        if let Some(drop) = voice.drop_loudness {
            ring(scene, Point::new(axis.place_within(drop), middle), RING * rows.size, hue, rows.line);
        }
        let about = if voice.approximate { "≈ " } else { "" };
        for (value, unit, end) in
            [(voice.drop_rms, "dB", right - numbers - 0.5 * size), (voice.drop_loudness, "LU", right)]
        {
            let text = value.map_or_else(|| "–".to_owned(), |v| format!("{about}{} {unit}", signed(v, 1)));
            scene.text(Point::new(end, base), text, (size, Weight::Regular), Anchor::End, Ink::Text);
        }
    }
}

/// Draws what bar and ring stand for, and returns where that ends.
pub(super) fn key(scene: &mut Scene, at: Point, rows: Rows) -> f64 {
    let (size, middle) = (rows.size, at.y - 0.36 * rows.size);
    let half = BAR * rows.size;
    let bar = Frame { left: at.x, top: middle - half, right: at.x + 1.6 * size, bottom: middle + half };
    scene.frame(bar, Ink::Soft, 1.0);
    let word = |scene: &mut Scene, x: f64, text: &str| {
        scene.text(Point::new(x, at.y), text, (size, Weight::Regular), Anchor::Start, Ink::Soft);
        x + width(text, Weight::Regular, size)
    };
    let x = word(scene, bar.right + 0.4 * size, "RMS") + size;
    ring(scene, Point::new(x + RING * rows.size, middle), RING * rows.size, Ink::Soft, rows.line);
    word(scene, x + 2.0 * RING * rows.size + 0.4 * size, "loudness")
}

fn ring(scene: &mut Scene, centre: Point, radius: f64, ink: Ink, line: f64) {
    scene.disc(centre, radius, ink);
    scene.disc(centre, radius - line, Ink::Paper);
}
