//! A person's whole path: a pickup from the parts drawer, leads white, grey, red and blue, becomes switchable in a
//! travel guitar; and the trap on that path, a diagram drawn for start and finish soldered by + and −.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use std::fs;
use std::path::Path;

use crate::common::program::{Set, drywire, succeeds};
use serde_json::Value;

/// The guitar's file with what `drywire leads` said of each coil.
fn guitar_file(coils: &Value) -> String {
    let mut text =
        "format = 1\nname = \"Travel guitar, pickup from the drawer\"\nscale = \"610 mm\"\n[[pickup]]\n\
        name = \"middle\"\nlike = \"mini\"\nfrom_bridge = \"80 mm\"\n"
            .to_owned();
    for (table, coil) in ["coil_a", "coil_b"].iter().zip(coils.as_array().unwrap()) {
        text += &format!(
            "[pickup.{table}]\nresistance = \"{}\"\ntop_pole = {}\nleads = {{ plus = {}, minus = {} }}\n",
            coil["ohms"], coil["top_pole"], coil["plus"], coil["minus"]
        );
    }
    text + "[controls]\nvolume = { pot = \"500k\" }\n"
}

/// The guitar's file with a plan soldered in.
fn with_switch(guitar: &str, groups: &Value) -> String {
    format!("{guitar}[[switch]]\nname = \"mode\"\non = \"middle\"\ntable = \"on-on\"\njoints = {groups}\n")
}

fn told(folder: &Path, arguments: &[&str]) -> Value {
    serde_json::from_slice(&succeeds(folder, arguments).stdout).unwrap()
}

fn text(folder: &Path, arguments: &[&str]) -> (Option<i32>, String) {
    let output = drywire(folder, arguments);
    (output.status.code(), String::from_utf8(output.stdout).unwrap())
}

/// Identifies the leads, writes the guitar's file and returns it with the groups of the plan found for it.
fn up_to_the_plan(folder: &Path) -> (String, Value) {
    succeeds(folder, &["presets", "copy", "drawer"]);
    let leads = told(folder, &["leads", "drawer.toml", "--json"]);
    assert_eq!(
        (&leads["verdict"], &leads["hum_cancels_in_phase"]),
        (&Value::from("certain"), &Value::from(true))
    );
    let guitar = guitar_file(&leads["coils"]);
    fs::write(folder.join("travel.toml"), &guitar).unwrap();
    let asked =
        ["lugs", "--switch", "on-on", "--throws", "series,parallel", "--guitar", "travel.toml", "--json"];
    let lugs = told(folder, &asked);
    assert_eq!((&lugs["exists"], &lugs["joints"]), (&Value::from(true), &Value::from(7)));
    (guitar, lugs["plans"][0]["groups"].clone())
}

#[test]
fn the_built_in_guitar_is_the_one_that_the_path_leads_to() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let (guitar, groups) = up_to_the_plan(folder);
    fs::write(folder.join("made.toml"), with_switch(&guitar, &groups)).unwrap();
    succeeds(folder, &["presets", "copy", "travel", "built-in.toml"]);
    for told_by in [&["figures", "--arrangements", "throws"][..], &["probe"], &["lugs"]] {
        let of = |file: &str| {
            let flag = if told_by == ["lugs"] { "--check" } else { "--guitar" };
            let mut told = told(folder, &[told_by, &[flag, file, "--json"]].concat());
            // The file is named where it came from.
            told.as_object_mut().unwrap().retain(|key, _| !["guitar", "file"].contains(&key.as_str()));
            told
        };
        assert_eq!(of("built-in.toml"), of("made.toml"), "{told_by:?}");
    }
}

#[test]
fn from_readings_to_a_proven_switch() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let (guitar, groups) = up_to_the_plan(folder);
    fs::write(folder.join("travel.toml"), with_switch(&guitar, &groups)).unwrap();

    let (code, check) = text(folder, &["lugs", "--check", "travel.toml", "--sheet", "mode.html"]);
    assert_eq!(code, Some(0), "{check}");
    assert!(check.contains("No fault found") && check.contains("white (a+)"), "{check}");
    let sheet = fs::read_to_string(folder.join("mode.html")).unwrap();
    for lead in ["white", "grey", "red", "blue", "Unplug the guitar from the amplifier"] {
        assert!(sheet.contains(lead), "{lead}");
    }

    let set = Set::heard(folder, &["--guitar", "travel.toml", "--arrangements", "throws"]);
    assert!(set.folder.join("matched/mode-1.wav").exists() && set.folder.join("as-is/mode-3.wav").exists());
    let drop = set.arrangement("mode:3")["drop_rms_db"].as_f64().unwrap();
    // Two nearly equal coils in parallel give half the voltage of series (common practice: −6 dB).
    assert!((-6.5..-5.5).contains(&drop), "{drop}");
    assert_eq!(set.arrangement("mode:3")["in_phase"], true);

    let must = told(folder, &["probe", "--guitar", "travel.toml", "--json"]);
    for (throw, coils) in [(0, 3400.0 + 3300.0), (1, 3400.0 * 3300.0 / (3400.0 + 3300.0))] {
        let expected = coils * 500e3 / (coils + 500e3);
        let read = must["throws"][throw]["expected_ohm"].as_f64().unwrap();
        assert!((read - expected).abs() < 1e-6 * expected, "{read}");
    }
    let (code, right) =
        text(folder, &["probe", "--guitar", "travel.toml", "--read", "mode:1=6.6k,mode:3=1.66k"]);
    assert_eq!(code, Some(0), "{right}");
    assert!(right.contains("As expected") && right.contains("coil B is turned round"), "{right}");

    // The jumper between L3 and R1 is cold: series is dead, and parallel is right.
    let (code, wrong) =
        text(folder, &["probe", "--guitar", "travel.toml", "--read", "mode:1=open,mode:3=1.66k"]);
    assert_eq!(code, Some(1), "{wrong}");
    assert!(wrong.contains("lug R1 is not joined to the red lead (b+) and lug L3"), "{wrong}");
    assert!(wrong.contains("continuity between"), "{wrong}");
}

/// The plan of the whole cavity is soldered but for one joint, which is found by the check and by the meter, and mended.
#[test]
fn from_the_proven_switch_to_the_jack() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    succeeds(folder, &["presets", "copy", "travel"]);
    let guitar = fs::read_to_string(folder.join("travel.toml")).unwrap();
    let (code, list) = text(folder, &["harness", "--guitar", "travel.toml", "--sheet", "harness.html"]);
    assert_eq!(code, Some(0), "{list}");
    let list = list.split_whitespace().collect::<Vec<_>>().join(" ");
    for line in ["1 volume.case volume.1", "4 mode.L2 volume.3 59", "6 volume.2 jack.tip 49"] {
        assert!(list.contains(line), "{line}: {list}");
    }
    let sheet = fs::read_to_string(folder.join("harness.html")).unwrap();
    for said in
        ["white", "grey", "red", "blue", "What each throw of mode does", "Unplug the guitar", "Prove it"]
    {
        assert!(sheet.contains(said), "{said}");
    }
    let plan = told(folder, &["harness", "--guitar", "travel.toml", "--json"]);
    let wires: Vec<Vec<Value>> =
        plan["wires"].as_array().unwrap().iter().map(|wire| wire.as_array().unwrap()[..2].to_vec()).collect();
    assert_eq!((wires.len(), &plan["joints"]), (12, &Value::from(12)));
    let soldered = |wires: &[Vec<Value>]| {
        let wires = serde_json::to_string(wires).unwrap();
        fs::write(folder.join("travel.toml"), format!("{guitar}[harness]\nwires = {wires}\n")).unwrap();
    };

    soldered(&wires[1..]);
    let (code, check) = text(folder, &["harness", "--check", "travel.toml"]);
    assert_eq!(code, Some(1), "{check}");
    for said in [
        "one joint is missing",
        "volume does nothing, in every position",
        "add a wire from volume.case to volume.1",
    ] {
        assert!(check.contains(said), "{said}: {check}");
    }
    // At 10 nothing shows. At 0 the meter reads the whole track, and what is not joined explains it.
    let read = ["--read", "mode:1=6.7k", "--read", "mode:1+volume@0=506k"];
    let (code, proof) = text(folder, &[&["probe", "--guitar", "travel.toml"], &read[..]].concat());
    assert_eq!(code, Some(1), "{proof}");
    assert!(proof.contains("NOT as expected") && proof.contains("as the file states them"), "{proof}");
    soldered(&wires);
    let (_, proof) = text(folder, &[&["probe", "--guitar", "travel.toml"], &read[..]].concat());
    let proof = proof.split_whitespace().collect::<Vec<_>>().join(" ");
    let not_joined = "the case of the volume control (volume.case) and the left lug of the volume control (volume.1) are not joined";
    assert!(proof.contains(not_joined), "{proof}");

    let (code, check) = text(folder, &["harness", "--check", "travel.toml"]);
    assert_eq!(code, Some(0), "{check}");
    assert!(check.contains("as wanted"), "{check}");
    let right = ["--read", "mode:1=6.6k,mode:3=1.66k", "--read", "mode:1+volume@0=0,volume.case=beep"];
    let (code, proof) = text(folder, &[&["probe", "--guitar", "travel.toml"], &right[..]].concat());
    assert_eq!(code, Some(0), "{proof}");
}

#[test]
fn a_plan_for_start_and_finish_soldered_by_plus_and_minus_is_out_of_phase_hums_and_is_thin() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let (guitar, groups) = up_to_the_plan(folder);
    // Drawn: coil A's + end is its finish, coil B's its start, for both are wound alike over one magnet.
    let renamed = |groups: &Value, names: [[&str; 2]; 4]| -> Value {
        let of = |thing: &Value| {
            let named = names.iter().find(|[from, _]| thing == from);
            Value::from(named.map_or_else(|| thing.as_str().unwrap(), |[_, to]| to))
        };
        groups
            .as_array()
            .unwrap()
            .iter()
            .map(|g| g.as_array().unwrap().iter().map(of).collect::<Value>())
            .collect()
    };
    let drawn =
        renamed(&groups, [["a+", "a-finish"], ["a-", "a-start"], ["b+", "b-start"], ["b-", "b-finish"]]);
    fs::write(folder.join("drawn.toml"), with_switch(&guitar, &drawn)).unwrap();
    let (code, check) = text(folder, &["lugs", "--check", "drawn.toml"]);
    assert_eq!(code, Some(0), "{check}");
    assert!(check.contains("which kind of name is it?"), "{check}");

    // Soldered: every finish taken for a + end.
    let soldered =
        renamed(&drawn, [["a-finish", "a+"], ["a-start", "a-"], ["b-finish", "b+"], ["b-start", "b-"]]);
    fs::write(folder.join("travel.toml"), with_switch(&guitar, &soldered)).unwrap();
    let (code, check) = text(folder, &["lugs", "--check", "travel.toml"]);
    assert_eq!(code, Some(1), "{check}");
    let check = check.split_whitespace().collect::<Vec<_>>().join(" ");
    for said in [
        "throw 1: out of phase: series with coil B reversed; swap the two leads of one coil",
        "throw 3: out of phase: parallel with coil B reversed",
        "throw 1: hums: both coils are heard, and their hum adds instead of cancelling",
        "a plan drawn for start and finish gets out of phase when it is soldered by tap-found + and −: in this \
         pickup the + end is the finish of coil A and the start of coil B, because one magnet serves both coils",
    ] {
        assert!(check.contains(said), "{said}: {check}");
    }

    let heard = ["--guitar", "travel.toml", "--arrangements", "series,mode:1,mode:3"];
    let set = Set::heard(folder, &heard);
    let number = |name: &str, field: &str| set.arrangement(name)[field].as_f64().unwrap();
    // Thin: the fundamentals cancel, so what is left is quieter by far more than half, and brighter.
    for (throw, least) in [("mode:1", 6.0), ("mode:3", 12.0)] {
        assert!(number(throw, "drop_rms_db") < -least, "{throw}: {}", number(throw, "drop_rms_db"));
        assert_eq!(set.arrangement(throw)["in_phase"], false);
        let brightness =
            |name: &str| set.arrangement(name)["as_is"]["spectral_centroid_hz"].as_f64().unwrap();
        assert!(brightness(throw) > 1.3 * brightness("series"), "{throw}");
    }

    // The meter cannot see it: every reading is right, and the test that does see it is named.
    let read = ["probe", "--guitar", "travel.toml", "--read", "mode:1=6.6k,mode:3=1.66k", "--json"];
    let probe = told(folder, &read);
    assert_eq!(probe["verdict"], "as expected");
    let unseen = probe["unseen_by_dc"].as_array().unwrap();
    let turned =
        unseen.iter().find(|t| t["what"].as_str().unwrap().starts_with("coil B is turned round")).unwrap();
    assert!(turned["settle_by"].as_str().unwrap().contains("tap at the jack"), "{turned}");
}

#[test]
fn the_leads_and_the_plan_are_put_into_the_guitars_file_and_nothing_of_it_is_lost() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    succeeds(folder, &["presets", "copy", "drawer"]);
    let mine = "# my guitar\nformat = 1\nscale = \"610 mm\"\n[[pickup]]\nname = \"middle\"\nlike = \"mini\"\n\
        from_bridge = \"80 mm\"   # measured\n[controls]\nvolume = { pot = \"500k\" }\n";
    fs::write(folder.join("mine.toml"), mine).unwrap();
    let told = succeeds(folder, &["leads", "drawer.toml", "--save", "mine.toml"]);
    assert!(String::from_utf8_lossy(&told.stderr).contains("coil A, nearer the bridge, is `screws`"));
    let throws = ["lugs", "--switch", "on-on", "--throws", "series,parallel"];
    let told = succeeds(folder, &[&throws[..], &["--save", "mine.toml"]].concat());
    assert!(String::from_utf8_lossy(&told.stderr).contains("switch mode on pickup middle"));
    let saved = fs::read_to_string(folder.join("mine.toml")).unwrap();
    let mut lines = saved.lines();
    for line in mine.lines() {
        assert!(lines.any(|kept| kept == line), "`{line}` is not where it was:\n{saved}");
    }
    // What was put in is what the built-in end of the path has.
    succeeds(folder, &["presets", "copy", "travel"]);
    let of = |file: &str| {
        let figures = succeeds(folder, &["probe", "--guitar", file, "--json"]).stdout;
        let mut figures: Value = serde_json::from_slice(&figures).unwrap();
        figures.as_object_mut().unwrap().remove("guitar");
        figures
    };
    assert_eq!(of("mine.toml"), of("travel.toml"));

    // A second run changes its own values alone; a file that is wrong, or no guitar's, is left as it is.
    succeeds(folder, &["leads", "drawer.toml", "--save", "mine.toml"]);
    succeeds(folder, &[&throws[..], &["--save", "mine.toml"]].concat());
    assert_eq!(fs::read_to_string(folder.join("mine.toml")).unwrap(), saved);
    for (name, text) in [("wrong.toml", "format = 1\n[[pickup]]\nname = 1\n"), ("notes.txt", "to do\n")] {
        fs::write(folder.join(name), text).unwrap();
        for command in [&["leads", "drawer.toml"][..], &throws] {
            let refused = drywire(folder, &[command, &["--save", name]].concat());
            assert_eq!(refused.status.code(), Some(2), "{command:?} {name}");
            assert_eq!(fs::read_to_string(folder.join(name)).unwrap(), text);
        }
    }
    let refused = drywire(folder, &["leads", "drawer.toml", "--save", "mine.toml", "--pickup", "neck"]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&refused.stderr).contains("it has middle"));
    let refused = drywire(folder, &["leads", "drawer.toml", "--save", "new.toml"]);
    assert_eq!((refused.status.code(), folder.join("new.toml").exists()), (Some(2), false));
}
