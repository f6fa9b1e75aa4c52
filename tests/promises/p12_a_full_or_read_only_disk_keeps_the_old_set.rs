//! Nothing is lost on a disk that is full or read-only: the program ends with exit code 2 and says so, the old set is as
//! it was and nothing is left beside it.
//!
//! The disk is a small one in memory, mounted where no other program sees it; where the system allows no such mount the
//! tests say that they are skipped. `DRYWIRE_DISK_STEP` sets by how many blocks the free space of the disk that `hear`
//! writes to grows from run to run; without it that is sixteen, and one tries every block.

#![cfg(target_os = "linux")]
#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]
#![allow(clippy::print_stdout, reason = "a test that is skipped says why")]

use std::collections::BTreeMap;
use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use crate::common::program::repository;
use drywire::folder::{EntryName, Existing, Inputs, NewFile, NewSet, Placed, SetPlan};

/// The blocks of the disk, of 4 KiB each; a set made from a take of a few samples has about a hundred and thirty.
const BLOCKS: u64 = 400;
const BLOCK_BYTES: usize = 4096;

/// The test below that is run again on the disk, as this test program calls it.
const CHILD: &str = "p12_a_full_or_read_only_disk_keeps_the_old_set::as_a_child";

/// Runs this test program again as `role` with the disk mounted at `place`, or says why that is not to be.
fn on_a_disk(role: &str) {
    let place = tempfile::tempdir().unwrap();
    // The administrator needs no other user's place; anyone else may be given one in which to mount.
    let unshare = |how: &[&str]| {
        let mut command = Command::new("unshare");
        command.args(how).args(["sh", "-c"]).arg(format!(
            "mount -t tmpfs -o size={},nr_inodes=2000 tmpfs \"$0\" && exec \"$@\"",
            BLOCKS * BLOCK_BYTES as u64
        ));
        command.arg(place.path());
        command
    };
    let hows = [&["--mount"][..], &["--mount", "--map-root-user"]];
    let is_allowed =
        |how: &&&[&str]| unshare(how).arg("true").output().is_ok_and(|output| output.status.success());
    let Some(how) = hows.iter().find(is_allowed) else {
        println!("skipped: this system lets no program mount a disk of its own");
        return;
    };
    let output = unshare(how)
        .arg(std::env::current_exe().unwrap())
        .args(["--exact", CHILD, "--ignored", "--nocapture", "--test-threads=1"])
        .env("DRYWIRE_TEST_ROLE", role)
        .env("DRYWIRE_TEST_TARGET", place.path())
        .output()
        .unwrap();
    let told = String::from_utf8_lossy(&output.stdout);
    println!("{told}");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(told.contains("1 passed"), "`{CHILD}` was not run");
}

#[test]
fn a_full_disk_ends_hear_at_any_block_and_keeps_the_old_set() {
    on_a_disk("hear");
}

#[test]
fn a_full_disk_ends_a_set_at_every_block_and_keeps_the_old_one_and_what_others_put_there() {
    on_a_disk("set");
}

#[test]
fn a_disk_without_room_for_entries_ends_a_set_at_every_entry_and_keeps_the_old_one() {
    on_a_disk("entries");
}

#[test]
fn it_does_so_too_where_the_files_go_one_by_one() {
    on_a_disk("one by one");
}

#[test]
fn a_full_disk_ends_a_single_file_at_every_block_and_keeps_the_old_one() {
    on_a_disk("file");
}

#[test]
fn a_read_only_disk_is_refused_and_left_as_it_is() {
    on_a_disk("read-only");
}

#[test]
#[ignore = "it is what the other tests start on their disk, and does nothing by itself"]
fn as_a_child() {
    let Ok(role) = std::env::var("DRYWIRE_TEST_ROLE") else { return };
    let disk = Disk { place: PathBuf::from(std::env::var_os("DRYWIRE_TEST_TARGET").unwrap()) };
    match role.as_str() {
        "hear" => hear_on(&disk),
        "set" => set_on(&disk, Disk::leave, 24, false),
        "entries" => set_on(&disk, Disk::leave_entries, 40, false),
        "one by one" => set_on(&disk, Disk::leave_entries, 8, true),
        "file" => file_on(&disk),
        "read-only" => read_only(&disk),
        other => panic!("no role {other}"),
    }
}

struct Disk {
    place: PathBuf,
}

impl Disk {
    fn at(&self, name: &str) -> PathBuf {
        self.place.join(name)
    }

    /// Fills the disk but for `free` blocks.
    fn leave(&self, free: u64) {
        let filler = self.at("filler");
        let _ = fs::remove_file(&filler);
        let room = usize::try_from(self.free_blocks().saturating_sub(free)).unwrap();
        fs::write(filler, vec![0; room * BLOCK_BYTES]).unwrap();
        assert_eq!(self.free_blocks(), free);
    }

    /// Makes as many files and folders as the disk has room for but for `free`, however much else is free on it.
    fn leave_entries(&self, free: u64) {
        let fillers = self.at("fillers");
        fs::create_dir_all(&fillers).unwrap();
        let there = fs::read_dir(&fillers).unwrap().count() as u64;
        let room = self.told("%d") + there - free;
        (there..room).for_each(|i| drop(fs::File::create(fillers.join(i.to_string())).unwrap()));
        (room..there).for_each(|i| fs::remove_file(fillers.join(i.to_string())).unwrap());
        assert_eq!(self.told("%d"), free);
    }

    fn free_blocks(&self) -> u64 {
        self.told("%a")
    }

    fn told(&self, what: &str) -> u64 {
        let told = Command::new("stat").args(["-f", "-c", what]).arg(&self.place).output().unwrap();
        String::from_utf8(told.stdout).unwrap().trim().parse().unwrap()
    }

    /// Every file but the fillers with its bytes, and every folder.
    fn contents(&self) -> BTreeMap<PathBuf, Option<Vec<u8>>> {
        let mut found = BTreeMap::new();
        let mut open = vec![self.place.clone()];
        while let Some(folder) = open.pop() {
            for entry in fs::read_dir(folder).unwrap() {
                let path = entry.unwrap().path();
                if path == self.at("filler") || path == self.at("fillers") {
                    continue;
                }
                if path.is_dir() {
                    open.push(path.clone());
                    found.insert(path, None);
                } else {
                    let bytes = fs::read(&path).unwrap();
                    found.insert(path, Some(bytes));
                }
            }
        }
        found
    }
}

fn hear(disk: &Disk, source: &Path) -> Output {
    Command::new(env!("CARGO_BIN_EXE_drywire"))
        .args(["hear", "--quiet", "--arrangements", "series", "--out", "out"])
        .arg(source)
        .current_dir(&disk.place)
        .output()
        .unwrap()
}

fn refused(output: &Output, said: &[&str], what: &str) {
    let told = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(2), "{what}: {told}");
    assert!(said.iter().any(|said| told.contains(said)), "{what}: {told}");
    assert!(told.contains("cannot write") && told.contains("hint: "), "{what}: {told}");
}

/// What a disk that is full is called: found out beforehand, or on the way.
const FULL: [&str; 2] = ["free\nhint:", "the disk is full"];

fn hear_on(disk: &Disk) {
    let step: usize = std::env::var("DRYWIRE_DISK_STEP").map_or(16, |n| n.parse().unwrap());
    let [old, new] = ["float64.wav", "float32.wav"]
        .map(|name| PathBuf::from(repository(&format!("tests/data/sound/{name}"))));
    assert!(hear(disk, &old).status.success());
    fs::write(disk.at("out/mine.txt"), "mine").unwrap();
    let before = disk.contents();
    for (tried, free) in (0..).step_by(step).enumerate() {
        disk.leave(free);
        let output = hear(disk, &new);
        if output.status.success() {
            println!("hear: {tried} amounts of free space up to {free} blocks were too little");
            assert!(tried > 3, "the disk filled too seldom");
            assert_eq!(disk.contents().get(&disk.at("out/mine.txt")), before.get(&disk.at("out/mine.txt")));
            assert_eq!(fs::read_dir(&disk.place).unwrap().count(), 2, "a temporary is left");
            return;
        }
        refused(&output, &FULL, &format!("{free} blocks"));
        assert!(disk.contents() == before, "{free} blocks: the old set is not as it was");
    }
}

/// Writes a set of 24 blocks with folders of its own in place of one among folders of others, on a disk on which it was
/// made to `leave` ever more room, of which at least `least` is needed.
fn set_on(disk: &Disk, leave: fn(&Disk, u64), least: u64, one_by_one: bool) {
    let names =
        |names: &[&str]| -> Vec<EntryName> { names.iter().map(|n| EntryName::new(n).unwrap()).collect() };
    let write = |files: &[&str], retired: &[&str], byte: u8| {
        let existing = Existing::Replace;
        let plan = SetPlan { files: names(files), retired: names(retired), existing, ..SetPlan::default() };
        let set = NewSet::begin(&disk.at("out"), plan)?;
        for name in names(files) {
            use std::io::Write;
            let written = set.create(&name)?.write_all(&vec![byte; 8 * BLOCK_BYTES]);
            written.map_err(|e| set.failed(&name, e))?;
        }
        set.commit()
    };
    let old = ["matched/series.wav", "as-is/series.wav", "figures.json"];
    let new = ["matched/parallel.wav", "impulses/parallel.wav", "figures.json"];
    write(&old, &[], 1).unwrap();
    for i in 0..40 {
        fs::create_dir_all(disk.at(&format!("out/others/{i}"))).unwrap();
        fs::write(disk.at(&format!("out/others/{i}/mine.txt")), "mine").unwrap();
    }
    if one_by_one {
        // A folder that its owner may not write to cannot be made anew, so that the two do not change places.
        let locked = disk.at("out/others/0");
        fs::set_permissions(locked, fs::Permissions::from_mode(0o555)).unwrap();
    }
    let before = disk.contents();
    for free in 0.. {
        leave(disk, free);
        match write(&new, &old, 2) {
            Ok(way) => {
                assert_eq!(way == Placed::FileByFile, one_by_one);
                println!("set: {free} amounts of free room, one by one, were too little");
                assert!(free >= least, "{free} cannot have been enough");
                break;
            }
            Err(refusal) => {
                assert!(refusal.to_string().contains("the disk is full"), "{free} left: {refusal}");
                assert!(disk.contents() == before, "{free} left: the old set is not as it was");
            }
        }
    }
    let after = disk.contents();
    let is_others = |path: &PathBuf| path.starts_with(disk.at("out/others"));
    let others = |all: &BTreeMap<PathBuf, Option<Vec<u8>>>| all.keys().filter(|p| is_others(p)).count();
    assert_eq!(others(&after), others(&before));
    assert!(!disk.at("out/as-is").exists() && disk.at("out/impulses/parallel.wav").is_file());
}

fn file_on(disk: &Disk) {
    let write = |byte: u8| {
        NewFile::write(&disk.at("x.wav"), &vec![byte; 16 * BLOCK_BYTES], Existing::Replace, &Inputs::new())
    };
    write(1).unwrap();
    let before = disk.contents();
    disk.leave(5);
    let pluck = ["pluck", "--seconds", "1", "--out", "x.wav", "--replace"];
    let mut program = Command::new(env!("CARGO_BIN_EXE_drywire"));
    refused(&program.args(pluck).current_dir(&disk.place).output().unwrap(), &FULL, "a plucked chord");
    assert!(disk.contents() == before);
    for free in 0.. {
        disk.leave(free);
        match write(2) {
            Ok(()) => {
                println!("file: {free} amounts of free space, one a block, were too little");
                assert!(free >= 16, "{free} blocks cannot have been enough");
                return;
            }
            Err(refusal) => {
                assert!(refusal.to_string().contains("the disk is full"), "{free} blocks: {refusal}");
                assert!(disk.contents() == before, "{free} blocks: the old file is not as it was");
            }
        }
    }
}

fn read_only(disk: &Disk) {
    let source = PathBuf::from(repository("tests/data/sound/float64.wav"));
    assert!(hear(disk, &source).status.success());
    let before = disk.contents();
    let mounted = Command::new("mount").args(["-o", "remount,ro"]).arg(&disk.place).status().unwrap();
    assert!(mounted.success());
    refused(&hear(disk, &source), &["the disk is read-only"], "over the old set");
    let program = |arguments: &[&str]| {
        Command::new(env!("CARGO_BIN_EXE_drywire")).args(arguments).current_dir(&disk.place).output().unwrap()
    };
    let built_in = ["hear", "--quiet", "--arrangements", "series", "--out", "other/new"];
    refused(&program(&built_in), &["the disk is read-only"], "in a new folder");
    refused(&program(&["pluck", "--out", "chord.wav"]), &["the disk is read-only"], "a single file");
    assert!(disk.contents() == before);
}
