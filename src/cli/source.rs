//! The source that is heard: a file, a built-in one, or the built-in chord plucked for the guitar at hand.

use std::path::Path;

use drywire::document::nearest;
use drywire::guitar::{Guitar, Preset, guitar_presets, pickup_presets};
use drywire::pluck::{Recipe, Unplayable, built_in_sources};
use drywire::render::Channels;
use drywire::response::Scope;
use drywire::sound::{Problem, Sound, SoundError};
use drywire::wiring::Arrangement;

use super::Failure;
use super::choose::meant;
use super::typed::{is_unit, of_a_unit};

/// A source and what its channels stand for.
pub(crate) struct Source {
    pub(crate) sound: Sound,
    pub(crate) channels: Channels,
}

/// Returns the source at `path`, or the built-in one of that name, its channels standing for what is `asked`, or else for what they are known to.
pub(crate) fn named(path: &Path, asked: Option<Channels>, repair: bool) -> Result<Source, Failure> {
    let built_in = built_in_sources().iter().find(|s| path.as_os_str() == s.name);
    if let Some(built_in) = built_in.filter(|_| !path.exists()) {
        let known = if built_in.by_coils { Channels::Coils } else { Channels::Stereo };
        let sound = Sound::from_bytes(built_in.name, built_in.bytes).map_err(|e| sound_failure(&e))?;
        return Ok(Source { sound, channels: asked.unwrap_or(known) });
    }
    let sound = Sound::open(path).map_err(|e| no_source(path, &e))?.repairing(repair);
    Ok(Source { sound, channels: asked.unwrap_or(Channels::Stereo) })
}

/// Returns why there is no source at `path`, and, where it is something else that the program knows, how that is given.
fn no_source(path: &Path, error: &SoundError) -> Failure {
    let given = path.to_string_lossy();
    let given = given.as_ref();
    let is_file = !error.is_missing();
    let is_one = |presets: &[Preset]| !is_file && presets.iter().any(|preset| preset.name == given);
    let is_toml = path.extension().is_some_and(|ending| ending == "toml");
    let hint = if !is_file && is_unit(given) {
        of_a_unit(given, None)
    } else if is_file && is_toml || is_one(guitar_presets()) {
        format!("say --guitar {given}, and without a source one is plucked for it")
    } else if is_one(pickup_presets()) {
        format!("say --pickup {given}, and without a source one is plucked for it")
    } else if !is_file && given.parse::<Arrangement>().is_ok() {
        format!("arrangements are listed with commas and no spaces, as in --arrangements series,{given}")
    } else {
        let known = built_in_sources().iter().map(|source| source.name);
        meant(nearest(given, known).filter(|_| !is_file), error.hint())
    };
    Failure::input(error.to_string(), hint)
}

/// Returns the source for what is heard where none is named: a chord with a channel for each coil, exact in every
/// arrangement.
pub(crate) fn plucked(guitar: &Guitar, scope: Scope<'_>) -> Result<Source, Failure> {
    let first = built_in_sources()[0];
    let sound = if is_what_the_built_in_one_was_made_for(guitar, scope) {
        Sound::from_bytes(first.name, first.bytes)
    } else {
        let recipe = Recipe::open_chord(guitar, scope.pickups(guitar)).map_err(|e| unplayable(&e))?;
        let take = recipe.render();
        Sound::from_planes("open-chord-plucked", take.rate(), take.coils().to_vec())
    };
    Ok(Source { sound: sound.map_err(|e| sound_failure(&e))?, channels: Channels::Coils })
}

fn is_what_the_built_in_one_was_made_for(guitar: &Guitar, scope: Scope<'_>) -> bool {
    let Ok(own) = Guitar::read(&guitar_presets()[0].document()) else { return false };
    own.scale() == guitar.scale() && own.pickups()[0].coil_places() == scope.places(guitar)
}

/// Returns the faults of a recipe as the command's.
pub(crate) fn unplayable(faults: &[Unplayable]) -> Failure {
    let told: Vec<String> = faults.iter().map(|fault| format!("{fault}\nhint: {}", fault.hint())).collect();
    Failure::Input { message: told.join("\nerror: "), hint: None }
}

/// Returns a source's error as the command's.
pub(crate) fn sound_failure(error: &SoundError) -> Failure {
    let how = if let Problem::BadSample { .. } = error.problem() { " with --repair" } else { "" };
    Failure::input(error.to_string(), format!("{}{how}", error.hint()))
}
