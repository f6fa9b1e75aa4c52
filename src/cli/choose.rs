//! Which guitar, which pickup, which arrangements: the options that several commands share.

use std::path::{Path, PathBuf};

use clap::Args;
use clap::builder::{StringValueParser, TypedValueParser};
use drywire::document::{Document, nearest};
use drywire::folder::{Existing, Inputs, NewFile};
use drywire::guitar::{Draft, Guitar, Pickup, guitar_presets, pickup_presets};
use drywire::response::{Scope, Voice, VoiceError, VoiceResponse};
use drywire::wiring::Arrangement;

use super::output_folder::folder_failure;
use super::{Failure, positions, throws};

#[derive(Debug, Args)]
pub(crate) struct GuitarArgs {
    /// A guitar file, or the name of a built-in guitar (see `drywire presets`)
    #[arg(long, value_name = "FILE|NAME")]
    pub(crate) guitar: Option<PathBuf>,
    /// Which of the guitar's pickups; without --guitar also a built-in pickup
    #[arg(long, value_name = "NAME")]
    pub(crate) pickup: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct VoiceArgs {
    /// Arrangements, separated by commas, or `all`; throws of a soldered switch such as `mode:1`, or `throws`;
    /// positions of the whole guitar such as `selector:2` or `selector:2+neck=parallel`, or `positions`
    #[arg(long, value_name = "LIST", value_delimiter = ',', value_parser = word())]
    pub(crate) arrangements: Vec<String>,
    /// The arrangement that drops are told against [default: series, else the first listed]
    #[arg(long, value_name = "NAME")]
    pub(crate) baseline: Option<String>,
}

/// Returns a hint at what was probably meant, else what to do.
pub(crate) fn meant(nearest: Option<&str>, otherwise: impl Into<String>) -> String {
    nearest.map_or_else(|| otherwise.into(), |near| format!("did you mean `{near}`?"))
}

/// Returns what reads an entry of a list, without the spaces round its commas.
pub(crate) fn word() -> impl TypedValueParser<Value = String> {
    StringValueParser::new().map(|text| text.trim().to_owned())
}

/// What is listed where nothing is asked for: what a builder would consider.
const USUAL: [Arrangement; 6] = [
    Arrangement::Series,
    Arrangement::Parallel,
    Arrangement::SplitA,
    Arrangement::SplitB,
    Arrangement::SeriesReversed,
    Arrangement::ParallelReversed,
];

impl GuitarArgs {
    /// Returns the guitar asked for and, of its pickups, the name asked for.
    pub(crate) fn guitar(&self) -> Result<Guitar, Failure> {
        let built_in_pickup = || {
            let name = self.pickup.as_deref()?;
            pickup_presets().iter().find(|p| p.name == name)
        };
        match &self.guitar {
            Some(given) => guitar(given),
            None => match built_in_pickup() {
                Some(preset) => {
                    Guitar::with_built_in_pickup(preset.name).map_err(|e| Failure::input(e.to_string(), ""))
                }
                None => guitar(Path::new(guitar_presets()[0].name)),
            },
        }
    }

    /// Returns what is heard: the whole guitar where `voices` name its positions, else the pickup asked for, or the
    /// one whose throws they name, or the guitar's first.
    pub(crate) fn scope<'g>(&self, guitar: &'g Guitar, voices: &[String]) -> Result<Scope<'g>, Failure> {
        let throws_are = throws::are_positions(guitar, self.pickup.as_deref());
        let is_one =
            |name: &&String| positions::asks(guitar, name) || throws_are && name.as_str() == throws::ALL;
        if let Some(position) = voices.iter().find(is_one) {
            if self.guitar.is_some()
                && let Some(pickup) = &self.pickup
            {
                let message = format!("`{position}` is of the whole guitar, and --pickup says {pickup}");
                return Err(Failure::input(message, "leave out --pickup"));
            }
            return Ok(Scope::Guitar);
        }
        match voices.iter().find(|name| throws::asks(name)) {
            Some(name) if self.pickup.is_none() => throws::pickup(guitar, name).map(Scope::Pickup),
            Some(_) | None => self.pickup(guitar).map(Scope::Pickup),
        }
    }

    /// Returns the pickup asked for, or the guitar's first.
    pub(crate) fn pickup<'g>(&self, guitar: &'g Guitar) -> Result<&'g Pickup, Failure> {
        let built_in =
            self.pickup.as_ref().is_some_and(|name| pickup_presets().iter().any(|p| p.name == name));
        let name = self.pickup.as_deref().filter(|_| self.guitar.is_some() || !built_in);
        guitar.pickup(name).map_err(|e| {
            let hint = "built-in pickups can be named without --guitar; `drywire presets` lists them";
            Failure::input(e.to_string(), hint)
        })
    }
}

/// Puts an edited guitar's file in its place, where nothing is wrong with it.
pub(crate) fn save_draft(draft: &Draft, path: &Path) -> Result<(), Failure> {
    draft.check()?;
    NewFile::write(path, draft.text().as_bytes(), Existing::Replace, &Inputs::new())
        .map_err(|e| folder_failure(&e, "with --save"))
}

/// Returns the guitar of a file or a built-in name.
pub(crate) fn guitar(path: &Path) -> Result<Guitar, Failure> {
    let given = path.to_string_lossy();
    let given = given.as_ref();
    let built_in = guitar_presets().iter().find(|p| path.as_os_str() == p.name);
    match built_in {
        Some(preset) if !path.is_file() => Ok(Guitar::read(&preset.document())?),
        _ if !given.contains(['/', '.', '\\']) && !path.exists() => {
            let known: Vec<&str> = guitar_presets().iter().map(|p| p.name).collect();
            let listed = format!(
                "built in are {}; `drywire presets copy NAME` makes a file to edit",
                known.join(", ")
            );
            Err(Failure::input(
                format!("`{given}` is neither a file nor a built-in guitar"),
                meant(nearest(given, known), listed),
            ))
        }
        _ => Ok(Guitar::read(&Document::open(path)?)?),
    }
}

impl VoiceArgs {
    /// Returns the voices asked for, each with its response, and the place of the baseline among them.
    pub(crate) fn responses(
        &self,
        guitar: &Guitar,
        scope: Scope<'_>,
    ) -> Result<(Vec<VoiceResponse>, usize), Failure> {
        let voices = match scope {
            Scope::Pickup(pickup) => self.voices(guitar, pickup)?,
            Scope::Guitar => unique(self.arrangements.iter().map(|given| positions::voices(guitar, given)))?,
        };
        let baseline = self.baseline_of(&voices)?;
        let responses: Result<Vec<VoiceResponse>, VoiceError> =
            voices.iter().map(|v| v.response(guitar, scope)).collect();
        Ok((responses.map_err(|e| voice_failure(&e))?, baseline))
    }

    fn voices(&self, guitar: &Guitar, pickup: &Pickup) -> Result<Vec<Voice>, Failure> {
        let available = pickup.arrangements();
        let of = |list: &mut dyn Iterator<Item = Arrangement>| list.map(Voice::of).collect::<Vec<Voice>>();
        if self.arrangements.is_empty() {
            let usual = USUAL.into_iter().chain([Arrangement::Alone]);
            return Ok(of(&mut usual.filter(|a| available.contains(a))));
        }
        if self.arrangements == ["all"] {
            return Ok(of(&mut available.into_iter()));
        }
        let or_else = "separate several by commas, or say `all`";
        unique(self.arrangements.iter().map(|given| voices_of(guitar, pickup, given, or_else)))
    }

    fn baseline_of(&self, voices: &[Voice]) -> Result<usize, Failure> {
        let listed = |name: &str| voices.iter().position(|v| v.name() == name);
        match &self.baseline {
            None => Ok(listed(Arrangement::Series.name()).unwrap_or(0)),
            Some(name) => listed(name).ok_or_else(|| {
                let names: Vec<&str> = voices.iter().map(Voice::name).collect();
                Failure::input(
                    format!("the baseline `{name}` is not among the arrangements {}", names.join(", ")),
                    meant(nearest(name, names), "add it to --arrangements, or choose one of those"),
                )
            }),
        }
    }
}

/// Returns all of `lists` in one, in which no voice is twice.
fn unique(lists: impl Iterator<Item = Result<Vec<Voice>, Failure>>) -> Result<Vec<Voice>, Failure> {
    let mut voices: Vec<Voice> = Vec::new();
    for list in lists {
        for voice in list? {
            if voices.iter().any(|v| v.name() == voice.name()) {
                let message = format!("`{}` is listed twice", voice.name());
                return Err(Failure::input(message, "list each arrangement once"));
            }
            voices.push(voice);
        }
    }
    Ok(voices)
}

/// Returns the one voice of that name.
pub(crate) fn voice(guitar: &Guitar, scope: Scope<'_>, name: &str) -> Result<Voice, Failure> {
    let mut voices = match scope {
        Scope::Pickup(pickup) => {
            let or_else = "name one, or a throw such as mode:1, or a position such as selector:2";
            voices_of(guitar, pickup, name, or_else)?
        }
        Scope::Guitar => positions::voices(guitar, name)?,
    };
    if voices.len() > 1 {
        let message = format!("`{name}` is several, and one is wanted");
        return Err(Failure::input(message, format!("name one, such as {}", voices[0].name())));
    }
    Ok(voices.remove(0))
}

/// Returns the voices of that name; `or_else` is what to do where nothing is called nearly so.
fn voices_of(guitar: &Guitar, pickup: &Pickup, name: &str, or_else: &str) -> Result<Vec<Voice>, Failure> {
    if throws::asks(name) {
        return throws::voices(guitar, pickup, name);
    }
    let arrangement: Result<Arrangement, _> = name.parse();
    arrangement.map(|a| vec![Voice::of(a)]).map_err(|e| {
        let hint = e.hint().unwrap_or_else(|| or_else.to_owned());
        Failure::input(e.to_string(), hint)
    })
}

/// Returns a voice's error as the command's.
pub(crate) fn voice_failure(error: &VoiceError) -> Failure {
    let hint = match error {
        VoiceError::CoilCount { arrangement: Arrangement::Alone, .. } => {
            "a two-coil pickup has series, parallel, split-a, split-b and their likes"
        }
        VoiceError::CoilCount { .. } => "a one-coil pickup has the arrangement `alone`",
        VoiceError::Scope { .. } => "list arrangements of a pickup or positions of the guitar, not both",
        VoiceError::Build(_) => "state it in the guitar's file, such as bypass = \"22n\"",
        VoiceError::Solve(_) => {
            "some value of the guitar's file is extreme; `drywire figures --json` lists them"
        }
    };
    Failure::input(error.to_string(), hint)
}
