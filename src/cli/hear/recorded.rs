//! The voice that the sources were recorded through.

use drywire::guitar::Guitar;
use drywire::response::{
    Recorded, RecordedError, Scope, SelectionError, StandsFor, names_position, voice_named,
};
use drywire::wiring::Arrangement;

use super::{Args, Kind, SourceChannels};
use crate::cli::Failure;

/// A voice that the sources were recorded through.
pub(super) struct Through {
    pub(super) voice: Recorded,
    /// What is to be told of it.
    pub(super) note: Option<String>,
}

/// Returns the voice that the sources were recorded through, if any; none of them is opened for that.
pub(super) fn recorded(args: &Args, own: &Guitar, heard: Scope<'_>) -> Result<Option<Through>, Failure> {
    let asked = args.recorded_through.as_str();
    if asked == "neutral" {
        return match args.recorded_guitar {
            None => Ok(None),
            Some(_) => Err(Failure::input(
                "--recorded-guitar says how a take was recorded, and --recorded-through says neutral",
                "name the arrangement that was heard, such as --recorded-through series",
            )),
        };
    }
    if args.sources.is_empty() {
        let message = "--recorded-through says how a take was recorded, and no take is named";
        let hint = format!("name it, as in `drywire hear di.wav --recorded-through {asked}`");
        return Err(Failure::input(message, hint));
    }
    if matches!(args.source_channels, Some(SourceChannels::Coils)) {
        return Err(of_coils());
    }
    if matches!(args.model, Kind::SecondOrder) {
        let message = "--model second-order cannot take a recording back through an arrangement";
        return Err(Failure::input(message, "use the default, --model circuit"));
    }
    let other = args.recorded_guitar.as_deref().map(Guitar::open).transpose()?;
    let then = other.as_ref().unwrap_or(own);
    let scope = scope_then(then, heard, asked)?;
    let response = voice_named(then, scope, asked)
        .and_then(|voice| voice.response(then, scope).map_err(SelectionError::from))
        .map_err(|error| Failure::from(error).about("--recorded-through"))?;
    let voice = Recorded::new(response, StandsFor::between(scope, heard, own));
    let voice = voice.map_err(|e| recorded_failure(&e).about("--recorded-through"))?;
    Ok(Some(Through { voice, note: note(asked, scope, heard) }))
}

/// Returns why a source with a channel for each coil was recorded through nothing.
pub(super) fn of_coils() -> Failure {
    let message = "a source with a channel for each coil was not recorded through an arrangement";
    Failure::input(message, "leave out --recorded-through, or say --source-channels stereo")
}

/// Returns what is to be told of a take that was recorded through one pickup and is heard through the whole guitar, or
/// the other way round.
fn note(asked: &str, then: Scope<'_>, heard: Scope<'_>) -> Option<String> {
    match (then, heard) {
        (Scope::Guitar, Scope::Guitar) | (Scope::Pickup(_), Scope::Pickup(_)) => None,
        (Scope::Guitar, Scope::Pickup(pickup)) => Some(format!(
            "the take is held to be made through the whole guitar in {asked}, and {} is heard by itself",
            pickup.name()
        )),
        (Scope::Pickup(pickup), Scope::Guitar) => Some(format!(
            "the take is held to be made through {pickup} by itself in {asked}; {pickup}={asked} would be through the \
             whole guitar",
            pickup = pickup.name()
        )),
    }
}

/// Returns what of the guitar `then` the voice `asked` for connects, where `heard` of a guitar is heard now.
fn scope_then<'g>(then: &'g Guitar, heard: Scope<'_>, asked: &str) -> Result<Scope<'g>, Failure> {
    if names_position(then, asked) {
        return Ok(Scope::Guitar);
    }
    match heard {
        Scope::Guitar if asked.parse::<Arrangement>().is_ok() => Ok(Scope::Pickup(&then.pickups()[0])),
        Scope::Guitar => Ok(Scope::Guitar),
        Scope::Pickup(pickup) => {
            let hint = "call the recorded pickup by the same name";
            let same = then.pickup(Some(pickup.name().as_str()));
            same.map(Scope::Pickup).map_err(|e| Failure::input(e.to_string(), hint))
        }
    }
}

fn recorded_failure(error: &RecordedError) -> Failure {
    let hint = match error {
        RecordedError::OutOfPhase { .. } => "use a take recorded in series, in parallel or with one coil",
        RecordedError::Silent { .. } => {
            "name a throw or a position that sounds, and turn up the volume of the recorded guitar's file to where it was"
        }
        RecordedError::Solve(_) => "some value of the recorded guitar's file is extreme",
    };
    Failure::input(error.to_string(), hint)
}
