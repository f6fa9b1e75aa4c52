//! A picture composed into a scene: what stands on the sheet, and where.

use super::axis::LevelAxis;
use super::face::{Weight, cut, shortened, width, wrapped};
use super::levels::{self, Rows};
use super::palette::Ink;
use super::panel::{self, Curve, Setting};
use super::picture::{BandPoint, Drawn, Picture};
use super::scene::{Anchor, Frame, Point, Scene};
use crate::quantity::engineering;

/// The measures of a sheet; lengths in its own units, which are CSS pixels at the size it is made for.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sheet {
    pub(super) width: f64,
    /// Left and right of everything.
    pub(super) margin: f64,
    /// From the sheet's left edge to the panels, with room for what is written at their axes.
    pub(super) gutter: f64,
    pub(super) title: f64,
    pub(super) subtitle: f64,
    pub(super) heading: f64,
    pub(super) label: f64,
    pub(super) tick: f64,
    pub(super) note: f64,
    pub(super) row: f64,
    pub(super) line: f64,
    pub(super) sample: f64,
    /// The least heights of the response's panel and of the panels below it, and what each grows by for every curve more,
    /// whose label needs room.
    pub(super) response: f64,
    lesser: f64,
    more: f64,
    /// From where the last thing ended to a panel's upper edge: space and the heading.
    pub(super) above: f64,
    /// Whether there is room to write the levels' axis out, and what belongs together in one line.
    pub(super) scale: bool,
}

/// For desks, paper and bitmaps.
pub(super) const WIDE: Sheet = Sheet {
    width: 800.0,
    margin: 24.0,
    gutter: 58.0,
    title: 21.0,
    subtitle: 13.5,
    heading: 14.0,
    label: 13.0,
    tick: 12.0,
    note: 11.5,
    row: 22.0,
    line: 2.0,
    sample: 26.0,
    response: 330.0,
    lesser: 140.0,
    more: 8.0,
    above: 40.0,
    scale: true,
};

/// For phones.
pub(super) const NARROW: Sheet = Sheet {
    width: 390.0,
    margin: 12.0,
    gutter: 34.0,
    title: 15.0,
    subtitle: 10.5,
    heading: 11.0,
    label: 10.0,
    tick: 9.5,
    note: 9.0,
    row: 13.5,
    line: 1.5,
    sample: 16.0,
    response: 160.0,
    lesser: 72.0,
    more: 9.0,
    above: 25.0,
    scale: false,
};

/// The highest and lowest levels that panels reach, whatever the numbers.
const RESPONSE_LIMIT: (f64, f64) = (-72.0, 36.0);
const DIFFERENCE_LIMIT: (f64, f64) = (-24.0, 24.0);
/// Below this nothing is told of a response, unless one begins there.
const RESPONSE_FLOOR: f64 = -24.0;
const SPECTRUM_DEPTH: f64 = 48.0;
/// Up to so many curves the least heights of the response's panel and of those below it have room for their labels.
const RESPONSE_HOLDS: usize = 4;
const LESSER_HOLDS: usize = 2;
/// Of the height that a sheet has to spare, the response's panel and the levels take this much more than another.
const RESPONSE_SHARE: f64 = 2.0;
const LEVELS_SHARE: f64 = 0.6;

/// A panel of curves with its heading, still without a place.
struct Curves {
    heading: String,
    unit: String,
    range: (f64, f64),
    limit: (f64, f64),
    lines: Vec<Curve>,
    height: f64,
}

impl Sheet {
    /// Returns the least height at which the picture can be read.
    pub(super) fn height(self, picture: &Picture) -> f64 {
        let panels: f64 = self.panels(picture).iter().map(|p| p.height + self.above).sum();
        let levels = if has_levels(picture) {
            self.above + levels::height(picture.voices.len(), self.rows(self.level_row(picture)))
        } else {
            0.0
        };
        self.head() + panels + self.below_panels() + levels + self.foot(&picture.footing)
    }

    /// Returns the picture composed into a sheet of `height`, at least [`Sheet::height`].
    pub(super) fn composed(self, picture: &Picture, height: f64) -> Scene {
        let mut scene = Scene { width: self.width, height, marks: Vec::new() };
        self.headline(&mut scene, &picture.title, &picture.subtitle);
        let panels = self.panels(picture);
        let spare = (height - self.height(picture)).max(0.0);
        let levels = if has_levels(picture) { LEVELS_SHARE } else { 0.0 };
        let share = spare / (RESPONSE_SHARE + levels + panels.len().max(1) as f64 - 1.0);
        let mut y = self.head();
        for (i, panel) in panels.iter().enumerate() {
            self.heading(&mut scene, y, &panel.heading, &panel.unit);
            let top = y + self.above;
            let bottom = top + panel.height + share * if i == 0 { RESPONSE_SHARE } else { 1.0 };
            let frame = Frame { left: self.gutter, top, right: self.width - self.margin, bottom };
            let axis = LevelAxis::holding(panel.range, panel.limit, (bottom, top));
            let last = i + 1 == panels.len();
            panel::draw(&mut scene, frame, axis, &panel.lines, self.setting(last));
            y = bottom;
        }
        y += self.below_panels();
        if has_levels(picture) {
            let heading = format!("Level of the files against {}", picture.baseline_name());
            let end = self.heading(&mut scene, y, &heading, "");
            let base = y + self.above - 0.7 * self.heading;
            let rows =
                self.rows(self.level_row(picture) + LEVELS_SHARE * share / picture.voices.len() as f64);
            levels::key(&mut scene, Point::new(end + self.heading, base), rows);
            let sides = (self.margin, self.width - self.margin, y + self.above);
            levels::draw(&mut scene, sides, &picture.voices, rows);
        }
        self.footing(&mut scene, &picture.footing);
        scene
    }

    /// Writes paragraphs at the sheet's foot.
    pub(super) fn footing(self, scene: &mut Scene, paragraphs: &[String]) {
        for (i, line) in self.notes(paragraphs).iter().rev().enumerate() {
            let at = Point::new(self.margin, scene.height - 1.0 * self.note - 1.4 * self.note * i as f64);
            scene.text(at, line, (self.note, Weight::Regular), Anchor::Start, Ink::Soft);
        }
    }

    pub(super) fn headline(self, scene: &mut Scene, title: &str, subtitle: &str) {
        let room = self.width - 2.0 * self.margin;
        let title = cut(title, Weight::Strong, self.title, room);
        let at = Point::new(self.margin, 1.75 * self.title);
        scene.text(at, title, (self.title, Weight::Strong), Anchor::Start, Ink::Text);
        // A little too long is set smaller, before it is cut.
        let size = self.subtitle * room / width(subtitle, Weight::Regular, self.subtitle).max(room);
        let size = size.max(self.note);
        let subtitle = cut(subtitle, Weight::Regular, size, room);
        let at = Point::new(self.margin, 1.75 * self.title + 1.6 * self.subtitle);
        scene.text(at, subtitle, (size, Weight::Regular), Anchor::Start, Ink::Soft);
    }

    /// Writes a panel's heading below `y` and returns where it ends.
    pub(super) fn heading(self, scene: &mut Scene, y: f64, heading: &str, unit: &str) -> f64 {
        let base = y + self.above - 0.7 * self.heading;
        let room = self.width - 2.0 * self.margin;
        let heading = cut(heading, Weight::Strong, self.heading, room);
        let end = self.margin + width(&heading, Weight::Strong, self.heading);
        scene.text(
            Point::new(self.margin, base),
            heading,
            (self.heading, Weight::Strong),
            Anchor::Start,
            Ink::Text,
        );
        let unit_at = end + 0.6 * self.heading;
        let unit = cut(unit, Weight::Regular, self.heading, self.width - self.margin - unit_at);
        if unit.is_empty() {
            return end;
        }
        let end = unit_at + width(&unit, Weight::Regular, self.heading);
        scene.text(
            Point::new(unit_at, base),
            unit,
            (self.heading, Weight::Regular),
            Anchor::Start,
            Ink::Soft,
        );
        end
    }

    fn panels(self, picture: &Picture) -> Vec<Curves> {
        let against = picture.baseline_name();
        let grown = |least: f64, holds: usize, more: f64| {
            least + more * picture.voices.len().saturating_sub(holds) as f64
        };
        let mut panels = vec![Curves {
            heading: "Response at the jack".to_owned(),
            unit: format!("dB against {against} at 100 Hz"),
            range: response_range(&picture.voices),
            limit: RESPONSE_LIMIT,
            lines: self.curves(picture, |v| (&v.response, &v.response_band), true),
            height: grown(self.response, RESPONSE_HOLDS, self.more),
        }];
        if picture.voices.len() > 1 {
            let levels = picture.voices.iter().flat_map(|v| &v.difference).map(|(_, l)| *l);
            let (low, high) = extent(levels);
            panels.push(Curves {
                heading: format!("Difference to {against}"),
                unit: "dB".to_owned(),
                range: (low.min(-1.0), high.max(1.0)),
                limit: DIFFERENCE_LIMIT,
                lines: self.curves(picture, |v| (&v.difference, &v.difference_band), false),
                height: grown(self.lesser, LESSER_HOLDS, 1.5 * self.more),
            });
        }
        if picture.voices.iter().any(|v| v.spectrum.len() > 1) {
            let (low, high) = extent(picture.voices.iter().flat_map(|v| &v.spectrum).map(|(_, l)| *l));
            let mut curves = self.curves(picture, |v| (&v.spectrum, &[]), false);
            for curve in &mut curves {
                for point in &mut curve.points {
                    point.1 -= high;
                }
            }
            curves.retain(|c| c.points.len() > 1);
            panels.push(Curves {
                heading: "Third-octave spectra at matched level".to_owned(),
                unit: "dB against the loudest band".to_owned(),
                range: ((low - high).max(-SPECTRUM_DEPTH), 0.0),
                limit: RESPONSE_LIMIT,
                lines: curves,
                height: grown(self.lesser, LESSER_HOLDS, 1.5 * self.more),
            });
        }
        panels
    }

    fn curves<'p>(
        self,
        picture: &'p Picture,
        of: impl Fn(&'p Drawn) -> (&'p [(f64, f64)], &'p [BandPoint]),
        in_full: bool,
    ) -> Vec<Curve> {
        let curve = |(i, voice): (usize, &'p Drawn)| {
            let (points, band) = of(voice);
            let peak = voice.peak.filter(|_| in_full);
            let mut detail: Vec<String> = peak.map(|(f, _)| engineering(f, "Hz", 3)).into_iter().collect();
            if voice.coil_a && in_full {
                detail.push("(coil A’s path)".to_owned());
            }
            Curve {
                look: voice.look,
                baseline: Some(i) == picture.baseline,
                points: points.to_vec(),
                band: band.iter().map(|p| (p.frequency.value(), p.low.value(), p.high.value())).collect(),
                mark: peak,
                name: shortened(&voice.name, Weight::Strong, self.label, 0.45 * self.width),
                detail,
            }
        };
        picture.voices.iter().enumerate().map(curve).collect()
    }

    fn notes(self, paragraphs: &[String]) -> Vec<String> {
        let room = self.width - 2.0 * self.margin;
        paragraphs.iter().flat_map(|paragraph| wrapped(paragraph, Weight::Regular, self.note, room)).collect()
    }

    fn setting(self, frequencies: bool) -> Setting {
        let Self { label, tick, line, sample, .. } = self;
        Setting { label, tick, line, sample, frequencies }
    }

    /// Returns the least height of a row of the levels' panel.
    fn level_row(self, picture: &Picture) -> f64 {
        self.row.max(levels::row(&picture.voices, self.width - 2.0 * self.margin, self.label))
    }

    fn rows(self, height: f64) -> Rows {
        Rows {
            size: self.label,
            tick: self.tick,
            height,
            line: self.line,
            sample: self.sample,
            scale: self.scale,
        }
    }

    pub(super) fn head(self) -> f64 {
        1.75 * self.title + 2.0 * self.subtitle
    }

    fn below_panels(self) -> f64 {
        2.0 * self.tick
    }

    pub(super) fn foot(self, paragraphs: &[String]) -> f64 {
        1.4 * self.note * self.notes(paragraphs).len() as f64 + 1.6 * self.note
    }
}

fn has_levels(picture: &Picture) -> bool {
    picture.voices.len() > 1
        && picture.voices.iter().any(|v| v.drop_rms.is_some() || v.drop_loudness.is_some())
}

/// Returns what the response's panel must hold: every peak, and the beginning of every curve with room below it.
fn response_range(voices: &[Drawn]) -> (f64, f64) {
    let (_, high) = extent(voices.iter().flat_map(|v| &v.response).map(|(_, l)| *l));
    let begins = voices.iter().filter_map(|v| v.response.first()).map(|(_, l)| *l);
    let lowest = begins.filter(|l| *l > RESPONSE_LIMIT.0).fold(0.0, f64::min);
    // Room above the highest peak for its label.
    (RESPONSE_FLOOR.min(lowest - 12.0), high + 1.0)
}

/// Returns the lowest and the highest of `levels`, or 0 for none.
fn extent(levels: impl Iterator<Item = f64>) -> (f64, f64) {
    let (low, high) = levels
        .filter(|l| l.is_finite())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), l| (low.min(l), high.max(l)));
    if low <= high { (low, high) } else { (0.0, 0.0) }
}
