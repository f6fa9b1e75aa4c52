//! Nothing is lost when `hear` is ended from outside, by a key, a shutdown or outright: there is the old set whole or the
//! new one whole, the takes are as they were, and the next run removes what was left.
//!
//! `DRYWIRE_HEAR_KILLS` sets the number of runs that are ended; without it there are twenty-four.

#![cfg(unix)]
#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]
#![allow(clippy::print_stdout, reason = "how the runs ended is told")]

use std::fs;
use std::os::unix::process::ExitStatusExt;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use crate::common::program::{contents, repository};

/// Starts a run that makes a set of `take` in `out`.
fn hear(folder: &Path, take: &str) -> Child {
    Command::new(env!("CARGO_BIN_EXE_drywire"))
        .args(["hear", "--quiet", "--arrangements", "series,parallel", "--out", "out", take])
        .current_dir(folder)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

#[test]
fn a_run_ended_at_any_moment_by_any_signal_leaves_the_old_set_whole_or_the_new_one() {
    let kills = std::env::var("DRYWIRE_HEAR_KILLS").map_or(24, |n| n.parse::<u32>().unwrap());
    let place = tempfile::tempdir().unwrap();
    let takes = ["float64.wav", "float32.wav"];
    for take in takes {
        fs::copy(repository(&format!("tests/data/sound/{take}")), place.path().join(take)).unwrap();
    }
    let inputs = takes.map(|take| fs::read(place.path().join(take)).unwrap());
    let out = place.path().join("out");
    let mut length = Duration::ZERO;
    let sets = takes.map(|take| {
        let begun = Instant::now();
        assert!(hear(place.path(), take).wait().unwrap().success());
        length = length.max(begun.elapsed());
        contents(&out)
    });
    assert!(sets[0] != sets[1]);

    let mut there = 1;
    let mut ended = [[0; 2]; 3];
    for run in 0..kills {
        let new = 1 - there;
        let mut child = hear(place.path(), takes[new]);
        // Moments that do not follow the work's own rhythm, from the start to a little past the usual end.
        sleep(length * (run * 7_919 % 1_100) / 1_000);
        let which = run as usize % 3;
        let signal = ["KILL", "TERM", "INT"][which];
        // Where the run has ended by itself there is nobody to send it to.
        let _ =
            Command::new("kill").args(["-s", signal, &child.id().to_string()]).stderr(Stdio::null()).status();
        let status = child.wait().unwrap();
        assert!(status.success() || status.signal().is_some(), "run {run}: {status}");
        for (take, input) in takes.iter().zip(&inputs) {
            assert!(fs::read(place.path().join(take)).unwrap() == *input, "run {run}: `{take}` was touched");
        }
        let found = contents(&out);
        let is_new = found == sets[new];
        assert!(
            is_new || found == sets[there],
            "run {run}, ended by {signal}: neither the old set nor the new"
        );
        assert!(is_new || status.signal().is_some(), "run {run} did nothing and says that all is well");
        ended[which][usize::from(is_new)] += 1;
        there = if is_new { new } else { there };
    }
    println!("runs by SIGKILL, SIGTERM, SIGINT that left the old set and the new one: {ended:?}");
    // What a shell runs in the background is deaf to the third.
    assert!(
        ended[..2].iter().all(|[old, _]| *old > 0),
        "the signals came too late to tell anything: {ended:?}"
    );

    assert!(hear(place.path(), takes[1 - there]).wait().unwrap().success());
    let mut left: Vec<_> = fs::read_dir(place.path()).unwrap().map(|e| e.unwrap().file_name()).collect();
    left.sort();
    assert_eq!(left, ["float32.wav", "float64.wav", "out"], "the next run removes what was left");
}
