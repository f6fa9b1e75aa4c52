//! `drywire probe`, `lugs --check` and the sheet reckon with the whole guitar: pickups joined with or without a selector,
//! their own controls, several switches, and where each of them stands.
//!
//! What the meter must read is worked out here from resistors in series and side by side.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use std::fs;
use std::path::Path;

use crate::common::program::drywire;
use serde_json::Value;

/// Resistors side by side.
fn beside(ohms: &[f64]) -> f64 {
    1.0 / ohms.iter().map(|r| 1.0 / r).sum::<f64>()
}

const POT: f64 = 500e3;
/// The bridge pickup's coils, 4 kΩ each, in series; the neck pickup's, 3 kΩ each.
const BRIDGE: f64 = 8e3;
const NECK: f64 = 6e3;

const SELECTOR: &str = "[[selector]]\nname = \"selector\"\ntable = \"three-way-toggle\"\n\
    joints = [[\"bridge\", \"1\"], [\"neck\", \"2\"], [\"out\", \"0\"]]\n";
const MODE: &str = "[[switch]]\nname = \"mode\"\non = \"bridge\"\ntable = \"on-on\"\njoints = [\
    [\"a+\", \"hot\", \"L3\"], [\"a-\", \"L1\", \"R2\"], [\"b+\", \"L2\"], [\"b-\", \"ground\", \"R3\"]]\n";
const VOLUME: &str = "[controls]\nvolume = { pot = \"500k\", taper = \"linear\", turned = 10 }\n";

/// A guitar of two pickups with `first` before its tables, these lines in each pickup's table, and `last` after them.
fn two(first: &str, own: [&str; 2], last: &str) -> String {
    let pickup = |name: &str, ohms: &str, own: &str| {
        format!(
            "[[pickup]]\nname = \"{name}\"\nlike = \"vintage-full-size\"\nfrom_bridge = \"{}\"\n\
             [pickup.coil_a]\nresistance = \"{ohms}\"\n[pickup.coil_b]\nresistance = \"{ohms}\"\n{own}",
            if name == "bridge" { "45 mm" } else { "150 mm" }
        )
    };
    format!(
        "format = 1\nname = \"Two\"\n{first}{}{}{last}",
        pickup("bridge", "4k", own[0]),
        pickup("neck", "3k", own[1])
    )
}

fn told(text: &str, arguments: &[&str]) -> (Option<i32>, Value, String) {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("mine.toml"), text).unwrap();
    run(folder.path(), arguments)
}

fn run(folder: &Path, arguments: &[&str]) -> (Option<i32>, Value, String) {
    let output = drywire(folder, arguments);
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    (output.status.code(), serde_json::from_slice(&output.stdout).unwrap_or(Value::Null), said)
}

fn probe(text: &str, read: &[&str]) -> (Option<i32>, Value, String) {
    let mut arguments = vec!["probe", "--guitar", "mine.toml", "--json"];
    for read in read {
        arguments.extend(["--read", read]);
    }
    told(text, &arguments)
}

/// Checks that these positions and no others are told, each with what must be read.
fn reads(text: &str, expected: &[(&str, f64)]) {
    let (code, json, said) = probe(text, &[]);
    assert_eq!(code, Some(0), "{said}");
    let rows = json["throws"].as_array().unwrap();
    let names: Vec<&str> = rows.iter().map(|row| row["throw"].as_str().unwrap()).collect();
    assert_eq!(names, expected.iter().map(|(name, _)| *name).collect::<Vec<_>>());
    for (row, (name, ohms)) in rows.iter().zip(expected) {
        let own = row["expected_ohm"].as_f64().unwrap_or(f64::INFINITY);
        let is_same = own.total_cmp(ohms).is_eq() || (own - ohms).abs() < 1e-6 * ohms;
        assert!(is_same, "{name}: {own} in place of {ohms}");
    }
}

fn kinds(json: &Value) -> Vec<&str> {
    json["faults"].as_array().unwrap().iter().map(|fault| fault["kind"].as_str().unwrap()).collect()
}

#[test]
fn pickups_side_by_side_without_a_selector_are_read_together() {
    let text = two("joints = [[\"bridge\", \"neck\", \"out\"]]\n", ["", ""], VOLUME);
    reads(&text, &[("as it is", beside(&[BRIDGE, NECK, POT]))]);
    let (code, json, _) = probe(&text, &["as it is=3.4k"]);
    assert_eq!((code, &json["verdict"]), (Some(0), &Value::from("as expected")));
    // A broken coil at the neck leaves the bridge alone.
    let (code, json, _) = probe(&text, &["as it is=7.87k"]);
    assert_eq!((code, &json["verdict"]), (Some(1), &Value::from("explained")));
    for coil in ["coil A", "coil B"] {
        let what = format!("{coil} of the neck pickup is open: its wire is broken inside");
        let broken = json["faults"].as_array().unwrap().iter().find(|f| f["what"] == what.as_str());
        assert_eq!(broken.map(|fault| &fault["at"]), Some(&Value::from("neck")), "{json:#}");
    }
    // So does its wire off the joint.
    assert!(
        json["faults"]
            .as_array()
            .unwrap()
            .iter()
            .any(|f| f["what"] == "the neck pickup is not joined to the bridge pickup and the output"),
        "{json:#}"
    );
}

#[test]
fn pickups_one_after_the_other_are_read_as_their_sum() {
    let text = two("joints = [[\"bridge.ground\", \"neck\"], [\"bridge\", \"out\"]]\n", ["", ""], VOLUME);
    reads(&text, &[("as it is", beside(&[BRIDGE + NECK, POT]))]);
    // The neck's hot joined with nothing: open but for the pot.
    let (_, json, _) = probe(&text, &["as it is=500k"]);
    let faults = json["faults"].as_array().unwrap();
    assert!(
        faults.iter().any(|f| f["what"] == "the bridge pickup's ground is not joined to the neck pickup"),
        "{json:#}"
    );
}

#[test]
fn a_selector_without_a_switch_is_read_and_judged_in_every_position() {
    let text = two("", ["", "arrangement = \"parallel\"\n"], &format!("{SELECTOR}{VOLUME}")).replace(
        "[pickup.coil_b]\nresistance = \"3k\"\narrangement = \"parallel\"\n",
        "[pickup.coil_b]\nresistance = \"3k\"\n",
    );
    let bridge = beside(&[BRIDGE, POT]);
    reads(
        &text,
        &[
            ("selector:1", bridge),
            ("selector:2", beside(&[BRIDGE, NECK, POT])),
            ("selector:3", beside(&[NECK, POT])),
        ],
    );
    let right = ["selector:1=7.9k", "selector:2=3.4k", "selector:3=5.9k"];
    let (code, json, _) = probe(&text, &right);
    assert_eq!((code, &json["verdict"]), (Some(0), &Value::from("as expected")), "{json:#}");
    let unseen = json["unseen_by_dc"].as_array().unwrap();
    let turned = unseen
        .iter()
        .find(|t| t["what"].as_str().unwrap().starts_with("the neck pickup is turned round"))
        .unwrap();
    assert!(turned["settle_by"].as_str().unwrap().contains("tap at the jack toward the "), "{turned}");
    // The neck's wire off its lug: open in its own place, the bridge alone in the middle.
    let (code, json, _) = probe(&text, &["selector:1=7.9k,selector:2=7.9k,selector:3=500k"]);
    assert_eq!(code, Some(1));
    let faults = json["faults"].as_array().unwrap();
    let off = faults.iter().find(|f| f["kind"] == "off").unwrap();
    assert!(
        ["the neck pickup is not joined to lug 2", "lug 2 is not joined to the neck pickup"]
            .contains(&off["what"].as_str().unwrap()),
        "{off}"
    );
    assert_eq!(off["at"], "selector");
    assert!(off["settle_by"].as_str().unwrap().contains("continuity between"), "{off}");
}

#[test]
fn the_pickup_asked_for_is_the_one_that_is_told() {
    // Joined by a selector: the positions in which the neck is heard.
    let joined = two("", ["", ""], &format!("{SELECTOR}{MODE}{VOLUME}"));
    let (_, json, _) = told(&joined, &["probe", "--guitar", "mine.toml", "--pickup", "neck", "--json"]);
    let rows: Vec<&Value> = json["throws"].as_array().unwrap().iter().collect();
    let names: Vec<&str> = rows.iter().map(|row| row["throw"].as_str().unwrap()).collect();
    assert_eq!(names, ["selector:2+mode:1", "selector:2+mode:3", "selector:3+mode:1", "selector:3+mode:3"]);
    assert!((rows[3]["expected_ohm"].as_f64().unwrap() - beside(&[NECK, POT])).abs() < 0.01);
    // Not joined: its own arrangements, though the bridge has a switch.
    let apart = two("", ["", ""], &format!("{MODE}{VOLUME}"));
    let (_, json, _) = told(&apart, &["probe", "--guitar", "mine.toml", "--pickup", "neck", "--json"]);
    let series = &json["throws"][0];
    assert_eq!(series["throw"], "series");
    assert!((series["expected_ohm"].as_f64().unwrap() - beside(&[NECK, POT])).abs() < 0.01, "{series}");
}

#[test]
fn every_position_of_a_selector_and_a_switch_is_read_in_any_order() {
    let text = two("", ["", ""], &format!("{SELECTOR}{MODE}{VOLUME}"));
    let parallel = 2e3;
    reads(
        &text,
        &[
            ("selector:1+mode:1", beside(&[BRIDGE, POT])),
            ("selector:1+mode:3", beside(&[parallel, POT])),
            ("selector:2+mode:1", beside(&[BRIDGE, NECK, POT])),
            ("selector:2+mode:3", beside(&[parallel, NECK, POT])),
            ("selector:3+mode:1", beside(&[NECK, POT])),
            ("selector:3+mode:3", beside(&[NECK, POT])),
        ],
    );
    let (code, json, said) =
        probe(&text, &["mode:3+selector:2=1.5k", "selector:1+mode:1=7.9k", "selector:3=5.9k"]);
    assert_eq!((code, &json["verdict"]), (Some(0), &Value::from("as expected")), "{said}");
    let row = |name: &str| {
        let rows = json["throws"].as_array().unwrap().iter();
        rows.clone().find(|row| row["throw"] == name).unwrap().clone()
    };
    assert_eq!(row("selector:2+mode:3")["read"], "1.5k");
    // Where the bridge is not in the circuit its switch may be left out.
    assert_eq!(
        (&row("selector:3+mode:1")["read"], &row("selector:3+mode:3")["read"]),
        (&Value::from("5.9k"), &Value::from("5.9k"))
    );
    assert_eq!(row("selector:2+mode:1")["position"], "selector middle; mode lever toward lugs 3");
    assert_eq!(row("selector:2+mode:1")["arrangement"], "bridge series, neck series");
    assert_eq!(row("selector:1+mode:3")["stands"][1]["throw"], 3);
}

#[test]
fn a_position_that_leaves_out_what_matters_is_refused_with_what_to_name() {
    let text = two("", ["", ""], &format!("{SELECTOR}{MODE}{VOLUME}"));
    for (read, said) in [
        ("mode:1=7.9k", vec!["does not say where selector stands", "name it too, as in selector:1+mode:1="]),
        ("selector:2=3.4k", vec!["does not say where mode stands", "as in selector:2+mode:1="]),
        ("selector:1+selector:2=3k", vec!["has two throws of selector"]),
        ("selector:3=5.9k,selector:3+mode:1=5.9k", vec!["`selector:3+mode:1` is read twice"]),
        ("selector:4+mode:1=5.9k", vec!["no throw `selector:4`", "did you mean `selector:"]),
    ] {
        let (code, _, told) = probe(&text, &[read]);
        assert_eq!(code, Some(2), "{read}: {told}");
        for said in said {
            assert!(told.contains(said), "{read} does not say `{said}`: {told}");
        }
    }
}

#[test]
fn a_selector_that_stands_elsewhere_is_a_suspect_with_its_test() {
    let text = two("", ["", ""], &format!("{SELECTOR}{MODE}{VOLUME}"));
    let elsewhere = |read: &[&str], what: &str| {
        let (code, json, said) = probe(&text, read);
        assert_eq!((code, &json["verdict"]), (Some(1), &Value::from("explained")), "{said}");
        let faults = json["faults"].as_array().unwrap();
        let found =
            faults.iter().find(|fault| fault["kind"] == "elsewhere").unwrap_or_else(|| panic!("{json:#}"));
        assert!(found["what"].as_str().unwrap().contains(what), "{found:#}");
        let settle = found["settle_by"].as_str().unwrap();
        assert!(settle.contains("look where") || faults.len() == 1, "{found:#}");
    };
    // The selector was left in the middle all the time.
    elsewhere(
        &["selector:1+mode:1=3.4k", "selector:1+mode:3=1.49k"],
        "selector stands elsewhere: in the middle position (selector:2)",
    );
    // The switch's throws are counted from the other end.
    elsewhere(
        &["selector:1+mode:1=1.99k", "selector:1+mode:3=7.9k"],
        "mode stands elsewhere: its throws are counted from the other end",
    );
    // One slip among readings that are right.
    elsewhere(
        &["selector:1+mode:1=7.9k", "selector:1+mode:3=1.99k", "selector:2+mode:1=5.93k", "selector:3=5.93k"],
        "selector stood elsewhere at the reading with selector middle, mode lever toward lugs 3 (selector:2+mode:1): toward the neck \
         (selector:3)",
    );
}

#[test]
fn pickups_own_volumes_are_read_beside_their_coils_turned_up() {
    for wired in ["dependent", "independent"] {
        let own =
            format!("[pickup.controls]\nvolume = {{ pot = \"500k\", turned = 3, wired = \"{wired}\" }}\n");
        let text = two("", [&own, &own.replace("500k", "250k")], SELECTOR);
        reads(
            &text,
            &[
                ("selector:1", beside(&[BRIDGE, POT])),
                ("selector:2", beside(&[BRIDGE, POT, NECK, 250e3])),
                ("selector:3", beside(&[NECK, 250e3])),
            ],
        );
        // Read with the bridge's volume left low.
        let turned = text.replace("turned = 3", "taper = \"linear\", turned = 10");
        let low = match wired {
            "dependent" => beside(&[BRIDGE + 0.6 * POT, 0.4 * POT]),
            _ => beside(&[BRIDGE, 0.4 * POT]) + 0.6 * POT,
        };
        let read = format!("selector:1={low:.0}");
        let (code, json, _) = probe(&turned, &[&read, "selector:3=5.86k"]);
        assert_eq!(code, Some(1));
        let volume = |json: &Value, what: &str| {
            let faults = json["faults"].as_array().unwrap();
            let found = faults.iter().find(|fault| fault["kind"] == "volume" && fault["what"] == what);
            found.unwrap_or_else(|| panic!("{what}: {json:#}")).clone()
        };
        let told = volume(&json, "bridge's volume is not full but at about 4.0 of 10");
        assert_eq!(told["at"], "bridge");
        assert!(!kinds(&json).contains(&"blend"));
        // Read with the same volume a hair below full.
        let nearly = match wired {
            "dependent" => beside(&[BRIDGE + 0.003 * POT, 0.997 * POT]),
            _ => beside(&[BRIDGE, 0.997 * POT]) + 0.003 * POT,
        };
        let (_, json, _) = probe(&turned, &[&format!("selector:1={nearly:.0}"), "selector:3=5.86k"]);
        volume(&json, "bridge's volume is not quite full");
    }
}

/// Two switches on the bridge: one takes the coils' joint to ground, the other to hot.
const SPLITS: &str = "[[switch]]\nname = \"down\"\non = \"bridge\"\ntable = \"on-on-single\"\n\
    joints = [[\"a+\", \"hot\"], [\"a-\", \"b+\", \"L2\"], [\"b-\", \"ground\", \"L3\"]]\n\
    [[switch]]\nname = \"up\"\non = \"bridge\"\ntable = \"on-on-single\"\njoints = [[\"a-\", \"L2\"], [\"hot\", \"L3\"]]\n";

#[test]
fn two_switches_round_one_pickup_are_one_circuit_to_every_command() {
    let text = two("", ["", ""], &format!("{SPLITS}{VOLUME}"));
    let one = beside(&[4e3, POT]);
    reads(
        &text,
        &[
            ("down:1+up:1", beside(&[BRIDGE, POT])),
            ("down:1+up:3", one),
            ("down:3+up:1", one),
            ("down:3+up:3", 0.0),
        ],
    );
    let (code, json, _) = probe(&text, &["up:3+down:1=3.97k", "down:1+up:1=7.9k"]);
    assert_eq!((code, &json["verdict"]), (Some(0), &Value::from("as expected")));
    let figures = ["figures", "--guitar", "mine.toml", "--arrangements", "throws", "--json"];
    let (_, json, said) = told(&text, &figures);
    let ohms: Vec<f64> = json["arrangements"]
        .as_array()
        .unwrap_or_else(|| panic!("{said}"))
        .iter()
        .map(|a| a["dc_at_jack_ohm"].as_f64().unwrap())
        .collect();
    for (own, expected) in ohms.iter().zip([beside(&[BRIDGE, POT]), one, one, 0.0]) {
        assert!((own - expected).abs() < 1e-3, "{ohms:?}");
    }
    let (_, json, said) =
        told(&text, &["figures", "--guitar", "mine.toml", "--arrangements", "down:1+up:3", "--json"]);
    assert_eq!(json["arrangements"][0]["name"], "down:1+up:3", "{said}");
    // Each switch is checked beside every place of the other; both thrown at once short hot to ground.
    let (code, json, _) = told(&text, &["lugs", "--check", "mine.toml", "--json"]);
    assert_eq!(code, Some(1));
    let throws = json["plans"][0]["throws"].as_array().unwrap();
    let told: Vec<String> = throws
        .iter()
        .map(|t| {
            format!("{} {}: {}", t["throw"], t["with"].as_str().unwrap(), t["arrangement"].as_str().unwrap())
        })
        .collect();
    assert_eq!(
        told,
        ["1 up:1: series", "3 up:1: split-a", "1 up:3: split-b", "3 up:3: hot shorted to ground"]
    );
    assert_eq!(json["plans"][0]["faults"].as_array().unwrap().len(), 1, "{json:#}");
    assert_eq!(
        (&json["plans"][0]["faults"][0]["kind"], &json["plans"][0]["faults"][0]["with"]),
        (&Value::from("short"), &Value::from("up:3"))
    );
}

/// A phase switch stands between the neck and the selector.
#[test]
fn a_switch_joined_with_a_selector_is_read_in_every_position() {
    let phase = "[[switch]]\nname = \"phase\"\non = \"neck\"\ntable = \"on-on\"\njoints = [[\"a+\", \"L1\", \"R3\"], \
        [\"a-\", \"b+\"], [\"b-\", \"L3\", \"R1\"], [\"selector.2\", \"L2\"], [\"ground\", \"R2\"]]\n";
    let toggle = SELECTOR.replace("[\"neck\", \"2\"], ", "");
    let text = two("", ["", ""], &format!("{toggle}{phase}{VOLUME}"));
    let (bridge, both, neck) = (beside(&[BRIDGE, POT]), beside(&[BRIDGE, NECK, POT]), beside(&[NECK, POT]));
    reads(
        &text,
        &[
            ("selector:1+phase:1", bridge),
            ("selector:1+phase:3", bridge),
            ("selector:2+phase:1", both),
            ("selector:2+phase:3", both),
            ("selector:3+phase:1", neck),
            ("selector:3+phase:3", neck),
        ],
    );
    // No ohm tells the phase, so that its switch may be left out; a tap in both of its throws does.
    let (code, json, said) = probe(&text, &["selector:1=7.9k", "selector:2=3.4k", "selector:3=5.9k"]);
    assert_eq!((code, &json["verdict"]), (Some(0), &Value::from("as expected")), "{said}");
    let unseen = json["unseen_by_dc"].as_array().unwrap();
    let turned = unseen
        .iter()
        .find(|t| t["what"].as_str().unwrap().starts_with("coil A of the neck pickup is turned round"));
    assert!(
        turned.unwrap()["settle_by"]
            .as_str()
            .unwrap()
            .contains("tap at the jack with selector toward the neck, phase lever"),
        "{turned:?}"
    );
    // The wire between the two switches is off.
    let (_, json, _) = probe(&text, &["selector:1=7.9k", "selector:2=7.9k", "selector:3=500k"]);
    let told: Vec<&str> =
        json["faults"].as_array().unwrap().iter().map(|f| f["what"].as_str().unwrap()).collect();
    assert!(told.contains(&"lug L2 is not joined to lug 2 of selector at phase"), "{told:?}");
}

#[test]
fn a_selector_and_a_switch_of_one_name_are_refused() {
    let text = two("", ["", ""], &format!("{SELECTOR}{}{VOLUME}", MODE.replace("mode", "selector")));
    let (code, _, said) = probe(&text, &[]);
    assert_eq!(code, Some(2));
    assert!(said.contains("a selector and a switch are both named `selector`"), "{said}");
}

/// The band is that of the worst parts together: a pot, a coil that was not measured, a room of 10 to 30 °C, and the meter.
#[test]
fn the_band_is_one_and_obeys_the_tolerances() {
    let text = |tolerances: &str| {
        let measured = two("", ["", ""], &format!("{SELECTOR}{MODE}{VOLUME}{tolerances}"));
        measured.replace("resistance = \"4k\"\n", "output = 1.0\n")
    };
    // Without a tolerance of its own: 3.5k to 4.3k, as the type of 3.9k has it, and 3 % of each coil's own.
    let of_type = [3.5 / 3.9 * 0.97, 4.3 / 3.9 * 1.03];
    let own = "[tolerances]\npots = \"10 %\"\nresistance = \"2 %\"\n";
    for (tolerances, pot, [least, most]) in [("", 0.20, of_type), (own, 0.10, [0.98, 1.02])] {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("mine.toml"), text(tolerances)).unwrap();
        let coils = 2.0 * 3.9e3;
        let low = beside(&[coils * (1.0 - 0.0393) * least, POT * (1.0 - pot)]) * 0.98 - 10.0;
        let high = beside(&[coils * (1.0 + 0.0393) * most, POT * (1.0 + pot)]) * 1.02 + 10.0;
        let (_, probe, _) = run(folder.path(), &["probe", "--guitar", "mine.toml", "--json"]);
        let (_, check, _) = run(folder.path(), &["lugs", "--check", "mine.toml", "--json"]);
        assert_eq!(check["plans"][0]["read_at"], "selector:1");
        for told in [&probe["throws"][0], &check["plans"][0]["throws"][0]] {
            let ohms = |field: &str| told[field].as_f64().unwrap();
            assert!((ohms("low_ohm") - low).abs() < 1e-6, "{told:#} {low}");
            assert!((ohms("high_ohm") - high).abs() < 1e-6, "{told:#} {high}");
        }
        let sheet = ["lugs", "--check", "mine.toml", "--sheet", "sheet.html"];
        let output = drywire(folder.path(), &sheet);
        let check =
            String::from_utf8(output.stdout).unwrap().split_whitespace().collect::<Vec<_>>().join(" ");
        let page = fs::read_to_string(folder.path().join("sheet.html")).unwrap().replace('\u{a0}', " ");
        let range = format!("{:.2} kΩ to {:.2} kΩ", low / 1e3, high / 1e3);
        assert!(page.contains(&range), "{range}: {page}");
        assert!(page.contains("volume full, selector at 1 (toward the bridge)"), "{page}");
        assert!(
            check.contains(&range) && check.contains("selector at 1 (toward the bridge), volume full"),
            "{check}"
        );
    }
}

#[test]
fn a_blend_pot_and_a_fixed_load_are_read_with_the_knobs_full() {
    let blend = "[blend]\npot = \"250k\"\ntaper = \"linear\"\nturned = 4\nends = [\"bridge\", \"neck\"]\n";
    let text =
        two("", ["", ""], &format!("{blend}{}", VOLUME.replace("\nvolume", "\nload = \"1M\"\nvolume")));
    // At 10 the wiper is at the neck's end, and the whole track lies before the bridge.
    reads(&text, &[("as it is", beside(&[NECK, 250e3 + BRIDGE, 1e6, POT]))]);
    let (_, json, _) = probe(&text, &[]);
    assert_eq!(json["knobs"], "volume full, blend at 10");
    let as_set = json["throws"][0]["as_set_ohm"].as_f64().unwrap();
    let expected = beside(&[BRIDGE + 0.4 * 250e3, NECK + 0.6 * 250e3, 1e6, POT]);
    assert!((as_set - expected).abs() < 1e-3, "{as_set} {expected}");
    let (code, _, said) = told(&text, &["probe", "--guitar", "mine.toml", "--pickup", "bridge"]);
    assert_eq!(code, Some(2), "{said}");
    assert!(said.contains("bridge is heard in no position"), "{said}");
}

#[test]
fn a_guitar_of_many_positions_tells_those_near_to_hand_and_reads_any() {
    let mut text = two("", ["", ""], &format!("{SELECTOR}{VOLUME}"));
    for (name, on) in [("mode", "bridge"), ("warm", "neck"), ("third", "neck")] {
        let joints = if name == "third" {
            "[[\"a+\", \"L2\"]]".to_owned()
        } else {
            MODE.split("joints = ").nth(1).unwrap().trim_end().to_owned()
        };
        text += &format!(
            "[[switch]]\nname = \"{name}\"\non = \"{on}\"\ntable = \"on-on-on\"\njoints = {joints}\n"
        );
    }
    let (_, json, said) = probe(&text, &["selector:2+mode:3+warm:3+third:2=1.2k"]);
    assert_eq!(json["ways"], 81, "{said}");
    let rows = json["throws"].as_array().unwrap();
    assert_eq!(rows.len(), 1 + 2 * 4 + 1);
    assert_eq!(rows[9]["throw"], "selector:2+mode:3+warm:3+third:2");
    assert!(
        (rows[9]["expected_ohm"].as_f64().unwrap() - beside(&[2e3, 1.5e3, POT])).abs() < 0.01,
        "{}",
        rows[9]
    );
}

#[test]
fn the_report_of_a_whole_guitar_fits_a_terminal_and_names_the_places() {
    let folder = tempfile::tempdir().unwrap();
    let text = two("", ["", ""], &format!("{SELECTOR}{MODE}{VOLUME}"));
    fs::write(folder.path().join("mine.toml"), text).unwrap();
    for read in
        ["selector:1+mode:1=3.4k", "selector:1+mode:1=7.9k,selector:3=500k", "selector:2+mode:1=1 ohm"]
    {
        let output = drywire(folder.path(), &["probe", "--guitar", "mine.toml", "--read", read]);
        assert_eq!(output.status.code(), Some(1), "{read}");
        let text = String::from_utf8(output.stdout).unwrap();
        for line in text.lines() {
            assert!(line.chars().count() <= 80, "{} columns: {line}", line.chars().count());
        }
        for said in ["Unplug the guitar from the amplifier", "selector toward the bridge", "volume full"] {
            assert!(text.contains(said), "{said}: {text}");
        }
    }
}
