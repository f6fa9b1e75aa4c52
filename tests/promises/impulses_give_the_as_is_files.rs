//! An impulse file convolved with the source by an independent transform equals the as-is file to −80 dB, after the
//! stated gain and the stated lead.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use crate::common::program::{Set, read_wav, repository, write_wav};
use rustfft::FftPlanner;
use rustfft::num_complex::Complex64;

const RESIDUAL: f64 = -80.0;

fn convolved(one: &[f64], other: &[f64]) -> Vec<f64> {
    let length = (one.len() + other.len()).next_power_of_two();
    let mut planner = FftPlanner::new();
    let spectrum = |samples: &[f64], planner: &mut FftPlanner<f64>| {
        let mut bins: Vec<Complex64> = samples.iter().map(|x| Complex64::from(*x)).collect();
        bins.resize(length, Complex64::ZERO);
        planner.plan_fft_forward(length).process(&mut bins);
        bins
    };
    let (a, b) = (spectrum(one, &mut planner), spectrum(other, &mut planner));
    let mut product: Vec<Complex64> = a.iter().zip(&b).map(|(a, b)| a * b / length as f64).collect();
    planner.plan_fft_inverse(length).process(&mut product);
    product.iter().map(|x| x.re).collect()
}

fn assert_residuals(set: &Set, source: &[Vec<f64>], through: &str) {
    for arrangement in set.arrangements() {
        let impulse = &arrangement["impulse"];
        let (taps, _) = set.read(impulse["file"].as_str().unwrap());
        let lead = usize::try_from(impulse["lead_frames"].as_u64().unwrap()).unwrap();
        let gain = 10f64.powf(impulse["gain_db"].as_f64().unwrap() / 20.0);
        let (file, _) = set.read(arrangement["as_is"]["file"].as_str().unwrap());
        let parts: Vec<Vec<f64>> = taps.iter().zip(source).map(|(taps, x)| convolved(x, taps)).collect();
        let (mut error, mut power) = (0.0, 0.0);
        for (n, written) in file[0].iter().enumerate() {
            let heard: f64 = parts.iter().map(|part| part[n + lead]).sum::<f64>() * gain;
            error += (heard - written).powi(2);
            power += written * written;
        }
        let residual = 10.0 * f64::log10(error / power);
        assert!(residual <= RESIDUAL, "{} {through}: {residual} dB", arrangement["name"]);
    }
}

#[test]
fn an_impulse_file_convolved_with_the_source_is_the_as_is_file() {
    let folder = tempfile::tempdir().unwrap();
    let recording = repository("tests/data/harmonics_mono.wav");
    let (source, _) = read_wav(recording.as_ref());
    for through in ["neutral", "series"] {
        let arguments = [recording.as_str(), "--impulses", "--bits", "32f", "--recorded-through", through];
        assert_residuals(&Set::without_page(folder.path(), &arguments), &source, through);
    }
    let coils = repository("samples-synthetic/open-chord-coils.wav");
    let (source, _) = read_wav(coils.as_ref());
    let arguments = [coils.as_str(), "--impulses", "--bits", "32f", "--source-channels", "coils"];
    assert_residuals(&Set::without_page(folder.path(), &arguments), &source, "by coils");
}

#[test]
fn a_source_whose_files_had_to_be_made_quieter_has_that_in_the_gain_of_its_impulses() {
    let folder = tempfile::tempdir().unwrap();
    let loud: Vec<f64> = (0..48_000)
        .map(|n| {
            let time = f64::from(n) / 48_000.0;
            0.999 * (-6.0 * time).exp() * (std::f64::consts::TAU * 1500.0 * time).sin()
        })
        .collect();
    let path = folder.path().join("loud.wav");
    write_wav(&path, std::slice::from_ref(&loud), 48_000);
    let path = path.to_str().unwrap();
    let set = Set::without_page(folder.path(), &[path, "--impulses", "--bits", "32f"]);
    assert!(set.arrangement("series")["as_is"]["gain_db"].as_f64().unwrap() < -1.0);
    assert_residuals(&set, &[loud], "loud");
}

#[test]
fn the_baselines_impulse_passes_low_frequencies_at_unity() {
    let folder = tempfile::tempdir().unwrap();
    let recording = repository("tests/data/harmonics_mono.wav");
    let set = Set::without_page(folder.path(), &[&recording, "--impulses"]);
    let (taps, rate) = set.read("impulses/series.wav");
    let low = crate::common::render::spectrum(&taps[0], 0, 100.0, rate).norm();
    assert!((20.0 * low.log10()).abs() < 1e-3, "{low}");
}
