//! `drywire harness` as it is run: wirings checked, and wrong input refused with its place and the nearest name.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use std::path::Path;
use std::process::Output;

use crate::common::cavities::{Case, cases, guitars};
use crate::common::program::drywire;
use serde_json::Value;

fn case(id: &str) -> Case {
    cases().into_iter().find(|case| case.id == id).unwrap()
}

fn check(folder: &Path, text: &str, more: &[&str]) -> Output {
    std::fs::write(folder.join("mine.toml"), text).unwrap();
    drywire(folder, &[&["harness", "--check", "mine.toml"], more].concat())
}

fn told(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr)
}

#[test]
fn a_right_wiring_is_as_wanted_and_a_faulty_one_ends_with_exit_code_1() {
    let folder = tempfile::tempdir().unwrap();
    let right = check(folder.path(), &case("a-set-neck-001").text, &[]);
    assert_eq!(right.status.code(), Some(0), "{}", told(&right));
    let text = told(&right);
    assert!(
        text.contains("as wanted") && text.contains("7.68 kΩ") && text.contains("Unplug the guitar"),
        "{text}"
    );
    let faulty = check(folder.path(), &case("a-set-neck-010").text, &["--json"]);
    assert_eq!(faulty.status.code(), Some(1), "{}", told(&faulty));
    let json: Value = serde_json::from_slice(&faulty.stdout).unwrap();
    assert_eq!((&json["verdict"], &json["same_circuit"]), (&"faulty".into(), &false.into()));
    assert_eq!(json["faults"][0]["kind"], "volume-backwards");
    assert_eq!(json["faults"][0]["what"], "volume");
    assert_eq!(json["silent"].as_array().unwrap().len(), 3);
    assert_eq!(json["ohms_at_jack"]["selector:2"], 0.0);
}

#[test]
fn a_ground_loop_is_no_fault_and_told_with_its_reason() {
    let folder = tempfile::tempdir().unwrap();
    let output = check(folder.path(), &case("a-travel-mini-037").text, &[]);
    let text = told(&output);
    assert_eq!(output.status.code(), Some(0), "{text}");
    assert!(text.contains("a ground loop") && text.contains("harmless"), "{text}");
}

#[test]
fn every_wrong_wire_is_refused_at_once_with_its_place_and_the_nearest_name() {
    let folder = tempfile::tempdir().unwrap();
    let text = case("a-set-neck-001").text;
    let (guitar, _) = text.split_once("wires = ").unwrap();
    let wires = "wires = [\n[\"volume.4\", \"jack.tip\"],\n[\"tonne.1\", \"tone.2\"],\n[\"blend.1\", \"jack.tip\"],\n\
        [\"jack.tip\", \"jack.tip\"],\n[\"volume\", \"jack.tip\"],\n[\"bridge.a+\", \"selector.1\"],\n\
        [\"bridge.a+\", \"selector.2\"]]\n";
    let output = check(folder.path(), &format!("{guitar}{wires}"), &[]);
    let text = told(&output);
    assert_eq!(output.status.code(), Some(2), "{text}");
    for said in [
        "`volume` has no terminal `volume.4`",
        "it has volume.1, volume.2, volume.3, volume.case",
        "the guitar has no part `tonne`",
        "did you mean `tone.1`?",
        "the guitar has no part `blend`",
        "a wire from `jack.tip` to itself",
        "`volume` has no terminal `volume`",
        "`bridge.a+` is a lead, and is named on `selector.1` and on `selector.2`",
        "mine.toml:",
    ] {
        assert!(text.contains(said), "{said}\n---\n{text}");
    }
}

#[test]
fn three_hundred_wires_are_refused_with_the_place_of_the_first_too_many() {
    let folder = tempfile::tempdir().unwrap();
    let text = case("a-set-neck-001").text;
    let (guitar, _) = text.split_once("wires = ").unwrap();
    let wires = "[\"volume.1\", \"volume.case\"],\n".repeat(299);
    let output = check(folder.path(), &format!("{guitar}wires = [\n{wires}[\"volume.1\"]]\n"), &[]);
    let text = told(&output);
    assert_eq!(output.status.code(), Some(2), "{text}");
    let line = guitar.lines().count() + 1 + 201;
    for said in ["300 wires; allowed are up to 200", &format!("mine.toml:{line}:"), "state each wire"] {
        assert!(text.contains(said), "{said}\n---\n{text}");
    }
}

#[test]
fn a_lead_on_two_points_is_refused_and_a_splice_is_not() {
    let folder = tempfile::tempdir().unwrap();
    let text = case("a-set-neck-001").text;
    let twice = text.replace("wires = [[", "wires = [[\"bridge.a+\", \"selector.2\"], [");
    let output = check(folder.path(), &twice, &[]);
    let told_of = told(&output);
    assert_eq!(output.status.code(), Some(2), "{told_of}");
    assert!(
        told_of.contains("`bridge.a+` is a lead, and is named on `selector.2` and on `selector.1`"),
        "{told_of}"
    );
    let splice = text.replace("[\"neck.a-\", \"neck.b+\"]", "[\"neck.b+\", \"neck.a-\"]");
    assert_eq!(check(folder.path(), &splice, &[]).status.code(), Some(0));
}

#[test]
fn a_wire_that_is_stated_twice_is_called_so() {
    let folder = tempfile::tempdir().unwrap();
    let text = case("a-set-neck-001").text;
    let lead = text.replace("wires = [[", "wires = [[\"bridge.a+\", \"selector.1\"], [");
    let refused = check(folder.path(), &lead, &[]);
    let told_of = told(&refused);
    assert_eq!(refused.status.code(), Some(2), "{told_of}");
    assert_eq!(told_of.matches("is stated twice").count(), 1, "{told_of}");
    assert!(told_of.contains("state each wire once") && !told_of.contains("is a lead"), "{told_of}");
    let json: Value = serde_json::from_slice(&check(folder.path(), &text, &["--json"]).stdout).unwrap();
    assert!(json["notes"].as_array().unwrap().is_empty(), "{json}");
    let wires = text.split_once("wires = ").unwrap().1;
    let wires: Vec<[String; 2]> = serde_json::from_str(wires.trim()).unwrap();
    let is_lug =
        |end: &String| ["volume.", "tone.", "jack.", "selector."].iter().any(|part| end.starts_with(part));
    for [one, other] in wires.iter().filter(|wire| wire.iter().all(is_lug)) {
        let twice = text.replace("wires = [[", &format!("wires = [[\"{other}\", \"{one}\"], ["));
        let noted = check(folder.path(), &twice, &["--json"]);
        assert_eq!(noted.status.code(), Some(0), "{}", told(&noted));
        let json: Value = serde_json::from_slice(&noted.stdout).unwrap();
        let note = format!("the wire from {one} to {other} is stated twice: ");
        let notes = json["notes"].as_array().unwrap();
        assert_eq!(
            notes.iter().filter(|own| own.as_str().unwrap().starts_with(&note)).count(),
            1,
            "{notes:?}"
        );
    }
}

#[test]
fn two_coils_that_are_turned_work_against_the_others() {
    let folder = tempfile::tempdir().unwrap();
    let told_of = told(&check(folder.path(), &case("a-set-neck-013").text, &[]));
    assert!(told_of.contains("the neck pickup works against the others"), "{told_of}");
}

#[test]
fn the_help_names_every_key_of_the_cavity() {
    let folder = tempfile::tempdir().unwrap();
    let help = told(&drywire(folder.path(), &["harness", "--help"]));
    for key in drywire::guitar::keys::HARNESS.keys {
        assert!(help.contains(&format!("  {:<8}", key.name)), "{}\n{help}", key.name);
    }
    let usual = "strings Whether a wire grounds the strings. One of wire, none; wire where it";
    assert!(help.contains(usual), "{help}");
}

#[test]
fn what_cannot_be_checked_is_refused_with_what_to_do() {
    let folder = tempfile::tempdir().unwrap();
    let guitar = |name: &str| {
        std::fs::read_to_string(crate::common::program::repository(&format!("presets/guitars/{name}.toml")))
            .unwrap()
    };
    for (text, said, hint) in [
        (guitar("set-neck"), "states no wires to check", "add a table headed [harness]"),
        (
            format!("{}[harness]\nwires = [[\"volume.1\", \"volume.case\"]]\n", guitar("short-scale-blade")),
            "does not say how its 2 pickups are joined",
            "add a table headed [[selector]]",
        ),
    ] {
        let output = check(folder.path(), &text, &[]);
        let text = told(&output);
        assert_eq!(output.status.code(), Some(2), "{text}");
        assert!(text.contains(said) && text.contains(hint), "{text}");
    }
    let built_in = drywire(folder.path(), &["harness", "--check", "set-neck"]);
    let text = told(&built_in);
    assert_eq!(built_in.status.code(), Some(2), "{text}");
    assert!(
        text.contains("the built-in guitar `set-neck` states no wires to check")
            && text.contains("`drywire presets copy set-neck mine.toml` makes a file"),
        "{text}"
    );
}

#[test]
fn probe_takes_turned_knobs_and_beeps_where_the_file_has_a_harness() {
    let folder = tempfile::tempdir().unwrap();
    let text = case("a-set-neck-001").text;
    std::fs::write(folder.path().join("mine.toml"), &text).unwrap();
    let probe = |reads: &[&str], more: &[&str]| {
        let reads: Vec<&str> = reads.iter().flat_map(|read| ["--read", read]).collect();
        drywire(folder.path(), &[&["probe", "--guitar", "mine.toml"], reads.as_slice(), more].concat())
    };
    let right = probe(&["selector:2=3.9k", "selector:2+volume@0=0,tone.case=beep"], &[]);
    assert_eq!(right.status.code(), Some(0), "{}", told(&right));
    assert!(told(&right).contains("selector:2+volume@0"), "{}", told(&right));
    let swapped = probe(&["tone.case=7.7k", "selector:1+volume@0=0"], &["--json"]);
    assert_eq!(swapped.status.code(), Some(1), "{}", told(&swapped));
    let json: Value = serde_json::from_slice(&swapped.stdout).unwrap();
    assert_eq!(json["cavity"]["readings"][0]["fits"], false);
    assert_eq!(json["verdict"], "nothing read");
    for (read, said, hint) in [
        ("selector:2+volum@0=0", "no knob `volum`", "did you mean `volume`?"),
        ("selector:9+volume@0=0", "no state `selector:9`", "did you mean `selector:"),
        ("volume@0=0", "no state `as it is`", "name a throw of every selector"),
        ("selector:2+volume@11=0", "`11` is no place of a knob", "volume@5"),
        ("tone.cas=beep", "no terminal `tone.cas`", "did you mean `tone.case`?"),
        ("tone.case=loud", "neither `beep` nor `open`", "write beep"),
    ] {
        let refused = probe(&[read], &[]);
        assert_eq!(refused.status.code(), Some(2), "{}", told(&refused));
        assert!(told(&refused).contains(said) && told(&refused).contains(hint), "{read}: {}", told(&refused));
    }
    std::fs::write(folder.path().join("mine.toml"), text.split_once("[harness]").unwrap().0).unwrap();
    let without = probe(&["selector:2+volume@0=0"], &[]);
    assert!(
        without.status.code() == Some(2) && told(&without).contains("has no table [harness]"),
        "{}",
        told(&without)
    );
}

#[test]
fn a_buffer_leaves_metal_to_be_read_and_the_rest_is_refused_with_what_can_be() {
    let folder = tempfile::tempdir().unwrap();
    let text = case("a-buffered-091").text;
    std::fs::write(folder.path().join("mine.toml"), &text).unwrap();
    let probe = |reads: &[&str]| {
        let reads: Vec<&str> = reads.iter().flat_map(|read| ["--read", read]).collect();
        drywire(folder.path(), &[&["probe", "--guitar", "mine.toml"], reads.as_slice()].concat())
    };
    let right = probe(&["volume.case=beep,strings.wire=beep"]);
    assert_eq!(right.status.code(), Some(0), "{}", told(&right));
    assert!(told(&right).contains("through the buffer nothing of the coils"), "{}", told(&right));
    let off = probe(&["bridge.shield=open"]);
    assert!(off.status.code() == Some(1) && told(&off).contains("NOT as expected"), "{}", told(&off));
    for reads in
        [&[][..], &["selector:1=7.7k"], &["selector:1+volume@0=0"], &["selector:1=7.7k", "volume.case=beep"]]
    {
        let refused = probe(reads);
        let told_of = told(&refused);
        assert_eq!(refused.status.code(), Some(2), "{told_of}");
        assert!(told_of.contains("has a buffer") && told_of.contains("--read volume.case=beep"), "{told_of}");
    }
}

#[test]
fn what_no_reading_of_the_cavity_shows_is_told_with_its_test() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("mine.toml"), case("a-set-neck-001").text).unwrap();
    let text = told(&drywire(folder.path(), &["probe", "--guitar", "mine.toml"]));
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("In the cavity no reading at the jack shows"), "{text}");
    assert!(flat.contains("the sound must darken evenly as it is turned down"), "{text}");
    let json = drywire(folder.path(), &["probe", "--guitar", "mine.toml", "--json"]);
    let json: Value = serde_json::from_slice(&json.stdout).unwrap();
    assert!(json["unseen_in_cavity"].as_array().unwrap().len() >= 2, "{json:#}");
    assert!(json["throws"].is_array(), "{json:#}");
}

#[test]
fn a_ground_loop_is_told_with_its_area_as_the_parts_lie() {
    let folder = tempfile::tempdir().unwrap();
    let text = case("a-set-neck-001").text;
    let wires = text.replace("wires = [[", "wires = [[\"volume.case\", \"jack.sleeve\"], [");
    let loops = |places: &str| {
        let json: Value =
            serde_json::from_slice(&check(folder.path(), &format!("{wires}{places}\n"), &["--json"]).stdout)
                .unwrap();
        let notes = json["notes"].as_array().unwrap();
        let told: Vec<&str> =
            notes.iter().filter_map(Value::as_str).filter(|note| note.contains("ground loop")).collect();
        assert_eq!(told.len(), 1, "{json:#}");
        told[0].to_owned()
    };
    let usual = loops("");
    assert!(
        usual.contains("It is harmless: as the parts lie") && usual.contains("dB less hum than one coil"),
        "{usual}"
    );
    let wide = loops("places = { volume = [10, 10], tone = [500, 900], jack = [900, 10] }");
    assert!(wide.contains("lead one of the wires beside another") && !wide.contains("harmless"), "{wide}");
}

#[test]
fn a_plan_has_the_fewest_joints_and_is_what_a_check_wants() {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in guitars() {
        std::fs::write(folder.path().join("mine.toml"), &text).unwrap();
        let plan = drywire(folder.path(), &["harness", "--guitar", "mine.toml", "--json"]);
        assert_eq!(plan.status.code(), Some(0), "{name}: {}", told(&plan));
        let again = drywire(folder.path(), &["harness", "--guitar", "mine.toml", "--json"]);
        assert_eq!(plan.stdout, again.stdout, "{name}: the same bytes twice");
        let json: Value = serde_json::from_slice(&plan.stdout).unwrap();
        let wires = json["wires"].as_array().unwrap();
        assert_eq!(json["joints"], wires.len(), "{name}");
        assert!(json["bound"].as_f64().unwrap() <= json["cost"].as_f64().unwrap(), "{name}");
        assert_eq!(json["is_least"], true, "{name}");
        let ends: Vec<Value> =
            wires.iter().map(|wire| Value::from(vec![wire[0].clone(), wire[1].clone()])).collect();
        let ends = serde_json::to_string(&ends).unwrap();
        let stated = match text.split_once("[harness]\n") {
            Some((before, after)) => format!("{before}[harness]\nwires = {ends}\n{after}"),
            None => format!("{text}\n[harness]\nwires = {ends}\n"),
        };
        let checked = check(folder.path(), &stated, &["--json"]);
        let json: Value =
            serde_json::from_slice(&checked.stdout).unwrap_or_else(|_| panic!("{name}: {}", told(&checked)));
        assert_eq!(json["verdict"], "as wanted", "{name}: {}", told(&checked));
        assert!(json["notes"].as_array().unwrap().is_empty(), "{name}: {}", json["notes"]);
    }
    std::fs::write(folder.path().join("mine.toml"), crate::common::cavities::MANY_STATES).unwrap();
    let long = told(&drywire(folder.path(), &["harness", "--guitar", "mine.toml"]));
    // Of the wires of signal two are longer than 100 mm.
    assert_eq!(long.matches("better shielded").count(), 2, "{long}");
    let told_of = told(&drywire(folder.path(), &["harness", "--guitar", "set-neck"]));
    assert!(
        told_of.contains("18 joints, the fewest there can be") && told_of.contains("Unplug the guitar"),
        "{told_of}"
    );
}

#[test]
fn a_place_of_a_part_that_is_not_there_is_refused_with_the_nearest_name() {
    let folder = tempfile::tempdir().unwrap();
    let text = case("a-set-neck-001").text.split_once("[harness]").unwrap().0.to_owned();
    let stated = "[harness]\nunder = { selectr = \"tonne\", selector = \"jack\" }\nplaces = { volum = [10, 20], volume = [90, 40] }\n";
    std::fs::write(folder.path().join("mine.toml"), format!("{text}{stated}")).unwrap();
    let refused = drywire(folder.path(), &["harness", "--guitar", "mine.toml"]);
    let told_of = told(&refused);
    assert_eq!(refused.status.code(), Some(2), "{told_of}");
    for said in [
        "the guitar has no selector or switch `selectr`",
        "did you mean `selector`?",
        "the guitar has no pot `tonne`",
        "did you mean `tone`?",
        "the guitar has no pot `jack`",
        "the guitar has no part `volum`",
        "did you mean `volume`?",
        "mine.toml:",
    ] {
        assert!(told_of.contains(said), "{said}\n---\n{told_of}");
    }
    assert!(!told_of.contains("`volume` "), "{told_of}");
}
