//! What is in hand where one solders by hand.

use maud::{Markup, html};

/// Returns how a thing is picked up and put down: by pointer or finger, and where there are keys also by them. `what` is told as
/// the class of the paragraph.
pub(crate) fn how_by_hand(what: &str, by_pointer: &str, by_keys: &str) -> Markup {
    html! { p.small.(what) { (by_pointer) span.by-keys { " " (by_keys) } } }
}

/// Returns what tells what is in hand, and what can be done with it.
pub(crate) fn in_hand() -> Markup {
    html! {
        div.in-hand role="group" aria-label="In hand" {
            p #hand role="status" data-none="Nothing in hand." { "Nothing in hand." }
            div.row {
                button.quiet #hand-next type="button" disabled { "Next there" }
                button.quiet #hand-off type="button" disabled { "Take off" }
                button.quiet #hand-back type="button" disabled { "Put back" }
            }
        }
    }
}
