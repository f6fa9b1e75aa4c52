//! Two pickups together hum and sound as their windings and poles say: traversed from ground to hot, equal windings add
//! their hum and opposite ones cancel it; the strings are in phase where windings and poles are both equal or both
//! opposite.
//!
//! Source: hum ∝ w, string ∝ w·p, each coil traversed as it stands in the finished circuit.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use crate::common::program::succeeds;
use serde_json::Value;

/// Figures of the positions `asked` of the guitar in `file`.
fn figures(file: &str, asked: &str) -> Vec<Value> {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("guitar.toml"), file).unwrap();
    let output =
        succeeds(folder.path(), &["figures", "--json", "--guitar", "guitar.toml", "--arrangements", asked]);
    let figures: Value = serde_json::from_slice(&output.stdout).unwrap();
    figures["arrangements"].as_array().unwrap().clone()
}

/// Whether nothing but what the leads' capacitance makes unlike is left of hum.
fn is_cancelled(told: &Value) -> bool {
    told["hum_db"].as_f64().is_none_or(|hum| hum < -60.0)
}

fn pickup(name: &str, winding: &str, pole: &str) -> String {
    format!(
        "[[pickup]]\nname = \"{name}\"\nlike = \"single-coil\"\nfrom_bridge = \"60 mm\"\n\
         [pickup.coil_a]\nwinding = \"{winding}\"\ntop_pole = \"{pole}\"\n"
    )
}

#[test]
fn two_pickups_hum_and_sound_as_the_signs_of_their_windings_and_poles_say() {
    let joints = [
        ("parallel", false, "[[\"one\", \"two\", \"out\"]]"),
        ("parallel", true, "[[\"one\", \"two.ground\", \"out\"], [\"two\", \"ground\"]]"),
        ("series", false, "[[\"one\", \"out\"], [\"one.ground\", \"two\"]]"),
        ("series", true, "[[\"one\", \"out\"], [\"one.ground\", \"two.ground\"], [\"two\", \"ground\"]]"),
    ];
    let mut seen = std::collections::BTreeSet::new();
    for (winding, opposite_leads) in [("clockwise", false), ("counter-clockwise", true)] {
        for (pole, opposite_poles) in [("north", false), ("south", true)] {
            for (joined, reversed, joints) in joints {
                let file = format!(
                    "format = 1\njoints = {joints}\n{}{}",
                    pickup("one", "clockwise", "north"),
                    pickup("two", winding, pole)
                );
                let told = &figures(&file, "one=alone")[0];
                // The + end is the finish where winding and pole agree, and it leads to hot unless reversed.
                let start_to_hot = (opposite_leads != opposite_poles) != reversed;
                let opposite_windings = opposite_leads != start_to_hot;
                let (in_phase, cancels) = match (opposite_windings, opposite_poles) {
                    (false, false) => (true, false),
                    (false, true) => (false, false),
                    (true, false) => (false, true),
                    (true, true) => (true, true),
                };
                let place = format!("{joined}, {winding}, {pole}, reversed {reversed}: {told:#}");
                assert_eq!(told["in_phase"], in_phase, "{place}");
                assert_eq!(is_cancelled(told), cancels, "{place}");
                if !cancels {
                    let hum = told["hum_db"].as_f64().unwrap();
                    let expected = if joined == "series" { 6.0 } else { 0.0 };
                    assert!((hum - expected).abs() < 0.5, "{place}");
                }
                seen.insert((joined, in_phase, cancels));
            }
        }
    }
    assert_eq!(seen.len(), 8, "every kind was met: {seen:?}");
}

/// Common practice, no source: the middle pickup of three is wound and poled the other way round, so that positions
/// two and four are quiet.
#[test]
fn a_middle_pickup_turned_against_hum_cancels_it_with_a_neighbour_and_not_alone() {
    let folder = tempfile::tempdir().unwrap();
    let output = succeeds(
        folder.path(),
        &["figures", "--json", "--guitar", "bolt-on-three-single", "--arrangements", "positions"],
    );
    let figures: Value = serde_json::from_slice(&output.stdout).unwrap();
    let arrangements = figures["arrangements"].as_array().unwrap();
    assert_eq!(figures["pickup"], "whole guitar");
    let cancels: Vec<bool> = arrangements.iter().map(is_cancelled).collect();
    assert_eq!(cancels, [false, true, false, true, false]);
    assert!(arrangements.iter().all(|a| a["in_phase"] == true));
    for alone in [0, 2, 4] {
        assert!(arrangements[alone]["hum_db"].as_f64().unwrap().abs() < 0.5, "{}", arrangements[alone]);
    }
}
