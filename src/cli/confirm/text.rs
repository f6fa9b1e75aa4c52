//! What `confirm` prints for reading.

use drywire::cautions;
use drywire::confirm::{Confirmation, DifferenceAnswer, TakeAnswer};
use drywire::quantity::{counted, signed};
use drywire::report::{Column, TextTable};

use crate::cli::figures::remarks;
use crate::cli::wrap::wrapped;

/// Returns what each throw is told to be; what several takes of one have in common is said once.
pub(super) fn verdicts(confirmation: &Confirmation) -> String {
    let mut lines: Vec<String> = Vec::new();
    for take in confirmation.distinct() {
        let same = confirmation.takes.iter().filter(|other| take.is_told_as(other));
        let (files, strums) = same.fold((Vec::new(), 0), |(mut files, strums), take: &TakeAnswer| {
            if !files.contains(&take.file.as_str()) {
                files.push(&take.file);
            }
            (files, strums + take.strums)
        });
        let head = format!("{} ({}, {})", take.name, files.join(", "), counted(strums, "strum"));
        // The first is what the others are told against.
        let is_told = confirmation.takes.first().is_some_and(|first| first.name != take.name);
        lines.push(wrapped(&if is_told { format!("{head}: {}", take.verdict) } else { head }, "", "  "));
        lines.extend(take.words.split("; ").map(|part| wrapped(part, "  ", "  ")));
    }
    lines.join("\n")
}

/// Returns a difference's level.
pub(super) fn level(difference: &DifferenceAnswer) -> String {
    let [first, later] = &difference.between;
    format!("\n{later} against {first}: {}\n", difference.level_words())
}

/// Returns a difference's third octaves.
pub(super) fn bands(difference: &DifferenceAnswer) -> TextTable {
    let mut table = TextTable::new([
        Column::numbers(["band", "Hz"]),
        Column::numbers(["measured", "dB"]),
        Column::words(["sd", "dB"]),
        Column::numbers(["foretold", "dB"]),
        Column::words(["sd", "dB"]),
    ]);
    for band in &difference.bands {
        table.row([
            format!("{:.0}", band.hz),
            signed(band.measured_db, 1),
            format!("± {:.1}", band.sd_db),
            signed(band.foretold_db, 1),
            format!("± {:.1}", band.foretold_sd_db),
        ]);
    }
    table
}

/// Returns what is to be said besides.
pub(super) fn notes(confirmation: &Confirmation) -> String {
    remarks([&[], &[], &confirmation.notes], [cautions::UNPLUG.to_owned()])
}
