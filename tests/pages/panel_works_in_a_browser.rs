//! The panel works in a browser by mouse and by keyboard, at a desk and on a phone; `tests/browser/panel.js`, for its places
//! `panel-leads.js`, `panel-hear.js`, `panel-live.js`, `panel-plan.js`, `panel-cavity.js`, `panel-prove.js`, `panel-survey.js`, `panel-send.js`
//! and, in another browser, `panel-firefox.js` beside it work in it.

#![allow(clippy::unwrap_used, reason = "a test stops where the panel is not as expected")]

use std::path::Path;
use std::sync::{Mutex, PoisonError};

use crate::common::browser::Browser;

/// Sound that plays takes a processor for itself: one plays at a time.
static PLAYING: Mutex<()> = Mutex::new(());

/// Drives a panel by a script, where there is a browser and what drives it.
fn drive(script: &str) {
    if !Browser::can_be_driven() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let _one = PLAYING.lock().unwrap_or_else(PoisonError::into_inner);
    Browser::drive(script, folder.path());
}

#[test]
fn a_guitar_is_made_changed_and_seen_by_mouse_and_by_keyboard() {
    drive("panel.js");
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
    drive("panel-firefox.js");
}
