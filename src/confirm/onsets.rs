//! Where strings are struck in a take, found by how its spectrum rises.
//!
//! # Source
//! Spectral flux with half-wave rectification: S. Dixon, *Onset Detection Revisited*, DAFx 2006 (from memory). Magnitudes are
//! taken as logarithms above a floor 60 dB below the strongest bin, so that soft strums rise as loud ones do.

use crate::measure::HannTransform;
use crate::quantity::Seconds;

/// The least time between two strums; a strum over six strings lasts 20 to 100 ms.
pub(super) const APART: f64 = 0.22;
/// How long a frame is at least, and how far frames are apart.
const FRAME: f64 = 0.02;
const HOPS_IN_FRAME: usize = 4;
/// Where strings sound, in hertz.
const FROM: f64 = 80.0;
const TO: f64 = 6000.0;
/// The floor of logarithms: this many times below the strongest bin.
const FLOOR: f64 = 1000.0;
/// The share of the strongest rise that another one must have, beyond what is usual about it.
const SHARE: f64 = 0.2;
/// Noise rises and falls about what is usual, and never so many times as much.
const TIMES: f64 = 2.0;
/// How far around a frame tells what is usual.
const ABOUT: f64 = 0.6;
/// What was struck sounds on: louder by this factor than before, from the first to the second time after it.
const LOUDER: f64 = 1.12;
const AFTER: [f64; 2] = [0.08, 0.22];
const BEFORE: [f64; 2] = [-0.12, -0.02];
/// A touch of the strings is softer than the usual strum by more than this factor: 26 dB.
const TOUCH: f64 = 0.05;

/// Returns where strings are struck in `samples`, in rising order.
pub(super) fn onsets(samples: &[f64], rate_hz: u32) -> Vec<Seconds> {
    let rate = f64::from(rate_hz);
    let flux = Flux::of(samples, rate);
    let strongest = flux.rises.iter().copied().fold(0.0, f64::max);
    if strongest <= 0.0 {
        return Vec::new();
    }
    let about = frames_in(ABOUT, flux.hop_s);
    let apart = frames_in(APART, flux.hop_s);
    let mut found: Vec<(f64, f64)> = Vec::new();
    let mut last: Option<usize> = None;
    for (at, rise) in flux.rises.iter().enumerate() {
        let near = &flux.rises[at.saturating_sub(about)..(at + about + 1).min(flux.rises.len())];
        let is_highest = {
            let from = at.saturating_sub(apart / 2);
            let to = (at + apart / 2 + 1).min(flux.rises.len());
            flux.rises[from..to].iter().all(|other| other <= rise)
        };
        let usual = median(near);
        if !is_highest || *rise < usual + SHARE * strongest || *rise < TIMES * usual {
            continue;
        }
        if last.is_some_and(|last| at - last < apart) {
            continue;
        }
        let start = flux.start(at);
        let (before, after) = (rms(samples, rate, start, BEFORE), rms(samples, rate, start, AFTER));
        if after > LOUDER * before {
            found.push((start, after));
            last = Some(at);
        }
    }
    let usual = median(&found.iter().map(|(_, after)| *after).collect::<Vec<f64>>());
    found.retain(|(_, after)| *after > TOUCH * usual);
    found.into_iter().map(|(start, _)| Seconds::new(start)).collect()
}

/// How much a sound's spectrum rises from frame to frame.
struct Flux {
    rises: Vec<f64>,
    hop_s: f64,
}

impl Flux {
    fn of(samples: &[f64], rate: f64) -> Self {
        let length = frames_in(FRAME, 1.0 / rate).next_power_of_two();
        let hop = length / HOPS_IN_FRAME;
        let mut transform = HannTransform::new(length);
        let bin = |hz: f64| frames_in(hz, rate / length as f64);
        let (from, to) = (bin(FROM).max(1), bin(TO).min(length / 2));
        let mut magnitudes: Vec<Vec<f64>> = Vec::new();
        for start in (0..samples.len().saturating_sub(length)).step_by(hop) {
            let spectrum = transform.of(&samples[start..start + length]);
            magnitudes.push(spectrum[from..to].iter().map(|bin| bin.norm()).collect());
        }
        let strongest = magnitudes.iter().flatten().copied().fold(f64::MIN_POSITIVE, f64::max);
        for magnitude in magnitudes.iter_mut().flatten() {
            *magnitude = (1.0 + FLOOR * *magnitude / strongest).ln();
        }
        // Half a frame lies between those that are compared, so that a slow rise counts whole.
        let back = HOPS_IN_FRAME / 2;
        let rise = |at: usize| {
            let Some(before) = at.checked_sub(back) else { return 0.0 };
            let pairs = magnitudes[at].iter().zip(&magnitudes[before]);
            pairs.map(|(now, before)| (now - before).max(0.0)).sum()
        };
        Self { rises: (0..magnitudes.len()).map(rise).collect(), hop_s: hop as f64 / rate }
    }

    /// Returns when the rise at a frame begins: half a frame before its middle.
    fn start(&self, at: usize) -> f64 {
        at as f64 * self.hop_s
    }
}

/// Returns how many steps of `step` are in `span`, rounded.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "spans of seconds or hertz, not negative"
)]
pub(super) fn frames_in(span: f64, step: f64) -> usize {
    (span / step).round().max(0.0) as usize
}

/// Returns the part of `samples` from and to so many seconds after `start`.
pub(super) fn part(samples: &[f64], rate: f64, start: f64, [from, to]: [f64; 2]) -> &[f64] {
    let place = |at: f64| frames_in((start + at).max(0.0), 1.0 / rate).min(samples.len());
    let (from, to) = (place(from), place(to));
    &samples[from..to.max(from)]
}

fn rms(samples: &[f64], rate: f64, start: f64, within: [f64; 2]) -> f64 {
    let part = part(samples, rate, start, within);
    (part.iter().map(|sample| sample * sample).sum::<f64>() / part.len().max(1) as f64).sqrt()
}

/// Returns the median of `values`, zero of none.
pub(super) fn median(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    match sorted.len() {
        0 => 0.0,
        count if count % 2 == 1 => sorted[count / 2],
        count => f64::midpoint(sorted[count / 2 - 1], sorted[count / 2]),
    }
}

/// Returns the standard deviation of what is `off` by so much from its middle, each not negative, as the median tells it: of a
/// normal distribution that is 0.6745 of it.
pub(super) fn deviation(off: &[f64]) -> f64 {
    median(off) / 0.6745
}

#[cfg(test)]
mod tests {
    use std::f64::consts::TAU;

    use super::*;

    /// A number that is no more like that of its neighbour than chance: the finaliser of a common hash (MurmurHash3, from memory).
    fn mixed(n: u32) -> u32 {
        let n = n.wrapping_add(0x9e37_79b9);
        let n = (n ^ (n >> 16)).wrapping_mul(0x85eb_ca6b);
        let n = (n ^ (n >> 13)).wrapping_mul(0xc2b2_ae35);
        n ^ (n >> 16)
    }

    /// Chords of decaying sines at these times, with some noise and a click at those.
    fn take(rate: u32, times: &[f64], clicks: &[f64], length: f64) -> Vec<f64> {
        let rate = f64::from(rate);
        let mut samples = vec![0.0; frames_in(length, 1.0 / rate)];
        for (n, sample) in (0u32..).zip(samples.iter_mut()) {
            let noise = f64::from(mixed(n)) / 2f64.powi(31) - 1.0;
            *sample = 1e-4 * noise;
        }
        for (i, start) in times.iter().enumerate() {
            let from = frames_in(*start, 1.0 / rate);
            for (n, sample) in samples[from..].iter_mut().enumerate() {
                let t = n as f64 / rate;
                let gain = [0.05, 0.03, 0.06][i % 3] * (-1.5 * t).exp();
                *sample +=
                    gain * [110.0, 165.0, 220.0, 880.0].map(|f| (f * t * TAU).sin()).iter().sum::<f64>();
            }
        }
        for click in clicks {
            let from = frames_in(*click, 1.0 / rate);
            for sample in &mut samples[from..from + 30] {
                *sample += 0.4;
            }
        }
        samples
    }

    #[test]
    fn every_strum_is_found_where_it_begins_and_a_switchs_click_is_none() {
        for rate in [44_100, 48_000, 96_000] {
            let times = [0.6, 1.4, 1.9, 2.75, 5.4, 6.2];
            let found = onsets(&take(rate, &times, &[4.2, 4.6], 8.0), rate);
            assert_eq!(found.len(), times.len(), "{found:?}");
            for (found, time) in found.iter().zip(times) {
                assert!((found.value() - time).abs() < 0.03, "{found} for {time}");
            }
        }
    }

    #[test]
    fn silence_and_noise_have_no_strums() {
        assert!(onsets(&vec![0.0; 48_000], 48_000).is_empty());
        assert!(onsets(&take(48_000, &[], &[], 3.0), 48_000).is_empty());
        assert!(onsets(&[0.5; 10], 48_000).is_empty());
    }
}
