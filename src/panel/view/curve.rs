//! Responses at the jack, drawn.

use std::fmt::Write;

use drywire::plot::{Stroke, strokes};
use drywire::quantity::{Hertz, signed};
use drywire::response::{Selection, VoiceResponse};
use maud::{Markup, PreEscaped, html};

/// How many frequencies a curve has.
const POINTS: usize = 160;
const LOWEST: f64 = 50.0;
const HIGHEST: f64 = 20_000.0;
/// The reference frequency of levels.
const REFERENCE: f64 = 100.0;

const WIDTH: f64 = 640.0;
const HEIGHT: f64 = 330.0;
const LEFT: f64 = 46.0;
const RIGHT: f64 = 12.0;
const TOP: f64 = 12.0;
const BOTTOM: f64 = 28.0;
const SPAN: f64 = 50.0;

/// The curves of some voices, in dB against the first one's at 100 Hz.
#[derive(Debug)]
pub(crate) struct Curves {
    frequencies: Vec<f64>,
    strokes: Vec<Stroke>,
    levels: Vec<Option<Vec<f64>>>,
}

impl Curves {
    /// Returns the curves of what is selected; one that has no solution is left out.
    pub(crate) fn of(selection: &Selection<'_>) -> Self {
        let ratio = (HIGHEST / LOWEST).ln();
        let frequencies: Vec<f64> =
            (0..POINTS).map(|i| LOWEST * (ratio * i as f64 / (POINTS - 1) as f64).exp()).collect();
        let reference =
            level(&selection.responses()[selection.baseline()], &[REFERENCE]).map_or(0.0, |own| own[0]);
        let levels = selection.responses().iter().map(|response| {
            let own = level(response, &frequencies)?;
            Some(own.into_iter().map(|db| db - reference).collect())
        });
        let levels = levels.collect();
        let arrangements: Vec<_> = selection.responses().iter().map(|r| r.voice().arrangement()).collect();
        Self { frequencies, strokes: strokes(&arrangements), levels }
    }

    /// Returns the picture with the curve at the place `chosen` in front, and where there is one another guitar's beside it.
    pub(crate) fn picture(&self, chosen: usize, titles: &[String], beside: Option<&Self>) -> Markup {
        let highest =
            self.levels.iter().flatten().flatten().fold(f64::NEG_INFINITY, |most, db| most.max(*db));
        let high = if highest.is_finite() { ((highest + 2.0 - 2.5) / 5.0).ceil() * 5.0 + 2.5 } else { 12.5 };
        let order = (0..self.levels.len()).filter(|i| *i != chosen).chain([chosen]);
        let title = titles.get(chosen).map_or("", String::as_str);
        html! {
            svg.curves-drawn viewBox=(format!("0 0 {WIDTH} {HEIGHT}")) role="img" aria-label={ "Response at the jack, " (title) } {
                (grid(high))
                @if let Some(levels) = beside.and_then(|other| other.levels.get(chosen)).and_then(Option::as_ref) {
                    path.curve.beside d=(self.path(levels, high)) {}
                }
                @for i in order {
                    @if let (Some(levels), Some(stroke)) = (&self.levels[i], self.strokes.get(i)) {
                        path class={ "curve hue-" (stroke.hue) @if i == chosen { " chosen" } } stroke-dasharray=[dashes(stroke, i == chosen)] d=(self.path(levels, high)) {}
                    }
                }
                (self.top(chosen, high))
            }
        }
    }

    /// Returns which curve is whose, and whose the one beside them is.
    pub(crate) fn legend(&self, chosen: usize, titles: &[String], beside: Option<&str>) -> Markup {
        let sample = |class: &str, dash: Option<String>| {
            html! { svg viewBox="0 0 30 10" aria-hidden="true" { path class=(class) stroke-dasharray=[dash] d="M1 5H29" {} } }
        };
        html! {
            ul.legend {
                @for (i, (stroke, title)) in self.strokes.iter().zip(titles).enumerate() {
                    li.chosen[i == chosen] {
                        (sample(&format!("curve hue-{}{}", stroke.hue, if i == chosen { " chosen" } else { "" }), dashes(stroke, i == chosen)))
                        (title)
                    }
                }
                @if let Some(called) = beside { li { (sample("curve beside", None)) bdi { (called) } } }
            }
        }
    }

    /// Returns the mark of a curve's peak.
    fn top(&self, chosen: usize, high: f64) -> Markup {
        let Some(levels) = self.levels.get(chosen).and_then(Option::as_ref) else { return html! {} };
        let top = levels.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1));
        let Some((i, db)) = top.filter(|(i, db)| *i > 0 && **db > levels[0] + 1.0) else { return html! {} };
        let (x, y) = (x(self.frequencies[i]), y(*db, high));
        let anchor = if x > WIDTH * 0.7 { "end" } else { "start" };
        html! {
            circle.peak cx=(format!("{x:.1}")) cy=(format!("{y:.1}")) r="4" {}
            text.peak-name x=(format!("{:.1}", if anchor == "end" { x - 9.0 } else { x + 9.0 })) y=(format!("{:.1}", (y - 6.0).max(14.0))) text-anchor=(anchor) {
                (Hertz::new(self.frequencies[i]))
            }
        }
    }

    fn path(&self, levels: &[f64], high: f64) -> String {
        let mut d = String::new();
        for (i, (frequency, db)) in self.frequencies.iter().zip(levels).enumerate() {
            let _ = write!(
                d,
                "{}{:.1} {:.1}",
                if i == 0 { 'M' } else { 'L' },
                x(*frequency),
                y(*db, high).min(HEIGHT - BOTTOM)
            );
        }
        d
    }
}

/// Returns the strokes and gaps of a curve, where it is broken.
fn dashes(stroke: &Stroke, is_chosen: bool) -> Option<String> {
    let width = if is_chosen { 3.0 } else { 1.5 };
    let lengths: Vec<String> = stroke.dash.iter().map(|length| format!("{:.1}", length * width)).collect();
    (!lengths.is_empty()).then(|| lengths.join(" "))
}

/// Returns the level of a voice, with all coils together as strings that sound alike drive them.
fn level(response: &VoiceResponse, frequencies: &[f64]) -> Option<Vec<f64>> {
    let frequencies: Vec<Hertz> = frequencies.iter().map(|f| Hertz::new(*f)).collect();
    let along = response.along(&frequencies).ok()?;
    Some(along.iter().map(|paths| 20.0 * response.telling(paths).norm().max(1e-6).log10()).collect())
}

fn x(frequency: f64) -> f64 {
    LEFT + (WIDTH - LEFT - RIGHT) * (frequency / LOWEST).ln() / (HIGHEST / LOWEST).ln()
}

fn y(db: f64, high: f64) -> f64 {
    TOP + (HEIGHT - TOP - BOTTOM) * (high - db) / SPAN
}

fn grid(high: f64) -> Markup {
    const MARKED: [(f64, &str); 8] = [
        (50.0, "50"),
        (100.0, "100"),
        (200.0, ""),
        (500.0, "500"),
        (1000.0, "1k"),
        (2000.0, ""),
        (5000.0, "5k"),
        (20_000.0, "20k"),
    ];
    let mut marks = String::new();
    for (frequency, name) in MARKED {
        let x = x(frequency);
        let anchor = if frequency > 15e3 { "end" } else { "middle" };
        let _ = write!(
            marks,
            "<path class=\"grid\" d=\"M{x:.1} {TOP}V{:.1}\"/><text class=\"axis\" x=\"{x:.1}\" y=\"{:.1}\" text-anchor=\"{anchor}\">{name}</text>",
            HEIGHT - BOTTOM,
            HEIGHT - 9.0
        );
    }
    let mut db = ((high - SPAN) / 10.0).ceil() * 10.0;
    while db <= high {
        let (at, class) = (y(db, high), if db == 0.0 { "grid zero" } else { "grid" });
        let unit = if db == 0.0 { " dB" } else { "" };
        let _ = write!(
            marks,
            "<path class=\"{class}\" d=\"M{LEFT} {at:.1}H{:.1}\"/><text class=\"axis\" x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{}{unit}</text>",
            WIDTH - RIGHT,
            LEFT - 6.0,
            at + 4.0,
            signed(db, 0)
        );
        db += 10.0;
    }
    PreEscaped(marks)
}

/// Returns a small picture of the curves alone.
pub(crate) fn thumbnail(selection: &Selection<'_>) -> Markup {
    let curves = Curves::of(selection);
    html! {
        svg.thumbnail viewBox=(format!("{LEFT} {TOP} {} {}", WIDTH - LEFT - RIGHT, HEIGHT - TOP - BOTTOM)) aria-hidden="true" preserveAspectRatio="none" {
            @for (levels, stroke) in curves.levels.iter().zip(&curves.strokes) {
                @if let Some(levels) = levels { path class={ "curve hue-" (stroke.hue) } d=(curves.path(levels, 20.0)) {} }
            }
        }
    }
}
