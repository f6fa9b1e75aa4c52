//! Sums over a sound's samples: for its mean, its RMS level and its loudness.

use super::k_weighting::KWeighting;
use super::loudness::Loudness;

/// Sums a sound's samples, squares and K-weighted squares, and keeps the last for each 100 ms.
#[derive(Debug, Clone)]
pub(super) struct EnergyMeter {
    channels: Vec<Energy>,
    hop: usize,
    /// How many frames of the current 100 ms are summed.
    filled: usize,
    loudness: Loudness,
}

/// The sums of one channel.
#[derive(Debug, Clone)]
struct Energy {
    weighting: KWeighting,
    sum: f64,
    squares: f64,
    /// The K-weighted squares of the current 100 ms.
    weighted: f64,
}

impl Energy {
    /// Adds the samples one after the other, whatever the block, so that the sums do not depend on blocking.
    fn add(&mut self, samples: &[f64]) {
        // Copies live in registers, where the members of a borrowed struct would be stored at every sample.
        let mut weighting = self.weighting.clone();
        let (mut sum, mut squares, mut weighted) = (self.sum, self.squares, self.weighted);
        for &x in samples {
            sum += x;
            squares += x * x;
            let y = weighting.next(x);
            weighted += y * y;
        }
        (self.weighting, self.sum, self.squares, self.weighted) = (weighting, sum, squares, weighted);
    }
}

impl EnergyMeter {
    pub(super) fn new(rate_hz: u32, channels: usize) -> Self {
        let energy = Energy { weighting: KWeighting::new(rate_hz), sum: 0.0, squares: 0.0, weighted: 0.0 };
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
            power += std::mem::take(&mut energy.weighted) / self.hop as f64;
            energy.weighting.settle();
        }
        self.loudness.keep(power);
        self.filled = 0;
    }

    /// Returns the sums of samples and of squares for each channel.
    pub(super) fn sums(&self) -> impl Iterator<Item = (f64, f64)> {
        self.channels.iter().map(|energy| (energy.sum, energy.squares))
    }

    pub(super) fn into_loudness(self) -> Loudness {
        self.loudness
    }
}
