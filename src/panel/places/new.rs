//! A guitar made of a few questions.

use std::sync::Arc;

use axum::Form;
use axum::extract::{Query, State};
use axum::response::{IntoResponse, Response};
use drywire::document::Literal;
use drywire::guitar::keys::{CABLE, COIL, Reading, TONE, Table, Typed, VOLUME};
use drywire::guitar::{Answers, Guitar, PickupAnswer, pickup_presets};
use maud::{Markup, html};
use serde::Deserialize;
use tokio::task::block_in_place;

use super::reply::{failed, on_to};
use crate::panel::server::Panel;
use crate::panel::view::{Frame, Tab, path_segment};

/// The most pickups asked for.
const MOST: usize = 4;
/// What a pickup is where its kind is not known.
const USUAL_KIND: &str = "vintage-full-size";

/// The answers as they are typed.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Asked {
    name: String,
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
    knobs: String,
    volume: String,
    tone: String,
    cable: String,
}

impl Asked {
    fn count(&self) -> usize {
        self.count.parse::<usize>().unwrap_or(1).clamp(1, MOST)
    }

    fn has(&self, knob: &str) -> bool {
        self.knobs.is_empty() || self.knobs == knob
    }

    fn kind(&self, i: usize) -> &str {
        [&self.kind_1, &self.kind_2, &self.kind_3, &self.kind_4][i]
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
        let text = match answers.draft() {
            Ok(draft) => {
                for told in draft.faults() {
                    fault(field_of(&draft, told.span.start), told.message);
                }
                draft.text().to_owned()
            }
            Err(error) => {
                fault("name".to_owned(), error.to_string());
                String::new()
            }
        };
        if !faults.is_empty() {
            return page(&panel, &asked, &faults).into_response();
        }
        match panel.guitars.make(&answers.name, &text) {
            Ok(folder) => on_to(&format!("{base}g/{}/", path_segment(folder.as_str()))),
            Err(error) => failed(&base, &error),
        }
    })
}

/// Returns the field whose answer stands at the byte `at` of the draft.
fn field_of(draft: &drywire::guitar::Draft, at: usize) -> String {
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
        let like = if kind.is_empty() { USUAL_KIND } else { kind };
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
    Answers { name: name.to_owned(), pickups, volume, tone, cable }
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

fn has_two_coils(kind: &str) -> bool {
    Guitar::with_built_in_pickup(kind).is_ok_and(|guitar| guitar.pickups()[0].coil_b().is_some())
}

fn page(panel: &Panel, asked: &Asked, faults: &[Fault]) -> Markup {
    let base = panel.base();
    let frame = Frame { base: &base, title: "New guitar", guitar: None, told: None, tab: Tab::New };
    let count = asked.count();
    let names = [
        &[""][..],
        &["bridge", "neck"],
        &["bridge", "middle", "neck"],
        &["bridge", "middle", "neck", "front"],
    ][count - 1];
    let main = html! {
        h1 { "New guitar" }
        p { "What you do not know, leave empty: it is assumed, marked as such, and can be measured later." }
        form.questions method="post" action={ (base) "new" } data-ask={ (base) "new" } {
            @if !faults.is_empty() {
                div.notice role="alert" #faults data-part="faults" {
                    p { "Look again at this:" }
                    ul { @for fault in faults { li { a href={ "#" (fault.field) } { (fault.message) } } } }
                }
            } @else { div #faults data-part="faults" {} }
            (question("name", "What do you call it?", "Your own words.", &asked.name, faults))
            fieldset {
                legend { "How many pickups has it?" }
                div.slide {
                    @for n in 1..=MOST {
                        label { input type="radio" name="count" value=(n) checked[n == count] data-ask; span { (n) } }
                    }
                }
            }
            div data-part="pickups" id="pickups" {
                @for (i, name) in names.iter().enumerate() { (pickup(asked, i, name, faults)) }
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
                (question("volume", "The volume pot’s whole track", "As it is stamped, or read across its outer lugs: 500k, 236. Don’t know: leave it empty.", &asked.volume, faults))
                }
                @if asked.has("tone") {
                (question("tone", "The tone pot’s whole track", "The same way.", &asked.tone, faults))
                }
                }
            }
            (question("cable", "How long is the cable to the amplifier?", "In metres, such as 3 or 4.5 m. Don’t know: leave it empty.", &asked.cable, faults))
            p { button.strong { "Make the guitar" } }
        }
    };
    frame.page(&main)
}

fn pickup(asked: &Asked, i: usize, name: &str, faults: &[Fault]) -> Markup {
    let n = i + 1;
    let kind = asked.kind(i);
    let like = if kind.is_empty() { USUAL_KIND } else { kind };
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
            @if has_two_coils(like) {
                (question(&format!("a_{n}"), "Ohms of the coil nearer the bridge", hint, a, faults))
                (question(&format!("b_{n}"), "Ohms of the coil nearer the neck", "The same way.", b, faults))
            } @else {
                (question(&format!("a_{n}"), "Ohms of its coil", hint, a, faults))
            }
        }
    }
}

fn question(name: &str, label: &str, hint: &str, value: &str, faults: &[Fault]) -> Markup {
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
