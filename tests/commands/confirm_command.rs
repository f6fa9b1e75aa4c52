//! `confirm`: what it tells of recordings after soldering, and what it refuses.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]
#![allow(clippy::cast_possible_truncation, reason = "samples that only get smaller")]

use std::path::Path;

use hound::{SampleFormat, WavReader, WavSpec, WavWriter};
use serde_json::Value;

use crate::common::program::{drywire, succeeds};

const WIRED: &str = "\n[[switch]]\nname = \"mode\"\non = \"bridge\"\ntable = \"on-on\"\n\
    joints = [[\"a+\", \"hot\", \"L3\"], [\"a-\", \"L1\", \"R2\"], [\"b+\", \"L2\"], [\"b-\", \"ground\", \"R3\"]]\n";

/// Four strums, twice, each through every arrangement: `one` and `two` hold them.
fn played(folder: &Path) {
    succeeds(folder, &["presets", "copy", "set-neck", "mine.toml"]);
    let text = std::fs::read_to_string(folder.join("mine.toml")).unwrap();
    let text: String = text.split("[[selector]]").next().unwrap().to_owned()
        + WIRED
        + "[controls]"
        + text.split("[controls]").nth(1).unwrap();
    std::fs::write(folder.join("mine.toml"), text).unwrap();
    for (name, seed, place) in [("one", "3", "135mm"), ("two", "4", "143mm")] {
        played_at(folder, name, seed, place);
    }
}

/// Four strums that are picked at this place, through every arrangement.
fn played_at(folder: &Path, name: &str, seed: &str, place: &str) {
    let source = format!("{name}.wav");
    let chord = ["pluck", "--notes=- 022100:1.2 022100 022100 022100", "--tempo", "60", "--seed", seed];
    let how =
        ["--pluck-at", place, "--channels", "coils", "--guitar", "mine.toml", "--out", &source, "--quiet"];
    succeeds(folder, &[&chord[..], &how].concat());
    let voices = "series,parallel,split-a,parallel-reversed";
    let through = ["hear", &source, "--guitar", "mine.toml", "--source-channels", "coils"];
    let how = ["--arrangements", voices, "--no-page", "--quiet", "--out", name];
    succeeds(folder, &[&through[..], &how].concat());
}

fn samples(path: &Path) -> Vec<i32> {
    WavReader::open(path).unwrap().samples::<i32>().map(Result::unwrap).collect()
}

fn write(path: &Path, samples: &[i32]) {
    let spec =
        WavSpec { channels: 1, sample_rate: 48_000, bits_per_sample: 24, sample_format: SampleFormat::Int };
    let mut writer = WavWriter::create(path, spec).unwrap();
    for sample in samples {
        writer.write_sample(*sample).unwrap();
    }
    writer.finalize().unwrap();
}

fn told(folder: &Path, arguments: &[&str], code: i32) -> Value {
    let output = drywire(folder, &[&["confirm", "--guitar", "mine.toml", "--json"], arguments].concat());
    let error = String::from_utf8_lossy(&output.stderr);
    assert_eq!(
        output.status.code(),
        Some(code),
        "{arguments:?}: {error}{}",
        String::from_utf8_lossy(&output.stdout)
    );
    serde_json::from_slice(&output.stdout).unwrap()
}

fn verdicts(told: &Value) -> Vec<(&str, &str, u64)> {
    let takes = told["takes"].as_array().unwrap().iter();
    takes
        .map(|take| {
            let text = |key: &str| take[key].as_str().unwrap();
            (text("name"), text("verdict"), take["strums"].as_u64().unwrap())
        })
        .collect()
}

#[test]
fn takes_are_told_against_what_is_drawn() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    played(folder);
    let right = [
        "mode:1=one/as-is/series.wav",
        "mode:3=one/as-is/parallel.wav",
        "mode:1=two/as-is/series.wav",
        "mode:3=two/as-is/parallel.wav",
    ];
    let json = told(folder, &right, 0);
    let expected = [("mode:1", "cannot be told", 4), ("mode:3", "consistent", 4)];
    assert_eq!(verdicts(&json), [expected, expected].concat(), "{json}");
    assert_eq!(json["takes"][1]["file"], "parallel.wav");
    assert_eq!(json["takes"][1]["consistent_with"][0]["name"], "parallel");
    assert_eq!(json["takes"][0]["consistent_with"], Value::Array(Vec::new()));
    let difference = &json["differences"][0];
    assert_eq!(difference["between"], serde_json::json!(["mode:1", "mode:3"]));
    let level = |key: &str| difference[key].as_f64().unwrap();
    assert!((level("level_db") - level("foretold_db")).abs() < 2.5 * level("level_sd_db"), "{difference}");
    assert!(difference["bands"].as_array().unwrap().len() > 12);
    assert!(json["takes"][1]["words"].as_str().unwrap().contains("crossed in every throw"));

    let table = succeeds(folder, &[&["confirm", "--guitar", "mine.toml"], &right[..]].concat());
    let table = String::from_utf8(table.stdout).unwrap();
    for part in ["mode:3 (parallel.wav, 8 strums): consistent", "foretold", "amplifier"] {
        assert!(table.contains(part), "{part}: {table}");
    }

    // A coil reversed in the one throw; both throws exchanged; a throw that does nothing.
    let reversed = ["mode:1=one/as-is/series.wav", "mode:3=two/as-is/parallel-reversed.wav"];
    let json = told(folder, &reversed, 1);
    assert!(json["takes"][1]["words"].as_str().unwrap().contains("out of phase"), "{json}");
    let swapped = ["mode:1=one/as-is/parallel.wav", "mode:3=two/as-is/series.wav"];
    let json = told(folder, &swapped, 1);
    assert!(json["takes"][1]["words"].as_str().unwrap().contains("swapped"), "{json}");
    let dead = ["mode:1=one/as-is/series.wav", "mode:3=two/as-is/series.wav"];
    let json = told(folder, &dead, 1);
    assert!(json["takes"][1]["words"].as_str().unwrap().contains("does not do what is drawn"), "{json}");
    assert_eq!(json["takes"][1]["consistent_with"][0]["name"], "series");
    let split = ["mode:1=one/as-is/series.wav", "mode:3=two/as-is/split-a.wav"];
    let json = told(folder, &split, 1);
    let names: Vec<&str> = json["takes"][1]["consistent_with"]
        .as_array()
        .unwrap()
        .iter()
        .map(|own| own["name"].as_str().unwrap())
        .collect();
    assert!(names.starts_with(&["split-a", "split-a-open"]), "{names:?}");
}

#[test]
fn a_chord_that_is_picked_elsewhere_condemns_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    played(folder);
    for place in ["60mm", "80mm", "100mm", "210mm"] {
        played_at(folder, place, "5", place);
        let other = format!("mode:3={place}/as-is/parallel.wav");
        let json = told(folder, &["mode:1=one/as-is/series.wav", &other], 0);
        assert_ne!(json["takes"][1]["verdict"], "not consistent", "{place}: {json}");
    }
}

#[test]
fn one_recording_holds_all_blocks_and_faulty_takes_are_said() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    played(folder);
    let rest = vec![0; 48_000 * 2];
    let block = |name: &str, voice: &str| {
        let mut samples = samples(&folder.join(format!("{name}/as-is/{voice}.wav")));
        // The hand damps the strings.
        let count = samples.len();
        for (left, sample) in samples.iter_mut().rev().take(4800).enumerate() {
            *sample = (f64::from(*sample) * left as f64 / 4800.0) as i32;
        }
        samples.truncate(count);
        [samples, rest.clone()].concat()
    };
    let all =
        [block("one", "series"), block("one", "parallel"), block("two", "series"), block("two", "parallel")]
            .concat();
    write(&folder.join("all.wav"), &all);
    let order = ["all.wav", "--order", "mode:1,mode:3,mode:1,mode:3"];
    let json = told(folder, &order, 0);
    let expected = [("mode:1", "cannot be told", 4), ("mode:3", "consistent", 4)];
    assert_eq!(verdicts(&json), [expected, expected].concat(), "{json}");

    // A recording is never replaced, whatever it is called.
    write(&folder.join("all=1.svg"), &all);
    let before = std::fs::read(folder.join("all=1.svg")).unwrap();
    let over = ["all=1.svg", "--order", "mode:1,mode:3,mode:1,mode:3", "--picture", "all=1.svg", "--replace"];
    let refused = drywire(folder, &[&["confirm", "--guitar", "mine.toml"], &over[..]].concat());
    assert_eq!(refused.status.code(), Some(2), "{}", String::from_utf8_lossy(&refused.stderr));
    assert_eq!(std::fs::read(folder.join("all=1.svg")).unwrap(), before);

    // So many rests are not in it.
    let refused =
        drywire(folder, &["confirm", "--guitar", "mine.toml", "all.wav", "--order", "mode:1,mode:3,mode:1"]);
    let error = String::from_utf8(refused.stderr).unwrap();
    assert_eq!(refused.status.code(), Some(2));
    assert!(error.contains("16 strums and 3 rests") && error.contains("3 blocks have 2 rests"), "{error}");

    let own = samples(&folder.join("two/as-is/parallel.wav"));
    let peak = own.iter().map(|sample| sample.abs()).max().unwrap();
    let clipped: Vec<i32> =
        own.iter().map(|sample| (sample * (8_000_000 / peak)).clamp(-3_000_000, 3_000_000)).collect();
    write(&folder.join("clipped.wav"), &clipped);
    write(&folder.join("muted.wav"), &vec![0; own.len()]);
    let loudest = own.iter().position(|sample| sample.abs() == peak).unwrap();
    write(&folder.join("short.wav"), &own[loudest..loudest + 480]);
    let louder: Vec<i32> = own.iter().map(|sample| sample * 3).collect();
    write(&folder.join("louder.wav"), &louder);
    for (file, words) in [
        ("mode:3=clipped.wav", "peaks are cut off"),
        ("mode:3=muted.wav", "nothing is heard"),
        ("mode:3=short.wav", "no strum stands out"),
        ("mode:3=louder.wav", "gain of the recording"),
    ] {
        let json = told(folder, &["mode:1=one/as-is/series.wav", file], 0);
        assert_eq!(json["takes"][1]["verdict"], "cannot be told", "{json}");
        assert!(json["takes"][1]["words"].as_str().unwrap().contains(words), "{json}");
    }
    // What is cut off, and a name with an equals sign.
    let bytes = std::fs::read(folder.join("two/as-is/parallel.wav")).unwrap();
    std::fs::create_dir(folder.join("d=x")).unwrap();
    std::fs::write(folder.join("d=x/take=1.wav"), &bytes[..bytes.len() * 4 / 5]).unwrap();
    let line = ["confirm", "--guitar", "mine.toml", "mode:1=one/as-is/series.wav", "mode:3=d=x/take=1.wav"];
    let cut = drywire(folder, &line);
    assert_eq!(cut.status.code(), Some(0), "{}", String::from_utf8_lossy(&cut.stderr));
    assert!(String::from_utf8_lossy(&cut.stderr).contains("warning: d=x/take=1.wav: "));
    // A gain that is changed between two takes of one throw.
    let takes = ["mode:1=one/as-is/series.wav", "mode:3=two/as-is/parallel.wav", "mode:3=louder.wav"];
    let json = told(folder, &takes, 0);
    assert!(json["takes"][1]["words"].as_str().unwrap().contains("dB apart"), "{json}");
}

#[test]
fn what_was_told_is_drawn_and_kept_and_nothing_is_replaced() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    played(folder);
    let line = [
        "confirm",
        "--guitar",
        "mine.toml",
        "mode:1=one/as-is/series.wav",
        "mode:3=two/as-is/parallel.wav",
        "--save",
        "--picture",
        "picture.svg",
        "--quiet",
    ];
    succeeds(folder, &line);
    succeeds(folder, &line);
    let mut kept: Vec<String> = std::fs::read_dir(folder.join("readings"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    kept.sort();
    assert_eq!(kept.len(), 2, "{kept:?}");
    let text = std::fs::read_to_string(folder.join("readings").join(&kept[0])).unwrap();
    let json: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(json["date"].as_str().unwrap().len(), 10);
    assert_eq!(json["takes"][1]["verdict"], "consistent");
    let picture = std::fs::read_to_string(folder.join("picture.svg")).unwrap();
    let drawn = roxmltree::Document::parse(&picture).unwrap();
    assert!(
        drawn
            .descendants()
            .any(|node| node.text().is_some_and(|text| text.contains("mode:3 against mode:1")))
    );
    std::fs::write(folder.join("picture.svg"), "mine").unwrap();
    let refused = drywire(folder, &line);
    assert_eq!(refused.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&refused.stderr).contains("--replace"));
    assert_eq!(std::fs::read_to_string(folder.join("picture.svg")).unwrap(), "mine");
}

#[test]
fn what_tells_nothing_is_refused_with_what_to_do() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    write(&folder.join("a.wav"), &vec![0; 4800]);
    write(&folder.join("b.wav"), &(0..4800).map(|n| n * 700 % 1_000_000).collect::<Vec<i32>>());
    std::fs::copy(folder.join("b.wav"), folder.join("c.wav")).unwrap();
    let cases: [(&[&str], &str, &str); 11] = [
        (&["series=b.wav", "parallel=c.wav"], "`b.wav` and `c.wav` are one recording", "that was made of it"),
        (&["--flips", "a.wav", "--between", "series,series"], "`series` twice", "comma"),
        (&["series=a.wav", "parallel=b.wav", "--picture", "p.png"], "does not end in `.svg`", "p.svg"),
        (&["a.wav"], "does not say in which throw", "--order"),
        (&["series=a.wav"], "only `series` was recorded", "another throw"),
        (&["series=a.wav", "sideways=a.wav"], "sideways", "name one"),
        (&["series=none.wav", "parallel=a.wav"], "none.wav", "hint"),
        (&["a.wav", "a.wav", "--order", "series,parallel"], "2 recordings", "one recording"),
        (&["--flips", "a.wav", "--between", "series"], "wanted are two throws", "comma"),
        (&["--flips", "a.wav", "--between", "series,parallel"], "rings and steps", "every half second"),
        (
            &["series=a.wav", "parallel=a.wav", "--save", "--guitar", "set-neck"],
            "has no folder",
            "presets copy",
        ),
    ];
    for (arguments, message, hint) in cases {
        let refused = drywire(folder, &[&["confirm"], arguments].concat());
        let error = String::from_utf8(refused.stderr).unwrap();
        assert_eq!(refused.status.code(), Some(2), "{arguments:?}: {error}");
        assert!(error.contains(message) && error.contains(hint), "{arguments:?}: {error}");
    }
}
