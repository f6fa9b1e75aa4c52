//! P5. Levels that are not matched are true: the RMS drop between two as-is files equals
//! 10·log10(Σ|X·H|²/Σ|X·H_base|²) computed apart from the source's spectrum, within 0.05 dB.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use crate::common::program::{Set, read_wav, repository, rms_dbfs};
use drywire::guitar::Guitar;
use drywire::quantity::Hertz;
use drywire::response::{OneChannel, Voice, VoiceResponse};
use rustfft::FftPlanner;
use rustfft::num_complex::Complex64;

const TOLERANCE: f64 = 0.05;

/// The spectra of `planes` with room behind them for what rings on.
fn spectra(planes: &[Vec<f64>]) -> Vec<Vec<Complex64>> {
    let length = (planes[0].len() + 48_000).next_power_of_two();
    let transform = FftPlanner::new().plan_fft_forward(length);
    let of = |plane: &Vec<f64>| {
        let mut spectrum: Vec<Complex64> = plane.iter().map(|x| Complex64::from(*x)).collect();
        spectrum.resize(length, Complex64::ZERO);
        transform.process(&mut spectrum);
        spectrum.truncate(length / 2);
        spectrum
    };
    planes.iter().map(of).collect()
}

fn power(rate: u32, bins: usize, at: impl Fn(usize, Hertz) -> Complex64) -> f64 {
    let step = f64::from(rate) / 2.0 / bins as f64;
    (0..bins).map(|k| at(k, Hertz::new(k as f64 * step)).norm_sqr()).sum()
}

fn response(name: &str) -> VoiceResponse {
    let guitar = Guitar::built_in("set-neck").unwrap();
    Voice::of(name.parse().unwrap()).response(&guitar, &guitar.pickups()[0]).unwrap()
}

fn assert_drops(set: &Set, power_of: impl Fn(&VoiceResponse) -> f64) {
    let base = power_of(&response("series"));
    let (base_file, _) = set.read("as-is/series.wav");
    for arrangement in set.arrangements() {
        let name = arrangement["name"].as_str().unwrap();
        let expected = 10.0 * (power_of(&response(name)) / base).log10();
        let (planes, _) = set.read(&format!("as-is/{name}.wav"));
        let found = rms_dbfs(&planes) - rms_dbfs(&base_file);
        assert!(
            (found - expected).abs() <= TOLERANCE,
            "{name}: {found} dB in the files, {expected} dB expected"
        );
        let told = arrangement["drop_rms_db"].as_f64().unwrap();
        assert!((told - found).abs() < 1e-3, "{name}: {told} dB told, {found} dB in the files");
    }
}

#[test]
fn the_drop_of_every_as_is_file_is_the_circuits_for_a_recording() {
    let folder = tempfile::tempdir().unwrap();
    let recording = repository("tests/data/harmonics_mono.wav");
    let (planes, rate) = read_wav(recording.as_ref());
    let spectrum = &spectra(&planes)[0];
    let set = Set::without_page(folder.path(), &[&recording, "--guitar", "set-neck"]);
    assert_drops(&set, |response| {
        let rule = OneChannel::rule(response);
        let outputs = response.outputs();
        power(rate, spectrum.len(), |k, f| rule.transfer(f, &response.at(f).unwrap(), outputs) * spectrum[k])
    });
}

#[test]
fn the_drop_of_every_as_is_file_is_the_circuits_for_a_source_with_a_channel_a_coil() {
    let folder = tempfile::tempdir().unwrap();
    let source = repository("samples-synthetic/open-chord-coils.wav");
    let (planes, rate) = read_wav(source.as_ref());
    let spectra = spectra(&planes);
    let set =
        Set::without_page(folder.path(), &[&source, "--source-channels", "coils", "--guitar", "set-neck"]);
    assert_drops(&set, |response| {
        power(rate, spectra[0].len(), |k, f| {
            let paths = response.at(f).unwrap();
            paths.0[0] * spectra[0][k] + paths.0[1] * spectra[1][k]
        })
    });
}
