//! What is in hand where one solders by hand.

use maud::{Markup, html};

/// Returns what tells what is in hand, and what can be done with it; `how` is told while it is nothing.
pub(crate) fn in_hand(how: &str) -> Markup {
    html! {
        div.in-hand role="group" aria-label="In hand" {
            p #hand role="status" data-how=(how) { (how) }
            div.row {
                button.quiet #hand-next type="button" disabled { "Next there" }
                button.quiet #hand-off type="button" disabled { "Take off" }
                button.quiet #hand-back type="button" disabled { "Put back" }
            }
        }
    }
}
