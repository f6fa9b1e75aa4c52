//! The numbers that the stages work by at one rate, for a surface that works by itself.

use super::chain::{Chain, rate_factor};
use super::coupling::Coupling;
use super::curve::Curve;
use super::half_band::taps_between;
use super::stages::Stages;

/// What a chain at one rate is made of.
#[derive(Debug, Clone, PartialEq)]
pub struct Tables {
    /// The curves in the order in which they are passed, a coupling before each.
    pub curves: Vec<&'static Curve>,
    /// What a coupling makes of a change of what comes to it, and what it keeps of what it gave, at the high rate.
    pub coupling: [f64; 2],
    /// The first half of every second tap of each half-band, the lowest rate first.
    pub half_bands: Vec<Vec<f64>>,
    /// By how many samples what comes out is late.
    pub delay: f64,
}

impl Tables {
    /// Returns those of the generic amplifier at `rate_hz`.
    pub fn generic(rate_hz: u32) -> Self {
        let (rate, factor) = (f64::from(rate_hz), rate_factor(rate_hz));
        let stages = Stages::generic();
        Self {
            curves: stages.curves().collect(),
            coupling: Coupling::new(rate * f64::from(factor)).shares(),
            half_bands: (0..factor.ilog2()).map(|n| taps_between(rate * f64::from(1 << n))).collect(),
            delay: Chain::new(rate_hz, stages, 1.0).delay(),
        }
    }
}
