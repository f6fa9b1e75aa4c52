//! What the readings come to, as a table of at most 80 columns.

use drywire::leads::{CAUTIONS, CoilReport, Readings, Report, Told, Verdict};
use drywire::quantity::{Ohms, counted};
use drywire::report::{Column, TextTable};

use super::wrap;

/// Returns the report for reading.
pub(super) fn table(report: &Report, readings: &Readings) -> String {
    let mut blocks = vec![verdict(report)];
    if report.verdict != Verdict::Contradictory {
        blocks.push(lead_by_lead(report, readings));
        blocks.extend(coil_by_coil(report));
    }
    blocks.extend(strings_and_hum(report));
    blocks.extend(report.next.as_ref().map(|next| list("Next", [next.words.as_str()])));
    for (i, clash) in report.conflicts.iter().enumerate() {
        let title = format!("Clash {} of {}: these cannot all be true", i + 1, report.conflicts.len());
        blocks.push(list(&title, clash.iter().map(placed)));
    }
    for (title, told) in [
        ("Take again first: without any one of these the others agree", &report.suspects),
        ("Unconfirmed: no other reading bears this out", &report.unconfirmed),
    ] {
        blocks.push(list(title, told.iter().map(placed)));
    }
    blocks.push(list("Health", &report.health));
    blocks.push(list("Remarks", &report.remarks));
    blocks.push(list("Not told by these readings", &report.not_told));
    blocks.push(list("Cautions", CAUTIONS));
    blocks.retain(|block| !block.is_empty());
    blocks.join("\n\n")
}

fn verdict(report: &Report) -> String {
    wrapped(
        &match report.verdict {
            Verdict::Certain => "Certain: every lead has its coil and sign.".to_owned(),
            Verdict::Ambiguous => format!(
                "Ambiguous: {} to assign the leads {} with these readings.",
                counted(report.assignments_left, "way"),
                if report.assignments_left == 1 { "agrees" } else { "agree" }
            ),
            Verdict::Contradictory => {
                "Contradictory: no pickup, sound or with a fault or two, gives all of these readings."
                    .to_owned()
            }
        },
        "",
    )
}

fn lead_by_lead(report: &Report, readings: &Readings) -> String {
    let mut table = TextTable::new(["lead", "coil", "end"].map(|title| Column::words(["", title])));
    for lead in readings.leads().iter().chain(readings.shield()) {
        let lead = lead.as_str();
        let coils: Vec<&CoilReport> =
            report.coils.iter().filter(|coil| ends(coil).any(|end| end == lead)).collect();
        let is_shield = readings.shield().is_some_and(|s| s.as_str() == lead);
        let (coil, end) = if coils.is_empty() {
            let coil = if is_shield { "shield" } else { "?" };
            (coil.to_owned(), if is_shield { "" } else { "?" }.to_owned())
        } else {
            let called: Vec<String> = coils.iter().map(|coil| called(coil, Some(lead))).collect();
            let signs: Vec<&str> = coils.iter().map(|coil| sign(coil, lead)).collect();
            (called.join(" / "), signs.join(" / "))
        };
        table.row([lead.to_owned(), coil, end]);
    }
    in_columns(&table)
}

/// Returns a row for each coil of which more than a name is known, `None` where there is none.
fn coil_by_coil(report: &Report) -> Option<String> {
    let titles = ["coil", "ohms", "top pole", "wound from - to +"];
    let mut table = TextTable::new(titles.map(|title| Column::words(["", title])));
    for coil in &report.coils {
        let told = |text: Option<&str>| text.unwrap_or("?").to_owned();
        let ohms = coil.ohms.map(|ohms| Ohms::new(ohms).to_string());
        let row = [called(coil, None), told(ohms.as_deref()), told(coil.top_pole), told(coil.sense)];
        if row[1..].iter().any(|cell| cell != "?") {
            table.row(row);
        }
    }
    (!table.rows().is_empty()).then(|| in_columns(&table))
}

fn strings_and_hum(report: &Report) -> Option<String> {
    if report.verdict != Verdict::Certain || report.coils.len() < 2 {
        return None;
    }
    let hum = match report.hum_cancels_in_phase {
        Some(true) => "hum then cancels, down to about −30 dB, for the top poles are opposite.",
        Some(false) => "hum then adds up, for the top poles are alike: two coils in phase will hum.",
        None => "whether hum then cancels is not known without both top poles.",
    };
    Some(wrapped(&format!("Used with the + ends alike, the coils are in phase for the strings; {hum}"), ""))
}

fn ends(coil: &CoilReport) -> impl Iterator<Item = &str> {
    coil.plus.iter().chain(&coil.minus).chain(&coil.leads).map(String::as_str)
}

/// Returns what a coil is called, by its leads (other than `but`) where it has no name.
fn called(coil: &CoilReport, but: Option<&str>) -> String {
    if let Some(name) = &coil.name {
        return name.clone();
    }
    let leads: Vec<&str> = coil.leads.iter().map(String::as_str).filter(|l| Some(*l) != but).collect();
    match (leads.is_empty(), but) {
        (true, _) => "?".to_owned(),
        (false, Some(_)) => format!("with {}", leads.join(", ")),
        (false, None) => leads.join(", "),
    }
}

fn sign(coil: &CoilReport, lead: &str) -> &'static str {
    if coil.plus.as_deref() == Some(lead) {
        "+"
    } else if coil.minus.as_deref() == Some(lead) {
        "-"
    } else if coil.plus.is_some() && coil.minus.is_some() {
        "tap"
    } else {
        "?"
    }
}

fn placed(told: &Told) -> String {
    match told.line {
        Some(line) => format!("line {line}: {}", told.words),
        None => told.words.clone(),
    }
}

/// Returns a table as wide as the terminal at most, without the empty line that a heading of one line leaves above it.
fn in_columns(table: &TextTable) -> String {
    table.within(wrap::table_width()).trim_start_matches('\n').to_owned()
}

/// Returns a titled list, nothing where it has no items.
fn list<T: AsRef<str>>(title: &str, items: impl IntoIterator<Item = T>) -> String {
    let lines: Vec<String> = items.into_iter().map(|item| wrapped(item.as_ref(), "  ")).collect();
    if lines.is_empty() { String::new() } else { format!("{}\n{}", wrapped(title, ""), lines.join("\n")) }
}

/// Returns `text` broken into lines, the later ones two further in than `indent`.
pub(super) fn wrapped(text: &str, indent: &str) -> String {
    wrap::wrapped(text, indent, &format!("{indent}  "))
}
