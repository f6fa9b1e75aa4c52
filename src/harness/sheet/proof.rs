//! What the meter must read at the jack once all is soldered, with room for what it does read.

use std::fmt::Write;

use crate::harness::{Harness, Meter, ReadWhere, Role};
use crate::jack::State;
use crate::lugs::must_read;
use crate::markup::content;
use crate::quantity::Ohms;

/// With more states than this only those one lever off are read.
const MOST_STATES: usize = 8;

/// Returns the readings at the jack.
pub(super) fn section(harness: &Harness) -> String {
    let mut rows = String::new();
    let mut row = |place: &str, name: &str, reads: &str| {
        let name = if name.is_empty() {
            String::new()
        } else {
            format!(" <span class=\"name-of\">{}</span>", content(name))
        };
        let _ = writeln!(
            rows,
            "<tr><th scope=\"row\">{}{name}</th><td>{}</td><td class=\"yours\"></td></tr>",
            content(place),
            content(reads)
        );
    };
    row("all metal and the strings, to the sleeve", "", "a beep");
    if harness.parts.guitar().buffer().is_some() {
        row("tip to sleeve", "", "nothing of use: a buffer stands between");
    } else {
        let meter = Meter::of(harness)
            .expect("a cavity that follows from a guitar follows at either end of its tolerances");
        for state in states(harness) {
            let name = &harness.throws.names()[state];
            let (place, name) = match words(harness, state) {
                Some(words) => (words, name.as_str()),
                None => (name.clone(), ""),
            };
            row(&place, name, &must_read(meter.expected(ReadWhere::Jack { state, knob: None })));
        }
        for (track, at) in turned(harness) {
            let state = telling(harness, &meter, track, at);
            let part = harness.parts.all()[harness.branches.tracks[track].part].name();
            let stands = are_many(harness) && state == states(harness)[0];
            let place = words(harness, state).filter(|_| !stands).map(|words| format!(", {words}"));
            let place = place.unwrap_or_default();
            let reads = must_read(meter.expected(ReadWhere::Jack { state, knob: Some((track, at)) }));
            row(&format!("{part} at {at}{place}"), &format!("+{part}@{at}"), &reads);
        }
    }
    format!(
        "<section class=\"proof\">\n<h2>Prove it at the jack</h2>\n<p>Guitar unplugged, the meter at a plug in the jack, every \
         knob at 10 but the one named. Ohms show neither phase nor which of two like pickups it is: plug in at a low volume, tap \
         each coil’s poles with steel, turn each tone.</p>\n<table>\n<thead><tr><th>Where</th><th>Must read</th><th>Yours</th></tr>\
         </thead>\n<tbody>\n{rows}</tbody>\n</table>\n</section>\n"
    )
}

/// Returns the states that are read: all, or of many those that are one lever off from where the guitar stands.
fn states(harness: &Harness) -> Vec<usize> {
    let names = harness.throws.names();
    if !are_many(harness) {
        return (0..names.len()).collect();
    }
    let guitar = harness.parts.guitar();
    let near = State::standing(guitar, 0).with_one_moved(guitar);
    let place = |state: &State| names.iter().position(|name| *name == state.name(guitar));
    near.iter().filter_map(place).collect()
}

fn are_many(harness: &Harness) -> bool {
    harness.throws.len() > MOST_STATES && harness.parts.guitar().levers().len() > 1
}

/// Returns where the levers stand in a state; of many states only which lever is off from where the guitar stands.
fn words(harness: &Harness, state: usize) -> Option<String> {
    let guitar = harness.parts.guitar();
    let standing = State::standing(guitar, 0);
    let name = &harness.throws.names()[state];
    let off = standing.throws().iter().find_map(|(lever, at)| {
        let throws = lever.table(guitar).throws().iter().enumerate();
        let off =
            |(throw, _): &(usize, _)| throw != at && standing.with(*lever, *throw).name(guitar) == *name;
        let (_, throw) = throws.into_iter().find(off)?;
        Some(format!("{}: {}", lever.name(guitar), throw.position()))
    });
    match off {
        Some(off) if are_many(harness) => Some(off),
        Some(_) | None => harness.throws.position(state).map(str::to_owned),
    }
}

/// Returns the knobs that are turned for a reading, each with where to.
fn turned(harness: &Harness) -> Vec<(usize, f64)> {
    let places = |(track, own): (usize, &crate::harness::branches::Track)| match own.role {
        Role::Volume => vec![(track, 0.0), (track, 5.0)],
        Role::Tone | Role::BassCut | Role::Blend => vec![(track, 0.0)],
    };
    harness.branches.tracks.iter().enumerate().flat_map(places).collect()
}

/// Returns the state in which turning the knob moves the reading most, the first of several.
fn telling(harness: &Harness, meter: &Meter, track: usize, at: f64) -> usize {
    let ohms = |state: usize, knob: Option<(usize, f64)>| {
        meter.expected(ReadWhere::Jack { state, knob }).nominal().map_or(f64::MAX, Ohms::value)
    };
    let moved = |state: usize| {
        let [one, other] = [ohms(state, None), ohms(state, Some((track, at)))].map(|ohms| (ohms + 1.0).ln());
        (one - other).abs()
    };
    let mut best = (0, 0.0);
    for state in states(harness) {
        let own = moved(state);
        // A difference this small is rounding.
        if own > best.1 + 1e-9 {
            best = (state, own);
        }
    }
    best.0
}
