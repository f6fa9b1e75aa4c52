//! P11. The same input gives the same bytes, on every run and thread count of one machine.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use crate::common::program::{contents, repository, succeeds, write_wav};
use crate::common::render::rendered_by;
use drywire::amp::{Amplification, Cabinet, Drive, Setting};
use drywire::guitar::Guitar;
use drywire::job::SetRequest;
use drywire::render::{Channels, Configuration, Model};
use drywire::response::Voice;
use drywire::wiring::Arrangement;

#[test]
fn two_runs_write_the_same_bytes_into_every_file() {
    let recording = repository("tests/data/harmonics_mono.wav");
    let run = || {
        let folder = tempfile::tempdir().unwrap();
        succeeds(folder.path(), &["hear", "--quiet", &recording, "--bits", "16", "--out", "set"]);
        contents(&folder.path().join("set"))
    };
    let (one, other) = (run(), run());
    assert!(one.len() >= 14, "{:?}", one.keys());
    assert_eq!(one.keys().collect::<Vec<_>>(), other.keys().collect::<Vec<_>>());
    for (name, bytes) in &one {
        assert!(other[name] == *bytes, "{name} differs");
    }
}

#[test]
fn the_number_of_threads_changes_no_byte_of_an_amplified_set() {
    let guitar = Guitar::built_in("set-neck").unwrap();
    let folder = tempfile::tempdir().unwrap();
    let take = folder.path().join("take.wav");
    let sample = |n: u32| 0.4 * (f64::from(n) * 0.05).sin() * (f64::from(n) * 0.0007).cos();
    write_wav(
        &take,
        &[(0..24_000).map(sample).collect(), (0..24_000).map(|n| sample(n + 9000)).collect()],
        48_000,
    );
    let by = |workers| {
        let out = folder.path().join(format!("by-{workers}"));
        let mut request = SetRequest::new(&guitar, &out);
        request.source = Some(take.clone());
        request.amplification =
            Some(Amplification { drive: Drive::Set(Setting::Driven), cabinet: Cabinet::Closed });
        request.workers = workers;
        request.check().unwrap().make(&|_| ()).unwrap();
        contents(&out)
    };
    let alone = by(1);
    assert!(alone.len() >= 14 && alone.contains_key("as-is/split-b.wav"), "{:?}", alone.keys());
    for workers in [2, 3, 8] {
        let other = by(workers);
        assert_eq!(alone.keys().collect::<Vec<_>>(), other.keys().collect::<Vec<_>>());
        for (name, bytes) in &alone {
            assert!(other[name] == *bytes, "{name} differs by {workers} threads");
        }
    }
}

#[test]
fn the_number_of_threads_changes_no_sample() {
    let guitar = Guitar::built_in("set-neck").unwrap();
    let pickup = &guitar.pickups()[0];
    let arrangements = [Arrangement::Series, Arrangement::Parallel, Arrangement::SplitA];
    let responses: Vec<_> =
        arrangements.iter().map(|a| Voice::of(*a).response(&guitar, pickup).unwrap()).collect();
    let (channels, model) = (Channels::Stereo, Model::Circuit);
    let configuration = Configuration {
        guitar: &guitar,
        scope: pickup.into(),
        rate_hz: 48_000,
        source_channels: 1,
        channels,
        model,
        recorded: None,
        hum: None,
    };
    let samples: Vec<f64> =
        (0..50_000).map(|n| (f64::from(n) * 0.05).sin() * (f64::from(n) * 0.0007).cos()).collect();
    let by = |workers| rendered_by(&configuration, &responses, vec![samples.clone()], workers);
    let alone = by(1);
    for workers in [2, 3, 8] {
        assert!(alone == by(workers), "{workers} threads differ from one");
    }
}
