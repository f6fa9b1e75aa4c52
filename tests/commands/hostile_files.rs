//! A guitar, readings or switch file from a stranger is read or refused in bounded time and memory, and no text in it
//! drives the terminal, runs as a formula or breaks what a program reads.

#![cfg(unix)]
#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use std::fs;

use crate::common::program::{drywire_within_bounds, succeeds};
use serde_json::Value;

const PICKUP: &str = "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"vintage-full-size\"\n";

/// Files as large as are read, each with its one kind of too much, and what the refusal says.
fn too_much() -> Vec<(&'static str, String, &'static str)> {
    let headings = |heading: &str, count| format!("{PICKUP}{}", heading.repeat(count));
    let keys = |prefix: &str| (0..20_000).map(|i| format!("{prefix}{i} = 1\n")).collect::<Vec<_>>().concat();
    vec![
        ("too many bytes", format!("{PICKUP}#{}", "x".repeat(256 * 1024)), "more than 262144 bytes"),
        ("unknown keys", format!("{PICKUP}{}", keys("k")), "more faults from here on"),
        ("syntax errors", "= =\n".repeat(60_000), "more faults from here on"),
        ("lists in lists", format!("a = {}", "[".repeat(100_000)), "unclosed array"),
        ("tables in tables", format!("{} = 1", ["a"; 100_000].join(".")), "recursion limit"),
        ("tables in lists", format!("a = {}", "[{b=".repeat(60_000)), "unclosed"),
        ("pickups", headings("[[pickup]]\n", 20_000), "allowed are up to 4"),
        ("switches", headings("[[switch]]\n", 20_000), "allowed are up to 8"),
        (
            "joints",
            format!(
                "{PICKUP}[[switch]]\nname = \"a\"\ntable = \"on-on\"\njoints = [{}]\n",
                "[\"x\"],".repeat(40_000)
            ),
            "more than 40 joints",
        ),
        (
            "things in a joint",
            format!(
                "{PICKUP}[[switch]]\nname = \"a\"\ntable = \"on-on\"\njoints = [[{}]]\n",
                "\"x\",".repeat(60_000)
            ),
            "more than 40 things",
        ),
        ("a long name", format!("name = \"{}\"\n{PICKUP}", "x".repeat(250_000)), "has 250000 characters"),
        ("digits", format!("scale = {}\n{PICKUP}", "9".repeat(250_000)), "`scale`"),
        ("an absurd exponent", format!("scale = \"1e{}\"\n{PICKUP}", "9".repeat(250_000)), "`scale`"),
    ]
}

/// In the panel each value's place is looked up in the text; of three thousand pickups those are shown that there may be.
#[test]
#[cfg(feature = "panel")]
fn a_guitar_with_thousands_of_tables_is_shown_with_its_fault_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let pickup = |i: u32| format!("[[pickup]]\nname = \"p{i}\"\nlike = \"mini\"\n");
    let pickups: String = (0..3000).map(pickup).collect();
    fs::create_dir(folder.path().join("mine")).unwrap();
    fs::write(folder.path().join("mine/guitar.toml"), format!("format = 1\n{pickups}")).unwrap();
    let panel = crate::common::panel::Panel::start(folder.path());
    let session = panel.enter();
    // An answer is waited for 20 s.
    let page = session.get("g/mine/").body;
    assert!(page.contains("3000 tables headed [[pickup]]; allowed are up to 4"), "{page}");
    assert!(page.contains("take out those that are too many"), "{page}");
    assert_eq!(page.matches("<h2 id=\"h-pickup-").count(), 4, "{page}");
    for place in [
        "", "hear/", "leads/", "measure/", "plan/", "cavity/", "prove/", "confirm/", "survey/", "send/",
        "file",
    ] {
        assert_eq!(session.get(&format!("g/mine/{place}")).status, 200, "{place}");
    }
}

#[test]
fn a_stream_that_its_decoder_breaks_on_is_refused_in_a_sentence_alone() {
    let folder = tempfile::tempdir().unwrap();
    fs::copy("tests/data/crashes/sound/flac-prediction-overflows.flac", folder.path().join("take.flac"))
        .unwrap();
    let output = drywire_within_bounds(folder.path(), &["hear", "take.flac"]);
    let told = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(2), "{told}");
    assert!(told.starts_with("error: `take.flac` is damaged at frame 0"), "{told}");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[test]
fn too_much_of_anything_in_a_guitar_file_is_refused_in_bounded_time_and_memory() {
    let folder = tempfile::tempdir().unwrap();
    for (what, text, said) in too_much() {
        fs::write(folder.path().join("mine.toml"), text).unwrap();
        for arguments in [&["figures", "--guitar", "mine.toml"][..], &["lugs", "--check", "mine.toml"]] {
            let output = drywire_within_bounds(folder.path(), arguments);
            let told = String::from_utf8_lossy(&output.stderr);
            assert_eq!(output.status.code(), Some(2), "{what}: {told}");
            assert!(told.contains(said), "{what}: {told}");
            assert!(told.len() < 1_000_000, "{what}: {} bytes of complaint", told.len());
        }
    }
}

#[test]
fn too_much_of_anything_in_a_readings_file_is_refused_in_bounded_time_and_memory() {
    let folder = tempfile::tempdir().unwrap();
    let leads = "leads = [\"a\", \"b\"]\n";
    let ohms = "[[ohms]]\nbetween = [\"a\", \"b\"]\nreads = \"5k\"\n";
    let taps = "[[tap]]\ncoil = \"x\"\nred = \"a\"\nblack = \"b\"\nswing = \"+\"\n";
    let cases = [
        ("leads", format!("leads = [{}]", "\"x\",".repeat(60_000)), "a second lead is called `x`"),
        (
            "leads that differ",
            format!("leads = {:?}", (0..20_000).map(|i| i.to_string()).collect::<Vec<_>>()),
            "allowed are 1 to 8",
        ),
        ("tables", format!("{leads}{}", ohms.repeat(5_000)), "allowed are up to 200"),
        ("readings", format!("{leads}{}{}", ohms.repeat(150), taps.repeat(150)), "more than 200 readings"),
        ("unknown leads", format!("{leads}{}", ohms.replace('a', "q").repeat(5_000)), "no lead `q`"),
        (
            "coils",
            format!("{leads}coils = [{}]", "\"x\", \"y\", \"z\",".repeat(15_000)),
            "`z` would be one coil more",
        ),
    ];
    for (what, text, said) in cases {
        fs::write(folder.path().join("bench.toml"), text).unwrap();
        let output = drywire_within_bounds(folder.path(), &["leads", "bench.toml"]);
        let told = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{what}: {told}");
        assert!(told.contains(said), "{what}: {told}");
    }
}

#[test]
fn what_is_no_regular_file_is_refused_without_waiting() {
    let folder = tempfile::tempdir().unwrap();
    let made = std::process::Command::new("mkfifo").arg(folder.path().join("pipe.toml")).status().unwrap();
    assert!(made.success());
    std::os::unix::fs::symlink("loop.toml", folder.path().join("loop.toml")).unwrap();
    for (path, said) in [
        ("pipe.toml", "not a regular file"),
        ("/dev/zero", "not a regular file"),
        ("loop.toml", "cannot read"),
    ] {
        for arguments in [&["figures", "--guitar", path][..], &["leads", path], &["lugs", "--check", path]] {
            let output = drywire_within_bounds(folder.path(), arguments);
            let told = String::from_utf8_lossy(&output.stderr);
            assert_eq!(output.status.code(), Some(2), "{arguments:?}: {told}");
            assert!(told.contains(said), "{arguments:?}: {told}");
        }
    }
}

#[test]
fn text_that_drives_a_terminal_is_shown_and_a_json_answer_stays_json() {
    let folder = tempfile::tempdir().unwrap();
    // An order to a terminal and a turn of the writing's direction; a text may hold the second.
    let name = "to\u{202e}ym";
    fs::write(folder.path().join("\u{1b}[2J.toml"), format!("name = \"{name}\"\n{PICKUP}")).unwrap();
    let output = succeeds(folder.path(), &["figures", "--guitar", "\u{1b}[2J.toml", "--json"]);
    let figures: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(figures["guitar"], name);
    fs::write(folder.path().join("\u{1b}[2J.toml"), "\"\\u001b[2J\\u009b2J\" = 1 # \u{9b}2J\n").unwrap();
    for arguments in [&["figures", "--guitar", "\u{1b}[2J.toml"][..], &["hear", "\u{1b}[2J.toml"]] {
        let output = drywire_within_bounds(folder.path(), arguments);
        let told = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{told}");
        assert!(!told.contains(|c: char| c.is_control() && c != '\n'), "{told:?}");
    }
}
