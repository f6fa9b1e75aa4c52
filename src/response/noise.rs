//! The noise at the jack that is there without any string or hum.

use super::VoiceResponse;
use crate::circuit::SolveError;
use crate::quantity::{Db, Dbv, Hertz};

/// The thermal noise at the jack, 20 Hz to 20 kHz at 300 K: of coils, losses, pots and the amplifier's input resistance.
/// The amplifier's own noise and a buffer's are not in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThermalNoise {
    /// The level as it is.
    pub plain: Dbv,
    /// The level A-weighted.
    pub a_weighted: Dbv,
}

impl VoiceResponse {
    /// Returns the thermal noise at the jack.
    ///
    /// # Errors
    /// [`SolveError`] where the circuit has no solution at some frequency.
    pub fn thermal_noise(&self) -> Result<ThermalNoise, SolveError> {
        let volts = self.circuit().noise_volts(|f| [1.0, a_weight(f)])?;
        let [plain, a_weighted] = volts.map(|volts| Dbv::new(Db::of_amplitude(volts).value()));
        Ok(ThermalNoise { plain, a_weighted })
    }
}

/// Returns the A-weighting's factor on a power.
///
/// # Source
/// IEC 61672-1:2013, annex E, with its pole frequencies; 1 at 1 kHz.
fn a_weight(frequency: Hertz) -> f64 {
    let amplitude = |f: f64| {
        let squares = [20.60f64, 107.7, 737.9, 12_194.0].map(|pole| pole * pole);
        let f2 = f * f;
        squares[3] * f2 * f2
            / ((f2 + squares[0]) * ((f2 + squares[1]) * (f2 + squares[2])).sqrt() * (f2 + squares[3]))
    };
    (amplitude(frequency.value()) / amplitude(1000.0)).powi(2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_a_weighting_has_the_standards_values() {
        // IEC 61672-1:2013, table 3, at the exact mid-frequencies.
        for (x, expected) in [
            (-16, -44.7),
            (-10, -19.1),
            (-6, -8.6),
            (0, 0.0),
            (3, 1.2),
            (4, 1.3),
            (9, -1.1),
            (12, -6.6),
            (13, -9.3),
        ] {
            let f = 1000.0 * 10f64.powf(f64::from(x) / 10.0);
            let level = Db::of_power(a_weight(Hertz::new(f))).value();
            assert!((level - expected).abs() < 0.06, "{level} dB at {f} Hz");
        }
    }
}
