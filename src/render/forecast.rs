//! The levels of voices foretold without rendering them.

use num_complex::Complex64;

use super::RenderError;
use crate::circuit::SolveError;
use crate::measure::{Forecast, Foretold};
use crate::response::VoiceResponse;
use crate::sound::Sound;

/// Returns the levels that each voice will have with `sound`, a short source with a channel for each coil, before any
/// gain: to a hundredth of a decibel what is measured on its render.
///
/// # Errors
/// [`RenderError`] where the source cannot be read, has not a channel for each coil, or a circuit has no solution.
pub fn forecast(sound: &Sound, responses: &[VoiceResponse]) -> Result<Vec<Foretold>, RenderError> {
    let given = sound.channels();
    if responses.iter().any(|response| response.places().len() != given) {
        let wanted = "levels are foretold of a source that has as many as there are coils in what is heard";
        return Err(RenderError::Channels { given, wanted });
    }
    let channels = sound.planes()?;
    let forecast = Forecast::new(sound.rate_hz());
    let filters = responses.iter().map(|response| filters(&forecast, response, given));
    Ok(forecast.of(&channels, &filters.collect::<Result<Vec<_>, _>>()?))
}

/// Returns each coil's filter through a voice.
fn filters(
    forecast: &Forecast,
    response: &VoiceResponse,
    coils: usize,
) -> Result<Vec<Vec<Complex64>>, SolveError> {
    let outputs = response.outputs();
    let paths = response.along(&forecast.frequencies().collect::<Vec<_>>())?;
    let of_coil = |coil: usize| paths.iter().map(|p| p.0[coil] * outputs[coil]).collect();
    Ok((0..coils).map(of_coil).collect())
}
