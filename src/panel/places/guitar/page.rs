//! The page of a guitar, whichever of its places it is.

use std::sync::Arc;

use maud::{Markup, html};

use super::super::cavity::cavity_views;
use super::super::confirm::confirming;
use super::super::hear::hear_views;
use super::super::leads::{leads_views, told_by_leads};
use super::super::measure::measuring;
use super::super::moves;
use super::super::plan::plan_views;
use super::super::prove::proof;
use super::super::send::sending;
use super::super::shown::{Shown, Voices};
use super::super::survey::surveyed;
use super::views::views;
use super::{OpenState, PartOfPage, Trouble};
use crate::panel::guitars::{FolderName, called};
use crate::panel::server::Panel;
use crate::panel::view::{Doubted, Field, Frame, GuitarPlace, Sheet, Tab, notice, path_segment, sections};

pub(super) fn page(
    place: GuitarPlace,
    panel: &Arc<Panel>,
    own: &FolderName,
    shown: &Shown,
    state: &OpenState,
    trouble: Option<&Trouble>,
    part: Option<PartOfPage<'_>>,
) -> Markup {
    let base = panel.base();
    let whole = format!("{base}g/{}/", path_segment(own.as_str()));
    let at = format!("{whole}{}", place.path());
    let (guitar, faults) = match &*state.checked {
        Ok(guitar) => (Some(guitar), &[][..]),
        Err(refusal) => (None, refusal.faults()),
    };
    let has_values = matches!(place, GuitarPlace::Guitar | GuitarPlace::Hear);
    let known = guitar
        .filter(|_| has_values)
        .and_then(|_| moves::of(panel, own, state.draft.text(), &state.checked, state.number));
    let moves = known.unwrap_or_default();
    let (asked, doubted) = match trouble {
        Some(Trouble::Value(asked)) => (Some(asked), None),
        Some(Trouble::Reading(doubted)) => (None, Some(&**doubted)),
        Some(Trouble::Other { .. }) | None => (None, None),
    };
    let called = called(&state.draft, own);
    let sheet = Sheet { at: &at, draft: &state.draft, guitar, faults, asked, moves: &moves };
    let frame = Frame {
        base: &base,
        title: &called,
        guitar: Some((own.as_str(), state.number)),
        told: Some(state.told),
        tab: Tab::Of(place),
    };
    let values = || {
        html! {
            div.sheet { @if state.draft.document().is_toml() { (sections(&sheet, place == GuitarPlace::Hear)) } }
        }
    };
    let drawn = |views: &dyn Fn(&Voices<'_>) -> Markup| {
        html! {
            div.views {
                @match guitar.map(|guitar| shown.voices(guitar)) {
                    Some(Ok(voices)) => (views(&voices)),
                    Some(Err(words)) => div data-part="views" { (notice(&words, "")) },
                    None => div data-part="views" { p { "The circuit and its responses are drawn once the file has no fault." } },
                }
            }
        }
    };
    let of_place = || match place {
        GuitarPlace::Guitar => html! {
            (told_by_leads(panel, own, &state.draft))
            div.bench { (values()) (drawn(&|voices| views(panel, &at, &state.draft, own, shown, voices))) }
        },
        GuitarPlace::Leads => leads_views(panel, &at, own, &state.draft, shown, doubted),
        GuitarPlace::Measure => measuring(panel, &at, own, state, asked),
        GuitarPlace::Cavity => cavity_views(&at, state.draft.document(), guitar),
        GuitarPlace::Plan => plan_views(&at, &state.draft, guitar, shown),
        GuitarPlace::Hear => html! {
            div.bench.hears { (drawn(&|voices| hear_views(panel, &at, own, shown, voices))) (values()) }
        },
        GuitarPlace::Prove => proof(panel, &at, own, state, asked),
        GuitarPlace::Confirm => confirming(panel, &at, own, state),
        GuitarPlace::Survey => surveyed(panel, &at, own, state, shown),
        GuitarPlace::Send => sending(panel, &at, own, state, shown),
    };
    let main = html! {
        div.headed {
            h1 data-part="name" { bdi { (called) } }
            (state_of_saving(&at, state, trouble.is_some()))
        }
        div #summary data-part="summary" {
            @if let Some(Trouble::Other { message, hint }) = trouble { div data-asked { (notice(message, hint)) } }
            @if let Some(Doubted { asked, .. }) = doubted { div.notice role="alert" data-asked { p { a href={ "#" (asked.place) } { (asked.message) } } } }
            @if let Some(asked) = asked {
                div.notice role="alert" data-asked { p { a href={ "#" (Field::id_of(&asked.place)) } { (asked.message) } } }
            }
            @if !faults.is_empty() {
                div.notice role="alert" {
                    @if state.draft.document().is_toml() {
                        p { "The file has faults; what is below can be changed all the same, and " a href={ (whole) "file" } { "the file itself" } " too." }
                    } @else {
                        p { "The file is kept as it is, but it is not written as such a file must be, so that no value can be found in it. Mend " a href={ (whole) "file" } { "the file itself" } " first, or undo." }
                    }
                    ul { @for fault in faults { li { (fault.told()) } } }
                }
            }
        }
        // Below all of a guitar's values nobody would come upon it.
        @let onward = part.is_none().then(|| place.leads_on(&whole));
        @if let Some(onward) = onward.as_ref().filter(|_| has_values) { (onward) }
        (part.map_or_else(of_place, |part| part(&at, state)))
        @if let Some(onward) = onward.as_ref().filter(|_| !has_values) { (onward) }
    };
    if part.is_some() { frame.part(&main) } else { frame.page(&main) }
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
