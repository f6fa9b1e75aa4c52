//! The peak memory of a set is at most 32 MiB, and hardly grows with the source's length: by no more than 8 MiB from ten
//! minutes to sixty.

#![cfg(target_os = "linux")]
#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use std::path::Path;
use std::process::Command;
use std::time::Duration;

use drywire::sound::{Depth, Quantiser, WaveShape, WaveWriter};

const MOST_MIB: f64 = 32.0;
/// Of 8 MiB for fifty minutes, what belongs to ten.
const MOST_FOR_TEN_MINUTES_MIB: f64 = 8.0 / 5.0;
/// Low, so that the test takes seconds: the memory goes with the time, of which each tenth is remembered, and with
/// kernels, which are no shorter here than at 48 kHz.
const RATE: u32 = 8_000;

/// Writes noise that rises and falls, second by second.
fn write_source(path: &Path, minutes: u64, channels: usize) {
    write_source_at(path, RATE, 60 * minutes, channels);
}

fn write_source_at(path: &Path, rate: u32, seconds: u64, channels: usize) {
    let shape =
        WaveShape::new(rate, channels, Depth::Pcm16, seconds * u64::from(rate)).expect("a shape of a file");
    let mut writer = WaveWriter::new(std::fs::File::create(path).unwrap(), shape);
    let mut quantiser = Quantiser::new(Depth::Pcm16, 0);
    let mut seed = 1u64;
    for second in 0..seconds {
        let level = 0.3 / (1 + second % 7) as f64;
        let mut plane: Vec<f64> = (0..rate)
            .map(|_| {
                seed = seed.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
                level * ((seed >> 33) as f64 / f64::from(1u32 << 30) - 1.0)
            })
            .collect();
        quantiser.quantise(&mut plane);
        writer.write(&vec![plane.as_slice(); channels]).unwrap();
    }
    writer.finish().unwrap();
}

/// The most memory that the program had resident while it made a set, in MiB.
fn peak_mib(folder: &Path, source: &str, more: &[&str]) -> f64 {
    let arguments = [&["hear", source, "--no-page", "--quiet", "--bits", "24"], more].concat();
    let mut child =
        Command::new(env!("CARGO_BIN_EXE_drywire")).args(arguments).current_dir(folder).spawn().unwrap();
    let status = format!("/proc/{}/status", child.id());
    let mut peak = 0.0f64;
    let code = loop {
        // What the system calls the high water mark only rises, so that the last reading is the peak.
        let told = std::fs::read_to_string(&status).unwrap_or_default();
        let mark = told.lines().find_map(|line| line.strip_prefix("VmHWM:")?.trim().strip_suffix(" kB"));
        if let Some(mark) = mark {
            peak = peak.max(mark.parse::<f64>().unwrap() / 1024.0);
        }
        if let Some(code) = child.try_wait().unwrap() {
            break code;
        }
        std::thread::sleep(Duration::from_millis(5));
    };
    assert!(code.success() && peak > 1.0, "{code}, {peak} MiB");
    peak
}

#[test]
fn a_set_takes_little_memory_and_hardly_more_for_a_longer_source() {
    let folder = tempfile::tempdir().unwrap();
    let of = |minutes: u64, channels: usize| {
        write_source(&folder.path().join("source.wav"), minutes, channels);
        peak_mib(folder.path(), "source.wav", &[])
    };
    let (short, long, stereo) = (of(1, 1), of(11, 1), of(1, 2));
    assert!(long <= MOST_MIB && stereo <= MOST_MIB, "{long} MiB, {stereo} MiB of stereo");
    assert!(long - short <= MOST_FOR_TEN_MINUTES_MIB, "{short} MiB for a minute, {long} for eleven");
}

/// Of a set of six arrangements through amplifiers, an hour of two channels included: 64 MiB, and hardly more for a longer source.
#[test]
fn a_set_through_an_amplifier_takes_little_memory_too() {
    const MOST_AMPLIFIED_MIB: f64 = 64.0;
    let folder = tempfile::tempdir().unwrap();
    let of = |seconds: u64| {
        write_source_at(&folder.path().join("source.wav"), 48_000, seconds, 2);
        peak_mib(folder.path(), "source.wav", &["--amp", "driven"])
    };
    let (short, long) = (of(4), of(12));
    println!("{short:.1} MiB for 4 s of stereo, {long:.1} MiB for 12 s");
    assert!(long <= MOST_AMPLIFIED_MIB, "{long} MiB");
    // An hour has some 9 MB of windows and energies.
    assert!(long - short <= 1.0, "{short} MiB for 4 s, {long} for 12 s");
}
