//! The level of one pickup against another is found from a take through each alone: what was put on in the guitar's file comes
//! back, whatever the circuits and the pickups' places make beside it.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use crate::common::program::{Set, drywire, repository, succeeds, write_wav};
use serde_json::Value;
use std::path::Path;

const RATE: u32 = 44_100;

/// Two pickups of different circuits and places, the neck's `level` as it is put on.
fn guitar(level: &str) -> String {
    format!(
        "format = 1 # mine\n[[pickup]]\nname = \"bridge\"\nlike = \"hot-ceramic\"\n[[pickup]]\nname = \"neck\"\nlike = \"mini\"\n\
         from_bridge = \"150 mm\"\n{level}[[selector]]\nname = \"selector\"\ntable = \"three-way-toggle\"\n\
         joints = [[\"bridge\", \"1\"], [\"neck\", \"2\"], [\"out\", \"0\"]]\n"
    )
}

/// A take through each pickup alone of the guitar in `guitar.toml`, both at one gain.
fn takes(folder: &Path, source: &str, options: &[&str]) -> [Vec<f64>; 2] {
    let one = |pickup: &[&str], name: &str| {
        let fixed = [source, "--guitar", "guitar.toml", "--bits", "32f"];
        let set = Set::without_page(folder, &[&fixed, pickup, options].concat());
        let own = &set.arrangement(name)["as_is"];
        let gain = 10f64.powf(own["gain_db"].as_f64().unwrap() / 20.0);
        let (planes, rate) = set.read(own["file"].as_str().unwrap());
        assert_eq!(rate, RATE);
        planes[0].iter().map(|sample| sample / gain).collect()
    };
    if options.is_empty() {
        ["bridge", "neck"].map(|pickup| one(&["--pickup", pickup, "--arrangements", "series"], "series"))
    } else {
        ["selector:1", "selector:3"].map(|place| one(&["--arrangements", place], place))
    }
}

fn balance(folder: &Path, takes: [&[f64]; 2]) -> Value {
    for (name, samples) in ["a.wav", "b.wav"].into_iter().zip(takes) {
        let peak = takes.into_iter().flatten().fold(0.0f64, |peak, sample| peak.max(sample.abs()));
        write_wav(&folder.join(name), &[samples.iter().map(|sample| 0.5 * sample / peak).collect()], RATE);
    }
    // What is told is told against no level at all.
    std::fs::write(folder.join("guitar.toml"), guitar("")).unwrap();
    let asked =
        ["balance", "a.wav", "b.wav", "--between", "bridge,neck", "--guitar", "guitar.toml", "--json"];
    serde_json::from_slice(&drywire(folder, &asked).stdout).unwrap()
}

fn told(balance: &Value) -> f64 {
    balance["level_db"].as_f64().unwrap()
}

/// White noise of a peak, the same on every machine.
fn noise(seed: u64) -> impl Iterator<Item = f64> {
    let mut state = seed;
    std::iter::repeat_with(move || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        f64::from(u32::try_from(state >> 32).unwrap()) / f64::from(u32::MAX) * 2.0 - 1.0
    })
}

#[test]
fn a_level_put_on_one_signal_comes_back_within_a_tenth_of_a_decibel() {
    let folder = tempfile::tempdir().unwrap();
    let source = repository("tests/data/chord_stereo.wav");
    for level in [-3.0, 0.0, 4.5] {
        std::fs::write(folder.path().join("guitar.toml"), guitar(&format!("level = \"{level} dB\"\n")))
            .unwrap();
        let [bridge, neck] = takes(folder.path(), &source, &[]);
        let clean = balance(folder.path(), [&bridge, &neck]);
        assert!((told(&clean) - level).abs() < 0.1, "{level}: {clean:#}");
        assert_eq!(clean["taken_for"], "one-signal");
        assert_eq!(clean["doubts"].as_array().unwrap().len(), 0, "{clean:#}");

        // Some silence before one, the end of the other cut off, and noise 50 dB below full scale in both.
        let peak = bridge.iter().chain(&neck).fold(0.0f64, |peak, sample| peak.max(sample.abs()));
        let hiss = 10f64.powf(-50.0 / 20.0) * 2.0 * peak;
        let with_noise = |samples: &[f64], seed| -> Vec<f64> {
            samples.iter().zip(noise(seed)).map(|(sample, noise)| sample + hiss * noise).collect()
        };
        let later: Vec<f64> = std::iter::repeat_n(0.0, 16_317).chain(neck.iter().copied()).collect();
        let shorter = &bridge[..bridge.len() - 15_000];
        let rough = balance(folder.path(), [&with_noise(shorter, 1), &with_noise(&later, 2)]);
        assert!((told(&rough) - level).abs() < 0.1, "{level}: {rough:#}");
        assert!((rough["offset_s"].as_f64().unwrap() - 0.37).abs() < 0.03, "{rough:#}");
    }
}

#[test]
fn a_level_put_on_strings_that_each_pickup_hears_at_its_place_comes_back_within_what_is_told() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("guitar.toml"), guitar("level = \"-3 dB\"\n")).unwrap();
    for chord in ["022100", "x32010", "320003", "133211"] {
        let pluck = ["pluck", "--chord", chord, "--channels", "coils", "--every-pickup", "--replace"];
        let made = ["--guitar", "guitar.toml", "--rate", "44100", "--out", "coils.wav"];
        std::fs::write(folder.path().join("guitar.toml"), guitar("level = \"-3 dB\"\n")).unwrap();
        succeeds(folder.path(), &[&pluck[..], &made].concat());
        let [bridge, neck] = takes(folder.path(), "coils.wav", &["--source-channels", "coils"]);
        let told_of = balance(folder.path(), [&bridge, &neck]);
        assert_eq!(told_of["taken_for"], "strings");
        let deviation = told_of["sd_db"].as_f64().unwrap();
        assert!((0.9..1.3).contains(&deviation), "{told_of:#}");
        assert!((told(&told_of) + 3.0).abs() < 1.5 * deviation, "{chord}: {told_of:#}");
        assert_eq!(told_of["doubts"].as_array().unwrap().len(), 0, "{told_of:#}");
    }
}

#[test]
fn the_level_is_put_into_the_guitars_file_and_is_heard_from_there() {
    let folder = tempfile::tempdir().unwrap();
    let source = repository("tests/data/chord_stereo.wav");
    std::fs::write(folder.path().join("guitar.toml"), guitar("level = \"-3 dB\"\n")).unwrap();
    let [bridge, neck] = takes(folder.path(), &source, &[]);
    balance(folder.path(), [&bridge, &neck]);
    let asked = ["balance", "a.wav", "b.wav", "--between", "bridge,neck", "--guitar", "guitar.toml"];
    let shown = succeeds(folder.path(), &[&asked[..], &["--save"]].concat());
    let shown = String::from_utf8(shown.stdout).unwrap();
    assert!(shown.contains("neck against bridge: level −3.0 dB"), "{shown}");
    let saved = std::fs::read_to_string(folder.path().join("guitar.toml")).unwrap();
    assert_eq!(saved.replace("level = \"-3.0 dB\"\n", ""), guitar(""), "only that value");
    assert_ne!(saved, guitar(""));

    // What is no answer is not put in: one take is of something else.
    let other: Vec<f64> = noise(3).take(bridge.len()).map(|sample| 0.1 * sample).collect();
    write_wav(&folder.path().join("b.wav"), &[other], RATE);
    let refused = drywire(folder.path(), &[&asked[..], &["--save"]].concat());
    assert_eq!(refused.status.code(), Some(1), "{refused:?}");
    let shown = String::from_utf8(refused.stdout).unwrap();
    assert!(shown.contains("doubtful: "), "{shown}");
    assert_eq!(std::fs::read_to_string(folder.path().join("guitar.toml")).unwrap(), saved);
}

#[test]
fn a_level_that_is_doubtful_ends_with_exit_code_1_and_says_why() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("guitar.toml"), guitar("")).unwrap();
    let sound: Vec<f64> = noise(4).take(4 * 44_100).map(|sample| 0.1 * sample).collect();
    let tone = |gain: f64| -> Vec<f64> {
        let swell = |i: usize| 1.0 + 0.5 * (f64::from(u32::try_from(i).unwrap()) * 1e-4).sin();
        (0..4 * 44_100)
            .map(|i| gain * swell(i) * (f64::from(u32::try_from(i).unwrap()) * 0.0319).sin())
            .collect()
    };
    write_wav(&folder.path().join("a.wav"), std::slice::from_ref(&sound), RATE);
    write_wav(&folder.path().join("copy.wav"), &[sound], RATE);
    write_wav(&folder.path().join("low.wav"), &[tone(0.4)], RATE);
    write_wav(&folder.path().join("lower.wav"), &[tone(0.3)], RATE);
    let asked = |takes: [&str; 2], more: &[&str]| {
        let line = ["balance", takes[0], takes[1], "--between", "bridge,neck", "--guitar", "guitar.toml"];
        let output = drywire(folder.path(), &[&line[..], more].concat());
        assert_eq!(output.status.code(), Some(1), "{output:?}");
        String::from_utf8(output.stdout).unwrap()
    };
    for takes in [["a.wav", "a.wav"], ["a.wav", "copy.wav"]] {
        let shown = asked(takes, &[]);
        let why = format!("doubtful: {} and {} are the same recording", takes[0], takes[1]);
        assert!(shown.contains(&why), "{shown}");
        assert!(!shown.contains("± 0.0"), "{shown}");
    }
    let single = asked(["low.wav", "lower.wav"], &[]);
    assert!(single.contains("only 1 third octave is loud enough"), "{single}");
    assert!(
        single.contains("one band tells nothing of how sure that is") && !single.contains('±'),
        "{single}"
    );
    // The band about the tone, its frequency without a sign.
    assert!(single.lines().any(|line| line.trim_start().starts_with("225 ")), "{single}");
    let json: Value = serde_json::from_str(&asked(["low.wav", "lower.wav"], &["--json"])).unwrap();
    assert!(json["sd_db"].is_null() && json["bands"].as_array().unwrap().len() == 1, "{json:#}");
    let help = String::from_utf8(succeeds(folder.path(), &["balance", "--help"]).stdout).unwrap();
    assert!(help.contains("Exit code 1: the level is doubtful"), "{help}");
}

#[test]
fn a_level_beyond_what_a_file_may_state_is_refused_by_what_the_file_says() {
    let folder = tempfile::tempdir().unwrap();
    let source = repository("tests/data/chord_stereo.wav");
    std::fs::write(folder.path().join("guitar.toml"), guitar("level = \"-9 dB\"\n")).unwrap();
    let [bridge, neck] = takes(folder.path(), &source, &[]);
    balance(folder.path(), [&bridge, &neck]);
    let low = guitar("").replace("like = \"hot-ceramic\"\n", "like = \"hot-ceramic\"\nlevel = \"-35 dB\"\n");
    std::fs::write(folder.path().join("guitar.toml"), &low).unwrap();
    let asked =
        ["balance", "a.wav", "b.wav", "--between", "bridge,neck", "--guitar", "guitar.toml", "--save"];
    let refused = drywire(folder.path(), &asked);
    let told = String::from_utf8_lossy(&refused.stderr);
    assert_eq!(refused.status.code(), Some(2), "{told}");
    assert!(told.contains("neck would have a level of -44.0 dB; allowed are -40 dB to 40 dB"), "{told}");
    assert!(
        told.contains("state a level of bridge that is nearer to 0 dB") && !told.contains("guitar.toml:"),
        "{told}"
    );
    assert_eq!(std::fs::read_to_string(folder.path().join("guitar.toml")).unwrap(), low);
}

#[test]
fn takes_and_pickups_that_tell_no_level_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("guitar.toml"), guitar("")).unwrap();
    write_wav(&folder.path().join("silent.wav"), &[vec![0.0; 88_200]], RATE);
    let sound: Vec<f64> = noise(4).take(88_200).map(|sample| 0.1 * sample).collect();
    write_wav(&folder.path().join("short.wav"), &[sound[..2000].to_vec()], RATE);
    write_wav(&folder.path().join("sound.wav"), &[sound], RATE);
    for (line, said) in [
        (&["sound.wav", "silent.wav", "--between", "bridge,neck"][..], "`silent.wav` is silent"),
        (&["sound.wav", "short.wav", "--between", "bridge,neck"], "in common; wanted is"),
        (
            &["sound.wav", "sound.wav", "--between", "bridge,bridge"],
            "both takes are said to be of pickup `bridge`",
        ),
        (&["sound.wav", "sound.wav", "--between", "bridge"], "--between names 1; wanted are two pickups"),
        (&["sound.wav", "sound.wav", "--between", "bridge,middle"], "middle"),
        (&["sound.wav", "nothing.wav", "--between", "bridge,neck"], "nothing.wav"),
        (&["sound.wav", "sound.wav", "--between", "bridge,neck", "--save"], "--guitar"),
    ] {
        let guitar = if line.contains(&"--save") { &[][..] } else { &["--guitar", "guitar.toml"] };
        let refused = drywire(folder.path(), &[&["balance"], line, guitar].concat());
        let told = String::from_utf8_lossy(&refused.stderr);
        assert_eq!(refused.status.code(), Some(2), "{line:?}: {told}");
        assert!(told.contains(said), "{line:?}: {told}");
    }
    // What is no number is told without an option that this command has not.
    let mut odd = std::fs::read(folder.path().join("sound.wav")).unwrap();
    let last = odd.len() - 4;
    odd[last..].copy_from_slice(&f32::NAN.to_le_bytes());
    std::fs::write(folder.path().join("odd.wav"), odd).unwrap();
    let refused = drywire(
        folder.path(),
        &["balance", "sound.wav", "odd.wav", "--between", "bridge,neck", "--guitar", "guitar.toml"],
    );
    let told = String::from_utf8_lossy(&refused.stderr);
    assert!(refused.status.code() == Some(2) && told.contains("odd.wav"), "{told}");
    assert!(told.contains("let a sound editor repair it") && !told.contains("--repair"), "{told}");
    let built_in =
        ["balance", "sound.wav", "sound.wav", "--between", "bridge,neck", "--guitar", "set-neck", "--save"];
    assert_eq!(drywire(folder.path(), &built_in).status.code(), Some(2), "a built-in guitar has no file");
}
