//! P21, real recordings cut into strums: as many strums are found as there are, one take against itself is no change, through a pickup's
//! other voice it is that voice, and another chord is said.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "frames of recordings, which are few and not negative"
)]

use std::path::Path;

use drywire::confirm::{Confirmation, Session, Take, Verdict};
use drywire::guitar::Guitar;
use drywire::sound::Sound;
use num_complex::Complex64;
use realfft::RealFftPlanner;

use crate::common::strums::Bench;

const RATE: u32 = 44_100;

/// The first second and a half of a recording, damped at its end.
fn strum(name: &str) -> Vec<f64> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(name);
    let sound = Sound::open(&path).unwrap();
    assert_eq!(sound.rate_hz(), RATE);
    let mut samples = sound.planes().unwrap().swap_remove(0);
    samples.truncate(RATE as usize * 3 / 2);
    let count = samples.len();
    for (left, sample) in samples.iter_mut().rev().take(2000).enumerate() {
        *sample *= left as f64 / 2000.0;
    }
    assert!(count > RATE as usize);
    samples
}

/// The strum again and again, a little louder and softer, a rest before each.
fn take(strum: &[f64], gains: [f64; 4]) -> Take {
    let rest = vec![0.0; RATE as usize / 3];
    let all = gains.map(|gain| [rest.clone(), strum.iter().map(|sample| gain * sample).collect()].concat());
    Take::read(&Sound::from_planes("take.wav", RATE, vec![all.concat()]).unwrap()).unwrap()
}

/// What was recorded in series as it had been in parallel, on a guitar that is as its file has it.
fn in_parallel(samples: &[f64]) -> Vec<f64> {
    let bench = Bench::as_the_file_has_it();
    let length = (2 * samples.len()).next_power_of_two();
    let mut planner = RealFftPlanner::new();
    let (forward, inverse) = (planner.plan_fft_forward(length), planner.plan_fft_inverse(length));
    let mut padded = samples.to_vec();
    padded.resize(length, 0.0);
    let mut bins = forward.make_output_vec();
    forward.process(&mut padded, &mut bins).unwrap();
    for (k, bin) in bins.iter_mut().enumerate() {
        let hz = (k as f64 * f64::from(RATE) / length as f64).max(20.0);
        let both = |voice: &str| bench.paths(voice, hz).into_iter().sum::<Complex64>();
        // Above what is measured the ratio grows beyond all noise.
        *bin *= if hz < 12_000.0 { both("parallel") / both("series") } else { Complex64::ZERO };
    }
    let last = bins.len() - 1;
    (bins[0].im, bins[last].im) = (0.0, 0.0);
    let mut filtered = inverse.make_output_vec();
    inverse.process(&mut bins, &mut filtered).unwrap();
    filtered.iter().take(samples.len()).map(|sample| sample / length as f64).collect()
}

fn told(takes: [(&str, Take); 4]) -> Confirmation {
    let guitar = Guitar::built_in("set-neck").unwrap();
    let session = Session::new(&guitar, Some("bridge"), &takes.each_ref().map(|(name, _)| *name)).unwrap();
    let takes = takes.map(|(name, take)| (name.to_owned(), take));
    for (name, take) in &takes {
        // The chord is rolled slowly, four strikes to each.
        assert!(take.onsets().len() >= 4 && take.onsets().len() % 4 == 0, "{name}: {:?}", take.onsets());
        assert!(!take.is_clipped());
    }
    session.confirm(session.blocks(&takes).unwrap(), &session.forecast(2).unwrap())
}

const GAINS: [[f64; 4]; 4] =
    [[0.3, 0.26, 0.33, 0.29], [0.31, 0.27, 0.25, 0.32], [0.28, 0.3, 0.34, 0.27], [0.29, 0.33, 0.28, 0.26]];

#[test]
fn real_strums_are_found_and_told() {
    let chord = strum("chord_stereo.wav");
    let other = in_parallel(&chord);
    let through = |later: &[f64]| {
        told([
            ("series", take(&chord, GAINS[0])),
            ("parallel", take(later, GAINS[1])),
            ("series", take(&chord, GAINS[2])),
            ("parallel", take(later, GAINS[3])),
        ])
    };
    let same = through(&chord);
    assert_eq!(same.takes[1].verdict, Verdict::NotConsistent, "{}", same.takes[1].words);
    assert!(same.takes[1].words.contains("does not do what is drawn"), "{}", same.takes[1].words);
    let right = through(&other);
    assert_eq!(right.takes[1].verdict, Verdict::Consistent, "{}", right.takes[1].words);
    assert_eq!(right.takes[3].consistent_with[0].name, "parallel");
    let harmonics = through(&strum("harmonics_mono.wav"));
    assert_eq!(harmonics.takes[1].verdict, Verdict::CannotBeTold, "{}", harmonics.takes[1].words);
    assert!(harmonics.takes[1].words.contains("another chord"), "{}", harmonics.takes[1].words);
    assert!(harmonics.differences.is_empty());
}
