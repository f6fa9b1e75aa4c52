//! What part tolerances make of a selection, in its figures and its picture.

use super::JobError;
use crate::bands::{Bands, BandsInput, CurveBand, bands, sensitivity};
use crate::measure::CrossSpectrum;
use crate::plot::{BandPoint, Panel, Picture};
use crate::quantity::Db;
use crate::report::SetFigures;
use crate::response::{Selection, VoiceResponse};
use crate::sound::Sound;

/// Returns the bands of so many `draws`, and has `figures` tell them; loudness is told by the `neutral` source, which has a
/// channel for each coil.
///
/// # Errors
/// [`JobError`] where the source cannot be read or a circuit has no solution.
pub fn with_bands(
    figures: &mut SetFigures,
    selection: &Selection<'_>,
    draws: u32,
    neutral: &Sound,
    workers: usize,
) -> Result<Bands, JobError> {
    let planes = neutral.planes()?;
    let source = &CrossSpectrum::of(neutral.rate_hz(), &planes);
    let input = BandsInput {
        guitar: selection.guitar(),
        scope: selection.scope(),
        voices: selection.responses(),
        baseline: selection.baseline(),
        source,
    };
    let told = bands(&input, draws as usize, workers)?;
    figures.take_bands(&told, &sensitivity(selection)?);
    Ok(told)
}

/// Returns the picture with the bands of its voices.
pub(super) fn drawn_with_bands(mut picture: Picture, voices: &[VoiceResponse], bands: &Bands) -> Picture {
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
