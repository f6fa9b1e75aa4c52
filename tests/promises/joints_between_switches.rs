//! Joints lead from one switch to another: a phase switch before a toggle is the same circuit wherever its joints are
//! written, and is heard, surveyed and measured like any other.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use std::path::Path;

use crate::common::program::{Set, drywire, succeeds, write_wav};
use drywire::document::Document;
use drywire::guitar::Guitar;
use drywire::response::{Scope, Voice};
use drywire::words;
use serde_json::Value;

const RATE: u32 = 48_000;
const PICKUPS: &str = "[[pickup]]\nname = \"bridge\"\nlike = \"single-coil\"\n\
    [[pickup]]\nname = \"neck\"\nlike = \"mini\"\nfrom_bridge = \"150 mm\"\n";

fn toggle(joints: &str) -> String {
    format!(
        "[[selector]]\nname = \"selector\"\ntable = \"three-way-toggle\"\njoints = [[\"bridge\", \"1\"], {joints}]\n"
    )
}

/// A phase switch between the neck pickup's conductors and the toggle.
fn phase(more: &str) -> String {
    format!(
        "[[selector]]\nname = \"phase\"\ntable = \"on-on\"\njoints = [[\"neck\", \"L1\", \"R3\"], \
         [\"neck.ground\", \"L3\", \"R1\"], [\"ground\", \"R2\"]{more}]\n"
    )
}

/// The same on the neck pickup's leads.
fn on_the_neck(joints: &str) -> String {
    format!(
        "[[switch]]\nname = \"phase\"\non = \"neck\"\ntable = \"on-on\"\njoints = [[\"a-\", \"b+\"], \
         [\"a+\", \"L1\", \"R3\"], [\"b-\", \"L3\", \"R1\"], [\"ground\", \"R2\"]{joints}]\n"
    )
}

/// The one guitar in seven writings: the joint that leads from the phase switch to the toggle stands at either, at the top,
/// or among what meets at a lead.
fn writings() -> Vec<String> {
    let (plain, to_phase) =
        (toggle("[\"out\", \"0\"]"), toggle("[\"phase.L2\", \"2\"], [\"selector.0\", \"out\"]"));
    let top = "joints = [[\"phase.L2\", \"selector.2\"]]\n";
    let bodies = [
        (String::new(), to_phase.clone() + &phase("")),
        (String::new(), plain.clone() + &phase(", [\"selector.2\", \"L2\"]")),
        (String::new(), phase(", [\"selector.2\", \"phase.L2\"]") + &plain),
        (top.to_owned(), plain.clone() + &phase("")),
        (String::new(), to_phase + &on_the_neck("")),
        (String::new(), plain.clone() + &on_the_neck(", [\"selector.2\", \"L2\"]")),
        (top.to_owned(), plain + &on_the_neck("")),
    ];
    bodies.map(|(top, body)| format!("format = 1\n{top}{PICKUPS}{body}")).to_vec()
}

fn written(folder: &Path, text: &str) {
    std::fs::write(folder.join("mine.toml"), text).unwrap();
}

fn figures(folder: &Path, positions: &str) -> Value {
    let asked = ["figures", "--json", "--guitar", "mine.toml", "--arrangements", positions];
    let output = succeeds(folder, &asked);
    serde_json::from_slice::<Value>(&output.stdout).unwrap()["arrangements"].clone()
}

fn responses(folder: &Path, position: &str) -> Vec<f64> {
    let asked = ["response", "--guitar", "mine.toml", "--points", "13", "--arrangement", position];
    let output = succeeds(folder, &asked);
    let rows = csv::Reader::from_reader(output.stdout.as_slice()).into_records();
    rows.flat_map(|row| row.unwrap().iter().skip(2).take(2).map(|x| x.parse().unwrap()).collect::<Vec<f64>>())
        .collect()
}

#[test]
fn the_same_joint_is_the_same_circuit_wherever_it_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let positions = ["selector:1+phase:1", "selector:2+phase:1", "selector:2+phase:3", "selector:3+phase:3"];
    let mut first: Option<Vec<Vec<f64>>> = None;
    for text in writings() {
        written(folder.path(), &text);
        let told: Vec<Vec<f64>> =
            positions.iter().map(|position| responses(folder.path(), position)).collect();
        let first = first.get_or_insert_with(|| told.clone());
        for ((told, first), position) in told.iter().zip(first.iter()).zip(positions) {
            assert_eq!(told.len(), 13 * 4 * 2, "{text}");
            let off = told.iter().zip(first).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            assert!(off < 1e-9, "{position}: {off}\n{text}");
        }
    }
    // In its first throw it is the guitar without the switch.
    written(
        folder.path(),
        &format!("format = 1\n{PICKUPS}{}", toggle("[\"neck\", \"2\"], [\"out\", \"0\"]")),
    );
    let plain = responses(folder.path(), "selector:2");
    let off = plain.iter().zip(&first.unwrap()[1]).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
    assert!(off < 1e-9, "{off}");
}

#[test]
fn its_throws_are_positions_of_the_whole_guitar() {
    let folder = tempfile::tempdir().unwrap();
    for text in writings() {
        written(folder.path(), &text.replace("name = \"selector\"\n", "name = \"selector\"\nstands = 2\n"));
        let told = figures(folder.path(), "phase:1,phase:3,selector:3+phase:3,selector:1");
        let in_phase: Vec<bool> =
            told.as_array().unwrap().iter().map(|a| a["in_phase"].as_bool().unwrap()).collect();
        assert_eq!(in_phase, [true, false, true, true], "{text}");
        let ohms = |i: usize| told[i]["dc_at_jack_ohm"].as_f64().unwrap();
        assert!((ohms(0) - ohms(1)).abs() < 1e-6 && ohms(2) > ohms(0), "a meter sees no phase: {text}");
    }
    let on_leads = writings().pop().unwrap();
    written(folder.path(), &on_leads.replace("name = \"selector\"\n", "name = \"selector\"\nstands = 2\n"));
    let told = figures(folder.path(), "throws");
    let names: Vec<&str> = told.as_array().unwrap().iter().map(|a| a["name"].as_str().unwrap()).collect();
    assert_eq!(names, ["phase:1", "phase:3"]);
    assert_eq!(told[1]["in_phase"], false);
    // An arrangement of the neck would leave the switch out, and by itself the neck has its arrangements still.
    let asked = ["figures", "--guitar", "mine.toml", "--arrangements", "neck=parallel"];
    let refused = drywire(folder.path(), &asked);
    let said = String::from_utf8(refused.stderr).unwrap();
    assert_eq!(refused.status.code(), Some(2));
    assert!(said.contains("leaves out a switch that is joined with others"), "{said}");
    assert!(said.contains("as in phase:1"), "{said}");
    succeeds(
        folder.path(),
        &["figures", "--guitar", "mine.toml", "--pickup", "neck", "--arrangements", "parallel"],
    );
}

#[test]
fn its_positions_are_called_by_what_they_do() {
    for (text, turned) in [(0, "neck"), (4, "neck (series with both coils turned round, coil B nearer hot)")]
    {
        let guitar = Guitar::read(&Document::new("mine.toml", writings()[text].clone())).unwrap();
        let called = |position: &str| {
            let voice = Voice::at_position(&guitar, position).unwrap();
            words::voice(&voice.response(&guitar, Scope::Guitar).unwrap(), &guitar, Scope::Guitar)
        };
        assert_eq!(called("selector:2+phase:1"), "bridge and neck in parallel");
        assert_eq!(called("selector:2+phase:3"), format!("bridge and {turned} in parallel, out of phase"));
        assert_eq!(called("selector:1+phase:3"), "bridge alone");
    }
}

#[test]
fn its_positions_are_heard() {
    let folder = tempfile::tempdir().unwrap();
    let note = |hertz: f64| -> Vec<f64> {
        let turn = std::f64::consts::TAU * hertz / f64::from(RATE);
        (0..24_000).map(|n| 0.2 * (turn * f64::from(n)).sin()).collect()
    };
    // The bridge's coil hears 150 Hz, the neck's two hear 250 Hz: what cancels, cancels nothing here.
    write_wav(&folder.path().join("coils.wav"), &[note(150.0), note(250.0), note(250.0)], RATE);
    for text in [&writings()[0], &writings()[5]] {
        written(folder.path(), text);
        let asked = [
            "coils.wav",
            "--guitar",
            "mine.toml",
            "--source-channels",
            "coils",
            "--bits",
            "32f",
            "--no-page",
        ];
        let listed = "selector:2+phase:1,selector:2+phase:3,selector:1+phase:3";
        let set = Set::heard(folder.path(), &[&asked[..], &["--arrangements", listed]].concat());
        let part = |name: &str, hertz: f64| {
            let entry = &set.arrangement(name)["as_is"];
            let gain = 10f64.powf(entry["gain_db"].as_f64().unwrap() / 20.0);
            let (planes, _) = set.read(entry["file"].as_str().unwrap());
            let turn = std::f64::consts::TAU * hertz / f64::from(RATE);
            let terms = planes[0].iter().enumerate();
            terms.map(|(n, x)| x / gain * (turn * n as f64).sin()).sum::<f64>() / 12_000.0
        };
        let (bridge, neck) = (part("selector:2+phase:1", 150.0), part("selector:2+phase:1", 250.0));
        assert!(bridge > 0.02 && neck > 0.02, "{bridge} {neck}");
        let (same, turned) = (part("selector:2+phase:3", 150.0), part("selector:2+phase:3", 250.0));
        assert!((same / bridge - 1.0).abs() < 0.05 && (turned / neck + 1.0).abs() < 0.05, "{same} {turned}");
        assert!(part("selector:1+phase:3", 250.0).abs() < 1e-3);
        assert!(set.folder.join("as-is/selector-2_phase-3.wav").is_file());
    }
}

#[test]
fn a_survey_goes_through_its_throws_too() {
    let folder = tempfile::tempdir().unwrap();
    for text in [&writings()[0], &writings()[4]] {
        // A neck pickup of one coil has no arrangements to choose; on leads the switch leaves none.
        let text = if text.contains("[[switch]]") {
            text.clone()
        } else {
            text.replace("\"mini\"", "\"single-coil\"")
        };
        written(folder.path(), &text);
        succeeds(folder.path(), &["survey", "--quiet", "--guitar", "mine.toml", "--out", "survey"]);
        let told = std::fs::read_to_string(folder.path().join("survey/survey.json")).unwrap();
        let told: Value = serde_json::from_str(&told).unwrap();
        assert_eq!(told["combinations"], 6, "three throws by two");
        // The bridge alone is one circuit whichever way the neck stands.
        let circuits = told["circuits"].as_array().unwrap();
        assert_eq!(circuits.len(), 5, "{:?}", circuits.iter().map(|c| &c["name"]).collect::<Vec<_>>());
        let against: Vec<&Value> = circuits.iter().filter(|c| c["in_phase"] == false).collect();
        assert_eq!(against.len(), 1);
        let name = against[0]["name"].as_str().unwrap();
        assert!(name.contains("selector:2") && name.contains("phase:3"), "{name}");
        // What the survey calls a position is one.
        assert_eq!(figures(folder.path(), name)[0]["in_phase"], false);
        std::fs::remove_dir_all(folder.path().join("survey")).unwrap();
    }
}

#[test]
fn its_positions_have_bands() {
    let folder = tempfile::tempdir().unwrap();
    let mut told = Vec::new();
    for text in [&writings()[0], &writings()[4]] {
        written(folder.path(), text);
        let asked =
            ["figures", "--json", "--bands", "--draws", "100", "--guitar", "mine.toml", "--arrangements"];
        let output =
            succeeds(folder.path(), &[&asked[..], &["selector:2+phase:1,selector:2+phase:3"]].concat());
        let figures: Value = serde_json::from_slice(&output.stdout).unwrap();
        let bands: Vec<[f64; 3]> = figures["arrangements"]
            .as_array()
            .unwrap()
            .iter()
            .map(|a| {
                let band = &a["bands"]["resonance_hz"];
                [&band["low"], &a["resonance_hz"], &band["high"]].map(|x| x.as_f64().unwrap())
            })
            .collect();
        assert!(bands.iter().all(|[low, own, high]| low < own && own < high), "{bands:?}");
        told.push(bands);
    }
    // The same parts are drawn, in the same order, for the same circuit.
    for (one, other) in told[0].iter().flatten().zip(told[1].iter().flatten()) {
        assert!((one / other - 1.0).abs() < 1e-9, "{told:?}");
    }
}

#[test]
fn a_meter_reads_the_neck_through_both() {
    let folder = tempfile::tempdir().unwrap();
    for text in [&writings()[0], &writings()[4]] {
        written(folder.path(), text);
        let output = drywire(folder.path(), &["probe", "--json", "--guitar", "mine.toml"]);
        assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
        let told: Value = serde_json::from_slice(&output.stdout).unwrap();
        let throws = told["throws"].as_array().unwrap();
        let expected = |name: &str| {
            let throw = throws
                .iter()
                .find(|throw| throw["throw"] == name)
                .unwrap_or_else(|| panic!("{name}: {told}"));
            throw["expected_ohm"].as_f64().unwrap()
        };
        let neck = figures(folder.path(), "selector:3+phase:1")[0]["dc_at_jack_ohm"].as_f64().unwrap();
        for state in ["selector:3+phase:1", "selector:3+phase:3"] {
            assert!((expected(state) / neck - 1.0).abs() < 1e-6, "{state}");
        }
    }
}

#[test]
fn its_switch_is_not_checked_as_if_it_stood_alone() {
    let folder = tempfile::tempdir().unwrap();
    written(folder.path(), &writings()[4]);
    let output = drywire(folder.path(), &["lugs", "--check", "mine.toml"]);
    let told = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{told}");
    assert!(told.contains("switch `phase` is joined with other switches"), "{told}");
}

#[test]
fn a_lug_that_is_not_there_is_refused_with_those_that_are() {
    let folder = tempfile::tempdir().unwrap();
    let refused = |text: &str| {
        written(folder.path(), text);
        let output = drywire(folder.path(), &["figures", "--guitar", "mine.toml"]);
        assert_eq!(output.status.code(), Some(2), "{text}");
        String::from_utf8(output.stderr).unwrap()
    };
    for (place, (from, to, said)) in [
        (0, ("phase.L2", "phase.L9", "`phase` has phase.L1, phase.L2")),
        (0, ("phase.L2", "phase.l2", "`phase` has phase.L1, phase.L2")),
        (0, ("phase.L2", "phse.L2", "did you mean `phase.L2`?")),
        (1, ("selector.2", "selector.7", "`selector` has selector.1, selector.0, selector.2")),
        (3, ("selector.2", "toggle.2", "nothing called `toggle.2` to join")),
        (5, ("selector.2", "selector.5", "`selector` has selector.1, selector.0, selector.2")),
        (5, ("selector.2", "bridge.2", "nothing called `bridge.2` to join")),
    ] {
        let told = refused(&writings()[place].replace(from, to));
        assert!(told.contains(said) && told.contains("mine.toml"), "{to}: {told}");
    }
    // Nothing leads on from the neck: its switch names no other, and nothing names it.
    let told = refused(&writings()[5].replace("selector.2", "phase.R3").replace("\"R3\"]", "\"hot\"]"));
    assert!(told.contains("names `neck`"), "{told}");
}
