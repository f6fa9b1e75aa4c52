//! `drywire pluck` writes the whole file that was asked for, or says what is wrong and writes nothing.

use std::fs;
use std::path::Path;

use assert_cmd::Command;
use assert_cmd::assert::Assert;

fn pluck(folder: &Path, arguments: &[&str]) -> Assert {
    let mut command = Command::cargo_bin("drywire").expect("the program");
    command.arg("pluck").args(arguments).current_dir(folder).assert()
}

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a folder")
}

fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).expect("the folder");
    entries.map(|e| e.expect("an entry").file_name().to_string_lossy().into_owned()).collect()
}

fn channels(path: &Path) -> Vec<Vec<i32>> {
    let mut reader = hound::WavReader::open(path).expect("a WAV file");
    let count = usize::from(reader.spec().channels);
    let samples: Result<Vec<i32>, _> = reader.samples().collect();
    let samples = samples.expect("whole samples");
    (0..count).map(|c| samples.iter().skip(c).step_by(count).copied().collect()).collect()
}

#[test]
fn without_arguments_an_open_chord_is_written() {
    let folder = folder();
    pluck(folder.path(), &[]).success().stdout("");
    assert_eq!(names(folder.path()), ["pluck.wav"]);
    assert_eq!(channels(&folder.path().join("pluck.wav"))[0].len(), 4 * 48_000);
}

#[test]
fn the_one_channel_file_is_the_sum_of_the_file_with_a_channel_a_coil() {
    let folder = folder();
    let of = |channels: &str, out: &str| {
        pluck(folder.path(), &["--notes", "A2 ^x02220", "--channels", channels, "--out", out, "--quiet"])
            .success()
            .stderr("");
    };
    of("one", "one.wav");
    of("coils", "coils.wav");
    let (one, coils) = (channels(&folder.path().join("one.wav")), channels(&folder.path().join("coils.wav")));
    assert_eq!((one.len(), coils.len()), (1, 2));
    for ((sum, a), b) in one[0].iter().zip(&coils[0]).zip(&coils[1]) {
        // Each of the three is rounded by itself.
        assert!((sum - a - b).abs() <= 1);
    }
}

#[test]
fn every_pickups_coils_have_a_channel_each() {
    let folder = folder();
    let arguments = ["--notes", "E2", "--every-pickup", "--channels", "coils", "--rate", "44100"];
    pluck(folder.path(), &arguments).success();
    assert_eq!(channels(&folder.path().join("pluck.wav")).len(), 4);
    pluck(
        folder.path(),
        &["--notes", "E2", "--guitar", "bolt-on-three-single", "--every-pickup", "--channels", "coils"],
    )
    .success();
    assert_eq!(channels(&folder.path().join("pluck.wav")).len(), 3);
}

#[test]
fn what_cannot_be_played_is_refused_with_every_fault_and_nothing_is_written() {
    for (arguments, told) in [
        (
            vec!["--notes", "E2 H2 D2"],
            vec!["`H2` is no note", "`D2` is on none of the six strings", "hint: "],
        ),
        (vec!["--chord", "02210"], vec!["5 frets for 6 strings"]),
        (
            vec!["--pluck-at", "2m", "--decay", "0"],
            vec!["2.00 m, outside 5.00 mm to 1.00 m", "decay by 60 dB is 0 s"],
        ),
        (vec!["--notes", "E6", "--pluck-at", "170mm"], vec!["string 1 at fret 24 is only"]),
        (vec!["--pluck-at", "140"], vec!["`140` is not a length with its unit"]),
        (vec!["--pickup", "middle"], vec!["no pickup `middle`", "bridge, neck"]),
        (vec!["--pickup", "neck", "--every-pickup"], vec!["cannot be used with"]),
        (vec!["--guitar", "no-such"], vec!["neither a file nor a built-in guitar"]),
        (vec!["--rate", "1000000"], vec!["outside 8000 to 384000"]),
        (vec!["--seconds", "600s", "--rate", "384000"], vec!["samples in all channels"]),
        (vec!["--out", "chord.mp3"], vec!["`chord.mp3` is no name of a WAV file", "ends in .wav"]),
        (vec!["--out", "missing/chord.wav"], vec!["cannot write `missing/chord.wav`"]),
    ] {
        let folder = folder();
        let assert = pluck(folder.path(), &arguments).code(2).stdout("");
        let said = String::from_utf8_lossy(&assert.get_output().stderr).into_owned();
        for told in told {
            assert!(said.contains(told), "{arguments:?}: {told}\n---\n{said}");
        }
        assert_eq!(names(folder.path()), [""; 0], "{arguments:?}");
    }
}

#[test]
fn neither_the_guitars_file_nor_a_folder_is_written_over() {
    let folder = folder();
    let guitar = include_str!("../../presets/guitars/set-neck.toml");
    fs::write(folder.path().join("guitar.wav"), guitar).expect("written");
    fs::create_dir(folder.path().join("folder.wav")).expect("made");
    pluck(folder.path(), &["--guitar", "guitar.wav", "--out", "./guitar.wav"]).code(2);
    pluck(folder.path(), &["--out", "folder.wav"]).code(2);
    assert_eq!(fs::read_to_string(folder.path().join("guitar.wav")).expect("still there"), guitar);
    assert_eq!(names(folder.path()).len(), 2);
}
