//! What a person types is read as it was meant, or answered with what to type instead.

#![cfg(unix)]
#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use std::collections::BTreeMap;
use std::ffi::{OsStr, OsString};
use std::fs;
use std::os::unix::ffi::{OsStrExt, OsStringExt};
use std::path::Path;
use std::process::{Command, Output};

use crate::common::program::{drywire, repository, succeeds};

fn told(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// Runs the program with arguments that need not be text.
fn drywire_of(folder: &Path, arguments: &[&OsStr]) -> Output {
    let mut program = Command::new(env!("CARGO_BIN_EXE_drywire"));
    program.args(arguments).current_dir(folder).env_remove("COLUMNS").output().unwrap()
}

#[test]
fn a_unit_may_stand_after_every_number() {
    let folder = tempfile::tempdir().unwrap();
    let plucked = |arguments: &[&str]| {
        succeeds(folder.path(), &[&["pluck", "--quiet", "--out", "take.wav"], arguments].concat());
        fs::read(folder.path().join("take.wav")).unwrap()
    };
    let bare = ["--rate", "48000", "--tempo", "120", "--peak", "-12", "--seconds", "1", "--strum", "0.01"];
    let units = [
        "--rate",
        "48 kHz",
        "--tempo",
        "120 bpm",
        "--peak",
        "-12 dBFS",
        "--seconds",
        "1000ms",
        "--strum",
        "10 ms",
    ];
    let others = [
        "--rate",
        "48k",
        "--tempo",
        "120bpm",
        "--peak",
        "\u{2212}12dB",
        "--seconds",
        "1 s",
        "--strum",
        "10ms",
    ];
    let plain = plucked(&bare);
    assert!(plain == plucked(&units) && plain == plucked(&others));

    let heard = |arguments: &[&str]| {
        let common = ["hear", "low-note", "--arrangements", "series,split-a", "--out", "set", "--json"];
        let output = succeeds(folder.path(), &[&common, arguments].concat());
        String::from_utf8(output.stdout).unwrap()
    };
    let bare = heard(&[
        "--hum",
        "50",
        "--hum-level",
        "-40",
        "--listening-level",
        "70",
        "--bits",
        "16",
        "--excerpt",
        "1",
    ]);
    let units = heard(&[
        "--hum",
        "50Hz",
        "--hum-level",
        "-40 dBFS",
        "--listening-level",
        "70 dB SPL",
        "--bits",
        "16-bit",
        "--excerpt",
        "1000 ms",
    ]);
    assert_eq!(bare, units);

    let printed = |arguments: &[&str]| succeeds(folder.path(), arguments).stdout;
    assert_eq!(
        printed(&["response", "--start", "50", "--stop", "5000", "--points", "3"]),
        printed(&["response", "--start", "50 Hz", "--stop", "5 kHz", "--points", "3"])
    );
}

#[test]
fn a_value_below_zero_is_refused_as_a_value_and_not_as_an_option() {
    let folder = tempfile::tempdir().unwrap();
    for (arguments, said) in [
        (&["hear", "--listening-level", "-1"][..], "from 40 to 100 is wanted"),
        (&["hear", "--excerpt", "-1"], "is below zero; allowed is from 0 s"),
        (&["hear", "--hum", "50", "--hum-level", "-200"], "from -120 to 0 is wanted"),
        (&["pluck", "--rate", "-48k"], "from 8000 to 384000 is wanted"),
        (&["pluck", "--tempo", "nan"], "from 20 to 400 is wanted"),
        (&["pluck", "--peak", "inf"], "from -60 to -1 is wanted"),
        (&["figures", "--bands", "--draws", "-5"], "from 100 to 10000 is wanted"),
        (&["survey", "--threads", "-1"], "from 1 to 256 is wanted"),
        (&["response", "--start", "-20"], "is not between"),
        (
            &["lugs", "--switch", "on-on", "--throws", "series,split", "--best", "-1"],
            "from 1 to 1000 is wanted",
        ),
    ] {
        let output = drywire(folder.path(), arguments);
        let told = told(&output);
        assert_eq!(output.status.code(), Some(2), "{told}");
        assert!(told.contains(said) && !told.contains("tip:"), "{arguments:?}: {told}");
    }
}

#[test]
fn the_trades_words_lead_to_ours() {
    let folder = tempfile::tempdir().unwrap();
    let guitar = |table: &str, kind: &str| {
        let text = fs::read_to_string(repository("presets/guitars/set-neck.toml")).unwrap();
        let of = format!(
            "{text}\n[[{kind}]]\nname = \"mine\"\n{}table = \"{table}\"\njoints = []\n",
            if kind == "switch" { "on = \"bridge\"\n" } else { "" }
        );
        fs::write(folder.path().join("mine.toml"), of).unwrap();
    };
    for (arguments, said) in [
        (&["figures", "--arrangements", "one coil"][..], "`split-a`, `split-b` or `alone` here"),
        (&["figures", "--arrangements", "coil split"], "`split-a`, `split-b` or `alone` here"),
        (&["figures", "--arrangements", "series,humbucker"], "`series` or `parallel` here"),
        (&["survey", "--arrangements", "out of phase"], "`series-reversed` or `parallel-reversed` here"),
        (&["response", "--arrangement", "both"], "`series` or `parallel` here"),
        (&["hear", "low-note", "--recorded-through", "sellector:2"], "did you mean `selector`?"),
        (&["figures", "--arrangements", "sellector:2"], "did you mean `selector`?"),
        (&["hear", "low-note", "--recorded-through", "Single Coil"], "`split-a`, `split-b` or `alone` here"),
        (
            &["lugs", "--switch", "dpdt", "--throws", "series,split"],
            "`on-on`, `on-on-on` or `on-off-on` here",
        ),
        (&["lugs", "--switch", "push-pull", "--throws", "series,split"], "that is `on-on` here"),
        (&["lugs", "--switch", "SPDT", "--throws", "series,split"], "that is `on-on-single` here"),
        (&["lugs", "--switch", "five-way", "--throws", "series,split"], "[[selector]]"),
        (&["lugs", "--switch", "on-on", "--throws", "humbucker,one coil"], "`series` or `parallel` here"),
        (
            &["lugs", "--switch", "on-on", "--throws", "series,one coil"],
            "`split`, `split-a` or `split-b` here",
        ),
        (&["lugs", "--switch", "on-on", "--throws", "series,kill"], "that is `off` here"),
        (&["figures", "--arrangements", "series parallel"], "hint: separate several by commas"),
    ] {
        let output = drywire(folder.path(), arguments);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        let told = told(&output);
        assert!(told.contains(said), "{arguments:?}: {told}");
    }
    for (kind, table, said) in [
        ("switch", "dpdt", "`on-on`, `on-on-on` or `on-off-on` here"),
        ("selector", "3-way toggle", "`three-way-toggle` here"),
    ] {
        guitar(table, kind);
        let told = told(&drywire(folder.path(), &["figures", "--guitar", "mine.toml"]));
        assert!(told.contains(said), "{kind} {table}: {told}");
    }
}

/// A name that is no UTF-8, with this ending.
fn odd(ending: &str) -> OsString {
    let mut name = b"t\xe4ke".to_vec();
    name.extend(ending.bytes());
    OsString::from_vec(name)
}

#[test]
fn files_whose_names_are_not_utf_8_are_read_and_shown_as_far_as_they_can_be() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &OsStr| folder.path().join(name);
    let takes = odd("s");
    fs::create_dir(at(&takes)).unwrap();
    fs::copy(repository("samples-synthetic/high-note.wav"), at(&odd(".wav"))).unwrap();
    fs::copy(repository("samples-synthetic/high-note.wav"), at(&takes).join(odd(".wav"))).unwrap();
    fs::copy(repository("samples-synthetic/high-note.wav"), at(&takes).join("plain.wav")).unwrap();
    fs::copy(repository("presets/guitars/set-neck.toml"), at(&odd(".toml"))).unwrap();
    let common: [&OsStr; 5] =
        ["--no-page", "--arrangements", "series,parallel", "--guitar", "g"].map(OsStr::new);
    let guitar = odd(".toml");
    let arguments = |source: &OsStr, out: &str| -> Vec<OsString> {
        let mut all: Vec<OsString> = vec!["hear".into(), source.to_owned(), "--out".into(), out.into()];
        all.extend(common[..4].iter().map(|argument| (*argument).to_owned()));
        all.push(guitar.clone());
        all
    };
    let run = |arguments: Vec<OsString>| {
        let arguments: Vec<&OsStr> = arguments.iter().map(OsString::as_os_str).collect();
        drywire_of(folder.path(), &arguments)
    };
    let one = run(arguments(&odd(".wav"), "one"));
    assert_eq!(one.status.code(), Some(0), "{}", told(&one));
    assert!(String::from_utf8_lossy(&one.stdout).contains("t\u{fffd}ke.wav"));
    let several = run(arguments(&takes, "several"));
    assert_eq!(several.status.code(), Some(0), "{}", told(&several));
    for set in ["one", "several/t\u{fffd}ke", "several/plain"] {
        assert!(folder.path().join(set).join("matched/parallel.wav").exists(), "{set}");
    }
    // The input is never written over, whatever its name.
    let over = drywire_of(
        folder.path(),
        &["pluck", "--guitar"]
            .map(OsStr::new)
            .into_iter()
            .chain([odd(".toml").as_os_str()])
            .collect::<Vec<_>>(),
    );
    assert_eq!(over.status.code(), Some(0), "{}", told(&over));
    for command in ["figures", "response", "probe", "survey"] {
        let output = drywire_of(folder.path(), &[OsStr::new(command), OsStr::new("--guitar"), &guitar]);
        assert_eq!(output.status.code(), Some(0), "{command}: {}", told(&output));
    }
    let missing = drywire_of(folder.path(), &[OsStr::new("hear"), OsStr::from_bytes(b"n\xe4chste.wav")]);
    assert!(
        missing.status.code() == Some(2) && told(&missing).contains("n\u{fffd}chste.wav"),
        "{}",
        told(&missing)
    );
}

#[test]
fn a_folder_without_a_sound_stops_no_other_source() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("empty")).unwrap();
    let arguments = ["hear", "empty", "low-note", "--no-page", "--arrangements", "series", "--out", "sets"];
    let output = drywire(folder.path(), &arguments);
    let (said, wrong) = (String::from_utf8_lossy(&output.stdout).into_owned(), told(&output));
    assert_eq!(output.status.code(), Some(2), "{wrong}");
    assert!(
        said.contains("1 of 2 sets are written") && wrong.contains("`empty` holds no sound file"),
        "{said}{wrong}"
    );
    assert!(folder.path().join("sets/low-note/matched/series.wav").exists());
}

#[test]
fn one_thing_is_told_in_the_singular() {
    let folder = tempfile::tempdir().unwrap();
    let wrong = told(&drywire(folder.path(), &["lugs", "--switch", "on-on", "--throws", "series"]));
    assert!(wrong.contains("1 throw is asked for, and `on-on` has 2"), "{wrong}");
    fs::create_dir(folder.path().join("takes")).unwrap();
    fs::copy(repository("samples-synthetic/high-note.wav"), folder.path().join("takes/one.wav")).unwrap();
    let output = succeeds(folder.path(), &["hear", "takes", "--no-page", "--arrangements", "series"]);
    let said = String::from_utf8(output.stdout).unwrap();
    assert!(said.contains("1 of 1 set is written"), "{said}");
    let only = ["survey", "--pickup", "bridge", "--arrangements", "series", "--guitar", "set-neck"];
    let said = String::from_utf8(succeeds(folder.path(), &only).stdout).unwrap();
    let said: String = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("1 combination, 1 different circuit, 1 group of near-duplicates"), "{said}");
    assert!(said.contains("1 position keeps the variety"), "{said}");
}

#[test]
fn where_no_further_thread_can_be_had_the_work_is_done_all_the_same() {
    let folder = tempfile::tempdir().unwrap();
    // A stack that no memory holds: the system refuses every thread.
    let run = |arguments: &[&str], alone: bool| {
        let mut program = Command::new(env!("CARGO_BIN_EXE_drywire"));
        program.args(arguments).current_dir(folder.path());
        if alone {
            program.env("RUST_MIN_STACK", (1u64 << 47).to_string());
        }
        let output = program.output().unwrap();
        assert_eq!(output.status.code(), Some(0), "{arguments:?}: {}", told(&output));
    };
    let read = |file: &str| fs::read(folder.path().join(file)).unwrap();
    for (out, alone) in [("many", false), ("few", true)] {
        run(&["hear", "low-note", "--arrangements", "all", "--bands", "--draws", "100", "--out", out], alone);
        let surveyed = format!("{out}-survey");
        run(&["survey", "--arrangements", "series,parallel,split-a", "--out", &surveyed], alone);
    }
    for file in ["figures.json", "matched/parallel.wav", "response.png", "listen.html"] {
        assert!(read(&format!("many/{file}")) == read(&format!("few/{file}")), "{file}");
    }
    assert!(read("many-survey/survey.json") == read("few-survey/survey.json"));
}

#[test]
fn a_sample_that_is_no_sound_is_told_in_few_characters() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("loud.wav");
    let mut bytes =
        b"RIFF\0\0\0\0WAVEfmt \x10\0\0\0\x03\0\x01\0\x80\xbb\0\0\0\xdc\x05\0\x08\0\x40\0data".to_vec();
    bytes.extend((64u32 * 8).to_le_bytes());
    bytes.extend([1e300f64; 64].iter().flat_map(|sample| sample.to_le_bytes()));
    let size = u32::try_from(bytes.len() - 8).unwrap();
    bytes[4..8].copy_from_slice(&size.to_le_bytes());
    fs::write(&path, bytes).unwrap();
    let wrong = told(&drywire(folder.path(), &["hear", "loud.wav"]));
    assert!(wrong.contains("holds 1e300 at frame 0, channel 1"), "{wrong}");
    assert!(wrong.contains("with --repair"), "{wrong}");
}

/// The options that a command's help lists.
fn options_of(command: &str) -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    let help = [&command.split(' ').collect::<Vec<_>>()[..], &["--help"]].concat();
    let help = String::from_utf8(succeeds(folder.path(), &help).stdout).unwrap();
    let listed = help.lines().filter_map(|line| {
        let rest = line.trim_start();
        let option = if rest.starts_with("--") { rest } else { rest.strip_prefix('-')?.split_once(", ")?.1 };
        let word = option.strip_prefix("--")?;
        Some(word.chars().take_while(|c| c.is_ascii_lowercase() || *c == '-').collect())
    });
    listed.collect()
}

#[test]
#[allow(clippy::too_many_lines, reason = "it is one list of refused command lines")]
fn a_hint_names_only_options_that_its_command_has() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    fs::write(at("file"), "no folder").unwrap();
    fs::write(at("broken.wav"), "no sound").unwrap();
    fs::write(at("broken.toml"), "[[pickup\n").unwrap();
    fs::create_dir(at("folder.wav")).unwrap();
    fs::create_dir(at("folder.html")).unwrap();
    fs::copy(repository("presets/guitars/set-neck.toml"), at("mine.toml")).unwrap();
    let on_on = ["lugs", "--switch", "on-on", "--throws", "series,parallel"];
    let lines: Vec<Vec<&str>> = vec![
        vec!["presets", "copy", "set-neck", "file/mine.toml"],
        vec!["presets", "copy", "set-neck", "mine.toml"],
        vec!["presets", "copy", "set-neck", "/proc/mine.toml"],
        vec!["presets", "copy", "set-nek"],
        vec!["presets", "show", "open-chord"],
        vec!["presets", "show", "none"],
        [&on_on[..], &["--sheet", "file/sheet.html"]].concat(),
        [&on_on[..], &["--sheet", "folder.html"]].concat(),
        [&on_on[..], &["--sheet", "mine.toml", "--guitar", "mine.toml"]].concat(),
        [&on_on[..], &["--sheet", "/proc/sheet.html"]].concat(),
        [&on_on[..], &["--pickup", "none"]].concat(),
        [&on_on[..], &["--guitar", "bolt-on-three-single"]].concat(),
        vec!["lugs", "--switch", "none", "--throws", "series"],
        vec!["lugs", "--switch", "on-on", "--throws", "none,series"],
        vec!["lugs", "--check", "mine.toml"],
        vec!["lugs", "--check", "none.toml"],
        vec!["lugs"],
        vec!["leads", "--leads", "a,b", "--save", "file/drawer.toml"],
        vec!["leads", "--leads", "a,b", "--save", "broken.toml"],
        vec!["leads", "--leads", "a,b", "--save", "/proc/drawer.toml"],
        vec!["leads", "--leads", "a,a"],
        vec!["leads", "--leads", "a"],
        vec!["leads", "none.toml"],
        vec!["leads", "broken.toml"],
        vec!["manual", "pages", "file"],
        vec!["manual", "pages"],
        vec!["pluck", "--out", "file/take.wav"],
        vec!["pluck", "--out", "folder.wav"],
        vec!["pluck", "--out", "take.mp3"],
        vec!["pluck", "--notes", "H2"],
        vec!["pluck", "--seconds", "0"],
        vec!["pluck", "--pickup", "none"],
        vec!["hear", "--out", "file"],
        vec!["hear", "none.wav"],
        vec!["hear", "broken.wav"],
        vec!["hear", "mine.toml"],
        vec!["hear", "--model", "second-order", "--impulses"],
        vec!["hear", "--hum-level", "-50"],
        vec!["hear", "--recorded-guitar", "mine.toml"],
        vec!["hear", "--listening-level", "-1"],
        vec!["hear", "low-note", "75", "dB"],
        vec!["survey", "--out", "file"],
        vec!["survey", "--guitar", "none"],
        vec!["survey", "--baseline", "none"],
        vec!["survey", "--arrangements", "none"],
        vec!["figures", "--guitar", "none"],
        vec!["figures", "--guitar", "broken.toml"],
        vec!["figures", "--arrangements", "none"],
        vec!["figures", "--arrangements", "mode:1"],
        vec!["figures", "--arrangements", "series", "--baseline", "none"],
        vec!["figures", "--pickup", "none"],
        vec!["figures", "--draws", "200"],
        vec!["response", "--arrangement", "none"],
        vec!["response", "--arrangement", "all"],
        vec!["response", "--arrangement", "throws"],
        vec!["response", "--start", "5k", "--stop", "1k"],
        vec!["response", "--pickup", "none"],
        vec!["probe", "--guitar", "mine.toml", "--read", "mode:1=5k"],
        vec!["probe", "--guitar", "travel-mini", "--pickup", "none"],
        vec!["play", "none"],
        vec!["play", "file"],
        vec!["play"],
        vec!["play", "none", "--level", "3"],
        vec!["blind", "none"],
        vec!["blind"],
        vec!["blind", "none", "--trials", "0"],
    ];
    let mut known: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let mut looked_at = 0;
    for line in lines {
        let output = drywire(folder.path(), &line);
        let said = told(&output);
        assert_eq!(output.status.code(), Some(2), "{line:?}: {said}");
        assert!(!said.contains(".tmp") && !said.contains(".drywire-"), "a temporary file is named: {said}");
        // What clap says of usage is its own; our hints and messages are what names options in sentences.
        let said = said.split("\nUsage:").next().unwrap();
        let command = match line[0] {
            own @ ("presets" | "manual") => {
                line.get(1).map_or(own.to_owned(), |within| format!("{own} {within}"))
            }
            own => own.to_owned(),
        };
        for part in said.split(['`', '\n']) {
            let of = part.split_once("drywire ").and_then(|(_, rest)| rest.split_whitespace().next());
            let of = of.map_or(command.clone(), str::to_owned);
            let words = part
                .split_whitespace()
                .filter_map(|word| word.trim_matches(['(', ')', '\'', ',']).strip_prefix("--"));
            for word in words.filter(|word| word.starts_with(|c: char| c.is_ascii_lowercase())) {
                let word: String = word.chars().take_while(|c| c.is_ascii_lowercase() || *c == '-').collect();
                let options = known.entry(of.clone()).or_insert_with(|| options_of(&of));
                looked_at += 1;
                assert!(
                    options.contains(&word),
                    "{line:?} is told of --{word}, and {of} has no such option: {said}"
                );
            }
        }
    }
    assert!(looked_at > 25, "{looked_at}");
}

#[test]
fn a_file_that_is_missing_leads_to_the_one_that_was_probably_meant() {
    let folder = tempfile::tempdir().unwrap();
    for name in ["mine.toml", "notes.txt"] {
        fs::write(folder.path().join(name), "").unwrap();
    }
    let hint = |name: &str| {
        let said = told(&drywire(folder.path(), &["figures", "--guitar", name]));
        said.split("hint: ").nth(1).unwrap().trim().to_owned()
    };
    assert_eq!(hint("min.toml"), "did you mean `mine.toml`?");
    assert_eq!(hint("./mien.toml"), "did you mean `./mine.toml`?");
    assert!(hint("other.toml").contains("`drywire presets` copies out"));
}

#[cfg(unix)]
#[test]
fn a_refusal_to_write_through_a_link_says_what_it_leads_to() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("other.wav"), "mine").unwrap();
    std::os::unix::fs::symlink("other.wav", folder.path().join("take.wav")).unwrap();
    let output = drywire(folder.path(), &["pluck", "--out", "take.wav"]);
    let said = told(&output);
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(said.contains("cannot write `take.wav`, a link to `other.wav`: it was not written by"), "{said}");
    assert_eq!(fs::read(folder.path().join("other.wav")).unwrap(), b"mine");
}
