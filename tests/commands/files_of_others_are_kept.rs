//! A file that drywire did not write, or that was changed since, is never replaced or removed unasked, by any command
//! that writes files: exit code 2, its name, what to do, and everything as it was. With `--replace` it is replaced.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use std::fs;
use std::path::Path;

use crate::common::program::{contents, drywire, repository, succeeds};
use drywire::digest::{Digest, Form, is_whole_file};
use drywire::folder::ListedFile;
use serde_json::Value;

fn write(folder: &Path, name: &str, bytes: &[u8]) {
    let path = folder.join(name);
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(path, bytes).unwrap();
}

/// Expects the program to refuse, with its exit code, the name and what to do, and to leave all as it was.
fn keeps(folder: &Path, arguments: &[&str], name: &str) {
    let before = contents(folder);
    let output = drywire(folder, arguments);
    let told = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(2), "{arguments:?}: {told}");
    assert!(told.contains(name), "{arguments:?}: {told}");
    assert!(told.contains("hint: ") && told.contains("--replace"), "{arguments:?}: {told}");
    assert!(contents(folder) == before, "{arguments:?}: something was changed");
}

/// Expects the program to replace or remove the file at `name`, in which `mine` stands, when it is told to.
fn replaces(folder: &Path, arguments: &[&str], name: &str, mine: &[u8]) {
    succeeds(folder, &[arguments, &["--replace"]].concat());
    assert!(
        contents(folder).get(name).is_none_or(|bytes| bytes != mine),
        "{arguments:?}: `{name}` is there still"
    );
}

const MINE: &[u8] = b"a person's own, kept nowhere else\n";

/// Commands, each with a file that it would write.
const NEW: [(&[&str], &str); 14] = [
    (&["hear", "take.wav", "--no-page"], "drywire-out/matched/series.wav"),
    (&["hear", "take.wav", "--no-page"], "drywire-out/as-is/parallel.wav"),
    (&["hear", "take.wav"], "drywire-out/listen.html"),
    (&["hear", "take.wav", "--no-page"], "drywire-out/figures.json"),
    (&["hear", "take.wav", "--no-page"], "drywire-out/figures.csv"),
    (&["hear", "take.wav"], "drywire-out/response.png"),
    (&["hear", "take.wav", "--no-page", "--impulses"], "drywire-out/impulses/series.wav"),
    (&["hear", "take.wav", "take.wav", "--no-page", "--out", "sets"], "sets/take-2/figures.json"),
    (&["survey", "--pickup", "bridge", "--arrangements", "series,parallel"], "drywire-survey/survey.html"),
    (&["survey", "--pickup", "bridge", "--arrangements", "series,parallel"], "drywire-survey/survey.json"),
    (
        &["survey", "--pickup", "bridge", "--arrangements", "series", "--hear"],
        "drywire-survey/heard/listen.html",
    ),
    (&["pluck", "--notes", "E2", "--seconds", "1s", "--out", "recording.wav"], "recording.wav"),
    (&["lugs", "--switch", "on-on", "--throws", "series,parallel", "--sheet", "mine.toml"], "mine.toml"),
    (&["manual", "pages", "man1"], "man1/drywire-hear.1"),
];

/// A folder with a short take in it.
fn place() -> tempfile::TempDir {
    let place = tempfile::tempdir().unwrap();
    fs::copy(repository("tests/data/sound/float32.wav"), place.path().join("take.wav")).unwrap();
    place
}

#[test]
fn a_file_in_the_way_is_kept_and_said_and_replaced_only_when_told() {
    for (arguments, name) in NEW {
        let place = place();
        let quick = if arguments[0] == "hear" { &["--arrangements", "series,parallel"][..] } else { &[] };
        let arguments = [arguments, quick].concat();
        write(place.path(), name, MINE);
        if arguments.contains(&"take-2") || name.starts_with("sets/") {
            // Of several sources one that fails stops no other.
            let output = drywire(place.path(), &arguments);
            assert_eq!(output.status.code(), Some(2));
            assert!(
                String::from_utf8_lossy(&output.stderr).contains("`figures.json` was not written by drywire")
            );
            assert_eq!(contents(place.path())[name], MINE);
        } else {
            let within = name.split_once('/').map_or(name, |(_, within)| within);
            keeps(place.path(), &arguments, within);
        }
        replaces(place.path(), &arguments, name, MINE);
        // What it wrote then is its own, and the same command goes again.
        succeeds(place.path(), &arguments);
    }
}

#[test]
fn what_cannot_carry_a_mark_is_kept_whatever_it_is() {
    let place = tempfile::tempdir().unwrap();
    let copy = ["presets", "copy", "set-neck", "mine.toml"];
    succeeds(place.path(), &copy);
    let original = contents(place.path());
    let output = drywire(place.path(), &copy);
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("`mine.toml`: it is there already"));
    write(place.path(), "mine.toml", MINE);
    keeps(place.path(), &copy, "mine.toml");
    replaces(place.path(), &copy, "mine.toml", MINE);
    assert!(contents(place.path()) == original);

    write(place.path(), "readings.toml", MINE);
    let leads = ["leads", "--leads", "white,grey", "--ohms", "white,grey=5.9k", "--save", "readings.toml"];
    let output = drywire(place.path(), &leads);
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("`readings.toml`"));
    assert_eq!(contents(place.path())["readings.toml"], MINE);
}

#[test]
fn a_file_of_a_set_that_was_changed_by_hand_is_kept_and_so_is_one_that_would_go() {
    let place = place();
    let hear = ["hear", "take.wav", "--arrangements", "series,parallel", "--out", "set"];
    let fewer = ["hear", "take.wav", "--arrangements", "series", "--no-page", "--out", "set"];
    succeeds(place.path(), &hear);
    let original = contents(place.path());
    for (name, again) in [
        ("response.svg", &hear[..]),
        ("listen.html", &hear),
        ("figures.json", &hear),
        ("matched/series.wav", &hear),
        // These would go.
        ("response.svg", &fewer),
        ("as-is/parallel.wav", &fewer),
    ] {
        let full = format!("set/{name}");
        let mut changed = original[&full].clone();
        // One bit, which leaves length and form as they were.
        let middle = changed.len() / 2;
        changed[middle] ^= 1;
        write(place.path(), &full, &changed);
        keeps(place.path(), again, name);
        replaces(place.path(), again, &full, &changed);
        succeeds(place.path(), &[&hear[..], &["--replace"]].concat());
        assert!(contents(place.path()) == original, "{name}");
    }
}

#[test]
fn a_single_file_that_was_changed_by_hand_is_kept() {
    let place = place();
    let sheet = ["lugs", "--switch", "on-on", "--throws", "series,parallel", "--sheet", "sheet.html"];
    let pluck = ["pluck", "--notes", "E2", "--seconds", "1s", "--out", "low.wav"];
    let pages = ["manual", "pages", "."];
    for (command, name) in [(&sheet[..], "sheet.html"), (&pluck, "low.wav"), (&pages, "drywire.1")] {
        succeeds(place.path(), command);
        let original = contents(place.path());
        assert!(is_whole_file(&place.path().join(name)).unwrap());
        succeeds(place.path(), command);
        assert!(contents(place.path()) == original);
        let mut changed = original[name].clone();
        changed[200] ^= 1;
        for mine in [changed, [&original[name][..], b"\n"].concat()] {
            write(place.path(), name, &mine);
            keeps(place.path(), command, name);
            replaces(place.path(), command, name, &mine);
            assert!(contents(place.path()) == original);
        }
    }
}

#[test]
fn a_list_tells_the_digest_of_every_file_beside_it() {
    let place = place();
    succeeds(place.path(), &["hear", "take.wav", "--impulses", "--out", "set"]);
    let survey = ["survey", "--pickup", "bridge", "--arrangements", "series,parallel", "--hear"];
    succeeds(place.path(), &[&survey[..], &["--out", "survey"]].concat());
    for (folder, list) in
        [("set", "figures.json"), ("survey", "survey.json"), ("survey/heard", "figures.json")]
    {
        let folder = place.path().join(folder);
        let text = fs::read_to_string(folder.join(list)).unwrap();
        let told: Value = serde_json::from_str(&text).unwrap();
        let listed: Vec<ListedFile> = serde_json::from_value(told["files"].clone()).unwrap();
        let mut there = contents(&folder);
        there.retain(|name, _| name != list && !(list == "survey.json" && name.starts_with("heard/")));
        assert!(there.len() >= 4);
        let of = |bytes: &Vec<u8>| Digest::of(bytes).to_string();
        let there: Vec<(String, String)> =
            there.iter().map(|(name, bytes)| (name.clone(), of(bytes))).collect();
        let listed: Vec<_> = listed.into_iter().map(|f| (f.name, f.sha256.to_string())).collect();
        assert_eq!(listed, there);
        // The list's own digest is that of all before the last entry's comma.
        let own = told["own_sha256"].as_str().unwrap();
        let before = text.split_once(",\n  \"own_sha256\"").unwrap().0;
        assert_eq!(own, Digest::of(before.as_bytes()).to_string());
    }
}

#[test]
fn a_set_of_an_older_version_which_lists_no_files_is_kept() {
    let place = place();
    let hear = ["hear", "take.wav", "--arrangements", "series", "--no-page", "--out", "set"];
    succeeds(place.path(), &hear);
    let path = place.path().join("set/figures.json");
    let mut figures: Value = serde_json::from_str(&fs::read_to_string(&path).unwrap()).unwrap();
    for key in ["files", "own_sha256"] {
        assert!(figures.as_object_mut().unwrap().remove(key).is_some());
    }
    let text = serde_json::to_string_pretty(&figures).unwrap();
    for text in [text.clone(), Form::Json.marked(&text)] {
        fs::write(&path, text).unwrap();
        keeps(place.path(), &hear, "as-is/series.wav");
    }
    // Told that it may, it replaces what it writes; what else lies there is not known for its own and stays.
    let others = ["hear", "take.wav", "--arrangements", "parallel", "--no-page", "--out", "set", "--replace"];
    succeeds(place.path(), &others);
    assert!(place.path().join("set/matched/series.wav").exists());
    assert!(place.path().join("set/matched/parallel.wav").exists());
}

#[test]
fn a_source_whose_name_is_dots_has_its_set_in_the_folder_asked_for() {
    let place = place();
    for name in ["..wav", "...wav", ".wav"] {
        fs::copy(place.path().join("take.wav"), place.path().join(name)).unwrap();
    }
    write(place.path(), "matched/mine.txt", MINE);
    let before = contents(place.path());
    let mut hear = vec!["hear", "./..wav", "./...wav", "./.wav", "--arrangements", "series", "--no-page"];
    hear.extend(["--out", "deep/sets"]);
    succeeds(place.path(), &hear);
    let sets = ["source", "source-2", "wav"].map(|set| format!("deep/sets/{set}/"));
    let mut after = contents(place.path());
    for set in &sets {
        assert!(after.contains_key(&format!("{set}matched/series.wav")), "{set}");
    }
    after.retain(|name, _| !sets.iter().any(|set| name.starts_with(set)));
    assert!(after == before, "something lies outside of the sets");
}
