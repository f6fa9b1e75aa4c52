//! Wires, and the places of parts, put into a guitar's file.

use super::{PartPlace, Parts, Wire};
use crate::document::Literal;
use crate::guitar::{Draft, DraftError};

/// Where a guitar's file states its wires.
const WIRES: &str = "harness.wires";
/// Where it states the places of parts.
const PLACES: &str = "harness.places";

/// Returns `wires` as a guitar's file states them, a line each.
pub fn stated(parts: &Parts, wires: &[Wire]) -> String {
    let names = |wire: &Wire| wire.map(|end| parts.name_of(end)).to_vec();
    let lines = wires.iter().map(|wire| format!("  {},\n", Literal::Texts(names(wire))));
    format!("[\n{}]", lines.collect::<Vec<_>>().concat())
}

/// Puts `wires` into the guitar `draft`, in place of those that it states.
///
/// # Errors
/// [`DraftError`] where the text cannot be changed there.
pub fn put_wires(draft: &mut Draft, parts: &Parts, wires: &[Wire]) -> Result<(), DraftError> {
    draft.set(WIRES, Literal::AsWritten(stated(parts, wires)))
}

/// Puts `places` into the guitar `draft`, whose other parts keep theirs.
///
/// # Errors
/// [`DraftError`] where the text cannot be changed there.
pub fn put_places(draft: &mut Draft, parts: &Parts, places: &[PartPlace]) -> Result<(), DraftError> {
    let had = parts.guitar().cavity().places().iter();
    let had = had.map(|(name, place)| (name.value.clone(), place.map(|own| own.value() * 1e3)));
    let mut all: Vec<PartPlace> = had.collect();
    for (name, place) in places {
        match all.iter_mut().find(|(own, _)| own == name) {
            Some((_, own)) => *own = *place,
            None => all.push((name.clone(), *place)),
        }
    }
    let each = all.iter().map(|(name, place)| {
        // What millimetres are in metres is off by a last digit.
        format!("{name} = {}", Literal::Numbers(place.map(|mm| (mm * 1e3).round() / 1e3).to_vec()))
    });
    let table = Literal::AsWritten(format!("{{ {} }}", each.collect::<Vec<_>>().join(", ")));
    let mut edited = draft.clone();
    // A value is written over; a table is not.
    edited.remove(PLACES)?;
    edited.set(PLACES, table)?;
    *draft = edited;
    Ok(())
}
