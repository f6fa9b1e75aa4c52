//! What a person calls a terminal: its name, its lug alone, a lead's colour, a part of which one leg is as good as the other.

use super::{Part, PartKind, Parts, Terminal};
use crate::document::nearest;
use crate::guitar::Pickup;
use crate::lugs::Labels;
use crate::quantity::listed;
use crate::wiring::Terminal as CoilEnd;

/// Returns what a person calls a pickup's lead.
pub(super) fn lead_called(parts: &Parts, lead: Terminal) -> Option<String> {
    let PartKind::Pickup(place) = parts.part_of(lead).kind() else { return None };
    let pickup: &Pickup = &parts.guitar().pickups()[place];
    let end = CoilEnd::ALL.into_iter().find(|end| end.name() == parts.lug_of(lead))?;
    Labels::of(pickup, None).lead(end).map(str::to_owned)
}

/// Returns the terminal that `given` means where it is said of the terminal `at`; of two legs that are alike the first that
/// `is_free`.
///
/// # Errors
/// Why it means none, and what would.
pub(super) fn meant(
    parts: &Parts,
    at: Terminal,
    given: &str,
    is_free: impl Fn(Terminal) -> bool,
) -> Result<Terminal, String> {
    let shown = given.escape_debug();
    let named = |name: &str| parts.all().iter().find(|part| part.name().eq_ignore_ascii_case(name));
    if let Some((part, lug)) = given.split_once(['.', ' '])
        && let Some(part) = named(part)
    {
        return within(parts, part, lug.trim()).ok_or_else(|| {
            let all: Vec<String> = part.terminals().map(|own| parts.name_of(own)).collect();
            format!("`{shown}` is no terminal of {}; it has {}", part.name(), all.join(", "))
        });
    }
    if let Some(own) = within(parts, parts.part_of(at), given) {
        return Ok(own);
    }
    if let Some(part) = named(given) {
        let all: Vec<Terminal> = part.terminals().collect();
        return match (part.kind(), all.as_slice()) {
            (_, [only]) => Ok(*only),
            (PartKind::TwoLegs(..), legs) => legs
                .iter()
                .copied()
                .find(|leg| is_free(*leg))
                .ok_or_else(|| format!("both legs of {} are told already", part.name())),
            _ => {
                let all: Vec<String> = all.into_iter().map(|own| parts.name_of(own)).collect();
                Err(format!("{} has several terminals; say which: {}", part.name(), all.join(", ")))
            }
        };
    }
    let every: Vec<Terminal> = parts.all().iter().filter_map(|part| within(parts, part, given)).collect();
    match every.as_slice() {
        [only] => Ok(*only),
        [] => {
            let all: Vec<String> = parts.terminals().map(|own| parts.name_of(own)).collect();
            let near = nearest(given, all.iter().map(String::as_str));
            let hint = near
                .map_or_else(|| "? lists all there are".to_owned(), |near| format!("did you mean {near}?"));
            Err(format!("the guitar has no terminal `{shown}`; {hint}"))
        }
        several => {
            let names: Vec<String> = several.iter().map(|own| parts.name_of(*own)).collect();
            Err(format!("`{shown}` may be {}: say which", listed(&names)))
        }
    }
}

/// Returns the terminal of `part` that is called `lug`, by its name or its lead's colour.
fn within(parts: &Parts, part: &Part, lug: &str) -> Option<Terminal> {
    let is_called = |own: &Terminal| {
        parts.lug_of(*own).eq_ignore_ascii_case(lug)
            || lead_called(parts, *own).is_some_and(|called| called.eq_ignore_ascii_case(lug))
    };
    part.terminals().find(is_called)
}
