//! Bad input ends with exit code 2 and says what was given, what is allowed, where, and what to do; nothing is written.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use std::fs;
use std::path::Path;

use crate::common::program::{drywire, repository};

/// Runs the program and expects a refusal that says all of `said` and leaves the folder as it was.
fn refuses(folder: &Path, arguments: &[&str], said: &[&str]) {
    let listing = || {
        let mut names: Vec<_> = fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name()).collect();
        names.sort();
        names
    };
    let before = listing();
    let output = drywire(folder, arguments);
    let told = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(2), "{arguments:?}: {told}");
    assert!(output.stdout.is_empty(), "{arguments:?} printed a result");
    for said in said {
        assert!(told.contains(said), "{arguments:?} does not say `{said}`: {told}");
    }
    assert_eq!(before, listing(), "{arguments:?} left something behind");
}

fn with_coil(line: &str) -> String {
    format!(
        "format = 1\n[[pickup]]\nname = \"bridge\"\n[pickup.coil_a]\nresistance = \"3.9k\"\ninductance = \"1.95\"\n{line}\n"
    )
}

#[test]
fn a_faulty_guitar_file_is_refused_with_the_line_the_value_and_what_is_allowed() {
    let folder = tempfile::tempdir().unwrap();
    let cases = [
        (with_coil("capacitance = \"100p\"\nlos = \"220k\""), vec!["unknown key `los`", "8 |", "did you mean `loss`?"]),
        (with_coil("capacitance = \"-100p\""), vec!["-100 pF", "allowed is 0, or from", "7 |", "hint: typical is"]),
        (with_coil("capacitance = \"9\""), vec!["9.00 F", "allowed is 0, or from"]),
        (with_coil("capacitance = \"12 apples\""), vec!["`12 apples` is not a capacitance such as 22n"]),
        (with_coil("capacitance = \"100p\"").replace("name = \"bridge\"", "name = \"bridge\"\ncoupling = 1.0\n[pickup.coil_b]\nresistance = \"4k\"\ninductance = \"2\"\ncapacitance = \"100p\""),
            vec!["`coupling` is 1; allowed is from 0 to below 1"]),
        (format!("scale = \"3 m\"\n{}", with_coil("capacitance = \"100p\"")), vec!["`scale` is 3.00 m; allowed is from 200 mm to 2.00 m"]),
        (String::from("format = 1\n"), vec!["has no `pickup`", "hint: add a table"]),
        (String::from("format = 1\n[[pickup]\n"), vec!["2 |"]),
        // What follows from values that are allowed each by itself.
        (String::from("format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"hot-ceramic\"\n[pickup.coil_a]\nresistance = \"20M\"\n"),
            vec!["beyond what is allowed", "hint: state `inductance`"]),
        (String::from("format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"hot-ceramic\"\n[cable]\nlength = \"20000 m\"\nper_metre = \"200n\"\n"),
            vec!["allowed is up to", "hint: shorten the cable"]),
    ];
    for (text, said) in cases {
        fs::write(folder.path().join("mine.toml"), &text).unwrap();
        for command in ["hear", "figures", "response"] {
            refuses(
                folder.path(),
                &[command, "--guitar", "mine.toml"],
                &[&said[..], &["mine.toml"]].concat(),
            );
        }
    }
}

#[test]
fn what_is_no_sound_is_refused_by_name() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("text.wav"), "this is no sound at all, it is a text under a false name\n")
        .unwrap();
    fs::write(folder.path().join("empty.wav"), "").unwrap();
    refuses(folder.path(), &["hear", "none.wav"], &["none.wav", "hint:"]);
    fs::create_dir(folder.path().join("bare")).unwrap();
    refuses(folder.path(), &["hear", "bare"], &["`bare`", "hint:"]);
    refuses(folder.path(), &["hear", "text.wav"], &["text.wav", "hint:"]);
    refuses(folder.path(), &["hear", "empty.wav"], &["empty.wav", "hint:"]);
}

#[test]
fn an_output_that_cannot_be_written_is_found_out_before_the_work() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("file"), "not a folder").unwrap();
    refuses(folder.path(), &["hear", "--out", "file"], &["file", "hint:"]);
    refuses(folder.path(), &["hear", "--out", "file/below"], &["file/below", "hint:"]);
    refuses(folder.path(), &["hear", "--out", "/proc/nowhere"], &["/proc/nowhere", "hint:"]);
    assert_eq!(fs::read_to_string(folder.path().join("file")).unwrap(), "not a folder");
}

#[test]
fn a_source_at_a_name_of_the_set_is_never_replaced() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir_all(folder.path().join("set/as-is")).unwrap();
    let source = folder.path().join("set/as-is/series.wav");
    fs::copy(repository("samples-synthetic/high-note.wav"), &source).unwrap();
    let before = fs::read(&source).unwrap();
    refuses(folder.path(), &["hear", "set/as-is/series.wav", "--out", "set"], &["series.wav", "hint:"]);
    assert!(before == fs::read(&source).unwrap());
}

#[test]
fn options_that_do_not_go_together_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let recording = repository("tests/data/harmonics_mono.wav");
    refuses(
        folder.path(),
        &["hear", &recording, "--arrangements", "series,serial"],
        &["`serial` is no arrangement", "hint:"],
    );
    refuses(
        folder.path(),
        &["hear", &recording, "--arrangements", "series,series"],
        &["listed twice", "hint:"],
    );
    refuses(
        folder.path(),
        &["hear", &recording, "--arrangements", "series-bypassed"],
        &["no bypass capacitor", "hint:"],
    );
    refuses(folder.path(), &["hear", &recording, "--baseline", "split-a-open"], &["is not among", "hint:"]);
    refuses(
        folder.path(),
        &["hear", &recording, "--pickup", "middle"],
        &["no pickup `middle`", "bridge, neck", "hint:"],
    );
    refuses(
        folder.path(),
        &["hear", &recording, "--pickup", "single-coil", "--arrangements", "series"],
        &["one coil", "hint:"],
    );
    refuses(
        folder.path(),
        &["hear", &recording, "--guitar", "set-nek"],
        &["neither a file nor a built-in guitar", "set-neck"],
    );
    refuses(
        folder.path(),
        &["hear", &recording, "--source-channels", "coils"],
        &[
            "`harmonics_mono.wav` has 1 channel",
            "one for each coil",
            "here 2",
            "hint: say --source-channels stereo",
        ],
    );
    refuses(
        folder.path(),
        &["hear", &recording, "--recorded-guitar", "set-neck"],
        &["says neutral", "hint:"],
    );
    refuses(
        folder.path(),
        &["hear", &recording, "--recorded-through", "series", "--model", "second-order"],
        &["second-order", "hint:"],
    );
    refuses(folder.path(), &["response", "--start", "5k", "--stop", "1k"], &["is not below", "hint:"]);
    refuses(folder.path(), &["presets", "show", "set-nekk"], &["did you mean `set-neck`?"]);
}

#[test]
fn what_is_no_source_but_known_is_told_how_it_is_given() {
    let folder = tempfile::tempdir().unwrap();
    fs::copy(repository("presets/guitars/set-neck.toml"), folder.path().join("mine.toml")).unwrap();
    for (given, said) in [
        ("mine.toml", "hint: say --guitar mine.toml"),
        ("travel-mini", "hint: say --guitar travel-mini"),
        ("hot-ceramic", "hint: say --pickup hot-ceramic"),
        ("split-a", "as in --arrangements series,split-a"),
        ("low-not", "hint: did you mean `low-note`?"),
        ("take.wav", "hint: check the spelling"),
    ] {
        refuses(folder.path(), &["hear", given], &[given, said]);
    }
    fs::create_dir(folder.path().join("set")).unwrap();
    fs::write(folder.path().join("set/listen.html"), "a page").unwrap();
    refuses(folder.path(), &["hear", "set"], &["no sound file", "hint: it is a set", "drywire play set"]);
}

#[test]
fn a_misspelt_name_is_answered_with_the_nearest() {
    let folder = tempfile::tempdir().unwrap();
    for arguments in [
        &["figures", "--arrangements", "serie"][..],
        &["figures", "--arrangements", "Series"],
        &["response", "--arrangement", "serie"],
        &["survey", "--arrangements", "parallel,serie"],
        &["figures", "--baseline", "serie"],
    ] {
        refuses(folder.path(), arguments, &["hint: did you mean `series`?"]);
    }
    refuses(folder.path(), &["figures", "--guitar", "set-nek"], &["hint: did you mean `set-neck`?"]);
    refuses(folder.path(), &["figures", "--arrangements", "xyz"], &["there are series", "hint: separate"]);
}

#[test]
fn a_distance_that_cannot_be_is_refused_with_what_can() {
    let folder = tempfile::tempdir().unwrap();
    for option in ["--alike", "--within"] {
        for given in ["-1", "nan", "0", "inf", "near"] {
            let said = [&format!("'{given}' for '{option} <DB>'"), "from 0.05 to 40", "hint: 1 dB"];
            refuses(folder.path(), &["survey", option, given], &said);
        }
    }
}

#[test]
fn a_file_of_another_kind_is_told_as_what_it_is_and_where_it_belongs() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path();
    let mut header = b"RIFF\x24\x00\x00\x00WAVEfmt ".to_vec();
    header.resize(44, 0);
    fs::write(path.join("take.wav"), header).unwrap();
    fs::write(path.join("figures.json"), "{\n  \"schema\": 1,\n  \"arrangements\": []\n}\n").unwrap();
    fs::write(path.join("readings.toml"), "leads = [\"white\", \"grey\"]\n").unwrap();
    fs::write(path.join("mine.toml"), "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\"\n")
        .unwrap();
    for (file, said) in [
        ("take.wav", ["is a sound file, where a text file is wanted", "drywire hear take.wav"]),
        ("figures.json", ["these are a set's figures", "drywire play DIR"]),
        ("readings.toml", ["this is a file of meter readings", "drywire leads FILE"]),
    ] {
        refuses(path, &["figures", "--guitar", file], &said);
        refuses(path, &["lugs", "--check", file], &said);
    }
    refuses(
        path,
        &["leads", "mine.toml"],
        &["this is a guitar's file, where a file of meter readings is wanted", "--guitar FILE"],
    );
}
