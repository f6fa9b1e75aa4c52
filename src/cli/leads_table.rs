//! What the readings come to, as a table of at most 80 columns.

use drywire::leads::{CAUTIONS, Readings, Report, Verdict};
use drywire::report::{Column, TextTable};

use super::wrap;

/// Returns the report for reading.
pub(super) fn table(report: &Report, readings: &Readings) -> String {
    let mut blocks = vec![wrapped(&report.verdict_words(), "")];
    if report.verdict != Verdict::Contradictory {
        let mut table = TextTable::new(["lead", "coil", "end"].map(|title| Column::words(["", title])));
        report.by_lead(readings).into_iter().for_each(|row| table.row(row));
        blocks.push(in_columns(&table));
        let titles = ["coil", "ohms", "top pole", "wound from - to +"];
        let mut table = TextTable::new(titles.map(|title| Column::words(["", title])));
        report.by_coil().into_iter().for_each(|row| table.row(row));
        if !table.rows().is_empty() {
            blocks.push(in_columns(&table));
        }
    }
    blocks.extend(report.strings_and_hum().map(|words| wrapped(&words, "")));
    blocks.extend(report.next.as_ref().map(|next| list("Next", [next.words.as_str()])));
    blocks.extend(report.lists().iter().map(|(title, items)| list(title, items)));
    blocks.push(list("Cautions", CAUTIONS));
    blocks.join("\n\n")
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
