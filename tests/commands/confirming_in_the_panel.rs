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
    let headers = session.headers();
    let mut headers: Vec<(&str, &str)> =
        headers.iter().map(|(name, value)| (*name, value.as_str())).collect();
    headers.push(("Content-Type", "application/octet-stream"));
    let query = format!("name={}&voice={}", component(name), component(voice));
    send(session.address, "POST", &format!("{}g/mine/confirm/take?{query}", session.base), &headers, bytes)
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
            ("POST", "confirm/take?name=theirs.wav&voice=mode:1"),
        ] {
            let path = format!("{}g/mine/{path}", session.base);
            let answer = send(panel.address, method, &path, &own, &strums());
            assert_eq!((answer.status, answer.body.as_str()), (403, ""), "{method} {path}");
        }
    }
    assert_eq!((kept(&guitars), record(&guitars)), before);
    for path in ["set", "take?name=x.wav&voice=mode:1", "take-out", "anew"] {
        assert_eq!(session.get(&format!("g/mine/confirm/{path}")).status, 405, "{path}");
    }
    let own = session.headers();
    let mut own: Vec<(&str, &str)> = own.iter().map(|(name, value)| (*name, value.as_str())).collect();
    own.push(("Content-Type", "application/octet-stream"));
    own.push(("Content-Length", "2147483649"));
    let path = format!("{}g/mine/confirm/take?name=long.wav&voice=mode:1", session.base);
    assert_eq!(send(panel.address, "POST", &path, &own, b"RIFF").status, 413);
}
