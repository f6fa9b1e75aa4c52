//! Sums over a sound's samples: for its mean, its RMS level and its loudness.

use super::k_weighting::KWeighting;
use super::loudness::Loudness;
use crate::vectors::{LANES, in_wide_vectors};

/// Sums a sound's samples, squares and K-weighted squares, and keeps the last for each 100 ms.
#[derive(Debug, Clone)]
pub(super) struct EnergyMeter {
    channels: Vec<Energy>,
    hop: usize,
    /// How many frames of the current 100 ms are summed.
    filled: usize,
    loudness: Loudness,
}

/// The samples weighted at once: few enough to stay in the processor's first cache.
const PIECE: usize = 512;

/// The weighting and the sums of one channel.
#[derive(Debug, Clone)]
struct Energy {
    weighting: KWeighting,
    sums: Sums,
}

/// Sums side by side, in which each sample's lane is given by its place in the 100 ms, so that they do not depend on
/// blocking.
#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    plain: [f64; LANES],
    squares: [f64; LANES],
    /// The K-weighted squares of the current 100 ms.
    weighted: [f64; LANES],
}

impl Sums {
    /// Adds samples, of which the first lies at place `at` in its 100 ms, and what the weighting makes of them.
    #[inline(always)]
    fn add(&mut self, at: usize, samples: &[f64], weighted: &[f64]) {
        let lone = (at.next_multiple_of(LANES) - at).min(samples.len());
        let ((first, samples), (first_weighted, weighted)) =
            (samples.split_at(lone), weighted.split_at(lone));
        let (groups, rest) = samples.as_chunks::<LANES>();
        let (weighted_groups, weighted_rest) = weighted.as_chunks::<LANES>();
        for (lane, (x, y)) in (at % LANES..).zip(first.iter().zip(first_weighted)) {
            self.add_one(lane, *x, *y);
        }
        for (xs, ys) in groups.iter().zip(weighted_groups) {
            for lane in 0..LANES {
                self.add_one(lane, xs[lane], ys[lane]);
            }
        }
        for (lane, (x, y)) in rest.iter().zip(weighted_rest).enumerate() {
            self.add_one(lane, *x, *y);
        }
    }

    #[inline(always)]
    fn add_one(&mut self, lane: usize, x: f64, y: f64) {
        self.plain[lane] += x;
        self.squares[lane] += x * x;
        self.weighted[lane] += y * y;
    }
}

impl Energy {
    fn add(&mut self, at: usize, samples: &[f64]) {
        let weighted = self.weighting.run(samples);
        in_wide_vectors!(self.sums.add(at, samples, weighted));
    }
}

impl EnergyMeter {
    pub(super) fn new(rate_hz: u32, channels: usize) -> Self {
        let energy = Energy { weighting: KWeighting::new(rate_hz), sums: Sums::default() };
        // Where the rate has no whole tenth the hop is at most half a sample off, 0.06 % of it at 8 kHz.
        let hop = (rate_hz as usize + 5) / 10;
        Self { channels: vec![energy; channels], hop, filled: 0, loudness: Loudness::default() }
    }

    pub(super) fn push(&mut self, block: &[&[f64]]) {
        let length = block.first().map_or(0, |channel| channel.len());
        let mut done = 0;
        while done < length {
            let end = length.min(done + PIECE.min(self.hop - self.filled));
            for (energy, samples) in self.channels.iter_mut().zip(block) {
                energy.add(self.filled, &samples[done..end]);
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
            power += std::mem::take(&mut energy.sums.weighted).iter().sum::<f64>() / self.hop as f64;
            energy.weighting.settle();
        }
        self.loudness.keep(power);
        self.filled = 0;
    }

    /// Returns the sums of samples and of squares for each channel.
    pub(super) fn sums(&self) -> impl Iterator<Item = (f64, f64)> {
        self.channels.iter().map(|e| (e.sums.plain.iter().sum(), e.sums.squares.iter().sum()))
    }

    pub(super) fn into_loudness(self) -> Loudness {
        self.loudness
    }
}
