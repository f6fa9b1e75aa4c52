//! What is told of voices before any sound.

use crate::guitar::{Guitar, Lever};
use crate::quantity::Ohms;
use crate::render::{RenderError, forecast};
use crate::report::{ArrangementFigures, SetFigures};
use crate::response::{Scope, SecondOrder, Selection, VoiceError, VoiceResponse};
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
        let hum = response.hum_band(guitar, scope)?;
        set.arrangements.push(told.with_noise(&response.thermal_noise()?).with_hum_band(&hum));
    }
    // What the name of a throw or a position does not tell.
    let unsaid =
        responses.iter().filter(|r| r.voice().arrangement().is_none_or(|a| a.name() != r.voice().name()));
    set.notes.extend(unsaid.map(|r| format!("{} is {}", r.voice().name(), words::voice(r, guitar, scope))));
    set.notes.extend(unnamed_switches(guitar, scope, responses));
    set.notes.extend(low_input(guitar));
    Ok(set)
}

/// Returns where switches stand that positions do not name.
fn unnamed_switches(guitar: &Guitar, scope: Scope<'_>, responses: &[VoiceResponse]) -> Vec<String> {
    let is_left_out = |name: &str| {
        let part = format!("{name}:");
        responses.iter().any(|response| !response.voice().name().split('+').any(|own| own.starts_with(&part)))
    };
    let of = |lever: &Lever| match (lever, scope) {
        (Lever::Switch(_), Scope::Guitar) => Some(lever.name(guitar).to_string()),
        (Lever::Switch(_), Scope::Pickup(_)) | (Lever::Selector(_), _) => None,
    };
    let levers = guitar.levers();
    let names =
        levers.iter().filter_map(|lever| Some((lever, of(lever)?))).filter(|(_, name)| is_left_out(name));
    names
        .map(|(lever, name)| {
            let first = lever.table(guitar).throws()[0].number();
            format!("where a position does not name {name}, it stands at {name}:{first}")
        })
        .collect()
}

/// Below this an input takes treble from the coils that an amplifier's leaves. A convention.
const LOW_INPUT: Ohms = Ohms::new(100e3);

/// Returns what an input of low resistance, such as some pedals have, does to the voices.
fn low_input(guitar: &Guitar) -> Option<String> {
    let input = guitar.input().resistance.value;
    let loads = input < LOW_INPUT && guitar.buffer().is_none();
    loads.then(|| {
        format!(
            "the input's {input} take treble from the coils, the more the higher their impedance is: parallel can be louder in \
             the treble than series there; a buffer, or a pedal of 1 MΩ in front, keeps it"
        )
    })
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
