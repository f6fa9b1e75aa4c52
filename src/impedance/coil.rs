//! One coil in closed form: what of it can be told at a frequency.

use std::f64::consts::TAU;

use num_complex::Complex64;

use crate::guitar::{Coil, MEASURANDS, Measurand};

/// A coil's values, in the order of [`Measurand::ALL`]; a loss that is not there is infinite, a section has no share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct CoilValues(pub(super) [f64; MEASURANDS]);

impl CoilValues {
    /// Returns those of a guitar's coil.
    pub(super) fn of(coil: &Coil) -> Self {
        let (share, corner) =
            coil.eddy.map_or((0.0, f64::INFINITY), |eddy| (eddy.share.value, eddy.corner.value.value()));
        let loss = coil.loss.map_or(f64::INFINITY, |loss| loss.value.value());
        let [resistance, inductance] = [coil.resistance().value(), coil.inductance().value()];
        Self([resistance, inductance, coil.capacitance.value.value(), loss, share, corner])
    }

    /// Returns one of them.
    pub(super) fn get(&self, measurand: Measurand) -> f64 {
        self.0[measurand.index()]
    }

    /// Returns the impedance of wire, core and loss without the winding's capacitance.
    ///
    /// # Source
    /// An inductance of which a share κ is shunted by `2π f_c κ L`, the whole beside the loss, in series with the wire.
    fn wound(&self, hz: f64) -> Complex64 {
        let [resistance, inductance, _, loss, share, corner] = self.0;
        let s = Complex64::new(0.0, TAU * hz);
        let shunted = s / (1.0 + Complex64::new(0.0, hz / corner));
        let inductive = inductance * ((1.0 - share) * s + share * shunted);
        resistance + 1.0 / (1.0 / inductive + 1.0 / loss)
    }

    /// Returns the inductance at a frequency: what is in series with the wire, without the winding's capacitance.
    pub(super) fn inductance_at(&self, hz: f64) -> f64 {
        self.wound(hz).im / (TAU * hz)
    }

    /// Returns the coil's own Q: its highest impedance against that of its inductance there, with nothing beside it but a
    /// capacitance that all coils are given, so that they can be compared.
    pub(super) fn q(&self) -> f64 {
        const BESIDE: f64 = 200e-12;
        let at = |i: i32| 1000.0 * 2f64.powf(f64::from(i) / 24.0);
        let magnitude =
            |hz: f64| (1.0 / (1.0 / self.wound(hz) + Complex64::new(0.0, TAU * hz * BESIDE))).norm();
        let highest =
            (0..120).map(at).max_by(|a, b| magnitude(*a).total_cmp(&magnitude(*b))).unwrap_or(1000.0);
        magnitude(highest) / (TAU * highest * self.inductance_at(highest))
    }
}
