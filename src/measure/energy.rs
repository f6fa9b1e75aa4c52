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

/// The sums of one channel, those of its even frames apart from those of its odd ones.
///
/// So two frames are added side by side, and the sums do not depend on blocking all the same.
#[derive(Debug, Clone)]
struct Energy {
    weighting: KWeighting,
    /// Whether the next frame is an odd one.
    is_odd: bool,
    sums: Sums,
}

#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    plain: [f64; 2],
    squares: [f64; 2],
    /// The K-weighted squares of the current 100 ms.
    weighted: [f64; 2],
}

impl Sums {
    #[inline]
    fn add(&mut self, lane: usize, x: f64, y: f64) {
        self.plain[lane] += x;
        self.squares[lane] += x * x;
        self.weighted[lane] += y * y;
    }
}

impl Energy {
    fn add(&mut self, samples: &[f64]) {
        // Copies live in registers, where the members of a borrowed struct would be stored at every sample.
        let (mut weighting, mut sums) = (self.weighting.clone(), self.sums);
        let (lone, rest) = samples.split_at(samples.len().min(usize::from(self.is_odd)));
        let (pairs, last) = rest.as_chunks::<2>();
        for &x in lone {
            sums.add(1, x, weighting.next(x));
        }
        for &[even, odd] in pairs {
            let [weighted_even, weighted_odd] = weighting.next_two([even, odd]);
            sums.add(0, even, weighted_even);
            sums.add(1, odd, weighted_odd);
        }
        for &x in last {
            sums.add(0, x, weighting.next(x));
        }
        self.is_odd ^= samples.len() % 2 == 1;
        (self.weighting, self.sums) = (weighting, sums);
    }
}

impl EnergyMeter {
    pub(super) fn new(rate_hz: u32, channels: usize) -> Self {
        let energy = Energy { weighting: KWeighting::new(rate_hz), is_odd: false, sums: Sums::default() };
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
