//! P20, A13: what the page makes of its sound behind the amplifier is what the files hold.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use super::listen_page_plays_the_files::{opened, sound};
use crate::common::browser::Browser;
use crate::common::made::{Made, SetOf, gain_from, planes_from, residual_db};
use drywire::amp::{Amplification, Cabinet, Drive, Setting};
use drywire::guitar::Guitar;
use drywire::page::Excerpt;
use drywire::quantity::Seconds;
use drywire::render::{Channels, Model};
use serde_json::json;

/// Returns how far what the page makes of a set is from its files, at most, in steps of 24 bits, and in decibels.
fn off(browser: &Browser, set: &SetOf<'_>, made: &Made, setting: &str) -> (f64, f64) {
    let checked = opened(browser, made, &json!({ "amp": setting }));
    let (mut steps, mut residual) = (0.0f64, f64::MIN);
    for (voice, files) in set.voices.iter().zip(&made.files) {
        for (levels, file) in ["matched", "true"].into_iter().zip(files) {
            let (ours, theirs) =
                (planes_from(&checked, voice, gain_from(&checked, voice, levels)), made.played(file));
            for (own, other) in ours.iter().flatten().zip(theirs.iter().flatten()) {
                steps = steps.max((own - other).abs() * f64::from(1 << 23));
            }
            residual = residual.max(residual_db(&ours, &theirs));
        }
    }
    (steps, residual)
}

fn amplified(setting: Setting) -> Amplification {
    Amplification { drive: Drive::Set(setting), cabinet: Cabinet::Closed }
}

#[test]
fn a13_an_amplified_excerpt_is_the_files_within_a_step_of_24_bits() {
    let Some(browser) = Browser::installed() else { return };
    let guitar = Guitar::built_in("set-neck").unwrap();
    let voices = ["series", "parallel", "split-a"];
    for (rate, channels, setting) in [
        (48_000, 1, Setting::Driven),
        (44_100, 2, Setting::Hard),
        (96_000, 1, Setting::Edge),
        (192_000, 1, Setting::Driven),
    ] {
        let sound = sound(rate, channels, rate * 3 / 2);
        let set = SetOf { amplification: Some(amplified(setting)), ..SetOf::new(&guitar, &voices, &sound) };
        let (steps, residual) = off(&browser, &set, &set.make(), setting.name());
        println!(
            "A13: {rate} Hz, {channels} channels, {}: {steps:.2} steps, {residual:.0} dB",
            setting.name()
        );
        assert!(steps <= 1.0, "{rate} Hz, {}: {steps}", setting.name());
    }
    let sound = sound(48_000, 2, 144_000);
    for model in [Model::Circuit, Model::SecondOrder] {
        let amplification = Some(amplified(Setting::Driven));
        let set =
            SetOf { amplification, channels: Channels::Coils, model, ..SetOf::new(&guitar, &voices, &sound) };
        let part = Excerpt::at(&sound, Seconds::new(1.5), Seconds::new(1.0)).unwrap();
        assert!(part.lead() < 72_000, "it begins after the source does");
        let (steps, residual) = off(&browser, &set, &set.with(part), "driven");
        println!("A13: an excerpt, {model:?}: {steps:.2} steps, {residual:.0} dB");
        assert!(steps <= 1.0, "{model:?}: {steps}");
    }
}
