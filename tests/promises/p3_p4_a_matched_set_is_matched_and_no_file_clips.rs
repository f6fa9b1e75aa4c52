//! P3. A matched set is matched: 0.05 LU (loudness) or 0.05 dB (RMS) between any two files, measured on the files as
//! written.
//!
//! P4. No file clips: the true peak is at most −1 dBTP in every file of a set.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use std::path::Path;

use crate::common::program::{Set, loudness_lufs, repository, rms_dbfs, succeeds, true_peak_dbtp, write_wav};
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};

const SPREAD: f64 = 0.05;
const CEILING: f64 = -1.0;

/// Measures every file with other meters than the program's.
fn assert_matched_and_unclipped(set: &Set, by: &str) {
    let mut levels = Vec::new();
    for arrangement in set.arrangements() {
        for kind in ["matched", "as_is"] {
            let (planes, rate) = set.read(arrangement[kind]["file"].as_str().unwrap());
            let peak = true_peak_dbtp(&planes, rate);
            assert!(peak <= CEILING, "{}: {peak} dBTP", arrangement[kind]["file"]);
            if kind == "matched" {
                levels.push(if by == "rms" { rms_dbfs(&planes) } else { loudness_lufs(&planes, rate) });
            }
        }
    }
    assert_eq!(set.figures["source"]["matched_by"], by);
    let (low, high) = levels.iter().fold((f64::MAX, f64::MIN), |(l, h), x| (l.min(*x), h.max(*x)));
    assert!(levels.len() > 1 && high - low <= SPREAD, "{by}: {levels:?}");
}

#[test]
fn the_files_of_a_matched_set_are_within_a_twentieth_of_a_loudness_unit_and_none_clips() {
    let folder = tempfile::tempdir().unwrap();
    let recording = repository("tests/data/harmonics_mono.wav");
    for by in ["loudness", "rms"] {
        for bits in ["16", "24", "32f"] {
            let set = Set::without_page(folder.path(), &[&recording, "--match", by, "--bits", bits]);
            assert_matched_and_unclipped(&set, by);
        }
    }
    let chord = repository("tests/data/chord_stereo.wav");
    assert_matched_and_unclipped(
        &Set::without_page(folder.path(), &[&chord, "--recorded-through", "series"]),
        "loudness",
    );
    assert_matched_and_unclipped(&Set::without_page(folder.path(), &[]), "loudness");
}

/// Noise bursts with pauses: loud and soft parts, which gates treat differently at different gains.
fn programme(bursts: &[(f64, usize, f64)], rate: u32) -> Vec<f64> {
    let mut state = 1u64;
    let mut previous = 0.0;
    let mut samples = Vec::new();
    for (level, tenths, colour) in bursts {
        for _ in 0..tenths * rate as usize / 10 {
            state = state.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
            let white = (state >> 33) as f64 / f64::from(1u32 << 30) - 1.0;
            previous = colour * previous + (1.0 - colour) * white;
            samples.push(level * previous);
        }
    }
    samples
}

#[test]
fn sets_of_random_sources_are_matched_and_unclipped() {
    let folder = tempfile::tempdir().unwrap();
    let bursts = prop::collection::vec((1e-3..0.99_f64, 2_usize..12, 0.0..0.98_f64), 2..6);
    let mut runner = TestRunner::new(Config { failure_persistence: None, ..Config::with_cases(12) });
    runner
        .run(&(bursts, prop::sample::select(vec!["16", "24"])), |(bursts, bits)| {
            let path = folder.path().join("source.wav");
            write_wav(&path, &[programme(&bursts, 44_100)], 44_100);
            let set = Set::without_page(folder.path(), &["source.wav", "--bits", bits]);
            let by = set.figures["source"]["matched_by"].as_str().unwrap().to_owned();
            assert_matched_and_unclipped(&set, &by);
            Ok(())
        })
        .unwrap();
}

#[test]
fn a_full_scale_source_is_lowered_and_not_clipped() {
    let folder = tempfile::tempdir().unwrap();
    // A sweep at full scale through the resonances, where the circuit's rise is largest.
    let rate = 48_000u32;
    let sweep: Vec<f64> = (0..rate * 2)
        .map(|n| {
            let t = f64::from(n) / f64::from(rate);
            let phase = std::f64::consts::TAU * 200.0 * 2.0 / (50f64).ln() * ((50f64).powf(t / 2.0) - 1.0);
            phase.sin()
        })
        .collect();
    write_wav(&folder.path().join("sweep.wav"), &[sweep], rate);
    let set = Set::without_page(folder.path(), &["sweep.wav", "--arrangements", "series,parallel,split-a"]);
    assert_matched_and_unclipped(&set, "loudness");
    let gain = set.arrangement("series")["as_is"]["gain_db"].as_f64().unwrap();
    assert!(gain < -1.0, "{gain}");
}

/// The warnings of a run of `hear` on a source of these samples, and its set.
fn warned(folder: &Path, samples: Vec<f64>, more: &[&str]) -> (Vec<String>, Set) {
    write_wav(&folder.join("take.wav"), &[samples], 44_100);
    let asked = ["hear", "take.wav", "--quiet", "--no-page", "--out", "set"];
    let output = succeeds(folder, &[&asked[..], more].concat());
    let told = String::from_utf8(output.stderr).unwrap();
    let figures = std::fs::read(folder.join("set/figures.json")).unwrap();
    let set = Set { folder: folder.join("set"), figures: serde_json::from_slice(&figures).unwrap() };
    let warnings: Vec<String> = told.lines().map(str::to_owned).collect();
    let notes = set.figures["notes"].to_string();
    for warning in &warnings {
        let text = warning.strip_prefix("warning: `take.wav`: ").expect("the source is named");
        assert!(notes.contains(text), "{text} is no note: {notes}");
    }
    (warnings, set)
}

#[test]
fn silence_is_told_once_and_nothing_is_called_matched() {
    let folder = tempfile::tempdir().unwrap();
    let (told, set) = warned(folder.path(), vec![0.0; 44_100], &[]);
    assert!(told.len() == 1 && told[0].contains("the source is silent: so is every file"), "{told:?}");
    assert_eq!(set.figures["source"]["matched_by"], "nothing");
    assert_eq!(set.figures["notes"].to_string().matches("silent").count(), 1);
    assert!(set.arrangement("series")["as_is"]["rms_dbfs"].is_null());
    let (told, set) = warned(folder.path(), vec![0.0; 44_100], &["--match", "rms"]);
    assert!(told.len() == 1 && set.figures["source"]["matched_by"] == "nothing", "{told:?}");
    // With hum the files are matched to each other by that.
    let (told, set) = warned(folder.path(), vec![0.0; 44_100], &["--hum", "50"]);
    assert!(
        told.len() == 1 && told[0].contains("the source is silent: the matched files bring hum"),
        "{told:?}"
    );
    assert_eq!(set.figures["source"]["matched_by"], "loudness");
    // A volume knob at zero is the guitar's silence and not the source's.
    let off = "format = 1\n[[pickup]]\nname = \"p\"\nlike = \"mini\"\n[controls]\nvolume = { pot = \"500k\", turned = 0 }\n";
    std::fs::write(folder.path().join("off.toml"), off).unwrap();
    let (told, set) = warned(folder.path(), programme(&[(0.3, 20, 0.5)], 44_100), &["--guitar", "off.toml"]);
    assert!(told.len() == 1 && told[0].contains("look at the volume in the guitar's file"), "{told:?}");
    assert_eq!(set.figures["source"]["matched_by"], "nothing");
}

#[test]
fn what_is_too_short_or_too_quiet_for_loudness_is_matched_by_rms_and_that_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let (told, set) = warned(folder.path(), programme(&[(0.3, 3, 0.5)], 44_100), &[]);
    assert!(
        told.len() == 1 && told[0].contains("lasts 300 ms, and an integrated loudness needs 400 ms"),
        "{told:?}"
    );
    assert_matched_and_unclipped(&set, "rms");
    let (told, set) = warned(folder.path(), programme(&[(2e-5, 20, 0.9)], 44_100), &[]);
    assert!(told.len() == 1 && told[0].contains("too quiet for an integrated loudness"), "{told:?}");
    assert_matched_and_unclipped(&set, "rms");
    let (told, set) = warned(folder.path(), programme(&[(0.3, 3, 0.5)], 44_100), &["--match", "rms"]);
    assert!(told.is_empty() && set.figures["source"]["matched_by"] == "rms", "{told:?}");
}
