//! The panel works in a browser by mouse and by keyboard, at a desk and on a phone; `tests/browser/panel.js`, for its places
//! `panel-whole.js`, `panel-leads.js`, `panel-hear.js`, `panel-live.js`, `panel-plan.js`, `panel-cavity.js`, `panel-prove.js`, `panel-survey.js`, `panel-send.js`,
//! `panel-measure.js`, `panel-confirm.js`, `panel-flips.js` and, in another browser, `panel-firefox.js` beside it work in it.

#![allow(clippy::unwrap_used, reason = "a test stops where the panel is not as expected")]
#![allow(clippy::cast_possible_truncation, reason = "samples of the test lie within what they are stored as")]

use std::path::Path;
use std::sync::{Mutex, PoisonError};

use crate::common::browser::Browser;
use crate::common::decks::simulator_is_installed;
use crate::common::takes::{Recorder, SteelCoil};

/// Sound that plays takes a processor for itself: one plays at a time.
static PLAYING: Mutex<()> = Mutex::new(());

/// Drives a panel by a script, where there is a browser and what drives it.
fn drive(script: &str) {
    if !Browser::can_be_driven() {
        return;
    }
    drive_in(tempfile::tempdir().unwrap().path(), script);
}

/// Drives a panel by a script that finds in `folder` what it plays.
fn drive_in(folder: &Path, script: &str) {
    let _one = PLAYING.lock().unwrap_or_else(PoisonError::into_inner);
    Browser::drive(script, folder);
}

#[test]
fn a_guitar_is_made_changed_and_seen_by_mouse_and_by_keyboard() {
    drive("panel.js");
}

#[test]
fn the_whole_job_is_done_in_it_by_mouse_and_by_keyboard_alone() {
    drive("panel-whole.js");
}

#[test]
fn what_is_heard_in_it_is_what_the_files_have() {
    drive("panel-hear.js");
}

#[test]
fn leads_are_found_in_it_and_put_into_the_guitar_as_the_command_does() {
    drive("panel-leads.js");
}

#[test]
fn a_switch_is_planned_in_it_and_soldered_joint_by_joint() {
    drive("panel-plan.js");
}

#[test]
fn a_cavity_is_wired_in_it_checked_and_mended() {
    drive("panel-cavity.js");
}

#[test]
fn the_guitar_itself_is_heard_through_the_engines_ratio() {
    drive("panel-live.js");
}

#[test]
fn what_was_soldered_is_proven_by_what_the_meter_reads() {
    drive("panel-prove.js");
}

#[test]
fn a_guitar_is_measured_in_it_from_play_to_saved_values() {
    if !Browser::can_be_driven() || !simulator_is_installed() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    record(folder.path());
    drive_in(folder.path(), "panel-measure.js");
}

/// Leaves a recording of the sweeps in `folder` that the simulator made of a coil.
fn record(folder: &Path) {
    let coil = SteelCoil {
        ohms: 6100.0,
        henries: 2.5,
        farads: 115e-12,
        loss: 800e3,
        core: [0.0, 1e3],
        cover: [0.0, 1e4],
    };
    // What the browser takes for a sound card's input has that rate.
    let recorder = Recorder { rate: 44_100, bits: 16, ..Recorder::default() };
    let device = format!("{}rv x 0 500k\n", coil.deck("a", ["x", "0"], 0.0));
    let take = recorder.record(folder, &device);
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: recorder.rate,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut writer = hound::WavWriter::create(folder.join("input.wav"), spec).unwrap();
    // So long a page may take from the input's beginning to its own.
    let ahead = vec![0.0; recorder.rate as usize * 3 / 2];
    for sample in ahead.iter().chain(&take).chain(&ahead).chain(&ahead) {
        writer.write_sample((sample * f64::from(1 << 15)).round() as i16).unwrap();
    }
    writer.finalize().unwrap();
}

#[test]
fn what_was_soldered_is_confirmed_by_recordings_counted_as_they_are_played() {
    drive("panel-confirm.js");
}

#[test]
fn what_was_soldered_is_confirmed_by_notes_that_ring_while_the_switch_is_thrown() {
    drive("panel-flips.js");
}

#[test]
fn what_is_sent_is_made_and_taken_in() {
    drive("panel-send.js");
}

#[test]
fn a_guitar_is_surveyed_and_one_of_it_heard() {
    drive("panel-survey.js");
}

#[test]
fn another_browser_takes_it_as_well() {
    if !Path::new("/usr/bin/firefox-esr").is_file() {
        assert!(std::env::var_os("CI").is_none(), "no `firefox-esr`");
        return;
    }
    if !Browser::can_be_driven() || !simulator_is_installed() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    record(folder.path());
    drive_in(folder.path(), "panel-firefox.js");
}
