//! One channel through the amplifier's stages, at a rate so high that what they add is not folded back.

use std::sync::Arc;

use super::coupling::Coupling;
use super::curve::Curve;
use super::half_band::{Doubler, Halver};
use super::stages::Stages;

/// The rate that the stages work at, at least, in hertz: eight times 44.1 kHz.
const HIGH: u32 = 352_800;
/// The samples taken at once: few enough to stay in the processor's first cache at the high rate.
const PIECE: usize = 128;

/// Returns how many times `rate_hz` the stages' rate is: 8 at 44.1 and 48 kHz, 4 at 88.2 and 96, 2 above.
pub fn rate_factor(rate_hz: u32) -> u32 {
    let mut factor = 2;
    while factor * rate_hz < HIGH {
        factor *= 2;
    }
    factor
}

/// One channel on its way through the stages, sample by sample: however it is cut, the same comes out.
#[derive(Debug, Clone)]
pub struct Chain {
    gain: f64,
    up: Vec<Doubler>,
    /// What stands before the first and before the second curve.
    couplings: [Option<Coupling>; 2],
    first: Option<Arc<Curve>>,
    second: Arc<Curve>,
    /// The halvers, the last rate first.
    down: Vec<Halver>,
    buffers: [Vec<f64>; 2],
}

impl Chain {
    /// Returns a channel of `rate_hz` through `stages` after a `gain`.
    pub fn new(rate_hz: u32, stages: &Stages, gain: f64) -> Self {
        let (rate, factor) = (f64::from(rate_hz), rate_factor(rate_hz));
        let rates: Vec<f64> = (0..factor.ilog2()).map(|n| rate * f64::from(1 << n)).collect();
        let coupling = stages.is_coupled.then(|| Coupling::new(rate * f64::from(factor)));
        Self {
            gain,
            up: rates.iter().map(|rate| Doubler::new(*rate)).collect(),
            couplings: [coupling.clone(), coupling],
            first: stages.first.clone(),
            second: stages.second.clone(),
            down: rates.iter().rev().map(|rate| Halver::new(*rate)).collect(),
            buffers: [Vec::new(), Vec::new()],
        }
    }

    /// Returns by how many samples what comes out is late.
    pub fn delay(&self) -> f64 {
        // Each rate's filters are passed twice.
        let stages = self.up.iter().zip(0..);
        stages.map(|(doubler, doublings)| 2.0 * doubler.delay() / f64::from(1 << doublings)).sum()
    }

    /// Appends to `output` as many samples as `input` has.
    pub fn run(&mut self, input: &[f64], output: &mut Vec<f64>) {
        for piece in input.chunks(PIECE) {
            let [mut own, mut other] = std::mem::take(&mut self.buffers);
            own.clear();
            own.extend(piece.iter().map(|x| self.gain * x));
            for doubler in &mut self.up {
                doubler.run(&own, &mut other);
                std::mem::swap(&mut own, &mut other);
            }
            let [before_first, before_second] = &mut self.couplings;
            if let Some(first) = &self.first {
                pass(&mut own, before_first.as_mut(), first);
            }
            pass(&mut own, before_second.as_mut(), &self.second);
            for halver in &mut self.down {
                halver.run(&own, &mut other);
                std::mem::swap(&mut own, &mut other);
            }
            output.extend_from_slice(&own);
            self.buffers = [own, other];
        }
    }
}

/// Passes samples through a coupling, if there is one, and a curve.
fn pass(samples: &mut [f64], coupling: Option<&mut Coupling>, curve: &Curve) {
    match coupling {
        Some(coupling) => samples.iter_mut().for_each(|x| *x = curve.at(coupling.next(*x))),
        None => samples.iter_mut().for_each(|x| *x = curve.at(*x)),
    }
}

/// The couplings alone, without curves: what the stages would do if they were linear.
#[derive(Debug, Clone)]
pub struct LinearChain {
    gain: f64,
    couplings: [Coupling; 2],
}

impl LinearChain {
    /// Returns a channel of `rate_hz` through the couplings after a `gain`.
    pub fn new(rate_hz: u32, gain: f64) -> Self {
        let coupling = Coupling::new(f64::from(rate_hz));
        Self { gain, couplings: [coupling.clone(), coupling] }
    }

    /// Appends to `output` as many samples as `input` has; they are not late.
    pub fn run(&mut self, input: &[f64], output: &mut Vec<f64>) {
        let [one, other] = &mut self.couplings;
        output.extend(input.iter().map(|x| other.next(one.next(self.gain * x))));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_stages_work_at_352_8_kilohertz_or_more() {
        let factors = [8_000, 22_050, 44_100, 48_000, 88_200, 96_000, 176_400, 192_000, 384_000];
        assert_eq!(factors.map(rate_factor), [64, 16, 8, 8, 4, 4, 2, 2, 2]);
    }

    #[test]
    fn the_delay_is_that_of_the_half_bands() {
        let delay = |rate| Chain::new(rate, Stages::generic(), 1.0).delay();
        assert_eq!([44_100, 48_000, 96_000, 192_000].map(delay), [85.75, 51.75, 17.5, 9.0]);
    }
}
