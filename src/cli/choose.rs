//! Which guitar, which pickup, which arrangements: the options that several commands share.

use std::path::{Path, PathBuf};

use clap::Args;
use clap::builder::{StringValueParser, TypedValueParser};
use drywire::digest::Form;
use drywire::document::{Document, nearest};
use drywire::folder::{Existing, Inputs, NewFile};
use drywire::guitar::{Draft, Guitar, Pickup, Preset, guitar_presets, pickup_presets};
use drywire::response::{Scope, Selection, SelectionError};

use super::hints::folder_failure;
use super::{Console, Failure};

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

/// What becomes of files that stand in the way.
#[derive(Debug, Clone, Copy, Args)]
pub(crate) struct ReplaceArgs {
    /// Replace what stands in the way also where drywire did not write it, or where it was changed since; it is gone then
    #[arg(long)]
    replace: bool,
}

impl ReplaceArgs {
    pub(crate) fn existing(self) -> Existing {
        if self.replace { Existing::Replace } else { Existing::ReplaceOwn }
    }
}

/// Returns a hint at what was probably meant, else what to do.
pub(crate) fn meant(nearest: Option<&str>, otherwise: impl Into<String>) -> String {
    nearest.map_or_else(|| otherwise.into(), |near| format!("did you mean `{near}`?"))
}

/// Returns what reads an entry of a list, without the spaces round its commas.
fn word() -> impl TypedValueParser<Value = String> {
    StringValueParser::new().map(|text| text.trim().to_owned())
}

impl GuitarArgs {
    /// Returns the guitar asked for, with the built-in pickup asked for where no guitar is.
    pub(crate) fn guitar(&self) -> Result<Guitar, Failure> {
        Ok(match (&self.guitar, self.built_in_pickup()) {
            (Some(given), _) => Guitar::open(given)?,
            (None, Some(preset)) => Guitar::with_built_in_pickup(preset.name)
                .map_err(|e| Failure::input(e.to_string(), "`drywire presets` lists them"))?,
            (None, None) => Guitar::open(Path::new(guitar_presets()[0].name))?,
        })
    }

    /// Returns the name asked for of one of the guitar's pickups.
    pub(crate) fn pickup_name(&self) -> Option<&str> {
        self.pickup.as_deref().filter(|_| self.guitar.is_some() || self.built_in_pickup().is_none())
    }

    /// Returns what is heard: the whole guitar where `voices` name its positions, else the pickup asked for, or the
    /// one whose throws they name, or the guitar's first.
    pub(crate) fn scope<'g>(&self, guitar: &'g Guitar, voices: &[String]) -> Result<Scope<'g>, Failure> {
        Ok(Scope::of_names(guitar, self.pickup_name(), voices)?)
    }

    /// Returns the pickup asked for, or the guitar's first.
    pub(crate) fn pickup<'g>(&self, guitar: &'g Guitar) -> Result<&'g Pickup, Failure> {
        Ok(guitar.pickup(self.pickup_name()).map_err(SelectionError::from)?)
    }

    fn built_in_pickup(&self) -> Option<&'static Preset> {
        let name = self.pickup.as_deref()?;
        pickup_presets().iter().find(|preset| preset.name == name)
    }
}

/// Returns the guitar's file at `path`, into which something is to be put.
pub(crate) fn draft_to_save(path: &Path) -> Result<Draft, Failure> {
    let is_built_in = guitar_presets().iter().any(|preset| path.as_os_str() == preset.name);
    if is_built_in && !path.is_file() {
        let name = path.display();
        return Err(Failure::input(
            format!("--save: `{name}` is built in and has no file to put anything into"),
            format!("make one with `drywire presets copy {name} mine.toml`, and name that"),
        ));
    }
    Ok(Draft::of(Document::open(path)?))
}

/// Puts an edited guitar's file in its place, where nothing is wrong with it.
pub(crate) fn save_draft(draft: &Draft, path: &Path) -> Result<(), Failure> {
    draft.check()?;
    NewFile::write(path, draft.text().as_bytes(), Existing::Replace, &Inputs::new())
        .map_err(|e| folder_failure(&e, "with --save"))
}

/// Puts a sheet in its place, which is that of none of the files that were read.
pub(crate) fn save_sheet(
    path: &Path,
    page: &str,
    replace: ReplaceArgs,
    read: [Option<&Path>; 2],
    console: &mut Console,
) -> Result<(), Failure> {
    let mut inputs = Inputs::new();
    for input in read.into_iter().flatten() {
        // A built-in guitar's name leads to no file.
        let _ = inputs.add(input);
    }
    NewFile::write(path, Form::Html.marked(page).as_bytes(), replace.existing(), &inputs)
        .map_err(|e| folder_failure(&e, "with --sheet"))?;
    console.note(format!("wrote {}: open it in a browser, and print it", path.display()));
    Ok(())
}

impl VoiceArgs {
    /// Returns the voices asked for, each with its response, and the baseline among them.
    pub(crate) fn selection<'g>(
        &self,
        guitar: &'g Guitar,
        pickup: Option<&str>,
    ) -> Result<Selection<'g>, Failure> {
        Selection::of_names(guitar, pickup, &self.arrangements, self.baseline.as_deref()).map_err(|error| {
            let hint = match &error {
                SelectionError::Unknown(unknown) => {
                    unknown.hint().unwrap_or_else(|| "separate several by commas, or say `all`".to_owned())
                }
                SelectionError::NoBaseline { name, known } => meant(
                    nearest(name, known.iter().map(String::as_str)),
                    "add it to --arrangements, or choose one of those",
                ),
                SelectionError::Position(_)
                | SelectionError::Pickup(_)
                | SelectionError::WholeGuitar { .. }
                | SelectionError::OnAnotherPickup { .. }
                | SelectionError::Twice { .. }
                | SelectionError::Several { .. }
                | SelectionError::Nothing
                | SelectionError::Voice(_) => return error.into(),
            };
            Failure::input(error.to_string(), hint)
        })
    }
}
