//! `measure`: the signal that it writes.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "frames of recordings, which are few and not negative"
)]

use hound::WavReader;
use serde_json::Value;

use crate::common::program::{drywire, succeeds};

#[test]
fn a_signal_is_written_with_what_is_connected_when() {
    let folder = tempfile::tempdir().unwrap();
    let told = succeeds(folder.path(), &["measure", "--signal", "sweep.wav", "--rate", "44.1k", "--json"]);
    let json: Value = serde_json::from_slice(&told.stdout).unwrap();
    let sections = json["sections"].as_array().unwrap();
    let devices: Vec<&str> = sections.iter().map(|section| section["device"].as_str().unwrap()).collect();
    assert_eq!(devices, ["open", "known", "guitar"]);
    let mut wave = WavReader::open(folder.path().join("sweep.wav")).unwrap();
    let spec = wave.spec();
    assert_eq!((spec.sample_rate, spec.channels, spec.bits_per_sample), (44_100, 1, 24));
    let samples: Vec<i32> = wave.samples::<i32>().map(Result::unwrap).collect();
    assert!((samples.len() as f64 / 44_100.0 - json["duration_s"].as_f64().unwrap()).abs() < 1e-3);
    let at = |seconds: f64| (seconds * 44_100.0) as usize;
    let loudest = |part: &[i32]| part.iter().map(|x| x.abs()).max().unwrap();
    let mut before = 0.0;
    for section in sections {
        let [from, to] = ["from_s", "to_s"].map(|key| section[key].as_f64().unwrap());
        assert!(loudest(&samples[at(before)..at(from)]) <= 2, "silent before {from}");
        let peak = f64::from(loudest(&samples[at(from)..at(to)])) / f64::from(1 << 23);
        assert!((0.49..=0.5001).contains(&peak), "{peak}");
        before = to;
    }
}

#[test]
fn a_signal_replaces_its_own_file_and_no_other() {
    let folder = tempfile::tempdir().unwrap();
    let write = ["measure", "--signal", "sweep.wav"];
    let told = succeeds(folder.path(), &write);
    let words = String::from_utf8(told.stdout).unwrap();
    assert!(words.contains("headphones") && words.contains("known resistor"), "{words}");
    let first = std::fs::read(folder.path().join("sweep.wav")).unwrap();
    succeeds(folder.path(), &write);
    assert_eq!(std::fs::read(folder.path().join("sweep.wav")).unwrap(), first, "the same bytes each time");
    let mut changed = first.clone();
    changed[1000] ^= 1;
    std::fs::write(folder.path().join("sweep.wav"), &changed).unwrap();
    let refused = drywire(folder.path(), &write);
    assert_eq!(refused.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&refused.stderr).contains("--replace"));
    assert_eq!(std::fs::read(folder.path().join("sweep.wav")).unwrap(), changed);
    succeeds(folder.path(), &[&write[..], &["--replace"]].concat());
    for (given, told) in [(["sweep.txt", "48k"], ".wav"), (["x.wav", "22050"], "44100 to 192000")] {
        let refused = drywire(folder.path(), &["measure", "--signal", given[0], "--rate", given[1]]);
        assert_eq!(refused.status.code(), Some(2));
        let words = String::from_utf8_lossy(&refused.stderr).into_owned();
        assert!(words.contains(told), "{words}");
    }
}
