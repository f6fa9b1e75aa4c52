//! P7. Loudness, true peak, RMS, centroid agree with their standards and with independent implementations: EBU
//! Tech 3341 cases at their stated tolerances; 0.1 LU, 0.1 dB, 0.5 %. Here: the standards.
//!
//! # Source
//! EBU Tech 3341 v4 (2023), table 1, read in a transcription, whose signals are made here from their description;
//! ITU-R BS.1770-5 (2023), annex 1, for 997 Hz.

#![allow(clippy::unwrap_used, reason = "a test fails by its panic")]

use std::f64::consts::TAU;

use drywire::measure::{LevelMeter, Levels};

/// ±0.1 LU, the standard's tolerance for loudness.
const LOUDNESS: f64 = 0.1;
/// The standard's tolerance for true peaks, in dB.
const TRUE_PEAK: std::ops::RangeInclusive<f64> = -0.4..=0.2;

/// Measures a sound of two equal channels, a tenth of a second at a time.
fn in_both_channels(rate_hz: u32, samples: impl Iterator<Item = f64>) -> Levels {
    let mut meter = LevelMeter::new(rate_hz, 2).unwrap();
    let mut samples = samples.peekable();
    while samples.peek().is_some() {
        let block: Vec<f64> = samples.by_ref().take(rate_hz as usize / 10).collect();
        meter.push(&[&block, &block]).unwrap();
    }
    meter.finish()
}

/// A 1000 Hz sine that steps from level to level: milliseconds and peak level in dBFS of each part.
fn stepped_sine(rate_hz: u32, parts: &[(u32, f64)]) -> impl Iterator<Item = f64> {
    let amplitudes = parts.iter().flat_map(move |&(milliseconds, level)| {
        let amplitude = 10f64.powf(level / 20.0);
        (0..milliseconds * (rate_hz / 1000)).map(move |_| amplitude)
    });
    let step = TAU * 1000.0 / f64::from(rate_hz);
    amplitudes.zip(0_u32..).map(move |(amplitude, n)| amplitude * (step * f64::from(n)).sin())
}

#[test]
fn ebu_tech_3341_cases_1_to_5_have_their_integrated_loudness() {
    let cases: [(f64, &[(u32, f64)]); 5] = [
        (-23.0, &[(20_000, -23.0)]),
        (-33.0, &[(20_000, -33.0)]),
        (-23.0, &[(10_000, -36.0), (60_000, -23.0), (10_000, -36.0)]),
        (-23.0, &[(10_000, -72.0), (10_000, -36.0), (60_000, -23.0), (10_000, -36.0), (10_000, -72.0)]),
        (-23.0, &[(20_000, -26.0), (20_100, -20.0), (20_000, -26.0)]),
    ];
    for (case, (expected, parts)) in (1..).zip(cases) {
        let levels = in_both_channels(48_000, stepped_sine(48_000, parts));
        let found = levels.loudness().integrated().unwrap().value();
        assert!((found - expected).abs() <= LOUDNESS, "case {case}: {found} LUFS for {expected}");
    }
}

/// A sine with 10 ms of fade at both ends, as case 15 asks for; its duration does not matter.
fn tapered_sine(rate_hz: u32, part_of_the_rate: f64, amplitude: f64, degrees: f64) -> Vec<f64> {
    let (length, taper) = (f64::from(rate_hz / 5), f64::from(rate_hz / 100));
    (0..rate_hz / 5)
        .map(f64::from)
        .map(|n| {
            let fade = (n / taper).min((length - n) / taper).min(1.0);
            fade * amplitude * (TAU * n * part_of_the_rate + degrees.to_radians()).sin()
        })
        .collect()
}

#[test]
fn ebu_tech_3341_cases_15_to_19_have_their_true_peak() {
    for rate_hz in [44_100, 48_000, 96_000, 192_000] {
        for (case, part, amplitude, degrees, expected) in [
            (15, 1.0 / 4.0, 0.50, 0.0, -6.0),
            (16, 1.0 / 4.0, 0.50, 45.0, -6.0),
            (17, 1.0 / 6.0, 0.50, 60.0, -6.0),
            (18, 1.0 / 8.0, 0.50, 67.5, -6.0),
            (19, 1.0 / 4.0, 1.41, 45.0, 3.0),
        ] {
            let sine = tapered_sine(rate_hz, part, amplitude, degrees);
            let found = in_both_channels(rate_hz, sine.into_iter()).true_peak().value();
            let place = format!("case {case} at {rate_hz} Hz: {found} dBTP for {expected}");
            assert!(TRUE_PEAK.contains(&(found - expected)), "{place}");
        }
    }
}

/// Cases 20 to 23: at four times the rate, fs/6 at 0.50 with one period of fs/4 at 1.00 between two zero
/// crossings; low-passed, and every fourth sample taken from `offset` on.
fn decimated_burst(offset: usize) -> Vec<f64> {
    let slow = |n: u32| 0.5 * (TAU * f64::from(n) / 24.0).sin();
    let (before, burst, after) = (0..4800, 0..16_u32, 0..4800);
    let oversampled: Vec<f64> = before
        .map(slow)
        .chain(burst.map(|n| (TAU * f64::from(n) / 16.0).sin()))
        .chain(after.map(slow))
        .collect();
    let (length, taper) = (oversampled.len() as f64, 960.0);
    let tapered: Vec<f64> = oversampled
        .iter()
        .enumerate()
        .map(|(n, x)| x * (n as f64 / taper).min((length - n as f64) / taper).min(1.0))
        .collect();
    // A sinc that ends at half the lower rate, under a Hann window of 256 zero crossings.
    let low_pass = |t: f64| {
        let sinc = if t == 0.0 { 1.0 } else { (TAU / 8.0 * t).sin() / (TAU / 8.0 * t) };
        sinc / 4.0 * (0.5 + 0.5 * (TAU * t / 1024.0).cos())
    };
    (offset..tapered.len())
        .step_by(4)
        .map(|at| {
            let reach = at.saturating_sub(511)..(at + 512).min(tapered.len());
            reach.map(|n| tapered[n] * low_pass(n as f64 - at as f64)).sum()
        })
        .collect()
}

#[test]
fn ebu_tech_3341_cases_20_to_23_have_their_true_peak() {
    for (case, offset) in (20..).zip(0..4) {
        let found = in_both_channels(48_000, decimated_burst(offset).into_iter()).true_peak().value();
        assert!(TRUE_PEAK.contains(&found), "case {case}: {found} dBTP for 0.0");
    }
}

#[test]
fn a_full_scale_sine_of_997_hz_in_one_channel_has_minus_3_01_lkfs_and_minus_3_01_dbfs() {
    for rate_hz in [16_000, 22_050, 32_000, 44_100, 48_000, 88_200, 96_000, 176_400, 192_000, 384_000] {
        let step = TAU * 997.0 / f64::from(rate_hz);
        let sine: Vec<f64> = (0..2 * rate_hz).map(|n| (step * f64::from(n)).sin()).collect();
        let silence = vec![0.0; sine.len()];
        for channels in [vec![&sine], vec![&sine, &silence], vec![&silence, &sine]] {
            let mut meter = LevelMeter::new(rate_hz, channels.len()).unwrap();
            meter.push(&channels.iter().map(|channel| channel.as_slice()).collect::<Vec<_>>()).unwrap();
            let levels = meter.finish();
            let loudness = levels.loudness().integrated().unwrap().value();
            assert!((loudness + 3.01).abs() <= LOUDNESS, "{loudness} LUFS at {rate_hz} Hz");
            let rms = levels.rms().value();
            let expected = -3.01 - 10.0 * (channels.len() as f64).log10();
            assert!((rms - expected).abs() < 0.01, "{rms} dBFS for {expected} at {rate_hz} Hz");
        }
    }
}
