//! The figures that a response is told by.

use super::voice::LOW;
use super::{Paths, VoiceResponse};
use num_complex::Complex64;

use crate::circuit::{Circuit, SolveError, modes};
use crate::quantity::{Db, Hertz, Ohms};

/// A resonance: the frequency and quality factor of the complex pole pair that is heard.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Resonance {
    /// The undamped frequency of the pair.
    pub frequency: Hertz,
    /// The quality factor of the pair.
    pub q: f64,
}

/// Where a response is highest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Peak {
    /// The frequency.
    pub frequency: Hertz,
    /// The level there, above that at low frequency.
    pub level: Db,
}

impl Peak {
    /// A rise below this is no peak: its frequency would hang on a hair.
    pub const LEAST: Db = Db::new(1.0);
}

/// What is told of a voice without any sound.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figures {
    /// The complex pair with the largest |residue / pole|, or `None` where every excited pole is real.
    pub resonance: Option<Resonance>,
    /// Where the response is highest, or `None` where it rises by less than 1 dB above its low-frequency level. It lies below
    /// the resonance, the more the lower Q is.
    pub peak: Option<Peak>,
    /// The frequency at which the response first falls 3 dB below its low-frequency level.
    pub cutoff: Option<Hertz>,
    /// The response of both coils at 100 Hz, or `None` where they cancel.
    pub gain_low: Option<Db>,
    /// The direct-current resistance at the jack with nothing plugged in, or `None` where it is open.
    pub dc_at_jack: Option<Ohms>,
    /// The hum at 100 Hz against coil A alone, or `None` where it cancels to below −120 dB.
    pub hum: Option<Db>,
    /// Whether the strings sound in phase from both coils.
    pub in_phase: bool,
}

/// A mode excited less than this share of the strongest is one that rounding alone excites.
const EXCITED: f64 = 1e-6;
/// Below this nothing but rounding is left of hum.
const HUM_FLOOR: Db = Db::new(-120.0);
/// Where paths cancel to below this share of their sum, nothing but what the lead's capacitance makes unlike is left.
const CANCELLED: f64 = 1e-3;
const PEAK_SEARCH: (f64, f64) = (100.0, 40e3);
const CUTOFF_SEARCH: (f64, f64) = (100.0, 1e6);
const STEPS_PER_OCTAVE: f64 = 24.0;

impl Resonance {
    /// Returns the resonance of `circuit` heard with each source at its weight, or `None` where every excited pole is
    /// real.
    pub fn of(circuit: &Circuit, weights: &[f64]) -> Option<Self> {
        let modes = modes(circuit);
        let excited: Vec<f64> = modes
            .iter()
            .map(|mode| {
                let heard: Complex64 = mode.residues.iter().zip(weights).map(|(r, weight)| r * weight).sum();
                (heard / mode.pole).norm()
            })
            .collect();
        let strongest = excited.iter().copied().fold(0.0, f64::max);
        let ringing = modes.iter().zip(&excited).filter(|(m, own)| m.rings() && **own > EXCITED * strongest);
        ringing
            .max_by(|(_, own), (_, other)| own.total_cmp(other))
            .map(|(m, _)| Self { frequency: m.frequency(), q: m.q() })
    }
}

impl VoiceResponse {
    /// Returns the figures of the response.
    ///
    /// # Errors
    /// [`SolveError`] where the circuit has no solution at some frequency.
    pub fn figures(&self) -> Result<Figures, SolveError> {
        let low = self.at(LOW)?;
        let both = self.both(&low).norm();
        let apart: f64 = low.0.iter().zip(self.outputs()).map(|(path, output)| path.norm() * output).sum();
        Ok(Figures {
            resonance: self.resonance(),
            peak: self.peak(&low)?,
            cutoff: self.cutoff(&low)?,
            gain_low: (both > CANCELLED * apart).then(|| Db::of_amplitude(both)),
            dc_at_jack: self.dc_at_jack(),
            hum: self.hum_level(&low),
            in_phase: self.in_phase(),
        })
    }

    /// Returns the hum, from the paths at [`LOW`], against coil A alone, or `None` where it cancels to below −120 dB.
    pub fn hum_level(&self, low: &Paths) -> Option<Db> {
        let hum = Db::of_amplitude(self.hum(low).norm() / self.hum_reference);
        (hum > HUM_FLOOR).then_some(hum)
    }

    /// Returns the resonance of the complex pair that is heard, or `None` where every excited pole is real.
    pub fn resonance(&self) -> Option<Resonance> {
        Resonance::of(self.circuit(), self.telling_weights())
    }

    /// Returns the magnitude of what is told at each of `frequencies` in hertz, beside it.
    fn levels(&self, frequencies: impl Iterator<Item = f64>) -> Result<Vec<(f64, f64)>, SolveError> {
        let steps: Vec<Hertz> = frequencies.map(Hertz::new).collect();
        let levels = self.along(&steps)?.into_iter().map(|paths| self.telling(&paths).norm());
        Ok(steps.iter().map(|f| f.value()).zip(levels).collect())
    }

    fn peak(&self, low: &Paths) -> Result<Option<Peak>, SolveError> {
        let level = |f: f64| self.at(Hertz::new(f)).map(|p| self.telling(&p).norm());
        let (mut highest, mut at) = (0.0, LOW.value());
        for (f, here) in self.levels(ladder(PEAK_SEARCH))? {
            if here > highest {
                (highest, at) = (here, f);
            }
        }
        // Golden-section search between the neighbours of the highest step.
        let step = 2f64.powf(1.0 / STEPS_PER_OCTAVE);
        let golden = (5f64.sqrt() - 1.0) / 2.0;
        let (mut left, mut right) = (at / step, at * step);
        while right - left > 1e-4 * at {
            let (inner_left, inner_right) = (right - golden * (right - left), left + golden * (right - left));
            if level(inner_left)? > level(inner_right)? {
                right = inner_right;
            } else {
                left = inner_left;
            }
        }
        let middle = f64::midpoint(left, right);
        let found = level(middle)?;
        let (highest, at) = if found > highest { (found, middle) } else { (highest, at) };
        let peak =
            Peak { frequency: Hertz::new(at), level: Db::of_amplitude(highest / self.telling(low).norm()) };
        Ok((peak.level >= Peak::LEAST && peak.level.value().is_finite()).then_some(peak))
    }

    fn cutoff(&self, low: &Paths) -> Result<Option<Hertz>, SolveError> {
        let threshold = self.telling(low).norm() * std::f64::consts::FRAC_1_SQRT_2;
        let below = |f: f64| self.at(Hertz::new(f)).map(|p| self.telling(&p).norm() < threshold);
        let mut above = CUTOFF_SEARCH.0;
        for (f, here) in self.levels(ladder(CUTOFF_SEARCH))? {
            if here < threshold {
                let (mut left, mut right) = (above, f);
                while right - left > 1e-6 * right {
                    let middle = (left * right).sqrt();
                    if below(middle)? {
                        right = middle;
                    } else {
                        left = middle;
                    }
                }
                return Ok(Some(Hertz::new(right)));
            }
            above = f;
        }
        Ok(None)
    }
}

fn ladder((start, stop): (f64, f64)) -> impl Iterator<Item = f64> {
    (0..).map(move |i| start * 2f64.powf(f64::from(i) / STEPS_PER_OCTAVE)).take_while(move |f| *f <= stop)
}
