//! `drywire probe` tells what the meter must read at the jack with its band, what no reading shows, and refuses what
//! is no reading.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use std::fs;
use std::path::Path;

use crate::common::program::{drywire, succeeds};
use serde_json::Value;

const SWITCH: &str = "[[switch]]\nname = \"mode\"\non = \"bridge\"\ntable = \"on-on\"\njoints = [\
    [\"a+\", \"hot\", \"L3\"], [\"a-\", \"L1\", \"R2\"], [\"b+\", \"L2\"], [\"b-\", \"ground\", \"R3\"]]\n";

/// A guitar of two coils of 4 kΩ with this line for the volume, and this after everything else.
fn guitar(volume: &str, switch: &str) -> String {
    format!(
        "format = 1\nname = \"Bench\"\n[[pickup]]\nname = \"bridge\"\nlike = \"vintage-full-size\"\n\
        [pickup.coil_a]\nresistance = \"4k\"\n[pickup.coil_b]\nresistance = \"4k\"\n[controls]\n{volume}\n{switch}"
    )
}

fn volume(pot: &str, turned: f64) -> String {
    format!("volume = {{ pot = \"{pot}\", taper = \"linear\", turned = {turned} }}")
}

fn put(folder: &Path, text: &str) {
    fs::write(folder.join("mine.toml"), text).unwrap();
}

fn probed(folder: &Path, read: &str) -> (Option<i32>, Value) {
    let mut arguments = vec!["probe", "--guitar", "mine.toml", "--json"];
    if !read.is_empty() {
        arguments.extend(["--read", read]);
    }
    let output = drywire(folder, &arguments);
    let told = String::from_utf8_lossy(&output.stderr);
    (output.status.code(), serde_json::from_slice(&output.stdout).unwrap_or_else(|e| panic!("{e}: {told}")))
}

fn expected(json: &Value, throw: &str) -> f64 {
    let throws = json["throws"].as_array().unwrap();
    throws.iter().find(|t| t["throw"] == throw).unwrap()["expected_ohm"].as_f64().unwrap()
}

/// `R_read = R R_v / (R + R_v)`: 8 kΩ of coils read 7.87 kΩ beside a pot of 500 kΩ and 7.75 kΩ beside 250 kΩ, 2 kΩ
/// read 1.992 kΩ; the volume in the file does not matter, for the reading is taken with it full.
#[test]
fn what_the_meter_must_read_is_the_coils_beside_the_whole_volume_pot() {
    let folder = tempfile::tempdir().unwrap();
    for (pot, turned, series, parallel) in
        [("500k", 10.0, 7874.0, 1992.0), ("500k", 2.0, 7874.0, 1992.0), ("250k", 10.0, 7752.0, 1984.1)]
    {
        put(folder.path(), &guitar(&volume(pot, turned), SWITCH));
        let (code, json) = probed(folder.path(), "");
        assert_eq!((code, &json["verdict"]), (Some(0), &Value::from("nothing read")));
        assert!((expected(&json, "mode:1") - series).abs() < 0.1, "{json:#}");
        assert!((expected(&json, "mode:3") - parallel).abs() < 0.1, "{json:#}");
        assert_eq!(json["throws"][0]["as_set_ohm"].is_null(), turned > 9.0);
    }
}

/// Below full `(R + R_top) ∥ R_bottom` is read.
#[test]
fn what_the_meter_reads_with_the_volume_as_the_file_has_it_is_told_too() {
    let folder = tempfile::tempdir().unwrap();
    put(folder.path(), &guitar(&volume("500k", 7.0), SWITCH));
    let (_, json) = probed(folder.path(), "");
    let as_set = json["throws"][0]["as_set_ohm"].as_f64().unwrap();
    assert!((as_set - 1.0 / (1.0 / 158e3 + 1.0 / 350e3)).abs() < 0.1, "{as_set}");
    // Read like that, the volume is what explains it.
    let (code, json) = probed(folder.path(), "mode:1=108.9k,mode:3=106k");
    assert_eq!((code, &json["verdict"]), (Some(1), &Value::from("explained")));
    assert_eq!(json["faults"][0]["kind"], "volume");
    assert!(json["faults"][0]["what"].as_str().unwrap().contains("at about 7.0 of 10"), "{json:#}");
}

#[test]
fn a_guitar_without_a_switch_tells_each_arrangement() {
    let folder = tempfile::tempdir().unwrap();
    put(folder.path(), &guitar("", ""));
    let (code, json) = probed(folder.path(), "");
    let names: Vec<&str> =
        json["throws"].as_array().unwrap().iter().map(|t| t["throw"].as_str().unwrap()).collect();
    assert_eq!(code, Some(0));
    assert_eq!(names[..4], ["series", "parallel", "split-a", "split-b"]);
    // No volume pot: 4 : 2 : 1 exactly.
    for (name, ohms) in [("series", 8e3), ("split-a", 4e3), ("parallel", 2e3)] {
        assert!((expected(&json, name) - ohms).abs() < 1e-6);
    }
}

#[test]
fn right_readings_are_as_expected_and_what_they_do_not_show_is_listed_with_its_test() {
    let folder = tempfile::tempdir().unwrap();
    put(folder.path(), &guitar(&volume("500k", 10.0), SWITCH));
    let (code, json) = probed(folder.path(), "mode:1=7.9k,mode:3=2.0k");
    assert_eq!((code, &json["verdict"]), (Some(0), &Value::from("as expected")));
    assert_eq!(json["faults"].as_array().unwrap().len(), 0);
    let unseen = json["unseen_by_dc"].as_array().unwrap();
    for (what, settled) in [
        ("coil A is turned round", "tap at the jack with the lever toward lugs 3 (mode:1)"),
        ("coil B is turned round", "tap at the jack with the lever toward lugs 3 (mode:1)"),
        ("hot and ground are swapped", "tap at the jack"),
        ("the shield, the bridge or a cover is not on ground", "continuity between each of them and"),
        ("top pole", "compass"),
    ] {
        let told = unseen.iter().find(|told| told["what"].as_str().unwrap().contains(what));
        let settle_by = told.unwrap_or_else(|| panic!("{what}: {json:#}"))["settle_by"].as_str().unwrap();
        assert!(settle_by.contains(settled), "{what}: {settle_by}");
    }
    // With one throw read, what the other would show is not ruled out yet.
    let (_, half) = probed(folder.path(), "mode:1=7.9k");
    let more = half["unseen_by_dc"].as_array().unwrap();
    assert!(more.len() > unseen.len());
    let told = more
        .iter()
        .find(|told| told["what"].as_str().unwrap().starts_with("lug R2 is not joined to"))
        .unwrap();
    assert!(
        told["settle_by"]
            .as_str()
            .unwrap()
            .contains("read the jack with the lever toward lugs 1 (mode:3) too"),
        "{told}"
    );
}

#[test]
fn every_field_is_there_and_each_throw_is_judged_by_its_band() {
    let folder = tempfile::tempdir().unwrap();
    put(folder.path(), &guitar(&volume("500k", 10.0), SWITCH));
    let (code, json) = probed(folder.path(), "mode:3=open,mode:1=8.3k");
    assert_eq!(code, Some(1));
    let [series, parallel] = [&json["throws"][0], &json["throws"][1]];
    for throw in [series, parallel] {
        let ohms = |field: &str| throw[field].as_f64().unwrap();
        assert!(ohms("low_ohm") < ohms("expected_ohm") && ohms("expected_ohm") < ohms("high_ohm"));
    }
    assert_eq!((&series["fits"], &series["read_ohm"]), (&Value::from(true), &Value::from(8300.0)));
    assert_eq!((&parallel["fits"], &parallel["read_ohm"]), (&Value::from(false), &Value::Null));
    assert_eq!(parallel["read"], "open");
    assert_eq!(json["verdict"], "explained");
    for field in
        ["what", "kind", "things", "explains", "would_read_ohm", "indistinguishable_from", "settle_by"]
    {
        assert!(!json["faults"][0][field].is_null(), "{field}");
    }
}

#[test]
fn readings_that_no_single_mistake_gives_are_unexplained_and_those_that_give_some_are_listed() {
    let folder = tempfile::tempdir().unwrap();
    put(folder.path(), &guitar(&volume("500k", 10.0), SWITCH));
    let (code, json) = probed(folder.path(), "mode:1=1k,mode:3=3.97k");
    assert_eq!((code, &json["verdict"]), (Some(1), &Value::from("unexplained")));
    let faults = json["faults"].as_array().unwrap();
    assert!((1..=5).contains(&faults.len()));
    for fault in faults {
        assert_eq!(fault["explains"].as_array().unwrap(), &["mode:3"]);
    }
    // Nothing gives a reading more than the plan as drawn does.
    let (code, json) = probed(folder.path(), "mode:1=7.9k,mode:3=5k");
    assert_eq!((code, &json["verdict"]), (Some(1), &Value::from("unexplained")));
    assert!(json["faults"].as_array().unwrap().is_empty());
}

#[test]
fn a_lone_dead_throw_of_an_open_pickup_is_told_from_a_short() {
    let folder = tempfile::tempdir().unwrap();
    put(folder.path(), &guitar(&volume("500k", 10.0), SWITCH));
    let kinds = |read: &str| -> Vec<String> {
        let (code, json) = probed(folder.path(), read);
        assert_eq!((code, &json["verdict"]), (Some(1), &Value::from("explained")), "{read}");
        let faults = json["faults"].as_array().unwrap().iter();
        faults.map(|f| format!("{} {}", f["kind"].as_str().unwrap(), f["things"])).collect()
    };
    // Coil A broken: the pot alone in series, coil B alone in parallel.
    assert!(kinds("mode:1=500k,mode:3=3.97k").contains(&"coil-open [\"a+\",\"a-\"]".to_owned()));
    assert!(kinds("mode:1=open,mode:3=3.97k").contains(&"coil-open [\"a+\",\"a-\"]".to_owned()));
    // Coil A shorted: coil B alone in series, nothing left in parallel.
    assert!(kinds("mode:1=3.97k,mode:3=0.2").contains(&"coil-shorted [\"a+\",\"a-\"]".to_owned()));
}

#[test]
fn the_tables_fit_a_terminal_and_begin_with_the_cautions() {
    let folder = tempfile::tempdir().unwrap();
    put(folder.path(), &guitar(&volume("500k", 8.0), SWITCH));
    for (read, code) in
        [("", 0), ("mode:1=7.9k,mode:3=2.0k", 0), ("mode:1=7.9k,mode:3=3.95k", 1), ("mode:1=1 ohm", 1)]
    {
        let mut arguments = vec!["probe", "--guitar", "mine.toml"];
        if !read.is_empty() {
            arguments.extend(["--read", read]);
        }
        let output = drywire(folder.path(), &arguments);
        assert_eq!(output.status.code(), Some(code), "{read}");
        let text = String::from_utf8(output.stdout).unwrap();
        for line in text.lines() {
            assert!(line.chars().count() <= 80, "{} columns: {line}", line.chars().count());
        }
        let first = text.find("Unplug the guitar from the amplifier before").unwrap();
        assert!(first < text.find("must").unwrap(), "{text}");
        for said in ["Batteries", "volume", "± 20 %", "10 to 30 °C", "coil A is turned round"] {
            assert!(text.contains(said), "{said}: {text}");
        }
    }
    let built_in = succeeds(folder.path(), &["probe", "--guitar", "set-neck"]);
    assert!(
        String::from_utf8(built_in.stdout)
            .unwrap()
            .contains("a built-in value, 3.40 kΩ to 4.43 kΩ in its type")
    );
    let quiet = succeeds(folder.path(), &["probe", "--guitar", "mine.toml", "--quiet"]);
    assert!(quiet.stdout.is_empty());
}

#[test]
fn without_a_switch_no_reading_is_asked_for_that_could_not_be_taken() {
    let folder = tempfile::tempdir().unwrap();
    put(folder.path(), &guitar(&volume("500k", 10.0), ""));
    let told = |arguments: &[&str]| String::from_utf8(succeeds(folder.path(), arguments).stdout).unwrap();
    let bare = told(&["probe", "--guitar", "mine.toml"]);
    assert!(bare.contains("No switch is soldered in") && bare.contains("[[switch]]"), "{bare}");
    assert!(!bare.contains("Give what you read") && !bare.contains("was"), "{bare}");
    put(folder.path(), &guitar(&volume("500k", 10.0), SWITCH));
    let switched = told(&["probe", "--guitar", "mine.toml"]);
    assert!(switched.contains("Give what you read by --read") && switched.contains("was"), "{switched}");
    assert!(!switched.contains("No switch"), "{switched}");
}

#[test]
fn what_is_no_reading_is_refused_with_what_would_be() {
    let folder = tempfile::tempdir().unwrap();
    let with_switch = guitar(&volume("500k", 10.0), SWITCH);
    for (text, read, said) in [
        (&with_switch, "mode:2=7.9k", vec!["the guitar has no throw `mode:2`", "hint: did you mean `mode:"]),
        (&with_switch, "toggle=7.9k", vec!["no throw `toggle`", "it has mode:1, mode:3"]),
        (
            &with_switch,
            "mode:1=12 apples",
            vec!["`mode:1` reads: `12 apples` is not a resistance such as 5.9k"],
        ),
        (&with_switch, "mode:1=-5k", vec!["`-5k` is below zero"]),
        (&with_switch, "mode:1=", vec!["`` is not a resistance"]),
        (&with_switch, "mode:1=nan", vec!["`nan` is not a resistance"]),
        (&with_switch, "mode:1=7k,9 apples", vec!["`9 apples` is not a throw and what the meter read"]),
        (&with_switch, "mode:1=7k,mode:1=7k", vec!["`mode:1` is read twice", "give each throw once"]),
        (&with_switch, "mode:9=x,mode:1=y", vec!["no throw `mode:9`", "`y` is not a resistance"]),
        (&guitar("", ""), "mode:1=7.9k", vec!["no switch is soldered in on Bench", "[[switch]]"]),
    ] {
        put(folder.path(), text);
        let output = drywire(folder.path(), &["probe", "--guitar", "mine.toml", "--read", read]);
        let told = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{read}: {told}");
        assert!(output.stdout.is_empty(), "{read}");
        for said in said {
            assert!(told.contains(said), "{read} does not say `{said}`: {told}");
        }
    }
}

/// Where two switches are soldered in, a mistake at one leaves what the other reads as it is.
#[test]
fn each_of_two_switches_is_judged_on_its_own_pickup() {
    let folder = tempfile::tempdir().unwrap();
    let second = "[[pickup]]\nname = \"neck\"\nlike = \"mini\"\n[pickup.coil_a]\nresistance = \"3k\"\n\
        [pickup.coil_b]\nresistance = \"3k\"\n";
    let text = guitar(&volume("500k", 10.0), SWITCH).replace("[controls]", &format!("{second}[controls]"));
    let other = SWITCH.replace("mode", "warm").replace("\"bridge\"", "\"neck\"");
    put(folder.path(), &format!("{text}{other}"));
    let (code, json) = probed(folder.path(), "mode:1=7.9k,mode:3=2k,warm:1=5.9k,warm:3=2.98k");
    assert_eq!((code, &json["verdict"]), (Some(1), &Value::from("explained")));
    for fault in json["faults"].as_array().unwrap() {
        assert!(fault["settle_by"].as_str().unwrap().contains("warm:"), "{fault}");
    }
}

/// With the volume at x of 500 kΩ, linear, 8 kΩ read x 500 kΩ ∥ ((1 − x) 500 kΩ + 8 kΩ): the same near either end of its
/// travel.
#[test]
fn a_volume_that_may_stand_near_either_end_is_told_with_both_places() {
    let folder = tempfile::tempdir().unwrap();
    put(folder.path(), &guitar(&volume("500k", 10.0), SWITCH));
    let x: f64 = 0.97;
    let read = 1.0 / (1.0 / (x * 500e3) + 1.0 / ((1.0 - x) * 500e3 + 8e3));
    let other = 508.0 / 500.0 - x;
    let (code, json) = probed(folder.path(), &format!("mode:1={:.2}k", read / 1e3));
    assert_eq!((code, &json["verdict"]), (Some(1), &Value::from("explained")));
    let volumes: Vec<&Value> =
        json["faults"].as_array().unwrap().iter().filter(|fault| fault["kind"] == "volume").collect();
    let told: Vec<&str> = volumes.iter().map(|fault| fault["what"].as_str().unwrap()).collect();
    for place in [10.0 * x, 10.0 * other] {
        let wanted = format!("at about {place:.1} of 10");
        assert!(told.iter().any(|what| what.contains(&wanted)), "{wanted}: {told:?}");
    }
}

#[test]
fn a_decimal_comma_is_read_in_a_list_of_readings_too() {
    let folder = tempfile::tempdir().unwrap();
    put(folder.path(), &guitar(&volume("500k", 10.0), SWITCH));
    let point = probed(folder.path(), "mode:1=7.9k,mode:3=2.0k");
    let comma = probed(folder.path(), "mode:1=7,9k, mode:3=2,0k");
    assert_eq!(comma.1["throws"][0]["read_ohm"], 7900.0);
    assert_eq!((point.0, &point.1["verdict"]), (comma.0, &comma.1["verdict"]));
}

/// The tests of what the meter does not see are told when it is time for them.
#[test]
fn what_no_reading_shows_is_told_by_name_until_all_readings_are_right() {
    let folder = tempfile::tempdir().unwrap();
    put(folder.path(), &guitar(&volume("500k", 10.0), SWITCH));
    let told = |read: &[&str]| {
        let arguments = [&["probe", "--guitar", "mine.toml"], read].concat();
        String::from_utf8(drywire(folder.path(), &arguments).stdout).unwrap()
    };
    let unread = told(&[]);
    assert!(unread.contains("cover is not on ground\n") && !unread.contains("a beep"), "{unread}");
    let right = told(&["--read", "mode:1=7.9k,mode:3=2.0k"]);
    assert!(right.contains("a beep"), "{right}");
}
