//! What the page plays is what the files hold: the samples that it makes of the source, offline and with the controls
//! where the guitar's file has them, equal the written WAV of each arrangement over the excerpt, to −80 dB of its RMS.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use crate::common::browser::Browser;
use crate::common::made::{Made, SetOf, gain_from, planes_from, residual_db};
use drywire::document::Document;
use drywire::guitar::Guitar;
use drywire::page::Excerpt;
use drywire::quantity::{Db, Seconds};
use drywire::render::{Channels, MatchBy, Model};
use drywire::response::{Recorded, Scope, StandsFor, Voice};
use drywire::sound::Sound;
use serde_json::{Value, json};

pub(super) const PROMISED_DB: f64 = -80.0;
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

/// Returns a tenth of a second of silence and then three bursts of noise that die away, in one channel or two that
/// differ, in whole steps of 24 bits.
pub(super) fn sound(rate: u32, channels: usize, frames: u32) -> Sound {
    const STEPS: f64 = 8_388_608.0;
    let mut seed = 1u64;
    let mut noise = || {
        seed = seed.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        (seed >> 33) as f64 / f64::from(1u32 << 30) - 1.0
    };
    let mut plane = || -> Vec<f64> {
        let mut held = 0.0;
        let sample = |n: u32| {
            held = 0.7 * held + if n * 10 < rate { 0.0 } else { 0.3 * noise() };
            let since = (3.0 * f64::from(n) / f64::from(frames)).fract();
            (0.4 * held * (-4.0 * since).exp() * STEPS).round() / STEPS
        };
        (0..frames).map(sample).collect()
    };
    Sound::from_planes("bursts.wav", rate, (0..channels).map(|_| plane()).collect()).unwrap()
}

pub(super) fn opened(browser: &Browser, made: &Made, check: &Value) -> Value {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("listen.html");
    std::fs::write(&path, &made.page).unwrap();
    browser.check(&path, check)
}

/// Compares every voice of a set at both levels.
pub(super) fn compare(browser: &Browser, set: &SetOf<'_>, made: &Made) {
    let checked = opened(browser, made, &json!({}));
    for (voice, files) in set.voices.iter().zip(&made.files) {
        for (levels, file) in ["matched", "true"].into_iter().zip(files) {
            let ours = planes_from(&checked, voice, gain_from(&checked, voice, levels));
            let residual = residual_db(&ours, &made.played(file));
            assert!(residual <= PROMISED_DB, "{voice}, {levels}: {residual:.1} dB");
        }
    }
}

/// Compares what a page with its knobs turned makes of its source with the as-is files of a guitar that has them there.
pub(super) fn compare_as_is(checked: &Value, there: &Made) {
    for (arrangement, files) in there.figures.arrangements.iter().zip(&there.files) {
        let gain = Db::new(arrangement.as_is.as_ref().unwrap().gain_db).amplitude();
        let residual = residual_db(&planes_from(checked, &arrangement.name, gain), &files[1]);
        assert!(residual <= PROMISED_DB, "{}: {residual:.1} dB", arrangement.name);
    }
}

#[test]
fn every_arrangement_of_a_source_by_coils_with_the_controls_turned_down() {
    let Some(browser) = Browser::installed() else { return };
    let (guitar, sound) = (guitar(6.5, 4.0), sound(48_000, 2, 72_000));
    let set = SetOf { channels: Channels::Coils, ..SetOf::new(&guitar, &TWO_COIL, &sound) };
    compare(&browser, &set, &set.make());
}

#[test]
fn every_arrangement_of_an_excerpt_of_a_one_channel_source() {
    let Some(browser) = Browser::installed() else { return };
    let (guitar, sound) = (guitar(10.0, 10.0), sound(44_100, 1, 132_300));
    let set = SetOf { by: MatchBy::Rms, ..SetOf::new(&guitar, &TWO_COIL, &sound) };
    let excerpt = Excerpt::at(&sound, Seconds::new(1.1), Seconds::new(1.0)).unwrap();
    compare(&browser, &set, &set.with(excerpt));
}

/// Kernels of approximate voices are short, and longer where a large capacitor discharges slowly.
#[test]
fn voices_of_a_one_channel_source_with_a_slow_tone_control() {
    let Some(browser) = Browser::installed() else { return };
    let text = "format = 1\n[[pickup]]\nname = \"p\"\nlike = \"vintage-full-size\"\n[controls]\n\
        tone = { pot = \"25k\", turned = 5, capacitor = \"1u\" }\n";
    let guitar = Guitar::read(&Document::new("slow.toml", text)).unwrap();
    let sound = sound(48_000, 1, 96_000);
    let set = SetOf::new(&guitar, &["series", "split-a", "series-reversed"], &sound);
    compare(&browser, &set, &set.make());
}

#[test]
fn a_take_recorded_through_series_with_its_knobs_elsewhere() {
    let Some(browser) = Browser::installed() else { return };
    let (guitar_now, guitar_then, sound) = (guitar(10.0, 10.0), guitar(8.0, 7.0), sound(96_000, 2, 96_000));
    let then =
        Voice::of("series".parse().unwrap()).response(&guitar_then, &guitar_then.pickups()[0]).unwrap();
    let recorded = Recorded::new(then, StandsFor::Own).unwrap();
    let set = SetOf {
        recorded: Some(&recorded),
        ..SetOf::new(&guitar_now, &["series", "parallel", "split-b"], &sound)
    };
    compare(&browser, &set, &set.make());
}

#[test]
fn a_take_recorded_through_a_position_and_heard_through_one_pickup() {
    let Some(browser) = Browser::installed() else { return };
    let (guitar, sound) = (Guitar::built_in("set-neck").unwrap(), sound(48_000, 1, 48_000));
    let heard = Scope::Pickup(&guitar.pickups()[0]);
    let then = Voice::at_position(&guitar, "selector:2").unwrap().response(&guitar, Scope::Guitar).unwrap();
    let recorded = Recorded::new(then, StandsFor::between(Scope::Guitar, heard, &guitar)).unwrap();
    let set = SetOf {
        recorded: Some(&recorded),
        ..SetOf::new(&guitar, &["series", "split-a", "parallel-reversed"], &sound)
    };
    compare(&browser, &set, &set.make());
}

#[test]
fn a_set_of_resonances_alone() {
    let Some(browser) = Browser::installed() else { return };
    let (guitar, sound) = (guitar(10.0, 10.0), sound(48_000, 1, 48_000));
    let set = SetOf {
        model: Model::SecondOrder,
        ..SetOf::new(&guitar, &["series", "parallel", "split-a"], &sound)
    };
    compare(&browser, &set, &set.make());
}

#[test]
fn knobs_turned_on_the_page_sound_as_on_a_guitar_whose_file_has_them_there() {
    let Some(browser) = Browser::installed() else { return };
    let (guitar_here, guitar_there, sound) = (guitar(10.0, 10.0), guitar(3.7, 2.2), sound(48_000, 1, 48_000));
    let of =
        |guitar| SetOf::new(guitar, &["series", "parallel", "split-a-open", "parallel-reversed"], &sound);
    let checked =
        opened(&browser, &of(&guitar_here).make(), &json!({ "turned": { "volume": 3.7, "tone": 2.2 } }));
    compare_as_is(&checked, &of(&guitar_there).make());
}

#[test]
fn voices_stay_matched_while_knobs_turn_whatever_the_coils_signals_have_in_common() {
    let Some(browser) = Browser::installed() else { return };
    let guitar = guitar(10.0, 10.0);
    let one = sound(48_000, 1, 48_000).blocks(48_000).next_block().unwrap().unwrap()[0].clone();
    let late: Vec<f64> = std::iter::repeat_n(0.0, 24).chain(one.iter().copied()).take(one.len()).collect();
    let sound = Sound::from_planes("late.wav", 48_000, vec![one, late]).unwrap();
    let set = SetOf {
        channels: Channels::Coils,
        by: MatchBy::Rms,
        ..SetOf::new(&guitar, &["series", "split-b", "series-reversed", "parallel-reversed"], &sound)
    };
    let made = set.make();
    let checked = opened(&browser, &made, &json!({ "turned": { "volume": 4.0, "tone": 1.5 } }));
    let level = |voice: &&str| {
        let planes = planes_from(&checked, voice, gain_from(&checked, voice, "matched"));
        10.0 * planes[0].iter().map(|x| x * x).sum::<f64>().log10()
    };
    let levels: Vec<f64> = set.voices.iter().map(level).collect();
    let spread = levels.iter().map(|l| (l - levels[0]).abs()).fold(0.0, f64::max);
    assert!(spread < 0.1, "{levels:?}");
}

#[test]
fn the_one_coil_of_a_one_coil_pickup_from_a_source_by_coils() {
    let Some(browser) = Browser::installed() else { return };
    let (guitar, sound) = (Guitar::with_built_in_pickup("single-coil").unwrap(), sound(48_000, 1, 48_000));
    let set = SetOf { channels: Channels::Coils, ..SetOf::new(&guitar, &["alone"], &sound) };
    compare(&browser, &set, &set.make());
}
