//! The page of the cavity: the wires that are there with what is wrong, and the plan.

use drywire::document::Document;
use drywire::guitar::Guitar;
use drywire::harness::{Harness, Parts, Terminal, Wire, picture_of};
use drywire::quantity::counted;
use maud::{Markup, PreEscaped, html};

use super::{harness_of, wires_of};

/// The most ways to mend that are offered.
const WAYS: usize = 8;

/// Returns the page of a guitar's cavity.
pub(in super::super) fn cavity_views(at: &str, document: &Document, guitar: Option<&Guitar>) -> Markup {
    let Some(guitar) = guitar else {
        return html! { div data-part="cavity" { p { "The cavity can be planned once the file has no fault." } } };
    };
    let harness = match harness_of(guitar) {
        Ok(harness) => harness,
        Err(trouble) => return html! { div data-part="cavity" { (trouble.notice()) } },
    };
    html! {
        p.about { "Every wire from the pickups to the jack. Tell the wires that are there, one by one, and learn what is wrong and what mends it; or solder as planned." }
        div.bench {
            div { (as_it_is(at, document, guitar, &harness)) }
            div { (planned(at, &harness)) }
        }
    }
}

fn drawn(harness: &Harness, wires: &[Wire], words: &str) -> Markup {
    html! { div.wiring { div.cavity-drawn { (PreEscaped(picture_of(harness, wires, words))) } } }
}

/// Returns the wires that are there.
fn as_it_is(at: &str, document: &Document, guitar: &Guitar, harness: &Harness) -> Markup {
    let parts = harness.parts();
    html! {
        div data-part="verdict" {
            h2 { "As it is" }
            @match wires_of(document, guitar, harness) {
                Err(trouble) => (trouble.notice()),
                Ok(None) => p { "No wire is told yet." },
                Ok(Some(wires)) => {
                    (verdict(at, harness, &wires))
                    (drawn(harness, &wires, "The control cavity from behind with the wires that are there"))
                    h3 { (counted(wires.len(), "wire")) }
                    ol #wires { @for (i, wire) in wires.iter().enumerate() { li {
                        form.taken-off method="post" action={ (at) "take-off" } {
                            span { (ends(parts, *wire)) " " }
                            input type="hidden" name="index" value=(i);
                            button.quiet id={ "take-off-" (i) } { "Take off" span.unseen { " " (ends(parts, *wire)) } }
                        }
                    } } }
                }
            }
        }
        form.asks #add-wire method="post" action={ (at) "add" } data-part="add" {
            (terminals(parts, "one", "A wire from"))
            (terminals(parts, "other", "to"))
            button { "Add it" }
        }
    }
}

fn ends(parts: &Parts, wire: Wire) -> String {
    wire.map(|end| parts.name_of(end)).join(" to ")
}

/// Returns a choice of all terminals, part by part.
fn terminals(parts: &Parts, name: &str, label: &str) -> Markup {
    html! {
        label { (label) " "
            select id={ "wire-" (name) } name=(name) {
                option value="" { "choose" }
                @for part in parts.all() {
                    optgroup label=(part.name()) { @for terminal in part.terminals() { @let own: Terminal = terminal; option { (parts.name_of(own)) } } }
                }
            }
        }
    }
}

/// Returns what is wrong with wires, and what mends them.
fn verdict(at: &str, harness: &Harness, wires: &[Wire]) -> Markup {
    let checked = harness.check(wires);
    let mends = harness.mends(wires);
    html! {
        p #joined.verdict.certain[checked.is_as_wanted()] role="status" { (checked.verdict_words()) }
        @if !checked.faults.is_empty() { ul.faulty { @for fault in &checked.faults { li { (fault.words) } } } }
        @if !mends.ways.is_empty() {
            h3 { "What mends it" }
            ul.mends { @for (i, way) in mends.ways.iter().take(WAYS).enumerate() { li {
                form method="post" action={ (at) "mend" } {
                    input type="hidden" name="index" value=(i);
                    (way.iter().map(|change| change.words(harness.parts())).collect::<Vec<_>>().join("; then ")) " "
                    button.quiet id={ "mend-" (i) } { "It is done" }
                }
            } } }
            @if mends.ways.len() > WAYS { p.small { (mends.ways.len() - WAYS) " more ways touch as few joints." } }
        } @else if !checked.is_as_wanted() {
            p { "Neither one change nor two mend it: compare it with the plan, wire by wire." }
        }
        @if !checked.notes.is_empty() { ul.small { @for note in &checked.notes { li { (note) } } } }
    }
}

/// Returns the plan.
fn planned(at: &str, harness: &Harness) -> Markup {
    let parts = harness.parts();
    html! {
        div data-part="planned" {
            h2 { "As planned" }
            @match harness.plan() {
                None => p { "No plan exists: more has to meet at some lug than it has room for. Lead the cases from one to the next (bus), or leave out what need not be wired." },
                Some(plan) => {
                    p { b { (counted(plan.wires.len(), "joint")) } ", the fewest there can be." }
                    form method="post" action={ (at) "take-plan" } { button.strong #take-plan { "These are soldered" } }
                    (drawn(harness, &plan.ends(), "The control cavity from behind as planned"))
                    ol { @for wire in plan.ends() { li { (ends(parts, wire)) } } }
                }
            }
        }
    }
}
