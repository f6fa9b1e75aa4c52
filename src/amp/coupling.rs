//! A coupling capacitor into a resistor: a high-pass of first order.

use std::f64::consts::PI;

/// 22 nF into 1 MΩ, in hertz. Common practice.
pub(super) const CORNER: f64 = 7.23;

/// Below this a state is nothing: it would end among the numbers that processors are slow with.
const NOTHING: f64 = 1e-30;

/// A high-pass by the bilinear transform: y = (x − x′)/(1 + k) + y′ (1 − k)/(1 + k), k = tan(π f/fs).
#[derive(Debug, Clone)]
pub(super) struct Coupling {
    share: f64,
    decay: f64,
    before: f64,
    state: f64,
}

impl Coupling {
    pub(super) fn new(rate_hz: f64) -> Self {
        let k = (PI * CORNER / rate_hz).tan();
        Self { share: 1.0 / (1.0 + k), decay: (1.0 - k) / (1.0 + k), before: 0.0, state: 0.0 }
    }

    /// Returns what it makes of a change of what comes to it, and what it keeps of what it gave.
    pub(super) fn shares(&self) -> [f64; 2] {
        [self.share, self.decay]
    }

    #[inline]
    pub(super) fn next(&mut self, x: f64) -> f64 {
        let y = (x - self.before) * self.share + self.state * self.decay;
        self.before = x;
        self.state = if y.abs() < NOTHING { 0.0 } else { y };
        self.state
    }
}
