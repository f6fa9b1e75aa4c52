//! A take that nothing is said of is held to be neutral, which is listed as assumed; one that looks as if it had gone through a
//! pickup already is warned of, and so are channels that are no coils'.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use crate::common::program::{Set, read_wav, repository, succeeds, write_wav};
use realfft::RealFftPlanner;

const ASSUMED: &str = "the take is neutral";
const THROUGH: &str = "looks as if it went through a pickup";
const NOT_OF_COILS: &str = "nearly the same at all frequencies";

/// What `hear` lists as assumed and as notes, and says on standard error, of a source.
fn told(source: &str, more: &[&str]) -> (String, String, String) {
    let folder = tempfile::tempdir().unwrap();
    let arguments = [&["hear", source, "--arrangements", "series"], more].concat();
    let output = succeeds(folder.path(), &arguments);
    let set = Set::of(&folder.path().join("drywire-out"));
    let text = |key: &str| set.figures[key].to_string();
    (text("assumed"), text("notes"), String::from_utf8(output.stderr).unwrap())
}

/// The planes of a recording as they would be had it been made at `rate`, whose ratio to its own gives whole lengths: the same
/// spectrum, cut or lengthened.
fn resampled(planes: &[Vec<f64>], from: u32, rate: u32) -> Vec<Vec<f64>> {
    let mut planner = RealFftPlanner::new();
    let length = planes[0].len() / 441 * 441;
    let other = length * rate as usize / from as usize;
    let (forward, inverse) = (planner.plan_fft_forward(length), planner.plan_fft_inverse(other));
    let of = |plane: &Vec<f64>| {
        let mut spectrum = forward.make_output_vec();
        forward.process(&mut plane[..length].to_vec(), &mut spectrum).unwrap();
        let mut longer = inverse.make_input_vec();
        let shared = longer.len().min(spectrum.len()) - 1;
        longer[..shared].copy_from_slice(&spectrum[..shared]);
        let mut samples = inverse.make_output_vec();
        inverse.process(&mut longer, &mut samples).unwrap();
        samples.iter().map(|sample| 0.5 * sample / length as f64).collect()
    };
    planes.iter().map(of).collect()
}

#[test]
fn an_electric_recording_is_warned_of_at_every_rate_unless_it_is_said_what_it_went_through() {
    let folder = tempfile::tempdir().unwrap();
    let recording = repository("tests/data/chord_stereo.wav");
    let (planes, rate) = read_wav(recording.as_ref());
    let mut takes = vec![recording.clone()];
    for other in [48_000, 96_000] {
        let path = folder.path().join(format!("chord-{other}.wav"));
        write_wav(&path, &resampled(&planes, rate, other), other);
        takes.push(path.display().to_string());
    }
    for take in &takes {
        let (assumed, notes, said) = told(take, &[]);
        assert!(assumed.contains(ASSUMED), "{take}: {assumed}");
        assert!(notes.contains(THROUGH) && said.contains(THROUGH), "{take}: {notes} {said}");
        assert!(said.contains("as in --recorded-through series"), "{said}");
    }
    let (assumed, notes, said) = told(&recording, &["--recorded-through", "series"]);
    assert!(!assumed.contains(ASSUMED) && !notes.contains(THROUGH) && !said.contains(THROUGH), "{assumed}");
}

#[test]
fn a_microphones_recording_is_held_to_be_neutral_without_a_warning() {
    let (assumed, notes, said) = told(&repository("tests/data/acoustic_note_mono.wav"), &[]);
    assert!(assumed.contains(ASSUMED), "{assumed}");
    assert!(!notes.contains(THROUGH) && !said.contains(THROUGH), "{notes}");
}

#[test]
fn a_built_in_source_is_neutral_and_nothing_is_assumed_of_it() {
    for source in ["low-note", "high-note", "open-chord", "phrase", "open-chord-coils"] {
        let (assumed, notes, _) = told(source, &[]);
        assert!(!assumed.contains(ASSUMED), "{source}: {assumed}");
        assert!(!notes.contains(THROUGH) && !notes.contains(NOT_OF_COILS), "{source}: {notes}");
        // The same sound as a file of a person's own is a take like any other, and does not look as if it were none.
        let channels = if source == "open-chord-coils" { "coils" } else { "stereo" };
        let file = repository(&format!("samples-synthetic/{source}.wav"));
        let (assumed, notes, _) = told(&file, &["--source-channels", channels]);
        assert!(assumed.contains(ASSUMED), "{source}: {assumed}");
        assert!(!notes.contains(THROUGH) && !notes.contains(NOT_OF_COILS), "{source}: {notes}");
    }
}

#[test]
fn two_channels_of_one_sound_are_no_coils() {
    let folder = tempfile::tempdir().unwrap();
    let (planes, rate) = read_wav(repository("tests/data/acoustic_note_mono.wav").as_ref());
    let both = folder.path().join("both.wav");
    let softer = planes[0].iter().map(|sample| 0.95 * sample).collect();
    write_wav(&both, &[planes[0].clone(), softer], rate);
    let both = both.display().to_string();
    let (_, notes, said) = told(&both, &["--source-channels", "coils"]);
    assert!(notes.contains(NOT_OF_COILS) && said.contains(NOT_OF_COILS), "{notes}");
    assert!(!told(&both, &[]).1.contains(NOT_OF_COILS));
}
