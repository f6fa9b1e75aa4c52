//! The drops that `figures` tells without rendering are those that `hear` measures on its files, with the source that is
//! heard where none is named: within 0.1 dB and 0.1 LU, for any places of the coils.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use crate::common::program::{Set, succeeds};

const TOLERANCE: f64 = 0.1;

fn assert_foretold(options: &[&str]) {
    let folder = tempfile::tempdir().unwrap();
    let output = succeeds(folder.path(), &[&["figures", "--json"], options].concat());
    let told: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let set = Set::heard(folder.path(), &[&["--no-page"], options].concat());
    let told = told["arrangements"].as_array().unwrap();
    assert_eq!(told.len(), set.arrangements().len());
    for (told, heard) in told.iter().zip(set.arrangements()) {
        for field in ["drop_rms_db", "drop_loudness_lu"] {
            let (told, measured) = (told[field].as_f64().unwrap(), heard[field].as_f64().unwrap());
            let off = (told - measured).abs();
            assert!(off <= TOLERANCE, "{options:?}, {} {field}: {told} for {measured}", heard["name"]);
        }
    }
}

#[test]
fn drops_are_foretold_for_the_built_in_guitar_and_every_arrangement() {
    assert_foretold(&["--arrangements", "all"]);
}

#[test]
fn drops_are_foretold_for_coils_at_other_places() {
    assert_foretold(&["--pickup", "narrow-blade"]);
    assert_foretold(&["--guitar", "set-neck", "--pickup", "neck"]);
}
