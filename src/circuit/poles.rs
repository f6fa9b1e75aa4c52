//! The circuit's natural modes and how strongly a source excites each.

use nalgebra::DMatrix;
use num_complex::Complex64;

use super::solve::OMEGA0;
use super::{Circuit, Sweep};
use crate::quantity::Hertz;

/// A natural mode: a pole and the residues of the response to each source there.
#[derive(Debug, Clone, PartialEq)]
pub struct Mode {
    /// The pole in rad/s.
    pub pole: Complex64,
    /// The residue of each source's response, in rad/s.
    pub residues: Vec<Complex64>,
}

/// Poles above this are those of merged parts and rounding, far beyond any sound.
const HIGHEST: f64 = 40e6;
/// Points of the contour round a pole; the trapezoid rule converges geometrically in their number.
const CONTOUR: usize = 32;

impl Mode {
    /// Returns the pole's distance to the origin as a frequency, the mode's undamped resonance.
    pub fn frequency(&self) -> Hertz {
        Hertz::new(self.pole.norm() / std::f64::consts::TAU)
    }

    /// Returns the quality factor, `|p| / (−2 Re p)`; one half or less for a real pole.
    pub fn q(&self) -> f64 {
        self.pole.norm() / (-2.0 * self.pole.re)
    }

    /// Returns whether the mode rings: its pole is one of a complex pair.
    pub fn rings(&self) -> bool {
        self.pole.im > 1e-6 * self.pole.norm()
    }
}

/// Returns the circuit's modes with poles in the upper half plane or on the real axis.
///
/// # Source
/// With `A = (G + s₀C)⁻¹ C` the poles are `s₀ − 1/μ` over the eigenvalues μ of A (Schur form). Residues are
/// `1/(2πj) ∮ H ds` by the trapezoid rule: L. N. Trefethen, J. A. C. Weideman, "The exponentially convergent
/// trapezoidal rule", SIAM Review 56(3), 2014.
pub fn modes(circuit: &Circuit) -> Vec<Mode> {
    let poles = poles(circuit);
    let upper = poles.iter().filter(|p| p.im >= 0.0);
    let sweep = Sweep::of(circuit);
    upper.map(|pole| Mode { pole: *pole, residues: residues(circuit, &sweep, *pole, &poles) }).collect()
}

fn poles(circuit: &Circuit) -> Vec<Complex64> {
    // In the solver's scaled units s₀ is one.
    let shifted: DMatrix<f64> = &circuit.g + &circuit.c;
    let Some(a) = shifted.lu().solve(&circuit.c) else { return Vec::new() };
    let Some(schur) = nalgebra::linalg::Schur::try_new(a, f64::EPSILON, 10_000) else { return Vec::new() };
    let eigenvalues = schur.complex_eigenvalues();
    let mut poles: Vec<Complex64> = eigenvalues
        .iter()
        .map(|mu| Complex64::new(mu.re, mu.im))
        .filter(|mu| mu.norm() > 0.0)
        .map(|mu| (Complex64::ONE - mu.inv()) * OMEGA0)
        .filter(|pole| pole.norm() < HIGHEST * std::f64::consts::TAU)
        .collect();
    poles.sort_by(|p, q| p.norm().total_cmp(&q.norm()).then(p.im.total_cmp(&q.im)));
    poles
}

fn residues(circuit: &Circuit, sweep: &Sweep, pole: Complex64, poles: &[Complex64]) -> Vec<Complex64> {
    let nearest = poles
        .iter()
        .map(|other| (other - pole).norm())
        .filter(|distance| *distance > 1e-9 * pole.norm())
        .fold(pole.norm(), f64::min);
    let radius = nearest / 3.0;
    let turns: [Complex64; CONTOUR] = std::array::from_fn(|k| {
        Complex64::cis(std::f64::consts::TAU * (k as f64 + 0.5) / CONTOUR as f64) * radius
    });
    let mut sums = vec![Complex64::ZERO; circuit.drives.len()];
    let Ok(transfers) = sweep.transfers(circuit, &turns.map(|turn| pole + turn)) else { return sums };
    for (transfers, turn) in transfers.into_iter().zip(turns) {
        for (sum, transfer) in sums.iter_mut().zip(transfers) {
            *sum += transfer * turn / CONTOUR as f64;
        }
    }
    sums
}
