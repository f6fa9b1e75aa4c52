//! Hum is heard as the windings say: over a silent source the as-is files hold what each arrangement picks up, and over
//! any other it is added at its true relation.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use crate::common::program::{Set, drywire, repository, rms_dbfs, write_wav};
use std::f64::consts::TAU;
use std::path::Path;

/// Two per cent more turns on coil B, by which its ohms scale all else: R goes with the turns and L with their square.
const UNEQUAL: &str = "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"vintage-full-size\"\n\
    [pickup.coil_b]\nresistance = \"3978\"\n";

fn heard(folder: &Path, source: &str, arguments: &[&str]) -> Set {
    std::fs::write(folder.join("unequal.toml"), UNEQUAL).unwrap();
    let all = [
        source,
        "--bits",
        "32f",
        "--arrangements",
        "series,parallel,split-a,split-b,split-a-open",
        "--no-page",
    ];
    Set::heard(folder, &[&all, arguments].concat())
}

fn silence(folder: &Path, channels: usize) -> String {
    let path = folder.join(format!("silence-{channels}.wav"));
    write_wav(&path, &vec![vec![0.0; 88_200]; channels], 44_100);
    path.display().to_string()
}

fn as_is(set: &Set, name: &str) -> Vec<Vec<f64>> {
    set.read(set.arrangement(name)["as_is"]["file"].as_str().unwrap()).0
}

/// The amplitude of a plane at one frequency, over whole cycles.
fn amplitude(plane: &[f64], frequency: f64) -> f64 {
    let turn = TAU * frequency / 44_100.0;
    let (re, im) = plane.iter().enumerate().fold((0.0, 0.0), |(re, im), (n, x)| {
        (re + x * (turn * n as f64).cos(), im + x * (turn * n as f64).sin())
    });
    2.0 * f64::hypot(re, im) / plane.len() as f64
}

#[test]
fn two_per_cent_more_turns_leave_series_34_db_down_and_parallel_far_below() {
    // Source: physics of two windings; with R ∝ n and L ∝ n² what is left of one coil's hum is −34 dB in series.
    let folder = tempfile::tempdir().unwrap();
    for (channels, mains, kind) in [(1, "50", "stereo"), (2, "60", "stereo"), (2, "50", "coils")] {
        let source = silence(folder.path(), channels);
        let arguments = ["--guitar", "unequal.toml", "--hum", mains, "--source-channels", kind];
        let set = heard(folder.path(), &source, &arguments);
        let level = |name: &str| rms_dbfs(&as_is(&set, name));
        let alone = level("split-a");
        assert!((alone + 50.0).abs() < 0.5, "one coil alone has the level that is stated: {alone}");
        assert!((level("split-b") - alone).abs() < 0.5, "one coil is as good as the other");
        let (series, parallel) = (level("series") - alone, level("parallel") - alone);
        assert!((series + 34.0).abs() < 1.0, "{kind}, {mains} Hz: series is {series} dB against one coil");
        assert!(parallel < series - 6.0, "{kind}, {mains} Hz: parallel is {parallel} dB against one coil");
        let planes = as_is(&set, "split-a");
        assert!(planes.iter().all(|plane| *plane == planes[0]), "every channel has the same hum");
    }
}

#[test]
fn matched_coils_leave_nothing_and_their_leads_very_little() {
    let folder = tempfile::tempdir().unwrap();
    let source = silence(folder.path(), 1);
    let hum = ["--hum", "50", "--hum-level", "-20"];
    let without_lead = UNEQUAL.replace("[pickup.coil_b]\nresistance = \"3978\"", "lead_capacitance = \"0\"");
    std::fs::write(folder.path().join("alike.toml"), without_lead).unwrap();
    let alike = heard(folder.path(), &source, &[&hum[..], &["--guitar", "alike.toml"]].concat());
    for name in ["series", "parallel"] {
        let level = rms_dbfs(&as_is(&alike, name));
        assert!(level < -140.0 && alike.arrangement(name)["hum_db"].is_null(), "{name}: {level} dBFS");
    }
    let set = heard(folder.path(), &source, &hum);
    for name in ["series", "parallel"] {
        let level = rms_dbfs(&as_is(&set, name));
        // The higher harmonics see more of the lead.
        assert!(level < -20.0 - 50.0, "{name}: {level} dBFS");
    }
    let told = set.arrangement("series")["hum_db"].as_f64().unwrap();
    assert!((-120.0..-60.0).contains(&told), "{told} dB");
    assert!((rms_dbfs(&as_is(&set, "split-a")) + 20.0).abs() < 0.5);
    let source = &set.figures["source"];
    assert_eq!((source["hum_hz"].as_u64(), source["hum_level_dbfs"].as_f64()), (Some(50), Some(-20.0)));
    let notes = set.figures["notes"].to_string();
    assert!(notes.contains("the source is silent"), "{notes}");
}

#[test]
fn the_harmonics_of_the_field_are_raised_by_their_number() {
    // A field of 1/n² for odd harmonics and half of that for even ones is 1/n and 1/(2n) in EMF; one coil passes them
    // alike as far as a few hundred hertz, the other being open.
    let folder = tempfile::tempdir().unwrap();
    let source = silence(folder.path(), 1);
    let set = heard(folder.path(), &source, &["--hum", "60"]);
    let plane = &as_is(&set, "split-a-open")[0];
    let first = amplitude(plane, 60.0);
    for (n, expected) in [(2.0, 0.25), (3.0, 1.0 / 3.0), (4.0, 0.125), (5.0, 0.2)] {
        let ratio = amplitude(plane, 60.0 * n) / first / expected;
        assert!((20.0 * ratio.log10()).abs() < 0.1, "harmonic {n}: {ratio}");
    }
    assert!(amplitude(plane, 90.0) < 1e-5 * first, "nothing lies between the harmonics");
}

#[test]
fn over_a_source_hum_is_added_at_its_true_relation() {
    let folder = tempfile::tempdir().unwrap();
    let source = repository("tests/data/chord_stereo.wav");
    let before_gain = |set: &Set| {
        let gain = 10f64.powf(set.arrangement("split-a")["as_is"]["gain_db"].as_f64().unwrap() / 20.0);
        let planes = as_is(set, "split-a");
        planes.into_iter().map(|p| p.into_iter().map(|x| x / gain).collect()).collect::<Vec<Vec<f64>>>()
    };
    let without = before_gain(&heard(folder.path(), &source, &[]));
    let with = before_gain(&heard(folder.path(), &source, &["--hum", "50", "--hum-level", "-30"]));
    let difference: Vec<Vec<f64>> = with
        .iter()
        .zip(&without)
        .map(|(with, without)| with.iter().zip(without).map(|(a, b)| a - b).collect())
        .collect();
    let level = rms_dbfs(&difference);
    assert!((level + 30.0).abs() < 0.5, "{level}");
}

#[test]
fn a_recording_taken_back_through_its_pickup_has_the_finished_guitars_hum_added_to_it() {
    let folder = tempfile::tempdir().unwrap();
    let recording = repository("tests/data/harmonics_mono.wav");
    let silent = silence(folder.path(), 1);
    let before_gain = |source: &str, arguments: &[&str]| -> Vec<Vec<f64>> {
        let through = ["--guitar", "set-neck", "--recorded-through", "series"];
        let set = heard(folder.path(), source, &[&through, arguments].concat());
        let names = ["split-a", "split-b", "split-a-open"];
        let of = |name: &str| {
            let gain = set.arrangement(name)["as_is"]["gain_db"].as_f64().unwrap();
            as_is(&set, name)[0].iter().map(|x| x / 10f64.powf(gain / 20.0)).collect()
        };
        names.map(of).to_vec()
    };
    let hum = ["--hum", "50", "--hum-level", "-30"];
    let (with, without, alone) =
        (before_gain(&recording, &hum), before_gain(&recording, &[]), before_gain(&silent, &hum));
    for ((with, without), hum) in with.iter().zip(&without).zip(&alone) {
        // The hum of 50 Hz repeats itself after 882 samples.
        let left = with.iter().zip(without).zip(hum.iter().cycle()).map(|((a, b), hum)| a - b - hum);
        let power = |x: &mut dyn Iterator<Item = f64>| x.map(|x| x * x).sum::<f64>();
        let null =
            10.0 * (power(&mut left.take(20_000)) / power(&mut hum.iter().copied().take(20_000))).log10();
        assert!(null < -80.0, "{null} dB");
    }
    assert!((rms_dbfs(&alone[..1]) + 30.0).abs() < 0.5);
}

#[test]
fn hum_that_cannot_be_meant_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    for (arguments, message) in [
        (&["--hum", "60", "--model", "second-order"][..], "--hum goes through the whole circuit"),
        (&["--hum-level", "-30"], "--hum says off"),
        (&["--hum", "40"], "possible values: off, 50, 60"),
        (&["--hum", "50", "--hum-level", "20"], "from -120 to 0"),
        (&["--listening-level", "140"], "from 40 to 100"),
    ] {
        let output = drywire(folder.path(), &[&["hear"], arguments].concat());
        let told = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {told}");
        assert!(told.contains(message), "{arguments:?}: {told}");
    }
}
