//! Recordings made of circuits in closed form, and what is read of them.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "frames of recordings, which are few and not negative"
)]

use std::f64::consts::TAU;

use num_complex::Complex64;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use realfft::RealFftPlanner;

use super::*;
use crate::document::Document;
use crate::guitar::Draft;
use crate::quantity::{Hertz, Ohms};
use crate::sound::Sound;
use crate::wiring::CoilName;

/// How a recording is made.
pub(super) struct Bench {
    pub(super) rate: u32,
    pub(super) series: f64,
    pub(super) input: f64,
    pub(super) cable: f64,
    pub(super) known: f64,
    pub(super) noise: f64,
    pub(super) hum: f64,
    pub(super) gain: f64,
}

impl Default for Bench {
    fn default() -> Self {
        Self {
            rate: 48_000,
            series: 100e3,
            input: 1e6,
            cable: 300e-12,
            known: 10e3,
            noise: 3e-5,
            hum: 2e-3,
            gain: 1.0,
        }
    }
}

pub(super) type Device<'d> = &'d dyn Fn(f64) -> Complex64;

impl Bench {
    /// Returns the recording of a device whose impedance at a frequency is `device`.
    pub(super) fn record(&self, device: Device<'_>) -> Vec<f64> {
        let signal = Signal::new(self.rate).unwrap().samples();
        let rate = f64::from(self.rate);
        let length = signal.len().next_power_of_two();
        let mut planner = RealFftPlanner::new();
        let (forward, inverse) = (planner.plan_fft_forward(length), planner.plan_fft_inverse(length));
        let mut padded = signal.clone();
        padded.resize(length, 0.0);
        let mut spectrum = forward.make_output_vec();
        forward.process(&mut padded, &mut spectrum).unwrap();
        let through = |admittance: &dyn Fn(f64) -> Complex64| {
            let mut bins = spectrum.clone();
            for (k, bin) in bins.iter_mut().enumerate() {
                let hz = k as f64 * rate / length as f64;
                let loaded = Complex64::new(1.0 / self.input, TAU * hz * self.cable) + admittance(hz);
                *bin *= 1.0 / (1.0 + self.series * loaded);
            }
            let last = bins.len() - 1;
            bins[0].im = 0.0;
            bins[last].im = 0.0;
            let mut out = inverse.make_output_vec();
            inverse.process(&mut bins, &mut out).unwrap();
            out.iter().map(|x| x / length as f64).collect::<Vec<f64>>()
        };
        let outs = [
            through(&|_| Complex64::ZERO),
            through(&|_| Complex64::from(1.0 / self.known)),
            through(&|hz| 1.0 / device(hz)),
        ];
        let mut random = ChaCha8Rng::seed_from_u64(7);
        let mut noise = || {
            (0..4).map(|_| f64::from(random.next_u32()) / f64::from(u32::MAX) - 0.5).sum::<f64>()
                * 3f64.sqrt()
        };
        let sections = Signal::sections();
        let value = |(frame, _): (usize, &f64)| {
            let time = frame as f64 / rate;
            let place = sections.iter().rposition(|section| section.from_s <= time).unwrap_or(0);
            let hum: f64 = [1.0, 0.5, 0.7, 0.2, 0.4]
                .iter()
                .zip(1..)
                .map(|(level, n)| level * (TAU * 50.0 * f64::from(n) * time + f64::from(n)).sin())
                .sum();
            self.gain * (outs[place][frame] + self.noise * noise() + self.hum * hum)
        };
        signal.iter().enumerate().map(value).collect()
    }

    pub(super) fn read(&self, samples: Vec<f64>) -> Result<Take, Refused> {
        let sound = Sound::from_planes("take", self.rate, vec![samples]).unwrap();
        Take::read(&sound, "10k 1%".parse().unwrap()).unwrap()
    }
}

/// A coil without a core.
pub(super) fn coil(hz: f64) -> Complex64 {
    let s = Complex64::new(0.0, TAU * hz);
    let inductive = s * 2.4;
    let lossy = inductive * 1e6 / (inductive + 1e6);
    1.0 / (1.0 / (6000.0 + lossy) + s * 120e-12)
}

fn off(take: &Take, device: Device<'_>) -> f64 {
    let points = take.points().iter();
    points.map(|point| (point.impedance / device(point.frequency.value())).ln().norm()).fold(0.0, f64::max)
}

/// Returns `samples` as another clock records them, by interpolation over 32 frames.
fn at_another_clock(samples: &[f64], apart: f64) -> Vec<f64> {
    let kernel = |x: f64| {
        let sinc = if x == 0.0 { 1.0 } else { (x * TAU / 2.0).sin() / (x * TAU / 2.0) };
        let place = x / 16.0;
        if place.abs() >= 1.0 { 0.0 } else { sinc * (0.5 + 0.5 * (place * TAU / 2.0).cos()) }
    };
    (0..samples.len())
        .map(|i| {
            let at = i as f64 / (1.0 + apart);
            let middle = at as usize;
            (middle.saturating_sub(15)..(middle + 17).min(samples.len()))
                .map(|k| samples[k] * kernel(at - k as f64))
                .sum()
        })
        .collect()
}

#[test]
fn an_impedance_is_read_whatever_source_input_cable_gain_and_channel_there_are() {
    for bench in [
        Bench::default(),
        Bench { series: 1e6, input: 220e3, cable: 700e-12, gain: 0.3, ..Bench::default() },
        Bench { rate: 44_100, series: 10e3, input: 10e3, noise: 3e-4, hum: 1e-2, ..Bench::default() },
    ] {
        let take = bench.read(bench.record(&coil)).unwrap();
        assert_eq!(take.points().len(), 71);
        for point in take.points() {
            let off = (point.impedance / coil(point.frequency.value())).ln().norm();
            assert!(off < 0.002 + 4.0 * point.deviation && off < 0.05, "{point:?}: {off}");
        }
        let source = take.source();
        let beside = 1.0 / (1.0 / bench.series + 1.0 / bench.input);
        assert!((source.resistance.value() / beside - 1.0).abs() < 0.002, "{source:?}");
        assert!((source.capacitance.value() / bench.cable - 1.0).abs() < 0.02, "{source:?}");
        assert!(take.notes().is_empty(), "{:?}", take.notes());
    }
}

#[test]
fn the_guitars_channel_is_found_and_clocks_apart_are_corrected_and_told() {
    let bench = Bench::default();
    let samples = bench.record(&coil);
    let played = Signal::new(bench.rate).unwrap().samples();
    let sound = Sound::from_planes("take", bench.rate, vec![played.clone(), samples.clone()]).unwrap();
    let take = Take::read(&sound, "10k 1%".parse().unwrap()).unwrap().unwrap();
    assert!(off(&take, &coil) < 0.005 && take.notes()[0].starts_with("channel 2 of 2"), "{:?}", take.notes());
    let refused = bench.read(played).unwrap_err();
    assert_eq!(refused.verdict, Verdict::NotThisSignal, "{refused:?}");
    for apart in [20e-6, -100e-6] {
        let take = bench.read(at_another_clock(&samples, apart)).unwrap();
        let off = off(&take, &coil);
        assert!(off < 0.01, "{off}");
        assert!(take.notes()[0].contains(&format!("{:.1} parts", apart * 1e6)), "{:?}", take.notes());
    }
    let refused = bench.read(at_another_clock(&samples, 200e-6)).unwrap_err();
    assert_eq!(refused.verdict, Verdict::TwoClocks, "{refused:?}");
}

#[test]
fn a_lost_frame_a_cut_off_peak_and_what_is_no_signal_are_told_apart() {
    let bench = Bench::default();
    let samples = bench.record(&coil);
    let starts = Signal::sections().map(|section| section.from_s);
    let without = |seconds: f64, frames: usize| {
        let at = (seconds * 48e3) as usize;
        let mut rest = samples.clone();
        rest.drain(at..at + frames);
        rest
    };
    let verdict = |samples: Vec<f64>| {
        let read = bench.read(samples).map(|take| take.points().len());
        read.expect_err("no values are told").verdict
    };
    for section in starts {
        assert_eq!(verdict(without(section + 3.0, 1)), Verdict::Slipped, "within the section at {section}");
    }
    for frames in [1, 2, 40, 500] {
        assert_eq!(
            verdict(without(starts[1] - 3.0, frames)),
            Verdict::Slipped,
            "{frames} before the second section"
        );
    }
    assert_eq!(verdict(without(starts[2] - 3.0, 4800)), Verdict::Slipped);
    let peak = samples.iter().fold(0.0, |peak: f64, x| peak.max(x.abs()));
    for share in [0.95, 0.6] {
        let cut = samples.iter().map(|x| x.clamp(-share * peak, share * peak)).collect();
        assert_eq!(verdict(cut), Verdict::Clipped, "{share}");
    }
    assert_eq!(verdict(samples[..samples.len() / 2].to_vec()), Verdict::NotThisSignal);
    assert_eq!(verdict(vec![0.0; samples.len()]), Verdict::TooQuiet);
    let silent = Bench { gain: 0.0, ..Bench::default() };
    assert_eq!(verdict(silent.record(&coil)), Verdict::TooQuiet);
    let hum = (0..samples.len()).map(|i| 0.05 * (TAU * 50.0 * i as f64 / 48e3).sin()).collect();
    assert_eq!(verdict(hum), Verdict::NotThisSignal);
    let noisy = Bench { noise: 0.2, ..Bench::default() };
    let read = noisy.read(noisy.record(&coil)).map(|_| ()).unwrap_err().verdict;
    assert_eq!(read, Verdict::TooQuiet);
}

#[test]
fn a_device_that_is_not_there_is_told_by_which_one_it_is() {
    let bench = Bench::default();
    let verdict =
        |bench: &Bench, device: Device<'_>| bench.read(bench.record(device)).map(|_| ()).unwrap_err().verdict;
    assert_eq!(verdict(&bench, &|_| Complex64::from(1e12)), Verdict::Open);
    assert_eq!(verdict(&Bench { known: 1e12, ..Bench::default() }, &coil), Verdict::WrongResistor);
}

fn subject(text: &str, place: Place) -> Subject {
    let draft = Draft::of(Document::new("mine.toml", text));
    let guitar = draft.check().unwrap();
    Subject::new(draft, guitar, 0, place).unwrap()
}

/// The points of a device without any noise.
fn points_of(device: Device<'_>) -> Vec<Point> {
    let at = |i: i32| 1000.0 * 2f64.powf(f64::from(i) / 12.0);
    let point = |hz: f64| Point { frequency: Hertz::new(hz), impedance: device(hz), deviation: 1e-4 };
    (-27..=43).map(at).map(point).collect()
}

#[test]
fn a_coils_values_come_back_from_its_impedance() {
    let alone = subject(
        "format = 1\n[[pickup]]\nname = \"p\"\nlike = \"single-coil\"\n",
        Place::Leads(Which::One(CoilName::A)),
    );
    let found = alone.measure(&Evidence::Curve(points_of(&coil)), Some(Ohms::new(6000.0))).unwrap().unwrap();
    let values = found.coils[0].values.map(|value| value.map_or(0.0, |own| own.value));
    assert_eq!(values[4..], [0.0; 2], "a coil without a core has no eddy section");
    for (value, expected, share) in [
        (values[0], 6000.0, 0.005),
        (values[1], 2.4, 0.005),
        (values[2], 120e-12, 0.01),
        (values[3], 1e6, 0.02),
    ] {
        assert!((value / expected - 1.0).abs() < share, "{value} {expected}");
    }
    assert_eq!(found.coils[0].health, Health::Healthy);
    let (draft, guitar) = found.put_into(&alone).unwrap();
    let coil = guitar.pickups()[0].coil_a();
    assert!(coil.measurement().is_some() && draft.text().contains("with = \"alone\""), "{}", draft.text());
    assert!(coil.inductance.origin.deviation().is_some(), "{}", draft.text());
}

/// A coil of 7,600 turns of AWG 42: 6.5 kΩ, 2.9 H, its unloaded peak at 7.85 kHz with a Q of 5.95, from which its capacitance and
/// its loss follow.
///
/// # Source
/// A magazine column on pickups' ohms, as quoted; the inductance at 120 Hz.
#[test]
fn a_published_coils_four_values_come_back_from_the_curve_that_they_make() {
    let [ohms, henries, peak, q] = [6500.0, 2.9, 7850.0, 5.95];
    let omega = TAU * peak;
    let farads = 1.0 / (omega * omega * henries);
    let loss = omega * henries / (1.0 / q - ohms / (omega * henries));
    let device = |hz: f64| {
        let s = Complex64::new(0.0, TAU * hz);
        let wound = ohms + 1.0 / (1.0 / (s * henries) + 1.0 / loss);
        1.0 / (1.0 / wound + s * farads)
    };
    let alone = subject(
        "format = 1\n[[pickup]]\nname = \"p\"\nlike = \"single-coil\"\n",
        Place::Leads(Which::One(CoilName::A)),
    );
    let found = alone.measure(&Evidence::Curve(points_of(&device)), Some(Ohms::new(ohms))).unwrap().unwrap();
    let values = found.coils[0].values.map(|value| value.map_or(0.0, |own| own.value));
    for (value, truth) in values.into_iter().zip([ohms, henries, farads, loss]) {
        assert!((value / truth - 1.0).abs() < 0.01, "{value} for {truth}");
    }
    // A short among its turns takes inductance and Q together.
    let shorted = |hz: f64| {
        let s = Complex64::new(0.0, TAU * hz);
        let wound = 0.9 * ohms + 1.0 / (1.0 / (s * 0.6 * henries) + 1.0 / 45e3);
        1.0 / (1.0 / wound + s * farads)
    };
    let found = alone.measure(&Evidence::Curve(points_of(&shorted)), None).unwrap().unwrap();
    assert_eq!(found.coils[0].health, Health::ShortedTurn);
}
