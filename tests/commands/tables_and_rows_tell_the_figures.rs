//! Tables and comma-separated rows tell the figures that the JSON has, each under its heading, against whichever baseline.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use crate::common::program::{Set, repository};
use drywire::report::{SetFigures, TextTable};
use serde_json::Value;

fn heard() -> (tempfile::TempDir, Set, SetFigures) {
    let folder = tempfile::tempdir().unwrap();
    let source = repository("tests/data/harmonics_mono.wav");
    let asked = [source.as_str(), "--arrangements", "series,parallel,split-a", "--baseline", "parallel"];
    let set = Set::heard(folder.path(), &asked);
    let text = std::fs::read(set.folder.join("figures.json")).unwrap();
    let figures = SetFigures::from_json(&text).unwrap();
    (folder, set, figures)
}

#[test]
fn each_column_of_the_rows_is_the_field_of_its_name() {
    let (_folder, set, _) = heard();
    let rows = std::fs::read_to_string(set.folder.join("figures.csv")).unwrap();
    let heading: Vec<&str> = rows.lines().next().unwrap().split(',').collect();
    let mut numbers = 0;
    for (row, own) in rows.lines().skip(1).zip(set.arrangements()) {
        for (name, cell) in heading.iter().zip(row.split(',')) {
            let nested = ["matched", "as_is"].into_iter().find_map(|file| {
                let field = name.strip_prefix(file)?.strip_prefix('_')?;
                Some(&own[file][field])
            });
            let told = nested.unwrap_or(&own[*name]);
            assert!(!told.is_null() || own.get(*name).is_some(), "{name} is no field");
            match told {
                Value::Null => assert_eq!(cell, "", "{name}"),
                Value::String(text) => assert_eq!(cell, text, "{name}"),
                Value::Bool(is_so) => assert_eq!(cell, is_so.to_string(), "{name}"),
                other => {
                    numbers += 1;
                    assert_eq!(cell.parse::<f64>().ok(), other.as_f64(), "{name}");
                }
            }
        }
    }
    assert!(numbers > 50, "{numbers}");
}

/// The cells under a heading, as numbers.
fn column(table: &TextTable, title: &str) -> Vec<f64> {
    let place = table.columns().iter().position(|c| c.title() == title).unwrap();
    table
        .rows()
        .iter()
        .map(|row| row[place].trim_start_matches("≈ ").replace('−', "-").parse().unwrap())
        .collect()
}

#[test]
fn each_column_of_the_tables_is_the_figure_of_its_heading() {
    let (_folder, set, figures) = heard();
    let of = |path: &[&str]| -> Vec<f64> {
        let one = |a: &Value| path.iter().fold(a, |at, key| &at[*key]).as_f64().unwrap();
        set.arrangements().iter().map(one).collect()
    };
    let (matched, as_is) = (of(&["matched", "gain_db"]), of(&["as_is", "gain_db"]));
    let to_match: Vec<f64> = matched.iter().zip(&as_is).map(|(m, o)| m - o).collect();
    // The second is the baseline.
    let low = of(&["gain_low_db"]);
    let against: Vec<f64> = low.iter().map(|own| own - low[1]).collect();
    let tables =
        [figures.response_table(), figures.level_table(), figures.heard_table(), figures.sound_table()];
    for (table, title, wanted) in [
        (0, "100 Hz dB", against),
        (1, "change RMS dB", of(&["drop_rms_db"])),
        (1, "change LU", of(&["drop_loudness_lu"])),
        (1, "noise dBV", of(&["noise_dbv"])),
        (1, "noise dBV (A)", of(&["noise_dbv_a"])),
        (2, "noise dBV (A)", of(&["noise_dbv_a"])),
        (2, "loudness sone", of(&["loudness_sone"])),
        (3, "change RMS dB", of(&["drop_rms_db"])),
        (3, "as is LUFS", of(&["as_is", "loudness_lufs"])),
        (3, "peak dBTP", of(&["as_is", "true_peak_dbtp"])),
        (3, "gain to match dB", to_match),
        (3, "matched LUFS", of(&["matched", "loudness_lufs"])),
    ] {
        for (cell, wanted) in column(&tables[table], title).into_iter().zip(&wanted) {
            assert!((cell - wanted).abs() <= 0.0501, "{title}: {cell} for {wanted}");
        }
    }
    let drops = of(&["drop_rms_db"]);
    assert!(drops[0] > 4.0 && drops[1] == 0.0, "{drops:?}");
}
