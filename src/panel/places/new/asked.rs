//! What is asked of a guitar, as it is typed, and what that says or where it is not clear.

use drywire::document::Literal;
use drywire::guitar::keys::{CABLE, COIL, Reading, TONE, Table, Typed, VOLUME};
use drywire::guitar::{Answers, Draft, Guitar, KIND_UNKNOWN, PickupAnswer, SelectorAnswer, pickup_presets};
use serde::Deserialize;

use crate::panel::guitars::FolderName;

/// The most pickups asked for.
pub(super) const MOST: usize = 4;

/// The answers as they are typed.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(in super::super) struct Asked {
    pub(super) name: String,
    /// A pickup on the bench that goes into it, and which of its pickups that is.
    bench: String,
    bench_at: String,
    count: String,
    kind_1: String,
    kind_2: String,
    kind_3: String,
    kind_4: String,
    a_1: String,
    a_2: String,
    a_3: String,
    a_4: String,
    b_1: String,
    b_2: String,
    b_3: String,
    b_4: String,
    selector: String,
    pub(super) knobs: String,
    pub(super) volume: String,
    pub(super) tone: String,
    pub(super) cable: String,
}

impl Asked {
    pub(super) fn count(&self) -> usize {
        self.count.parse::<usize>().unwrap_or(1).clamp(1, MOST)
    }

    /// Returns what was typed into a field.
    pub(super) fn typed(&self, field: &str) -> &str {
        let of_pickup = |number: &str| number.parse::<usize>().ok().filter(|n| (1..=MOST).contains(n));
        match field.split_once('_') {
            Some(("a", n)) => of_pickup(n).map_or("", |n| self.ohms(n - 1)[0]),
            Some(("b", n)) => of_pickup(n).map_or("", |n| self.ohms(n - 1)[1]),
            Some(_) | None => match field {
                "name" => &self.name,
                "volume" => &self.volume,
                "tone" => &self.tone,
                "cable" => &self.cable,
                _ => "",
            },
        }
    }

    /// Returns the pickup on the bench, and the place of the pickup that it is.
    pub(super) fn on_bench(&self) -> Option<(FolderName, usize)> {
        let at = self.bench_at.parse().ok().filter(|at| *at < self.count()).unwrap_or(0);
        Some((FolderName::new(&self.bench)?, at))
    }

    pub(super) fn has(&self, knob: &str) -> bool {
        self.knobs.is_empty() || self.knobs == knob
    }

    pub(super) fn kind(&self, i: usize) -> &str {
        [&self.kind_1, &self.kind_2, &self.kind_3, &self.kind_4][i]
    }

    /// Returns the selector that is chosen, of those that so many pickups may have.
    pub(super) fn selector(&self) -> SelectorAnswer {
        let offered = selectors(self.count());
        let chosen = offered.iter().find(|(_, value, _)| *value == self.selector).or(offered.first());
        chosen.map_or(SelectorAnswer::Usual, |(selector, ..)| *selector)
    }

    pub(super) fn ohms(&self, i: usize) -> [&str; 2] {
        [
            [&self.a_1, &self.a_2, &self.a_3, &self.a_4][i].as_str(),
            [&self.b_1, &self.b_2, &self.b_3, &self.b_4][i].as_str(),
        ]
    }
}

/// An answer that could not be taken.
pub(super) struct Fault {
    pub(super) field: String,
    pub(super) message: String,
    pub(super) readings: Vec<Reading>,
}

/// Returns the field whose answer stands at the byte `at` of the draft.
pub(super) fn field_of(draft: &Draft, at: usize) -> String {
    let places = (0..MOST)
        .flat_map(|i| {
            ["a", "b"]
                .map(|coil| (format!("pickup[{i}].coil_{coil}.resistance"), format!("{coil}_{}", i + 1)))
        })
        .chain(
            [("controls.volume.pot", "volume"), ("controls.tone.pot", "tone"), ("cable.length", "cable")]
                .map(|(p, f)| (p.to_owned(), f.to_owned())),
        );
    let is_there = |place: &str| -> Option<bool> {
        let value = draft.document().span_of(&place.parse().ok()?)?;
        let key = draft.text().get(at..value.start).and_then(|between| between.trim_end().strip_suffix('='));
        let is_key = key.is_some_and(|key| place.rsplit('.').next() == Some(key.trim_end()));
        Some(value.contains(&at) || is_key)
    };
    places
        .into_iter()
        .find(|(place, _)| is_there(place) == Some(true))
        .map_or_else(|| "name".to_owned(), |(_, field)| field)
}

/// Returns what a field is called.
pub(super) fn label_of(field: &str) -> &'static str {
    match field.split('_').next().unwrap_or(field) {
        "name" => "What do you call it?",
        "kind" => "What kind is it?",
        "a" => "Ohms of the coil nearer the bridge",
        "b" => "Ohms of the coil nearer the neck",
        "volume" => "The volume pot’s whole track",
        "tone" => "The tone pot’s whole track",
        _ => "How long is the cable to the amplifier?",
    }
}

/// Returns what is wrong with what was `typed` into a field, without the words of the file.
pub(super) fn in_words(field: &str, typed: &str, message: &str) -> String {
    let (key, word) = match field.split('_').next().unwrap_or(field) {
        "a" | "b" => ("`resistance`", "ohms"),
        "volume" | "tone" => ("`pot`", "track"),
        "cable" => ("`length`", "length"),
        _ => ("`name`", "name"),
    };
    let outside = message.strip_prefix(key).and_then(|rest| rest.split_once("; allowed is "));
    match outside {
        Some((_, allowed)) => format!("`{}` is not possible; allowed is {allowed}", typed.trim()),
        None => message.replace(key, word),
    }
}

/// Returns what the answers say.
pub(super) fn answers(asked: &Asked, faults: &mut Vec<Fault>) -> Answers {
    let name = asked.name.trim();
    if name.is_empty() {
        faults.push(Fault {
            field: "name".to_owned(),
            message: "give it a name of your own".to_owned(),
            readings: Vec::new(),
        });
    }
    let pickups = (0..asked.count()).map(|i| {
        let kind = asked.kind(i);
        let [a, b] = asked.ohms(i);
        let like = if kind.is_empty() { KIND_UNKNOWN } else { kind };
        let mut read =
            |text: &str, coil: &str| typed(&COIL, "resistance", text, &format!("{coil}_{}", i + 1), faults);
        let ohms = [read(a, "a"), if has_two_coils(like) { read(b, "b") } else { None }];
        PickupAnswer { like: like.to_owned(), ohms }
    });
    let pickups = pickups.collect();
    let mut pot = |table: &'static Table, name: &str, text: &str| {
        asked.has(name).then(|| typed(table, "pot", text, name, faults).unwrap_or_default())
    };
    let volume = pot(&VOLUME, "volume", &asked.volume);
    let tone = pot(&TONE, "tone", &asked.tone);
    let cable = typed(&CABLE, "length", &asked.cable, "cable", faults);
    Answers { name: name.to_owned(), pickups, selector: asked.selector(), volume, tone, cable }
}

/// Returns what `text` states, as a file has it.
fn typed(
    table: &'static Table,
    key: &str,
    text: &str,
    field: &str,
    faults: &mut Vec<Fault>,
) -> Option<String> {
    let key = table.key(key)?;
    let fault = match key.typed(text) {
        Typed::Nothing => return None,
        Typed::Value { literal: Literal::Text(written), .. } => return Some(written),
        Typed::Value { literal, .. } => return Some(literal.to_string()),
        Typed::Doubtful { question, readings } => {
            Fault { field: field.to_owned(), message: question, readings }
        }
        Typed::Refused { message } => Fault { field: field.to_owned(), message, readings: Vec::new() },
    };
    faults.push(fault);
    None
}

/// Returns the selectors that so many pickups may have, the usual one first, each with the word for it in an address and in
/// words.
pub(super) fn selectors(count: usize) -> Vec<(SelectorAnswer, &'static str, &'static str)> {
    let usual = match count {
        2 => Some((SelectorAnswer::Usual, "toggle", "a toggle of three positions: bridge, both, neck")),
        3 => Some((
            SelectorAnswer::Usual,
            "blade",
            "a blade of five positions: bridge, bridge and middle, middle, middle and neck, neck",
        )),
        _ => None,
    };
    let others = [
        (SelectorAnswer::Rotary, "rotary", "a rotary switch, each of them by itself"),
        (SelectorAnswer::Together, "none", "none: all always sound together"),
        (SelectorAnswer::Later, "later", "another, or don’t know: each is heard by itself for now"),
    ];
    if count > 1 { usual.into_iter().chain(others).collect() } else { Vec::new() }
}

/// Returns what so many pickups are called.
pub(super) fn places(count: usize) -> &'static [&'static str] {
    Answers::PLACES[count - 1]
}

pub(super) fn has_two_coils(kind: &str) -> bool {
    let kind = if kind == KIND_UNKNOWN { pickup_presets()[0].name } else { kind };
    Guitar::with_built_in_pickup(kind).is_ok_and(|guitar| guitar.pickups()[0].coil_b().is_some())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_wrong_is_told_without_the_words_of_the_file() {
        let asked = Asked {
            name: "x".to_owned(),
            a_1: "0.5".to_owned(),
            b_1: "900k".to_owned(),
            volume: "50 Ω".to_owned(),
            ..Asked::default()
        };
        let mut faults = Vec::new();
        let draft = answers(&asked, &mut faults).draft().unwrap();
        assert!(faults.is_empty());
        let told: Vec<(String, String)> = draft
            .faults()
            .into_iter()
            .map(|fault| {
                let field = field_of(&draft, fault.span.start);
                let words = in_words(&field, asked.typed(&field), &fault.message);
                (field, words)
            })
            .collect();
        let of = |field: &str| told.iter().find(|(own, _)| own == field).map_or("", |(_, words)| words);
        assert_eq!(of("a_1"), "`0.5` is not possible; allowed is from 1.00 Ω to 20.0 MΩ");
        assert!(of("b_1").starts_with("the stated ohms would scale the inductance"), "{told:?}");
        assert_eq!(of("volume"), "`50 Ω` is not possible; allowed is from 100 Ω to 1.00 GΩ");
    }

    #[test]
    fn the_selector_that_is_offered_first_is_the_usual_one_of_so_many_pickups() {
        for (count, usual) in [("2", "toggle"), ("3", "blade"), ("4", "rotary")] {
            let asked =
                Asked { count: count.to_owned(), selector: "none of them".to_owned(), ..Asked::default() };
            let offered = selectors(asked.count());
            assert_eq!((offered[0].1, offered[0].0), (usual, asked.selector()));
            let together = Asked { selector: "none".to_owned(), ..asked };
            assert_eq!(together.selector(), SelectorAnswer::Together);
        }
        assert!(selectors(1).is_empty());
    }
}
