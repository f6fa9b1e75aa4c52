//! A guitar: every value of its file to be changed, its circuit and its responses as they stand.

use std::sync::Arc;

use axum::Form;
use axum::extract::{Path, Query, State};
use axum::response::{IntoResponse, Response};
use drywire::document::{Fault, Literal};
use drywire::guitar::keys::{GUITAR, Key, Typed};
use drywire::guitar::{Draft, DraftError, Guitar, Measurand};
use drywire::job::figures_of;
use drywire::markup::content;
use drywire::page::html::table;
use drywire::response::{Scope, Selection};
use drywire::schematic::schematic;
use drywire::words;
use maud::{Markup, PreEscaped, html};
use serde::Deserialize;
use tokio::task::block_in_place;

use super::reply::{failed, folder};
use super::{moves, starters};
use crate::panel::guitars::{Checked, FolderName, OpenGuitar, Refused, Way, called};
use crate::panel::server::Panel;
use crate::panel::view::{Asked, Curves, Field, Frame, Sheet, Tab, notice, path_segment, sections};

/// The most voices shown at once.
const MOST_VOICES: usize = 24;

/// What of a guitar is shown.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Shown {
    /// A pickup's name, or `positions` of the whole guitar.
    heard: String,
    /// The name of the voice in front.
    voice: String,
    /// The folder of a guitar to be shown beside it.
    beside: String,
}

/// A value to be changed, or a part to be added or taken out.
#[derive(Debug, Deserialize)]
pub(super) struct Change {
    place: String,
    #[serde(default)]
    value: String,
}

/// Which of two texts is kept.
#[derive(Debug, Deserialize)]
pub(super) struct Kept {
    keep: String,
}

/// What went otherwise than was asked for.
enum Trouble {
    Value(Asked),
    Other { message: String, hint: String },
}

/// Shows the guitar.
pub(super) async fn show(panel: State<Arc<Panel>>, given: Path<String>, shown: Query<Shown>) -> Response {
    work(&panel, &given, &shown, |_| None)
}

/// Changes one value.
pub(super) async fn set(
    panel: State<Arc<Panel>>,
    given: Path<String>,
    shown: Query<Shown>,
    Form(change): Form<Change>,
) -> Response {
    work(&panel, &given, &shown, |open| set_value(open, &change))
}

/// Adds a part.
pub(super) async fn add(
    panel: State<Arc<Panel>>,
    given: Path<String>,
    shown: Query<Shown>,
    Form(Change { place, .. }): Form<Change>,
) -> Response {
    work(&panel, &given, &shown, |open| change_part(open, &place, starters::add))
}

/// Takes a part out.
pub(super) async fn remove(
    panel: State<Arc<Panel>>,
    given: Path<String>,
    shown: Query<Shown>,
    Form(Change { place, .. }): Form<Change>,
) -> Response {
    work(&panel, &given, &shown, |open| change_part(open, &place, take_out))
}

/// Takes the part at `place` out of the file, and with a pickup what it alone needs.
fn take_out(draft: &mut Draft, _: Option<&Guitar>, place: &str) -> Result<(), DraftError> {
    match index_of_pickup(place, "") {
        Some(i) => draft.take_out_pickup(i),
        None => draft.remove(place),
    }
}

/// Returns which pickup's value `key` is at `place`, or which pickup is there where `key` is empty.
fn index_of_pickup(place: &str, key: &str) -> Option<usize> {
    let (index, rest) = place.strip_prefix("pickup[")?.split_once(']')?;
    (rest.trim_start_matches('.') == key).then(|| index.parse().ok())?
}

/// Changes the part at `place` as a whole.
fn change_part(
    open: &mut OpenGuitar,
    place: &str,
    change: impl FnOnce(&mut Draft, Option<&Guitar>, &str) -> Result<(), DraftError>,
) -> Option<Trouble> {
    let checked = Arc::clone(open.checked());
    let guitar = (*checked).as_ref().ok();
    let changed = open.change(called_in(open.draft(), place), None, |draft| {
        starters::state_controls(draft, guitar, place)?;
        change(draft, guitar, place)
    });
    trouble(changed, None)
}

/// Takes the last change back.
pub(super) async fn undo(panel: State<Arc<Panel>>, given: Path<String>, shown: Query<Shown>) -> Response {
    work(&panel, &given, &shown, |open| trouble(open.go(Way::Undo).map(drop), None))
}

/// Does again what was taken back.
pub(super) async fn redo(panel: State<Arc<Panel>>, given: Path<String>, shown: Query<Shown>) -> Response {
    work(&panel, &given, &shown, |open| trouble(open.go(Way::Redo).map(drop), None))
}

/// Keeps one of two texts that clash.
pub(super) async fn settle(
    panel: State<Arc<Panel>>,
    given: Path<String>,
    shown: Query<Shown>,
    Form(Kept { keep }): Form<Kept>,
) -> Response {
    work(&panel, &given, &shown, |open| {
        open.settle(keep == "own");
        None
    })
}

/// Does some `work` on the guitar in the folder `given` and answers with its page.
fn work(
    panel: &Arc<Panel>,
    given: &str,
    shown: &Shown,
    work: impl FnOnce(&mut OpenGuitar) -> Option<Trouble>,
) -> Response {
    block_in_place(|| {
        let told = panel.guitars.told();
        let made = folder(given).and_then(|own| {
            let (trouble, state) =
                panel.guitars.with(&own, |open| (work(open), OpenState::of(open, told)))?;
            Ok((own, trouble, state))
        });
        match made {
            Ok((own, trouble, state)) => page(panel, &own, shown, &state, trouble.as_ref()).into_response(),
            Err(error) => failed(&panel.base(), &error),
        }
    })
}

/// A guitar as its page needs it.
struct OpenState {
    draft: Draft,
    checked: Checked,
    number: u64,
    told: u64,
    undo: Option<String>,
    redo: Option<String>,
    is_saved: bool,
    clashes: bool,
    trouble: Option<String>,
}

impl OpenState {
    fn of(open: &OpenGuitar, told: u64) -> Self {
        Self {
            draft: open.draft().clone(),
            checked: Arc::clone(open.checked()),
            number: open.number(),
            told,
            undo: open.next(Way::Undo).map(str::to_owned),
            redo: open.next(Way::Redo).map(str::to_owned),
            is_saved: open.is_saved(),
            clashes: open.clash().is_some(),
            trouble: open.trouble.clone(),
        }
    }
}

fn set_value(open: &mut OpenGuitar, change: &Change) -> Option<Trouble> {
    let Change { place, value } = change;
    let asked = |message: String, readings| {
        Some(Trouble::Value(Asked { place: place.clone(), text: value.clone(), message, readings }))
    };
    let Some(key) = place.parse().ok().and_then(|place| GUITAR.key_at(&place)) else {
        return Some(Trouble::Other {
            message: format!("a guitar’s file has no `{place}`"),
            hint: String::new(),
        });
    };
    let typed = key.typed(value);
    let literal = match typed {
        Typed::Doubtful { question, readings } => return asked(question, readings),
        Typed::Refused { message } => return asked(message, Vec::new()),
        Typed::Nothing => None,
        Typed::Value { literal, .. } => Some(literal),
    };
    let checked = Arc::clone(open.checked());
    let name = match (index_of_pickup(place, "name"), &literal) {
        (Some(i), Some(Literal::Text(name))) => Some((i, name.clone())),
        _ => None,
    };
    // A pickup is named in more places than its own.
    let only = name.is_none().then_some(place.as_str());
    let changed = open.change(called_in(open.draft(), place), only, |draft| {
        starters::state_controls(draft, (*checked).as_ref().ok(), place)?;
        if let Some((i, name)) = name {
            return draft.rename_pickup(i, &name);
        }
        match literal {
            Some(literal) => draft.set(place, literal)?,
            None => draft.remove(place)?,
        }
        no_longer_measured(draft, place, key)
    });
    trouble(changed, Some((place, value)))
}

/// Takes away the mark of a measured value that was changed by hand.
fn no_longer_measured(draft: &mut Draft, place: &str, key: &Key) -> Result<(), DraftError> {
    let is_measurand = Measurand::ALL.iter().any(|own| own.key() == key.name);
    let Some((coil, _)) = place.rsplit_once('.').filter(|(coil, _)| is_measurand && coil.contains("coil_"))
    else {
        return Ok(());
    };
    let mark = format!("{coil}.measured");
    let has = |draft: &Draft, name: &str| draft.get(&format!("{mark}.{name}")).ok().flatten().is_some();
    if !has(draft, key.name) {
        return Ok(());
    }
    // Correlations name the values between which they are.
    if has(draft, "correlation") {
        draft.remove(&mark)
    } else {
        draft.remove(&format!("{mark}.{}", key.name))
    }
}

/// Returns a place in words, a part of a list by the name that it has in `draft`.
fn called_in(draft: &Draft, place: &str) -> String {
    let Some((list, rest)) = place.split_once('[') else { return in_words(place) };
    let Some((index, rest)) = rest.split_once(']') else { return in_words(place) };
    let name = draft.get(&format!("{list}[{index}].name")).ok().flatten();
    in_words(&format!("{list} {} {rest}", name.as_deref().unwrap_or(index)))
}

/// Returns a place in words.
fn in_words(place: &str) -> String {
    place.replace(['[', ']'], " ").replace(['.', '_'], " ").split_whitespace().collect::<Vec<_>>().join(" ")
}

fn trouble(done: Result<(), Refused>, typed: Option<(&str, &str)>) -> Option<Trouble> {
    let (message, hint) = match done {
        Ok(()) => return None,
        Err(Refused::Draft(error)) => (error.to_string(), error.hint()),
        Err(Refused::Meanwhile(words)) => (words, String::new()),
        Err(Refused::Faults(faults)) => {
            let told = faults.iter().map(Fault::told);
            (told.collect::<Vec<_>>().join("; "), String::new())
        }
    };
    Some(match typed {
        Some((place, text)) => {
            let message = if hint.is_empty() { message } else { format!("{message}: {hint}") };
            Trouble::Value(Asked {
                place: place.to_owned(),
                text: text.to_owned(),
                message,
                readings: Vec::new(),
            })
        }
        None => Trouble::Other { message, hint },
    })
}

fn page(
    panel: &Arc<Panel>,
    own: &FolderName,
    shown: &Shown,
    state: &OpenState,
    trouble: Option<&Trouble>,
) -> Markup {
    let base = panel.base();
    let at = format!("{base}g/{}/", path_segment(own.as_str()));
    let (guitar, faults) = match &*state.checked {
        Ok(guitar) => (Some(guitar), &[][..]),
        Err(refusal) => (None, refusal.faults()),
    };
    let known = guitar.and_then(|_| moves::of(panel, own, state.draft.text(), &state.checked, state.number));
    let moves = known.unwrap_or_default();
    let asked = match trouble {
        Some(Trouble::Value(asked)) => Some(asked),
        Some(Trouble::Other { .. }) | None => None,
    };
    let called = called(&state.draft, own);
    let sheet = Sheet { at: &at, draft: &state.draft, guitar, faults, asked, moves: &moves };
    let frame = Frame {
        base: &base,
        title: &called,
        guitar: Some((own.as_str(), state.number)),
        told: Some(state.told),
        tab: Tab::Guitar,
    };
    let main = html! {
        div.headed {
            h1 data-part="name" { bdi { (called) } }
            (state_of_saving(&at, state, trouble.is_some()))
        }
        div #summary data-part="summary" {
            @if let Some(Trouble::Other { message, hint }) = trouble { (notice(message, hint)) }
            @if let Some(asked) = asked {
                div.notice role="alert" { p { a href={ "#" (Field::id_of(&asked.place)) } { (asked.message) } } }
            }
            @if !faults.is_empty() {
                div.notice role="alert" {
                    @if state.draft.document().is_toml() {
                        p { "The file has faults; what is below can be changed all the same, and " a href={ (at) "file" } { "the file itself" } " too." }
                    } @else {
                        p { "The file is kept as it is, but it is not written as such a file must be, so that no value can be found in it. Mend " a href={ (at) "file" } { "the file itself" } " first, or undo." }
                    }
                    ul { @for fault in faults { li { (fault.told()) } } }
                }
            }
        }
        div.bench {
            div.sheet { @if state.draft.document().is_toml() { (sections(&sheet)) } }
            div.views {
                @match guitar {
                    Some(guitar) => (views(panel, &at, &state.draft, guitar, own, shown)),
                    None => div data-part="views" { p { "The circuit and its responses are drawn once the file has no fault." } },
                }
            }
        }
    };
    frame.page(&main)
}

fn state_of_saving(at: &str, state: &OpenState, is_refused: bool) -> Markup {
    let step = |what: &str, called: &Option<String>, words: &str| {
        html! {
            form method="post" action={ (at) (what) } {
                button.quiet #(what) disabled[called.is_none()] { (words) @if let Some(called) = called { span.unseen { " " (called) } } }
            }
        }
    };
    html! {
        div.saving data-part="saving" {
            (step("undo", &state.undo, "Undo"))
            (step("redo", &state.redo, "Redo"))
            span.small #saved { @if state.clashes { "not saved" } @else if state.trouble.is_some() { "not saved" } @else if is_refused { "not all taken" } @else if state.is_saved { "saved" } @else { "saving" } }
            @if state.clashes {
                div.notice role="alert" {
                    p { "Another program changed the same lines of the file. Which is to stay? The other can be had back by undo." }
                    form.row method="post" action={ (at) "settle" } {
                        button name="keep" value="own" { "What stands here" }
                        button name="keep" value="file" { "What stands in the file" }
                    }
                }
            } @else if let Some(trouble) = &state.trouble {
                div.notice role="alert" { "It could not be saved, and is tried again: " (trouble) }
            }
        }
    }
}

fn views(panel: &Panel, at: &str, draft: &Draft, guitar: &Guitar, own: &FolderName, shown: &Shown) -> Markup {
    let selection = match selected(guitar, shown) {
        Ok(selection) => selection,
        Err(words) => return html! { div data-part="views" { (notice(&words, "")) } },
    };
    let scope = selection.scope();
    let responses = selection.responses();
    let chosen =
        responses.iter().position(|r| r.voice().name() == shown.voice).unwrap_or(selection.baseline());
    let titles: Vec<String> =
        responses.iter().map(|response| words::voice(response, guitar, scope)).collect();
    let other = other(panel, own, shown);
    let beside = other.as_ref().and_then(|(_, other)| Some(Curves::of(&selected(other, shown).ok()?)));
    let figures = figures_of(&selection);
    let others = panel.guitars.names();
    html! {
        form.choice method="get" action=(at) data-part="choice" {
            @if guitar.pickups().len() > 1 {
                label { "Responses of "
                    select name="heard" data-go {
                        @for pickup in guitar.pickups() {
                            @let name = pickup.name().as_str();
                            option value=(name) selected[is_heard(scope, name)] { "pickup " (name) }
                        }
                        @if !guitar.joined().is_empty() {
                            option value="positions" selected[matches!(scope, Scope::Guitar)] { "the whole guitar" }
                        }
                    }
                }
            }
            label { "Drawn in front "
                select name="voice" data-go {
                    @for (i, (response, title)) in responses.iter().zip(&titles).enumerate() {
                        option value=(response.voice().name()) selected[i == chosen] { (title) }
                    }
                }
            }
            @if others.len() > 1 {
                label { "Compared with "
                    select name="beside" data-go {
                        option value="" { "nothing" }
                        @for (folder, called) in others.iter().filter(|(folder, _)| folder != own) {
                            option value=(folder) selected[folder.as_str() == shown.beside] { (called) }
                        }
                    }
                }
            }
        }
        figure.curves data-part="curve" {
            @let curves = Curves::of(&selection);
            (curves.picture(chosen, &titles, beside.as_ref()))
            (curves.legend(chosen, &titles, other.as_ref().map(|(called, _)| called.as_str())))
            figcaption { "Response at the jack with the knobs as they stand, hertz across, decibels up, 0 dB where "
                (titles[selection.baseline()]) " is at 100 Hz."
            }
        }
        @if let Some((called, other)) = &other { (differences(draft, guitar, called, other)) }
        figure.circuit data-part="circuit" {
            div.scroll role="region" aria-label="The circuit" tabindex="0" { (PreEscaped(schematic(guitar, scope, &responses[chosen]))) }
            figcaption { "The circuit as it stands: " (titles[chosen]) }
        }
        @if let Ok(figures) = &figures {
            div data-part="figures" { (PreEscaped(table("Figures", &figures.response_table(), &content, &content))) }
            div data-part="notes" {
                @for note in &figures.notes { p.small { (note) } }
                p.small { "This is " (figures.honesty) "." }
            }
        }
        details.command data-part="command" {
            summary { "As a command" }
            pre { (command(panel, own, guitar, shown)) }
        }
    }
}

/// Returns the values by which two guitars differ.
fn differences(draft: &Draft, guitar: &Guitar, called: &str, other: &Guitar) -> Markup {
    let theirs: std::collections::BTreeMap<String, String> =
        other.values().into_iter().map(|value| (value.place, value.shown)).collect();
    let own = guitar.values();
    let unlike = own.iter().filter(|value| theirs.get(&value.place) != Some(&value.shown));
    let unlike: Vec<_> = unlike.collect();
    html! {
        div.scroll data-part="differences" role="region" aria-label="Values that differ" tabindex="0" {
            table {
                caption { @if unlike.is_empty() { "No value differs from " } @else { "Values that differ from " } bdi { (called) } }
                @if !unlike.is_empty() { tr { th scope="col" { "Value" } th scope="col" { "here" } th scope="col" { bdi { (called) } } } }
                @for value in &unlike {
                    tr {
                        th scope="row" { (called_in(draft, &value.place)) }
                        td { (value.shown) }
                        td { (theirs.get(&value.place).map_or("none", String::as_str)) }
                    }
                }
            }
        }
    }
}

/// Returns the guitar that is shown beside this one, and what it is called.
fn other(panel: &Panel, own: &FolderName, shown: &Shown) -> Option<(String, Guitar)> {
    let beside = FolderName::new(&shown.beside).filter(|beside| beside != own)?;
    let draft = panel.guitars.with(&beside, |open| open.draft().clone()).ok()?;
    Some((called(&draft, &beside), draft.check().ok()?))
}

fn is_heard(scope: Scope<'_>, name: &str) -> bool {
    match scope {
        Scope::Pickup(pickup) => pickup.name().as_str() == name,
        Scope::Guitar => false,
    }
}

/// Returns the voices that are shown.
fn selected<'g>(guitar: &'g Guitar, shown: &Shown) -> Result<Selection<'g>, String> {
    let told = |error: drywire::response::SelectionError| format!("{error}: {}", error.hint());
    if shown.heard == "positions" {
        if let Ok(selection) = Selection::of_names(guitar, None, &["positions"], None)
            && selection.responses().len() <= MOST_VOICES
        {
            return Ok(selection);
        }
        let names: Vec<String> = drywire::response::Voice::at_every_position(guitar)
            .map_err(|error| error.to_string())?
            .iter()
            .take(MOST_VOICES)
            .map(|voice| voice.name().to_owned())
            .collect();
        return Selection::of_names(guitar, None, &names, None).map_err(told);
    }
    let pickup =
        guitar.pickups().iter().map(|pickup| pickup.name().as_str()).find(|name| *name == shown.heard);
    Selection::of_names(guitar, pickup, &[""; 0], None).map_err(told)
}

/// Returns the command that tells the same figures.
fn command(panel: &Panel, own: &FolderName, guitar: &Guitar, shown: &Shown) -> String {
    let file = panel.guitars.root().join(own.as_str()).join(crate::panel::guitars::FILE);
    let path = file.display().to_string().replace('\'', "'\\''");
    match guitar.pickups().iter().find(|pickup| pickup.name().as_str() == shown.heard) {
        _ if shown.heard == "positions" => {
            format!("drywire figures --guitar '{path}' --arrangements positions")
        }
        Some(pickup) => format!("drywire figures --guitar '{path}' --pickup {}", pickup.name()),
        None => format!("drywire figures --guitar '{path}'"),
    }
}
