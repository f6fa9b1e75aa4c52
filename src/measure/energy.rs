//! Sums over a sound's samples: for its mean, its RMS level and its loudness.

use super::k_weighting::KWeighting;
use super::loudness::Loudness;
use crate::vectors::{LANES, in_vectors_of_four};

/// Sums a sound's samples, squares and K-weighted squares, and keeps the last for each 100 ms.
#[derive(Debug, Clone)]
pub(super) struct EnergyMeter {
    channels: Vec<Energy>,
    hop: usize,
    /// How many frames of the current 100 ms are summed.
    filled: usize,
    loudness: Loudness,
}

/// The weighting and the sums of one channel.
#[derive(Debug, Clone)]
struct Energy {
    weighting: KWeighting,
    sums: Sums,
    /// The samples that wait for eight to be full: eight are weighted at once, counted from the 100 ms' beginning, so that
    /// no bit depends on blocking.
    waiting: [f64; LANES],
    count: usize,
}

/// Sums side by side, one for each place in eight samples.
#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    plain: [f64; LANES],
    squares: [f64; LANES],
    /// The K-weighted squares of the current 100 ms.
    weighted: [f64; LANES],
}

impl Sums {
    #[inline(always)]
    fn add(&mut self, lane: usize, x: f64, weighted: f64) {
        self.plain[lane] += x;
        self.squares[lane] += x * x;
        self.weighted[lane] += weighted * weighted;
    }
}

impl Energy {
    fn add(&mut self, mut samples: &[f64]) {
        if self.count > 0 {
            let (first, rest) = samples.split_at(samples.len().min(LANES - self.count));
            self.wait(first);
            samples = rest;
            if self.count < LANES {
                return;
            }
            self.count = 0;
            in_vectors_of_four!(self.add_groups(&[self.waiting]));
        }
        let (groups, rest) = samples.as_chunks::<LANES>();
        in_vectors_of_four!(self.add_groups(groups));
        self.wait(rest);
    }

    fn wait(&mut self, samples: &[f64]) {
        self.waiting[self.count..][..samples.len()].copy_from_slice(samples);
        self.count += samples.len();
    }

    #[inline(always)]
    fn add_groups(&mut self, groups: &[[f64; LANES]]) {
        // What is not reached through a reference stays in the processor's registers.
        let mut sums = self.sums;
        self.weighting.run(groups, |group, weighted| {
            for lane in 0..LANES {
                sums.add(lane, group[lane], weighted[lane]);
            }
        });
        self.sums = sums;
    }

    /// Adds the samples that still wait.
    fn end(&mut self) {
        for lane in 0..std::mem::take(&mut self.count) {
            let x = self.waiting[lane];
            self.sums.add(lane, x, self.weighting.run_one(x));
        }
    }
}

impl EnergyMeter {
    pub(super) fn new(rate_hz: u32, channels: usize) -> Self {
        let energy = Energy {
            weighting: KWeighting::new(rate_hz),
            sums: Sums::default(),
            waiting: [0.0; LANES],
            count: 0,
        };
        // Where the rate has no whole tenth the hop is at most half a sample off, 0.06 % of it at 8 kHz.
        let hop = (rate_hz as usize + 5) / 10;
        Self { channels: vec![energy; channels], hop, filled: 0, loudness: Loudness::default() }
    }

    pub(super) fn push(&mut self, block: &[&[f64]]) {
        let length = block.first().map_or(0, |channel| channel.len());
        let mut done = 0;
        while done < length {
            let end = length.min(done + self.hop - self.filled);
            for (energy, samples) in self.channels.iter_mut().zip(block) {
                energy.add(&samples[done..end]);
            }
            self.filled += end - done;
            done = end;
            if self.filled == self.hop {
                self.keep_hop();
            }
        }
    }

    fn keep_hop(&mut self) {
        let mut power = 0.0;
        for energy in &mut self.channels {
            energy.end();
            power += std::mem::take(&mut energy.sums.weighted).iter().sum::<f64>() / self.hop as f64;
            energy.weighting.settle();
        }
        self.loudness.keep(power);
        self.filled = 0;
    }

    /// Returns the sums of samples and of squares for each channel, and the loudness.
    pub(super) fn finish(mut self) -> (Vec<(f64, f64)>, Loudness) {
        self.channels.iter_mut().for_each(Energy::end);
        let totals = |e: &Energy| (e.sums.plain.iter().sum(), e.sums.squares.iter().sum());
        (self.channels.iter().map(totals).collect(), self.loudness)
    }
}
