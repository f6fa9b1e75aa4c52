//! A change in the panel changes only that value in the guitar's file: comments, order and formatting of the rest stay byte
//! for byte; nothing is lost by a kill beyond half a second of typing.
//!
//! `DRYWIRE_PANEL_KILLS` sets how often the panel is killed while somebody types; without it that is twelve times.

#![allow(clippy::unwrap_used, reason = "a test stops where the panel is not as expected")]
#![allow(clippy::print_stdout, reason = "a test that is skipped says why")]

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::thread;
use std::time::{Duration, Instant};

use crate::common::panel::{Panel, fill, until};
use crate::common::program::succeeds;

/// A file as people write them: with comments, blanks, a table in braces and keys in their own order.
const TEXT: &str = "# Mine since spring\nname = \"Old one\"   # from the attic\nformat = 1\n\n[[pickup]]\nlike = \"vintage-full-size\"\nname = 'bridge'\n\
    from_bridge   =  \"45 mm\"\n  [pickup.coil_a]\n  resistance = \"3.9k\" # by meter\n\n[controls]\nvolume = { pot = \"500k\", turned = 10 } # loud\n\
    tone   = { pot = \"500k\", capacitor = \"22n\" }\n\n# the end\n";

fn read(folder: &Path) -> String {
    fs::read_to_string(folder.join("mine/guitar.toml")).unwrap()
}

fn write(folder: &Path, text: &str) {
    fs::create_dir_all(folder.join("mine")).unwrap();
    fs::write(folder.join("mine/guitar.toml"), text).unwrap();
}

#[test]
fn values_change_and_all_else_stays_byte_for_byte() {
    for text in [TEXT.to_owned(), TEXT.replace('\n', "\r\n")] {
        let folder = tempfile::tempdir().unwrap();
        write(folder.path(), &text);
        let panel = Panel::start(folder.path());
        let session = panel.enter();
        let mut expected = text.clone();
        for (place, typed, from, to) in [
            ("pickup[0].coil_a.resistance", "3,61", "\"3.9k\"", "\"3.61k\""),
            ("controls.volume.turned", "7.5", "turned = 10", "turned = 7.5"),
            ("pickup[0].from_bridge", "42", "\"45 mm\"", "\"42 mm\""),
            ("name", "New <one>", "\"Old one\"", "\"New <one>\""),
            ("controls.tone.capacitor", "0.047u", "\"22n\"", "\"0.047u\""),
        ] {
            let answer = session.post("g/mine/set", &[("place", place), ("value", typed)]);
            assert_eq!(answer.status, 200, "{place}");
            expected = expected.replacen(from, to, 1);
            until(place, || read(folder.path()) == expected);
        }
        for _ in 0..5 {
            assert_eq!(session.post("g/mine/undo", &[]).status, 200);
        }
        until("undone", || read(folder.path()) == text);
        for _ in 0..5 {
            session.post("g/mine/redo", &[]);
        }
        until("redone", || read(folder.path()) == expected);
    }
}

#[test]
fn what_cannot_be_taken_is_said_and_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), TEXT);
    let panel = Panel::start(folder.path());
    let session = panel.enter();
    for (place, typed, said) in [
        ("pickup[0].coil_a.resistance", "3,610", "is `3,610` 3.61 Ω or 3.61 kΩ?"),
        ("pickup[0].coil_a.resistance", "many", "`many` is not a resistance"),
        ("pickup[0].coil_a.resistance", "-5k", "allowed is from"),
        ("controls.volume.turned", "11", "allowed is from 0 to 10"),
        ("scale", "9 m", "allowed is from"),
        ("pickup[0].name", "!", "is no name"),
        ("no.such", "1", "has no `no.such`"),
    ] {
        let body = session.post("g/mine/set", &[("place", place), ("value", typed)]).body;
        assert!(body.contains(said), "{place} {typed}: {said}\n{body}");
    }
    thread::sleep(Duration::from_millis(400));
    assert_eq!(read(folder.path()), TEXT);
}

#[test]
fn hand_edits_meanwhile_are_kept_or_asked_about() {
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), TEXT);
    let panel = Panel::start(folder.path());
    let session = panel.enter();
    for (place, value) in [
        ("pickup[0].coil_a.resistance", "3.61k"),
        ("controls.volume.pot", "236k"),
        ("controls.tone.pot", "262k"),
    ] {
        session.post("g/mine/set", &[("place", place), ("value", value)]);
    }
    until("saved", || read(folder.path()).contains("262k"));
    let by_hand =
        read(folder.path()).replace("# the end", "# by hand\n# the end").replace("# loud", "# loud, and old");
    write(folder.path(), &by_hand);
    until("seen", || session.get("g/mine/file").body.contains("# by hand"));
    session.post("g/mine/undo", &[]);
    session.post("g/mine/undo", &[]);
    let expected = TEXT
        .replace("3.9k", "3.61k")
        .replace("# the end", "# by hand\n# the end")
        .replace("# loud", "# loud, and old");
    until("undone", || read(folder.path()) == expected);
    // A guitar made by hand appears, and one that is taken away goes.
    fs::create_dir(folder.path().join("other")).unwrap();
    fs::write(folder.path().join("other/guitar.toml"), TEXT).unwrap();
    assert!(session.get("").body.contains("/g/other/"));
    fs::remove_dir_all(folder.path().join("other")).unwrap();
    assert!(!session.get("").body.contains("/g/other/"));
}

#[test]
fn a_file_with_faults_opens_and_is_mended_in_place() {
    let folder = tempfile::tempdir().unwrap();
    let faulty = TEXT.replace("\"3.9k\"", "\"3.9 apples\"").replace("turned = 10", "turned = 12");
    write(folder.path(), &faulty);
    let panel = Panel::start(folder.path());
    let session = panel.enter();
    assert!(session.get("").body.contains("2 faults in its file"));
    let page = session.get("g/mine/").body;
    assert!(page.contains("The file has faults") && page.contains("is not a resistance"), "{page}");
    session.post("g/mine/set", &[("place", "controls.volume.turned"), ("value", "9")]);
    session.post("g/mine/set", &[("place", "pickup[0].coil_a.resistance"), ("value", "3.7k")]);
    until("mended", || {
        read(folder.path()) == TEXT.replace("3.9k", "3.7k").replace("turned = 10", "turned = 9")
    });
    // No TOML at all: the text itself is at hand, and what is written there is kept right or wrong.
    session.post("g/mine/file", &[("text", "format = 1\r\nname = broken\r\n")]);
    until("kept", || read(folder.path()) == "format = 1\nname = broken\n");
    let page = session.get("g/mine/file").body;
    assert!(page.contains("It has faults") && page.contains("wants quotes"), "{page}");
    session.post("g/mine/undo", &[]);
    until("back", || read(folder.path()).contains("3.7k"));
}

#[test]
fn a_kill_at_any_moment_loses_no_more_than_half_a_second() {
    let kills = std::env::var("DRYWIRE_PANEL_KILLS").ok().and_then(|n| n.parse().ok()).unwrap_or(12u64);
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), TEXT);
    for kill in 0..kills {
        let mut panel = Panel::start(folder.path());
        let session = panel.enter();
        let begin = Instant::now();
        let life = Duration::from_millis(300 + 37 * (kill % 23));
        let mut typed: Vec<(Duration, String)> = vec![(Duration::ZERO, read(folder.path()))];
        while begin.elapsed() < life {
            let ohms = format!("{}", 3000 + 17 * (kill + 1) + u64::try_from(typed.len()).unwrap());
            let answer =
                session.post("g/mine/set", &[("place", "pickup[0].coil_a.resistance"), ("value", &ohms)]);
            assert_eq!(answer.status, 200);
            let before = &typed.last().unwrap().1;
            let at = before.find("resistance = \"").unwrap() + 14;
            let end = at + before[at..].find('"').unwrap();
            typed.push((begin.elapsed(), format!("{}{ohms}{}", &before[..at], &before[end..])));
        }
        panel.kill();
        let ended = begin.elapsed();
        let stands = read(folder.path());
        let at = typed.iter().rposition(|(_, text)| *text == stands).unwrap_or_else(|| panic!("{stands}"));
        // What was typed after it, and so is lost, was typed in the last half second.
        if let Some((when, _)) = typed.get(at + 1) {
            let lost = ended.saturating_sub(*when);
            assert!(lost < Duration::from_millis(500), "{lost:?} were lost");
        }
    }
    let left: Vec<_> =
        fs::read_dir(folder.path().join("mine")).unwrap().flatten().map(|e| e.file_name()).collect();
    // What a killed panel was writing is removed by the next.
    assert!(left.len() <= 2, "{left:?}");
}

#[test]
fn asked_to_end_it_saves_and_ends_well() {
    let folder = tempfile::tempdir().unwrap();
    let own = folder.path().join("guitars");
    let mut panel = Panel::start(&own);
    let session = panel.enter();
    assert!(!own.exists(), "the folder is made at the first save");
    let answers = [
        ("name", "Blue one"),
        ("count", "1"),
        ("a_1", "3.61k"),
        ("b_1", "4.05k"),
        ("volume", "236k"),
        ("tone", "262k"),
        ("cable", "don't know"),
    ];
    assert_eq!(session.post("new", &answers).status, 303);
    session.post("g/blue-one/set", &[("place", "cable.length"), ("value", "6")]);
    assert_eq!(panel.ask_to_end(), Some(0));
    let text = fs::read_to_string(own.join("blue-one/guitar.toml")).unwrap();
    assert_eq!(
        text,
        "format = 1\nname = \"Blue one\"\n\n[[pickup]]\nname = \"bridge\"\nlike = \"unknown\"\n[pickup.coil_a]\n\
         resistance = \"3.61k\"\n[pickup.coil_b]\nresistance = \"4.05k\"\n\n[controls]\nvolume = { pot = \"236k\" }\n\
         tone = { pot = \"262k\" }\n\n[cable]\nlength = \"6 m\"\n"
    );
    for command in ["figures", "probe", "response"] {
        succeeds(&own, &[command, "--guitar", "blue-one/guitar.toml"]);
    }
}

#[test]
#[cfg(target_os = "linux")]
fn a_disk_that_is_full_or_read_only_is_said_and_what_was_typed_is_kept() {
    let place = tempfile::tempdir().unwrap();
    let Some((panel, seen)) = Panel::on_a_small_disk(place.path(), TEXT) else {
        println!("skipped: this system lets no program mount a disk of its own");
        return;
    };
    let session = panel.enter();
    let says = |is_said: bool, what: &str| {
        until(what, || session.get("g/mine/").body.contains("It could not be saved") == is_said);
    };
    let holds = |text: &str| {
        until("saved after all", || {
            fs::read_to_string(seen.join("mine/guitar.toml")).unwrap().contains(text)
        });
    };
    let names = || -> BTreeSet<_> {
        fs::read_dir(seen.join("mine")).unwrap().map(|entry| entry.unwrap().file_name()).collect()
    };
    let (filler, filling) = fill(&seen);
    let had = names();
    session.post("g/mine/set", &[("place", "name"), ("value", "brimful")]);
    says(true, "said that it is full");
    assert_eq!(fs::read_to_string(seen.join("mine/guitar.toml")).unwrap(), TEXT);
    assert_eq!(names(), had, "nothing is left half written");
    drop(filling);
    fs::remove_file(&filler).unwrap();
    holds("brimful");
    says(false, "no longer said");
    if panel.remount(place.path(), "ro") {
        session.post("g/mine/set", &[("place", "name"), ("value", "bound")]);
        says(true, "said that it is read-only");
        assert!(fs::read_to_string(seen.join("mine/guitar.toml")).unwrap().contains("brimful"));
        assert!(panel.remount(place.path(), "rw"));
        holds("bound");
        says(false, "no longer said that it is read-only");
    }
}

#[test]
fn a_file_that_has_become_unreadable_is_not_replaced() {
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), TEXT);
    let panel = Panel::start(folder.path());
    let session = panel.enter();
    assert_eq!(session.get("g/mine/").status, 200);
    let file = folder.path().join("mine/guitar.toml");
    let too_long = format!("{TEXT}{}", "# more\n".repeat(60_000)).into_bytes();
    for theirs in [b"# f\xfcr mich\nformat = 1\n".to_vec(), vec![0xff; 300], too_long] {
        // As an editor does that empties a file before it writes.
        fs::write(&file, "").unwrap();
        thread::sleep(Duration::from_millis(300));
        fs::write(&file, &theirs).unwrap();
        session.post("g/mine/set", &[("place", "scale"), ("value", "600 mm")]);
        until("said", || session.get("g/mine/").body.contains("It could not be saved"));
        session.post("g/mine/undo", &[]);
        thread::sleep(Duration::from_millis(700));
        assert_eq!(fs::read(&file).unwrap(), theirs);
        fs::write(&file, TEXT).unwrap();
        until("read again", || {
            let body = session.get("g/mine/").body;
            body.contains("Old one") && !body.contains("It could not be saved")
        });
    }
}

#[test]
fn a_folder_that_is_gone_is_said_and_what_was_typed_is_kept() {
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), TEXT);
    let panel = Panel::start(folder.path());
    let session = panel.enter();
    assert_eq!(session.get("g/mine/").status, 200);
    let [own, away] = ["mine", "away"].map(|name| folder.path().join(name));
    fs::rename(&own, &away).unwrap();
    session.post("g/mine/set", &[("place", "name"), ("value", "kept")]);
    until("said", || session.get("g/mine/").body.contains("It could not be saved"));
    assert_eq!(session.get("").status, 200);
    fs::rename(&away, &own).unwrap();
    until("saved after all", || read(folder.path()).contains("kept"));
    until("no longer said", || !session.get("g/mine/").body.contains("It could not be saved"));
}
