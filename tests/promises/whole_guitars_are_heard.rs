//! A whole guitar is heard as one circuit: what its selector chooses, with a channel for each coil exactly, and with
//! every fault of its file told.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]
#![allow(clippy::cast_possible_truncation, reason = "samples go into a file of floats")]

use crate::common::program::{Set, drywire, read_wav, succeeds};

const TWO: &str = "format = 1\n\
    joints = []\n\
    [[pickup]]\nname = \"bridge\"\nlike = \"mini\"\n\
    [[pickup]]\nname = \"neck\"\nlike = \"mini\"\nfrom_bridge = \"150 mm\"\n";

fn refused(file: &str, arguments: &[&str]) -> String {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("guitar.toml"), file).unwrap();
    let output = drywire(folder.path(), &[arguments, &["--guitar", "guitar.toml"]].concat());
    assert_eq!(output.status.code(), Some(2), "{}", String::from_utf8_lossy(&output.stdout));
    String::from_utf8(output.stderr).unwrap()
}

/// The channels of a set's file before the gain that it was written with.
fn before_its_gain(set: &Set, name: &str) -> Vec<f64> {
    let file = &set.arrangement(name)["as_is"];
    let gain = 10f64.powf(file["gain_db"].as_f64().unwrap() / 20.0);
    let (planes, _) = set.read(file["file"].as_str().unwrap());
    planes[0].iter().map(|x| x / gain).collect()
}

#[test]
fn a_position_with_one_pickup_sounds_as_that_pickup_by_itself() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let pluck =
        ["pluck", "--chord", "022100", "--seconds", "1s", "--channels", "coils", "--guitar", "set-neck"];
    succeeds(folder.path(), &[&pluck[..], &["--every-pickup", "--out", &at("all.wav")]].concat());
    let (planes, rate) = read_wav(&folder.path().join("all.wav"));
    assert_eq!(planes.len(), 4);
    let spec = hound::WavSpec {
        channels: 2,
        sample_rate: rate,
        bits_per_sample: 32,
        sample_format: hound::SampleFormat::Float,
    };
    let mut neck = hound::WavWriter::create(folder.path().join("neck.wav"), spec).unwrap();
    for (a, b) in planes[2].iter().zip(&planes[3]) {
        neck.write_sample(*a as f32).unwrap();
        neck.write_sample(*b as f32).unwrap();
    }
    neck.finalize().unwrap();
    let heard = |arguments: &[&str]| {
        let all = ["--guitar", "set-neck", "--bits", "32f", "--match", "rms", "--source-channels", "coils"];
        Set::without_page(folder.path(), &[&all, arguments].concat())
    };
    let whole = heard(&[&at("all.wav"), "--arrangements", "positions"]);
    let ours = before_its_gain(&whole, "selector:3");
    // The neck pickup lies farther from the bridge, where the strings swing wider.
    assert!(whole.arrangement("selector:3")["drop_rms_db"].as_f64().unwrap() > 3.0);
    let alone = heard(&[&at("neck.wav"), "--pickup", "neck", "--arrangements", "series"]);
    let theirs = before_its_gain(&alone, "series");
    assert_eq!(ours.len(), theirs.len());
    let energy = |x: &mut dyn Iterator<Item = f64>| x.map(|x| x * x).sum::<f64>();
    let off = energy(&mut ours.iter().zip(&theirs).map(|(a, b)| a - b)) / energy(&mut theirs.iter().copied());
    assert!(10.0 * off.log10() < -100.0, "{off}");
}

#[test]
fn one_channel_is_taken_with_its_limits_said() {
    let folder = tempfile::tempdir().unwrap();
    let set = Set::heard(
        folder.path(),
        &[
            "low-note",
            "--guitar",
            "bolt-on-three-single",
            "--arrangements",
            "positions",
            "--baseline",
            "selector:3",
        ],
    );
    assert_eq!(set.arrangements().len(), 5);
    assert!(set.arrangements().iter().all(|a| a["approximate"] == true));
    assert_eq!(set.figures["pickup"], "whole guitar");
    assert!(set.folder.join("matched/selector-4.wav").is_file());
    assert!(std::fs::read_to_string(set.folder.join("listen.html")).unwrap().contains("The whole guitar"));
}

#[test]
fn every_fault_of_how_pickups_are_joined_is_told() {
    let file = TWO.replace("joints = []", "joints = [[\"bridge\", \"brige\"], [\"out\", \"out\"]]")
        + "[[selector]]\nname = \"s\"\ntable = \"three-way\"\njoints = []\n\
           [[selector]]\nname = \"t\"\ntable = \"three-way-toggle\"\nstands = 4\njoints = [[\"middle\", \"7\"]]\n\
           [blend]\nends = [\"bridge\"]\n";
    let told = refused(&file, &["figures"]);
    for said in [
        "the guitar has nothing called `brige` to join",
        "did you mean `bridge`?",
        "`three-way` is no switch",
        "that is `three-way-toggle`, `on-on-on` or `on-off-on` here",
        "`three-way-toggle` has no throw 4",
    ] {
        assert!(told.contains(said), "{said}\n{told}");
    }
    let told = refused(
        &(TWO.to_owned()
            + "[[selector]]\nname = \"t\"\ntable = \"three-way-toggle\"\njoints = [[\"middle\", \"1\"]]\n"),
        &["figures"],
    );
    assert!(told.contains("nothing called `middle` to join"), "{told}");
    let told = refused(
        &TWO.replace("joints = []", "joints = [[\"bridge\", \"out\"]]"),
        &["figures", "--arrangements", "bridge=series"],
    );
    assert!(told.contains("no joint, selector or blend names `neck`"), "{told}");
}

#[test]
fn a_position_that_is_not_there_is_refused_with_those_that_are() {
    let joined = TWO.replace("joints = []", "joints = [[\"bridge\", \"neck\", \"out\"]]");
    for (asked, said) in [
        ("bridge=series+neck=alone", "pickup `neck` can not be connected as `alone`"),
        ("middle=series", "the guitar has no pickup `middle`"),
        ("bridge=series+x", "`x` is no part of a position"),
        ("bridge=series+mode:1", "no switch is soldered in"),
        ("positions", "has no selector"),
        ("bridge=series,series", "is no part of a position"),
    ] {
        let told = refused(&joined, &["figures", "--arrangements", asked]);
        assert!(told.contains(said), "{asked}: {told}");
    }
    let told = refused(TWO, &["figures", "--arrangements", "bridge=series"]);
    assert!(told.contains("does not say how its pickups are joined"), "{told}");
    let told = refused(&joined, &["figures", "--pickup", "neck", "--arrangements", "bridge=series"]);
    assert!(told.contains("--pickup says neck"), "{told}");
}

#[test]
fn a_buffer_takes_the_cable_off_the_coils_and_the_coils_off_the_meter() {
    let figures = |more: &str| -> serde_json::Value {
        let folder = tempfile::tempdir().unwrap();
        let file = format!("format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\"\n{more}");
        std::fs::write(folder.path().join("guitar.toml"), file).unwrap();
        let output = succeeds(folder.path(), &["figures", "--json", "--guitar", "guitar.toml"]);
        serde_json::from_slice::<serde_json::Value>(&output.stdout).unwrap()["arrangements"][0].clone()
    };
    let plain = figures("");
    let buffered = figures("[buffer]\ninput = \"1M\"\noutput = \"1k\"\n");
    assert!(buffered["resonance_hz"].as_f64().unwrap() > 1.5 * plain["resonance_hz"].as_f64().unwrap());
    assert!(buffered["dc_at_jack_ohm"].is_null());
    let told = refused("format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\"\n[buffer]\n", &["probe"]);
    assert!(told.contains("reads nothing of the coils"), "{told}");
}
