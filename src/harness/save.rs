//! Wires put into a guitar's file.

use super::{Parts, Wire};
use crate::document::Literal;
use crate::guitar::{Draft, DraftError};

/// Where a guitar's file states its wires.
const WIRES: &str = "harness.wires";

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
