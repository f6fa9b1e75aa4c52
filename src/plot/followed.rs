//! An impedance as it was measured, what the circuit makes of it, and what that leaves.

use super::chart::{Chart, Foot, Side};
use super::palette::{Hue, Ink};
use super::picture::plain;
use super::scene::{Frame, Point, Scene};
use super::sheet::Sheet;
use crate::impedance::{FROM, Found, TO};
use crate::quantity::{Db, counted, signed};

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

/// The frequencies written below.
const FOOT: Foot =
    Foot { reach: [FROM.value() / 1.03, TO.value() * 1.03], written: &[200.0, 500.0, 1e3, 2e3, 5e3, 1e4] };
/// How high the lower panel is against the upper one.
const LOWER: f64 = 0.45;

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
        let chart = Chart { frame: upper, side, foot: FOOT };
        chart.grid(&mut scene, sheet);
        let curve: Vec<Point> = self.points.iter().map(|own| chart.at(own.hz, own.follows)).collect();
        if curve.len() > 1 {
            scene.line(curve, sheet.line, Ink::Hue(Hue::Copper));
        }
        for own in &self.points {
            scene.disc(chart.at(own.hz, own.measured), 0.9 * sheet.line, Ink::Text);
        }
        let left = |own: &Own| own.measured - own.follows;
        let most = self.points.iter().map(|own| left(own).abs()).fold(0.05, f64::max);
        // Steps of 1, 2 or 5 times a power of ten.
        let decade = 10f64.powf((0.5 * most).log10().floor());
        let step =
            [1.0, 2.0, 5.0].map(|n| n * decade).into_iter().rfind(|step| *step <= most).unwrap_or(decade);
        let digits = if step < 0.1 { 2 } else { 1 };
        let side = Side::holding(self.points.iter().flat_map(|own| [left(own), 0.0]), step, digits);
        let chart = Chart { frame: lower, side, foot: FOOT };
        chart.grid(&mut scene, sheet);
        for own in &self.points {
            scene.disc(chart.at(own.hz, left(own)), 0.9 * sheet.line, Ink::Text);
        }
        sheet.footing(&mut scene, &self.footing);
        scene
    }
}
