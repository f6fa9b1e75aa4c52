//! Coils' values as they were found.

use num_complex::Complex64;

use super::{Point, Source};
use crate::guitar::{MEASURANDS, Measurand, MeasuredWith};
use crate::quantity::Hertz;
use crate::wiring::CoilName;

/// A value with its standard deviation, in its unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// The value.
    pub value: f64,
    /// The standard deviation.
    pub deviation: f64,
}

/// How a coil is by its values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Health {
    /// As coils of its ohms are.
    Healthy,
    /// Inductance and Q are low together.
    ShortedTurn,
}

impl Health {
    /// Returns it in the words of reports.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Healthy => "healthy",
            Self::ShortedTurn => "shorted turn suspected",
        }
    }
}

/// A coil that was measured.
#[derive(Debug, Clone, PartialEq)]
pub struct CoilFound {
    /// Which one.
    pub name: CoilName,
    /// In the order of [`Measurand::ALL`]: nothing where that was not told, a share of zero where there is no eddy section.
    pub values: [Option<Measured>; MEASURANDS],
    /// What a meter reads in series mode at 1 kHz, without the winding's capacitance.
    pub inductance_1khz: Measured,
    /// How it is.
    pub health: Health,
}

/// How far the circuit is from what was measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Misfit {
    /// The root of the mean square of the magnitudes, in dB.
    pub rms_db: f64,
    /// The largest, in dB, with its sign.
    pub worst_db: f64,
    /// Where that is.
    pub worst_at: Hertz,
}

/// What was found.
#[derive(Debug, Clone)]
pub struct Found {
    /// The coils that were measured.
    pub coils: Vec<CoilFound>,
    /// Whether a coil was measured alone, or both as one.
    pub with: MeasuredWith,
    /// How the errors of two values go together, where they do.
    pub correlation: Vec<([Measurand; 2], f64)>,
    /// The coupling of the coils, where it is told.
    pub coupling: Option<Measured>,
    /// What source and input were, where there was a recording.
    pub source: Option<Source>,
    /// How far the circuit is from what was measured, where that was an impedance.
    pub misfit: Option<Misfit>,
    /// What was measured, point by point, and the circuit's own impedance there.
    pub points: Vec<(Point, Complex64)>,
    /// What is to be told.
    pub notes: Vec<String>,
}
