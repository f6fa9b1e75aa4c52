//! Nothing is lost: an existing file is replaced only by a whole new one; a failed or killed run leaves no half-written
//! output and never touches its input.
//!
//! `DRYWIRE_KILLS` sets the number of runs that are killed; without it there are two hundred.

#![cfg(unix)]
#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::Write;
use std::os::unix::fs::{MetadataExt, PermissionsExt, symlink};
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::Duration;

use drywire::digest::{Digest, Form};
use drywire::folder::{
    Earlier, EntryName, Existing, FolderError, Inputs, NewFile, NewSet, Obstacle, Placed, SetPlan,
};

fn names(texts: &[&str]) -> Vec<EntryName> {
    texts.iter().map(|text| EntryName::new(text).unwrap()).collect()
}

/// A plan by which whatever stands at its names may go.
fn plan(files: &[&str], retired: &[&str]) -> SetPlan {
    let existing = Existing::Replace;
    SetPlan { files: names(files), retired: names(retired), existing, ..SetPlan::default() }
}

/// A plan by which only what the list of an earlier run tells of may go.
fn careful_plan(target: &Path, files: &[&str]) -> SetPlan {
    let earlier = Earlier::listed_in(target, &names(&["figures.json"])[0]);
    let retired = earlier.names().cloned().collect();
    SetPlan { files: names(files), retired, earlier, existing: Existing::ReplaceOwn, ..SetPlan::default() }
}

/// Writes a set whose every file holds `content`, apart from the list, which tells of the others.
fn write_listed_set(target: &Path, plan: SetPlan, content: &str) -> Result<Placed, FolderError> {
    let files = plan.files.clone();
    let set = NewSet::begin(target, plan)?;
    let (list, others) = files.split_last().unwrap();
    let listed: Vec<String> = others
        .iter()
        .map(|n| format!("{{\"name\": \"{n}\", \"sha256\": \"{}\"}}", Digest::of(content.as_bytes())))
        .collect();
    let text = Form::Json.marked(&format!("{{\n  \"files\": [{}]\n}}", listed.join(", ")));
    for name in others {
        set.create(name)?.write_all(content.as_bytes()).map_err(|e| set.failed(name, e))?;
    }
    set.create(list)?.write_all(text.as_bytes()).map_err(|e| set.failed(list, e))?;
    set.commit()
}

/// Writes a set whose every file holds `content`.
fn write_set(target: &Path, plan: SetPlan, content: &str) -> Result<Placed, FolderError> {
    let files = plan.files.clone();
    let set = NewSet::begin(target, plan)?;
    for name in &files {
        let mut file = set.create(name)?;
        file.write_all(content.as_bytes()).map_err(|e| set.failed(name, e))?;
    }
    set.commit()
}

/// Every file below `folder`, links not followed, with its content.
fn contents(folder: &Path) -> Vec<(String, String)> {
    let mut found = Vec::new();
    let mut open = vec![folder.to_owned()];
    while let Some(next) = open.pop() {
        for entry in fs::read_dir(next).unwrap() {
            let (path, kind) = entry.map(|e| (e.path(), e.file_type().unwrap())).unwrap();
            let name = path.strip_prefix(folder).unwrap().display().to_string();
            if kind.is_dir() {
                open.push(path);
            } else if kind.is_symlink() {
                found.push((name, format!("to {}", fs::read_link(path).unwrap().display())));
            } else {
                found.push((name, fs::read_to_string(path).unwrap()));
            }
        }
    }
    found.sort();
    found
}

fn pairs(expected: &[(&str, &str)]) -> Vec<(String, String)> {
    expected.iter().map(|(name, content)| ((*name).to_owned(), (*content).to_owned())).collect()
}

fn mode(path: &Path) -> u32 {
    fs::metadata(path).unwrap().permissions().mode() & 0o7777
}

#[test]
fn a_new_set_appears_in_a_new_folder_with_the_usual_permissions() {
    let place = tempfile::tempdir().unwrap();
    let target = place.path().join("a/b/out");
    assert_eq!(
        write_set(&target, plan(&["matched/series.wav", "figures.json"], &[]), "x").unwrap(),
        Placed::New
    );
    assert_eq!(
        contents(place.path()),
        pairs(&[("a/b/out/figures.json", "x"), ("a/b/out/matched/series.wav", "x")])
    );
    // What the system gives to any file and folder here.
    File::create(place.path().join("any")).unwrap();
    fs::create_dir(place.path().join("any-folder")).unwrap();
    assert_eq!(mode(&target.join("figures.json")), mode(&place.path().join("any")));
    assert_eq!(mode(&target), mode(&place.path().join("any-folder")));
    assert_eq!(mode(&target.join("matched")), mode(&place.path().join("any-folder")));
}

#[test]
fn a_set_replaces_the_old_one_and_leaves_the_files_of_others_as_they_are() {
    let place = tempfile::tempdir().unwrap();
    let target = place.path().join("out");
    let first = ["matched/series.wav", "matched/split-a.wav", "as-is/series.wav", "figures.json"];
    write_set(&target, plan(&first, &[]), "old").unwrap();
    let foreign = ["take.wav", "matched/mine.txt", "notes/deep/page.txt"].map(|name| target.join(name));
    fs::create_dir_all(target.join("notes/deep")).unwrap();
    fs::create_dir(target.join("empty")).unwrap();
    // A folder has come to where an earlier set wrote a file that goes.
    fs::remove_file(target.join("matched/split-a.wav")).unwrap();
    fs::create_dir(target.join("matched/split-a.wav")).unwrap();
    for path in &foreign {
        fs::write(path, "mine").unwrap();
    }
    symlink("take.wav", target.join("link.wav")).unwrap();
    symlink("/nowhere", target.join("notes/dangling")).unwrap();
    fs::set_permissions(target.join("notes"), fs::Permissions::from_mode(0o750)).unwrap();
    fs::set_permissions(&target, fs::Permissions::from_mode(0o711)).unwrap();
    fs::set_permissions(&foreign[0], fs::Permissions::from_mode(0o400)).unwrap();
    let state = |path: &PathBuf| {
        let m = fs::symlink_metadata(path).unwrap();
        (m.ino(), m.mode(), m.mtime(), m.mtime_nsec(), m.uid())
    };
    let before: Vec<_> = foreign.iter().map(state).collect();
    let folder_before = fs::metadata(target.join("notes")).unwrap().modified().unwrap();

    let second = plan(&["matched/series.wav", "matched/parallel.wav", "figures.json"], &first);
    assert_eq!(write_set(&target, second, "new").unwrap(), Placed::Exchanged);

    assert_eq!(
        foreign.iter().map(state).collect::<Vec<_>>(),
        before,
        "the files of others are the same files"
    );
    assert_eq!(fs::metadata(target.join("notes")).unwrap().modified().unwrap(), folder_before);
    assert_eq!((mode(&target), mode(&target.join("notes"))), (0o711, 0o750));
    assert!(target.join("empty").is_dir() && target.join("matched/split-a.wav").is_dir());
    assert!(!target.join("as-is").exists());
    fs::set_permissions(&foreign[0], fs::Permissions::from_mode(0o600)).unwrap();
    assert_eq!(
        contents(place.path()),
        pairs(&[
            ("out/figures.json", "new"),
            ("out/link.wav", "to take.wav"),
            ("out/matched/mine.txt", "mine"),
            ("out/matched/parallel.wav", "new"),
            ("out/matched/series.wav", "new"),
            ("out/notes/dangling", "to /nowhere"),
            ("out/notes/deep/page.txt", "mine"),
            ("out/take.wav", "mine"),
        ])
    );
}

const FIRST: [&str; 3] = ["matched/series.wav", "as-is/series.wav", "figures.json"];
const SECOND: [&str; 3] = ["matched/series.wav", "matched/parallel.wav", "figures.json"];

#[test]
fn a_set_replaces_and_removes_what_an_earlier_one_wrote_and_nothing_else() {
    let place = tempfile::tempdir().unwrap();
    let target = place.path().join("out");
    let again =
        |files: &[&str], content: &str| write_listed_set(&target, careful_plan(&target, files), content);
    again(&FIRST, "old").unwrap();
    fs::write(target.join("matched/mine.txt"), "mine").unwrap();
    again(&SECOND, "new").unwrap();
    assert!(!target.join("as-is").exists(), "what is listed and as it was goes");
    assert_eq!(fs::read_to_string(target.join("matched/mine.txt")).unwrap(), "mine");
    again(&FIRST, "old").unwrap();

    let whole = contents(&target);
    let refused = |files: &[&str], named: &str| {
        let before = contents(&target);
        let refusal = again(files, "new").unwrap_err();
        let Obstacle::Others { names } = refusal.obstacle() else { panic!("{refusal}") };
        assert_eq!(names, &[named]);
        let told = format!("its `{named}` was not written by drywire, or was changed since");
        assert!(refusal.to_string().contains(&told), "{refusal}");
        let hint = refusal.hint("with --out");
        assert!(hint.contains("choose another place with --out"), "{hint}");
        assert_eq!(contents(&target), before);
        assert_eq!(fs::read_dir(place.path()).unwrap().count(), 1, "no temporary is left");
    };
    let restore = |name: &str| {
        let (_, content) = whole.iter().find(|(n, _)| n == name).unwrap();
        fs::remove_file(target.join(name)).unwrap();
        fs::write(target.join(name), content).unwrap();
    };
    // Changed where the new set has a file, and where it has none; the list itself; and a file that came later.
    fs::write(target.join("matched/series.wav"), "odd").unwrap();
    refused(&SECOND, "matched/series.wav");
    restore("matched/series.wav");
    fs::write(target.join("as-is/series.wav"), "odd").unwrap();
    refused(&SECOND, "as-is/series.wav");
    restore("as-is/series.wav");
    let list = fs::read_to_string(target.join("figures.json")).unwrap();
    fs::write(target.join("figures.json"), list.replace("\"files\"", "\"Files\"")).unwrap();
    // What it told of the others is then gone.
    let refusal = again(&FIRST, "new").unwrap_err();
    assert!(matches!(refusal.obstacle(), Obstacle::Others { names } if names.len() == 3), "{refusal}");
    fs::write(target.join("figures.json"), list.replace("\n}", " }")).unwrap();
    refused(&FIRST, "figures.json");
    // A list that was changed takes nothing away, be it told that what it writes may be replaced.
    assert_eq!(Earlier::listed_in(&target, &names(&["figures.json"])[0]).names().count(), 0);
    restore("figures.json");
    fs::write(target.join("matched/parallel.wav"), "mine").unwrap();
    refused(&SECOND, "matched/parallel.wav");
    fs::remove_file(target.join("matched/parallel.wav")).unwrap();
    // A link is not what was written, whatever it leads to.
    fs::rename(target.join("matched/series.wav"), target.join("kept.wav")).unwrap();
    symlink("../kept.wav", target.join("matched/series.wav")).unwrap();
    refused(&SECOND, "matched/series.wav");
    fs::rename(target.join("kept.wav"), target.join("matched/series.wav")).unwrap();

    // Told that it may, a run replaces and removes also what was changed.
    fs::write(target.join("matched/series.wav"), "odd").unwrap();
    fs::write(target.join("as-is/series.wav"), "odd").unwrap();
    let any = SetPlan { existing: Existing::Replace, ..careful_plan(&target, &SECOND) };
    write_listed_set(&target, any, "new").unwrap();
    assert_eq!(fs::read_to_string(target.join("matched/series.wav")).unwrap(), "new");
    assert!(!target.join("as-is").exists());
}

#[test]
fn a_file_that_is_changed_while_a_set_is_made_is_kept() {
    let place = tempfile::tempdir().unwrap();
    let target = place.path().join("out");
    write_listed_set(&target, careful_plan(&target, &FIRST), "old").unwrap();
    let changes: [(&str, &dyn Fn()); 3] = [
        ("matched/series.wav", &|| fs::write(target.join("matched/series.wav"), "odd").unwrap()),
        ("as-is/series.wav", &|| fs::write(target.join("as-is/series.wav"), "odd").unwrap()),
        ("matched/parallel.wav", &|| fs::write(target.join("matched/parallel.wav"), "mine").unwrap()),
    ];
    for (named, change) in changes {
        let set = NewSet::begin(&target, careful_plan(&target, &SECOND)).unwrap();
        for name in names(&SECOND) {
            set.create(&name).unwrap();
        }
        change();
        let before = contents(&target);
        let refusal = set.commit().unwrap_err();
        assert!(matches!(refusal.obstacle(), Obstacle::Others { names } if names == &[named]), "{refusal}");
        assert_eq!(contents(&target), before);
        for name in ["matched/series.wav", "as-is/series.wav"] {
            fs::write(target.join(name), "old").unwrap();
        }
    }
}

#[test]
fn a_list_takes_in_no_name_outside_of_its_folder() {
    let place = tempfile::tempdir().unwrap();
    let digest = Digest::of(b"mine");
    let entry = |name: &str| format!("{{\"name\": \"{name}\", \"sha256\": \"{digest}\"}}");
    let listed = ["../diary.txt", "/etc/passwd", "a/../../diary.txt", "own.txt"].map(entry).join(", ");
    fs::create_dir(place.path().join("out")).unwrap();
    fs::write(
        place.path().join("out/figures.json"),
        Form::Json.marked(&format!("{{\n  \"files\": [{listed}]\n}}")),
    )
    .unwrap();
    let list = names(&["figures.json"]);
    let earlier = Earlier::listed_in(&place.path().join("out"), &list[0]);
    assert_eq!(earlier.names().cloned().collect::<Vec<_>>(), names(&["figures.json", "own.txt"]));
    assert_eq!(Earlier::listed_in(place.path(), &list[0]), Earlier::default(), "there is none");
    let within = Earlier::listed_in(place.path(), &names(&["out/figures.json"])[0]);
    assert_eq!(within.names().cloned().collect::<Vec<_>>(), names(&["out/figures.json", "out/own.txt"]));
}

#[test]
fn where_folders_cannot_change_places_the_files_do_one_by_one() {
    let place = tempfile::tempdir().unwrap();
    let target = place.path().join("out");
    write_set(&target, plan(&["matched/series.wav", "as-is/series.wav"], &[]), "old").unwrap();
    fs::create_dir(target.join("locked")).unwrap();
    fs::write(target.join("locked/mine.txt"), "mine").unwrap();
    // A folder that its owner may not write to cannot be made anew.
    fs::set_permissions(target.join("locked"), fs::Permissions::from_mode(0o555)).unwrap();
    let folder = fs::metadata(&target).unwrap().ino();
    let placed =
        write_set(&target, plan(&["matched/series.wav", "figures.json"], &["as-is/series.wav"]), "new")
            .unwrap();
    assert_eq!(placed, Placed::FileByFile);
    assert_eq!(fs::metadata(&target).unwrap().ino(), folder);
    assert!(!target.join("as-is").exists());
    let expected = [("figures.json", "new"), ("locked/mine.txt", "mine"), ("matched/series.wav", "new")];
    assert_eq!(contents(&target), pairs(&expected));
    assert_eq!(fs::read_dir(place.path()).unwrap().count(), 1, "no temporary is left");
}

#[test]
fn a_folder_that_someone_works_in_is_not_taken_from_under_them() {
    let place = tempfile::tempdir().unwrap();
    let target = place.path().join("out");
    write_set(&target, plan(&["figures.json"], &[]), "old").unwrap();
    fs::create_dir(target.join("below")).unwrap();
    let folder = fs::metadata(&target).unwrap().ino();
    for work in [target.clone(), target.join("below")] {
        let status = child("one set", &target).current_dir(work).status().unwrap();
        assert!(status.success());
        assert_eq!(fs::metadata(&target).unwrap().ino(), folder);
        assert_ne!(fs::read_to_string(target.join("figures.json")).unwrap(), "old");
    }
    assert_eq!(fs::read_dir(place.path()).unwrap().count(), 1, "no temporary is left");
}

#[test]
fn an_input_is_never_replaced_whatever_leads_to_it() {
    let place = tempfile::tempdir().unwrap();
    let take = place.path().join("take.wav");
    fs::write(&take, "the only take").unwrap();
    let target = place.path().join("out");
    fs::create_dir_all(target.join("matched")).unwrap();
    let asked = || {
        let mut inputs = Inputs::new();
        inputs.add(&take).unwrap();
        SetPlan { inputs, ..plan(&["matched/series.wav", "figures.json"], &["as-is/series.wav"]) }
    };
    let at_our_name = target.join("matched/series.wav");
    let retired = target.join("as-is/series.wav");
    fs::create_dir(target.join("as-is")).unwrap();
    let link: fn(&Path, &Path) = |from, to| symlink(from, to).unwrap();
    let second_name: fn(&Path, &Path) = |from, to| fs::hard_link(from, to).unwrap();
    for (make, at) in [(link, &at_our_name), (second_name, &at_our_name), (second_name, &retired)] {
        make(&take, at);
        let refusal = write_set(&target, asked(), "new").unwrap_err();
        assert!(matches!(refusal.obstacle(), Obstacle::IsInput { .. }), "{refusal}");
        assert!(refusal.to_string().contains("take.wav`, which is never replaced"), "{refusal}");
        fs::remove_file(at).unwrap();
    }
    // It may come there while the run lasts.
    let set = NewSet::begin(&target, asked()).unwrap();
    for name in names(&["matched/series.wav", "figures.json"]) {
        set.create(&name).unwrap();
    }
    link(&take, &at_our_name);
    assert!(matches!(set.commit().unwrap_err().obstacle(), Obstacle::IsInput { .. }));
    fs::remove_file(&at_our_name).unwrap();
    // At a name that is not ours it may lie in the folder.
    second_name(&take, &target.join("take.wav"));
    write_set(&target, asked(), "new").unwrap();
    assert_eq!(fs::read_to_string(target.join("take.wav")).unwrap(), "the only take");

    let mut inputs = Inputs::new();
    inputs.add(&take).unwrap();
    symlink(&take, place.path().join("link.wav")).unwrap();
    for path in ["take.wav", "link.wav", "out/../take.wav"] {
        let refusal = NewFile::write(&place.path().join(path), b"", Existing::Replace, &inputs).unwrap_err();
        assert!(refusal.to_string().contains("it is the input `"), "{refusal}");
    }
    assert_eq!(fs::read_to_string(&take).unwrap(), "the only take");
}

#[test]
fn what_cannot_be_written_is_refused_before_the_work_and_changes_nothing() {
    let place = tempfile::tempdir().unwrap();
    let at = |name: &str| place.path().join(name);
    fs::write(at("file"), "").unwrap();
    symlink("nowhere", at("dangling")).unwrap();
    for folder in ["kinds/figures.json", "linked", "files", "elsewhere"] {
        fs::create_dir_all(at(folder)).unwrap();
    }
    symlink(at("elsewhere"), at("linked/matched")).unwrap();
    fs::write(at("files/matched"), "").unwrap();
    let before = contents(place.path());
    let asked = || plan(&["matched/series.wav", "figures.json"], &[]);
    let long = "x".repeat(300);
    for (target, reason) in [
        (at("file"), "it is a file, and a folder is wanted"),
        (at("file/out"), "the folder that it would lie in does not exist"),
        (PathBuf::from("/dev/null"), "it is a device or a pipe, and a folder is wanted"),
        (at("dangling"), "it is a link to nothing"),
        (at("kinds"), "its `figures.json` is a folder, and a file is wanted"),
        (at("linked"), "its `matched` is a link, and a folder is wanted"),
        (at("files"), "its `matched` is a file, and a folder is wanted"),
        (at("missing/../out"), "the folder that it would lie in does not exist"),
        (at(&long), "the path or a name in it is too long"),
        (at(&format!("new/{long}/out")), "the path or a name in it is too long"),
    ] {
        let refusal = NewSet::begin(&target, asked()).unwrap_err();
        assert_eq!(refusal.to_string(), format!("cannot write `{}`: {reason}", target.display()).as_str());
        assert!(!refusal.hint("with --out").is_empty());
    }
    let greedy = SetPlan { bytes: u64::MAX, ..asked() };
    let refusal = NewSet::begin(&at("a/out"), greedy).unwrap_err();
    assert!(matches!(refusal.obstacle(), Obstacle::TooLittleSpace { needed: u64::MAX, .. }), "{refusal}");
    for (target, reason) in [
        (at("elsewhere"), "it is a folder, and a file is wanted"),
        (PathBuf::from("/dev/null"), "it is a device or a pipe, and a file is wanted"),
        (at("dangling"), "it is a link to nothing"),
        (at("none/x.wav"), "the folder that it would lie in does not exist"),
        (at("file/x.wav"), "the folder that it would lie in does not exist"),
        (at(&long), "the path or a name in it is too long"),
    ] {
        let refusal = NewFile::begin(&target, Existing::Replace, &Inputs::new()).unwrap_err();
        assert_eq!(
            refusal.to_string(),
            format!("cannot write `{}`: {reason}", target.display()).as_str().trim()
        );
    }
    let refusal = NewFile::begin(&at("file"), Existing::Keep, &Inputs::new()).unwrap_err();
    assert!(matches!(refusal.obstacle(), Obstacle::Exists), "{refusal}");
    assert_eq!(contents(place.path()), before);
    assert!(!at("a").exists() && !at("new").exists());
}

#[test]
fn a_folder_without_permission_is_refused_before_the_work() {
    let place = tempfile::tempdir().unwrap();
    fs::set_permissions(place.path(), fs::Permissions::from_mode(0o777)).unwrap();
    let target = place.path().join("out");
    write_set(&target, plan(&["figures.json"], &[]), "old").unwrap();
    fs::set_permissions(&target, fs::Permissions::from_mode(0o555)).unwrap();
    let run = child("one set", &target);
    // The program is started from where any user may read it, since the system refuses nothing to its administrator.
    let reachable = place.path().join("program");
    fs::copy(std::env::current_exe().unwrap(), &reachable).unwrap();
    let mut copy = Command::new(reachable);
    copy.args(run.get_args()).envs(run.get_envs().filter_map(|(k, v)| Some((k, v?))));
    if fs::metadata(place.path()).unwrap().uid() == 0 {
        copy.uid(65_534).gid(65_534);
    }
    let output = copy.current_dir("/").output().unwrap();
    let told =
        String::from_utf8_lossy(&output.stderr).into_owned() + &String::from_utf8_lossy(&output.stdout);
    assert!(!output.status.success() && told.contains("permission denied"), "{told}");
    assert_eq!(contents(&target), pairs(&[("figures.json", "old")]));
}

#[test]
fn a_set_that_is_given_up_leaves_nothing_and_the_old_one_as_it_was() {
    let place = tempfile::tempdir().unwrap();
    let target = place.path().join("new/out");
    let set = NewSet::begin(&target, plan(&["matched/series.wav"], &[])).unwrap();
    set.create(&names(&["matched/series.wav"])[0]).unwrap();
    drop(set);
    assert_eq!(fs::read_dir(place.path()).unwrap().count(), 0);

    write_set(&target, plan(&["figures.json"], &[]), "old").unwrap();
    let set = NewSet::begin(&target, plan(&["figures.json"], &[])).unwrap();
    set.create(&names(&["figures.json"])[0]).unwrap().write_all(b"half").unwrap();
    drop(set);
    assert_eq!(contents(place.path()), pairs(&[("new/out/figures.json", "old")]));
}

#[test]
fn two_runs_do_not_write_to_one_folder_at_a_time() {
    let place = tempfile::tempdir().unwrap();
    let target = place.path().join("out");
    let asked = || plan(&["figures.json"], &[]);
    let first = NewSet::begin(&target, asked()).unwrap();
    let refusal = NewSet::begin(&target, asked()).unwrap_err();
    assert!(matches!(refusal.obstacle(), Obstacle::Busy), "{refusal}");
    let beside = NewSet::begin(&place.path().join("other"), asked());
    assert!(beside.is_ok(), "another folder is free");
    drop(first);
    NewSet::begin(&target, asked()).unwrap();
}

#[test]
fn what_killed_runs_left_is_removed_and_nothing_that_looks_like_it() {
    let place = tempfile::tempdir().unwrap();
    let at = |name: &str| place.path().join(name);
    fs::create_dir_all(at(".drywire-abcdefgh/set/matched")).unwrap();
    let lock = "a temporary of drywire, removed by its next run here: out";
    fs::write(at(".drywire-abcdefgh/lock"), lock).unwrap();
    fs::write(at(".drywire-abcdefgh/set/matched/series.wav"), "half").unwrap();
    // Names alone tell nothing, nor does a lock that says nothing, nor one beside which something else stands.
    fs::write(at(".drywire-12345678"), "mine").unwrap();
    fs::create_dir(at(".drywire-emptyone")).unwrap();
    fs::create_dir_all(at(".drywire-mineown1/set")).unwrap();
    fs::write(at(".drywire-mineown1/lock"), lock).unwrap();
    fs::write(at(".drywire-mineown1/diary.txt"), "mine").unwrap();
    fs::create_dir_all(at(".drywire-mineown2/set")).unwrap();
    fs::write(at(".drywire-mineown2/lock"), "").unwrap();
    fs::write(at(".drywire-mineown2/set/diary.txt"), "mine").unwrap();
    fs::write(at(".drywire-notes.txt"), "mine").unwrap();
    // A run that went file by file had its temporary in the folder itself.
    fs::create_dir_all(at("out/.drywire-ABCDEFGH/set")).unwrap();
    fs::write(at("out/.drywire-ABCDEFGH/lock"), lock).unwrap();
    let placed = write_set(&at("out"), plan(&["figures.json"], &[]), "new").unwrap();
    assert_eq!(placed, Placed::Exchanged);
    assert_eq!(contents(&at("out")), pairs(&[("figures.json", "new")]));
    assert!(!at("out/.drywire-ABCDEFGH").exists() && !at(".drywire-abcdefgh").exists());
    for kept in [
        ".drywire-12345678",
        ".drywire-emptyone",
        ".drywire-mineown1/diary.txt",
        ".drywire-mineown2/set/diary.txt",
        ".drywire-notes.txt",
    ] {
        assert!(at(kept).exists(), "{kept}");
    }
}

#[test]
fn a_single_file_is_replaced_by_a_whole_one_with_its_permissions_and_through_its_link() {
    let place = tempfile::tempdir().unwrap();
    let at = |name: &str| place.path().join(name);
    let write =
        |name: &str, bytes: &[u8], existing| NewFile::write(&at(name), bytes, existing, &Inputs::new());
    write("take.wav", b"one", Existing::Keep).unwrap();
    File::create(at("any")).unwrap();
    assert_eq!(mode(&at("take.wav")), mode(&at("any")));
    assert!(matches!(write("take.wav", b"two", Existing::Keep).unwrap_err().obstacle(), Obstacle::Exists));
    fs::set_permissions(at("take.wav"), fs::Permissions::from_mode(0o600)).unwrap();
    symlink("take.wav", at("link.wav")).unwrap();
    write("link.wav", b"two", Existing::Replace).unwrap();
    assert!(at("link.wav").is_symlink());
    assert_eq!((fs::read_to_string(at("take.wav")).unwrap(), mode(&at("take.wav"))), ("two".into(), 0o600));

    // A file of ours is known by its mark, until something in it changes, be it while the new one is written.
    let own = |text: &str| Form::Html.marked(text).into_bytes();
    assert!(matches!(
        write("take.wav", b"three", Existing::ReplaceOwn).unwrap_err().obstacle(),
        Obstacle::Others { names } if names.is_empty()
    ));
    write("page.html", &own("one"), Existing::ReplaceOwn).unwrap();
    write("page.html", &own("two"), Existing::ReplaceOwn).unwrap();
    assert_eq!(fs::read(at("page.html")).unwrap(), own("two"));
    let mut begun = NewFile::begin(&at("page.html"), Existing::ReplaceOwn, &Inputs::new()).unwrap();
    begun.file().write_all(&own("three")).unwrap();
    fs::write(at("page.html"), "by hand").unwrap();
    assert!(matches!(begun.commit().unwrap_err().obstacle(), Obstacle::Others { .. }));
    assert!(write("page.html", &own("three"), Existing::ReplaceOwn).is_err());
    assert_eq!(fs::read_to_string(at("page.html")).unwrap(), "by hand");
    write("page.html", &own("three"), Existing::Replace).unwrap();
    fs::remove_file(at("page.html")).unwrap();

    let mut begun = NewFile::begin(&at("take.wav"), Existing::Replace, &Inputs::new()).unwrap();
    begun.file().write_all(b"half").unwrap();
    drop(begun);
    assert_eq!(fs::read_to_string(at("take.wav")).unwrap(), "two");
    assert_eq!(fs::read_dir(place.path()).unwrap().count(), 3);

    // A file may come to the place while the run lasts.
    for existing in [Existing::Keep, Existing::ReplaceOwn] {
        let begun = NewFile::begin(&at("late.wav"), existing, &Inputs::new()).unwrap();
        fs::write(at("late.wav"), "mine").unwrap();
        assert!(matches!(begun.commit().unwrap_err().obstacle(), Obstacle::Exists));
        assert_eq!(fs::read_to_string(at("late.wav")).unwrap(), "mine");
        fs::remove_file(at("late.wav")).unwrap();
    }
}

/// The files of the sets that the killed runs write, in turn.
const EVEN: [&str; 4] = ["matched/series.wav", "matched/parallel.wav", "as-is/series.wav", "figures.json"];
const ODD: [&str; 3] = ["matched/series.wav", "matched/split-a.wav", "figures.json"];

#[test]
fn a_run_killed_at_any_moment_leaves_the_old_set_whole_or_the_new_one() {
    let kills = std::env::var("DRYWIRE_KILLS").map_or(200, |n| n.parse::<u64>().unwrap());
    let place = tempfile::tempdir().unwrap();
    let target = place.path().join("out");
    let take = place.path().join("take.wav");
    fs::write(&take, "the only take").unwrap();
    let mut versions = Vec::new();
    for run in 0..kills {
        let mut child =
            child("sets without end", &target).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        // Times that do not follow the work's own rhythm, from 5 to 45 ms.
        sleep(Duration::from_micros(5_000 + run * 7_919 % 40_000));
        kill(&mut child);
        assert_eq!(fs::read_to_string(&take).unwrap(), "the only take");
        let Ok(told) = fs::read_to_string(target.join("figures.json")) else {
            assert!(!target.exists(), "a set without its figures");
            continue;
        };
        let version: u64 = told.lines().next().unwrap().parse().unwrap();
        let mut found = versions_in(&target);
        if versions.is_empty() {
            fs::write(target.join("mine.txt"), "mine\n").unwrap();
        } else {
            assert_eq!(found.remove("mine.txt").as_deref(), Some("mine"), "run {run}");
        }
        let files: &[&str] = if version.is_multiple_of(2) { &EVEN } else { &ODD };
        let expected = files.iter().map(|name| ((*name).to_owned(), version.to_string())).collect();
        assert_eq!(found, expected, "run {run}");
        versions.push(version);
    }
    versions.dedup();
    assert!(versions.len() > 2, "the kills came too early to tell anything: {versions:?}");
    write_set(&target, plan(&ODD, &EVEN), "at last").unwrap();
    let mut left: Vec<_> = fs::read_dir(place.path()).unwrap().map(|e| e.unwrap().file_name()).collect();
    left.sort();
    assert_eq!(left, ["out", "take.wav"], "the next run removes what killed ones left");
}

#[test]
fn a_write_that_fails_at_any_block_leaves_the_old_set_and_no_temporary() {
    let place = tempfile::tempdir().unwrap();
    let target = place.path().join("out");
    write_set(&target, plan(&["figures.json"], &[]), "old").unwrap();
    // A limit on the size of files in blocks of 512 bytes or of 1 KiB, whichever the shell takes; the largest file has
    // 64 KiB. The system then refuses the write, as it does on a full disk.
    for blocks in (0..=60).step_by(6) {
        let run = child("one set", &target);
        let command: Vec<_> = std::iter::once(run.get_program()).chain(run.get_args()).collect();
        let output = Command::new("sh")
            .arg("-c")
            .arg(format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$@\""))
            .arg("sh")
            .args(command)
            .envs(run.get_envs().filter_map(|(k, v)| Some((k, v?))))
            .output()
            .unwrap();
        let told =
            String::from_utf8_lossy(&output.stderr).into_owned() + &String::from_utf8_lossy(&output.stdout);
        assert!(!output.status.success(), "{blocks} blocks: {told}");
        assert!(told.contains("larger than its disk or the limits"), "{blocks} blocks: {told}");
        assert_eq!(contents(place.path()), pairs(&[("out/figures.json", "old")]));
    }
}

/// The test below that is run again as a program of its own, as this test program calls it.
const CHILD: &str = "p12_nothing_is_lost::as_a_child";

/// This test program run again as the given role in `target`.
fn child(role: &str, target: &Path) -> Command {
    let mut command = Command::new(std::env::current_exe().unwrap());
    command.args(["--exact", CHILD, "--ignored", "--nocapture", "--test-threads=1"]);
    command.env("DRYWIRE_TEST_ROLE", role).env("DRYWIRE_TEST_TARGET", target);
    command
}

fn kill(child: &mut Child) {
    child.kill().unwrap();
    child.wait().unwrap();
}

/// Every file below `folder` with the version that all of it is of.
fn versions_in(folder: &Path) -> BTreeMap<String, String> {
    let version = |content: &str| {
        let first = content.lines().next().unwrap_or_default().to_owned();
        let is_whole =
            content == "mine\n" || first.parse().is_ok_and(|version| content == self::content(version));
        if is_whole { first } else { format!("{} bytes that are no whole file", content.len()) }
    };
    contents(folder).into_iter().map(|(name, content)| (name, version(&content))).collect()
}

/// What every file of a version holds: the version in front, and enough to take several writes.
fn content(version: u64) -> String {
    format!("{version}\n").repeat(64 * 1024 / 8)
}

#[test]
#[ignore = "it is what the other tests start and kill, and does nothing by itself"]
fn as_a_child() {
    let Ok(role) = std::env::var("DRYWIRE_TEST_ROLE") else { return };
    let target = PathBuf::from(std::env::var_os("DRYWIRE_TEST_TARGET").unwrap());
    let once = |version: u64| {
        let (files, others): (&[&str], &[&str]) =
            if version.is_multiple_of(2) { (&EVEN, &ODD) } else { (&ODD, &EVEN) };
        if let Err(refusal) = write_set(&target, plan(files, others), &content(version)) {
            panic!("{refusal}");
        }
    };
    match role.as_str() {
        "one set" => once(1_000_000),
        "sets without end" => {
            let told = fs::read_to_string(target.join("figures.json")).unwrap_or_default();
            let last: u64 = told.lines().next().map_or(0, |line| line.parse().unwrap());
            for version in last + 1.. {
                once(version);
            }
        }
        other => panic!("no role {other}"),
    }
}
