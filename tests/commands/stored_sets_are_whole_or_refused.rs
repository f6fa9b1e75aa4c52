//! A set read back from its folder is whole and its files fit together, or it is refused with what is wrong, where,
//! and what to do; no text of figures makes the reader panic.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use std::fs;
use std::path::Path;

use crate::common::program::{Set, write_wav};
use crate::common::stored::{sine, write_figures, write_set};
use drywire::report::SetFigures;
use drywire::set::{MOST_ARRANGEMENTS, StoredSet};
use proptest::prelude::*;
use serde_json::{Value, json};

const RATE: u32 = 8000;

fn small_set(folder: &Path) -> Value {
    let take = || [vec![sine(100, RATE, 440.0, 0.5)], vec![sine(100, RATE, 440.0, 0.2)]];
    write_set(folder, RATE, &[("series", take()), ("mode:3", take())])
}

/// Opens the set in `folder` and returns what is told of its refusal, with the hint.
fn refused(folder: &Path) -> String {
    let error = StoredSet::open(folder).unwrap_err();
    format!("{error}\nhint: {}", error.hint())
}

#[test]
fn a_set_that_hear_wrote_is_read_back_with_its_files() {
    let folder = tempfile::tempdir().unwrap();
    let written = Set::heard(folder.path(), &["--arrangements", "series,split-a"]);
    let set = StoredSet::open(&written.folder).unwrap();
    let mut figures = written.figures.clone();
    assert!(figures.as_object_mut().unwrap().remove("own_sha256").is_some());
    assert_eq!(serde_json::to_value(set.figures()).unwrap(), figures);
    let names: Vec<&str> = set.takes().iter().map(|t| t.name.as_str()).collect();
    assert_eq!(names, ["series", "split-a"]);
    assert_eq!(set.position("split-a"), Some(1));
    assert_eq!((set.rate_hz(), set.channels()), (48_000, 1));
    let (planes, _) = written.read("as-is/split-a.wav");
    let read = set.takes()[1].as_is.blocks(usize::MAX).next_block().unwrap().unwrap().to_vec();
    assert_eq!(set.frames(), planes[0].len() as u64);
    assert_eq!(read, planes);
}

#[test]
fn a_missing_or_unlike_file_is_named() {
    let folder = tempfile::tempdir().unwrap();
    small_set(folder.path());
    let file = folder.path().join("as-is/mode-3.wav");
    let cases: [(&str, &dyn Fn()); 5] = [
        ("as-is/mode-3.wav` cannot be read", &|| fs::remove_file(&file).unwrap()),
        ("as-is/mode-3.wav` is", &|| fs::write(&file, "no sound at all, but a text of some length").unwrap()),
        ("its `as-is/mode-3.wav` has 99 frames, and `matched/series.wav` 100 frames", &|| {
            write_wav(&file, &[sine(99, RATE, 440.0, 0.5)], RATE);
        }),
        ("its `as-is/mode-3.wav` has 2 channels, and `matched/series.wav` 1 channel", &|| {
            write_wav(&file, &[sine(100, RATE, 440.0, 0.5), sine(100, RATE, 440.0, 0.5)], RATE);
        }),
        ("its `as-is/mode-3.wav` has 16000 Hz, and `figures.json` states 8000 Hz", &|| {
            write_wav(&file, &[sine(100, 16_000, 440.0, 0.5)], 16_000);
        }),
    ];
    for (said, spoil) in cases {
        spoil();
        let told = refused(folder.path());
        let where_ = folder.path().display().to_string();
        assert!(told.contains(said) && told.contains(&where_), "not `{said}`: {told}");
        assert!(told.contains("hint: ") && told.contains("drywire hear"), "{told}");
    }
}

#[test]
fn figures_that_are_not_a_sets_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let figures = small_set(folder.path());
    let with = |change: &dyn Fn(&mut Value)| {
        let mut changed = figures.clone();
        change(&mut changed);
        changed
    };
    let many: Vec<Value> = (0..=MOST_ARRANGEMENTS)
        .map(|i| {
            let mut a = figures["arrangements"][0].clone();
            a["name"] = json!(format!("a{i}"));
            a
        })
        .collect();
    let cases = [
        (with(&|f| f["schema"] = json!(2)), "its `figures.json` is of schema 2; schema 1 is read"),
        (with(&|f| f["schema"] = json!("one")), "its `figures.json` is broken"),
        (with(&|f| f["guitar"] = json!(7)), "is broken: invalid type"),
        (with(&|f| f["source"] = Value::Null), "tells of no source"),
        (with(&|f| f["arrangements"] = json!([])), "tells of no arrangement"),
        (with(&|f| f["arrangements"][0]["matched"] = Value::Null), "tells of no sound files"),
        (with(&|f| f["arrangements"][1]["name"] = json!("series")), "called `series`, as another is"),
        (with(&|f| f["arrangements"][1]["name"] = json!("")), "no name"),
        (with(&|f| f["arrangements"][1]["name"] = json!("\u{1b}[2J")), "no name"),
        (with(&|f| f["arrangements"] = json!(many)), "101 arrangements; at most 100"),
        (json!([1, 2]), "is broken"),
    ];
    for (figures, said) in cases {
        write_figures(folder.path(), &figures);
        let told = refused(folder.path());
        assert!(told.contains(said) && told.contains("hint: "), "not `{said}`: {told}");
    }
    for (text, said) in [("", "is broken: EOF"), ("{\"schema\": 1", "is broken: EOF"), ("\u{0}", "is broken")]
    {
        fs::write(folder.path().join("figures.json"), text).unwrap();
        assert!(refused(folder.path()).contains(said), "{text:?}");
    }
    fs::write(folder.path().join("figures.json"), vec![b' '; 4 * 1024 * 1024 + 1]).unwrap();
    assert!(refused(folder.path()).contains("more than 4194304 bytes"));
}

#[test]
fn no_name_and_no_link_leads_out_of_the_folder() {
    let place = tempfile::tempdir().unwrap();
    write_wav(&place.path().join("outside.wav"), &[sine(100, RATE, 440.0, 0.5)], RATE);
    let folder = place.path().join("set");
    fs::create_dir(&folder).unwrap();
    let mut figures = small_set(&folder);
    for name in ["../outside.wav", "/etc/passwd", "matched/../../outside.wav", "a\\b", ""] {
        figures["arrangements"][1]["matched"]["file"] = json!(name);
        write_figures(&folder, &figures);
        let told = refused(&folder);
        assert!(told.contains("does not lie in the set's folder"), "{name}: {told}");
    }
    #[cfg(unix)]
    {
        let figures = small_set(&folder);
        fs::remove_file(folder.join("matched/mode-3.wav")).unwrap();
        std::os::unix::fs::symlink("../../outside.wav", folder.join("matched/mode-3.wav")).unwrap();
        write_figures(&folder, &figures);
        assert!(
            refused(&folder).contains("`matched/mode-3.wav` of `mode:3` does not lie in the set's folder")
        );
    }
}

#[test]
fn what_is_no_sets_folder_is_told() {
    let place = tempfile::tempdir().unwrap();
    assert!(refused(&place.path().join("nowhere")).contains("there is no such folder"));
    assert!(refused(place.path()).contains("its `figures.json` cannot be read"));
    fs::write(place.path().join("file"), "").unwrap();
    assert!(refused(&place.path().join("file")).contains("it is no folder"));
    fs::create_dir(place.path().join("figures.json")).unwrap();
    assert!(refused(place.path()).contains("it is no file"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]

    #[test]
    fn any_bytes_are_figures_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let _ = SetFigures::from_json(&bytes);
    }

    /// A field of right figures is put out of place: the set is refused or is still whole.
    #[test]
    fn figures_with_any_part_replaced_never_panic(
        at in 0..60usize,
        value in prop::sample::select(vec![
            json!(null), json!(-1), json!(1e308), json!("\u{0}"), json!("../x"), json!([]), json!({}),
            json!(u64::MAX), json!([[[[]]]]), json!("matched"), json!("figures.json"),
        ]),
    ) {
        let folder = tempfile::tempdir().unwrap();
        let mut figures = small_set(folder.path());
        let mut left = at;
        replace(&mut figures, &mut left, &value);
        write_figures(folder.path(), &figures);
        if let Ok(set) = StoredSet::open(folder.path()) {
            prop_assert!(set.takes().iter().all(|t| t.matched.frames() == 100 && t.as_is.frames() == 100));
        }
    }
}

/// Puts `value` in the place of the part of `json` that comes `left` parts after the first.
fn replace(json: &mut Value, left: &mut usize, value: &Value) {
    let parts: Vec<&mut Value> = match json {
        Value::Object(fields) => fields.values_mut().collect(),
        Value::Array(entries) => entries.iter_mut().collect(),
        _ => Vec::new(),
    };
    for part in parts {
        if *left == 0 {
            *part = value.clone();
            *left = usize::MAX;
            return;
        }
        *left -= 1;
        replace(part, left, value);
        if *left == usize::MAX {
            return;
        }
    }
}
