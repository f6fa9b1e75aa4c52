//! What is found of a wiring, on a terminal of 80 columns.

use drywire::cautions;
use drywire::guitar::Turns;
use drywire::harness::{Checked, Harness, HarnessPlan, Mends, PlannedWire, WireKind};
use drywire::quantity::Ohms;
use drywire::report::{Column, TextTable};

use crate::cli::wrap::{indented, item, paragraph, section, wrap};

/// Returns a plan, in the order in which a person solders.
pub(super) fn plan(harness: &Harness, plan: &HarnessPlan) -> String {
    let parts = harness.parts();
    let mut text = String::new();
    let proven = if plan.is_least {
        "no plan takes less work".to_owned()
    } else {
        format!("work of {:.0} mm, and no plan is below {:.0} mm", plan.cost_mm, plan.bound_mm)
    };
    paragraph(
        &mut text,
        &format!(
            "{}: {} joints, the fewest there can be; {proven}.",
            parts.guitar().name(),
            plan.wires.len()
        ),
    );
    section(&mut text, "Before an iron touches it");
    for caution in cautions::BENCH {
        item(&mut text, caution);
    }
    let low = match parts.guitar().cavity().turns() {
        Turns::Clockwise => 1,
        Turns::CounterClockwise => 3,
    };
    item(
        &mut text,
        &format!(
            "Check the bare parts first: on a pot lugs {low} and 2 read near 0 with the knob at 0, 1 2 3 being left to right from \
             behind with the lugs up; the jack's tip beeps to a plug's tip."
        ),
    );
    let mut number = 0;
    for (kind, heading) in WireKind::HEADED {
        let own: Vec<_> = plan.wires.iter().filter(|wire| wire.kind == kind).collect();
        if own.is_empty() {
            continue;
        }
        section(&mut text, heading);
        let mut table = TextTable::new(vec![
            Column::numbers(["", ""]),
            Column::words(["", "from"]),
            Column::words(["", "to"]),
            Column::numbers(["", "mm"]),
            Column::words(["", ""]),
        ]);
        for wire in own {
            number += 1;
            let [one, other] = wire.ends.map(|end| parts.name_of(end));
            let mm = if wire.mm == 0 { String::new() } else { wire.mm.to_string() };
            let long = if wire.may_be_shielded() { "better shielded" } else { "" };
            table.row(vec![number.to_string(), one, other, mm, long.to_owned()]);
        }
        indented(&mut text, &table);
    }
    if plan.wires.iter().any(PlannedWire::may_be_shielded) {
        paragraph(&mut text, "A shielded wire has its shield on ground at one end only.");
    }
    text.trim_end().to_owned()
}

/// The most ways to mend a wiring that are listed.
const MOST_WAYS: usize = 6;

/// Returns what was found of a wiring, and what mends it.
pub(super) fn check(harness: &Harness, checked: &Checked, mends: &Mends) -> String {
    let mut text = String::new();
    let guitar = harness.parts().guitar().name();
    paragraph(&mut text, &format!("{guitar}: {}", checked.verdict_words()));
    for (place, fault) in checked.faults.iter().enumerate() {
        wrap(&mut text, &fault.words, &format!("{:>3}. ", place + 1), "     ");
    }
    if !checked.is_as_wanted() {
        section(&mut text, "What mends it");
        told_mends(&mut text, harness, mends);
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

fn told_mends(text: &mut String, harness: &Harness, mends: &Mends) {
    let tried = mends.tried;
    match mends.ways.first().map(Vec::len) {
        None => paragraph(
            text,
            &format!("No single change mends it; all {tried} were tried, and then pairs of them."),
        ),
        Some(1) if mends.ways.len() == 1 => {}
        Some(1) => paragraph(text, "Any one of these:"),
        Some(_) => {
            paragraph(text, &format!("No single change mends it; all {tried} were tried. Two together do:"));
        }
    }
    for way in mends.ways.iter().take(MOST_WAYS) {
        let words: Vec<String> = way.iter().map(|change| change.words(harness.parts())).collect();
        item(text, &words.join("; then "));
    }
    if mends.ways.len() > MOST_WAYS {
        item(text, &format!("and {} more ways that touch as few joints", mends.ways.len() - MOST_WAYS));
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
