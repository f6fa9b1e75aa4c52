//! A take that is sent to the panel is kept in the guitar's folder and played, whatever it is stored as; what is no sound, or too
//! large, is refused in words and leaves nothing.

#![allow(clippy::cast_possible_truncation, reason = "samples of the test lie within what they are stored as")]
#![allow(clippy::unwrap_used, reason = "a test stops where the panel is not as expected")]

use std::fs;
use std::path::Path;

use crate::common::panel::{Answer, Panel, Session, component, send};

const GUITAR: &str =
    "format = 1\nname = \"mine\"\n[[pickup]]\nname = \"bridge\"\nlike = \"vintage-full-size\"\n";

fn sent(session: &Session, name: &str, bytes: &[u8]) -> Answer {
    let headers = session.headers();
    let mut headers: Vec<(&str, &str)> =
        headers.iter().map(|(name, value)| (*name, value.as_str())).collect();
    headers.push(("Content-Type", "application/octet-stream"));
    let path = format!("{}g/mine/hear/take?name={}", session.base, component(name));
    send(session.address, "POST", &path, &headers, bytes)
}

/// Starts a panel with one guitar in `folder`.
fn started(folder: &Path) -> Panel {
    fs::create_dir_all(folder.join("mine")).unwrap();
    fs::write(folder.join("mine/guitar.toml"), GUITAR).unwrap();
    Panel::start(folder)
}

/// The names of the takes.
fn takes(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder.join("mine/takes")).into_iter().flatten().flatten();
    let mut names: Vec<String> = entries.map(|entry| entry.file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

/// A WAV of half a second, written by another library.
fn wave(rate: u32, bits: u16, format: hound::SampleFormat) -> Vec<u8> {
    let spec =
        hound::WavSpec { channels: 1, sample_rate: rate, bits_per_sample: bits, sample_format: format };
    let mut bytes = std::io::Cursor::new(Vec::new());
    let mut writer = hound::WavWriter::new(&mut bytes, spec).unwrap();
    for i in 0..rate / 2 {
        let sample = 0.5 * (f64::from(i) * 0.03).sin();
        match format {
            hound::SampleFormat::Float => writer.write_sample(sample as f32).unwrap(),
            hound::SampleFormat::Int => {
                writer.write_sample((sample * f64::from(1u32 << (bits - 1))) as i32).unwrap();
            }
        }
    }
    writer.finalize().unwrap();
    bytes.into_inner()
}

#[test]
fn takes_are_played_whatever_they_are_stored_as() {
    let folder = tempfile::tempdir().unwrap();
    let panel = started(folder.path());
    let session = panel.enter();
    let mut all: Vec<(String, Vec<u8>, u32)> = Vec::new();
    for rate in [44_100, 48_000, 96_000] {
        for bits in [8, 16, 24, 32] {
            all.push((format!("{rate} {bits}.wav"), wave(rate, bits, hound::SampleFormat::Int), rate));
        }
        all.push((format!("{rate} float.wav"), wave(rate, 32, hound::SampleFormat::Float), rate));
    }
    for name in ["mono.mp3", "mono.ogg", "stereo16.flac", "stereo24.flac", "stereo24.aiff"] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/sound").join(name);
        all.push((name.to_owned(), fs::read(path).unwrap(), 0));
    }
    for (name, bytes, rate) in &all {
        let kept = sent(&session, name, bytes);
        assert_eq!(kept.status, 200, "{name}: {kept:?}");
        let take = component(&format!("own/{}", kept.body));
        let sound = session.get(&format!("g/mine/hear/sound?take={take}"));
        assert_eq!(sound.status, 200, "{name}");
        assert!(*rate == 0 || sound.body.contains(&format!("\"rate\":{rate}")), "{name}");
        let kernel = session.get(&format!("g/mine/hear/kernel?take={take}&voice=parallel"));
        assert_eq!(kernel.status, 200, "{name}: {}", kernel.body);
        assert_eq!(fs::read(folder.path().join("mine/takes").join(&kept.body)).unwrap(), *bytes, "{name}");
    }
    assert_eq!(takes(folder.path()).len(), all.len());
}

#[test]
fn what_cannot_be_played_is_refused_in_words_and_leaves_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let panel = started(folder.path());
    let session = panel.enter();
    let mut broken = wave(48_000, 16, hound::SampleFormat::Int);
    broken.truncate(30);
    let mut nothing = wave(48_000, 32, hound::SampleFormat::Float);
    let data = nothing.windows(4).position(|bytes| bytes == b"data").unwrap();
    let mut unheard = nothing.clone();
    unheard[data + 4000..data + 4004].copy_from_slice(&f32::NAN.to_le_bytes());
    nothing.truncate(data + 8);
    nothing[data + 4..].fill(0);
    for (name, bytes) in [
        ("nothing.wav", &nothing[..]),
        ("not-a-number.wav", &unheard),
        ("letter.wav", b"Dear luthier"),
        ("empty.wav", b""),
        ("broken.wav", &broken),
        ("noise.mp3", &[7; 5000]),
    ] {
        let refused = sent(&session, name, bytes);
        assert_eq!(refused.status, 422, "{name}: {refused:?}");
        assert!(refused.body.starts_with(&format!("`{name}` cannot be played: ")), "{refused:?}");
    }
    assert_eq!(takes(folder.path()), [""; 0]);
    for (query, words) in [
        ("take=own/none.wav", "there is no take `none.wav`"),
        ("take=nothing-built-in", "there is no built-in take `nothing-built-in`"),
        ("take=open-chord&from=soon", "`soon` is not a time"),
        ("take=open-chord&from=9:30", "the take lasts "),
        ("voice=louder", "there is no `louder` here: choose among series, parallel"),
    ] {
        let what = if query.starts_with("voice") { "kernel" } else { "sound" };
        let refused = session.get(&format!("g/mine/hear/{what}?{query}"));
        assert_eq!(refused.status, 422, "{query}");
        assert!(refused.body.starts_with(words), "{query}: {}", refused.body);
    }
    // Two GiB and more are refused before they are read.
    let headers = session.headers();
    let mut headers: Vec<(&str, &str)> =
        headers.iter().map(|(name, value)| (*name, value.as_str())).collect();
    headers.push(("Content-Type", "application/octet-stream"));
    headers.push(("Content-Length", "2147483649"));
    let path = format!("{}g/mine/hear/take?name=long.wav", session.base);
    assert_eq!(send(panel.address, "POST", &path, &headers, b"RIFF").status, 413);
    assert_eq!(takes(folder.path()), [""; 0]);
}

#[test]
#[cfg(unix)]
fn no_take_leads_out_of_the_guitars_folder() {
    let folder = tempfile::tempdir().unwrap();
    let outside = folder.path().join("outside.wav");
    let guitars = folder.path().join("guitars");
    let panel = started(&guitars);
    let session = panel.enter();
    let sound = wave(48_000, 16, hound::SampleFormat::Int);
    fs::write(&outside, &sound).unwrap();
    for name in ["../../outside.wav", "/etc/passwd", "..", ".hidden.wav", "a/b\\c.wav"] {
        assert_eq!(sent(&session, name, &sound).status, 200, "{name}");
    }
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2, "nothing beside the folder and the file");
    std::os::unix::fs::symlink(&outside, guitars.join("mine/takes/linked.wav")).unwrap();
    for take in ["own/linked.wav", "own/../guitar.toml", "own/../../outside.wav", "../outside.wav"] {
        let refused = session.get(&format!("g/mine/hear/sound?take={}", component(take)));
        assert_eq!(refused.status, 422, "{take}: {}", refused.body);
    }
    // A guitar that is gone is not made anew by what is written for it.
    fs::rename(&guitars, folder.path().join("moved")).unwrap();
    let refused = session.post("g/mine/hear/write", &[]);
    assert_eq!(refused.status, 422, "{refused:?}");
    assert!(!guitars.exists());
}

#[test]
#[cfg(target_os = "linux")]
fn a_take_is_renamed_and_put_into_the_bin() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("data");
    fs::create_dir(&data).unwrap();
    let guitars = folder.path().join("guitars");
    fs::create_dir_all(guitars.join("mine")).unwrap();
    fs::write(guitars.join("mine/guitar.toml"), GUITAR).unwrap();
    let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_drywire"));
    command.args(["panel", "--no-open"]).arg(&guitars).env("XDG_DATA_HOME", &data);
    let panel = Panel::start_by(&mut command);
    let session = panel.enter();
    let sound = wave(48_000, 16, hound::SampleFormat::Int);
    for _ in 0..2 {
        assert_eq!(sent(&session, "Recording.WAV", &sound).status, 200);
    }
    assert_eq!(takes(&guitars), ["recording-2.wav", "recording.wav"]);
    let renamed = |name: &str, called: &str| {
        let query = format!("name={}&called={}", component(name), component(called));
        session.post(&format!("g/mine/hear/rename-take?{query}"), &[])
    };
    assert_eq!(renamed("recording.wav", "Bridge, no. 2").body, "bridge-no-2.wav");
    assert_eq!(renamed("bridge-no-2.wav", "bridge-no-2.wav").body, "bridge-no-2.wav");
    // Another that is called so is kept.
    assert_eq!(renamed("recording-2.wav", "bridge no 2").body, "bridge-no-2-2.wav");
    assert_eq!(renamed("bridge-no-2-2.wav", "../../out").body, "out.wav");
    assert_eq!(takes(&guitars), ["bridge-no-2.wav", "out.wav"]);
    assert_eq!(fs::read(guitars.join("mine/takes/out.wav")).unwrap(), sound);
    for name in ["none.wav", "../guitar.toml"] {
        assert_eq!(renamed(name, "x").status, 422, "{name}");
        let removed = session.post(&format!("g/mine/hear/remove-take?name={}", component(name)), &[]);
        assert_eq!(removed.status, 422, "{name}");
    }
    assert_eq!(session.post("g/mine/hear/remove-take?name=out.wav", &[]).status, 200);
    assert_eq!(takes(&guitars), ["bridge-no-2.wav"]);
    assert!(guitars.join("mine/guitar.toml").exists());
}
