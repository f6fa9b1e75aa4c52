//! What it takes to read a recording of the signal and to fit a coil to it.

#![allow(clippy::unwrap_used, reason = "a bench stops where its data are not as expected")]

use std::f64::consts::TAU;

use divan::{Bencher, black_box};
use drywire::document::Document;
use drywire::guitar::Draft;
use drywire::impedance::{Evidence, Known, Place, Signal, Subject, Take, Which};
use drywire::quantity::Ohms;
use drywire::sound::Sound;
use drywire::wiring::CoilName;
use num_complex::Complex64;
use realfft::RealFftPlanner;

fn main() {
    divan::main();
}

const RATE: u32 = 48_000;

/// Returns a recording of a coil of 6 kΩ, 2.4 H and 120 pF, through 100 kΩ into 1 MΩ.
fn recording() -> Sound {
    let played = Signal::new(RATE).unwrap().samples();
    let size = played.len().next_power_of_two();
    let mut planner = RealFftPlanner::new();
    let (forward, inverse) = (planner.plan_fft_forward(size), planner.plan_fft_inverse(size));
    let mut padded = played.clone();
    padded.resize(size, 0.0);
    let mut spectrum = forward.make_output_vec();
    forward.process(&mut padded, &mut spectrum).unwrap();
    let coil = |s: Complex64| 1.0 / (6000.0 + 1.0 / (1.0 / (2.4 * s) + 1e-6)) + 120e-12 * s;
    let admittances: [&dyn Fn(Complex64) -> Complex64; 3] =
        [&|_| Complex64::ZERO, &|_| Complex64::from(1e-4), &coil];
    let mut samples = vec![0.0; played.len()];
    for (section, device) in Signal::sections().iter().zip(admittances) {
        let mut bins = spectrum.clone();
        for (k, bin) in bins.iter_mut().enumerate() {
            // At no frequency at all an inductor's admittance is infinite.
            let hz = (k as f64).max(1e-3) * f64::from(RATE) / size as f64;
            let s = Complex64::new(0.0, TAU * hz);
            *bin /= 1.0 + 1e5 * (1e-6 + 4e-10 * s + device(s));
        }
        let last = bins.len() - 1;
        (bins[0].im, bins[last].im) = (0.0, 0.0);
        let mut heard = inverse.make_output_vec();
        inverse.process(&mut bins, &mut heard).unwrap();
        for (frame, sample) in samples.iter_mut().enumerate() {
            if (section.from_s..section.to_s).contains(&(frame as f64 / f64::from(RATE))) {
                *sample = heard[frame] / size as f64;
            }
        }
    }
    Sound::from_planes("take", RATE, vec![samples]).unwrap()
}

fn known() -> Known {
    "10k 1%".parse().unwrap()
}

#[divan::bench]
fn read(bencher: Bencher) {
    let sound = recording();
    bencher.bench_local(|| Take::read(black_box(&sound), known()).unwrap().unwrap());
}

#[divan::bench]
fn fitted(bencher: Bencher) {
    let take = Take::read(&recording(), known()).unwrap().unwrap();
    let text = "format = 1\n[[pickup]]\nname = \"p\"\nlike = \"vintage-full-size\"\n";
    let draft = Draft::of(Document::new("mine.toml", text));
    let guitar = draft.check().unwrap();
    let subject = Subject::new(draft, guitar, 0, Place::Leads(Which::One(CoilName::A))).unwrap();
    let evidence = Evidence::Take(take, known());
    bencher.bench_local(|| subject.measure(black_box(&evidence), Some(Ohms::new(6000.0))).unwrap().unwrap());
}
