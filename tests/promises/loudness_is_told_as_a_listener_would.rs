//! A drop is also told as a listener would: in sones by ISO 532-1 at a stated listening level.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use crate::common::program::{Set, read_wav, repository, rms_dbfs, succeeds};
use drywire::measure::{ThirdOctave, ThirdOctaveMeter, sones_of};
use drywire::quantity::{DbSpl, Dbfs};
use std::path::Path;

#[test]
fn six_decibels_less_of_a_real_recording_are_about_a_third_less_loud() {
    // S. S. Stevens' rule gives 34 %; ISO 532-1 depends on the sound and on how loud it is.
    for file in ["harmonics_mono.wav", "chord_stereo.wav"] {
        let (planes, rate) = read_wav(Path::new(&repository(&format!("tests/data/{file}"))));
        let mut meter = ThirdOctaveMeter::new(rate, planes.len()).unwrap();
        meter.push(&planes.iter().map(Vec::as_slice).collect::<Vec<_>>()).unwrap();
        let spectrum: Vec<Dbfs> = meter.finish().iter().map(ThirdOctave::level).collect();
        let power: f64 = spectrum.iter().map(|b| 10f64.powf((*b - Dbfs::new(0.0)).value() / 10.0)).sum();
        for level in [60.0, 65.0, 70.0, 75.0, 80.0] {
            let full_scale = level - 10.0 * power.log10();
            let loudness = |full_scale| sones_of(&spectrum, DbSpl::new(full_scale)).value();
            let less = 100.0 * (1.0 - loudness(full_scale - 6.0) / loudness(full_scale));
            println!("{file} at {level} dB SPL: {less}");
            assert!((31.0..=37.0).contains(&less), "{file} at {level} dB SPL: {less} % less");
        }
    }
}

#[test]
fn a_set_tells_each_drop_in_sones_in_per_cent_and_in_words() {
    let folder = tempfile::tempdir().unwrap();
    let source = repository("tests/data/chord_stereo.wav");
    let set = Set::heard(folder.path(), &[&source, "--arrangements", "series,parallel"]);
    assert_eq!(set.figures["source"]["listening_level_db_spl"], 75.0);
    let sone = |name: &str| set.arrangement(name)["loudness_sone"].as_f64().unwrap();
    let percent = set.arrangement("parallel")["drop_heard_percent"].as_f64().unwrap();
    assert!((sone("parallel") / sone("series") - 1.0 - percent / 100.0).abs() < 1e-9);
    let range = &set.arrangement("parallel")["drop_heard_percent_60_to_85"];
    let [low, high] = [0, 1].map(|end| range[end].as_f64().unwrap());
    assert!(low <= percent && percent <= high && high < -20.0, "{percent} in {low} to {high}");
    let out = folder.path().join("told").display().to_string();
    let told =
        succeeds(folder.path(), &["hear", &source, "--out", &out, "--arrangements", "series,parallel"]);
    let told = String::from_utf8(told.stdout).unwrap();
    assert!(told.contains("about a third less loud, "), "{told}");
    let louder = Set::heard(folder.path(), &[&source, "--arrangements", "series", "--listening-level", "85"]);
    // Ten decibels more are about twice as loud.
    let ratio = louder.arrangement("series")["loudness_sone"].as_f64().unwrap() / sone("series");
    assert!((1.8..2.1).contains(&ratio), "{ratio}");
}

/// From 60 to 85 dB SPL, both included, in steps of 5: reckoned here from the files as written.
#[test]
fn the_range_of_a_drop_is_that_from_60_to_85_decibels() {
    let folder = tempfile::tempdir().unwrap();
    let source = repository("tests/data/harmonics_mono.wav");
    // Every value is stated, so that no built-in one has a part in it.
    let coil = "resistance = \"3.9k\"\ninductance = \"1.95\"\ncapacitance = \"100p\"\nloss = \"220k\"\n";
    let guitar = format!(
        "format = 1\n[[pickup]]\nname = \"bridge\"\n[pickup.coil_a]\n{coil}[pickup.coil_b]\n{coil}\
         [input]\ncapacitance = \"0\"\n"
    );
    std::fs::write(folder.path().join("mine.toml"), guitar).unwrap();
    let asked = [
        source.as_str(),
        "--guitar",
        "mine.toml",
        "--arrangements",
        "series,split-a,parallel",
        "--bits",
        "32f",
        "--listening-level",
        "63",
    ];
    let set = Set::heard(folder.path(), &asked);
    let as_is = |name: &str| {
        let (planes, rate) = set.read(set.arrangement(name)["as_is"]["file"].as_str().unwrap());
        let mut meter = ThirdOctaveMeter::new(rate, planes.len()).unwrap();
        meter.push(&planes.iter().map(Vec::as_slice).collect::<Vec<_>>()).unwrap();
        let spectrum: Vec<Dbfs> = meter.finish().iter().map(ThirdOctave::level).collect();
        (spectrum, rms_dbfs(&planes))
    };
    let (baseline, own) = as_is("series");
    for name in ["split-a", "parallel"] {
        let (spectrum, _) = as_is(name);
        let change = |level: f64| {
            let [one, other] = [&spectrum, &baseline].map(|s| sones_of(s, DbSpl::new(level - own)).value());
            100.0 * (one / other - 1.0)
        };
        let all = [60.0, 65.0, 70.0, 75.0, 80.0, 85.0].map(change);
        let ends =
            [all.iter().copied().fold(f64::MAX, f64::min), all.iter().copied().fold(f64::MIN, f64::max)];
        let range = &set.arrangement(name)["drop_heard_percent_60_to_85"];
        for (end, wanted) in ends.into_iter().enumerate() {
            let told = range[end].as_f64().unwrap();
            assert!((told - wanted).abs() < 0.05, "{name}: {range} for {ends:?}");
        }
        let at_63 = set.arrangement(name)["drop_heard_percent"].as_f64().unwrap();
        assert!((at_63 - change(63.0)).abs() < 0.05, "{name}: {at_63} for {}", change(63.0));
        // Each end of the range is needed: five decibels less and the answer would be another.
        let inside = &all[1..5];
        assert!(inside.iter().all(|c| *c > ends[0] + 0.1 && *c < ends[1] - 0.1), "{name}: {all:?}");
    }
}

#[test]
fn silence_and_a_set_without_a_page_have_no_loudness() {
    let folder = tempfile::tempdir().unwrap();
    let bare = Set::heard(folder.path(), &["--arrangements", "series", "--no-page"]);
    assert!(bare.arrangement("series")["loudness_sone"].is_null());
    assert!(bare.figures["source"]["listening_level_db_spl"].is_null());
    let path = folder.path().join("silence.wav");
    crate::common::program::write_wav(&path, &[vec![0.0; 44_100]], 44_100);
    let silent = Set::heard(folder.path(), &[path.to_str().unwrap(), "--arrangements", "series"]);
    assert!(silent.arrangement("series")["loudness_sone"].is_null());
    assert!(silent.arrangement("series")["drop_heard_percent"].is_null());
}
