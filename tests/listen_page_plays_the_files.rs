//! What the page plays is what the files hold: the samples that it makes of the source, offline and with the controls
//! where the guitar's file has them, equal the written WAV of each arrangement over the excerpt, to −80 dB of its RMS.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

mod common;

use std::path::PathBuf;

use common::browser::{Browser, Made, SetOf, planes_before_gain, planes_from, residual_db};
use drywire::document::Document;
use drywire::guitar::Guitar;
use drywire::page::{Excerpt, USUAL_EXCERPT};
use drywire::quantity::Seconds;
use drywire::render::{Channels, MatchBy, Model};
use drywire::response::{Recorded, Voice};
use drywire::sound::Sound;
use serde_json::json;

const PROMISED_DB: f64 = -80.0;
const TWO_COIL: [&str; 9] = [
    "series",
    "parallel",
    "split-a",
    "split-b",
    "split-a-open",
    "split-b-open",
    "series-reversed",
    "parallel-reversed",
    "series-bypassed",
];

fn guitar(volume: f64, tone: f64) -> Guitar {
    let text = format!(
        "format = 1\nname = \"Bench guitar\"\n[[pickup]]\nname = \"bridge\"\nlike = \"vintage-full-size\"\nbypass = \"22n\"\n\
         [pickup.coil_b]\nresistance = \"4.2k\"\ninductance = \"2.1\"\noutput = 1.05\n\
         [controls]\nvolume = {{ pot = \"500k\", turned = {volume} }}\n\
         tone = {{ pot = \"500k\", turned = {tone}, capacitor = \"22n\" }}\n\
         bleed = {{ capacitor = \"1n\", resistor = \"150k\" }}\n"
    );
    Guitar::read(&Document::new("bench.toml", text)).unwrap()
}

/// Returns noise bursts: `seconds` at `rate`, in one channel or two that differ.
fn sound(rate: u32, channels: usize, seconds: f64) -> Sound {
    let mut seed = 1u64;
    let mut noise = || {
        seed = seed.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        (seed >> 33) as f64 / f64::from(1u32 << 30) - 1.0
    };
    let frames = (seconds * f64::from(rate)) as usize;
    let mut plane = || -> Vec<f64> {
        let mut held = 0.0;
        let sample = |n: usize| {
            // A tenth of a second of silence, as before a first note.
            held = 0.7 * held + if n * 10 < rate as usize { 0.0 } else { 0.3 * noise() };
            // Whole 24-bit steps, as a file would hold them.
            let decay =
                (-4.0 * ((n * 3 / frames.max(1)) as f64 - n as f64 * 3.0 / frames as f64).abs()).exp();
            (0.4 * held * decay * f64::from(1 << 23)).round() / f64::from(1 << 23)
        };
        (0..frames).map(sample).collect()
    };
    Sound::from_planes("bursts.wav", rate, (0..channels).map(|_| plane()).collect()).unwrap()
}

fn opened(browser: &Browser, made: &Made, check: &serde_json::Value) -> serde_json::Value {
    let folder = tempfile::tempdir().unwrap();
    let path: PathBuf = folder.path().join("listen.html");
    std::fs::write(&path, &made.page).unwrap();
    browser.check(&path, check)
}

/// Compares every voice of a set at both levels and returns the worst residual.
fn compared(browser: &Browser, set: &SetOf<'_>, excerpt: Excerpt) -> f64 {
    let made = set.make(excerpt, &[]);
    let played = made.excerpt.played();
    let mut worst = f64::NEG_INFINITY;
    for (place, levels) in ["matched", "true"].into_iter().enumerate() {
        let checked = opened(browser, &made, &json!({ "levels": levels }));
        for (voice, files) in set.voices.iter().zip(&made.files) {
            let cut = |plane: &Vec<f64>| plane[played.start as usize..played.end as usize].to_vec();
            let theirs: Vec<Vec<f64>> = files[place].iter().map(cut).collect();
            let residual = residual_db(&planes_from(&checked, voice), &theirs);
            println!("{voice}, {levels}: {residual:.1} dB");
            assert!(residual <= PROMISED_DB, "{voice}, {levels}: {residual:.1} dB");
            worst = worst.max(residual);
        }
    }
    worst
}

#[test]
fn every_arrangement_of_a_source_by_coils_with_the_controls_turned_down() {
    let Some(browser) = Browser::installed() else { return };
    let (guitar, sound) = (guitar(6.5, 4.0), sound(48_000, 2, 1.5));
    let set = SetOf {
        guitar: &guitar,
        voices: &TWO_COIL,
        sound: &sound,
        channels: Channels::Coils,
        model: Model::Circuit,
        by: MatchBy::Loudness,
        recorded: None,
        notes: &[],
    };
    compared(&browser, &set, Excerpt::loudest(&sound, USUAL_EXCERPT).unwrap());
}

#[test]
fn every_arrangement_of_an_excerpt_of_a_one_channel_source() {
    let Some(browser) = Browser::installed() else { return };
    let (guitar, sound) = (guitar(10.0, 10.0), sound(44_100, 1, 3.0));
    let set = SetOf {
        guitar: &guitar,
        voices: &TWO_COIL,
        sound: &sound,
        channels: Channels::Stereo,
        model: Model::Circuit,
        by: MatchBy::Rms,
        recorded: None,
        notes: &[],
    };
    compared(&browser, &set, Excerpt::at(&sound, Seconds::new(1.1), Seconds::new(1.0)).unwrap());
}

#[test]
fn a_take_recorded_through_series_with_its_knobs_elsewhere() {
    let Some(browser) = Browser::installed() else { return };
    let (guitar_now, guitar_then, sound) = (guitar(10.0, 10.0), guitar(8.0, 7.0), sound(96_000, 2, 1.0));
    let then =
        Voice::of("series".parse().unwrap()).response(&guitar_then, &guitar_then.pickups()[0]).unwrap();
    let recorded = Recorded::new(then).unwrap();
    let set = SetOf {
        guitar: &guitar_now,
        voices: &["series", "parallel", "split-b"],
        sound: &sound,
        channels: Channels::Stereo,
        model: Model::Circuit,
        by: MatchBy::Loudness,
        recorded: Some(&recorded),
        notes: &[],
    };
    compared(&browser, &set, Excerpt::loudest(&sound, USUAL_EXCERPT).unwrap());
}

#[test]
fn a_set_of_resonances_alone() {
    let Some(browser) = Browser::installed() else { return };
    let (guitar, sound) = (guitar(10.0, 10.0), sound(48_000, 1, 1.0));
    let set = SetOf {
        guitar: &guitar,
        voices: &["series", "parallel", "split-a"],
        sound: &sound,
        channels: Channels::Stereo,
        model: Model::SecondOrder,
        by: MatchBy::Loudness,
        recorded: None,
        notes: &[],
    };
    compared(&browser, &set, Excerpt::loudest(&sound, USUAL_EXCERPT).unwrap());
}

#[test]
fn knobs_turned_on_the_page_sound_as_on_a_guitar_whose_file_has_them_there() {
    let Some(browser) = Browser::installed() else { return };
    let (guitar_here, guitar_there, sound) = (guitar(10.0, 10.0), guitar(3.7, 2.2), sound(48_000, 1, 1.0));
    let of = |guitar| SetOf {
        guitar,
        voices: &["series", "parallel", "split-a-open", "parallel-reversed"],
        sound: &sound,
        channels: Channels::Stereo,
        model: Model::Circuit,
        by: MatchBy::Loudness,
        recorded: None,
        notes: &[],
    };
    let excerpt = || Excerpt::loudest(&sound, USUAL_EXCERPT).unwrap();
    let (here, there) = (of(&guitar_here).make(excerpt(), &[]), of(&guitar_there).make(excerpt(), &[]));
    let checked = opened(&browser, &here, &json!({ "turned": { "volume": 3.7, "tone": 2.2 } }));
    for (arrangement, files) in there.figures.arrangements.iter().zip(&there.files) {
        let gain = 10f64.powf(arrangement.as_is.as_ref().unwrap().gain_db / 20.0);
        let ours = planes_before_gain(&checked, &arrangement.name, gain);
        let residual = residual_db(&ours, &files[1]);
        println!("{}: {residual:.1} dB", arrangement.name);
        assert!(residual <= PROMISED_DB, "{}: {residual:.1} dB", arrangement.name);
    }
}

#[test]
fn the_one_coil_of_a_one_coil_pickup_from_a_source_by_coils() {
    let Some(browser) = Browser::installed() else { return };
    let (guitar, sound) = (Guitar::with_built_in_pickup("single-coil").unwrap(), sound(48_000, 1, 1.0));
    let set = SetOf {
        guitar: &guitar,
        voices: &["alone"],
        sound: &sound,
        channels: Channels::Coils,
        model: Model::Circuit,
        by: MatchBy::Loudness,
        recorded: None,
        notes: &[],
    };
    compared(&browser, &set, Excerpt::loudest(&sound, USUAL_EXCERPT).unwrap());
}
