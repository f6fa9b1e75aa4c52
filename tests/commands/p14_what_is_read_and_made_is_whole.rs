//! What is read at the bench and made in the panel is whole or not there: on a full disk, on one that nothing can be written to, and
//! where the panel is killed at any moment.

#![allow(clippy::unwrap_used, reason = "a test stops where the panel is not as expected")]
#![allow(clippy::print_stdout, reason = "a test that is skipped says why")]

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use crate::common::panel::{Panel, until};

const TEXT: &str = "format = 1\nname = \"mine\"\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\"\n[[switch]]\nname = \"mode\"\ntable = \"on-on\"\n\
    joints = [[\"a+\", \"hot\", \"L3\"], [\"a-\", \"L1\", \"R2\"], [\"b+\", \"L2\"], [\"b-\", \"ground\", \"R3\"]]\n";
const LEADS: &[(&str, &str)] = &[("leads", "white, grey, red, blue"), ("shield", ""), ("coils", "")];

/// Returns every file below a folder with what it holds.
fn all(folder: &Path) -> BTreeMap<PathBuf, String> {
    let mut files = BTreeMap::new();
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        if entry.file_type().unwrap().is_dir() {
            files.extend(all(&entry.path()));
        } else {
            let text = String::from_utf8_lossy(&fs::read(entry.path()).unwrap()).into_owned();
            files.insert(entry.path(), text);
        }
    }
    files
}

#[test]
#[cfg(target_os = "linux")]
fn a_disk_that_is_full_or_read_only_keeps_what_was_read_and_half_makes_nothing() {
    use crate::common::panel::fill;
    let place = tempfile::tempdir().unwrap();
    let Some((panel, seen)) = Panel::on_a_small_disk(place.path(), TEXT) else {
        println!("skipped: this system lets no program mount a disk of its own");
        return;
    };
    let session = panel.enter();
    assert!(session.post("g/mine/leads/begin", LEADS).body.contains("id=\"verdict\""));
    assert_eq!(session.post("leads/begin", &[("called", "spare"), LEADS[0], LEADS[1], LEADS[2]]).status, 303);
    session.post("g/mine/prove/set", &[("place", "mode:1"), ("value", "7.9k")]);
    // Folders of what is made are there, so that it is the files for which there is no room.
    for name in ["sent", "surveys"] {
        fs::create_dir(seen.join("mine").join(name)).unwrap();
    }
    let had = all(&seen);
    assert_eq!(had.len(), 4, "{had:?}");
    let refuses = |why: &str| {
        for (path, form) in [
            (
                "g/mine/leads/read",
                &[("kind", "ohms"), ("one", "white"), ("other", "grey"), ("reads", "open")][..],
            ),
            ("leads/spare/read", &[("kind", "ohms"), ("one", "white"), ("other", "grey"), ("reads", "open")]),
            ("g/mine/prove/set", &[("place", "mode:3"), ("value", "1.9k")]),
        ] {
            let answer = session.post(path, form);
            assert!(answer.body.contains("role=\"alert\""), "{why}: {path}: {}", answer.body);
        }
        session.post("g/mine/send/make", &[("what", "cavity")]);
        session.post("g/mine/survey/make", &[("heard", ""), ("within", "3")]);
        for page in ["send", "survey"] {
            until(why, || {
                let body = session.get(&format!("g/mine/{page}/")).body;
                body.contains("class=\"notice\" role=\"alert\"") && !body.contains("class=\"stage\"")
            });
        }
    };
    let (filler, filling) = fill(&seen);
    refuses("said that it is full");
    drop(filling);
    fs::remove_file(filler).unwrap();
    assert_eq!(all(&seen), had, "nothing is changed, nothing is left half written");
    if panel.remount(place.path(), "ro") {
        refuses("said that it is read-only");
        assert_eq!(all(&seen), had);
        assert!(panel.remount(place.path(), "rw"));
    }
    // With room again it goes on as if nothing had been.
    let read = [("kind", "ohms"), ("one", "white"), ("other", "grey"), ("reads", "open")];
    assert!(session.post("g/mine/leads/read", &read).body.contains("white to grey reads open"));
    session.post("g/mine/send/make", &[("what", "cavity")]);
    until("the sheet is made", || seen.join("mine/sent/cavity.html").is_file());
}

#[test]
fn a_kill_at_any_moment_leaves_readings_joints_and_sheets_whole() {
    let folder = tempfile::tempdir().unwrap();
    let own = folder.path().join("mine");
    fs::create_dir(&own).unwrap();
    fs::write(own.join("guitar.toml"), TEXT).unwrap();
    let stands = |path: &str| fs::read_to_string(own.join(path)).unwrap_or_default();
    for kill in 0..8_u64 {
        let mut panel = Panel::start(folder.path());
        let session = panel.enter();
        session.post("g/mine/leads/begin", LEADS);
        let begin = Instant::now();
        let life = Duration::from_millis(60 + 53 * kill);
        let mut last = [stands("readings/leads-bridge.toml"), stands("readings/proof.toml")];
        session.post("g/mine/send/make", &[("what", "cavity")]);
        for step in 0_u64.. {
            if begin.elapsed() >= life {
                break;
            }
            let ohms = format!("{}", 3000 + 100 * kill + step);
            session.post(
                "g/mine/leads/read",
                &[("kind", "ohms"), ("one", "white"), ("other", "grey"), ("reads", &ohms)],
            );
            session.post("g/mine/prove/set", &[("place", "mode:1"), ("value", &ohms)]);
            session.post("g/mine/plan/put-down", &[("fixed", "hot"), ("was", ""), ("to", "")]);
            session.post("g/mine/plan/put-down", &[("fixed", "hot"), ("was", ""), ("to", "L3")]);
            // What was answered is kept.
            let now = [stands("readings/leads-bridge.toml"), stands("readings/proof.toml")];
            assert!(now[0].starts_with(&last[0]) && now[0].contains(&format!("\"{ohms}\"")), "{now:?}");
            assert!(now[1].contains(&format!("\"{ohms}\"")), "{now:?}");
            last = now;
        }
        panel.kill();
        assert_eq!([stands("readings/leads-bridge.toml"), stands("readings/proof.toml")], last);
        let guitar = stands("guitar.toml");
        assert!(guitar.starts_with("format = 1\n") && guitar.ends_with("]\n"), "{guitar}");
        let sheet = stands("sent/cavity.html");
        assert!(
            sheet.is_empty() || sheet.trim_end().ends_with("-->") || sheet.contains("</html>"),
            "half a sheet"
        );
    }
    // What a killed panel was writing is removed by the next that writes there.
    for name in ["readings", "."] {
        let left: Vec<_> = fs::read_dir(own.join(name)).unwrap().flatten().map(|e| e.file_name()).collect();
        let hidden = left.iter().filter(|own| own.to_string_lossy().starts_with('.')).count();
        assert!(hidden <= 1, "{left:?}");
    }
}
