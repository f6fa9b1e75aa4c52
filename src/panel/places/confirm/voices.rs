//! The voices of a guitar that can be recorded.

use drywire::guitar::Guitar;
use drywire::response::Selection;
use drywire::words;
use maud::{Markup, html};

use super::super::shown::positions;

/// Voices of a kind, each with what it does in words.
pub(super) struct Voices {
    pub(super) kind: &'static str,
    pub(super) voices: Vec<(String, String)>,
}

impl Voices {
    fn of(kind: &'static str, selection: &Selection<'_>) -> Self {
        let titled = selection.responses().iter().map(|own| {
            let title = words::voice(own, selection.guitar(), selection.scope());
            (own.voice().name().to_owned(), title)
        });
        Self { kind, voices: titled.collect() }
    }
}

/// Returns the voices that a switch or a selector of this guitar has; where it has none, the arrangements of its first pickup.
pub(super) fn of_guitar(guitar: &Guitar) -> Vec<Voices> {
    let mut all = Vec::new();
    for pickup in guitar.pickups() {
        let throws = Selection::of_names(guitar, Some(pickup.name().as_str()), &["throws"], None);
        all.extend(throws.iter().map(|selection| Voices::of("throws of a switch", selection)));
    }
    if !guitar.joined().is_empty() {
        let positions = Selection::of_names(guitar, None, &positions(guitar), None);
        all.extend(positions.iter().map(|selection| Voices::of("positions of the whole guitar", selection)));
    }
    if all.is_empty() {
        let usual = Selection::usual(guitar);
        all.extend(usual.iter().map(|selection| Voices::of("arrangements of the pickup", selection)));
    }
    all
}

/// Returns the two voices that are set against each other: those that are told, or the first two.
pub(super) fn between(all: &[Voices], told: &[String; 2]) -> [String; 2] {
    let names: Vec<&str> = all.iter().flat_map(|own| &own.voices).map(|(name, _)| name.as_str()).collect();
    let usual =
        |other: &str| names.iter().find(|name| **name != other).copied().unwrap_or_default().to_owned();
    let first = if told[0].is_empty() { usual(&told[1]) } else { told[0].clone() };
    let later = if told[1].is_empty() { usual(&first) } else { told[1].clone() };
    [first, later]
}

/// Returns the entries of a list of voices.
pub(super) fn choices(voices: &[Voices], chosen: &str) -> Markup {
    html! {
        @for Voices { kind, voices } in voices {
            optgroup label=(kind) {
                @for (name, title) in voices { option value=(name) selected[name == chosen] { (name) ": " (title) } }
            }
        }
        @if voices.iter().flat_map(|own| &own.voices).all(|(name, _)| name != chosen) {
            option value=(chosen) selected { @if chosen.is_empty() { "none" } @else { (chosen) } }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_can_be_recorded_are_throws_and_positions_or_else_arrangements() {
        let of = |name: &str| of_guitar(&Guitar::built_in(name).unwrap());
        let all = of("set-neck");
        assert_eq!(all.iter().map(|own| own.kind).collect::<Vec<_>>(), ["positions of the whole guitar"]);
        assert_eq!(all[0].voices[0].0, "selector:1");
        let none = [String::new(), String::new()];
        assert_eq!(between(&all, &none), ["selector:1", "selector:2"]);
        let later = [String::new(), "selector:1".to_owned()];
        assert_eq!(between(&all, &later), ["selector:2", "selector:1"]);
    }
}
