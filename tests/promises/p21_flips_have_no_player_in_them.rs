//! P21, single notes that ring while the switch is thrown: the ratio of two voices within 0.15 dB over 16 notes, 315 Hz to 2.5 kHz.

#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a test stops where something is not as expected, and tells figures"
)]
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "frames of recordings, which are few and not negative"
)]

use std::f64::consts::TAU;

use drywire::confirm::{ConfirmError, Session, Take, Verdict};
use drywire::guitar::Guitar;
use drywire::sound::Sound;

use num_complex::Complex64;

use crate::common::strums::{Bench, Chance, HELD, held};

const RATE: u32 = 22_050;
const WITHIN_DB: f64 = 0.15;
const RANGE: [f64; 2] = [300.0, 2600.0];

/// Notes that a person would play, as the frets of one string each.
const NOTES: [(usize, u8); 16] = [
    (0, 0),
    (0, 3),
    (0, 5),
    (1, 0),
    (1, 3),
    (1, 7),
    (2, 0),
    (2, 4),
    (2, 9),
    (3, 0),
    (3, 5),
    (3, 9),
    (4, 1),
    (4, 5),
    (5, 0),
    (5, 7),
];

/// A take of these chords of one string or more, each ringing for three seconds while the switch is thrown some five times; a switch
/// breaks before it makes, clicks, and is thrown unheard between two notes now and then.
fn take(notes: &[[Option<u8>; 6]], bench: &Bench, voices: [&str; 2], chance: &mut Chance) -> Vec<f64> {
    const RINGS: f64 = 3.0;
    let rate = f64::from(RATE);
    let mut samples = Vec::new();
    let mut state = 0;
    for note in notes {
        let mut throws = Vec::new();
        let mut at = chance.even([0.45, 0.7]);
        while at < RINGS - 0.3 {
            throws.push(at);
            at += chance.even([0.42, 0.62]);
        }
        let begun = state;
        let frames = (RINGS * rate) as usize;
        let from = samples.len();
        samples.resize(from + frames, 0.0);
        let place = chance.even([0.09, 0.16]);
        for partial in held(*note, chance).into_iter().filter(|partial| partial.hz < 7000.0) {
            let paths = voices.map(|voice| bench.paths(voice, partial.hz));
            let gains = paths.map(|paths| partial.jack(paths));
            let (amplitude, sigma) = partial.struck(place);
            let sigma = sigma * chance.even([0.8, 1.25]);
            // Two ways of swinging that beat a little.
            let (beat, depth) = (chance.even([0.2, 1.2]), chance.even([0.0, 0.12]));
            let phase = chance.even([0.0, TAU]);
            let mut wave = Complex64::from_polar(0.1 * amplitude, phase);
            let turn = Complex64::from_polar((-sigma / rate).exp(), TAU * partial.hz / rate);
            let (mut swing, swings) = (Complex64::from(depth), Complex64::from_polar(1.0, TAU * beat / rate));
            let mut next = throws.iter().map(|at| (at * rate) as usize).peekable();
            let mut own = begun;
            for (n, sample) in samples[from..].iter_mut().enumerate() {
                while next.next_if(|at| *at <= n).is_some() {
                    own = 1 - own;
                }
                *sample += gains[own] * wave.im * (1.0 + swing.im) * (n as f64 / (0.002 * rate)).min(1.0);
                wave *= turn;
                swing *= swings;
            }
        }
        for at in &throws {
            let click = from + (at * rate) as usize;
            // 3 ms without contact, then a click.
            for sample in &mut samples[click..click + 66] {
                *sample = 0.0;
            }
            samples[click + 66] += 0.02;
            state = 1 - state;
        }
        if chance.even([0.0, 1.0]) < 0.25 {
            state = 1 - state;
        }
    }
    for sample in &mut samples {
        *sample += chance.even([-3e-5, 3e-5]);
    }
    samples
}

fn one_string((string, fret): (usize, u8)) -> [Option<u8>; 6] {
    std::array::from_fn(|own| (own == string).then_some(fret))
}

fn read(samples: Vec<f64>) -> Take {
    Take::read(&Sound::from_planes("notes.wav", RATE, vec![samples]).unwrap()).unwrap()
}

#[test]
fn sixteen_notes_tell_the_ratio_of_two_voices() {
    let guitar = Guitar::built_in("set-neck").unwrap();
    for (seed, voices) in
        [(1, ["series", "parallel"]), (2, ["parallel", "series"]), (3, ["series", "series"])]
    {
        let mut chance = Chance::new(seed);
        let bench = Bench::off(&mut chance);
        let take = read(take(&NOTES.map(one_string), &bench, voices, &mut chance));
        let drawn = if seed == 3 { ["series", "parallel"] } else { voices };
        let session = Session::new(&guitar, Some("bridge"), &drawn).unwrap();
        if seed == 3 {
            // What makes no difference has no step that could be found, but for what the switch itself does.
            match session.confirm_flips(&take, 2) {
                Err(refused) => assert!(matches!(refused, ConfirmError::NoFlips { .. }), "{refused}"),
                Ok(told) => {
                    assert_eq!(told.takes[1].verdict, Verdict::NotConsistent, "{}", told.takes[1].words);
                    assert_eq!(told.takes[1].consistent_with[0].name, "series");
                }
            }
            continue;
        }
        let told = session.confirm_flips(&take, 2).unwrap();
        println!("{voices:?}: {} notes, {}", told.takes[1].strums, told.notes[0]);
        assert!(told.takes[1].strums >= 15, "{}", told.takes[1].strums);
        let (mut sum, mut count) = (0.0, 0.0);
        for band in told.differences[0].bands.iter().filter(|band| (RANGE[0]..RANGE[1]).contains(&band.hz)) {
            let levels = voices.map(|voice| {
                let [a, b] = bench.paths(voice, band.hz);
                20.0 * (a + b).norm().log10()
            });
            let off = band.measured_db - (levels[1] - levels[0]);
            println!("  {:.0} Hz: off by {off:.2} dB, stated {:.2}", band.hz, band.sd_db);
            assert!(off.abs() < 3.0 * band.sd_db.max(0.1), "{} Hz: {off}", band.hz);
            (sum, count) = (sum + off, count + 1.0);
        }
        assert!(count >= 9.0, "{count} third octaves");
        println!("  mean: off by {:.3} dB", sum / count);
        assert!((sum / count).abs() < WITHIN_DB, "{}", sum / count);
        assert_eq!(
            [told.takes[0].verdict, told.takes[1].verdict],
            [Verdict::CannotBeTold, Verdict::Consistent]
        );
        assert_eq!(told.takes[1].consistent_with[0].name, voices[1], "{}", told.takes[1].words);
    }
}

#[test]
fn a_throw_that_does_something_else_is_told_by_notes() {
    let guitar = Guitar::built_in("set-neck").unwrap();
    let mut chance = Chance::new(11);
    let bench = Bench::off(&mut chance);
    let real = ["series", "split-a"];
    let take = read(take(&NOTES.map(one_string), &bench, real, &mut chance));
    let told = Session::new(&guitar, Some("bridge"), &["series", "parallel"])
        .unwrap()
        .confirm_flips(&take, 2)
        .unwrap();
    println!("{}", told.takes[1].words);
    assert_eq!(told.takes[1].verdict, Verdict::NotConsistent, "{}", told.takes[1].words);
    assert_eq!(told.takes[1].consistent_with[0].name, "split-a");
}

#[test]
fn chords_are_refused() {
    let guitar = Guitar::built_in("set-neck").unwrap();
    let mut chance = Chance::new(21);
    let bench = Bench::off(&mut chance);
    let take = read(take(&HELD, &bench, ["series", "parallel"], &mut chance));
    let refused =
        Session::new(&guitar, Some("bridge"), &["series", "parallel"]).unwrap().confirm_flips(&take, 2);
    assert!(matches!(refused, Err(ConfirmError::Chords { chords, .. }) if chords >= 4), "{refused:?}");
}
