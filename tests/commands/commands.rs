//! The commands as the interface states them: names, columns, fields, exit codes.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use std::path::Path;
use std::process::{Command, Stdio};

use crate::common::program::{Set, drywire, repository, succeeds};
use serde_json::Value;

fn printed(arguments: &[&str]) -> String {
    let folder = tempfile::tempdir().unwrap();
    String::from_utf8(succeeds(folder.path(), arguments).stdout).unwrap()
}

#[test]
fn a_response_is_printed_with_its_heading_its_ends_and_nine_digits() {
    let text =
        printed(&["response", "--arrangement", "parallel", "--start", "50", "--stop", "5k", "--points", "3"]);
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines[0], "frequency_hz,from,real,imaginary,magnitude_db,phase_deg");
    assert_eq!(lines.len(), 1 + 3 * 3);
    let froms: Vec<&str> = lines[1..4].iter().map(|l| l.split(',').nth(1).unwrap()).collect();
    assert_eq!(froms, ["coil_a", "coil_b", "both"]);
    let frequencies: Vec<f64> =
        lines[1..].iter().step_by(3).map(|l| l.split(',').next().unwrap().parse().unwrap()).collect();
    assert!((frequencies[0] - 50.0).abs() < 1e-9 && (frequencies[2] - 5000.0).abs() < 1e-6);
    assert!((frequencies[1] - 500.0).abs() < 1e-6, "evenly spaced on a logarithmic scale");
    for line in &lines[1..] {
        for number in line.split(',').skip(2) {
            assert!(number.chars().filter(char::is_ascii_digit).count() >= 9, "{line}");
        }
    }
}

#[test]
fn a_silent_path_is_minus_infinity_without_a_phase() {
    let folder = tempfile::tempdir().unwrap();
    let off = "format = 1\n[[pickup]]\nname = \"p\"\nlike = \"mini\"\n[controls]\nvolume = { pot = \"500k\", turned = 0 }\n";
    std::fs::write(folder.path().join("off.toml"), off).unwrap();
    let output = succeeds(folder.path(), &["response", "--guitar", "off.toml", "--points", "2"]);
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(text.lines().skip(1).all(|l| l.ends_with(",-inf,")), "{text}");
}

#[test]
fn what_was_measured_is_told_and_narrows_the_bands() {
    let folder = tempfile::tempdir().unwrap();
    let values = "resistance = \"3.9k\"\ninductance = \"1.9 H\"\ncapacitance = \"105p\"\nloss = \"210k\"\n";
    let figures = |name: &str, measured: &str| -> Value {
        let coils = ["a", "b"].map(|coil| format!("[pickup.coil_{coil}]\n{values}{measured}"));
        let text = format!(
            "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\"\n{}[tolerances]\npots = \"1 %\"\ncable = \"1 %\"\ninput_resistance = \"1 %\"\ninput_capacitance = \"1 %\"\ntaper = [0.13, 0.13]\ncoupling = [0.12, 0.13]\n",
            coils.concat()
        );
        std::fs::write(folder.path().join(name), text).unwrap();
        let output = succeeds(
            folder.path(),
            &["figures", "--guitar", name, "--arrangements", "series", "--bands", "--json"],
        );
        serde_json::from_slice(&output.stdout).unwrap()
    };
    let stated = figures("stated.toml", "");
    let pair =
        "measured = { inductance = \"1 %\", capacitance = \"3 %\", loss = \"6 %\", with = \"pair\" }\n";
    let measured = figures("measured.toml", pair);
    assert!(stated.get("measured").is_none(), "{stated}");
    let told = "as a pair: inductance 1.90 H ± 1 %, capacitance 105 pF ± 3 %, loss 210 kΩ ± 6 %";
    assert_eq!(
        measured["measured"],
        serde_json::json!([format!("bridge, coil A, {told}"), format!("bridge, coil B, {told}")])
    );
    assert_eq!(measured["assumed"], stated["assumed"]);
    assert_eq!(measured["arrangements"][0]["resonance_hz"], stated["arrangements"][0]["resonance_hz"]);
    let width = |figures: &Value| {
        let band = &figures["arrangements"][0]["bands"]["resonance_hz"];
        band["high"].as_f64().unwrap() - band["low"].as_f64().unwrap()
    };
    assert!(width(&measured) < 0.5 * width(&stated), "{} for {}", width(&measured), width(&stated));
    let output = succeeds(folder.path(), &["figures", "--guitar", "measured.toml"]);
    let table = String::from_utf8(output.stdout).unwrap();
    assert!(table.contains("\nmeasured: bridge, coil A, as a pair: inductance 1.90 H ± 1 %,"), "{table}");
}

#[test]
fn figures_has_every_field_and_null_where_there_is_no_figure() {
    let json: Value =
        serde_json::from_str(&printed(&["figures", "--arrangements", "all", "--json"])).unwrap();
    assert_eq!(json["schema"], 1);
    for field in ["program", "guitar", "pickup", "source", "assumed", "arrangements"] {
        assert!(json.get(field).is_some(), "{field}");
    }
    let arrangements = json["arrangements"].as_array().unwrap();
    assert_eq!(arrangements.len(), 8, "all but the one that needs a bypass capacitor");
    for arrangement in arrangements {
        for field in [
            "name",
            "resonance_hz",
            "q",
            "peak_db",
            "peak_hz",
            "gain_low_db",
            "dc_at_jack_ohm",
            "hum_db",
            "in_phase",
            "drop_rms_db",
            "drop_loudness_lu",
            "matched",
            "as_is",
        ] {
            assert!(arrangement.get(field).is_some(), "{field}");
        }
        assert!(arrangement["matched"].is_null() && arrangement["as_is"].is_null());
    }
    let hum = arrangements[0]["hum_db"].as_f64().unwrap();
    assert!((-120.0..-60.0).contains(&hum), "series cancels hum but for what the lead leaves: {hum}");
    assert_eq!(arrangements[6]["name"], "series-reversed");
    assert_eq!(arrangements[6]["in_phase"], false);
}

#[test]
fn a_set_holds_the_files_that_the_interface_names_and_the_figures_tell_them() {
    let folder = tempfile::tempdir().unwrap();
    let set = Set::heard(folder.path(), &["--bits", "16"]);
    for file in ["figures.json", "figures.csv", "response.svg", "response.png", "listen.html"] {
        assert!(set.folder.join(file).metadata().unwrap().len() > 100, "{file}");
    }
    let source = &set.figures["source"];
    for field in ["file", "rate_hz", "channels", "duration_s", "recorded_through"] {
        assert!(!source[field].is_null(), "{field}");
    }
    for arrangement in set.arrangements() {
        for kind in ["matched", "as_is"] {
            let file = &arrangement[kind];
            for field in ["gain_db", "rms_dbfs", "loudness_lufs", "true_peak_dbtp", "spectral_centroid_hz"] {
                assert!(file[field].is_f64(), "{field}: {file}");
            }
            assert!(set.folder.join(file["file"].as_str().unwrap()).exists());
        }
    }
    let rows = std::fs::read_to_string(set.folder.join("figures.csv")).unwrap();
    assert_eq!(rows.lines().count(), 1 + set.arrangements().len());
}

#[test]
fn without_its_page_a_set_holds_the_same_sound_and_figures_but_for_sones_and_no_older_page_is_left() {
    let folder = tempfile::tempdir().unwrap();
    let recording = repository("tests/data/harmonics_mono.wav");
    let with = Set::heard(folder.path(), &[&recording]);
    let read = |file: &str| std::fs::read(with.folder.join(file)).unwrap();
    let (figures, sound) = (read("figures.json"), read("matched/parallel.wav"));
    std::fs::write(with.folder.join("page.html"), "mine").unwrap();
    let without = Set::heard(folder.path(), &[&recording, "--no-page"]);
    for file in ["response.svg", "response.png", "listen.html"] {
        assert!(!without.folder.join(file).exists(), "{file}");
    }
    assert!(read("matched/parallel.wav") == sound);
    let mut figures: Value = serde_json::from_slice(&figures).unwrap();
    assert!(figures["source"]["listening_level_db_spl"].take().is_f64());
    for arrangement in figures["arrangements"].as_array_mut().unwrap() {
        for field in ["loudness_sone", "drop_heard_percent", "drop_heard_percent_60_to_85"] {
            assert!(!arrangement[field].take().is_null(), "{field}");
        }
    }
    let mut quicker = without.figures.clone();
    for list in ["files", "own_sha256"] {
        assert!(quicker[list].take() != figures[list].take(), "{list}");
    }
    assert_eq!(quicker, figures);
    assert!(without.folder.join("figures.csv").exists());
    assert_eq!(read("page.html"), b"mine");
}

#[test]
fn a_new_set_takes_the_old_ones_place_and_leaves_other_files_alone() {
    let folder = tempfile::tempdir().unwrap();
    let recording = repository("tests/data/harmonics_mono.wav");
    let first = Set::heard(folder.path(), &[&recording, "--arrangements", "series,split-b"]);
    std::fs::write(first.folder.join("mine.txt"), "notes").unwrap();
    assert!(first.folder.join("matched/split-b.wav").exists());
    let second = Set::heard(folder.path(), &[&recording, "--arrangements", "series,parallel"]);
    assert!(!second.folder.join("matched/split-b.wav").exists(), "the old set's files went with it");
    assert!(second.folder.join("matched/parallel.wav").exists());
    assert_eq!(std::fs::read_to_string(second.folder.join("mine.txt")).unwrap(), "notes");
}

#[test]
fn tables_fit_eighty_columns_and_quiet_hides_them() {
    let folder = tempfile::tempdir().unwrap();
    let text = printed(&["figures", "--arrangements", "all"]);
    assert!(text.lines().count() > 9 && text.lines().all(|l| l.chars().count() <= 80), "{text}");
    let heard = printed(&["hear", "--arrangements", "all", "--bits", "16"]);
    assert!(heard.lines().count() > 20 && heard.lines().all(|l| l.chars().count() <= 80), "{heard}");
    let quiet = succeeds(folder.path(), &["hear", "--quiet", "--arrangements", "series,parallel"]);
    assert!(quiet.stdout.is_empty() && quiet.stderr.is_empty());
}

#[test]
fn a_column_is_called_by_what_is_true_of_louder_and_of_quieter_voices() {
    let text = printed(&["figures", "--baseline", "parallel"]);
    assert!(text.contains("change") && !text.contains("drop") && !text.contains("level  "), "{text}");
    let series = text.lines().filter(|line| line.starts_with("series ")).nth(1).unwrap();
    let louder: Vec<f64> =
        series.split_whitespace().skip(1).take(2).map(|cell| cell.parse().unwrap()).collect();
    assert!(louder.iter().all(|change| *change > 5.0), "{series}");
}

#[test]
fn a_list_may_have_spaces_after_its_commas() {
    for command in ["figures", "survey"] {
        let listed = |list: &str| printed(&[command, "--arrangements", list, "--json"]);
        assert_eq!(listed("series, parallel"), listed("series,parallel"));
    }
}

#[test]
fn whoever_is_told_to_listen_is_told_what_to_open_and_to_start_low() {
    let heard = printed(&["hear", "--arrangements", "series", "--out", "set"]);
    assert!(heard.contains("The set is in set; open set/listen.html"), "{heard}");
    assert_eq!(heard.matches("Start playback low").count(), 1, "{heard}");
    let bare = printed(&["hear", "--arrangements", "series", "--out", "set", "--no-page"]);
    assert!(bare.ends_with("The set is in set.\n") && !bare.contains("listen"), "{bare}");
    let several = printed(&["hear", "low-note", "high-note", "--arrangements", "series"]);
    assert!(several.contains("2 of 2 sets are written; open the listen.html"), "{several}");
    assert_eq!(several.matches("Start playback low").count(), 1, "{several}");
    let mine = ["survey", "--arrangements", "series,parallel", "--pickup", "bridge", "--out", "out"];
    let surveyed = printed(&mine);
    assert!(surveyed.contains("open out/survey.html") && !surveyed.contains("playback"), "{surveyed}");
    let rendered = printed(&[&mine[..], &["--hear"]].concat());
    assert!(rendered.contains("open out/heard/listen.html"), "{rendered}");
    assert_eq!(rendered.matches("Start playback low").count(), 1, "{rendered}");
}

#[test]
fn every_command_explains_itself_with_an_example() {
    let folder = tempfile::tempdir().unwrap();
    let overview = printed(&["--help"]);
    let commands: Vec<&str> = overview
        .lines()
        .skip_while(|l| !l.starts_with("Commands:"))
        .skip(1)
        .take_while(|l| l.starts_with("  "))
        .filter_map(|l| l.split_whitespace().next())
        .filter(|c| *c != "help")
        .collect();
    assert!(commands.len() >= 8, "{commands:?}");
    for command in commands {
        let help = String::from_utf8(succeeds(folder.path(), &[command, "--help"]).stdout).unwrap();
        assert!(help.contains("Example"), "{command} has no example");
        assert!(help.lines().all(|l| l.chars().count() <= 100), "{command}'s help is too wide");
    }
    let hear = printed(&["hear", "--help"]);
    assert!(hear.contains("Caution: start playback low"));
}

#[test]
fn a_closed_pipe_is_no_error_and_an_unknown_word_is_exit_code_two() {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(with_a_closed_pipe(folder.path(), &["response", "--points", "100000"]), Some(0));
    assert_eq!(drywire(folder.path(), &["herar"]).status.code(), Some(2));
}

#[test]
fn manual_pages_and_completions_are_made() {
    let folder = tempfile::tempdir().unwrap();
    succeeds(folder.path(), &["manual", "pages", "man1"]);
    let page = std::fs::read_to_string(folder.path().join("man1/drywire-hear.1")).unwrap();
    assert!(page.contains("recorded\\-through"));
    assert!(printed(&["manual", "completions", "bash"]).contains("_drywire"));
}

#[test]
fn of_several_sources_each_has_a_set_and_one_that_fails_stops_no_other() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    std::fs::create_dir(at("takes")).unwrap();
    std::fs::copy(repository("tests/data/harmonics_mono.wav"), at("takes/a.wav")).unwrap();
    std::fs::write(at("takes/b.wav"), "no sound").unwrap();
    std::fs::copy(repository("tests/data/chord_stereo.wav"), at("takes/c.wav")).unwrap();
    let common = ["--no-page", "--arrangements", "series,parallel"];
    let output =
        drywire(folder.path(), &[&["hear", "takes", "high-note", "--out", "sets"], &common[..]].concat());
    let (told, wrong) =
        (String::from_utf8(output.stdout).unwrap(), String::from_utf8(output.stderr).unwrap());
    assert_eq!(output.status.code(), Some(2), "{wrong}");
    assert!(told.contains("3 of 4 sets are written") && wrong.contains("b.wav"), "{told}{wrong}");
    assert!(!at("sets/b").exists());
    for name in ["a", "c", "high-note"] {
        assert!(at("sets").join(name).join("matched/parallel.wav").exists(), "{name}");
    }
    // A set among several is the set that its source has alone.
    let alone = ["hear", "takes/a.wav", "--quiet", "--out", "alone"];
    succeeds(folder.path(), &[&alone[..], &common].concat());
    for file in ["figures.json", "as-is/series.wav"] {
        let read = |set: &str| std::fs::read(at(set).join(file)).unwrap();
        assert!(read("alone") == read("sets/a"), "{file}");
    }
}

/// The answer is in the exit code also where the reader of standard output has gone.
#[test]
fn a_closed_pipe_leaves_the_exit_code_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    succeeds(folder.path(), &["presets", "copy", "set-neck", "mine.toml"]);
    let line = ["probe", "--guitar", "mine.toml", "--read", "selector:1=open"];
    assert_eq!(with_a_closed_pipe(folder.path(), &line), Some(1));
}

/// Returns the exit code of a run whose standard output nobody reads, and that says nothing on standard error.
fn with_a_closed_pipe(folder: &Path, arguments: &[&str]) -> Option<i32> {
    let mut child = Command::new(env!("CARGO_BIN_EXE_drywire"))
        .current_dir(folder)
        .args(arguments)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
    output.status.code()
}
