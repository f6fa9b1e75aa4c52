//! How sure the figures are: the options that `hear` and `figures` share, and their way into figures and pictures.

use std::thread::available_parallelism;

use clap::Args;
use drywire::bands::{Bands, BandsInput, CurveBand, bands, sensitivity};
use drywire::measure::CrossSpectrum;
use drywire::plot::{BandPoint, Panel, Picture};
use drywire::quantity::Db;
use drywire::report::SetFigures;
use drywire::response::{Selection, VoiceResponse};
use drywire::sound::Sound;

use super::Failure;
use super::source::sound_failure;
use super::typed::whole;

#[derive(Debug, Args)]
pub(crate) struct ToleranceArgs {
    /// Tell how far part tolerances move the figures, by drawing guitars within them
    #[arg(long)]
    bands: bool,
    /// How many guitars are drawn for --bands
    #[arg(long, value_name = "NUMBER", default_value_t = 1000, requires = "bands",
        allow_hyphen_values = true, value_parser = whole::<u32>(100..=10_000))]
    draws: u32,
}

impl ToleranceArgs {
    /// Returns the bands where they are asked for, and has `figures` tell them; loudness is told by the `neutral` source,
    /// which has a channel for each coil.
    pub(crate) fn tell(
        &self,
        selection: &Selection<'_>,
        figures: &mut SetFigures,
        neutral: impl FnOnce() -> Result<Sound, Failure>,
    ) -> Result<Option<Bands>, Failure> {
        if !self.bands {
            return Ok(None);
        }
        let sound = neutral()?;
        let planes = sound.planes().map_err(|e| sound_failure(&e))?;
        let source = &CrossSpectrum::of(sound.rate_hz(), &planes);
        let setting = BandsInput {
            guitar: selection.guitar(),
            scope: selection.scope(),
            voices: selection.responses(),
            baseline: selection.baseline(),
            source,
        };
        let workers = available_parallelism().map_or(1, usize::from);
        let told = bands(&setting, self.draws as usize, workers)?;
        figures.take_bands(&told, &sensitivity(&setting)?);
        Ok(Some(told))
    }
}

/// Returns the picture with the bands of its voices.
pub(crate) fn with_bands(mut picture: Picture, voices: &[VoiceResponse], bands: &Bands) -> Picture {
    let points = |curve: &[CurveBand]| -> Vec<BandPoint> {
        let point = |at: &CurveBand| BandPoint {
            frequency: at.frequency,
            low: Db::new(at.band.low),
            high: Db::new(at.band.high),
        };
        curve.iter().map(point).collect()
    };
    for (voice, own) in voices.iter().zip(&bands.voices) {
        let name = voice.voice().name();
        picture = picture.with_band(Panel::Response, name, points(&own.response));
        picture = picture.with_band(Panel::Difference, name, points(&own.difference));
    }
    picture
}
