//! P20. What is left of a drop behind the amplifier, on the guitar of `tests/data/amplifier-guitar.toml` and with every built-in
//! source; and P3, P4, P6, P7, P11 and P12 with an amplifier: the set is matched, does not clip, lines up, is what others measure on
//! it, is the same on every run, and is whole or not at all.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use crate::common::program::{
    Set, contents, drywire, loudness_lufs, rms_dbfs, succeeds, true_peak_dbtp, write_wav,
};
use drywire::amp::{Amplification, Cabinet, Drive, Setting};
use drywire::document::Document;
use drywire::guitar::Guitar;
use drywire::job::{Source, amplify, figures_of};
use drywire::pluck::built_in_sources;
use drywire::report::{ArrangementFigures, SetFigures};
use drywire::response::Selection;

/// Returns what is told of `source` through `voices` of a guitar behind the amplifier.
fn told(guitar: &Guitar, source: &str, voices: &[&str], setting: Setting) -> SetFigures {
    let selection = Selection::of_names(guitar, None, voices, None).unwrap();
    let mut figures = figures_of(&selection).unwrap();
    let source = Source::built_in(source).unwrap().unwrap();
    let asked = Amplification { drive: Drive::Set(setting), cabinet: Cabinet::Closed };
    amplify(&mut figures, &selection, &source, asked, 2).unwrap();
    figures
}

fn reference() -> Guitar {
    let text = std::fs::read_to_string("tests/data/amplifier-guitar.toml").unwrap();
    Guitar::read(&Document::new("amplifier-guitar.toml", text)).unwrap()
}

/// The change of loudness in LU and in percent of sones, parallel against series, that a computation apart from this program gave. The
/// loudness of the chord at the edge and driven is that of `tests/tools/amplify_apart.py`, at the level of the files.
const EXPECTED: [(&str, Setting, f64, f64); 9] = [
    ("open-chord", Setting::Edge, -5.21, -27.9),
    ("open-chord", Setting::Driven, -3.15, -20.6),
    ("open-chord", Setting::Hard, -1.45, -12.5),
    ("phrase", Setting::Edge, -5.30, -27.8),
    ("phrase", Setting::Driven, -3.17, -19.7),
    ("phrase", Setting::Hard, -1.61, -10.5),
    ("low-note", Setting::Edge, -5.06, -27.4),
    ("low-note", Setting::Driven, -3.32, -22.7),
    ("low-note", Setting::Hard, -1.70, -15.2),
];

#[test]
fn a10_what_is_left_of_the_drop_is_what_a_computation_apart_gave() {
    let guitar = reference();
    for (source, setting, loudness, heard) in EXPECTED {
        let figures = told(&guitar, source, &["series", "parallel"], setting);
        let parallel = &figures.arrangements[1];
        let (own, percent) = (parallel.drop_loudness_lu.unwrap(), parallel.drop_heard_percent.unwrap());
        println!("A10: {source}, {}: {own:.2} LU, {percent:.1} %", setting.name());
        assert!((percent - heard).abs() < 1.0, "{source}, {}: {percent} %", setting.name());
        assert!((own - loudness).abs() < 0.1, "{source}, {}: {own} LU", setting.name());
    }
}

/// What is told of one source at one setting: parallel against series at the jack and at the loudspeaker, in dB of RMS, LU and
/// percent; what is added to series and to parallel, in dB; and how much of series, parallel and split-a is broken up, in percent.
struct Told {
    jack: [f64; 3],
    loudspeaker: [f64; 3],
    added: [f64; 2],
    broken_up: [f64; 3],
}

impl Told {
    fn of(figures: &SetFigures) -> Self {
        let [series, parallel, split] = &figures.arrangements[..] else { panic!("three arrangements") };
        let behind = |of: &ArrangementFigures| of.amplified.clone().unwrap();
        let jack = behind(parallel).at_jack;
        let each = |values: [Option<f64>; 3]| values.map(Option::unwrap);
        Self {
            jack: each([jack.drop_rms_db, jack.drop_loudness_lu, jack.drop_heard_percent]),
            loudspeaker: each([parallel.drop_rms_db, parallel.drop_loudness_lu, parallel.drop_heard_percent]),
            added: [series, parallel].map(|of| behind(of).added_sound_db.unwrap()),
            broken_up: [series, parallel, split].map(|of| behind(of).broken_up_percent.unwrap()),
        }
    }
}

/// Returns the median of values with the least and the most of them.
fn median(values: impl Iterator<Item = f64>, digits: usize) -> String {
    let mut sorted: Vec<f64> = values.collect();
    sorted.sort_by(f64::total_cmp);
    let (middle, last) = (sorted[sorted.len() / 2], sorted.len() - 1);
    let told = format!("{middle:.digits$} ({:.digits$} to {:.digits$})", sorted[0], sorted[last]);
    told.replace('-', "−")
}

/// The table in the README is what this prints.
#[test]
fn a11_the_drop_shrinks_as_the_amplifier_is_driven_and_series_breaks_up_sooner() {
    let guitar = Guitar::built_in("set-neck").unwrap();
    let mut before: Vec<Told> = Vec::new();
    for setting in Setting::ALL {
        let told: Vec<Told> = built_in_sources()
            .iter()
            .map(|source| Told::of(&told(&guitar, source.name, &["series", "parallel", "split-a"], setting)))
            .collect();
        for (own, source) in told.iter().zip(built_in_sources()) {
            assert!(own.added[0] > own.added[1], "{}: {:?}", source.name, own.added);
        }
        for (own, milder) in told.iter().zip(&before) {
            assert!(own.loudspeaker[0] > milder.loudspeaker[0], "{}", setting.name());
            assert!(own.added[0] > milder.added[0] && own.added[1] > milder.added[1], "{}", setting.name());
        }
        let row = |at: fn(&Told) -> [f64; 3]| {
            let column = |place: usize, digits| median(told.iter().map(|own| at(own)[place]), digits);
            format!("{} | {} | {}", column(0, 1), column(1, 1), column(2, 0))
        };
        if before.is_empty() {
            println!("| none, at the jack | {} | – | – |", row(|own| own.jack));
        }
        let middle =
            |of: fn(&Told) -> f64| median(told.iter().map(of), 0).split(' ').next().unwrap().to_owned();
        println!(
            "| `{}` | {} | {} → {} | {} / {} / {} |",
            setting.name(),
            row(|own| own.loudspeaker),
            middle(|own| own.added[0]),
            middle(|own| own.added[1]),
            middle(|own| own.broken_up[0]),
            middle(|own| own.broken_up[1]),
            middle(|own| own.broken_up[2])
        );
        before = told;
    }
}

#[test]
fn a12_amplified_files_are_as_loud_as_linear_ones_matched_unclipped_and_as_long() {
    let folder = tempfile::tempdir().unwrap();
    for (source, setting) in [("open-chord", "driven"), ("phrase", "hard"), ("low-note", "clean")] {
        let linear = Set::without_page(folder.path(), &[source, "--amp", "off"]);
        let (planes, rate) = linear.read("as-is/series.wav");
        let (wanted, frames) = (loudness_lufs(&planes, rate), planes[0].len());
        let set = Set::without_page(folder.path(), &[source, "--amp", setting]);
        let mut matched = Vec::new();
        for arrangement in set.arrangements() {
            for kind in ["matched", "as_is"] {
                let (planes, rate) = set.read(arrangement[kind]["file"].as_str().unwrap());
                let peak = true_peak_dbtp(&planes, rate);
                assert!(peak <= -1.0, "{source}, {setting}: {}: {peak} dBTP", arrangement[kind]["file"]);
                assert_eq!(planes[0].len(), frames);
                let loudness = loudness_lufs(&planes, rate);
                let told = arrangement[kind]["loudness_lufs"].as_f64().unwrap();
                assert!((loudness - told).abs() < 0.1, "{told} is told and {loudness} measured");
                let rms = arrangement[kind]["rms_dbfs"].as_f64().unwrap();
                assert!((rms_dbfs(&planes) - rms).abs() < 0.1);
                if kind == "matched" {
                    matched.push(loudness);
                }
            }
        }
        let own = set.arrangements()[0]["as_is"]["loudness_lufs"].as_f64().unwrap();
        assert!((own - wanted).abs() < 0.05, "{source}, {setting}: {own} where {wanted} is wanted");
        let (low, high) = matched.iter().fold((f64::MAX, f64::MIN), |(l, h), x| (l.min(*x), h.max(*x)));
        assert!(high - low <= 0.05, "{source}, {setting}: {matched:?}");
    }
}

/// A burst of a low tone in one channel and of another in the other, with silence before and after.
fn burst() -> Vec<Vec<f64>> {
    let of = |hertz: f64| -> Vec<f64> {
        let at = |n: usize| std::f64::consts::TAU * hertz * n as f64 / 48_000.0;
        (0..48_000).map(|n| if (12_000..36_000).contains(&n) { 0.4 * at(n).sin() } else { 0.0 }).collect()
    };
    vec![of(200.0), of(330.0)]
}

#[test]
fn an_amplified_set_is_the_same_on_every_run_and_linear_files_do_not_change() {
    let folder = tempfile::tempdir().unwrap();
    let take = folder.path().join("take.wav");
    write_wav(&take, &burst(), 48_000);
    let take = take.to_str().unwrap();
    let run = |out: &str, more: &[&str]| {
        succeeds(folder.path(), &[&["hear", "--quiet", take, "--no-page", "--out", out], more].concat());
        contents(&folder.path().join(out))
    };
    let amplified = ["--amp", "driven", "--hum", "50", "--impulses"];
    let (one, other) = (run("one", &amplified), run("other", &amplified));
    assert!(one.len() > 14 && one == other);
    let linear = run("linear", &["--hum", "50", "--impulses"]);
    for (name, bytes) in linear.iter().filter(|(name, _)| name.starts_with("impulses/")) {
        assert!(one[name] == *bytes, "{name}: an impulse response is linear");
    }
    assert_eq!(linear, run("off", &["--hum", "50", "--impulses", "--amp", "off"]));
    let stated = run("stated", &["--jack", "200mV", "--clips-at", "50.2377mV", "--hum", "50", "--impulses"]);
    let names =
        |files: &std::collections::BTreeMap<String, Vec<u8>>| files.keys().cloned().collect::<Vec<_>>();
    assert_eq!(names(&one), names(&stated));
}

#[test]
fn an_amplified_set_lines_up_and_each_channel_has_an_amplifier_of_its_own() {
    let folder = tempfile::tempdir().unwrap();
    let take = folder.path().join("take.wav");
    write_wav(&take, &burst(), 48_000);
    let set = Set::without_page(folder.path(), &[take.to_str().unwrap(), "--amp", "driven"]);
    assert_eq!(set.figures["amplifier"]["setting"], "driven");
    assert_eq!(set.figures["amplifier"]["headroom_db"], -12.0);
    for arrangement in ["series", "parallel"] {
        let (planes, _) = set.read(&format!("as-is/{arrangement}.wav"));
        assert_eq!((planes.len(), planes[0].len()), (2, 48_000));
        for (plane, other) in planes.iter().zip([330.0, 200.0]) {
            // Nothing comes before the burst but what filters hold before time zero, and nothing is late.
            let power = |range: std::ops::Range<usize>| plane[range].iter().map(|x| x * x).sum::<f64>();
            assert!(power(0..11_900) < 1e-7 * power(12_000..36_000), "{arrangement}");
            assert!(power(12_000..12_240) > 1e-4 * power(12_000..36_000), "{arrangement}");
            let crossed = crate::common::amplified::line(&plane[14_400..33_600], other, 48_000);
            assert!(crossed < 2e-3, "{arrangement}: {crossed} of the other channel");
        }
    }
}

#[test]
fn a_run_through_the_amplifier_that_is_killed_leaves_one_set_or_the_other_whole() {
    let folder = tempfile::tempdir().unwrap();
    let (take, place) = (folder.path().join("take.wav"), tempfile::tempdir().unwrap());
    write_wav(&take, &burst(), 48_000);
    let take_bytes = std::fs::read(&take).unwrap();
    let run = |out: &std::path::Path, setting: &str| {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_drywire"));
        command.args(["hear", "--quiet", "--no-page", "--amp", setting]).arg(&take).arg("--out").arg(out);
        command.stdout(std::process::Stdio::null()).stderr(std::process::Stdio::null()).spawn().unwrap()
    };
    let whole = ["edge", "hard"].map(|setting| {
        let out = folder.path().join(setting);
        let began = std::time::Instant::now();
        assert!(run(&out, setting).wait().unwrap().success());
        (contents(&out), began.elapsed())
    });
    let out = place.path().join("set");
    assert!(run(&out, "edge").wait().unwrap().success());
    for (part, setting) in
        [0.1, 0.4, 0.7, 0.9, 0.97, 1.1].into_iter().zip(["hard", "edge"].into_iter().cycle())
    {
        let mut child = run(&out, setting);
        std::thread::sleep(whole[1].1.mul_f64(part));
        child.kill().unwrap();
        child.wait().unwrap();
        let found = contents(&out);
        assert!(whole.iter().any(|(set, _)| *set == found), "{part} of a run: {:?}", found.keys());
        assert_eq!(std::fs::read(&take).unwrap(), take_bytes);
    }
    assert!(run(&out, "hard").wait().unwrap().success());
    assert_eq!(contents(&out), whole[1].0);
    assert_eq!(place.path().read_dir().unwrap().count(), 1, "the next run removes what killed ones left");
}

#[test]
fn silence_is_driven_by_nothing_and_a_refusal_says_what_is_wanted() {
    let folder = tempfile::tempdir().unwrap();
    let take = folder.path().join("silence.wav");
    write_wav(&take, &[vec![0.0; 24_000]], 48_000);
    let set = Set::without_page(folder.path(), &[take.to_str().unwrap(), "--amp", "hard"]);
    assert!(set.figures["amplifier"]["loudest_50ms_dbfs"].is_null());
    for arrangement in set.arrangements() {
        let (planes, _) = set.read(arrangement["as_is"]["file"].as_str().unwrap());
        assert!(planes[0].iter().all(|x| *x == 0.0));
        assert!(arrangement["added_sound_db"].is_null() && arrangement["at_jack"].is_object());
    }
    for (given, wanted) in [
        (&["--amp", "loud"][..], "off, clean, edge, driven or hard"),
        (&["--amp", "-61"], "-60 to 60 dB"),
        (&["--amp", "edge", "--jack", "1", "--clips-at", "1"], "leave out --amp"),
        (&["--jack", "1V"], "--clips-at"),
        (&["--jack", "-1", "--clips-at", "1"], "above 0 V"),
        (&["--loudspeaker", "none"], "such as --amp edge"),
    ] {
        let output = drywire(folder.path(), &[&["hear", "--out", "refused"], given].concat());
        assert_eq!(output.status.code(), Some(2), "{given:?}");
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(said.contains(wanted), "{given:?}: {said}");
        assert!(!folder.path().join("refused").exists());
    }
}

#[test]
fn who_plays_or_compares_an_amplified_set_is_told_so() {
    let folder = tempfile::tempdir().unwrap();
    Set::without_page(folder.path(), &["low-note", "--amp", "driven"]);
    for command in
        [&["play", "set", "--device", "no such card"][..], &["blind", "set", "--device", "no such card"]]
    {
        let output = drywire(folder.path(), command);
        let said = String::from_utf8_lossy(&output.stderr).split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(
            said.contains("heard through a generic amplifier and its loudspeaker, driven"),
            "{command:?}: {said}"
        );
    }
}

#[test]
fn the_page_of_an_amplified_set_has_the_levels_of_both_and_tells_them_apart() {
    let folder = tempfile::tempdir().unwrap();
    let carried = |page: &str| -> serde_json::Value {
        let (_, after) = page.split_once("id=\"set\">").expect("the page carries its set");
        serde_json::from_str(after.split_once("</script>").unwrap().0).unwrap()
    };
    let gains = |set: &serde_json::Value,
                 of: fn(&serde_json::Value) -> &serde_json::Value|
     -> Vec<serde_json::Value> {
        let voices = set["voices"].as_array().unwrap();
        voices
            .iter()
            .map(|voice| serde_json::json!([of(voice)["true_db"], of(voice)["matched_db"]]))
            .collect()
    };
    let page = |more: &[&str]| {
        let voices = ["low-note", "--arrangements", "series,parallel", "--bits", "16"];
        Set::heard(folder.path(), &[&voices, more].concat());
        std::fs::read_to_string(folder.path().join("set/listen.html")).unwrap()
    };
    let (linear, amplified) = (carried(&page(&[])), carried(&page(&["--amp", "driven"])));
    assert_eq!(gains(&linear, |voice| voice), gains(&amplified, |voice| voice));
    assert!(linear["voices"][1]["behind"].is_null() && linear["amplifier"]["files"].is_null());
    assert_eq!(amplified["amplifier"]["files"], 2);
    assert_eq!(linear["amplifier"]["loudest"], amplified["amplifier"]["loudest"]);
    let figures = std::fs::read_to_string(folder.path().join("set/figures.json")).unwrap();
    let figures: serde_json::Value = serde_json::from_str(&figures).unwrap();
    let files: Vec<_> = figures["arrangements"]
        .as_array()
        .unwrap()
        .iter()
        .map(|own| serde_json::json!([own["as_is"]["gain_db"], own["matched"]["gain_db"]]))
        .collect();
    assert_eq!(gains(&amplified, |voice| &voice["behind"]), files);
    let told = |of: &serde_json::Value| of["answer"].as_str().unwrap().to_owned();
    assert!(told(&amplified["voices"][1]).starts_with("about a third less loud"));
    assert!(told(&amplified["voices"][1]["behind"]).starts_with("about a"));
    assert_ne!(told(&amplified["voices"][1]), told(&amplified["voices"][1]["behind"]));
}
