//! The sound itself: damped modes summed, coil by coil.

use std::f64::consts::PI;

use super::Recipe;
use super::modes::{Mode, modes};
use super::performance::Pluck;
use crate::quantity::Db;

/// A rendered source: one channel a coil and their sum, at one gain.
#[derive(Debug, Clone, PartialEq)]
pub struct PluckedTake {
    rate: u32,
    coils: Vec<Vec<f64>>,
    sum: Vec<f64>,
}

/// Frames rendered at a time. Each block starts from the exact sine and exponential, so that rounding does not
/// gather and the block's own 512 steps of the recurrence stay below 1e-10 of the mode.
const BLOCK: usize = 512;
/// Modes stepped side by side, whose chains of operations do not wait for one another.
const LANES: usize = 4;
/// A mode is left out once it is weaker than this share of the string's strongest: a few hundred of them
/// together stay below 24 bits.
const INAUDIBLE: f64 = 1e-11;
/// The seconds over which a hand or the end of the source brings a string to rest.
const REST: f64 = 0.015;

impl PluckedTake {
    /// Returns the samples a second.
    pub const fn rate(&self) -> u32 {
        self.rate
    }

    /// Returns each coil's signal, in the order of the layout; none is weighted by its coil's output.
    pub fn coils(&self) -> &[Vec<f64>] {
        &self.coils
    }

    /// Returns the sum of the coils' signals, each times its coil's output.
    pub fn sum(&self) -> &[f64] {
        &self.sum
    }
}

impl Recipe {
    /// Returns the source. The same recipe gives the same samples on every run.
    ///
    /// One gain for all channels brings the highest peak among the coils and their sum to the peak that the
    /// settings ask for, so that their balance stays true.
    pub fn render(&self) -> PluckedTake {
        let mut coils = vec![vec![0.0; self.frames]; self.layout.coils().len()];
        for pluck in &self.performance.plucks {
            let string = self.sounding(pluck.stroke);
            let modes = modes(&string, pluck, &self.layout, &self.settings);
            self.add(pluck, &modes, &mut coils);
        }
        let end = self.frames as f64 / f64::from(self.settings.rate);
        for coil in &mut coils {
            for (sample, frame) in coil.iter_mut().zip(0u32..) {
                *sample *= resting(f64::from(frame) / f64::from(self.settings.rate), end);
            }
        }
        let mut sum = vec![0.0; self.frames];
        for (channel, coil) in coils.iter().zip(self.layout.coils()) {
            for (total, sample) in sum.iter_mut().zip(channel) {
                *total += sample * coil.output;
            }
        }
        let peak = coils.iter().chain([&sum]).flatten().fold(0.0f64, |peak, s| peak.max(s.abs()));
        if peak > 0.0 {
            let gain = Db::new(self.settings.peak.value()).amplitude() / peak;
            coils.iter_mut().chain([&mut sum]).flatten().for_each(|sample| *sample *= gain);
        }
        PluckedTake { rate: self.settings.rate, coils, sum }
    }

    /// Adds the sound of `modes`, let go as `pluck` says, to the coils' signals.
    fn add(&self, pluck: &Pluck, modes: &[Mode], coils: &mut [Vec<f64>]) {
        let step = 1.0 / f64::from(self.settings.rate);
        let first = self.frame_from(pluck.start);
        let last = pluck.stop.map_or(self.frames, |stop| self.frame_from(stop));
        let strongest = modes.iter().map(Mode::strength).fold(0.0, f64::max);
        let mut block = vec![[0.0; BLOCK]; coils.len()];
        for begin in (first..last).step_by(BLOCK) {
            let length = BLOCK.min(last - begin);
            let since = begin as f64 * step - pluck.start;
            block.fill([0.0; BLOCK]);
            let heard: Vec<&Mode> = modes
                .iter()
                .filter(|m| m.strength() * (-m.sigma * since).exp() > INAUDIBLE * strongest)
                .collect();
            for group in heard.chunks(LANES) {
                Lanes::starting(group, since, step, coils.len()).add(length, &mut block);
            }
            for (coil, sound) in coils.iter_mut().zip(&block) {
                let frames = coil[begin..begin + length].iter_mut().zip(sound).zip(begin..);
                match pluck.stop {
                    None => frames.for_each(|((out, s), _)| *out += s),
                    Some(stop) => frames.for_each(|((out, s), k)| *out += s * resting(k as f64 * step, stop)),
                }
            }
        }
    }

    /// Returns the first frame at or after `seconds`, at most the number of frames.
    fn frame_from(&self, seconds: f64) -> usize {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "not negative, clamped")]
        let frame = (seconds * f64::from(self.settings.rate)).ceil() as usize;
        frame.min(self.frames)
    }
}

/// Returns the factor on a sound that is at rest from `stop` on: a raised cosine over the [`REST`] before it.
fn resting(now: f64, stop: f64) -> f64 {
    let left = (stop - now) / REST;
    if left >= 1.0 {
        1.0
    } else if left <= 0.0 {
        0.0
    } else {
        0.5 - 0.5 * (PI * left).cos()
    }
}

impl Mode {
    /// Returns the mode's largest weight.
    fn strength(&self) -> f64 {
        self.weights.iter().fold(0.0, |most, w| most.max(w.abs()))
    }
}

/// Up to [`LANES`] modes as recurrences: y[k] = 2 e^(−σT) cos(ωT) · y[k−1] − e^(−2σT) · y[k−2].
struct Lanes {
    last: [f64; LANES],
    before: [f64; LANES],
    turn: [f64; LANES],
    fade: [f64; LANES],
    weights: Vec<[f64; LANES]>,
}

impl Lanes {
    /// Returns the recurrences whose next sample is that of `since` seconds after the pluck.
    fn starting(modes: &[&Mode], since: f64, step: f64, coils: usize) -> Self {
        let mut lanes = Self {
            last: [0.0; LANES],
            before: [0.0; LANES],
            turn: [0.0; LANES],
            fade: [0.0; LANES],
            weights: vec![[0.0; LANES]; coils],
        };
        for (l, mode) in modes.iter().enumerate() {
            let at = |t: f64| (-mode.sigma * t).exp() * (mode.omega * t).sin();
            lanes.last[l] = at(since - step);
            lanes.before[l] = at(since - 2.0 * step);
            lanes.turn[l] = 2.0 * (-mode.sigma * step).exp() * (mode.omega * step).cos();
            lanes.fade[l] = (-2.0 * mode.sigma * step).exp();
            for (coil, weight) in lanes.weights.iter_mut().zip(&mode.weights) {
                coil[l] = *weight;
            }
        }
        lanes
    }

    /// Adds `length` samples of each mode, by its weight, to each coil.
    fn add(mut self, length: usize, block: &mut [[f64; BLOCK]]) {
        for k in 0..length {
            let next: [f64; LANES] =
                std::array::from_fn(|l| self.turn[l] * self.last[l] - self.fade[l] * self.before[l]);
            self.before = self.last;
            self.last = next;
            for (coil, w) in block.iter_mut().zip(&self.weights) {
                coil[k] += (next[0] * w[0] + next[1] * w[1]) + (next[2] * w[2] + next[3] * w[3]);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pluck::{CoilPlace, Layout, Phrase, Settings};
    use crate::quantity::Metres;

    #[test]
    fn the_recurrences_give_the_modes_own_closed_form() {
        let layout = Layout::new(Metres::new(0.648), &[CoilPlace::at(Metres::new(0.045))]).unwrap();
        let settings = Settings { tempo: 20.0, rate: 44_100, ..Settings::default() };
        let recipe = Recipe::new(&Phrase::parse("x", "022100:1").unwrap(), layout, settings).unwrap();
        let take = recipe.render();
        let exact = |frame: usize| -> f64 {
            let plucks = recipe.performance.plucks.iter().map(|pluck| {
                let t = frame as f64 / 44_100.0 - pluck.start;
                let modes = modes(&recipe.sounding(pluck.stroke), pluck, &recipe.layout, &recipe.settings);
                let sum = modes.iter().map(|m| m.weights[0] * (-m.sigma * t).exp() * (m.omega * t).sin());
                if t < 0.0 { 0.0 } else { sum.sum() }
            });
            plucks.sum()
        };
        let gain = take.coils[0][1_000] / exact(1_000);
        for frame in (0..130_000).step_by(977) {
            let (made, exact) = (take.coils[0][frame], gain * exact(frame));
            assert!((made - exact).abs() < 1e-9, "frame {frame}: {made} {exact}");
        }
    }
}
