//! The loudest moment of a sound.

use super::windows::Windows;

/// Finds the loudest of a sound's whole windows of 50 ms.
#[derive(Debug, Clone)]
pub struct LoudestMeter {
    windows: Windows,
    /// The sum of squares of the window at hand, a channel.
    sums: Vec<f64>,
    highest: f64,
    frames: u64,
}

impl LoudestMeter {
    /// Returns a meter for a sound of `rate_hz` samples a second and `channels` channels.
    pub fn new(rate_hz: u32, channels: usize) -> Self {
        Self { windows: Windows::new(rate_hz), sums: vec![0.0; channels], highest: 0.0, frames: 0 }
    }

    /// Measures the next samples: one slice a channel, all of one length, 1 being full scale.
    pub fn push(&mut self, block: &[&[f64]]) {
        let frames = block.first().map_or(0, |channel| channel.len());
        self.frames += frames as u64;
        self.windows.cut(frames, |part, ends| {
            for (sum, channel) in self.sums.iter_mut().zip(block) {
                *sum = channel[part.clone()].iter().fold(*sum, |sum, x| sum + x * x);
            }
            if ends {
                self.highest = self.highest.max(self.sums.iter().sum());
                self.sums.fill(0.0);
            }
        });
    }

    /// Returns the amplitude of the sine that has the power of the loudest window, channels' powers averaged; of a sound
    /// shorter than a window that of all of it. Silence has 0.
    pub fn finish(self) -> f64 {
        let length = self.windows.length() as u64;
        let (sum, frames) = if self.frames < length {
            (self.sums.iter().sum(), self.frames.max(1))
        } else {
            (self.highest, length)
        };
        (2.0 * sum / frames as f64 / self.sums.len() as f64).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_loudest_window_is_found_however_the_sound_is_cut() {
        // 0.1 s at 0.25, 0.1 s at 0.5 from a window's start on.
        let sound: Vec<f64> =
            (0..9600).map(|n| if n < 4800 { 0.25 } else { 0.5 } * (0.13 * f64::from(n)).sin()).collect();
        let of = |cuts: &[usize]| {
            let mut meter = LoudestMeter::new(48_000, 1);
            let mut from = 0;
            for to in cuts.iter().copied().chain([sound.len()]) {
                meter.push(&[&sound[from..to]]);
                from = to;
            }
            meter.finish()
        };
        let whole = of(&[]);
        assert!((whole - 0.5).abs() < 2e-3, "{whole}");
        assert_eq!(whole, of(&[1, 2400, 2401, 7000]));
    }

    #[test]
    fn what_is_shorter_than_a_window_is_one_and_channels_powers_are_averaged() {
        let mut meter = LoudestMeter::new(48_000, 2);
        meter.push(&[&[1.0; 10], &[0.0; 10]]);
        assert_eq!(meter.finish(), 1.0);
        assert_eq!(LoudestMeter::new(48_000, 1).finish(), 0.0);
    }
}
