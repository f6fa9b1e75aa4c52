//! What is measured in the panel is what `measure` tells, and goes into the guitar's file byte for byte as it puts it there; what is
//! told beside it changes nothing of that file, and nobody else measures or reads anything.

#![allow(clippy::unwrap_used, reason = "a test stops where the panel is not as expected")]
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "samples and frames of the test lie within what they are stored as"
)]

use std::fs;
use std::path::Path;

use crate::common::panel::{Answer, Panel, Session, component, send, until};
use crate::common::program::succeeds;

const GUITAR: &str = "format = 1 # mine\nname = \"mine\"\n[[pickup]]\nname = \"bridge\"\nlike = \"single-coil\" # as bought\n\
    [controls]\nvolume = { pot = \"250k\" }\n[cable]\ntotal = \"360p\"\n";

fn started(folder: &Path) -> Panel {
    fs::create_dir_all(folder.join("mine")).unwrap();
    fs::write(folder.join("mine/guitar.toml"), GUITAR).unwrap();
    Panel::start(folder)
}

fn file(folder: &Path) -> String {
    fs::read_to_string(folder.join("mine/guitar.toml")).unwrap()
}

fn record(folder: &Path) -> String {
    fs::read_to_string(folder.join("mine/readings/measure.toml")).unwrap_or_default()
}

fn told(session: &Session, place: &str, value: &str) -> Answer {
    let answer = session.post("g/mine/measure/set", &[("place", place), ("value", value)]);
    assert_eq!(answer.status, 200, "{answer:?}");
    answer
}

fn sent(session: &Session, name: &str, bytes: &[u8]) -> Answer {
    posted(session, &format!("take?name={}", component(name)), bytes)
}

fn posted(session: &Session, path: &str, bytes: &[u8]) -> Answer {
    let headers = session.headers();
    let mut headers: Vec<(&str, &str)> =
        headers.iter().map(|(name, value)| (*name, value.as_str())).collect();
    headers.push(("Content-Type", "application/octet-stream"));
    send(session.address, "POST", &format!("{}g/mine/measure/{path}", session.base), &headers, bytes)
}

/// What lies among the recordings.
fn kept(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder.join("mine/measured")).into_iter().flatten().flatten();
    let mut names: Vec<String> = entries.map(|entry| entry.file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

/// Waits until values are worked out, and returns the page.
fn measured(session: &Session) -> String {
    let mut page = String::new();
    until("measured", || {
        page = session.get("g/mine/measure/").body;
        page.contains("Measured; ")
    });
    page
}

/// An impedance of 6 kΩ, 2.5 H, 120 pF and 900 kΩ of loss, as rows.
fn rows() -> String {
    let row = |i: i32| {
        let hz = 150.0 * 100f64.powf(f64::from(i) / 79.0);
        let s = num_complex::Complex64::new(0.0, std::f64::consts::TAU * hz);
        let wound = 6000.0 + 1.0 / (1.0 / (s * 2.5) + 1.0 / 900e3);
        let whole = 1.0 / (1.0 / wound + s * 120e-12);
        format!("{hz},{},{}", whole.norm(), whole.arg().to_degrees())
    };
    let rows: Vec<String> = (0..80).map(row).collect();
    format!("frequency_hz,magnitude_ohm,phase_deg\n{}\n", rows.join("\n"))
}

#[test]
fn a_table_and_readings_change_the_file_as_the_command_does() {
    let folder = tempfile::tempdir().unwrap();
    let panel = started(folder.path());
    let session = panel.enter();
    let by_command = folder.path().join("by-command.toml");
    let command = |arguments: &[&str]| {
        fs::write(&by_command, GUITAR).unwrap();
        let line = [&["measure", "--guitar", "by-command.toml", "--save"], arguments].concat();
        succeeds(folder.path(), &line);
        fs::read_to_string(&by_command).unwrap()
    };
    assert!(session.get("g/mine/measure/").body.contains("Nothing was measured so far"));
    assert_eq!(session.get("g/mine/measure/picture").status, 422);

    // A table, told by what the meter reads at the coil's leads.
    told(&session, "at", "a");
    let unclear = told(&session, "ohms", "6,0").body;
    assert!(unclear.contains("what does the meter say by 6,0?") && !record(folder.path()).contains("6,0"));
    told(&session, "ohms", "6k");
    let name = sent(&session, "Curve 1.CSV", rows().as_bytes());
    assert_eq!(name.status, 200, "{name:?}");
    assert!(name.body.starts_with("20") && name.body.ends_with("-curve-1.csv"), "{name:?}");
    assert_eq!(kept(folder.path()), [name.body.as_str()]);
    let page = measured(&session);
    assert!(page.contains("healthy") && page.contains("peak now"));
    let picture = session.get("g/mine/measure/picture");
    assert_eq!((picture.status, picture.header("content-type")), (200, Some("image/svg+xml")));
    assert!(picture.body.contains("What the circuit leaves"));
    // Until it is asked for, nothing of it is in the file.
    assert_eq!(file(folder.path()), GUITAR);
    assert!(session.post("g/mine/measure/put", &[]).body.contains("The values are in the guitar’s file"));
    let table = format!("mine/measured/{}", name.body);
    let wanted = command(&["--impedance", &table, "--coil", "a", "--ohms", "6k"]);
    until("saved", || file(folder.path()) == wanted);
    assert!(session.get("g/mine/").body.contains("measured, ± "));
    let again = session.post("g/mine/measure/put", &[]).body;
    assert!(again.contains("in the guitar’s file already"), "{again}");
    session.post("g/mine/measure/undo", &[]);
    until("undone", || file(folder.path()) == GUITAR);

    // Readings of other meters, at the jack.
    told(&session, "from", "readings");
    told(&session, "at", "");
    told(&session, "ohms", "");
    let refused = told(&session, "lcr", "much").body;
    assert!(refused.contains("1.9H@1kHz") && !record(folder.path()).contains("much"));
    told(&session, "lcr", "2.2H@1kHz");
    measured(&session);
    session.post("g/mine/measure/put", &[]);
    let wanted = command(&["--lcr", "2.2H@1kHz"]);
    until("saved", || file(folder.path()) == wanted);
    // What is told beside it stands in its own record.
    let record = record(folder.path());
    for line in ["from = \"readings\"", "lcr = \"2.2H@1kHz\"", "take = \"20"] {
        assert!(record.contains(line), "{record}");
    }
}

#[test]
fn what_tells_nothing_is_refused_in_words_and_leaves_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let panel = started(folder.path());
    let session = panel.enter();
    for (name, bytes) in [("letter.wav", "Dear luthier"), ("empty.wav", ""), ("none.csv", "f,z\n1,2\n")] {
        let refused = sent(&session, name, bytes.as_bytes());
        assert_eq!(refused.status, 422, "{name}: {refused:?}");
        assert!(refused.body.starts_with(&format!("`{name}` tells nothing: ")), "{refused:?}");
    }
    assert_eq!(kept(folder.path()), [""; 0]);
    let refused = told(&session, "volume", "1k").body;
    assert!(refused.contains("a measurement has no `volume`"), "{refused}");
    assert_eq!((record(folder.path()), file(folder.path()).as_str()), (String::new(), GUITAR));
    for (query, words) in [("rate=22050", "44100 to 192000"), ("rate=48000000", "44100 to 192000")] {
        for what in ["signal", "sweep.wav"] {
            let refused = session.get(&format!("g/mine/measure/{what}?{query}"));
            assert_eq!(refused.status, 422, "{what} {query}");
            assert!(refused.body.contains(words), "{refused:?}");
        }
    }
    // A recording goes by the name that is sent, of a path its last part, and the one that is named goes into the bin.
    let [first, second] =
        ["curve.csv", "of/the/bench/curve.csv"].map(|name| sent(&session, name, rows().as_bytes()).body);
    assert!(first.starts_with("20") && first.ends_with("-curve.csv"), "{first}");
    assert!(second.starts_with("20") && second.ends_with("-curve-2.csv"), "{second}");
    let page = session.get("g/mine/measure/").body;
    assert!(page.contains(&format!("name=\"name\" value=\"{second}\"")), "{page}");
    assert!(session.post("g/mine/measure/remove-take", &[("name", "")]).body.contains("there is no take"));
    session.post("g/mine/measure/remove-take", &[("name", &first)]);
    assert_eq!(kept(folder.path()), [second.as_str()]);
    assert!(record(folder.path()).contains(&second), "{}", record(folder.path()));
    session.post("g/mine/measure/remove-take", &[("name", &second)]);
    assert_eq!(kept(folder.path()), [""; 0]);
    assert!(!record(folder.path()).contains("\ntake"), "{}", record(folder.path()));
    fs::remove_dir_all(folder.path().join("mine/readings")).unwrap();
    // A record that a person has broken is said, and stays as it is.
    fs::create_dir_all(folder.path().join("mine/readings")).unwrap();
    fs::write(folder.path().join("mine/readings/measure.toml"), "knwon = 3\n").unwrap();
    assert!(session.get("g/mine/measure/").body.contains("knwon"));
    told(&session, "known", "10k");
    assert_eq!(record(folder.path()), "knwon = 3\n");
    // Without a guitar there is nothing to measure.
    fs::rename(folder.path().join("mine"), folder.path().join("other")).unwrap();
    assert_eq!(sent(&session, "curve.csv", rows().as_bytes()).status, 422);
    assert!(!folder.path().join("mine").exists());
}

#[test]
fn nobody_else_measures_and_no_recording_leads_out() {
    let folder = tempfile::tempdir().unwrap();
    let guitars = folder.path().join("guitars");
    let panel = started(&guitars);
    let session = panel.enter();
    let outside = folder.path().join("outside.csv");
    fs::write(&outside, rows()).unwrap();
    for name in ["../../outside.csv", "..", ".hidden.csv", "a/b\\c.csv"] {
        let answer = sent(&session, name, rows().as_bytes());
        assert!(answer.status == 200 || answer.status == 422, "{name}: {answer:?}");
    }
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2, "nothing beside the folder and the file");
    std::os::unix::fs::symlink(&outside, guitars.join("mine/measured/linked.csv")).unwrap();
    told(&session, "at", "a");
    for take in ["linked.csv", "../guitar.toml", "../../outside.csv"] {
        told(&session, "take", take);
        let page = session.get("g/mine/measure/").body;
        assert!(!page.contains("Measured; ") && !page.contains("worked out …"), "{take}");
    }
    let host = ("Host", panel.address.to_string());
    let cookie = ("Cookie", session.cookie.clone());
    let headers = |own: &[(&'static str, String)]| own.to_vec();
    let base = &session.base;
    let before = kept(&guitars);
    for (own, origin) in [
        (vec![host.clone()], None),
        (vec![host.clone(), cookie.clone()], Some("https://evil.example")),
        (vec![host.clone(), cookie.clone()], Some("null")),
    ] {
        let mut own = headers(&own);
        own.push(("Sec-Fetch-Site", if origin.is_some() { "cross-site" } else { "same-origin" }.to_owned()));
        own.extend(origin.map(|origin| ("Origin", origin.to_owned())));
        let own: Vec<(&str, &str)> = own.iter().map(|(name, value)| (*name, value.as_str())).collect();
        for (method, path) in [
            ("GET", "measure/"),
            ("GET", "measure/signal?rate=48000"),
            ("GET", "measure/picture"),
            ("POST", "measure/set"),
            ("POST", "measure/put"),
            ("POST", "measure/remove-take"),
            ("POST", "measure/take?name=theirs.csv"),
            ("POST", "measure/heard?run=a&rate=48000&channels=1&from=0&lasts=10"),
        ] {
            let path = format!("{base}g/mine/{path}");
            let answer = send(panel.address, method, &path, &own, rows().as_bytes());
            assert_eq!((answer.status, answer.body.as_str()), (403, ""), "{method} {path}");
        }
    }
    assert_eq!(kept(&guitars), before);
    // State is changed by no GET, and two GiB and more are refused before they are read.
    for path in
        ["set", "put", "take?name=x.csv", "remove-take", "heard?run=a&rate=48000&channels=1&from=0&lasts=10"]
    {
        assert_eq!(session.get(&format!("g/mine/measure/{path}")).status, 405, "{path}");
    }
    let own = session.headers();
    let mut own: Vec<(&str, &str)> = own.iter().map(|(name, value)| (*name, value.as_str())).collect();
    own.push(("Content-Type", "application/octet-stream"));
    own.push(("Content-Length", "2147483649"));
    let path = format!("{base}g/mine/measure/take?name=long.wav");
    assert_eq!(send(panel.address, "POST", &path, &own, b"RIFF").status, 413);
    assert_eq!(file(&guitars), GUITAR);
    let long = vec![0; (16 << 20) + 4];
    assert_eq!(posted(&session, "heard?run=a&rate=48000&channels=1&from=0&lasts=10", &long).status, 413);
}

#[test]
fn what_has_come_in_of_a_recording_is_drawn_and_told_and_nothing_of_it_is_kept() {
    const RATE: u32 = 44_100;
    let folder = tempfile::tempdir().unwrap();
    let panel = started(folder.path());
    let session = panel.enter();
    let bytes = |samples: &[f64]| -> Vec<u8> {
        samples.iter().flat_map(|sample| (*sample as f32).to_le_bytes()).collect()
    };
    let heard = |run: &str, from: usize, samples: &[f64]| {
        let about = format!("heard?run={run}&rate={RATE}&channels=1&from={from}&lasts=11");
        posted(&session, &about, &bytes(samples))
    };
    let rows = |answer: &Answer| answer.body.matches("<tr>").count();
    // The sound card's output led into its own input: nothing hangs there, and nothing is lost.
    let signal = drywire::impedance::Signal::new(RATE).unwrap().samples();
    let [half, whole] = [5.0, 10.5].map(|seconds: f64| (seconds * f64::from(RATE)) as usize);
    let first = heard("a", 0, &signal[..half]);
    assert_eq!(first.status, 200, "{first:?}");
    let points = rows(&first);
    assert!((10..60).contains(&points), "{points} points of half a sweep");
    assert!(
        first.body.contains("1 mark found, of which each sweep has two. Sweep 1 of 3 has passed ")
            && first.body.contains("<svg")
    );
    let second = heard("a", half, &signal[half..whole]);
    assert_eq!(rows(&second), 71, "{second:?}");
    let told = "2 marks found, of which each sweep has two. Sweep 1 of 3 has passed 12.0 kHz, where it comes in at 0.0 dB.";
    assert!(second.body.contains(told), "{second:?}");
    for (run, from, words) in
        [("a", half, "another recording has begun"), ("b", whole, "another recording has begun")]
    {
        let refused = heard(run, from, &signal[..100]);
        assert!(refused.status == 422 && refused.body.contains(words), "{refused:?}");
    }
    assert!(heard("b", 0, &signal[..half]).body.contains("1 mark found"));
    for (about, words) in [
        ("heard?run=a&rate=22050&channels=1&from=0&lasts=11", "44100 to 192000 Hz"),
        ("heard?run=a&rate=44100&channels=0&from=0&lasts=11", "allowed are 1 to 8"),
        ("heard?run=a&rate=44100&channels=3&from=0&lasts=11", "as many samples in each channel"),
    ] {
        let refused = posted(&session, about, &bytes(&signal[..100]));
        assert!(refused.status == 422 && refused.body.contains(words), "{about}: {refused:?}");
    }
    assert_eq!((kept(folder.path()), record(folder.path())), (Vec::new(), String::new()));
    fs::rename(folder.path().join("mine"), folder.path().join("other")).unwrap();
    assert_eq!(heard("c", 0, &signal[..100]).status, 422);
}

#[test]
fn the_sweeps_are_those_of_the_command() {
    let folder = tempfile::tempdir().unwrap();
    let panel = started(folder.path());
    let session = panel.enter();
    succeeds(folder.path(), &["measure", "--signal", "sweep.wav", "--rate", "44.1k"]);
    let wanted = fs::read(folder.path().join("sweep.wav")).unwrap();
    let answer = session.get("g/mine/measure/sweep.wav?rate=44100");
    assert_eq!(answer.status, 200);
    assert_eq!(answer.header("content-length").unwrap(), wanted.len().to_string());
    assert_eq!(answer.body, String::from_utf8_lossy(&wanted));
}
