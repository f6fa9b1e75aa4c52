//! The voice that sources were recorded through.

use crate::guitar::{Guitar, UnknownPickup};
use crate::response::{
    Recorded, RecordedError, Scope, SelectionError, StandsFor, names_position, voice_named,
};
use crate::wiring::Arrangement;

/// The voice that a take was recorded through.
#[derive(Debug, Clone, Copy)]
pub struct RecordedRequest<'g> {
    /// Its name: an arrangement, a throw such as `mode:1`, or a position such as `selector:2`.
    pub through: &'g str,
    /// The guitar as it was recorded, where its cable, input or knobs were others.
    pub guitar: Option<&'g Guitar>,
}

/// Why a take cannot be taken back to the strings.
#[derive(Debug, Clone, thiserror::Error)]
pub enum RecordedThroughError {
    /// The voice is not one of the guitar as it was recorded.
    #[error(transparent)]
    Selection(#[from] SelectionError),
    /// The guitar as it was recorded has no such pickup.
    #[error(transparent)]
    Pickup(#[from] UnknownPickup),
    /// What it does cannot be undone.
    #[error(transparent)]
    Recorded(#[from] RecordedError),
}

impl RecordedThroughError {
    /// Returns what to do about it.
    pub fn hint(&self) -> String {
        match self {
            Self::Selection(error) => return error.hint(),
            Self::Pickup(_) => "call the recorded pickup by the same name",
            Self::Recorded(RecordedError::OutOfPhase { .. }) => {
                "use a take recorded in series, in parallel or with one coil"
            }
            Self::Recorded(RecordedError::Silent { .. }) => {
                "name a throw or a position that sounds, and turn up the volume of the recorded guitar's file to where \
                 it was"
            }
            Self::Recorded(RecordedError::Solve(_)) => {
                "some value of the recorded guitar's file is extreme"
            }
        }
        .to_owned()
    }
}

/// A voice that takes were recorded through.
#[derive(Debug, Clone)]
pub(super) struct Through {
    pub(super) voice: Recorded,
    /// What is to be told of it.
    pub(super) note: Option<String>,
}

impl Through {
    /// Returns the voice that is `asked` for, where `heard` of the guitar `own` is heard now.
    pub(super) fn asked(
        asked: &RecordedRequest<'_>,
        own: &Guitar,
        heard: Scope<'_>,
    ) -> Result<Self, RecordedThroughError> {
        let then = asked.guitar.unwrap_or(own);
        let scope = scope_then(then, heard, asked.through)?;
        let response =
            voice_named(then, scope, asked.through)?.response(then, scope).map_err(SelectionError::from)?;
        let voice = Recorded::new(response, StandsFor::between(scope, heard, own))?;
        Ok(Self { voice, note: note(asked.through, scope, heard) })
    }
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
fn scope_then<'g>(then: &'g Guitar, heard: Scope<'_>, asked: &str) -> Result<Scope<'g>, UnknownPickup> {
    if names_position(then, asked) {
        return Ok(Scope::Guitar);
    }
    Ok(match heard {
        Scope::Guitar if asked.parse::<Arrangement>().is_ok() => Scope::Pickup(&then.pickups()[0]),
        Scope::Guitar => Scope::Guitar,
        Scope::Pickup(pickup) => Scope::Pickup(then.pickup(Some(pickup.name().as_str()))?),
    })
}
