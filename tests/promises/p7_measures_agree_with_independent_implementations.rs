//! P7. Loudness, true peak, RMS, centroid agree with their standards and with independent implementations: EBU
//! Tech 3341 cases at their stated tolerances; 0.1 LU, 0.1 dB, 0.5 %. Here: independent implementations.

#![allow(clippy::unwrap_used, reason = "a test fails by its panic")]

use std::f64::consts::{PI, TAU};

use drywire::measure::{Measures, Meter, ThirdOctave, ThirdOctaveMeter};
use ebur128::{EbuR128, Mode};

/// Measures planar channels.
fn measured(rate_hz: u32, channels: &[Vec<f64>]) -> Measures {
    let mut meter = Meter::new(rate_hz, channels.len()).unwrap();
    meter.push(&channels.iter().map(Vec::as_slice).collect::<Vec<_>>()).unwrap();
    meter.finish()
}

/// Returns the third octave whose mid-frequency is 1000 Hz · 10^(`band`/10).
fn third_octave(rate_hz: u32, channels: &[Vec<f64>], band: i32) -> ThirdOctave {
    let mut meter = ThirdOctaveMeter::new(rate_hz, channels.len()).unwrap();
    meter.push(&channels.iter().map(Vec::as_slice).collect::<Vec<_>>()).unwrap();
    let centre = 1000.0 * 10f64.powf(f64::from(band) / 10.0);
    let near = |found: &ThirdOctave| (found.centre().value() / centre - 1.0).abs() < 1e-9;
    meter.finish().into_iter().find(near).unwrap()
}

/// Reads a 16-bit file with a reader that is not ours.
fn recording(name: &str) -> (u32, Vec<Vec<f64>>) {
    let mut reader = hound::WavReader::open(format!("tests/data/{name}")).unwrap();
    let spec = reader.spec();
    assert_eq!((spec.bits_per_sample, spec.sample_format), (16, hound::SampleFormat::Int));
    let samples: Vec<f64> = reader.samples::<i16>().map(|x| f64::from(x.unwrap()) / 32_768.0).collect();
    let channels = usize::from(spec.channels);
    let planar = (0..channels).map(|c| samples.iter().skip(c).step_by(channels).copied().collect());
    (spec.sample_rate, planar.collect())
}

#[test]
fn recordings_measure_what_other_tools_find() {
    let mut table = csv::Reader::from_path("tests/data/recordings.csv").unwrap();
    let mut compared = 0;
    for row in table.deserialize() {
        let (file, measure, theirs, tool): (String, String, f64, String) = row.unwrap();
        let (rate_hz, channels) = recording(&file);
        let Measures { levels, centroid } = measured(rate_hz, &channels);
        let (ours, allowed) = match measure.as_str() {
            "loudness_lufs" => (levels.loudness().integrated().unwrap().value(), 0.1),
            "true_peak_dbtp" => (levels.true_peak().value(), 0.1),
            "sample_peak_dbfs" => (levels.sample_peak().value(), 0.1),
            "rms_dbfs" => (levels.rms().value(), 0.1),
            "spectral_centroid_hz" => (centroid.unwrap().value(), 0.005 * theirs),
            // Of the same samples, to the digits that are written down.
            "dc_offset" => (levels.dc_offset(), 1e-8 * theirs.abs()),
            other => {
                let band = other.strip_prefix("third_octave_").and_then(|rest| rest.strip_suffix("_dbfs"));
                let band = band.unwrap_or_else(|| panic!("{other} is no measure")).parse().unwrap();
                (third_octave(rate_hz, &channels, band).level().value(), 0.1)
            }
        };
        let off = (ours - theirs).abs();
        assert!(off <= allowed, "{file}: {measure} is {ours}, {tool} found {theirs}");
        compared += 1;
    }
    assert_eq!(compared, 37);
}

/// Noise in [−1, 1), the same for the same seed (G. Marsaglia, *Xorshift RNGs*, J. Stat. Soft. 8(14), 2003).
fn noise(seed: u64) -> impl Iterator<Item = f64> {
    let mut state = seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1;
    std::iter::repeat_with(move || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        f64::from((state >> 33) as u32) / f64::from(1_u32 << 30) - 1.0
    })
}

/// A programme like a guitar's: bursts of tones and noise below 5 kHz at levels down to −40 dB, with pauses.
fn programme(rate_hz: u32, seed: u64) -> Vec<f64> {
    let rate = f64::from(rate_hz);
    let mut chance = noise(seed);
    let mut next = || chance.next().unwrap_or(0.0);
    let low_pass = 1.0 - (-TAU * 5000.0 / rate).exp();
    let (mut first, mut second) = (0.0, 0.0);
    let mut sound = Vec::new();
    for burst in 0..8 {
        let milliseconds = 100 + 10 * ((37 * seed + 61 * burst) % 97);
        let length = milliseconds * u64::from(rate_hz) / 1000;
        let level = 10f64.powf(-1.0 + next());
        let pitch = 110.0 * 2f64.powf(2.0 + 2.0 * next());
        for n in 0..length {
            let t = n as f64 / rate;
            first += low_pass * (next() - first);
            second += low_pass * (first - second);
            let mixed = 0.6 * second + 0.4 * (TAU * pitch * t).sin();
            sound.push(level * mixed * (-1.5 * t).exp() * (t / 0.005).min(1.0));
        }
        sound.extend((0..length / 4).map(|_| 0.0));
    }
    sound
}

/// How much louder the K-weighting is than the oracle's, in dB.
///
/// The oracle keeps the high-pass's printed numerator 1, −2, 1 at every rate, so that its level at high
/// frequencies is that of 48 kHz (0.043 dB) there only; ours is so everywhere, because BS.1770 asks other rates
/// for the same frequency response. With K = tan(π f₀/f_s) the oracle's level is 1 + K/Q + K².
fn above_the_oracle(rate_hz: u32) -> f64 {
    let level = |rate_hz: u32| {
        let k = (PI * 38.13547087602444 / f64::from(rate_hz)).tan();
        20.0 * (1.0 + k / 0.5003270373238773 + k * k).log10()
    };
    level(48_000) - level(rate_hz)
}

#[test]
fn random_programmes_have_the_loudness_and_peaks_that_another_implementation_finds() {
    for rate_hz in [44_100, 48_000, 96_000] {
        for seed in 1..=4 {
            let mut channels = vec![programme(rate_hz, seed), programme(rate_hz, seed + 100)];
            channels.truncate(if seed == 1 { 1 } else { 2 });
            let length = channels.iter().map(Vec::len).min().unwrap();
            for channel in &mut channels {
                channel.truncate(length);
            }

            let count = u32::try_from(channels.len()).unwrap();
            let mut oracle = EbuR128::new(count, rate_hz, Mode::I | Mode::TRUE_PEAK).unwrap();
            let planes: Vec<&[f64]> = channels.iter().map(Vec::as_slice).collect();
            oracle.add_frames_planar_f64(&planes).unwrap();
            let peak = |of: fn(&EbuR128, u32) -> Result<f64, ebur128::Error>| {
                20.0 * (0..count).map(|c| of(&oracle, c).unwrap()).fold(0.0, f64::max).log10()
            };

            let levels = measured(rate_hz, &channels).levels;
            let place = format!("programme {seed} at {rate_hz} Hz");
            let off = levels.loudness().integrated().unwrap().value() - oracle.loudness_global().unwrap();
            assert!(off.abs() <= 0.1, "{place}: {off} LU");
            let unexplained = off - above_the_oracle(rate_hz);
            assert!(unexplained.abs() <= 0.01, "{place}: {unexplained} LU, its high-pass apart");
            let off = levels.sample_peak().value() - peak(EbuR128::sample_peak);
            assert!(off.abs() < 1e-6, "{place}: sample peak {off} dB");
            let off = levels.true_peak().value() - peak(EbuR128::true_peak);
            assert!(off.abs() <= 0.1, "{place}: true peak {off} dB");
        }
    }
}
