//! Every combination of a guitar is gone through, once for each circuit; what is kept lies near all others; the result is
//! the same on any number of threads and after an interruption.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use std::collections::BTreeSet;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

use crate::common::program::{drywire, succeeds};
use drywire::digest::Form;
use drywire::document::Document;
use drywire::guitar::{Guitar, guitar_presets};
use drywire::quantity::Hertz;
use drywire::survey::{Neutral, Solving, Space, SurveyFigures, SurveyPart};
use serde_json::Value;

const GUITAR: &str = "three-two-coil";

/// Runs `survey` with these arguments and reads what it wrote.
fn surveyed(folder: &Path, out: &str, arguments: &[&str]) -> Value {
    succeeds(folder, &[&["survey", "--quiet", "--out", out], arguments].concat());
    serde_json::from_str(&std::fs::read_to_string(folder.join(out).join("survey.json")).unwrap()).unwrap()
}

fn texts(list: &Value) -> Vec<&str> {
    list.as_array().unwrap().iter().map(|text| text.as_str().unwrap()).collect()
}

/// Four two-coil pickups that are all always on; `more` joins them otherwise.
fn four_pickups(more: &str) -> String {
    let pickup = |name: &str, place: u32| {
        format!("[[pickup]]\nname = \"{name}\"\nlike = \"mini\"\nfrom_bridge = \"{place} mm\"\n")
    };
    let pickups: String =
        [("p", 40), ("q", 80), ("r", 120), ("s", 160)].map(|(n, at)| pickup(n, at)).concat();
    format!("format = 1\njoints = [[\"p\", \"q\", \"r\", \"s\", \"out\"]]\n{pickups}{more}")
}

#[test]
fn more_than_five_thousand_combinations_take_ten_seconds_of_two_cores_and_300_megabytes_at_most() {
    let folder = tempfile::tempdir().unwrap();
    let mut program = Command::new(env!("CARGO_BIN_EXE_drywire"))
        .args(["survey", "--guitar", GUITAR, "--quiet"])
        .current_dir(folder.path())
        .spawn()
        .unwrap();
    let proc = Path::new("/proc").join(program.id().to_string());
    // Of a process that has ended the system tells nothing, so it is asked again and again while it runs. Time on the
    // processor does not depend on what else the machine does.
    let (mut ticks, mut kilobytes) = (0u64, 0u64);
    let status = loop {
        if let Some(status) = program.try_wait().unwrap() {
            break status;
        }
        if let Ok(stat) = std::fs::read_to_string(proc.join("stat")) {
            let after_name = stat.rsplit(')').next().unwrap();
            let fields: Vec<&str> = after_name.split_whitespace().collect();
            ticks = fields[11..13].iter().map(|field| field.parse::<u64>().unwrap()).sum();
        }
        if let Ok(memory) = std::fs::read_to_string(proc.join("status")) {
            let peak = memory.lines().find_map(|line| line.strip_prefix("VmHWM:"));
            kilobytes = peak.map_or(kilobytes, |p| p.split_whitespace().next().unwrap().parse().unwrap());
        }
        std::thread::sleep(Duration::from_millis(5));
    };
    assert!(status.success());
    if cfg!(target_os = "linux") {
        // A hundred ticks are a second.
        assert!(ticks > 10 && ticks < 2 * 10 * 100, "{ticks} ticks on the processor");
        assert!(kilobytes > 1000 && kilobytes < 300_000, "{kilobytes} kB");
    }
    let text = std::fs::read_to_string(folder.path().join("drywire-survey/survey.json")).unwrap();
    let figures: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(figures["combinations"], 5120);
    // With 8 ways to connect a pickup: bridge, middle or neck alone, three pairs, and all three.
    assert_eq!(figures["circuits"].as_array().unwrap().len(), 3 * 8 + 3 * 64 + 512);
    let rows = std::fs::read_to_string(folder.path().join("drywire-survey/survey.csv")).unwrap();
    let names: BTreeSet<&str> = rows.lines().skip(1).map(|row| row.split(',').next().unwrap()).collect();
    assert_eq!((rows.lines().count(), names.len()), (5121, 5120));
}

#[test]
fn combinations_that_are_called_one_circuit_have_one_response() {
    let guitar = Guitar::built_in(GUITAR).unwrap();
    let space = Space::new(&guitar, None, &[]).unwrap();
    let circuits = space.circuits().unwrap();
    let at = |voice: &drywire::response::Voice, f: f64| {
        let response = voice.response(&guitar, drywire::response::Scope::Guitar).unwrap();
        response.both(&response.at(Hertz::new(f)).unwrap())
    };
    let mut compared = 0;
    for circuit in circuits.iter().filter(|c| c.combinations.len() > 1).step_by(7) {
        for place in circuit.combinations.iter().step_by(29) {
            let other = space.combination(*place);
            for f in [100.0, 3000.0, 9000.0] {
                let (one, other) = (at(&circuit.first.voice, f), at(&other.voice, f));
                assert!((one - other).norm() < 1e-9 * one.norm().max(1e-6), "{}", circuit.first.voice.name());
                compared += 1;
            }
        }
    }
    assert!(compared > 100, "{compared}");
}

#[test]
fn the_result_is_the_same_on_any_number_of_threads() {
    let folder = tempfile::tempdir().unwrap();
    let of = |threads: &str| {
        let arguments =
            ["--guitar", GUITAR, "--arrangements", "series,parallel,split-a", "--threads", threads];
        surveyed(folder.path(), threads, &arguments);
        let read = |name: &str| std::fs::read(folder.path().join(threads).join(name)).unwrap();
        ["survey.json", "survey.csv", "survey.svg", "survey.png", "survey.html"].map(read)
    };
    let one = of("1");
    assert!(of("2") == one && of("5") == one);
}

#[test]
fn an_interrupted_survey_is_gone_on_with_and_comes_out_the_same() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("four.toml"), four_pickups("")).unwrap();
    let arguments = [
        "survey",
        "--guitar",
        "four.toml",
        "--threads",
        "1",
        "--out",
        "broken",
        "--arrangements",
        "series,parallel,split-a,series-reversed",
    ];
    let mut program = Command::new(env!("CARGO_BIN_EXE_drywire"))
        .args(arguments)
        .current_dir(folder.path())
        .stderr(Stdio::null())
        .stdout(Stdio::null())
        .spawn()
        .unwrap();
    let part = folder.path().join("broken.part");
    while !part.exists() {
        assert!(program.try_wait().unwrap().is_none(), "the survey was done before it could be interrupted");
        std::thread::sleep(Duration::from_millis(10));
    }
    program.kill().unwrap();
    program.wait().unwrap();
    assert!(!folder.path().join("broken").exists());
    let again = succeeds(folder.path(), &arguments);
    let told = String::from_utf8(again.stderr).unwrap();
    assert!(told.contains("going on from") && told.contains("of 256 are done"), "{told}");
    assert!(!part.exists(), "what was kept goes when the survey is whole");
    let mut whole = arguments;
    whole[6] = "whole";
    succeeds(folder.path(), &whole);
    let read = |out: &str| std::fs::read(folder.path().join(out).join("survey.json")).unwrap();
    assert!(read("broken") == read("whole"));
}

#[test]
fn what_was_heard_before_an_interruption_is_not_heard_again() {
    let guitar = Guitar::built_in("set-neck").unwrap();
    let space = Space::new(&guitar, None, &[]).unwrap();
    let circuits = space.circuits().unwrap();
    let neutral = Neutral::of(&space).unwrap();
    let mut first = SurveyPart::begun(&space, &circuits);
    let enough = |heard: &[Option<_>]| heard.iter().flatten().count() < 9;
    Solving { workers: 2 }.hear(&neutral, &circuits, &mut first.heard, &mut |heard| enough(heard)).unwrap();
    assert_eq!(first.heard.iter().flatten().count(), 9);
    let mut second = SurveyPart::begun(&space, &circuits);
    assert!(second.take_up(SurveyPart::read(&first.text()).unwrap()));
    assert_eq!(second, first);
    let mut told = 0;
    let mut count = |_: &[Option<_>]| {
        told += 1;
        true
    };
    Solving { workers: 2 }.hear(&neutral, &circuits, &mut second.heard, &mut count).unwrap();
    assert_eq!((told, second.heard.iter().flatten().count()), (circuits.len() - 9, circuits.len()));
    let other = Guitar::built_in(GUITAR).unwrap();
    let space = Space::new(&other, None, &[]).unwrap();
    assert!(!SurveyPart::begun(&space, &space.circuits().unwrap()).take_up(first.clone()));
    // Another guitar with as many circuits.
    let text = guitar_presets()[0].text.replace("628 mm", "648 mm");
    let other = Guitar::read(&Document::new("other.toml", text)).unwrap();
    let space = Space::new(&other, None, &[]).unwrap();
    let mut third = SurveyPart::begun(&space, &space.circuits().unwrap());
    assert_eq!(third.heard.len(), first.heard.len());
    assert!(!third.take_up(first));
}

#[test]
fn a_part_of_another_survey_is_passed_over_and_said_and_a_file_that_is_none_is_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let part = folder.path().join("drywire-survey.part");
    let another = "{\n  \"part_of_drywire_survey\": \"another\",\n  \"heard\": []\n}";
    std::fs::write(&part, Form::Json.marked(another)).unwrap();
    let told = String::from_utf8(succeeds(folder.path(), &["survey", "--quiet"]).stderr).unwrap();
    assert!(told.contains("is of another survey, and is replaced"), "{told}");
    assert!(!part.exists());
    for text in ["a diary", another] {
        std::fs::write(&part, text).unwrap();
        let output = drywire(folder.path(), &["survey", "--quiet"]);
        let told = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2));
        assert!(told.contains("it is no part of a survey") && told.contains("hint: move it away"), "{told}");
        assert_eq!(std::fs::read_to_string(&part).unwrap(), text);
    }
}

#[test]
fn too_many_combinations_are_refused_with_the_limit() {
    let folder = tempfile::tempdir().unwrap();
    let selector = |name: &str, table: &str, lug: &str| {
        format!("[[selector]]\nname = \"{name}\"\ntable = \"{table}\"\njoints = [[\"p\", \"{lug}\"]]\n")
    };
    let more = [selector("a", "five-way-blade", "A1"), selector("b", "five-way-blade", "A1")].concat();
    std::fs::write(folder.path().join("many.toml"), four_pickups(&more)).unwrap();
    let output = drywire(folder.path(), &["survey", "--guitar", "many.toml"]);
    let told = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{told}");
    assert!(
        told.contains("102400 combinations; allowed are up to 100000") && told.contains("hint: "),
        "{told}"
    );
    assert!(!folder.path().join("drywire-survey").exists());
    let none = drywire(folder.path(), &["survey", "--arrangements", "alone"]);
    let told = String::from_utf8(none.stderr).unwrap();
    assert_eq!(none.status.code(), Some(2));
    assert!(told.contains("has none of the arrangements alone; it has series"), "{told}");
}

/// The level of a guitar loudspeaker: a driver of 75 Hz, Q 0.6 and 60 l in a closed box of 40 l, a bell of 6 dB at 2.5 kHz (Q 1.2) and a Butterworth
/// low-pass of fourth order at 5 kHz, by the magnitudes of their closed forms.
fn loudspeaker(f: f64) -> f64 {
    let stiffer = (1.0f64 + 60.0 / 40.0).sqrt();
    let (x, y) = (f / (75.0 * stiffer), f / 2500.0);
    let closed_box = x.powi(4) / ((1.0 - x * x).powi(2) + (x / (0.6 * stiffer)).powi(2));
    let a = 10f64.powf(6.0 / 40.0);
    let bell =
        ((1.0 - y * y).powi(2) + (y * a / 1.2).powi(2)) / ((1.0 - y * y).powi(2) + (y / (a * 1.2)).powi(2));
    let fall = 1.0 / (1.0 + (f / 5000.0).powi(8));
    10.0 * (closed_box * bell * fall).log10()
}

/// The middle of the third octave at a place among those from 50 Hz to 10 kHz.
fn middle(place: usize) -> f64 {
    1000.0 * 10f64.powf((place as f64 - 13.0) / 10.0)
}

/// The distance between two spectra in third octaves from 50 Hz to 10 kHz, written down anew from its description.
fn distance(one: &Value, other: &Value) -> f64 {
    let levels = |of: &Value| -> Vec<f64> {
        let levels: Vec<f64> =
            of["third_octaves_db"].as_array().unwrap().iter().map(|l| l.as_f64().unwrap()).collect();
        let levels: Vec<f64> =
            levels.iter().enumerate().map(|(place, level)| level + loudspeaker(middle(place))).collect();
        let highest = levels.iter().copied().fold(f64::MIN, f64::max);
        levels.iter().map(|level| level.max(highest - 40.0)).collect()
    };
    let (a, b) = (levels(one), levels(other));
    assert_eq!(a.len(), 24);
    let ears_filters: Vec<f64> = (0..24)
        .map(|i| {
            let f = middle(i);
            (f * 10f64.powf(0.05) - f / 10f64.powf(0.05)) / (24.7 * (0.00437 * f + 1.0))
        })
        .collect();
    let all: f64 = ears_filters.iter().sum();
    // The level match that makes it least, by trying.
    let off = |gain: f64| -> f64 {
        let squares = a.iter().zip(&b).zip(&ears_filters).map(|((a, b), w)| w * (a - b - gain).powi(2));
        (squares.sum::<f64>() / all).sqrt()
    };
    let (mut low, mut high) = (-100.0, 100.0);
    for _ in 0..100 {
        let (third, two_thirds) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
        if off(third) < off(two_thirds) {
            high = two_thirds;
        } else {
            low = third;
        }
    }
    off(low)
}

#[test]
fn every_combination_lies_near_one_that_is_kept_and_near_its_groups() {
    let folder = tempfile::tempdir().unwrap();
    let figures = surveyed(folder.path(), "out", &["--guitar", "set-neck", "--within", "2"]);
    let circuits = figures["circuits"].as_array().unwrap();
    let called = |name: &Value| circuits.iter().find(|c| c["name"] == *name).unwrap();
    let kept = texts(&figures["keep"]["positions"]);
    assert!(kept.len() > 3 && kept.len() < circuits.len(), "{kept:?}");
    for circuit in circuits {
        let off = distance(circuit, called(&circuit["nearest"]));
        assert!(
            off <= 2.0 + 1e-9 && (off - circuit["nearest_db"].as_f64().unwrap()).abs() < 1e-6,
            "{circuit}"
        );
        assert!(kept.contains(&circuit["nearest"].as_str().unwrap()));
        assert!(distance(circuit, called(&circuit["group"])) <= 1.0 + 1e-9, "{circuit}");
        let nearest = kept.iter().map(|name| distance(circuit, called(&Value::from(*name))));
        assert!((nearest.fold(f64::MAX, f64::min) - off).abs() < 1e-6, "{circuit}");
    }
    let at_least = usize::try_from(figures["keep"]["at_least"].as_u64().unwrap()).unwrap();
    assert!(
        at_least <= kept.len() && (at_least == kept.len()) == figures["keep"]["is_fewest"].as_bool().unwrap()
    );
}

/// Where on the strings a pickup lies is heard more than how its coils are joined, as any player would say.
#[test]
fn bridge_and_neck_lie_further_apart_than_series_and_parallel() {
    let folder = tempfile::tempdir().unwrap();
    let figures = surveyed(folder.path(), "out", &["--guitar", GUITAR, "--arrangements", "series,parallel"]);
    let circuits = figures["circuits"].as_array().unwrap();
    let titled = |title: &str| circuits.iter().find(|circuit| circuit["title"] == title).unwrap();
    let places = distance(titled("bridge alone"), titled("neck alone"));
    for pickup in ["bridge", "middle", "neck"] {
        let parallel = titled(&format!("{pickup} alone, coils in parallel"));
        let joined = distance(titled(&format!("{pickup} alone")), parallel);
        assert!(places > joined + 0.5, "{places} dB between the pickups, {joined} dB between the {pickup}'s");
    }
}

#[test]
fn the_levels_of_a_survey_are_those_of_the_rendered_sound() {
    let folder = tempfile::tempdir().unwrap();
    let figures = surveyed(
        folder.path(),
        "out",
        &[
            "--guitar",
            GUITAR,
            "--hear",
            "--arrangements",
            "series,split-a,parallel-reversed",
            "--baseline",
            "selector:1",
        ],
    );
    let set = std::fs::read_to_string(folder.path().join("out/heard/figures.json")).unwrap();
    let set: Value = serde_json::from_str(&set).unwrap();
    let heard = set["arrangements"].as_array().unwrap();
    let names: Vec<&str> = heard.iter().map(|a| a["name"].as_str().unwrap()).collect();
    assert_eq!(names, texts(&figures["keep"]["positions"]));
    assert!(heard.len() > 4, "{names:?}");
    let circuits = figures["circuits"].as_array().unwrap();
    let level =
        |name: &Value| circuits.iter().find(|c| c["name"] == *name).unwrap()["level_db"].as_f64().unwrap();
    for arrangement in heard {
        let file = folder.path().join("out/heard").join(arrangement["as_is"]["file"].as_str().unwrap());
        assert!(file.is_file());
        let own = level(&arrangement["name"]) - level(&heard[0]["name"]);
        let drop = arrangement["drop_rms_db"].as_f64().unwrap();
        assert!((own - drop).abs() < 0.1, "{}: {own} dB, rendered {drop} dB", arrangement["name"]);
    }
}

#[test]
fn a_guitar_that_does_not_say_how_its_pickups_are_joined_is_surveyed_pickup_by_pickup() {
    let folder = tempfile::tempdir().unwrap();
    let guitar =
        std::fs::read_to_string(crate::common::program::repository("presets/guitars/set-neck.toml")).unwrap();
    let (before, rest) = guitar.split_once("[[selector]]").unwrap();
    let (_, after) = rest.split_once("[controls]").unwrap();
    std::fs::write(folder.path().join("apart.toml"), format!("{before}[controls]{after}")).unwrap();
    let figures = surveyed(folder.path(), "out", &["--guitar", "apart.toml"]);
    assert_eq!(figures["combinations"], 16);
    assert_eq!(figures["circuits"][8]["name"], "neck=series");
    // The neck pickup lies where the strings swing wider.
    assert!(figures["circuits"][8]["level_db"].as_f64().unwrap() > 3.0);
    let alone = surveyed(folder.path(), "one", &["--guitar", "apart.toml", "--pickup", "neck"]);
    assert_eq!(alone["combinations"], 8);
    assert_eq!(alone["circuits"][0]["name"], "series");
    let output = drywire(folder.path(), &["survey", "--guitar", "apart.toml", "--hear"]);
    assert_eq!(output.status.code(), Some(2));
}

#[test]
fn throws_of_a_soldered_switch_are_combinations_unless_arrangements_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let guitar =
        std::fs::read_to_string(crate::common::program::repository("presets/guitars/set-neck.toml")).unwrap();
    let switch = "[[switch]]\nname = \"mode\"\non = \"bridge\"\ntable = \"on-on\"\njoints = [[\"a+\", \"hot\", \"L3\"], \
                  [\"a-\", \"L1\", \"R2\"], [\"b+\", \"L2\"], [\"b-\", \"ground\", \"R3\"]]\n";
    std::fs::write(folder.path().join("mine.toml"), guitar + switch).unwrap();
    let throws = surveyed(folder.path(), "out", &["--guitar", "mine.toml"]);
    // Two throws of the bridge's switch, eight ways for the neck, three throws of the selector.
    assert_eq!(throws["combinations"], 2 * 8 * 3);
    assert_eq!(throws["circuits"][0]["name"], "selector:1+mode:1");
    let named =
        surveyed(folder.path(), "out", &["--guitar", "mine.toml", "--arrangements", "series,parallel"]);
    assert_eq!(named["combinations"], 2 * 2 * 3);
}

/// What the guitar alone decides: hum, phase and the jack's ohms of a position are `figures`' own; the K-weighted level is
/// nearer to the rendered sound's loudness than the unweighted; each row and the table of what is kept say the same.
#[test]
fn what_is_told_of_a_circuit_is_what_other_commands_tell() {
    let folder = tempfile::tempdir().unwrap();
    let named = ["--guitar", "set-neck", "--arrangements", "series,split-a,series-reversed"];
    let figures = surveyed(folder.path(), "out", &[&named[..], &["--hear", "--within", "1"]].concat());
    let circuits = figures["circuits"].as_array().unwrap();
    let names: Vec<&str> = circuits.iter().map(|c| c["name"].as_str().unwrap()).collect();
    let asked = ["figures", "--json", "--guitar", "set-neck", "--arrangements", &names.join(",")];
    let told: Value = serde_json::from_slice(&succeeds(folder.path(), &asked).stdout).unwrap();
    let mut against = 0;
    for (own, told) in circuits.iter().zip(told["arrangements"].as_array().unwrap()) {
        assert_eq!(own["in_phase"], told["in_phase"], "{own}");
        against += usize::from(own["in_phase"] == false);
        for field in ["hum_db", "dc_at_jack_ohm", "resonance_hz", "q"] {
            match (own[field].as_f64(), told[field].as_f64()) {
                (None, None) => {}
                (Some(own), Some(told)) => {
                    assert!((own / told - 1.0).abs() < 1e-6, "{field}: {own} for {told}");
                }
                _ => panic!("{field}: {own} {told}"),
            }
        }
    }
    assert!(against > 3 && against < circuits.len(), "{against}");

    let set = std::fs::read_to_string(folder.path().join("out/heard/figures.json")).unwrap();
    let set: Value = serde_json::from_str(&set).unwrap();
    let heard = set["arrangements"].as_array().unwrap();
    let of = |name: &Value, field: &str| {
        circuits.iter().find(|c| c["name"] == *name).unwrap()[field].as_f64().unwrap()
    };
    let (mut weighted, mut plain) = (0.0, 0.0);
    for own in &heard[1..] {
        let loudness = own["drop_loudness_lu"].as_f64().unwrap();
        let off = |field: &str| of(&own["name"], field) - of(&heard[0]["name"], field) - loudness;
        weighted += off("loudness_lu").powi(2);
        plain += off("level_db").powi(2);
    }
    assert!(heard.len() > 3 && weighted < 0.5 * plain, "{weighted} and {plain}");

    let rows = std::fs::read_to_string(folder.path().join("out/survey.csv")).unwrap();
    let mut rows = csv::Reader::from_reader(rows.as_bytes());
    let heading = rows.headers().unwrap().clone();
    for row in rows.records() {
        let cells = row.unwrap();
        let own = circuits.iter().find(|c| texts(&c["combinations"]).contains(&&cells[0])).unwrap();
        for (field, cell) in heading.iter().zip(&cells).skip(2) {
            let told = match &own[field] {
                Value::Null => String::new(),
                Value::String(text) => text.clone(),
                other => other.to_string(),
            };
            let same = told == cell || told.parse::<f64>().is_ok_and(|told| cell.parse() == Ok(told));
            assert!(same, "{field}: {cell} for {told}");
        }
    }

    let mut survey: SurveyFigures = serde_json::from_value(figures.clone()).unwrap();
    let tables = [true, false].map(|in_phase| survey.kept_table(in_phase).unwrap());
    let stand_for: Vec<usize> = tables
        .iter()
        .flat_map(drywire::report::TextTable::rows)
        .filter_map(|row| row.last()?.parse().ok())
        .collect();
    assert_eq!(stand_for.len(), survey.keep.positions.len());
    assert_eq!(stand_for.iter().sum::<usize>(), survey.combinations);
    (survey.keep.is_fewest, survey.keep.at_least) = (true, 5);
    assert!(survey.verdict().contains("(no smaller set will do)"), "{}", survey.verdict());
    survey.keep.is_fewest = false;
    assert!(survey.verdict().contains("no set of fewer than 5 will do"), "{}", survey.verdict());
}

#[test]
fn a_coils_output_counts_a_pickup_of_one_coil_has_its_one_way_and_silence_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let file = |output: f64| {
        format!(
            "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\"\ncoupling = 0.0\n[pickup.coil_b]\noutput = {output}\n\
             [[pickup]]\nname = \"neck\"\nlike = \"soapbar\"\nfrom_bridge = \"150 mm\"\n\
             [[selector]]\nname = \"a\"\ntable = \"on-off\"\njoints = [[\"bridge\", \"1\"], [\"out\", \"2\"]]\n\
             [[selector]]\nname = \"b\"\ntable = \"on-off\"\njoints = [[\"neck\", \"1\"], [\"out\", \"2\"]]\n"
        )
    };
    let surveyed = |output: f64| {
        std::fs::write(folder.path().join("two.toml"), file(output)).unwrap();
        let asked = [
            "--guitar",
            "two.toml",
            "--arrangements",
            "split-a,split-b",
            "--baseline",
            "a:2+b:1+bridge=split-a",
        ];
        surveyed(folder.path(), &format!("out-{output}"), &asked)
    };
    let (once, twice) = (surveyed(1.0), surveyed(2.0));
    // Two ways for the bridge, one for the neck, two throws of either selector.
    assert_eq!(once["combinations"], 8);
    let level = |figures: &Value| {
        let circuits = figures["circuits"].as_array().unwrap().clone();
        let own = circuits.iter().find(|c| c["name"] == "a:2+b:1+bridge=split-b").unwrap().clone();
        own["level_db"].as_f64().unwrap()
    };
    let rise = level(&twice) - level(&once);
    assert!((rise - 20.0 * 2f64.log10()).abs() < 1e-6, "{rise}");
    let notes = texts(&once["notes"]).join("\n");
    assert!(notes.contains("1 of the circuits") && notes.contains("silent"), "{notes}");
}

#[test]
fn names_from_a_file_stay_text_on_the_page() {
    let folder = tempfile::tempdir().unwrap();
    let guitar =
        std::fs::read_to_string(crate::common::program::repository("presets/guitars/set-neck.toml")).unwrap();
    let named =
        guitar.replace("Set-neck guitar, two full-size humbuckers", "</script><img src=x onerror=alert(1)>");
    assert_ne!(named, guitar);
    std::fs::write(folder.path().join("odd.toml"), named).unwrap();
    surveyed(folder.path(), "out", &["--guitar", "odd.toml", "--arrangements", "series,parallel"]);
    let page = std::fs::read_to_string(folder.path().join("out/survey.html")).unwrap();
    assert!(!page.contains("<img src=x") && page.contains("&lt;/script&gt;&lt;img src=x"));
    assert_eq!(page.matches("</script>").count(), 2);
    assert!(page.contains("default-src 'none'; script-src 'sha256-"));
}
