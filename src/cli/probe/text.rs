//! The answer for reading, on a terminal of 80 columns.

use drywire::cautions;
use drywire::guitar::{Guitar, Pickup};
use drywire::harness::{MeterReport, Unseen};
use drywire::probe::{Explanation, ProbeReport, ProbeVerdict, Test};
use drywire::quantity::Ohms;
use drywire::report::{Column, TextTable};

use crate::cli::wrap::{indented, item, paragraph, section, wrap};

/// What is told where there is no throw whose reading could be compared.
const NO_SWITCH: &str = "No switch is soldered in here, so each arrangement is told as if it were soldered for good. \
                         To have readings compared, add a table headed [[switch]] to the guitar's file (`drywire lugs` \
                         finds its joints) and give them by --read, throw by throw.";

/// Returns the report for reading, of the positions in which the pickup `only` is heard where one is named. What is not
/// `is_readable` has arrangements for rows, and nothing of them can have been read.
pub(super) fn report(report: &ProbeReport, is_readable: bool, only: Option<&Pickup>) -> String {
    let mut text = String::new();
    let heard = only.map(|pickup| format!(" where {} is heard", pickup.name())).unwrap_or_default();
    paragraph(&mut text, &format!("{}: what the meter reads at the jack{heard}", report.guitar));
    section(&mut text, "Before the meter touches");
    for caution in
        [cautions::UNPLUG, cautions::PASSIVE, cautions::AMPLIFIER, cautions::GROUND, cautions::LOCAL]
    {
        item(&mut text, caution);
    }
    let knobs = report.knobs.as_ref().map(|knobs| format!(", {knobs}")).unwrap_or_default();
    section(&mut text, &format!("Tip to sleeve, nothing plugged in{knobs}"));
    throws(&mut text, report, is_readable);
    if only.is_none() && report.ways > report.throws.len() as u64 {
        let all = report.ways;
        item(
            &mut text,
            &format!(
                "{all} positions in all: those listed are one lever off from where the guitar stands; any other can be read by its name"
            ),
        );
    }
    text.push('\n');
    paragraph(
        &mut text,
        &if is_readable {
            report.verdict_in_words().map_or_else(|| give(report), str::to_owned)
        } else {
            NO_SWITCH.to_owned()
        },
    );
    faults(&mut text, report);
    section(&mut text, report.unseen_heading());
    let is_at_that = report.verdict == ProbeVerdict::AsExpected;
    for Test { what, settle_by } in &report.unseen_by_dc {
        item(&mut text, &if is_at_that { format!("{what}. Test: {settle_by}") } else { what.clone() });
    }
    if !is_at_that {
        paragraph(&mut text, "A test for each is told once every reading is as expected.");
    }
    section(&mut text, "What this rests on");
    for line in &report.rests_on {
        item(&mut text, line);
    }
    text.trim_end().to_owned()
}

/// Returns what was read with a knob turned, and of continuity.
pub(super) fn cavity(report: &MeterReport) -> String {
    let mut text = String::new();
    section(&mut text, "With knobs turned, and metal against the sleeve");
    let mut table = TextTable::new(vec![
        Column::words(["", "place"]),
        Column::numbers(["must", "read"]),
        Column::numbers(["at", "least"]),
        Column::numbers(["at", "most"]),
        Column::numbers(["was", "read"]),
        Column::words(["", ""]),
    ]);
    for reading in &report.readings {
        let ohms =
            |ohms: Option<f64>| ohms.map_or_else(|| "open".to_owned(), |own| Ohms::new(own).to_string());
        let fits = if reading.fits { "as expected" } else { "NOT as expected" };
        table.row(vec![
            reading.place.clone(),
            ohms(reading.expected_ohm),
            ohms(reading.low_ohm),
            ohms(reading.high_ohm),
            reading.read.clone(),
            fits.to_owned(),
        ]);
    }
    indented(&mut text, &table);
    let is_right = report.readings.iter().all(|reading| reading.fits);
    if !is_right && report.explained_by.is_empty() {
        paragraph(&mut text, "No single mistake in the cavity gives all of these readings.");
    }
    if !report.explained_by.is_empty() {
        paragraph(&mut text, "Any one of these mistakes gives all of these readings:");
        report.explained_by.iter().for_each(|mistake| item(&mut text, mistake));
    }
    text.trim().to_owned()
}

/// Returns what was read of the metal of a guitar with a buffer.
pub(super) fn metal(guitar: &Guitar, report: &MeterReport) -> String {
    let mut text = String::new();
    let what = "metal against the sleeve; through the buffer nothing of the coils is read";
    paragraph(&mut text, &format!("{}: {what}", guitar.name()));
    section(&mut text, "Before the meter touches");
    for caution in cautions::BENCH {
        item(&mut text, caution);
    }
    text + "\n" + &cavity(report)
}

/// Returns what no reading at the jack shows of a cavity, each with its test.
pub(super) fn unseen(unseen: &[Unseen]) -> String {
    let mut text = String::new();
    section(&mut text, "In the cavity no reading at the jack shows");
    for Unseen { settle_by, mistakes } in unseen {
        item(&mut text, &format!("{}. Test: {settle_by}", mistakes.join("; ")));
    }
    text.trim().to_owned()
}

/// Asks for readings, by an example.
fn give(report: &ProbeReport) -> String {
    let example = report.throws.first().map_or("mode:1", |row| &row.throw);
    let quote = if example.contains(' ') { "\"" } else { "" };
    format!(
        "Give what you read by --read, such as --read {quote}{example}=7.9k{quote}; write open where the meter shows OL."
    )
}

fn throws(text: &mut String, report: &ProbeReport, is_readable: bool) {
    let throws = report.throws.as_slice();
    let as_set = throws.iter().any(|throw| throw.as_set_ohm.is_some());
    let several = throws.iter().any(|throw| throw.stands.len() > 1);
    let mut columns = vec![
        Column::words([
            "",
            if !is_readable {
                "arrangement"
            } else if several {
                "position"
            } else {
                "throw"
            },
        ]),
        Column::numbers(["must", "read"]),
        Column::numbers(["at", "least"]),
        Column::numbers(["at", "most"]),
    ];
    if as_set {
        columns.push(Column::numbers(["volume", "as set"]));
    }
    if is_readable {
        columns.extend([Column::numbers(["was", "read"]), Column::words(["", ""])]);
    }
    let mut table = TextTable::new(columns);
    for throw in throws {
        let ohms =
            |ohms: Option<f64>| ohms.map_or_else(|| "open".to_owned(), |own| Ohms::new(own).to_string());
        let limit = |ohms: Option<f64>| ohms.map_or_else(|| "–".to_owned(), |own| Ohms::new(own).to_string());
        let mut cells =
            vec![throw.throw.clone(), ohms(throw.expected_ohm), limit(throw.low_ohm), limit(throw.high_ohm)];
        if as_set {
            cells.push(ohms(throw.as_set_ohm));
        }
        if is_readable {
            let fits = match throw.fits {
                Some(true) => "as expected",
                Some(false) => "NOT as expected",
                None => "",
            };
            cells.extend([throw.read.clone().unwrap_or_else(|| "–".to_owned()), fits.to_owned()]);
        }
        table.row(cells);
    }
    indented(text, &table);
    for throw in throws {
        if let Some(position) = &throw.position {
            item(text, &format!("{}, {position}: {}", throw.throw, throw.arrangement));
        } else if is_readable {
            item(text, &format!("{}: {}", throw.throw, throw.arrangement));
        }
    }
}

fn faults(text: &mut String, report: &ProbeReport) {
    for (i, fault) in report.faults.iter().enumerate() {
        let Explanation { what, explains, would_read_ohm, indistinguishable_from, settle_by, .. } = fault;
        section(text, "");
        text.pop();
        wrap(text, what, &format!("{:>3}. ", i + 1), "     ");
        let reads = report.throws.iter().zip(would_read_ohm).map(|(throw, ohms)| {
            let ohms = ohms.map_or_else(|| "open".to_owned(), |own| Ohms::new(own).to_string());
            format!("{} {ohms}", throw.throw)
        });
        let mut line = format!("reads {}", reads.collect::<Vec<_>>().join(", "));
        if report.verdict == ProbeVerdict::Unexplained {
            line.push_str(&format!("; explains only {}", explains.join(", ")));
        }
        wrap(text, &line, "     ", "     ");
        if !indistinguishable_from.is_empty() {
            let places: Vec<String> = report
                .faults
                .iter()
                .enumerate()
                .filter(|(_, other)| indistinguishable_from.contains(&other.what))
                .map(|(place, _)| (place + 1).to_string())
                .collect();
            wrap(
                text,
                &format!("the same to a meter at the jack as {}", places.join(", ")),
                "     ",
                "     ",
            );
        }
        wrap(text, &format!("Test: {settle_by}"), "     ", "     ");
    }
}
