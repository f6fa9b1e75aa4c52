//! A recording of the sweeps while it comes in, drawn: its level, its marks, and what the sweeps have passed.

use std::fmt::Write;

use drywire::impedance::{Device, FROM, Known, Preview, TO};
use drywire::quantity::{Db, Dbfs, Hertz, Ohms, Seconds, counted, signed};
use maud::{Markup, html};

const WIDTH: f64 = 640.0;
const HEIGHT: f64 = 560.0;
const LEFT: f64 = 62.0;
const RIGHT: f64 = 24.0;

/// From how low levels are drawn.
const LEAST_DB: f64 = -60.0;
/// Between which impedances they are drawn, in ohms.
const OHMS: [f64; 2] = [1e3, 1e6];
/// What is written at the frequencies.
const WRITTEN: [(f64, &str); 6] =
    [(200.0, "200"), (500.0, "500"), (1e3, "1k"), (2e3, "2k"), (5e3, "5k"), (1e4, "10k")];
/// The hue and the strokes of each sweep's curve, so that none is told by its colour alone.
const CURVES: [(&str, Option<&str>); 3] = [("blue", Some("2 5")), ("gold", Some("9 5")), ("copper", None)];

/// Returns what has come in so far of a recording that will last so long, drawn, in words and as the rows of a table; each with the
/// name of what it takes the place of.
pub(crate) fn incoming(preview: &Preview, known: Known, will_last: Seconds) -> Markup {
    let received = Device::ALL.map(|device| preview.received(device));
    let impedance = preview.impedance(known);
    let words = words(preview, &received, &impedance);
    html! {
        div #incoming-picture {
            svg viewBox=(format!("0 0 {WIDTH} {HEIGHT}")) role="img" aria-label={ "What has come in so far. " (words) } {
                (levels(preview, will_last.value().max(preview.lasts().value())))
                (passed(&received))
                (impedances(&impedance))
            }
        }
        p #incoming-words { (words) }
        table { tbody #incoming-points { (rows(&received, &impedance)) } }
    }
}

fn words(preview: &Preview, received: &[Vec<(Hertz, Db)>; 3], impedance: &[(Hertz, Ohms)]) -> String {
    let marks = preview.marks();
    if marks.is_empty() {
        return "No mark of the signal has come in yet.".to_owned();
    }
    let found = marks.iter().filter(|mark| mark.is_found).count();
    let mut words = format!("{} found, of which each sweep has two", counted(found, "mark"));
    if found < marks.len() {
        let _ = write!(
            words,
            "; {} missed, without which a sweep is not drawn",
            counted(marks.len() - found, "mark")
        );
    }
    words.push('.');
    let last = received.iter().enumerate().rev().find_map(|(i, own)| Some((i + 1, own.last()?)));
    if let Some((number, (hz, level))) = last {
        let _ =
            write!(words, " Sweep {number} of 3 has passed {hz}, where it comes in at {}.", decibels(*level));
    }
    if let Some((hz, ohms)) = impedance.iter().max_by(|one, other| one.1.value().total_cmp(&other.1.value()))
    {
        let _ = write!(words, " The impedance is highest so far at {hz}: {ohms}.");
    }
    words
}

fn decibels(level: Db) -> String {
    format!("{} dB", signed(level.value(), 1))
}

fn rows(received: &[Vec<(Hertz, Db)>; 3], impedance: &[(Hertz, Ohms)]) -> Markup {
    let longest = received.iter().max_by_key(|own| own.len()).map_or(&[][..], Vec::as_slice);
    html! {
        @for (i, (hz, _)) in longest.iter().enumerate() {
            tr {
                th.n scope="row" { (format!("{:.0}", hz.value())) }
                @for own in received { td.n { @if let Some((_, level)) = own.get(i) { (signed(level.value(), 1)) } } }
                td.n { @if let Some((_, ohms)) = impedance.iter().find(|(own, _)| own == hz) { (format!("{:.2}", ohms.value() / 1e3)) } }
            }
        }
    }
}

/// A field of the picture, and what its edges stand for.
#[derive(Debug, Clone, Copy)]
struct Plane {
    top: f64,
    bottom: f64,
    across: [f64; 2],
    up: [f64; 2],
}

impl Plane {
    fn x(&self, value: f64) -> f64 {
        let [from, to] = self.across;
        LEFT + (WIDTH - LEFT - RIGHT) * ((value - from) / (to - from)).clamp(0.0, 1.0)
    }

    fn y(&self, value: f64) -> f64 {
        let [from, to] = self.up;
        self.bottom - (self.bottom - self.top) * ((value - from) / (to - from)).clamp(0.0, 1.0)
    }

    fn path(&self, points: impl Iterator<Item = (f64, f64)>) -> String {
        let mut d = String::new();
        for (across, up) in points {
            let _ =
                write!(d, "{}{:.1} {:.1}", if d.is_empty() { 'M' } else { 'L' }, self.x(across), self.y(up));
        }
        d
    }

    /// Returns the title and the lines at these places.
    fn grid(&self, title: &str, across: &[(f64, String)], up: &[(f64, String)]) -> Markup {
        let right = WIDTH - RIGHT;
        html! {
            text.axis x=(LEFT) y=(self.top - 8.0) { (title) }
            @for (at, name) in up {
                path.grid d=(format!("M{LEFT} {:.1}H{right}", self.y(*at))) {}
                text.axis x=(LEFT - 6.0) y=(format!("{:.1}", self.y(*at) + 4.0)) text-anchor="end" { (name) }
            }
            @for (at, name) in across {
                path.grid d=(format!("M{:.1} {:.1}V{:.1}", self.x(*at), self.top, self.bottom)) {}
                text.axis x=(format!("{:.1}", self.x(*at))) y=(self.bottom + 20.0) text-anchor="middle" { (name) }
            }
        }
    }
}

/// Returns the input's level over time, with the marks that were found, filled, and those that were missed, hollow.
fn levels(preview: &Preview, lasts: f64) -> Markup {
    let plane = Plane { top: 26.0, bottom: 106.0, across: [0.0, lasts], up: [LEAST_DB, 0.0] };
    let step = Preview::STEP.value();
    let every = if lasts > 25.0 { 10.0 } else { 2.0 };
    let seconds: Vec<(f64, String)> = (0..=60)
        .map(|n| every * f64::from(n))
        .take_while(|at| *at <= lasts)
        .map(|at| (at, format!("{at:.0} s")))
        .collect();
    let level = |(n, level): (usize, &Dbfs)| (step * (n as f64 + 0.5), level.value());
    html! {
        (plane.grid("Input level, dB, and the marks that were found", &seconds, &decibels_at([LEAST_DB, -30.0, 0.0])))
        path.curve.hue-ink d=(plane.path(preview.levels().iter().enumerate().map(level))) {}
        @for mark in preview.marks() {
            @let x = plane.x(mark.at.value());
            path.found-mark.missed[!mark.is_found] d=(format!("M{x:.1} {:.1}l-6 -11h12z", plane.top + 11.0)) {}
        }
    }
}

fn decibels_at(levels: [f64; 3]) -> Vec<(f64, String)> {
    levels.map(|db| (db, signed(db, 0))).to_vec()
}

fn frequencies() -> Vec<(f64, String)> {
    WRITTEN.map(|(hz, name)| (hz.ln(), name.to_owned())).to_vec()
}

/// Between which frequencies is drawn, as logarithms.
fn reach() -> [f64; 2] {
    [FROM.value().ln(), TO.value().ln()]
}

/// Returns the level of each sweep against what is played, as far as it has passed; each with its number at its end.
fn passed(received: &[Vec<(Hertz, Db)>; 3]) -> Markup {
    let plane = Plane { top: 164.0, bottom: 304.0, across: reach(), up: [LEAST_DB, 0.0] };
    let place = |(hz, level): &(Hertz, Db)| (hz.value().ln(), level.value());
    let ends =
        received.iter().map(|own| own.last().map(place).map(|(across, up)| [plane.x(across), plane.y(up)]));
    let ends: Vec<Option<[f64; 2]>> = ends.collect();
    html! {
        (plane.grid("Each sweep as it comes in, dB against what is played", &frequencies(), &decibels_at([LEAST_DB, -30.0, 0.0])))
        @for (i, (own, (hue, dash))) in received.iter().zip(CURVES).enumerate() {
            @if let Some([x, y]) = ends[i] {
                path class={ "curve chosen hue-" (hue) } stroke-dasharray=[dash] d=(plane.path(own.iter().map(place))) {}
                text.peak-name x=(format!("{:.1}", x + 4.0)) y=(format!("{:.1}", y + 4.0 + beside([x, y], &ends[i + 1..]))) { (i + 1) }
            }
        }
    }
}

/// Returns how far up a number stands from its curve's end, so that it is not upon those of later sweeps.
fn beside([x, y]: [f64; 2], later: &[Option<[f64; 2]>]) -> f64 {
    const APART: f64 = 18.0;
    let is_near = |end: &&[f64; 2]| (end[0] - x).abs() < APART && (end[1] - y).abs() < APART;
    let highest = later.iter().flatten().filter(is_near).map(|end| end[1] - y - APART);
    highest.fold(0.0, f64::min)
}

/// Returns the impedance, point by point.
fn impedances(impedance: &[(Hertz, Ohms)]) -> Markup {
    let plane = Plane { top: 362.0, bottom: 532.0, across: reach(), up: OHMS.map(f64::ln) };
    let written = [(1e3, "1k"), (1e4, "10k"), (1e5, "100k"), (1e6, "1M")];
    let written = written.map(|(ohms, name): (f64, &str)| (ohms.ln(), name.to_owned()));
    let place = |(hz, ohms): &(Hertz, Ohms)| (hz.value().ln(), ohms.value().max(f64::MIN_POSITIVE).ln());
    html! {
        (plane.grid("The impedance, Ω, as the third sweep passes", &frequencies(), &written))
        path.curve.hue-copper d=(plane.path(impedance.iter().map(place))) {}
        @for (across, up) in impedance.iter().map(place) {
            circle.peak cx=(format!("{:.1}", plane.x(across))) cy=(format!("{:.1}", plane.y(up))) r="3" {}
        }
    }
}
