//! A guitar made of a few questions.

use std::sync::Arc;

use axum::Form;
use axum::extract::{Query, State};
use axum::response::{IntoResponse, Response};
use drywire::document::Literal;
use drywire::guitar::keys::{CABLE, COIL, Reading, TONE, Table, Typed, VOLUME};
use drywire::guitar::{Answers, Draft, Guitar, KIND_UNKNOWN, PickupAnswer, SelectorAnswer, pickup_presets};
use drywire::quantity::counted;
use maud::{Markup, html};
use serde::Deserialize;
use tokio::task::block_in_place;

use super::guitar::Trouble;
use super::leads::{found, into_guitar, put_into};
use super::reply::{failed, on_to};
use crate::panel::guitars::FolderName;
use crate::panel::server::Panel;
use crate::panel::view::{Frame, Tab, path_segment};

/// The most pickups asked for.
const MOST: usize = 4;

/// The answers as they are typed.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Asked {
    name: String,
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
    knobs: String,
    volume: String,
    tone: String,
    cable: String,
}

impl Asked {
    fn count(&self) -> usize {
        self.count.parse::<usize>().unwrap_or(1).clamp(1, MOST)
    }

    /// Returns what was typed into a field.
    fn typed(&self, field: &str) -> &str {
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
    fn on_bench(&self) -> Option<(FolderName, usize)> {
        let at = self.bench_at.parse().ok().filter(|at| *at < self.count()).unwrap_or(0);
        Some((FolderName::new(&self.bench)?, at))
    }

    fn has(&self, knob: &str) -> bool {
        self.knobs.is_empty() || self.knobs == knob
    }

    fn kind(&self, i: usize) -> &str {
        [&self.kind_1, &self.kind_2, &self.kind_3, &self.kind_4][i]
    }

    /// Returns the selector that is chosen, of those that so many pickups may have.
    fn selector(&self) -> SelectorAnswer {
        let offered = selectors(self.count());
        let chosen = offered.iter().find(|(_, value, _)| *value == self.selector).or(offered.first());
        chosen.map_or(SelectorAnswer::Usual, |(selector, ..)| *selector)
    }

    fn ohms(&self, i: usize) -> [&str; 2] {
        [
            [&self.a_1, &self.a_2, &self.a_3, &self.a_4][i].as_str(),
            [&self.b_1, &self.b_2, &self.b_3, &self.b_4][i].as_str(),
        ]
    }
}

/// An answer that could not be taken.
struct Fault {
    field: String,
    message: String,
    readings: Vec<Reading>,
}

/// Asks; what was answered already stands in the fields.
pub(super) async fn ask(State(panel): State<Arc<Panel>>, Query(asked): Query<Asked>) -> Response {
    page(&panel, &asked, &[]).into_response()
}

/// Makes the guitar and shows it, or asks again what is not clear.
pub(super) async fn make(State(panel): State<Arc<Panel>>, Form(asked): Form<Asked>) -> Response {
    block_in_place(|| {
        let mut faults = Vec::new();
        let answers = answers(&asked, &mut faults);
        let base = panel.base();
        let mut fault = |field: String, message: String| {
            if !faults.iter().any(|own| own.field == field) {
                faults.push(Fault { field, message, readings: Vec::new() });
            }
        };
        let drafted = answers.draft().map_err(Trouble::from).and_then(|mut draft| {
            if let Some((pickup, at)) = asked.on_bench() {
                from_bench(&panel, &pickup, &mut draft, at)?;
            }
            Ok(draft)
        });
        let text = match drafted {
            Ok(draft) => {
                for told in draft.faults() {
                    let field = field_of(&draft, told.span.start);
                    let message = in_words(&field, asked.typed(&field), &told.message);
                    fault(field, message);
                }
                draft.text().to_owned()
            }
            Err(trouble) => {
                let field =
                    asked.on_bench().map_or_else(|| "name".to_owned(), |(_, at)| format!("kind_{}", at + 1));
                fault(field, trouble.words());
                String::new()
            }
        };
        if !faults.is_empty() {
            return page(&panel, &asked, &faults).into_response();
        }
        match panel.guitars.make(&answers.name, &text) {
            Ok(folder) => {
                if let Some((pickup, at)) = asked.on_bench() {
                    let laid = into_guitar(&panel.guitars, &pickup, &folder, places(asked.count())[at]);
                    if let Err(error) = laid {
                        return failed(&base, &error);
                    }
                }
                on_to(&format!("{base}g/{}/", path_segment(folder.as_str())))
            }
            Err(error) => failed(&base, &error),
        }
    })
}

/// Puts the leads that were found of a pickup on the bench into the pickup at this place of a draft.
fn from_bench(panel: &Panel, pickup: &FolderName, draft: &mut Draft, at: usize) -> Result<(), Trouble> {
    let found = found(&panel.guitars, pickup)?;
    let like = draft.get(&format!("pickup[{at}].like"))?.unwrap_or_default();
    let (has, kind_has) = (found.coils.len(), if has_two_coils(&like) { 2 } else { 1 });
    if has != kind_has {
        return Err(Trouble::new(
            format!("{pickup} has {}, and this kind {kind_has}", counted(has, "coil")),
            "choose another kind",
        ));
    }
    put_into(&found, draft, &draft.pickup_names()[at])
}

/// Returns the field whose answer stands at the byte `at` of the draft.
fn field_of(draft: &Draft, at: usize) -> String {
    let places = (0..MOST)
        .flat_map(|i| {
            ["a", "b"]
                .map(|coil| (format!("pickup[{i}].coil_{coil}.resistance"), format!("{coil}_{}", i + 1)))
        })
        .chain(
            [("controls.volume.pot", "volume"), ("controls.tone.pot", "tone"), ("cable.length", "cable")]
                .map(|(p, f)| (p.to_owned(), f.to_owned())),
        );
    let spans = |place: &str| draft.document().span_of(&place.parse().ok()?);
    places
        .into_iter()
        .find(|(place, _)| spans(place).is_some_and(|span| span.contains(&at)))
        .map_or_else(|| "name".to_owned(), |(_, field)| field)
}

/// Returns what a field is called.
fn label_of(field: &str) -> &'static str {
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
fn in_words(field: &str, typed: &str, message: &str) -> String {
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
fn answers(asked: &Asked, faults: &mut Vec<Fault>) -> Answers {
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
fn selectors(count: usize) -> Vec<(SelectorAnswer, &'static str, &'static str)> {
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
fn places(count: usize) -> &'static [&'static str] {
    Answers::PLACES[count - 1]
}

fn has_two_coils(kind: &str) -> bool {
    let kind = if kind == KIND_UNKNOWN { pickup_presets()[0].name } else { kind };
    Guitar::with_built_in_pickup(kind).is_ok_and(|guitar| guitar.pickups()[0].coil_b().is_some())
}

fn page(panel: &Panel, asked: &Asked, faults: &[Fault]) -> Markup {
    let base = panel.base();
    let frame = Frame { base: &base, title: "New guitar", guitar: None, told: None, tab: Tab::New };
    let count = asked.count();
    let names = places(count);
    let bench = asked.on_bench();
    let main = html! {
        h1 { "New guitar" }
        p { "What you do not know, leave empty: it is assumed, marked as such, and can be measured later." }
        form.questions method="post" action={ (base) "new" } data-ask={ (base) "new" } {
            @if !faults.is_empty() {
                div.notice role="alert" #faults data-part="faults" {
                    p { "Look again at this:" }
                    ul { @for fault in faults { li { a href={ "#" (fault.field) } { (label_of(&fault.field)) ": " (fault.message) } } } }
                }
            } @else { div #faults data-part="faults" {} }
            (question("name", "Your own words.", &asked.name, faults))
            fieldset {
                legend { "How many pickups has it?" }
                div.slide {
                    @for n in 1..=MOST {
                        label { input type="radio" name="count" value=(n) checked[n == count] data-ask; span { (n) } }
                    }
                }
            }
            div data-part="pickups" id="pickups" {
                @if let Some((pickup, at)) = &bench {
                    input type="hidden" name="bench" value=(pickup);
                    @if count > 1 {
                        fieldset {
                            legend { "Which of them is " (pickup) ", from the bench?" }
                            div.choices { @for (i, name) in names.iter().enumerate() { label { input type="radio" name="bench_at" value=(i) checked[i == *at] data-ask; " " (name) } } }
                        }
                    }
                }
                @for (i, name) in names.iter().enumerate() { (pickup(asked, i, if count > 1 { name } else { "" }, faults)) }
            }
            div data-part="selector" id="selector" {
                @if count > 1 {
                    fieldset {
                        legend { "What chooses among them?" }
                        div.choices {
                            @for (selector, value, shown) in selectors(count) {
                                label { input type="radio" name="selector" value=(value) checked[selector == asked.selector()] data-ask; " " (shown) }
                            }
                        }
                    }
                }
            }
            fieldset {
                legend { "Which knobs has it?" }
                div.choices {
                    @for (value, shown) in [("", "volume and tone"), ("volume", "volume alone"), ("tone", "tone alone"), ("none", "none")] {
                        label { input type="radio" name="knobs" value=(value) checked[asked.knobs == value] data-ask; " " (shown) }
                    }
                }
                div data-part="knobs" id="knobs" {
                @if asked.has("volume") {
                (question("volume", "As it is stamped, or read across its outer lugs: 500k, 236. Don’t know: leave it empty.", &asked.volume, faults))
                }
                @if asked.has("tone") {
                (question("tone", "The same way.", &asked.tone, faults))
                }
                }
            }
            (question("cable", "In metres, such as 3 or 4.5 m. Don’t know: leave it empty.", &asked.cable, faults))
            p { button.strong { "Make the guitar" } }
        }
    };
    frame.page(&main)
}

fn pickup(asked: &Asked, i: usize, name: &str, faults: &[Fault]) -> Markup {
    let n = i + 1;
    let kind = asked.kind(i);
    let like = if kind.is_empty() { KIND_UNKNOWN } else { kind };
    let [a, b] = asked.ohms(i);
    html! {
        fieldset {
            legend { "The pickup" @if !name.is_empty() { ": " (name) } }
            label for={ "kind_" (n) } { "What kind is it?" }
            select id={ "kind_" (n) } name={ "kind_" (n) } data-ask {
                option value="" selected[kind.is_empty()] { "don’t know (taken for a full-size one of two coils)" }
                @for preset in pickup_presets() { option value=(preset.name) selected[preset.name == kind] { (preset.title()) } }
            }
            @let hint = "If you have a meter, unplug the guitar and read across the coil’s two leads, unsoldered: 3.61, 3,61k, 3610. Don’t know: leave it empty.";
            @if let Some((pickup, _)) = asked.on_bench().filter(|(_, at)| *at == i) {
                p { "It is " b { (pickup) } " from the bench: its leads and what was read of its ohms go into the guitar." }
            } @else if has_two_coils(like) {
                (question(&format!("a_{n}"), hint, a, faults))
                (question(&format!("b_{n}"), "The same way.", b, faults))
            } @else {
                (labelled(&format!("a_{n}"), "Ohms of its coil", hint, a, faults))
            }
        }
    }
}

fn question(name: &str, hint: &str, value: &str, faults: &[Fault]) -> Markup {
    labelled(name, label_of(name), hint, value, faults)
}

fn labelled(name: &str, label: &str, hint: &str, value: &str, faults: &[Fault]) -> Markup {
    let faults: Vec<&Fault> = faults.iter().filter(|fault| fault.field == name).collect();
    let told = format!("{name}-told");
    html! {
        div.field.faulty[!faults.is_empty()] {
            label for=(name) { (label) }
            div.entry {
                input #(name) name=(name) type="text" value=(value) autocomplete="off" spellcheck="false" aria-describedby=(told)
                    aria-invalid=[(!faults.is_empty()).then_some("true")];
            }
            div.told id=(told) {
                @for fault in &faults {
                    p.fault { (fault.message) }
                    @if !fault.readings.is_empty() {
                        p.readings { @for reading in &fault.readings {
                            button type="button" data-fill=(name) data-write=(reading.write) { (reading.shown) }
                        } }
                    }
                }
                p.small { (hint) }
            }
        }
    }
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
