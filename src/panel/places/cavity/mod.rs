//! The control cavity: every wire planned from the guitar's file, and the wires that are there checked and mended.
//!
//! The wires that are there stand in the guitar's file, and what is done here changes them there.

mod page;
mod planned;

use axum::response::Response;
use drywire::document::Document;
use drywire::guitar::{Draft, Guitar};
use drywire::harness::{Change, Harness, Parts, Terminal, Wire, put_places, put_wires, read_wires};
use serde::Deserialize;

use super::guitar::{OfGuitar, Trouble, change_quickly, change_with, faultless};
use super::sent::Form;
use crate::panel::guitars::Checked;

pub(super) use page::{cavity_told, cavity_views};

/// The farthest that a part is moved at once, in pixels of the drawing.
const FARTHEST: f64 = 5000.0;

/// A wire by the names of its terminals.
#[derive(Debug, Deserialize)]
pub(super) struct Ends {
    one: String,
    other: String,
}

/// What is put down: a wire that has one end at `fixed`, its other end so far at `was` or nowhere, and from now on at `to`, or
/// nowhere.
#[derive(Debug, Deserialize)]
pub(super) struct PutDown {
    fixed: String,
    was: String,
    to: String,
}

/// A part, and how far it is moved on the drawing, in its pixels.
#[derive(Debug, Deserialize)]
pub(super) struct Moved {
    part: String,
    right: f64,
    down: f64,
}

/// Which wire, or which way to mend.
#[derive(Debug, Deserialize)]
pub(super) struct Which {
    index: usize,
}

/// Puts the planned wires into the file, as those that are there.
pub(super) async fn take_plan(of: OfGuitar) -> Response {
    rewired(&of, |harness, _| {
        let plan = harness.plan();
        let plan =
            plan.ok_or_else(|| Trouble::new("no plan exists", "see what is said where the plan would be"))?;
        Ok(("the planned wires".to_owned(), plan.ends()))
    })
}

/// Adds a wire.
pub(super) async fn add(of: OfGuitar, Form(Ends { one, other }): Form<Ends>) -> Response {
    rewired(&of, |harness, wires| {
        let parts = harness.parts();
        let ends = [terminal(parts, &one)?, terminal(parts, &other)?];
        if ends[0] == ends[1] {
            return Err(to_itself(parts, ends[0]));
        }
        Ok((
            format!("a wire from {} to {}", parts.the(ends[0]), parts.the(ends[1])),
            [wires, &[ends]].concat(),
        ))
    })
}

/// Puts an end of a wire down; answers with the verdict alone.
pub(super) async fn put_down(of: OfGuitar, Form(PutDown { fixed, was, to }): Form<PutDown>) -> Response {
    let change = |harness: &Harness, wires: &[Wire]| {
        let parts = harness.parts();
        let end = |name: &str| if name.is_empty() { Ok(None) } else { terminal(parts, name).map(Some) };
        let (stays, from, to) = (terminal(parts, &fixed)?, end(&was)?, end(&to)?);
        if to == Some(stays) {
            return Err(to_itself(parts, stays));
        }
        let words = |end: Terminal| parts.the(end);
        let wire = |other: Terminal| {
            let is_it = |own: &&Wire| **own == [stays, other] || **own == [other, stays];
            wires
                .iter()
                .find(is_it)
                .copied()
                .ok_or_else(|| Trouble::new("that wire is gone already", "look at the drawing"))
        };
        let (called, change) = match (from, to) {
            (None, None) => return Err(Trouble::new("no wire is in hand", "pick one up first")),
            (None, Some(to)) => {
                (format!("a wire from {} to {}", words(stays), words(to)), Change::Add([stays, to]))
            }
            (Some(from), None) => (
                format!("the wire from {} to {} taken off", words(stays), words(from)),
                Change::Remove(wire(from)?),
            ),
            (Some(from), Some(to)) => {
                let change = Change::Move { wire: wire(from)?, from, to };
                (format!("what leads from {} moved to {}", words(stays), words(to)), change)
            }
        };
        Ok((called, change.applied(wires)))
    };
    change_quickly(&of, |checked, draft| rewired_draft(checked, draft, change), &|_, state| {
        page::verdict(state)
    })
}

/// Moves a part on the drawing to where it lies.
pub(super) async fn move_part(of: OfGuitar, Form(Moved { part, right, down }): Form<Moved>) -> Response {
    change_with(&of, |checked, mut draft| {
        let guitar = faultless(checked)?;
        let harness = harness_of(guitar)?;
        let wires = wires_of(draft.document(), guitar, &harness)?.unwrap_or_default();
        let is_on_it = [right, down].iter().all(|own| own.abs() <= FARTHEST);
        let places = is_on_it.then(|| harness.moved(&planned_wires(&harness), &wires, &part, [right, down]));
        let places = places.flatten().ok_or_else(|| {
            Trouble::new(format!("no part `{part}` is moved so far"), "move one that stands on the drawing")
        })?;
        put_places(&mut draft, harness.parts(), &places)?;
        Ok((format!("{part} moved"), draft))
    })
}

/// Returns the wires by which the parts are laid on the drawing.
fn planned_wires(harness: &Harness) -> Vec<Wire> {
    harness.plan().map_or_else(|| harness.simple_wires(), |plan| plan.ends())
}

/// Takes a wire off.
pub(super) async fn take_off(of: OfGuitar, Form(Which { index }): Form<Which>) -> Response {
    rewired(&of, |harness, wires| {
        let mut left = wires.to_vec();
        if index >= left.len() {
            return Err(Trouble::new("that wire is gone already", "look at the list"));
        }
        let gone = left.remove(index).map(|end| harness.parts().the(end));
        Ok((format!("the wire from {} to {} taken off", gone[0], gone[1]), left))
    })
}

/// Does what mends the wires, one way of those that are shown.
pub(super) async fn mend(of: OfGuitar, Form(Which { index }): Form<Which>) -> Response {
    rewired(&of, |harness, wires| {
        let ways = harness.mends(wires).ways;
        let way = ways
            .get(index)
            .ok_or_else(|| Trouble::new("it is mended otherwise already", "look at the list"))?;
        let mended = way.iter().fold(wires.to_vec(), |wires, change| change.applied(&wires));
        let words: Vec<String> = way.iter().map(|change| change.told(harness.parts())).collect();
        Ok((words.join("; then "), mended))
    })
}

fn to_itself(parts: &Parts, end: Terminal) -> Trouble {
    Trouble::new(format!("a wire from {} to itself", parts.told(end)), "choose the terminal at its other end")
}

fn terminal(parts: &Parts, name: &str) -> Result<Terminal, Trouble> {
    if name.is_empty() {
        return Err(Trouble::new("an end of the wire is not chosen", "choose the terminals at both ends"));
    }
    let found = parts.terminal(name.trim());
    found.ok_or_else(|| {
        let names: Vec<String> = parts.terminals().map(|own| parts.name_of(own)).collect();
        let near = drywire::document::nearest(name.trim(), names.iter().map(String::as_str));
        let hint = near
            .map_or_else(|| "choose one of the list".to_owned(), |near| format!("did you mean `{near}`?"));
        Trouble::new(format!("the guitar has no terminal `{name}`"), hint)
    })
}

/// Returns the cavity of a guitar, or why it has none.
fn harness_of(guitar: &Guitar) -> Result<Harness, Trouble> {
    Harness::of(guitar).map_err(|error| Trouble::new(error.to_string(), error.hint()))
}

/// Returns the wires that the file of a guitar states, where it states any.
fn wires_of(document: &Document, guitar: &Guitar, harness: &Harness) -> Result<Option<Vec<Wire>>, Trouble> {
    let Some(named) = guitar.cavity().wires() else { return Ok(None) };
    let read = read_wires(document, harness.parts(), named);
    read.map(Some).map_err(|refusal| {
        let faults: Vec<String> = refusal.faults().iter().map(drywire::document::Fault::told).collect();
        Trouble::new(faults.join("; "), "mend them in the file, or take the planned wires")
    })
}

/// Changes the wires that the file states.
fn rewired(
    of: &OfGuitar,
    change: impl FnOnce(&Harness, &[Wire]) -> Result<(String, Vec<Wire>), Trouble>,
) -> Response {
    change_with(of, |checked, draft| rewired_draft(checked, draft, change))
}

/// Returns a draft with the wires that `change` makes of those that it states, and what the change is called.
fn rewired_draft(
    checked: &Checked,
    mut draft: Draft,
    change: impl FnOnce(&Harness, &[Wire]) -> Result<(String, Vec<Wire>), Trouble>,
) -> Result<(String, Draft), Trouble> {
    let guitar = faultless(checked)?;
    let harness = harness_of(guitar)?;
    let wires = wires_of(draft.document(), guitar, &harness)?.unwrap_or_default();
    let (called, wires) = change(&harness, &wires)?;
    put_wires(&mut draft, harness.parts(), &wires)?;
    // A lead on two points would be a fault of the file.
    if let Ok(guitar) = draft.check() {
        wires_of(draft.document(), &guitar, &harness)?;
    }
    Ok((called, draft))
}
