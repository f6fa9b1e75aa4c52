//! Changes of a guitar's file, and what became of them.

use std::sync::Arc;

use drywire::document::{Fault, Literal};
use drywire::guitar::keys::{GUITAR, Key, Typed};
use drywire::guitar::{Draft, DraftError, Guitar, Measurand};

use super::super::starters;
use super::{Change, Trouble};
use crate::panel::guitars::{OpenGuitar, Refused};
use crate::panel::view::Asked;

pub(super) fn set_value(open: &mut OpenGuitar, change: &Change) -> Option<Trouble> {
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

/// Changes the part at `place` as a whole.
pub(super) fn change_part(
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

/// Takes the part at `place` out of the file, and with a pickup what it alone needs.
pub(super) fn take_out(draft: &mut Draft, _: Option<&Guitar>, place: &str) -> Result<(), DraftError> {
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
pub(super) fn called_in(draft: &Draft, place: &str) -> String {
    let Some((list, rest)) = place.split_once('[') else { return in_words(place) };
    let Some((index, rest)) = rest.split_once(']') else { return in_words(place) };
    let name = draft.get(&format!("{list}[{index}].name")).ok().flatten();
    in_words(&format!("{list} {} {rest}", name.as_deref().unwrap_or(index)))
}

/// Returns a place in words.
pub(super) fn in_words(place: &str) -> String {
    place.replace(['[', ']'], " ").replace(['.', '_'], " ").split_whitespace().collect::<Vec<_>>().join(" ")
}

pub(super) fn trouble(done: Result<(), Refused>, typed: Option<(&str, &str)>) -> Option<Trouble> {
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
