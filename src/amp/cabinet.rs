//! What a signal passes after the stages.

use std::convert::Infallible;
use std::f64::consts::TAU;

use num_complex::Complex64;
use serde::{Deserialize, Serialize};

use crate::filter::{Fidelity, Kernel};
use crate::measure::Loudspeaker;
use crate::quantity::Hertz;

/// The loudspeaker after the amplifier, or none.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Cabinet {
    /// The generic guitar loudspeaker in its closed box.
    Closed,
    /// None: what the stages give.
    None,
}

impl Cabinet {
    /// Returns the name, as it stands in figures.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Closed => "closed",
            Self::None => "none",
        }
    }

    /// Returns the response at `frequency`.
    pub fn response(self, frequency: Hertz) -> Complex64 {
        match self {
            Self::Closed => Loudspeaker::GENERIC.response(frequency),
            Self::None => Complex64::ONE,
        }
    }

    /// Returns the kernel at `rate_hz` of what also takes out a delay of `late` samples.
    ///
    /// # Panics
    /// Never: a loudspeaker is at rest within the shortest kernel.
    pub fn kernel(self, rate_hz: u32, late: f64) -> Kernel {
        let response = |f: Hertz| {
            let early = Complex64::cis(TAU * f.value() * late / f64::from(rate_hz));
            Ok::<_, Infallible>(self.response(f) * early)
        };
        let kernel = Kernel::of(rate_hz, Fidelity::Exact, response);
        kernel.expect("a loudspeaker is at rest within the shortest kernel").undivided()
    }
}
