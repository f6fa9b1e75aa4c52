//! What is fuzzed: for each kind of file that may come from a stranger, a function that takes any bytes, reads them as
//! the program would and checks what the rest of the program relies on. The fuzzer and the tests share it.

#![allow(dead_code, unreachable_pub, reason = "each fuzzer uses its own")]

pub mod guitar;
pub mod readings;
pub mod set;
pub mod sound;
pub mod switch;

use drywire::document::{Document, MAX_FAULTS, Refusal};

/// Returns the bytes as a document, where they are text.
fn document(bytes: &[u8]) -> Option<Document> {
    Some(Document::new("fuzz.toml", std::str::from_utf8(bytes).ok()?))
}

/// Checks that a refusal can be shown: faults in the order of the text, and nothing that drives a terminal.
fn check_refusal(refusal: &Refusal) {
    assert!((1..=MAX_FAULTS + 1).contains(&refusal.faults().len()));
    assert!(refusal.faults().is_sorted_by_key(|fault| fault.span.start));
    for fault in refusal.faults() {
        assert!(!fault.message.is_empty() && refusal.line_of(fault) > 0);
    }
    let shown = refusal.shown(false);
    assert!(!shown.contains(|c: char| c.is_control() && c != '\n'), "{shown:?}");
}
