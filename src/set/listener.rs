//! What is measured on a take before any gain.

use super::files::Tape;
use crate::measure::{
    AddedSound, AddedSoundMeter, Levels, LoudestMeter, Measures, Meter, ThirdOctave, ThirdOctaveMeter,
};
use crate::render::{RenderError, Sink};

/// The long-term spectrum of a take, in third octaves.
pub type Spectrum = Vec<ThirdOctave>;

/// What was measured on a take before any gain.
pub(super) struct TakeMeasures {
    pub(super) measures: Measures,
    /// Its spectrum, where that was wanted.
    pub(super) spectrum: Option<Spectrum>,
    /// The amplitude of its loudest moment, where that was wanted.
    pub(super) loudest: Option<f64>,
}

/// Returns the levels of takes.
pub(super) fn levels_of(takes: &[TakeMeasures]) -> Vec<Levels> {
    takes.iter().map(|take| take.measures.levels.clone()).collect()
}

/// Measures a take before any gain.
pub(super) struct Listener {
    meter: Meter,
    beginning: Option<Beginning>,
    loudest: Option<LoudestMeter>,
}

/// Measures a take behind an amplifier, before any gain: its channels are followed by those that it would have if the amplifier
/// were linear.
pub(super) struct AmplifiedListener {
    listener: Listener,
    added: AddedSoundMeter,
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
    pub(super) fn new(tape: &Tape, with_spectrum: bool, with_loudest: bool) -> Result<Self, RenderError> {
        let beginning = || {
            let bands = ThirdOctaveMeter::new(tape.rate_hz, tape.channels)?;
            Ok::<_, RenderError>(Beginning { bands, left: SPECTRUM_SECONDS * tape.rate_hz as usize })
        };
        Ok(Self {
            meter: Meter::new(tape.rate_hz, tape.channels)?,
            beginning: with_spectrum.then(beginning).transpose()?,
            loudest: with_loudest.then(|| LoudestMeter::new(tape.rate_hz, tape.channels)),
        })
    }

    pub(super) fn finish(self) -> TakeMeasures {
        TakeMeasures {
            measures: self.meter.finish(),
            spectrum: self.beginning.map(|beginning| beginning.bands.finish()),
            loudest: self.loudest.map(LoudestMeter::finish),
        }
    }
}

impl Sink for Listener {
    fn take(&mut self, block: &[&[f64]]) -> Result<(), RenderError> {
        self.meter.push(block)?;
        if let Some(loudest) = &mut self.loudest {
            loudest.push(block);
        }
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

impl AmplifiedListener {
    pub(super) fn new(tape: &Tape, with_spectrum: bool) -> Result<Self, RenderError> {
        Ok(Self {
            listener: Listener::new(tape, with_spectrum, false)?,
            added: AddedSoundMeter::new(tape.rate_hz, tape.channels),
        })
    }

    pub(super) fn finish(self) -> (TakeMeasures, AddedSound) {
        (self.listener.finish(), self.added.finish())
    }
}

impl Sink for AmplifiedListener {
    fn take(&mut self, block: &[&[f64]]) -> Result<(), RenderError> {
        let (amplified, linear) = block.split_at(block.len() / 2);
        self.added.push(amplified, linear);
        self.listener.take(amplified)
    }
}
