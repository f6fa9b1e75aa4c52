//! A pickup's leads, by the words of its owner.

use super::{FinishIsPlus, Lug, Switch, Terminal};
use crate::document::nearest;

/// A lead of a pickup: what its owner calls it, and the coil end that it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lead {
    /// The owner's word, mostly a colour.
    pub called: String,
    /// The coil's end.
    pub end: Terminal,
}

/// The leads of one pickup, as far as its owner named them.
#[derive(Debug, Clone, Copy)]
pub struct Leads<'l> {
    /// The leads, of which no two are called alike.
    pub named: &'l [Lead],
    /// Which end of each coil is its + end.
    pub finish_is_plus: FinishIsPlus,
}

impl Leads<'_> {
    /// No leads that anyone named.
    pub const NONE: Self = Self { named: &[], finish_is_plus: [true; 2] };

    /// Returns the end that the lead called `name` is, in capitals or not.
    pub(super) fn end(&self, name: &str) -> Option<Terminal> {
        self.named.iter().find(|lead| is_same_word(&lead.called, name)).map(|lead| lead.end)
    }

    /// Returns what to do about `name`, which no lead has, where a lead was probably meant.
    pub(super) fn hint(&self, name: &str) -> Option<String> {
        let words: Vec<&str> = self.named.iter().map(|lead| lead.called.as_str()).collect();
        if let Some(near) = nearest(name, words.iter().copied()) {
            return Some(format!("did you mean `{near}`? the pickup's leads are {}", words.join(", ")));
        }
        if !is_colour(name) {
            return None;
        }
        Some(if words.is_empty() {
            format!(
                "say in the pickup's coils which lead is which, as in leads = {{ plus = \"{name}\", minus = \"…\" }}"
            )
        } else {
            format!("the pickup's leads are {}", words.join(", "))
        })
    }
}

/// Returns whether two words name the same: capitals make no difference on a bench.
pub(crate) fn is_same_word(one: &str, other: &str) -> bool {
    one.trim().to_lowercase() == other.trim().to_lowercase()
}

/// Returns the lug of `switch` that a lead called `name` would be taken for.
pub(crate) fn lug_called(switch: &Switch, name: &str) -> Option<Lug> {
    switch.lugs().find(|lug| is_same_word(switch.name_of(*lug), name))
}

/// The words that people use for the colours of insulation.
pub(crate) const COLOURS: [&str; 20] = [
    "black",
    "white",
    "red",
    "green",
    "blue",
    "yellow",
    "orange",
    "brown",
    "grey",
    "gray",
    "silver",
    "bare",
    "clear",
    "pink",
    "purple",
    "violet",
    "tan",
    "gold",
    "copper",
    "turquoise",
];

/// Returns whether some word of `name` is that of a colour.
fn is_colour(name: &str) -> bool {
    name.to_lowercase().split(|c: char| !c.is_alphabetic()).any(|word| COLOURS.contains(&word))
}
