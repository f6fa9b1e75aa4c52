//! What a voice makes of a recording that does not tell the coils apart.
//!
//! A one-channel source stands for the sum of both coils' signals. Where both sound alike that is all that is
//! needed; for one coil alone, or two against each other, it is split by where on the string the coils lie:
//! `F_A = w_A e^{+jωτ/2}`, `F_B = w_B e^{−jωτ/2}`, with `w` as a coil's distance to the bridge over the sum of
//! both and τ the time a wave takes from one coil to the other. That is an approximation of 2 to 3 dB in
//! third-octaves.

use num_complex::Complex64;

use super::{Paths, VoiceResponse};
use crate::quantity::Hertz;

/// The geometric mean of the wave speeds of six strings in the usual tuning at 648 mm, in m/s.
const WAVE_SPEED: f64 = 216.0;

/// How a one-channel source is given to the coils.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum OneChannel {
    /// The source is the one coil's signal. Exact.
    Whole,
    /// Half of the source to each coil. Exact for a source that is the sum of both.
    Halves,
    /// The split divided by its sum, for one coil or where a capacitor parts the coils. Approximate.
    Divided {
        /// The weight of coil A.
        weight: f64,
        /// The time from one coil to the other in seconds.
        delay: f64,
    },
    /// The split as it is, for coils that sound against each other. Approximate.
    Undivided {
        /// The weight of coil A.
        weight: f64,
        /// The time from one coil to the other in seconds.
        delay: f64,
    },
}

impl OneChannel {
    /// The least divisor of a split: nearer to its first null a division would only amplify what is not there.
    pub const LEAST_SUM: f64 = 0.35;

    /// Returns how a one-channel source is given to the coils of `response`.
    pub fn rule(response: &VoiceResponse) -> Self {
        let [a, b] = response.places() else { return Self::Whole };
        let (a, b) = (a.value(), b.value());
        let (weight, delay) = (a / (a + b), (b - a) / WAVE_SPEED);
        let bypassed = response.voice().arrangement() == Some(crate::wiring::Arrangement::SeriesBypassed);
        if response.sounding() != [true, true] || bypassed {
            Self::Divided { weight, delay }
        } else if response.in_phase() {
            Self::Halves
        } else {
            Self::Undivided { weight, delay }
        }
    }

    /// Returns whether what is heard from a one-channel source is approximate.
    pub fn is_approximate(self) -> bool {
        match self {
            Self::Whole | Self::Halves => false,
            Self::Divided { .. } | Self::Undivided { .. } => true,
        }
    }

    /// Returns the source's shares for coil A and coil B at `frequency`.
    pub fn shares(self, frequency: Hertz) -> [Complex64; 2] {
        let split = |weight: f64, delay: f64| {
            let half_turn = std::f64::consts::PI * frequency.value() * delay;
            [Complex64::from_polar(weight, half_turn), Complex64::from_polar(1.0 - weight, -half_turn)]
        };
        match self {
            Self::Whole => [Complex64::ONE, Complex64::ZERO],
            Self::Halves => [Complex64::from(0.5); 2],
            Self::Undivided { weight, delay } => split(weight, delay),
            Self::Divided { weight, delay } => {
                let [a, b] = split(weight, delay);
                let sum = (a + b).norm().max(Self::LEAST_SUM);
                [a / sum, b / sum]
            }
        }
    }

    /// Returns the response to a one-channel source at `frequency`, from the coils' paths there and their
    /// outputs.
    pub fn transfer(self, frequency: Hertz, paths: Paths, outputs: [f64; 2]) -> Complex64 {
        let [a, b] = self.shares(frequency);
        a * paths.a * outputs[0] + b * paths.b * outputs[1]
    }
}
