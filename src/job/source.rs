//! The source that is heard: a file, a built-in one, or the built-in chord plucked for the guitar at hand.

use std::path::Path;

use super::recorded::Through;
use crate::document::nearest;
use crate::guitar::{Guitar, Preset, guitar_presets, pickup_presets};
use crate::pluck::{Recipe, Unplayable, built_in_sources};
use crate::render::{Channels, Configuration, Model};
use crate::response::{Scope, Selection};

use crate::sound::{Sound, SoundError};
use crate::wiring::Arrangement;

/// A source and what its channels stand for.
#[derive(Debug, Clone)]
pub struct Source {
    /// The sound.
    pub sound: Sound,
    /// What its channels stand for.
    pub channels: Channels,
    /// Whether this program made it, so that it is known to be neutral.
    pub is_made: bool,
}

/// Why there is no source.
#[derive(Debug, thiserror::Error)]
pub enum SourceError {
    /// The sound cannot be read.
    #[error(transparent)]
    Sound(#[from] SoundError),
    /// What was named is something else than a sound.
    #[error("{error}")]
    Mistaken {
        /// The name as given.
        given: String,
        /// What it is.
        is: Mistaken,
        /// Why it is no sound.
        error: SoundError,
    },
    /// No chord can be plucked for the guitar.
    #[error("{}", told(faults))]
    Unplayable {
        /// Every reason.
        faults: Vec<Unplayable>,
    },
}

/// What was named where a source is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mistaken {
    /// A guitar, built in or a file.
    Guitar,
    /// A built-in pickup.
    Pickup,
    /// An arrangement.
    Arrangement,
    /// Nothing that is known, but nearly the name of this built-in source.
    Nearly(&'static str),
}

impl SourceError {
    /// Returns what to do about it.
    pub fn hint(&self) -> String {
        match self {
            Self::Sound(error) => error.hint().to_owned(),
            Self::Mistaken { is: Mistaken::Guitar | Mistaken::Pickup, .. } => {
                "choose it as the guitar or its pickup, and without a source one is plucked for it".to_owned()
            }
            Self::Mistaken { is: Mistaken::Arrangement, .. } => "list it among the arrangements".to_owned(),
            Self::Mistaken { is: Mistaken::Nearly(name), .. } => format!("did you mean `{name}`?"),
            Self::Unplayable { faults } => hints_of(faults),
        }
    }
}

impl From<Vec<Unplayable>> for SourceError {
    fn from(faults: Vec<Unplayable>) -> Self {
        Self::Unplayable { faults }
    }
}

/// Returns why nothing can be plucked, in one line.
pub(super) fn told(faults: &[Unplayable]) -> String {
    faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
}

/// Returns what to do about each of the `faults`, in one line.
pub(super) fn hints_of(faults: &[Unplayable]) -> String {
    faults.iter().map(Unplayable::hint).collect::<Vec<_>>().join("; ")
}

impl Source {
    /// Returns the source at `path`, or the built-in one of that name, its channels standing for what is `asked`, or else
    /// for what they are known to; `repairing` takes samples that are no numbers as silence.
    ///
    /// # Errors
    /// [`SourceError`] where there is none.
    pub fn open(path: &Path, asked: Option<Channels>, repairing: bool) -> Result<Self, SourceError> {
        if let Some(built_in) = path.to_str().filter(|_| !path.exists()).and_then(Self::built_in) {
            let own = built_in?;
            return Ok(Self { channels: asked.unwrap_or(own.channels), ..own });
        }
        let sound = Sound::open(path).map_err(|error| no_source(path, error))?.repairing(repairing);
        Ok(Self { sound, channels: asked.unwrap_or(Channels::Stereo), is_made: false })
    }

    /// Returns the built-in source of this name, where there is one.
    pub fn built_in(name: &str) -> Option<Result<Self, SourceError>> {
        let built_in = built_in_sources().iter().find(|source| source.name == name)?;
        let channels = if built_in.by_coils { Channels::Coils } else { Channels::Stereo };
        let sound = Sound::from_bytes(built_in.name, built_in.bytes);
        Some(sound.map(|sound| Self { sound, channels, is_made: true }).map_err(SourceError::from))
    }

    /// Returns the source for what is heard where none is named: a chord with a channel for each coil, exact in every
    /// arrangement.
    ///
    /// # Errors
    /// [`SourceError`] where no chord can be plucked over those coils.
    pub fn plucked(guitar: &Guitar, scope: Scope<'_>) -> Result<Self, SourceError> {
        let first = built_in_sources()[0];
        let sound = if is_what_the_built_in_one_was_made_for(guitar, scope) {
            Sound::from_bytes(first.name, first.bytes)
        } else {
            let recipe = Recipe::open_chord(guitar, scope.pickups(guitar))?;
            let take = recipe.render();
            Sound::from_planes("open-chord-plucked", take.rate(), take.coils().to_vec())
        };
        Ok(Self { sound: sound?, channels: Channels::Coils, is_made: true })
    }
}

impl Source {
    /// Returns what all takes of the source through the voices of `selection` have in common, the source being recorded
    /// `through` another voice, where it is: by the whole circuit, without hum.
    pub(super) fn configuration<'s>(
        &'s self,
        selection: &'s Selection<'_>,
        through: Option<&'s Through>,
    ) -> Configuration<'s> {
        Configuration {
            guitar: selection.guitar(),
            scope: selection.scope(),
            rate_hz: self.sound.rate_hz(),
            source_channels: self.sound.channels(),
            channels: self.channels,
            model: Model::Circuit,
            recorded: through.map(|through| &through.voice),
            hum: None,
        }
    }
}

/// Returns why there is no source at `path`, and, where it is something else that is known, what.
fn no_source(path: &Path, error: SoundError) -> SourceError {
    let given = path.to_string_lossy().into_owned();
    let is_file = !error.is_missing();
    let is_one = |presets: &[Preset]| !is_file && presets.iter().any(|preset| preset.name == given);
    let is_toml = path.extension().is_some_and(|ending| ending == "toml");
    let is = if is_file && is_toml || is_one(guitar_presets()) {
        Some(Mistaken::Guitar)
    } else if is_one(pickup_presets()) {
        Some(Mistaken::Pickup)
    } else if !is_file && given.parse::<Arrangement>().is_ok() {
        Some(Mistaken::Arrangement)
    } else {
        let known = built_in_sources().iter().map(|source| source.name);
        nearest(&given, known).filter(|_| !is_file).map(Mistaken::Nearly)
    };
    match is {
        Some(is) => SourceError::Mistaken { given, is, error },
        None => error.into(),
    }
}

fn is_what_the_built_in_one_was_made_for(guitar: &Guitar, scope: Scope<'_>) -> bool {
    let Ok(own) = Guitar::read(&guitar_presets()[0].document()) else { return false };
    own.scale() == guitar.scale() && own.pickups()[0].coil_places() == scope.places(guitar)
}
