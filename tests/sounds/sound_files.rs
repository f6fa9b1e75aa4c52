//! Sound of every kind is read to the last bit, again and again, from files and from memory.

#![allow(clippy::float_cmp, reason = "samples are compared to the last bit")]
#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use std::fs;
use std::path::Path;
#[cfg(unix)]
use std::process::Command;

use crate::wav_bytes::{data_file, data16, drawn16, drawn24, float32, fmt, mono16, wav};
use drywire::sound::{Blocks, Inspector, Problem, Sound, SoundError, Warning};

fn open_data(name: &str) -> Sound {
    Sound::open(&data_file(name)).unwrap()
}

fn read_all(sound: &Sound, frames_per_block: usize) -> Result<Vec<Vec<f64>>, SoundError> {
    let mut blocks = sound.blocks(frames_per_block);
    read_on(&mut blocks, sound.channels())
}

fn read_on(blocks: &mut Blocks, channels: usize) -> Result<Vec<Vec<f64>>, SoundError> {
    let mut planes = vec![Vec::new(); channels];
    while let Some(block) = blocks.next_block()? {
        for (plane, part) in planes.iter_mut().zip(block) {
            plane.extend_from_slice(part);
        }
    }
    Ok(planes)
}

#[test]
fn files_that_other_programs_write_are_read_to_the_last_bit() {
    let signal = drawn16(100, 41);
    for (name, description, warnings) in [
        ("extensible24.wav", "WAV, 24-bit integer", 0),
        ("float32.wav", "WAV, 32-bit float", 0),
        ("float64.wav", "WAV, 64-bit float", 0),
        ("wide.wav", "WAV, 32-bit integer", 0),
        ("piped-ffmpeg.wav", "WAV, 16-bit integer", 1),
        ("piped-sox.wav", "WAV, 16-bit integer", 1),
    ] {
        let sound = open_data(name);
        assert_eq!((sound.description(), sound.rate_hz()), (description, 44_100), "{name}");
        assert_eq!(read_all(&sound, 7).unwrap(), std::slice::from_ref(&signal), "{name}");
        assert_eq!(sound.warnings(), vec![Warning::NoStatedLength; warnings], "{name}");
    }
    let refusal = Sound::open(&data_file("alaw.wav")).unwrap_err();
    assert!(refusal.to_string().contains("A-law"), "{refusal}");
}

#[test]
fn lossless_files_hold_the_signal_to_the_last_bit() {
    let draw: [fn(i64, i64) -> Vec<f64>; 2] = [drawn16, drawn24];
    for (name, description, draw) in [
        ("stereo16.flac", "FLAC, 16-bit integer", draw[0]),
        ("stereo24.flac", "FLAC, 24-bit integer", draw[1]),
        ("stereo24.aiff", "AIFF, 24-bit integer", draw[1]),
    ] {
        let sound = open_data(name);
        assert_eq!((sound.description(), sound.channels()), (description, 2), "{name}");
        assert_eq!(sound.warnings(), [], "{name}");
        let signal = [draw(1000, 41), draw(1000, 61)];
        assert_eq!(read_all(&sound, 1000).unwrap(), signal, "{name}");
    }
}

#[test]
fn lossy_files_are_decoded_as_independent_decoders_do() {
    // One step of the 16 bits to which the independent decoders rounded: half of it for their rounding, half for
    // both decoders' arithmetic.
    let tolerance = 1.0 / 32768.0;
    for (name, reference, description) in
        [("mono.ogg", "decoded-ogg.wav", "Ogg Vorbis"), ("mono.mp3", "decoded-mp3.wav", "MP3")]
    {
        let (sound, reference) = (open_data(name), open_data(reference));
        assert_eq!((sound.description(), sound.frames()), (description, 4410));
        let (ours, theirs) = (read_all(&sound, 999).unwrap(), read_all(&reference, 999).unwrap());
        assert_eq!(ours[0].len(), theirs[0].len(), "{name}");
        for (frame, (a, b)) in ours[0].iter().zip(&theirs[0]).enumerate() {
            assert!((a - b).abs() <= tolerance, "{name}, frame {frame}: {a} and {b}");
        }
    }
}

#[test]
fn a_second_pass_and_any_block_size_give_the_same_samples() {
    for name in ["stereo16.flac", "stereo24.aiff", "mono.ogg", "mono.mp3", "extensible24.wav"] {
        let sound = open_data(name);
        let whole = read_all(&sound, usize::MAX).unwrap();
        for size in [1, 63, 4096] {
            assert_eq!(read_all(&sound, size).unwrap(), whole, "{name} in blocks of {size}");
        }
        let mut blocks = sound.blocks(50);
        blocks.next_block().unwrap();
        blocks.next_block().unwrap();
        assert_eq!(blocks.position(), 100, "{name}");
        for _ in 0..2 {
            blocks.restart();
            assert_eq!(read_on(&mut blocks, sound.channels()).unwrap(), whole, "{name} once more");
            assert_eq!(blocks.position(), sound.frames(), "{name}");
        }
    }
}

#[test]
fn samples_and_bytes_in_memory_are_read_like_files() {
    let bytes = fs::read(data_file("stereo16.flac")).unwrap();
    let embedded = Sound::from_bytes("embedded.flac", bytes).unwrap();
    let planes = read_all(&embedded, 512).unwrap();
    assert_eq!(planes, read_all(&open_data("stereo16.flac"), 512).unwrap());

    let made = Sound::from_planes("made", 96_000, planes.clone()).unwrap();
    assert_eq!((made.frames(), made.channels(), made.rate_hz()), (1000, 2, 96_000));
    assert_eq!(made.duration().value(), 1000.0 / 96_000.0);
    // Blocks can be read on another thread.
    let read = std::thread::scope(|s| s.spawn(|| read_all(&made, 17).unwrap()).join().unwrap());
    assert_eq!(read, planes);

    for (rate, planes, reason) in [
        (0, vec![vec![0.0]], "0 Hz"),
        (48_000, vec![], "0 channels"),
        (48_000, vec![vec![0.0]; 33], "33 channels"),
        (48_000, vec![vec![], vec![]], "no audio"),
        (48_000, vec![vec![0.0], vec![0.0, 0.0]], "its channels have 1 and 2 frames"),
        (48_000, vec![vec![0.0, f64::NAN]], "NaN at frame 1, channel 1"),
    ] {
        let refusal = Sound::from_planes("made", rate, planes).unwrap_err().to_string();
        assert!(refusal.contains(reason), "{refusal}");
    }
}

#[test]
fn what_is_no_regular_file_is_refused_without_being_opened() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name| folder.path().join(name);
    let refusal = |path: &Path| Sound::open(path).unwrap_err();
    assert!(refusal(folder.path()).to_string().ends_with("is a folder, not a sound file"));
    let missing = refusal(&path("none.wav"));
    assert!(matches!(missing.problem(), Problem::Unreadable(_)), "{missing}");
    assert_eq!(missing.hint(), "check the spelling of the path");
    #[cfg(unix)]
    {
        assert!(refusal(Path::new("/dev/null")).to_string().contains("is a device"));
        let made = Command::new("mkfifo").arg(path("pipe.wav")).status().unwrap();
        assert!(made.success());
        assert!(refusal(&path("pipe.wav")).to_string().contains("is a pipe"));
        let _socket = std::os::unix::net::UnixListener::bind(path("socket.wav")).unwrap();
        assert!(refusal(&path("socket.wav")).to_string().contains("is a socket"));
        std::os::unix::fs::symlink(path("loop.wav"), path("loop.wav")).unwrap();
        assert!(refusal(&path("loop.wav")).to_string().contains("cannot be read"));
        std::os::unix::fs::symlink(data_file("mono.mp3"), path("link.wav")).unwrap();
        let linked = Sound::open(&path("link.wav")).unwrap();
        assert_eq!((linked.file_name(), linked.description()), ("link.wav", "MP3"));
    }
}

#[test]
fn a_file_that_changes_while_it_is_read_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("take.wav");
    let bytes = mono16(data16(&[7; 1000]));
    for (what, changed) in [("shorter", bytes[..1000].to_vec()), ("longer", [&bytes[..], b"more"].concat())] {
        fs::write(&path, &bytes).unwrap();
        let sound = Sound::open(&path).unwrap();
        let mut blocks = sound.blocks(600);
        blocks.next_block().unwrap();
        fs::write(&path, changed).unwrap();
        let refusal = blocks.next_block().unwrap_err();
        assert!(matches!(refusal.problem(), Problem::Changed), "{what}: {refusal}");
    }
}

#[test]
fn repair_turns_what_is_no_number_into_silence_and_says_so() {
    let samples = [0.5, f32::NAN, -0.5, f32::NEG_INFINITY, 0.25, 1e20];
    let bytes = wav(&[fmt(3, 2, 48_000, 32), float32(&samples)]);
    let sound = Sound::from_bytes("take.wav", bytes).unwrap().repairing(true);
    let mut blocks = sound.blocks(2);
    for _ in 0..2 {
        assert_eq!(read_on(&mut blocks, 2).unwrap(), [[0.5, -0.5, 0.25], [0.0, 0.0, 0.0]]);
        assert_eq!(blocks.warnings(), [Warning::Repaired { samples: 3, first: 0 }]);
        blocks.restart();
    }
    assert_eq!(blocks.warnings(), []);
}

#[test]
fn a_compressed_file_cut_anywhere_is_read_as_far_as_it_goes_or_refused() {
    for name in ["stereo16.flac", "mono.ogg", "mono.mp3", "stereo24.aiff"] {
        let bytes = fs::read(data_file(name)).unwrap();
        let whole = read_all(&open_data(name), 4096).unwrap();
        let mut kept = 0;
        for length in (0..bytes.len()).step_by(211) {
            let Ok(sound) = Sound::from_bytes(name, bytes[..length].to_vec()) else { continue };
            let planes = read_all(&sound, 4096).unwrap();
            let frames = planes[0].len();
            assert!(frames <= whole[0].len(), "{name} cut at {length}");
            // What a lossy stream ends with leans on what follows; what is before that is as it was.
            let settled = frames.saturating_sub(1200);
            assert_eq!(planes[0][..settled], whole[0][..settled], "{name} cut at {length}");
            let is_told = !sound.warnings().is_empty();
            assert!(
                is_told || name == "mono.mp3" || frames == whole[0].len(),
                "{name} cut at {length}: {frames}"
            );
            kept += 1;
        }
        // The audio of the Ogg file lies in one page, and a cut AIFF file is refused.
        assert_eq!(kept > 0, matches!(name, "stereo16.flac" | "mono.mp3"), "{name}");
    }
}

#[test]
fn damage_within_a_lossless_file_is_never_passed_over() {
    let bytes = fs::read(data_file("stereo16.flac")).unwrap();
    let whole = read_all(&open_data("stereo16.flac"), 4096).unwrap();
    let audio = bytes.len() - 8000;
    for at in (audio..bytes.len()).step_by(97) {
        let mut damaged = bytes.clone();
        damaged[at] ^= 0x10;
        match Sound::from_bytes("take.flac", damaged) {
            Err(refusal) => assert!(matches!(refusal.problem(), Problem::Damaged { .. }), "{refusal}"),
            Ok(sound) => {
                let same = read_all(&sound, 4096).unwrap() == whole;
                assert!(same || !sound.warnings().is_empty(), "byte {at}");
            }
        }
    }
}

#[test]
fn what_is_odd_about_the_samples_is_found_whatever_the_blocks() {
    let inspect = |sound: &Sound, size| {
        let mut inspector = Inspector::new(sound);
        let mut blocks = sound.blocks(size);
        while let Some(block) = blocks.next_block().unwrap() {
            inspector.add(block);
        }
        inspector.warnings()
    };
    let pcm = |channels, samples: &[i16]| {
        Sound::from_bytes("take.wav", wav(&[fmt(1, channels, 48_000, 16), data16(samples)])).unwrap()
    };
    let top = i16::MAX;
    let clipped =
        pcm(1, &[0, top, top, 0, -5, top, top, top, top, 0, -top, -32768, -32768, -32768, 0, -20000]);
    let twice = pcm(2, &[1000, -1000, 500, -500, -1500, 1500]);
    let offset = pcm(2, &[400, 0, 300, 10, 500, -10]);
    let loud = wav(&[fmt(3, 1, 48_000, 32), float32(&[1.5, 1.25, 2.0, -2.0, 0.5, -3.25])]);
    let loud = Sound::from_bytes("take.wav", loud).unwrap();
    for size in [1, 2, 3, 100] {
        let found = inspect(&clipped, size);
        assert_eq!(found[0], Warning::Clipped { runs: 2, first: 5, channel: 1 }, "{found:?}");
        assert_eq!(inspect(&twice, size), [Warning::ChannelsCancel]);
        assert_eq!(inspect(&offset, size), [Warning::Offset { channel: 1, mean: 400.0 / 32768.0 }]);
        let found = inspect(&loud, size);
        let [Warning::OverFullScale { samples: 5, peak }] = found[..] else { panic!("{found:?}") };
        assert_eq!(format!("{peak:.2}"), "10.24 dB");
        assert_eq!(inspect(&open_data("mono.ogg"), size), []);
        assert_eq!(inspect(&open_data("stereo16.flac"), size), []);
    }
}
