//! P7. Loudness, true peak, RMS and centroid agree with independent implementations: 0.1 LU, 0.1 dB, 0.5 %, measured on
//! the files as written.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use crate::common::program::{Set, loudness_lufs, read_wav, repository, rms_dbfs, true_peak_dbtp, write_wav};
use rustfft::FftPlanner;
use rustfft::num_complex::Complex64;

const LOUDNESS: f64 = 0.1;
const DECIBELS: f64 = 0.1;
const CENTROID: f64 = 0.005;

/// The centroid straight from its definition: magnitudes weighted within a frame, frames weighted by energy, mean of
/// the channels.
fn centroid_hz(planes: &[Vec<f64>], rate: u32) -> f64 {
    const FRAME: usize = 2048;
    let transform = FftPlanner::new().plan_fft_forward(FRAME);
    let of = |plane: &Vec<f64>| {
        let (mut sum, mut energies) = (0.0, 0.0);
        for start in (0..=plane.len() - FRAME).step_by(FRAME / 2) {
            let window = |n: usize| 0.5 - 0.5 * (std::f64::consts::TAU * n as f64 / FRAME as f64).cos();
            let mut bins: Vec<Complex64> =
                (0..FRAME).map(|n| Complex64::from(plane[start + n] * window(n))).collect();
            transform.process(&mut bins);
            let magnitudes: Vec<f64> = bins[..=FRAME / 2].iter().map(|x| x.norm()).collect();
            let energy: f64 = magnitudes.iter().map(|m| m * m).sum();
            let total: f64 = magnitudes.iter().sum();
            if total > 0.0 {
                let moment: f64 = magnitudes.iter().enumerate().map(|(k, m)| k as f64 * m).sum();
                sum += energy * moment / total * f64::from(rate) / FRAME as f64;
                energies += energy;
            }
        }
        sum / energies
    };
    planes.iter().map(of).sum::<f64>() / planes.len() as f64
}

fn assert_figures(set: &Set) {
    for arrangement in set.arrangements() {
        for kind in ["matched", "as_is"] {
            let told = &arrangement[kind];
            let file = told["file"].as_str().unwrap();
            let (planes, rate) = set.read(file);
            let near = |field: &str, measured: f64, tolerance: f64| {
                let told = told[field].as_f64().unwrap();
                assert!(
                    (told - measured).abs() <= tolerance,
                    "{file}, {field}: {told} told, {measured} measured"
                );
            };
            near("rms_dbfs", rms_dbfs(&planes), DECIBELS);
            near("true_peak_dbtp", true_peak_dbtp(&planes, rate), DECIBELS);
            near("loudness_lufs", loudness_lufs(&planes, rate), LOUDNESS);
            let centroid = centroid_hz(&planes, rate);
            near("spectral_centroid_hz", centroid, CENTROID * centroid);
        }
    }
}

#[test]
fn every_figure_of_a_set_is_what_other_meters_read_off_its_files_at_every_depth() {
    let folder = tempfile::tempdir().unwrap();
    let recording = repository("tests/data/harmonics_mono.wav");
    for bits in ["16", "24", "32f"] {
        assert_figures(&Set::without_page(folder.path(), &[&recording, "--bits", bits]));
    }
    let chord = repository("tests/data/chord_stereo.wav");
    assert_figures(&Set::without_page(folder.path(), &[&chord]));
}

#[test]
fn figures_of_quiet_files_count_the_rounding_that_is_in_them() {
    let folder = tempfile::tempdir().unwrap();
    let (planes, rate) = read_wav(repository("tests/data/harmonics_mono.wav").as_ref());
    let quiet: Vec<Vec<f64>> = planes.iter().map(|p| p.iter().map(|x| x * 0.02).collect()).collect();
    write_wav(&folder.path().join("quiet.wav"), &quiet, rate);
    for bits in ["16", "24"] {
        let arguments = ["quiet.wav", "--bits", bits, "--arrangements", "series,parallel"];
        assert_figures(&Set::without_page(folder.path(), &arguments));
    }
}
