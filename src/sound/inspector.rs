//! A look at the samples themselves, fed by the pass that measures them.

use super::{Sound, Warning};
use crate::quantity::Db;
use crate::vectors::{LANES, in_wide_vectors};

/// The samples in a row at full scale from which on a recording is called clipped. Common practice, no source: a
/// single sample reaches full scale in a normalised recording, and two can.
const CLIPPED_RUN: u32 = 3;

/// The mean, in full scales, from which on a DC offset is told: −40 dB, our own convention. The mean of a short
/// take that ends within a cycle stays far below it.
const OFFSET: f64 = 0.01;

/// The power of the sum of two channels, against that of the channels, below which they are said to cancel: −60
/// dB, our own convention.
const CANCELLED: f64 = 1e-6;

/// Gathers what is odd about a sound's samples.
#[derive(Debug, Clone)]
pub struct Inspector {
    full_scale: f64,
    channels: Vec<Channel>,
    frames: u64,
    sum_power: f64,
    own_power: f64,
}

#[derive(Debug, Clone, Default)]
struct Channel {
    sum: f64,
    peak: f64,
    over: u64,
    last: f64,
    run: u32,
    runs: u64,
    first_run: u64,
}

impl Inspector {
    /// Returns an inspector for the samples of `sound`.
    pub fn new(sound: &Sound) -> Self {
        Self {
            full_scale: sound.full_scale(),
            channels: vec![Channel::default(); sound.channels()],
            frames: 0,
            sum_power: 0.0,
            own_power: 0.0,
        }
    }

    /// Takes in the next block, as [`Blocks::next_block`](super::Blocks::next_block) gave it.
    pub fn add(&mut self, block: &[Vec<f64>]) {
        for (channel, plane) in self.channels.iter_mut().zip(block) {
            channel.add(plane, self.frames, self.full_scale);
        }
        if let [left, right] = block {
            for (l, r) in left.iter().zip(right) {
                self.sum_power += (l + r) * (l + r);
                self.own_power += l * l + r * r;
            }
        }
        self.frames += block.first().map_or(0, Vec::len) as u64;
    }

    /// Returns whether every sample so far is zero.
    pub fn is_silent(&self) -> bool {
        self.channels.iter().all(|channel| channel.peak == 0.0)
    }

    /// Returns what was found.
    pub fn warnings(&self) -> Vec<Warning> {
        let mut warnings = Vec::new();
        let runs = self.channels.iter().map(|c| c.runs).sum();
        let clipped = self.channels.iter().enumerate().filter(|(_, c)| c.runs > 0);
        if let Some((index, channel)) = clipped.min_by_key(|(_, c)| c.first_run) {
            warnings.push(Warning::Clipped { runs, first: channel.first_run, channel: index + 1 });
        }
        let samples = self.channels.iter().map(|c| c.over).sum();
        if samples > 0 {
            let peak = self.channels.iter().fold(0.0, |peak: f64, c| peak.max(c.peak));
            warnings.push(Warning::OverFullScale { samples, peak: Db::of_amplitude(peak) });
        }
        if self.own_power > 0.0 && self.sum_power <= CANCELLED * self.own_power {
            warnings.push(Warning::ChannelsCancel);
        }
        for (index, channel) in self.channels.iter().enumerate() {
            let mean = channel.sum / self.frames.max(1) as f64;
            if mean.abs() >= OFFSET {
                warnings.push(Warning::Offset { channel: index + 1, mean });
            }
        }
        warnings
    }
}

impl Channel {
    fn add(&mut self, plane: &[f64], start: u64, full_scale: f64) {
        let (sum, peak) = in_wide_vectors!(sum_and_peak(plane));
        self.sum += sum;
        self.peak = self.peak.max(peak);
        if peak < full_scale {
            self.run = 0;
            return;
        }
        for (frame, &x) in (start..).zip(plane) {
            self.over += u64::from(x.abs() > 1.0);
            if x.abs() < full_scale {
                self.run = 0;
                continue;
            }
            // A run is flat: a float signal that swings on above full scale is not clipped.
            self.run = if self.run > 0 && x.to_bits() == self.last.to_bits() { self.run + 1 } else { 1 };
            self.last = x;
            if self.run == CLIPPED_RUN {
                if self.runs == 0 {
                    self.first_run = frame + 1 - u64::from(CLIPPED_RUN);
                }
                self.runs += 1;
            }
        }
    }
}

/// Returns the sum of samples and the largest magnitude.
#[inline(always)]
fn sum_and_peak(samples: &[f64]) -> (f64, f64) {
    let (groups, rest) = samples.as_chunks::<LANES>();
    let (mut sums, mut peaks) = ([0.0; LANES], [0.0f64; LANES]);
    for group in groups {
        for lane in 0..LANES {
            sums[lane] += group[lane];
            peaks[lane] = peaks[lane].max(group[lane].abs());
        }
    }
    let sum = sums.iter().chain(rest).sum();
    (sum, peaks.iter().chain(rest).fold(0.0, |peak, x| peak.max(x.abs())))
}
