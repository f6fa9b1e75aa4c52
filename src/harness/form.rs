//! What is found of a wiring, as JSON tells it.

use std::collections::BTreeMap;

use serde::Serialize;

use super::{Checked, WiringFault};

/// A checked wiring.
#[derive(Debug, Clone, Serialize)]
pub struct CheckForm {
    guitar: String,
    same_circuit: bool,
    /// `as wanted` or `faulty`.
    verdict: &'static str,
    /// The states without sound with every knob at 10.
    silent: Vec<String>,
    faults: Vec<WiringFault>,
    notes: Vec<String>,
    /// Each state with what a meter reads at the jack, in ohms; null where it is open or behind a buffer.
    ohms_at_jack: BTreeMap<String, Option<f64>>,
}

impl CheckForm {
    /// Returns the form of what was found of a wiring of the guitar called `guitar`.
    pub fn new(guitar: &str, checked: Checked) -> Self {
        let verdict = if checked.is_as_wanted() { "as wanted" } else { "faulty" };
        let Checked { same_circuit, faults, silent, notes, ohms_at_jack } = checked;
        let ohms_at_jack = ohms_at_jack.into_iter().collect();
        Self { guitar: guitar.to_owned(), same_circuit, verdict, silent, faults, notes, ohms_at_jack }
    }
}
