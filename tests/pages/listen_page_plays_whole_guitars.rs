//! What the page plays of a whole guitar is what the files hold, whatever joins its pickups: selectors, a blend pot, own
//! controls, a buffer; and voices that are matched by loudness stay so while knobs turn.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use super::listen_page_plays_the_files::{compare, compare_as_is, opened, sound};
use crate::common::browser::Browser;
use crate::common::made::{SetOf, gain_from, planes_from};
use crate::common::program::loudness_lufs;
use drywire::document::Document;
use drywire::guitar::Guitar;
use drywire::render::Channels;
use drywire::sound::Sound;
use serde_json::json;

fn read(text: &str) -> Guitar {
    Guitar::read(&Document::new("whole.toml", text)).unwrap()
}

/// Three pickups, five coils, two selectors, controls of every kind, a buffer.
const SELECTED: &str = r#"
format = 1
[[pickup]]
name = "bridge"
like = "vintage-full-size"
[pickup.controls]
volume = { pot = "250k", turned = 8, wired = "independent" }
tone = { pot = "250k", turned = 7, capacitor = "10n" }
[[pickup]]
name = "middle"
like = "single-coil"
from_bridge = "100 mm"
[pickup.controls]
bass_cut = { pot = "1M", capacitor = "2n", turned = 4 }
[[pickup]]
name = "neck"
like = "mini"
from_bridge = "150 mm"
bypass = "10n"
[[selector]]
name = "blade"
table = "five-way-blade"
joints = [["bridge", "B1"], ["middle", "B2"], ["neck", "B3"], ["out", "B0"]]
[[selector]]
name = "add"
table = "on-off"
joints = [["neck", "1"], ["out", "2"]]
[controls]
volume = { pot = "500k", turned = 7, taper = "linear" }
tone = { pot = "500k", turned = 6, capacitor = "22n", joined = "after-volume" }
bleed = { capacitor = "1n", resistor = "150k", joined = "series" }
load = "470k"
[buffer]
input = "1M"
output = "2k"
"#;

#[test]
fn every_selectors_position_from_a_channel_for_each_coil_of_all() {
    let Some(browser) = Browser::installed() else { return };
    let (guitar, sound) = (read(SELECTED), sound(48_000, 5, 48_000));
    let voices = [
        "blade:1",
        "blade:2",
        "blade:3",
        "blade:4+neck=series-bypassed",
        "blade:5",
        "blade:1+add:2+bridge=split-b+neck=parallel-reversed",
        "blade:2+add:2+bridge=series-reversed",
    ];
    let set = SetOf { channels: Channels::Coils, ..SetOf::new(&guitar, &voices, &sound) };
    compare(&browser, &set, &set.make());
}

/// Two pickups on a blend pot, with a buffer or without.
fn blended(volume: f64, tone: f64, buffer: &str) -> Guitar {
    read(&format!(
        "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"vintage-full-size\"\n\
         [[pickup]]\nname = \"neck\"\nlike = \"narrow-blade\"\nfrom_bridge = \"150 mm\"\n\
         [blend]\npot = \"500k\"\ntaper = \"linear\"\nturned = 3.5\nends = [\"bridge\", \"neck\"]\n\
         [controls]\nvolume = {{ pot = \"500k\", turned = {volume} }}\n\
         tone = {{ pot = \"250k\", turned = {tone}, capacitor = \"33n\" }}\n{buffer}\n"
    ))
}

const BUFFER: &str = "[buffer]\ninput = \"2.2M\"\noutput = \"1k\"";
const BLENDED: [&str; 4] = [
    "bridge=series",
    "bridge=split-a+neck=parallel",
    "neck=series-reversed",
    "bridge=parallel-reversed+neck=split-b-open",
];

#[test]
fn a_blend_pot_with_and_without_a_buffer_from_one_channel() {
    let Some(browser) = Browser::installed() else { return };
    for buffer in ["", BUFFER] {
        let (guitar, sound) = (blended(8.0, 9.0, buffer), sound(44_100, 1, 44_100));
        let set = SetOf::new(&guitar, &BLENDED, &sound);
        compare(&browser, &set, &set.make());
    }
}

#[test]
fn knobs_turned_on_the_page_of_a_whole_guitar_sound_as_where_its_file_has_them_there() {
    let Some(browser) = Browser::installed() else { return };
    let (here, there) = (blended(10.0, 10.0, BUFFER), blended(6.3, 2.6, BUFFER));
    let sound = sound(48_000, 4, 48_000);
    let made = |guitar| SetOf { channels: Channels::Coils, ..SetOf::new(guitar, &BLENDED, &sound) }.make();
    let checked = opened(&browser, &made(&here), &json!({ "turned": { "volume": 6.3, "tone": 2.6 } }));
    compare_as_is(&checked, &made(&there));
}

/// Steady noise, most of it low, as independent in each channel as may be: no gate of the loudness meter shuts.
fn steady(rate: u32, channels: usize) -> Sound {
    let mut seed = 7u64;
    let mut plane = || -> Vec<f64> {
        let mut held = 0.0;
        (0..2 * rate)
            .map(|_| {
                seed = seed.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
                held = 0.9 * held + 0.02 * ((seed >> 33) as f64 / f64::from(1u32 << 30) - 1.0);
                held
            })
            .collect()
    };
    Sound::from_planes("steady.wav", rate, (0..channels).map(|_| plane()).collect()).unwrap()
}

#[test]
fn voices_that_are_matched_by_loudness_stay_so_while_knobs_turn() {
    let Some(browser) = Browser::installed() else { return };
    let guitar = blended(10.0, 10.0, "");
    for (channels, planes) in [(Channels::Coils, 4), (Channels::Stereo, 1)] {
        let sound = steady(48_000, planes);
        let made = SetOf { channels, ..SetOf::new(&guitar, &BLENDED, &sound) }.make();
        let checked = opened(&browser, &made, &json!({ "turned": { "volume": 6.0, "tone": 4.0 } }));
        let loudness = |voice: &&str| {
            let planes = planes_from(&checked, voice, gain_from(&checked, voice, "matched"));
            loudness_lufs(&planes, 48_000)
        };
        let all: Vec<f64> = BLENDED.iter().map(loudness).collect();
        let spread = all.iter().map(|l| (l - all[0]).abs()).fold(0.0, f64::max);
        assert!(spread < 0.1, "{planes} channels: {all:?}");
    }
}
