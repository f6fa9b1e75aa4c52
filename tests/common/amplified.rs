//! Sounds through the generic amplifier, in memory.

use drywire::amp::{Cabinet, Chain, Stages};
use drywire::render::{Amplifier, Sink};
use num_complex::Complex64;

use super::render::Collected;

/// Returns what comes of `input` at the loudspeaker, and what would come if the stages were linear.
pub fn at_the_loudspeaker(rate_hz: u32, gain: f64, input: &[f64]) -> [Vec<f64>; 2] {
    let amplifier = Amplifier { rate_hz, gain, cabinet: Cabinet::Closed };
    let mut sink = amplifier.before(Collected::default(), 1, true);
    for block in input.chunks(8192) {
        sink.take(&[block]).unwrap();
    }
    sink.end().unwrap();
    sink.into_inner().0.try_into().unwrap()
}

/// Returns what comes of `input` after `stages`, late by their delay.
pub fn after(stages: &Stages, rate_hz: u32, gain: f64, input: &[f64]) -> Vec<f64> {
    let mut output = Vec::new();
    Chain::new(rate_hz, stages, gain).run(input, &mut output);
    output
}

pub fn sine(rate_hz: u32, frequency: f64, amplitude: f64, length: usize) -> Vec<f64> {
    let step = std::f64::consts::TAU * frequency / f64::from(rate_hz);
    (0..length).map(|n| amplitude * (step * n as f64).sin()).collect()
}

/// Returns the amplitude of the line at `frequency` in whole periods.
pub fn line(samples: &[f64], frequency: f64, rate_hz: u32) -> f64 {
    let step = -std::f64::consts::TAU * frequency / f64::from(rate_hz);
    let sum: Complex64 = samples.iter().enumerate().map(|(n, x)| Complex64::cis(step * n as f64) * x).sum();
    2.0 * sum.norm() / samples.len() as f64
}
