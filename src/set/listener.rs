//! What is measured on a take before any gain.

use super::files::Tape;
use crate::measure::{Measures, Meter, ThirdOctave, ThirdOctaveMeter};
use crate::render::{RenderError, Sink};

/// The long-term spectrum of a take, in third octaves.
pub type Spectrum = Vec<ThirdOctave>;

/// What was measured on a take, and its spectrum where that was wanted.
pub(super) type TakeMeasures = (Measures, Option<Spectrum>);

/// Measures a take before any gain.
pub(super) struct Listener {
    meter: Meter,
    beginning: Option<Beginning>,
}

/// The spectrum of a take's beginning.
struct Beginning {
    bands: ThirdOctaveMeter,
    /// Frames that the spectrum still takes in.
    left: usize,
}

/// A long-term spectrum settles within this; the rest of a long take would only cost time.
const SPECTRUM_SECONDS: usize = 60;

impl Listener {
    pub(super) fn new(tape: &Tape, with_spectrum: bool) -> Result<Self, RenderError> {
        let beginning = || {
            let bands = ThirdOctaveMeter::new(tape.rate_hz, tape.channels)?;
            Ok::<_, RenderError>(Beginning { bands, left: SPECTRUM_SECONDS * tape.rate_hz as usize })
        };
        Ok(Self {
            meter: Meter::new(tape.rate_hz, tape.channels)?,
            beginning: with_spectrum.then(beginning).transpose()?,
        })
    }

    pub(super) fn finish(self) -> TakeMeasures {
        (self.meter.finish(), self.beginning.map(|beginning| beginning.bands.finish()))
    }
}

impl Sink for Listener {
    fn take(&mut self, block: &[&[f64]]) -> Result<(), RenderError> {
        self.meter.push(block)?;
        match &mut self.beginning {
            Some(beginning) => beginning.take(block),
            None => Ok(()),
        }
    }
}

impl Beginning {
    fn take(&mut self, block: &[&[f64]]) -> Result<(), RenderError> {
        let now = self.left.min(block[0].len());
        if now > 0 {
            let beginning: Vec<&[f64]> = block.iter().map(|plane| &plane[..now]).collect();
            self.bands.push(&beginning)?;
            self.left -= now;
        }
        Ok(())
    }
}
