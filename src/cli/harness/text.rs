//! What is found of a wiring, on a terminal of 80 columns.

use drywire::cautions;
use drywire::harness::{Checked, Harness};
use drywire::quantity::Ohms;
use drywire::report::{Column, TextTable};

use crate::cli::wrap::{indented, item, paragraph, section, wrap};

/// Returns what was found of a wiring of the guitar called `guitar`.
pub(super) fn check(guitar: &str, harness: &Harness, checked: &Checked) -> String {
    let mut text = String::new();
    paragraph(&mut text, &format!("{guitar}: {}", verdict(checked)));
    for (place, fault) in checked.faults.iter().enumerate() {
        wrap(&mut text, &fault.words, &format!("{:>3}. ", place + 1), "     ");
    }
    if !checked.notes.is_empty() {
        section(&mut text, "No fault, and worth knowing");
        checked.notes.iter().for_each(|note| item(&mut text, note));
    }
    section(&mut text, "Tip to sleeve, nothing plugged in, every knob at 10");
    readings(&mut text, harness, checked);
    section(&mut text, "Before an iron or a meter touches it");
    for caution in cautions::BENCH {
        item(&mut text, caution);
    }
    text.trim_end().to_owned()
}

fn verdict(checked: &Checked) -> String {
    match (checked.is_as_wanted(), checked.same_circuit, checked.faults.len()) {
        (true, ..) => {
            "as wanted: these wires are the circuit that the file asks for, in every position".to_owned()
        }
        (false, true, 1) => "the right circuit, with one fault".to_owned(),
        (false, true, count) => format!("the right circuit, with {count} faults"),
        (false, false, 1) => "not as wanted: one fault".to_owned(),
        (false, false, count) => format!("not as wanted: {count} faults"),
    }
}

fn readings(text: &mut String, harness: &Harness, checked: &Checked) {
    let mut table = TextTable::new(vec![
        Column::words(["", "position"]),
        Column::numbers(["meter", "reads"]),
        Column::words(["", ""]),
    ]);
    for (place, (state, ohms)) in checked.ohms_at_jack.iter().enumerate() {
        let reads = ohms.map_or_else(|| "open".to_owned(), |own| Ohms::new(own).to_string());
        let is_silent = checked.silent.contains(state);
        let words = harness.throws().position(place).unwrap_or_default();
        table.row(vec![
            state.clone(),
            reads,
            if is_silent { format!("{words} (silent)") } else { words.to_owned() },
        ]);
    }
    indented(text, &table);
}
