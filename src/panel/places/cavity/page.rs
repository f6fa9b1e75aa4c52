//! The page of the cavity: the wires that are there with what is wrong, and the plan.

use drywire::document::Document;
use drywire::guitar::Guitar;
use drywire::harness::{Checked, Harness, Parts, Terminal, Wire, picture_by_hand_of, picture_of};
use drywire::quantity::counted;
use maud::{Markup, PreEscaped, html};

use super::super::guitar::{OpenState, Trouble};
use super::planned::planned;
use super::{harness_of, planned_wires, wires_of};
use crate::panel::view::{how_by_hand, in_hand};

/// The most ways to mend that are offered.
const WAYS: usize = 8;

/// The wires that the file states, where it states any; or why they cannot be read.
type Stated = Result<Option<Vec<Wire>>, Trouble>;

/// Returns the page of a guitar's cavity.
pub(in super::super) fn cavity_views(at: &str, document: &Document, guitar: Option<&Guitar>) -> Markup {
    let Some(guitar) = guitar else {
        return html! { div data-part="cavity" { p { "The cavity can be planned once the file has no fault." } } };
    };
    let harness = match harness_of(guitar) {
        Ok(harness) => harness,
        Err(trouble) => return html! { div data-part="cavity" { (trouble.notice()) } },
    };
    let stated = wires_of(document, guitar, &harness);
    let checked = checked(&harness, &stated);
    html! {
        p.about { "Every wire from the pickups to the jack. Tell the wires that are there, by hand on the drawing or one by one, and learn what is wrong and what mends it; or solder as planned." }
        section {
            h2 { "As it is" }
            div.at-hand {
                (joined(&stated, checked.as_ref()))
                (in_hand())
            }
            (by_hand(at, &harness, &stated))
            (faults(checked.as_ref()))
            (mends(at, &harness, &stated, checked.as_ref()))
            (list(at, &harness, &stated))
            form.asks #add-wire method="post" action={ (at) "add" } data-part="add" {
                (terminals(harness.parts(), "one", "A wire from"))
                (terminals(harness.parts(), "other", "to"))
                button { "Add it" }
            }
        }
        (planned(at, &harness, stated.as_ref().ok().and_then(|wires| wires.as_deref())))
    }
}

/// Returns what other places tell of the wires that were told here, where they are not what the file asks for now: it leads here, to
/// the address `at`.
pub(in super::super) fn cavity_told(at: &str, document: &Document, guitar: &Guitar) -> Option<Markup> {
    guitar.cavity().wires()?;
    let words = match harness_of(guitar).and_then(|harness| {
        let wires = wires_of(document, guitar, &harness)?.unwrap_or_default();
        Ok(harness.check(&wires))
    }) {
        Ok(checked) if checked.is_as_wanted() => return None,
        Ok(checked) => {
            let first = checked.faults.first().map_or("", |fault| fault.words.as_str());
            format!("The wires told at Cavity are not this circuit: {first}.")
        }
        Err(trouble) => format!("The wires told at Cavity do not fit this circuit: {}.", trouble.words()),
    };
    Some(
        html! { p.notice.cavity-told role="status" { (words) " " a href=(at) { "See what is to be resoldered" } } },
    )
}

/// Returns the verdict on a guitar's wires alone; what mends them takes longer to find.
pub(super) fn verdict(state: &OpenState) -> Markup {
    let Ok(guitar) = &*state.checked else { return html! {} };
    let Ok(harness) = harness_of(guitar) else { return html! {} };
    let stated = wires_of(state.draft.document(), guitar, &harness);
    let checked = checked(&harness, &stated);
    html! {
        (joined(&stated, checked.as_ref()))
        (faults(checked.as_ref()))
        div data-part="mends" {}
    }
}

/// Returns the drawing of wires, which can be made larger.
pub(super) fn drawing(picture: &str) -> Markup {
    html! {
        div.drawing {
            div.zoom role="group" aria-label="Size of the drawing" {
                button.quiet type="button" data-zoom="in" { "Larger" }
                button.quiet type="button" data-zoom="out" { "Smaller" }
                button.quiet type="button" data-zoom="fit" { "All of it" }
            }
            div.wiring { div.cavity-drawn { (PreEscaped(picture)) } }
        }
    }
}

fn checked(harness: &Harness, stated: &Stated) -> Option<Checked> {
    stated.as_ref().ok()?.as_deref().map(|wires| harness.check(wires))
}

/// Returns the verdict on the wires.
fn joined(stated: &Stated, checked: Option<&Checked>) -> Markup {
    html! {
        div data-part="joined" {
            @match (stated, checked) {
                (Err(trouble), _) => (trouble.notice()),
                (Ok(_), None) => p #joined.verdict { "No wire is told yet." },
                (Ok(_), Some(checked)) => {
                    p #joined.verdict.certain[checked.is_as_wanted()] data-said role="status" {
                        (checked.verdict_words())
                        @if let (Some(first), None) = (checked.faults.first(), checked.joints_missing) { span.first { ": " (first.words) } }
                    }
                }
            }
        }
    }
}

/// Returns every fault of the wires, and what is worth a word.
fn faults(checked: Option<&Checked>) -> Markup {
    html! {
        div data-part="faults" {
            @if let Some(checked) = checked {
                @if checked.joints_missing.is_some() { h3 { "What comes of it so far" } }
                @if !checked.faults.is_empty() { ul.faulty { @for fault in &checked.faults { li { (fault.words) } } } }
                @if !checked.notes.is_empty() { ul.small { @for note in &checked.notes { li { (note) } } } }
            }
        }
    }
}

/// Returns what mends the wires, or what is still to be soldered.
fn mends(at: &str, harness: &Harness, stated: &Stated, checked: Option<&Checked>) -> Markup {
    let Ok(Some(wires)) = stated else { return html! { div data-part="mends" {} } };
    if checked.is_some_and(|checked| checked.joints_missing.is_some())
        && let Some(left) = harness.left_to_solder(wires, &planned_wires(harness))
    {
        return left_to_solder(at, harness.parts(), &left);
    }
    let mends = harness.mends(wires);
    html! {
        div data-part="mends" {
            @if !mends.ways.is_empty() {
                h3 { "What mends it" }
                ul.mends { @for (i, way) in mends.ways.iter().take(WAYS).enumerate() { li {
                    form method="post" action={ (at) "mend" } {
                        input type="hidden" name="index" value=(i);
                        (way.iter().map(|change| change.told(harness.parts())).collect::<Vec<_>>().join("; then ")) " "
                        button.quiet id={ "mend-" (i) } { "It is done" }
                    }
                } } }
                @if mends.ways.len() > WAYS { p.small { (mends.ways.len() - WAYS) " more ways touch as few joints." } }
            } @else if mends.tried > 0 {
                p { "Neither one change nor two mend it: compare it with the plan, wire by wire." }
            }
        }
    }
}

/// Returns what is still to be soldered, each joint by one press.
fn left_to_solder(at: &str, parts: &Parts, left: &[Wire]) -> Markup {
    html! {
        div data-part="mends" {
            h3 { "Still to be soldered" }
            ul.mends { @for (i, wire) in left.iter().enumerate() { li {
                form method="post" action={ (at) "add" } {
                    @for (name, end) in ["one", "other"].iter().zip(wire) { input type="hidden" name=(name) value=(parts.name_of(*end)); }
                    (ends(parts, *wire)) " "
                    button.quiet id={ "left-" (i) } { "It is soldered" }
                }
            } } }
        }
    }
}

/// Returns the drawing on which wires are led by hand.
fn by_hand(at: &str, harness: &Harness, stated: &Stated) -> Markup {
    let Ok(wires) = stated else { return html! { div data-part="drawn" {} } };
    let picture = picture_by_hand_of(
        harness,
        &planned_wires(harness),
        wires.as_deref().unwrap_or_default(),
        "The control cavity from behind with the wires that are there",
    );
    html! {
        fieldset.wires #by-hand {
            legend.unseen { "What is done on the drawing" }
            label { input type="radio" name="hands" value="solder" checked; "Solder" }
            label { input type="radio" name="hands" value="move"; "Move parts to where they lie" }
        }
        (how_by_hand("how-solder", "Press a lug for a new wire, then the lug where it goes; press the same lug again, or the wire, to move what is on it. Or drag an end to where it goes.", "On the drawing the arrow keys lead from lug to lug, Enter picks up and puts down, Escape puts back, Delete takes off."))
        (how_by_hand("how-move", "Press a part to pick it up, and where it lies to put it down; or drag it there.", "The arrow keys lead from part to part, Enter picks up and puts down, Escape puts back."))
        div data-part="drawn" data-put={ (at) "put-down" } data-move={ (at) "move-part" } { (drawing(&picture)) }
    }
}

/// Returns every wire that is there.
fn list(at: &str, harness: &Harness, stated: &Stated) -> Markup {
    let parts = harness.parts();
    html! {
        div data-part="wires" {
            @if let Ok(Some(wires)) = stated {
                h3 { (counted(wires.len(), "wire")) }
                ol #wires { @for (i, wire) in wires.iter().enumerate() { li {
                    form.taken-off method="post" action={ (at) "take-off" } {
                        (ends(parts, *wire)) " "
                        input type="hidden" name="index" value=(i);
                        button.quiet id={ "take-off-" (i) } { "Take off" span.unseen { " wire " (i + 1) } }
                    }
                } } }
            }
        }
    }
}

/// Returns the ends of a wire in words, with their names after them.
pub(super) fn ends(parts: &Parts, wire: Wire) -> Markup {
    let [one, other] = wire;
    html! {
        (parts.the(one)) " to " (parts.the(other))
        " " span.key { (parts.name_of(one)) " " (parts.name_of(other)) }
    }
}

/// Returns a choice of all terminals, part by part.
fn terminals(parts: &Parts, name: &str, label: &str) -> Markup {
    html! {
        label { (label) " "
            select id={ "wire-" (name) } name=(name) {
                option value="" { "choose" }
                @for part in parts.all() {
                    optgroup label=(part.name()) {
                        @for terminal in part.terminals() {
                            @let own: Terminal = terminal;
                            option value=(parts.name_of(own)) { (parts.in_words(own)) " (" (parts.name_of(own)) ")" }
                        }
                    }
                }
            }
        }
    }
}

/// Returns a drawing that is looked at.
pub(super) fn drawn(harness: &Harness, wires: &[Wire], words: &str) -> Markup {
    drawing(&picture_of(harness, wires, words))
}
