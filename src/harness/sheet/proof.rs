//! What the meter must read at the jack once all is soldered, with room for what it does read.

use std::fmt::Write;

use crate::harness::checks::{are_many, states, telling, turned, words};
use crate::harness::{Harness, Meter, ReadWhere};
use crate::lugs::must_read;
use crate::markup::content;

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
