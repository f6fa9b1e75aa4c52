//! The ratio that takes a recording made through one voice to another.

use num_complex::Complex64;

use super::voice::{LOW, LOWEST};
use super::{OneChannel, StandsFor, VoiceResponse};
use crate::circuit::SolveError;
use crate::quantity::{Db, Hertz};

/// How far the unbounded ratio may exceed the cap before a warning is due.
const WARN_BEYOND: Db = Db::new(6.0);
/// The highest frequency at which a warning makes sense: beyond, hardly anybody hears the difference.
const WARN_BELOW: f64 = 20e3;

/// A voice through which a take was recorded, ready to be taken out again.
#[derive(Debug, Clone)]
pub struct Recorded {
    response: VoiceResponse,
    source: StandsFor,
    rule: OneChannel,
}

/// A take that cannot be taken back to the strings.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum RecordedError {
    /// The coils sounded against each other; the inverse of that is unstable.
    #[error("a take recorded out of phase (`{name}`) cannot be undone: what cancelled is not in it")]
    OutOfPhase {
        /// The voice's name.
        name: String,
    },
    /// Nothing was heard through the voice at all.
    #[error("nothing is heard through `{name}` as the recorded guitar is set, so nothing can be undone")]
    Silent {
        /// The voice's name.
        name: String,
    },
    /// The circuit has no solution.
    #[error(transparent)]
    Solve(#[from] SolveError),
}

/// The bounded ratio from a recorded voice to a target.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ratio {
    /// The highest magnitude that the unbounded ratio would have before the bound takes hold.
    cap: f64,
}

/// Below this at the lowest frequency nothing is heard but what the lead's capacitance lets through of a coil that hangs.
const SILENT: f64 = 5e-4;

impl Recorded {
    /// Returns the recorded voice of `response`, which made a take of a source that stands for this.
    ///
    /// # Errors
    /// [`RecordedError`] where the voice is out of phase or silent.
    pub fn new(response: VoiceResponse, source: StandsFor) -> Result<Self, RecordedError> {
        let name = response.voice().name().to_owned();
        if !response.in_phase() {
            return Err(RecordedError::OutOfPhase { name });
        }
        let rule = OneChannel::of(&source, &response);
        let recorded = Self { response, source, rule };
        let lowest = recorded.at(LOWEST)?;
        if lowest.norm() < SILENT { Err(RecordedError::Silent { name }) } else { Ok(recorded) }
    }

    /// Returns the recorded voice's response to a one-channel source at `frequency`.
    ///
    /// # Errors
    /// [`SolveError`] where the circuit has no solution there.
    pub fn at(&self, frequency: Hertz) -> Result<Complex64, SolveError> {
        let paths = self.response.at(frequency)?;
        Ok(self.rule.transfer(frequency, &paths, self.response.outputs()))
    }

    /// Returns the recorded voice's response to a one-channel source at each of `frequencies`.
    ///
    /// # Errors
    /// [`SolveError`] where the circuit has no solution at one of them.
    pub fn along(&self, frequencies: &[Hertz]) -> Result<Vec<Complex64>, SolveError> {
        self.rule.along(&self.response, frequencies)
    }

    /// Returns the recorded voice.
    pub fn response(&self) -> &VoiceResponse {
        &self.response
    }

    /// Returns how the source was given to the coils of the recorded voice.
    pub fn rule(&self) -> &OneChannel {
        &self.rule
    }

    /// Returns how the same source is given to the coils of another voice.
    pub fn rule_of(&self, target: &VoiceResponse) -> OneChannel {
        OneChannel::of(&self.source, target)
    }

    /// Returns the bounded ratio to a target whose response to a one-channel source at a frequency is `target`.
    ///
    /// # Errors
    /// [`SolveError`] where a circuit has no solution.
    pub fn ratio_to(
        &self,
        target: impl Fn(Hertz) -> Result<Complex64, SolveError>,
    ) -> Result<Ratio, SolveError> {
        let low = (target(LOW)? / self.at(LOW)?).norm();
        Ok(Ratio { cap: low * Ratio::CAP.amplitude() })
    }

    /// Returns how far the unbounded ratio exceeds the bound at its worst between 20 Hz and 20 kHz, where that is
    /// more than 6 dB: so much treble is not in the recording.
    ///
    /// # Errors
    /// [`SolveError`] where a circuit has no solution.
    pub fn beyond_the_bound(
        &self,
        ratio: Ratio,
        target: impl Fn(Hertz) -> Result<Complex64, SolveError>,
    ) -> Result<Option<Db>, SolveError> {
        let mut worst = 0.0f64;
        for i in 0..=120 {
            let f = Hertz::new(20.0 * (WARN_BELOW / 20.0).powf(f64::from(i) / 120.0));
            worst = worst.max((target(f)? / self.at(f)?).norm());
        }
        let beyond = Db::of_amplitude(worst / ratio.cap);
        Ok((beyond > WARN_BEYOND).then_some(beyond))
    }
}

impl Ratio {
    /// The most that the ratio may rise over its value at [`LOW`].
    pub const CAP: Db = Db::new(18.0);
    /// The order of the bound: at 12 dB below the cap it costs 0.00003 dB.
    pub const ORDER: i32 = 8;

    /// Returns `target / recorded` with its magnitude bounded and its phase kept:
    /// `R′ = R / (1 + (|R|/R_max)⁸)^{1/8}`.
    pub fn bounded(self, target: Complex64, recorded: Complex64) -> Complex64 {
        let ratio = target / recorded;
        let over = ratio.norm() / self.cap;
        if !over.is_finite() {
            return Complex64::ZERO;
        }
        ratio / (1.0 + over.powi(Self::ORDER)).powf(1.0 / f64::from(Self::ORDER))
    }
}
