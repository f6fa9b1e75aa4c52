//! What the two marks of a section are apart, to a small part of a frame.

use std::f64::consts::TAU;

use num_complex::Complex64;
use realfft::RealFftPlanner;

use super::section::Record;
use super::signal::{Signal, frames};

/// The part of a mark's spectrum by which it is timed, in hertz: above the hum, below what coils take away.
const TIMED: [f64; 2] = [700.0, 8000.0];
/// What is looked at around a mark, in seconds either side.
const AROUND: f64 = 0.02;

/// Returns how many frames lie between the beginnings of the marks of the section that begins at `begins`.
pub(super) fn between_marks(record: &Record, begins: f64, rate_hz: u32) -> f64 {
    let rate = f64::from(rate_hz);
    let length = frames((Signal::MARK + 2.0 * AROUND) * rate);
    let size = (2 * length).next_power_of_two();
    let mut planner = RealFftPlanner::new();
    let (forward, inverse) = (planner.plan_fft_forward(size), planner.plan_fft_inverse(size));
    let parts = Signal::MARKS.map(|at| record.part(begins, at - AROUND, length));
    let spectra = parts.map(|(part, _)| {
        let mut padded = part.to_vec();
        padded.resize(size, 0.0);
        let mut bins = forward.make_output_vec();
        let done = forward.process(&mut padded, &mut bins);
        debug_assert!(done.is_ok(), "both are of the length that was planned");
        bins
    });
    let step = rate / size as f64;
    let counts = |k: usize| (TIMED[0]..TIMED[1]).contains(&(k as f64 * step));
    let cross: Vec<Complex64> = spectra[0]
        .iter()
        .zip(&spectra[1])
        .enumerate()
        .map(|(k, (first, second))| if counts(k) { second * first.conj() } else { Complex64::ZERO })
        .collect();
    let mut common = inverse.make_output_vec();
    let done = inverse.process(&mut cross.clone(), &mut common);
    debug_assert!(done.is_ok(), "both are of the length that was planned");
    let most = (0..size).max_by(|a, b| common[*a].total_cmp(&common[*b])).unwrap_or(0);
    let whole = if most > size / 2 { most as f64 - size as f64 } else { most as f64 };
    // What is left after whole frames is the slope of the phase, which is zero at zero.
    let (mut slope, mut weights) = (0.0, 0.0);
    for (k, bin) in cross.iter().enumerate().filter(|(k, _)| counts(*k)) {
        let turn = TAU * k as f64 / size as f64;
        let left = bin * Complex64::cis(turn * whole);
        slope -= bin.norm() * turn * left.arg();
        weights += bin.norm() * turn * turn;
    }
    let rest = if weights > 0.0 { slope / weights } else { 0.0 };
    let [first, second] = Signal::MARKS;
    // The parts begin at whole frames, each so much before its moment.
    (second - first) * rate - parts[1].1 + parts[0].1 + whole + rest
}
