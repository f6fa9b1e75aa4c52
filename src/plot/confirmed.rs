//! How one throw differs from another, as foretold and as measured, both with their bands.

use super::chart::{Chart, Foot, Side};
use super::palette::{Hue, Ink};
use super::picture::plain;
use super::scene::{Frame, Mark, Point, Scene};
use super::sheet::Sheet;
use crate::confirm::{BandAnswer, Confirmation, DifferenceAnswer};
use crate::quantity::counted;

/// A picture of a difference that was measured.
#[derive(Debug, Clone)]
pub struct Confirmed {
    pub(super) title: String,
    subtitle: String,
    footing: Vec<String>,
    bands: Vec<BandAnswer>,
}

/// The frequencies along the foot: third octaves from 80 Hz to 8 kHz.
const FOOT: Foot = Foot { reach: [70.0, 9000.0], written: &[100.0, 200.0, 500.0, 1e3, 2e3, 5e3] };
/// How many standard deviations either side is drawn: two, so that nineteen in twenty lie inside.
const DRAWN: f64 = 2.0;
/// How strongly the foretold band is filled.
const FILLED: f64 = 0.22;

impl Confirmed {
    /// Returns the picture of each difference that was told of what is called `title`, with the later voice's verdict in words below.
    pub fn all(title: &str, told: &Confirmation) -> Vec<Self> {
        let picture = |difference: &DifferenceAnswer| {
            let later = told.takes.iter().find(|take| take.name == difference.between[1]);
            Self::new(title, difference, later.map_or("", |take| &take.words))
        };
        told.differences.iter().map(picture).collect()
    }

    fn new(title: &str, difference: &DifferenceAnswer, words: &str) -> Self {
        let [first, later] = &difference.between;
        Self {
            title: plain(&format!("{title}: {later} against {first}")),
            subtitle: difference.level_words(),
            // Word by word: all that is told is shown, however long.
            footing: vec![words.split(' ').map(plain).collect::<Vec<String>>().join(" ")],
            bands: difference.bands.clone(),
        }
    }

    pub(super) fn described(&self) -> String {
        format!(
            "Difference in {}, measured and foretold, each with two standard deviations either side; {}.",
            counted(self.bands.len(), "third octave"),
            self.subtitle
        )
    }

    pub(super) fn height(&self, sheet: Sheet) -> f64 {
        sheet.head() + sheet.above + 2.5 * sheet.tick + sheet.response + sheet.row + sheet.foot(&self.footing)
    }

    pub(super) fn composed(&self, sheet: Sheet, height: f64) -> Scene {
        let mut scene = Scene { width: sheet.width, height, marks: Vec::new() };
        sheet.headline(&mut scene, &self.title, &self.subtitle);
        let spare = (height - self.height(sheet)).max(0.0);
        let y = sheet.head();
        sheet.heading(
            &mut scene,
            y,
            "Points measured, line foretold, each with two standard deviations",
            "dB",
        );
        let top = y + sheet.above;
        let frame = Frame {
            left: sheet.gutter,
            top,
            right: sheet.width - sheet.margin,
            bottom: top + sheet.response + spare,
        };
        let ends = |level: f64, sd: f64| [level - DRAWN * sd, level + DRAWN * sd];
        let levels = self.bands.iter().flat_map(|own| {
            ends(own.measured_db, own.sd_db).into_iter().chain(ends(own.foretold_db, own.foretold_sd_db))
        });
        let chart = Chart { frame, side: Side::holding(levels, 3.0, 0), foot: FOOT };
        chart.grid(&mut scene, sheet);
        let edge = |end: usize| {
            self.bands.iter().map(move |own| chart.at(own.hz, ends(own.foretold_db, own.foretold_sd_db)[end]))
        };
        let ink = Ink::Hue(Hue::Copper);
        if self.bands.len() > 1 {
            let outline: Vec<Point> = edge(1).chain(edge(0).rev()).collect();
            scene.marks.push(Mark::Area { outline, ink, opacity: FILLED });
            let line: Vec<Point> = self.bands.iter().map(|own| chart.at(own.hz, own.foretold_db)).collect();
            scene.line(line, sheet.line, ink);
        }
        for own in &self.bands {
            let [low, high] = ends(own.measured_db, own.sd_db).map(|level| chart.at(own.hz, level));
            scene.line([low, high], 0.5 * sheet.line, Ink::Text);
            scene.disc(chart.at(own.hz, own.measured_db), 1.3 * sheet.line, Ink::Text);
        }
        sheet.footing(&mut scene, &self.footing);
        scene
    }
}
