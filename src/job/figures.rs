//! What is told of voices before any sound.

use crate::render::{RenderError, forecast};
use crate::report::{ArrangementFigures, SetFigures};
use crate::response::{Scope, SecondOrder, Selection, VoiceError};
use crate::sound::Sound;
use crate::words;

/// Returns the figures of what is selected before any sound.
///
/// # Errors
/// [`VoiceError`] where a circuit has no solution.
pub fn figures_of(selection: &Selection<'_>) -> Result<SetFigures, VoiceError> {
    let (guitar, scope, responses) = (selection.guitar(), selection.scope(), selection.responses());
    let mut set = SetFigures::new(guitar, scope, selection.baseline_name());
    for response in responses {
        let off = match (response.voice().arrangement(), scope) {
            (None, _) | (_, Scope::Guitar) => None,
            (Some(arrangement), Scope::Pickup(pickup)) => {
                Some(SecondOrder::of(guitar, pickup, arrangement).distance(response)?.value())
            }
        };
        let told = ArrangementFigures::new(response.voice().name(), &response.figures()?, off);
        set.arrangements.push(told.with_noise(&response.thermal_noise()?));
    }
    // What the name of a throw or a position does not tell.
    let unsaid =
        responses.iter().filter(|r| r.voice().arrangement().is_none_or(|a| a.name() != r.voice().name()));
    set.notes.extend(unsaid.map(|r| format!("{} is {}", r.voice().name(), words::voice(r, guitar, scope))));
    Ok(set)
}

/// Adds to `figures` the drops that the voices will have with `sound`, a source with a channel for each coil such as the
/// one that is heard where none is named.
///
/// # Errors
/// [`RenderError`] where the source cannot be read, has not a channel for each coil, or a circuit has no solution.
pub fn foretell_drops(
    figures: &mut SetFigures,
    sound: &Sound,
    selection: &Selection<'_>,
) -> Result<(), RenderError> {
    let foretold = forecast(sound, selection.responses())?;
    let against = &foretold[selection.baseline()];
    for (arrangement, own) in figures.arrangements.iter_mut().zip(&foretold) {
        let loudness = own.loudness.integrated().zip(against.loudness.integrated());
        arrangement.drop_rms_db = Some((own.rms - against.rms).value()).filter(|drop| drop.is_finite());
        arrangement.drop_loudness_lu = loudness.map(|(own, against)| (own - against).value());
    }
    figures.notes.push(format!(
        "changes are foretold from the spectrum of {}, a strummed open E chord at the coils' places; `hear` measures them",
        sound.file_name()
    ));
    Ok(())
}
