//! Recordings after soldering are kept in the guitar's folder in the order in which they were played, change nothing of its file, and
//! lead nowhere else; what is no recording of strums is refused in words and leaves nothing; nobody else records.

#![allow(clippy::unwrap_used, reason = "a test stops where the panel is not as expected")]
#![allow(clippy::cast_possible_truncation, reason = "samples of the test lie within what they are stored as")]

use std::fs;
use std::path::Path;

use crate::common::panel::{Answer, Panel, Session, component, send};

const GUITAR: &str = "format = 1 # mine\nname = \"mine\"\n[[pickup]]\nname = \"bridge\"\nlike = \"vintage-full-size\"\n\
    [[switch]]\nname = \"mode\"\non = \"bridge\"\ntable = \"on-on\"\n\
    joints = [[\"a+\", \"hot\", \"L3\"], [\"a-\", \"L1\", \"R2\"], [\"b+\", \"L2\"], [\"b-\", \"ground\", \"R3\"]]\n";

fn started(folder: &Path) -> Panel {
    fs::create_dir_all(folder.join("mine")).unwrap();
    fs::write(folder.join("mine/guitar.toml"), GUITAR).unwrap();
    Panel::start(folder)
}

fn record(folder: &Path) -> String {
    fs::read_to_string(folder.join("mine/readings/confirm.toml")).unwrap_or_default()
}

fn kept(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder.join("mine/confirmed")).into_iter().flatten().flatten();
    let mut names: Vec<String> = entries.map(|entry| entry.file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

fn sent(session: &Session, name: &str, voice: &str, bytes: &[u8]) -> Answer {
    posted(session, &format!("take?name={}&voice={}", component(name), component(voice)), bytes)
}

fn posted(session: &Session, path: &str, bytes: &[u8]) -> Answer {
    let headers = session.headers();
    let mut headers: Vec<(&str, &str)> =
        headers.iter().map(|(name, value)| (*name, value.as_str())).collect();
    headers.push(("Content-Type", "application/octet-stream"));
    send(session.address, "POST", &format!("{}g/mine/confirm/{path}", session.base), &headers, bytes)
}

/// Four chords that decay, a second apart, as a WAV.
fn strums() -> Vec<u8> {
    const RATE: u32 = 44_100;
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: RATE,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut bytes = std::io::Cursor::new(Vec::new());
    let mut writer = hound::WavWriter::new(&mut bytes, spec).unwrap();
    for i in 0..5 * RATE {
        let t = f64::from(i) / f64::from(RATE) - 0.5;
        let since = t.rem_euclid(1.1);
        let is_struck = (0.0..4.4).contains(&t);
        let tone =
            |hz: f64| (std::f64::consts::TAU * hz * since).sin() * (-2.0 * since - hz * since / 500.0).exp();
        let chord = [82.4, 123.5, 164.8, 207.7, 659.3, 1318.5].map(tone).iter().sum::<f64>();
        let noise = f64::from(i.wrapping_mul(2_654_435_761) >> 16) / 65_536.0 - 0.5;
        let sample = if is_struck { 0.05 * chord } else { 0.0 } + 1e-4 * noise;
        writer.write_sample((sample * 32_767.0) as i16).unwrap();
    }
    writer.finalize().unwrap();
    bytes.into_inner()
}

#[test]
fn takes_are_kept_in_their_order_and_counted_and_the_guitars_file_stays() {
    let folder = tempfile::tempdir().unwrap();
    let panel = started(folder.path());
    let session = panel.enter();
    assert!(session.get("g/mine/confirm/").body.contains("Nothing was recorded so far"));
    for voice in ["mode:1", "mode:3"] {
        let told = sent(&session, "block.wav", voice, &strums());
        assert_eq!((told.status, told.body.as_str()), (200, "4"), "{told:?}");
    }
    let names = kept(folder.path());
    assert_eq!(names.len(), 2);
    assert!(names[0].starts_with("20") && names[0].ends_with("-block-2.wav"), "{names:?}");
    assert_eq!(fs::read(folder.path().join("mine/confirmed").join(&names[1])).unwrap(), strums());
    let told = record(folder.path());
    let at = |voice: &str| told.find(&format!("voice = \"{voice}\"")).unwrap();
    assert!(
        at("mode:1") < at("mode:3") && told.contains("strums = \"4\"") && told.contains("date = \"20"),
        "{told}"
    );
    let page = session.post("g/mine/confirm/set", &[("place", "first"), ("value", "mode:3")]).body;
    assert!(page.contains("mode:3") && record(folder.path()).contains("first = \"mode:3\""));
    session.post("g/mine/confirm/take-out", &[("number", "0")]);
    assert!(!record(folder.path()).contains("voice = \"mode:1\""));
    assert_eq!(kept(folder.path()), names, "a take that is taken out of the record stays a file");
    session.post("g/mine/confirm/anew", &[]);
    assert!(session.get("g/mine/confirm/").body.contains("Nothing was recorded so far"));
    assert_eq!(fs::read_to_string(folder.path().join("mine/guitar.toml")).unwrap(), GUITAR);
}

#[test]
fn what_is_no_take_of_a_throw_is_refused_in_words_and_leaves_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let panel = started(folder.path());
    let session = panel.enter();
    let mut silence = strums();
    silence[44..].fill(0);
    for (name, voice, bytes, words) in [
        ("letter.wav", "mode:1", &b"Dear luthier"[..], "`letter.wav` tells nothing: "),
        ("empty.wav", "mode:1", b"", "`empty.wav` tells nothing: "),
        ("silence.wav", "mode:1", &silence, "no strum is heard in it"),
        ("block.wav", "", &strums(), "it is not said in which throw"),
    ] {
        let refused = sent(&session, name, voice, bytes);
        assert_eq!(refused.status, 422, "{name}: {refused:?}");
        assert!(refused.body.contains(words), "{refused:?}");
    }
    assert_eq!((kept(folder.path()), record(folder.path())), (Vec::new(), String::new()));
    let refused = session.post("g/mine/confirm/set", &[("place", "voice"), ("value", "mode:1")]).body;
    assert!(refused.contains("has no `voice`") && record(folder.path()).is_empty());
    assert_eq!(session.get("g/mine/confirm/picture?number=0").status, 422);
    // A record that a person has broken is said, and stays as it is.
    fs::create_dir_all(folder.path().join("mine/readings")).unwrap();
    fs::write(folder.path().join("mine/readings/confirm.toml"), "tke = 3\n").unwrap();
    assert!(session.get("g/mine/confirm/").body.contains("tke"));
    assert_eq!(sent(&session, "block.wav", "mode:1", &strums()).status, 422);
    assert_eq!(record(folder.path()), "tke = 3\n");
}

/// Notes of some partials that ring for two seconds each, while a switch takes half of their level away and gives it back.
fn notes(count: u32) -> Vec<f32> {
    const RATE: u32 = 44_100;
    let value = |i: u32| {
        let t = f64::from(i) / f64::from(RATE) - 0.5;
        let (note, since) = ((t / 2.0).floor(), t.rem_euclid(2.0));
        if t < 0.0 || note >= f64::from(count) {
            return 0.0;
        }
        let fundamental = 110.0 * 2f64.powf(5.0 * note / 12.0);
        let partial = |n: i32| {
            let hz = f64::from(n) * fundamental;
            (std::f64::consts::TAU * hz * since).sin() * (-1.5 * since - hz * since / 800.0).exp()
                / f64::from(n)
        };
        let is_later = (since / 0.45).floor().rem_euclid(2.0) > 0.5;
        0.1 * (1..12).map(partial).sum::<f64>() * if is_later { 0.5 } else { 1.0 }
    };
    let noise = |i: u32| f64::from(i.wrapping_mul(2_654_435_761) >> 16) / 65_536.0 - 0.5;
    (0..(2 * count + 1) * RATE).map(|i| (value(i) + 1e-5 * noise(i)) as f32).collect()
}

fn wave(samples: &[f32]) -> Vec<u8> {
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: 44_100,
        bits_per_sample: 32,
        sample_format: hound::SampleFormat::Float,
    };
    let mut bytes = std::io::Cursor::new(Vec::new());
    let mut writer = hound::WavWriter::new(&mut bytes, spec).unwrap();
    for sample in samples {
        writer.write_sample(*sample).unwrap();
    }
    writer.finalize().unwrap();
    bytes.into_inner()
}

#[test]
fn notes_are_counted_as_they_come_and_one_take_of_them_is_kept_beside_the_strums() {
    let folder = tempfile::tempdir().unwrap();
    let panel = started(folder.path());
    let session = panel.enter();
    let page = session.post("g/mine/confirm/set", &[("place", "way"), ("value", "flips")]).body;
    assert!(
        page.contains("Let one string ring") && record(folder.path()).contains("way = \"flips\""),
        "{page}"
    );
    let samples = notes(4);
    let bytes = |part: &[f32]| -> Vec<u8> { part.iter().flat_map(|sample| sample.to_le_bytes()).collect() };
    let half = samples.len() / 2;
    let mut counted = Vec::new();
    for (from, part) in [(0, &samples[..half]), (half, &samples[half..])] {
        let told = posted(&session, &format!("heard?run=a&rate=44100&channels=1&from={from}"), &bytes(part));
        assert_eq!(told.status, 200, "{told:?}");
        assert!(told.body.contains("throw the switch every half second"), "{told:?}");
        let count = told.body.split("id=\"counted\">").nth(1).unwrap().split('<').next().unwrap();
        counted.push(count.parse::<usize>().unwrap());
    }
    assert!((1..=3).contains(&counted[0]) && counted[1] == 4, "{counted:?}");
    assert_eq!((kept(folder.path()), record(folder.path()).contains("[flips]")), (Vec::new(), false));

    let told = posted(&session, "take?name=notes.wav&first=mode:1&later=mode:3", &wave(&samples));
    assert!(told.status == 200 && told.body.starts_with("4 notes, the switch thrown "), "{told:?}");
    let again = posted(&session, "take?name=notes.wav&first=mode:1&later=mode:3", &wave(&samples));
    assert_eq!(again.body, told.body);
    assert_eq!(kept(folder.path()).len(), 2, "the file of the take before stays");
    let told = record(folder.path());
    assert!(
        told.matches("[flips]").count() == 1
            && told.contains("notes = \"4\"")
            && told.contains("notes-2.wav"),
        "{told}"
    );
    for (path, sent, words) in [
        ("take?name=notes.wav&first=mode:1&later=mode:1", wave(&samples), "thrown between two voices"),
        (
            "take?name=quiet.wav&first=mode:1&later=mode:3",
            wave(&samples[..20_000]),
            "no single note is heard in it",
        ),
        ("heard?run=b&rate=44100&channels=1&from=0", Vec::new(), "no audio"),
        ("heard?run=a&rate=44100&channels=1&from=7", bytes(&samples[..10]), "another recording has begun"),
    ] {
        let refused = posted(&session, path, &sent);
        assert!(refused.status == 422 && refused.body.contains(words), "{path}: {refused:?}");
    }
    let refused = session.post("g/mine/confirm/set", &[("place", "way"), ("value", "flip")]).body;
    assert!(refused.contains("`flip` is no way to record"), "{refused}");
    assert_eq!(record(folder.path()), told);
    session.post("g/mine/confirm/take-out-flips", &[]);
    assert!(!record(folder.path()).contains("[flips]") && kept(folder.path()).len() == 2);
    assert_eq!(fs::read_to_string(folder.path().join("mine/guitar.toml")).unwrap(), GUITAR);
}

#[test]
fn nobody_else_records_and_no_take_leads_out() {
    let folder = tempfile::tempdir().unwrap();
    let guitars = folder.path().join("guitars");
    let panel = started(&guitars);
    let session = panel.enter();
    fs::write(folder.path().join("outside.wav"), strums()).unwrap();
    assert_eq!(sent(&session, "../../outside.wav", "mode:1", &strums()).status, 200);
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2, "nothing beside the folder and the file");
    std::os::unix::fs::symlink(folder.path().join("outside.wav"), guitars.join("mine/confirmed/linked.wav"))
        .unwrap();
    for file in ["linked.wav", "../guitar.toml", "../../../outside.wav"] {
        let text = format!("[[take]]\nvoice = \"mode:1\"\nfile = \"{file}\"\n");
        fs::write(guitars.join("mine/readings/confirm.toml"), text).unwrap();
        let page = session.get("g/mine/confirm/").body;
        assert!(page.contains("is a link") || page.contains("there is no take"), "{file}: {page}");
    }
    let before = (kept(&guitars), record(&guitars));
    let host = panel.address.to_string();
    for (cookie, origin) in [("", None), (session.cookie.as_str(), Some("https://evil.example"))] {
        let mut own = vec![("Host", host.as_str()), ("Cookie", cookie), ("Sec-Fetch-Site", "cross-site")];
        own.extend(origin.map(|origin| ("Origin", origin)));
        for (method, path) in [
            ("GET", "confirm/"),
            ("GET", "confirm/picture?number=0"),
            ("POST", "confirm/set"),
            ("POST", "confirm/take-out"),
            ("POST", "confirm/anew"),
            ("POST", "confirm/take-out-flips"),
            ("POST", "confirm/take?name=theirs.wav&voice=mode:1"),
            ("POST", "confirm/take?name=theirs.wav&first=mode:1&later=mode:3"),
            ("POST", "confirm/heard?run=a&rate=44100&channels=1&from=0"),
        ] {
            let path = format!("{}g/mine/{path}", session.base);
            let answer = send(panel.address, method, &path, &own, &strums());
            assert_eq!((answer.status, answer.body.as_str()), (403, ""), "{method} {path}");
        }
    }
    assert_eq!((kept(&guitars), record(&guitars)), before);
    for path in [
        "set",
        "take?name=x.wav&voice=mode:1",
        "take-out",
        "take-out-flips",
        "anew",
        "heard?run=a&rate=44100&channels=1&from=0",
    ] {
        assert_eq!(session.get(&format!("g/mine/confirm/{path}")).status, 405, "{path}");
    }
    let own = session.headers();
    let mut own: Vec<(&str, &str)> = own.iter().map(|(name, value)| (*name, value.as_str())).collect();
    own.push(("Content-Type", "application/octet-stream"));
    own.push(("Content-Length", "2147483649"));
    let path = format!("{}g/mine/confirm/take?name=long.wav&voice=mode:1", session.base);
    assert_eq!(send(panel.address, "POST", &path, &own, b"RIFF").status, 413);
}
