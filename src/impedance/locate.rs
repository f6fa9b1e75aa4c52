//! Where the three sweeps are in a recording, found by correlation with the sweep at a low rate.

use num_complex::Complex64;
use realfft::RealFftPlanner;

use super::signal::{Signal, frames};

/// The least rate at which sweeps are looked for, in hertz.
const RATE: f64 = 8000.0;
/// How far each sweep may be from where it is to be, in seconds: clocks, what the devices delay, and what may have been lost.
pub(super) const OFF: f64 = 0.02;
/// A place is a sweep's where so much of the power there is that of the sweep, as it is before any device, at least.
pub(super) const LEAST: f64 = 0.1;

/// A recording's channels at a low rate: means of so many frames each.
#[derive(Debug)]
pub(super) struct Thinned {
    factor: usize,
    rate: f64,
    channels: Vec<Channel>,
}

#[derive(Debug, Default)]
struct Channel {
    means: Vec<f64>,
    sum: f64,
    summed: usize,
}

/// Where the sweeps of a channel begin, in frames of the recording.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Located {
    /// All three, as far apart as they were played but for some milliseconds.
    All([f64; 3]),
    /// So many sweeps, which do not stand as they were played.
    Some(usize),
    /// None; and the channel's level, the root of the mean power against full scale.
    Nothing(f64),
}

impl Thinned {
    /// Returns a recording at `rate_hz` without any frames yet.
    pub(super) fn new(rate_hz: u32, channels: usize) -> Self {
        let factor = (rate_hz / 8000).max(1);
        Self {
            factor: factor as usize,
            rate: f64::from(rate_hz) / f64::from(factor),
            channels: (0..channels).map(|_| Channel::default()).collect(),
        }
    }

    /// Takes a block of frames, a plane of samples a channel.
    pub(super) fn take(&mut self, block: &[Vec<f64>]) {
        let factor = self.factor;
        for (channel, plane) in self.channels.iter_mut().zip(block) {
            for sample in plane {
                channel.sum += sample;
                channel.summed += 1;
                if channel.summed == factor {
                    channel.means.push(channel.sum / factor as f64);
                    (channel.sum, channel.summed) = (0.0, 0);
                }
            }
        }
    }

    /// Returns where the sweeps of each channel are.
    pub(super) fn locate(&self) -> Vec<Located> {
        debug_assert!(self.rate >= RATE);
        // The sweep as far as the low rate holds it; what lies above is folded down, falling, and is like no part of it.
        let length = frames(Signal::passes(0.35 * self.rate) * self.rate);
        let sweep: Vec<f64> = (0..length).map(|i| Signal::sweep(i as f64 / self.rate)).collect();
        self.channels.iter().map(|channel| self.in_channel(&channel.means, &sweep)).collect()
    }

    fn in_channel(&self, means: &[f64], sweep: &[f64]) -> Located {
        let level = (means.iter().map(|x| x * x).sum::<f64>() / means.len().max(1) as f64).sqrt();
        if means.len() <= sweep.len() {
            return Located::Nothing(level);
        }
        let likeness = likeness(means, sweep);
        let reach = frames(OFF * self.rate);
        let starts = Signal::starts();
        let offsets = starts.map(|start| frames((start - starts[0]) * self.rate));
        let near = |place: usize| {
            let from = place.saturating_sub(reach);
            let to = (place + reach + 1).min(likeness.len());
            (from..to).max_by(|a, b| likeness[*a].total_cmp(&likeness[*b])).map(|at| (likeness[at], at))
        };
        let mut best: Option<(f64, [usize; 3])> = None;
        let last = likeness.len().saturating_sub(offsets[2]);
        for (first, alike) in likeness[..last].iter().enumerate() {
            if *alike < LEAST || best.is_some_and(|(least, _)| *alike <= least) {
                continue;
            }
            let (Some((second, at_second)), Some((third, at_third))) =
                (near(first + offsets[1]), near(first + offsets[2]))
            else {
                continue;
            };
            let least = alike.min(second).min(third);
            if least >= LEAST && best.is_none_or(|(known, _)| least > known) {
                best = Some((least, [first, at_second, at_third]));
            }
        }
        // A mean stands for the middle of its frames.
        let frame = |place: usize| place as f64 * self.factor as f64;
        match best {
            Some((_, places)) => Located::All(places.map(frame)),
            None => match self.peaks(&likeness) {
                0 => Located::Nothing(level),
                count => Located::Some(count),
            },
        }
    }

    /// Returns how many sweeps there are, wherever they stand.
    fn peaks(&self, likeness: &[f64]) -> usize {
        let apart = frames(0.5 * Signal::SWEEP * self.rate);
        let mut left: Vec<usize> = (0..likeness.len()).filter(|at| likeness[*at] >= 2.0 * LEAST).collect();
        left.sort_by(|a, b| likeness[*b].total_cmp(&likeness[*a]));
        let mut peaks: Vec<usize> = Vec::new();
        for at in left {
            if peaks.iter().all(|peak| peak.abs_diff(at) > apart) {
                peaks.push(at);
            }
        }
        peaks.len()
    }
}

/// Returns at each place how much of the power there is that of `sweep`, 1 where it is nothing else.
pub(super) fn likeness(means: &[f64], sweep: &[f64]) -> Vec<f64> {
    let length = (means.len() + sweep.len()).next_power_of_two();
    let mut planner = RealFftPlanner::new();
    let (forward, inverse) = (planner.plan_fft_forward(length), planner.plan_fft_inverse(length));
    let [whole, wanted] = [means, sweep].map(|samples| {
        let mut padded = samples.to_vec();
        padded.resize(length, 0.0);
        let mut spectrum = forward.make_output_vec();
        let done = forward.process(&mut padded, &mut spectrum);
        debug_assert!(done.is_ok(), "both are of the length that was planned");
        spectrum
    });
    let mut cross: Vec<Complex64> =
        whole.iter().zip(&wanted).map(|(one, other)| one * other.conj()).collect();
    // The ends are real, as they are of any real sequence.
    for end in [0, cross.len() - 1] {
        cross[end].im = 0.0;
    }
    let mut common = inverse.make_output_vec();
    let done = inverse.process(&mut cross, &mut common);
    debug_assert!(done.is_ok(), "both are of the length that was planned");
    let own: f64 = sweep.iter().map(|x| x * x).sum();
    let mut powers = vec![0.0];
    powers.extend(means.iter().scan(0.0, |sum, x| {
        *sum += x * x;
        Some(*sum)
    }));
    let places = means.len() - sweep.len() + 1;
    // A silent place is like nothing.
    let floor = 1e-18 * sweep.len() as f64;
    (0..places)
        .map(|place| {
            let power = (powers[place + sweep.len()] - powers[place]).max(0.0) + floor;
            let common = common[place] / length as f64;
            common * common / (own * power)
        })
        .collect()
}
