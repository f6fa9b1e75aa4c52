//! `measure`: the signal that it writes, and what it tells of recordings and readings.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "frames of recordings, which are few and not negative"
)]

use hound::WavReader;
use serde_json::Value;

use crate::common::decks::simulator_is_installed;
use crate::common::program::{drywire, succeeds};
use crate::common::takes::{Recorder, SteelCoil};

#[test]
fn a_signal_is_written_with_what_is_connected_when() {
    let folder = tempfile::tempdir().unwrap();
    let told = succeeds(folder.path(), &["measure", "--signal", "sweep.wav", "--rate", "44.1k", "--json"]);
    let json: Value = serde_json::from_slice(&told.stdout).unwrap();
    let sections = json["sections"].as_array().unwrap();
    let devices: Vec<&str> = sections.iter().map(|section| section["device"].as_str().unwrap()).collect();
    assert_eq!(devices, ["open", "known", "guitar"]);
    let mut wave = WavReader::open(folder.path().join("sweep.wav")).unwrap();
    let spec = wave.spec();
    assert_eq!((spec.sample_rate, spec.channels, spec.bits_per_sample), (44_100, 1, 24));
    let samples: Vec<i32> = wave.samples::<i32>().map(Result::unwrap).collect();
    assert!((samples.len() as f64 / 44_100.0 - json["duration_s"].as_f64().unwrap()).abs() < 1e-3);
    let at = |seconds: f64| (seconds * 44_100.0) as usize;
    let loudest = |part: &[i32]| part.iter().map(|x| x.abs()).max().unwrap();
    let mut before = 0.0;
    for section in sections {
        let [from, to] = ["from_s", "to_s"].map(|key| section[key].as_f64().unwrap());
        assert!(loudest(&samples[at(before)..at(from)]) <= 2, "silent before {from}");
        let peak = f64::from(loudest(&samples[at(from)..at(to)])) / f64::from(1 << 23);
        assert!((0.49..=0.5001).contains(&peak), "{peak}");
        before = to;
    }
}

#[test]
fn a_signal_replaces_its_own_file_and_no_other() {
    let folder = tempfile::tempdir().unwrap();
    let write = ["measure", "--signal", "sweep.wav"];
    let told = succeeds(folder.path(), &write);
    let words = String::from_utf8(told.stdout).unwrap();
    assert!(words.contains("headphones") && words.contains("known resistor"), "{words}");
    let first = std::fs::read(folder.path().join("sweep.wav")).unwrap();
    succeeds(folder.path(), &write);
    assert_eq!(std::fs::read(folder.path().join("sweep.wav")).unwrap(), first, "the same bytes each time");
    let mut changed = first.clone();
    changed[1000] ^= 1;
    std::fs::write(folder.path().join("sweep.wav"), &changed).unwrap();
    let refused = drywire(folder.path(), &write);
    assert_eq!(refused.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&refused.stderr).contains("--replace"));
    assert_eq!(std::fs::read(folder.path().join("sweep.wav")).unwrap(), changed);
    succeeds(folder.path(), &[&write[..], &["--replace"]].concat());
    for (given, told) in [(["sweep.txt", "48k"], ".wav"), (["x.wav", "22050"], "44100 to 192000")] {
        let refused = drywire(folder.path(), &["measure", "--signal", given[0], "--rate", given[1]]);
        assert_eq!(refused.status.code(), Some(2));
        let words = String::from_utf8_lossy(&refused.stderr).into_owned();
        assert!(words.contains(told), "{words}");
    }
}

const GUITAR: &str = "format = 1 # mine\n[[pickup]]\nname = \"bridge\"\nlike = \"single-coil\" # as bought\n\
    [controls]\nvolume = { pot = \"250k\" }\n[cable]\ntotal = \"360p\"\n";

fn written(folder: &std::path::Path, name: &str, samples: &[f64], rate: u32) {
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: rate,
        bits_per_sample: 24,
        sample_format: hound::SampleFormat::Int,
    };
    let mut writer = hound::WavWriter::create(folder.join(name), spec).unwrap();
    for sample in samples {
        writer.write_sample((sample * f64::from(1 << 23)).round() as i32).unwrap();
    }
    writer.finalize().unwrap();
}

fn answered(folder: &std::path::Path, arguments: &[&str], code: i32) -> Value {
    let output = drywire(folder, &[&["measure"], arguments, &["--json"]].concat());
    assert_eq!(
        output.status.code(),
        Some(code),
        "{arguments:?}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    serde_json::from_slice(&output.stdout).unwrap()
}

#[test]
fn a_recording_tells_the_coil_and_goes_into_the_guitars_file() {
    if !simulator_is_installed() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let coil = SteelCoil {
        ohms: 6100.0,
        henries: 2.5,
        farads: 115e-12,
        loss: 800e3,
        core: [0.0, 1e3],
        cover: [0.0, 1e4],
    };
    let recorder = Recorder::default();
    let take = recorder.record(folder.path(), &coil.deck("a", ["x", "0"], 0.0));
    written(folder.path(), "take.wav", &take, recorder.rate);
    std::fs::write(folder.path().join("mine.toml"), GUITAR).unwrap();
    let line = ["take.wav", "--known", "10k 1%", "--at", "leads", "--ohms", "6.1k", "--guitar", "mine.toml"];
    let json = answered(folder.path(), &[&line[..], &["--series", "100k"]].concat(), 0);
    assert_eq!(json["verdict"], "measured");
    let own = &json["coils"][0];
    assert_eq!((own["name"].as_str(), json["health"][0].as_str()), (Some("coil_a"), Some("healthy")));
    let near = |value: &Value, truth: f64, share: f64| {
        let value = value.as_f64().unwrap();
        assert!((value / truth - 1.0).abs() < share, "{value} for {truth}\n{json:#}");
    };
    for (field, truth, share) in [
        ("resistance_ohm", 6100.0, 0.01),
        ("inductance_h", 2.5, 0.015),
        ("inductance_1khz_h", 2.5, 0.015),
        ("capacitance_f", 115e-12, 0.03),
        ("loss_ohm", 800e3, 0.06),
    ] {
        near(&own[field], truth, share);
        let deviation = own[format!("{field}_sd")].as_f64().unwrap() / truth;
        assert!((0.001..0.05).contains(&deviation), "{field}: {deviation}");
    }
    assert_eq!(
        (&own["eddy_share"], &own["eddy_corner_hz"], &json["coupling"]),
        (&0.0.into(), &Value::Null, &Value::Null)
    );
    near(&json["source_and_input_ohm"], 1e6 / 11.0, 0.005);
    near(&json["input_ohm"], 1e6, 0.05);
    near(&json["cable_f"], 400e-12, 0.02);
    assert!(json["misfit_db"]["rms"].as_f64().unwrap() < 0.05);

    // A resistor in series that cannot be is told; the coil's values do not go by it.
    let json = answered(folder.path(), &[&line[..], &["--series", "10k"]].concat(), 0);
    assert_eq!(json["input_ohm"], Value::Null);
    near(&json["coils"][0]["inductance_h"], 2.5, 0.015);
    let note = json["notes"][0].as_str().unwrap();
    assert!(note.contains("the resistor in series is not 10.0 kΩ") && note.contains("90.9 kΩ"), "{note}");
    let told = succeeds(folder.path(), &[&["measure"], &line[..], &["--series", "10k"]].concat());
    let told = String::from_utf8(told.stdout).unwrap().split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("in series is not 10.0 kΩ"), "{told}");

    // Nothing is written before it is asked for, and then only the coil's values.
    assert_eq!(std::fs::read_to_string(folder.path().join("mine.toml")).unwrap(), GUITAR);
    let told = succeeds(folder.path(), &[&["measure"], &line[..], &["--save"]].concat());
    let words = String::from_utf8(told.stdout).unwrap();
    assert!(
        words.contains("inductance at 1 kHz") && words.contains("peak now") && words.contains("healthy"),
        "{words}"
    );
    let saved = std::fs::read_to_string(folder.path().join("mine.toml")).unwrap();
    for line in GUITAR.lines() {
        assert!(saved.contains(line), "{saved}");
    }
    assert!(saved.contains("measured") && saved.contains("with = \"alone\""), "{saved}");
    let figures = succeeds(folder.path(), &["figures", "--guitar", "mine.toml", "--json"]);
    let figures: Value = serde_json::from_slice(&figures.stdout).unwrap();
    assert!(figures["measured"][0].as_str().unwrap().contains("inductance"), "{figures:#}");
    let again = answered(folder.path(), &line, 0);
    let first = answered(folder.path(), &line, 0);
    assert_eq!(again, first, "the same answer each time");

    let wrong = answered(folder.path(), &["take.wav", "--known", "12k 1%", "--ohms", "6.1k"], 1);
    assert_eq!(
        (wrong["verdict"].as_str(), wrong["coils"].as_array().unwrap().len()),
        (Some("wrong resistor"), 0)
    );
    written(folder.path(), "short.wav", &take[..take.len() / 3], recorder.rate);
    let short = answered(folder.path(), &["short.wav", "--known", "10k 1%"], 1);
    assert_eq!(short["verdict"], "not this signal");
    let unsaved = drywire(
        folder.path(),
        &["measure", "short.wav", "--known", "10k", "--guitar", "mine.toml", "--save"],
    );
    assert_eq!(unsaved.status.code(), Some(1));
    assert_eq!(std::fs::read_to_string(folder.path().join("mine.toml")).unwrap(), saved);
}

#[test]
fn readings_of_other_meters_change_only_what_they_tell() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("mine.toml"), GUITAR).unwrap();
    let json = answered(folder.path(), &["--lcr", "2.2H@1kHz", "--coil", "a", "--guitar", "mine.toml"], 0);
    let own = &json["coils"][0];
    let inductance = own["inductance_h"].as_f64().unwrap();
    assert!((inductance / 2.2 - 1.0).abs() < 0.02, "{json:#}");
    assert_eq!(
        (&own["capacitance_f"], &own["loss_ohm"], &json["misfit_db"]),
        (&Value::Null, &Value::Null, &Value::Null)
    );
    // 2.4 H and 100 pF resonate with 470 pF at 4.3 kHz and with 1 nF at 3.1 kHz.
    let at = |farads: f64| 1.0 / (std::f64::consts::TAU * (2.4 * (100e-12 + farads)).sqrt());
    let peaks =
        format!("{:.0} with 470p, {:.0} with 1n, {:.0} with 220p", at(470e-12), at(1e-9), at(220e-12));
    let json = answered(
        folder.path(),
        &["--resonance", &peaks, "--guitar", "mine.toml", "--at", "leads", "--save"],
        0,
    );
    let own = &json["coils"][0];
    let [l, c] = ["inductance_h", "capacitance_f"].map(|field| own[field].as_f64().unwrap());
    assert!((l / 2.4 - 1.0).abs() < 0.03 && (c / 100e-12 - 1.0).abs() < 0.15, "{l} {c}");
    let saved = std::fs::read_to_string(folder.path().join("mine.toml")).unwrap();
    assert!(saved.contains("inductance") && !saved.contains("loss"), "{saved}");
    let row = |i: i32| {
        let hz = 150.0 * 100f64.powf(f64::from(i) / 79.0);
        let s = num_complex::Complex64::new(0.0, std::f64::consts::TAU * hz);
        let wound = 6000.0 + 1.0 / (1.0 / (s * 2.5) + 1.0 / 900e3);
        let whole = 1.0 / (1.0 / wound + s * 120e-12);
        format!("{hz},{},{}", whole.norm(), whole.arg().to_degrees())
    };
    let rows = (0..80).map(row).collect::<Vec<_>>().join("\n");
    std::fs::write(
        folder.path().join("curve.csv"),
        format!("frequency_hz,magnitude_ohm,phase_deg\n{rows}\n"),
    )
    .unwrap();
    let json = answered(folder.path(), &["--impedance", "curve.csv", "--ohms", "6k"], 0);
    let own = &json["coils"][0];
    for (field, truth) in [("inductance_h", 2.5), ("capacitance_f", 120e-12), ("loss_ohm", 900e3)] {
        assert!((own[field].as_f64().unwrap() / truth - 1.0).abs() < 0.02, "{json:#}");
    }
    assert_eq!(json["source_and_input_ohm"], Value::Null);
    // As a spreadsheet writes it: semicolons, decimal commas, UTF-16.
    let table = format!("frequency_hz,magnitude_ohm,phase_deg\n{rows}\n").replace(',', ";").replace('.', ",");
    let bytes: Vec<u8> = format!("\u{feff}{table}").encode_utf16().flat_map(u16::to_le_bytes).collect();
    std::fs::write(folder.path().join("spreadsheet.csv"), bytes).unwrap();
    let same = answered(folder.path(), &["--impedance", "spreadsheet.csv", "--ohms", "6k"], 0);
    assert_eq!(same["coils"], json["coils"]);
    // What an instrument measured is not told as a recording is.
    let unchecked = answered(folder.path(), &["--impedance", "curve.csv"], 0).to_string();
    assert!(unchecked.contains("the instrument's scale is not checked"), "{unchecked}");
    let capacitor = |i: i32| {
        let hz = 150.0 * 100f64.powf(f64::from(i) / 79.0);
        format!("{hz},{},-90\n", 1e9 / hz / (1.0 + hz / 500.0))
    };
    let capacitor: String = (0..80).map(capacitor).collect();
    std::fs::write(
        folder.path().join("not.csv"),
        format!("frequency_hz,magnitude_ohm,phase_deg\n{capacitor}"),
    )
    .unwrap();
    for (arguments, verdict, words) in [
        (
            ["--impedance", "curve.csv", "--ohms", "9k"],
            "wrong resistor",
            "wrong scale: by the table the coils have",
        ),
        (["--impedance", "not.csv", "--ohms", "6k"], "open", "open: "),
    ] {
        assert_eq!(answered(folder.path(), &arguments, 1)["verdict"], verdict);
        let refused = drywire(folder.path(), &[&["measure"], &arguments[..]].concat());
        let told = String::from_utf8(refused.stdout).unwrap();
        assert!(
            told.starts_with(words) && !told.contains("record") && !told.contains("known resistor"),
            "{told}"
        );
    }
    // The picture has each point twice on either sheet: as it was measured, and what the circuit leaves of it.
    let line = ["--impedance", "curve.csv", "--ohms", "6k", "--picture", "fit.svg"];
    answered(folder.path(), &line, 0);
    let text = std::fs::read_to_string(folder.path().join("fit.svg")).unwrap();
    let picture = roxmltree::Document::parse(&text).unwrap();
    let circles = picture.descendants().filter(|node| node.has_tag_name("circle")).count();
    assert!(circles >= 4 * 60 && text.contains("What the circuit leaves"), "{circles}");
    answered(folder.path(), &line, 0);
    std::fs::write(folder.path().join("fit.svg"), "mine").unwrap();
    let kept = drywire(folder.path(), &[&["measure"], &line[..]].concat());
    assert_eq!(kept.status.code(), Some(2));
    assert_eq!(std::fs::read_to_string(folder.path().join("fit.svg")).unwrap(), "mine");
}

#[test]
fn the_volumes_track_is_told_by_where_the_jack_reads_most() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("mine.toml"), GUITAR).unwrap();
    // 6 kΩ, 2.5 H, 120 pF and 900 kΩ of loss behind a volume of 500 kΩ, where the file has 250 kΩ.
    let row = |i: i32| {
        let hz = 150.0 * 100f64.powf(f64::from(i) / 79.0);
        let s = num_complex::Complex64::new(0.0, std::f64::consts::TAU * hz);
        let wound = 6000.0 + 1.0 / (1.0 / (s * 2.5) + 1.0 / 900e3);
        let whole = 1.0 / (1.0 / wound + s * 120e-12 + 1.0 / 500e3);
        format!("{hz},{},{}", whole.norm(), whole.arg().to_degrees())
    };
    let rows = (0..80).map(row).collect::<Vec<_>>().join("\n");
    let rows = format!("frequency_hz,magnitude_ohm,phase_deg\n{rows}\n");
    std::fs::write(folder.path().join("jack.csv"), rows).unwrap();
    let line = ["--impedance", "jack.csv", "--guitar", "mine.toml", "--ohms", "5.93k"];
    let of = |more: &[&str]| {
        let json = answered(folder.path(), &[&line[..], more].concat(), 0);
        json["coils"][0]["loss_ohm"].as_f64().unwrap() / 900e3 - 1.0
    };
    let told = of(&["--volume-reads", "126.5k", "--save"]);
    assert!(told.abs() < 0.06, "{told}");
    let saved = std::fs::read_to_string(folder.path().join("mine.toml")).unwrap();
    assert!(saved.contains("pot = \"500"), "{saved}");
    // Without it the file's own is taken, and the loss makes up for it.
    std::fs::write(folder.path().join("mine.toml"), GUITAR).unwrap();
    assert!(of(&[]) > 0.15);
    for (reads, told) in [("2k", "tells no track"), ("much", "--volume-reads")] {
        let output = drywire(folder.path(), &[&["measure"], &line[..], &["--volume-reads", reads]].concat());
        let words = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{words}");
        assert!(words.contains(told) && words.contains("--volume-reads"), "{words}");
    }
}

#[test]
fn what_cannot_be_measured_is_refused_with_what_can() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("mine.toml"), GUITAR).unwrap();
    std::fs::write(folder.path().join("x.wav"), "no sound").unwrap();
    let buffered = format!("{GUITAR}[buffer]\ninput = \"1M\"\noutput = \"1k\"\n");
    std::fs::write(folder.path().join("buffered.toml"), buffered).unwrap();
    for (arguments, told) in [
        (&[][..], "--signal"),
        (&["x.wav"], "--known"),
        (&["x.wav", "--known", "ten"], "10k 1%"),
        (&["x.wav", "--known", "10k 1%"], "x.wav"),
        (&["x.wav", "--known", "10k 1%", "--at", "jack"], "--guitar"),
        (&["x.wav", "--known", "10k 1%", "--at", "jack", "--coil", "a", "--guitar", "mine.toml"], "--coil"),
        (&["x.wav", "--known", "10k 1%", "--coil", "b", "--guitar", "mine.toml"], "one coil"),
        (&["x.wav", "--known", "10k 1%", "--guitar", "buffered.toml"], "buffer"),
        (&["x.wav", "--known", "10k 1%", "--guitar", "mine.toml", "--state", "mode:1"], "--state"),
        (&["--lcr", "2.2mH", "--guitar", "mine.toml", "--at", "leads"], "10 mH to 100 H"),
        (&["--resonance", "3k with 22n"], "2 nF"),
        (&["--impedance", "none.csv"], "none.csv"),
        (&["--lcr", "2.2H", "--save"], "--guitar"),
        (
            &["--lcr", "2.2H", "--at", "leads", "--guitar", "set-neck", "--save"],
            "presets copy set-neck mine.toml",
        ),
        (&["x.wav", "--known", "-10k"], "500 Ω to 200 kΩ"),
        (&["x.wav", "--known", "10k 1%", "--series", "-10k"], "1.00 kΩ to 10.0 MΩ"),
        (&["--lcr", "-1H"], "10 mH to 100 H"),
        (&["--lcr", "2.2H", "--ohms", "-5k"], "above 0 Ω"),
        (&["--lcr", "2.2H", "--ohms", "0"], "above 0 Ω"),
        (&["--resonance", "-3k with 470p"], "300 Hz to 30 kHz"),
        // 2 H and what is across them by the one reading resonate at half of what the other says, and the other way round.
        (&["--lcr", "2H", "--resonance", "3.1k with 470p", "--coil", "a"], "times the capacitance"),
        (
            &["--lcr", "9H", "--resonance", "6k with 470p, 4.6k with 1n", "--coil", "a"],
            "contradict each other",
        ),
        (&["--resonance", "6k with 100p, 5.9k with 2n", "--coil", "a"], "contradict each other"),
        (&["--lcr", "1.9H@1kHz", "--coil", "a", "--ohms", "3.9"], "3.90 Ω was read; coils like these"),
        (&["--lcr", "1.9H@1kHz", "--coil", "a", "--ohms", "390k"], "390 kΩ was read; coils like these"),
    ] {
        let refused = drywire(folder.path(), &[&["measure"], arguments].concat());
        let words = String::from_utf8_lossy(&refused.stderr).into_owned();
        assert_eq!(refused.status.code(), Some(2), "{arguments:?}: {words}");
        let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(words.contains(told) && !words.contains("tip:"), "{arguments:?}: {words}");
    }
    // Readings that go together tell both values.
    let hz = 1.0 / (std::f64::consts::TAU * (2.2 * (150e-12 + 470e-12_f64)).sqrt());
    let peak = format!("{hz} with 470p");
    let json = answered(folder.path(), &["--lcr", "2.2H", "--resonance", &peak, "--coil", "a"], 0);
    let own = &json["coils"][0];
    assert!((own["inductance_h"].as_f64().unwrap() / 2.2 - 1.0).abs() < 0.02, "{json:#}");
    assert!((80e-12..220e-12).contains(&own["capacitance_f"].as_f64().unwrap()), "{json:#}");
}
