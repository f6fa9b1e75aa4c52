//! `drywire presets`: the built-in files, to list, show and copy out.

use std::path::{Path, PathBuf};

use clap::{Args as ClapArgs, Subcommand};
use drywire::folder::{Existing, Inputs, NewFile, Obstacle};
use drywire::guitar::{Preset, guitar_presets, pickup_presets};
use drywire::pluck::built_in_sources;
use drywire::wiring::{BUILT_IN_SELECTORS, BUILT_IN_SWITCHES};

use super::choose::meant;
use super::hints::folder_failure;
use super::wrap::after_or_below;
use super::{Console, Failure, Outcome};

/// List, show and copy out the built-in guitars, pickups, switches and sources
#[derive(Debug, ClapArgs)]
#[command(
    after_help = "Examples:\n  drywire presets\n  drywire presets show vintage-full-size\n  drywire presets copy set-neck my-guitar.toml"
)]
pub(crate) struct Args {
    #[command(subcommand)]
    action: Option<Action>,
}

#[derive(Debug, Subcommand)]
enum Action {
    /// List what is built in (the same as without a word)
    List,
    /// Print a built-in file, in which each value states its source or its mark
    Show {
        /// The file's name
        name: String,
    },
    /// Copy a built-in file out, to be edited or played; an existing file is kept unless told otherwise
    Copy {
        /// The file's name
        name: String,
        /// Where to [default: the name in this folder, with its ending]
        to: Option<PathBuf>,
        /// Replace a file of that name, whatever it is; it is gone then
        #[arg(long)]
        replace: bool,
    },
}

/// The files of the README's worked example.
const EXAMPLE: [(&str, &str); 2] = [
    ("drawer", include_str!("../../presets/example/drawer.toml")),
    ("travel", include_str!("../../presets/example/travel.toml")),
];

/// A built-in file of any kind.
struct BuiltIn {
    kind: &'static str,
    name: &'static str,
    title: &'static str,
    bytes: &'static [u8],
    ending: &'static str,
}

fn all() -> Vec<BuiltIn> {
    let texts = |kind: &'static str, presets: &'static [Preset]| {
        presets.iter().map(move |p| BuiltIn {
            kind,
            name: p.name,
            title: p.title(),
            bytes: p.text.as_bytes(),
            ending: "toml",
        })
    };
    let sources = built_in_sources().iter().map(|s| BuiltIn {
        kind: "sources",
        name: s.name,
        title: s.title,
        bytes: s.bytes,
        ending: "wav",
    });
    let tables = |kind: &'static str, tables: &'static [(&'static str, &'static str)]| {
        tables.iter().map(move |(name, text)| BuiltIn {
            kind,
            name,
            title: text.lines().next().unwrap_or_default().trim_start_matches(['#', ' ']),
            bytes: text.as_bytes(),
            ending: "toml",
        })
    };
    texts("guitars", guitar_presets())
        .chain(texts("pickups", pickup_presets()))
        .chain(tables("switches", &BUILT_IN_SWITCHES))
        .chain(tables("selectors", &BUILT_IN_SELECTORS))
        .chain(tables("worked example", &EXAMPLE))
        .chain(sources)
        .collect()
}

pub(crate) fn run(args: &Args, console: &mut Console) -> Result<Outcome, Failure> {
    match &args.action {
        None | Some(Action::List) => console.result(list())?,
        Some(Action::Show { name }) => show(&find(name)?, console)?,
        Some(Action::Copy { name, to, replace }) => {
            let file = find(name)?;
            let own = PathBuf::from(format!("{}.{}", file.name, file.ending));
            let to: &Path = to.as_deref().unwrap_or(&own);
            let existing = if *replace { Existing::Replace } else { Existing::Keep };
            NewFile::write(to, file.bytes, existing, &Inputs::new()).map_err(|e| match e.obstacle() {
                Obstacle::Exists => {
                    Failure::input(e.to_string(), "choose another name, or say --replace, and it is gone")
                }
                _ => folder_failure(&e, "after the name"),
            })?;
            console.note(format!("{} is in {}", file.name, to.display()));
        }
    }
    Ok(Outcome::Done)
}

fn list() -> String {
    let mut lines: Vec<String> = Vec::new();
    let mut kind = "";
    for file in all() {
        if file.kind != kind {
            kind = file.kind;
            lines.push(format!("{}{kind}", if lines.is_empty() { "" } else { "\n" }));
        }
        lines.push(after_or_below(&format!("  {}", file.name), file.title, 24));
    }
    lines.join("\n")
}

fn show(file: &BuiltIn, console: &mut Console) -> Result<(), Failure> {
    match std::str::from_utf8(file.bytes) {
        Ok(text) => console.result(text.trim_end()),
        Err(_) => Err(Failure::input(
            format!("`{}` is a sound and cannot be shown", file.name),
            format!("`drywire presets copy {}` writes it into this folder", file.name),
        )),
    }
}

fn find(name: &str) -> Result<BuiltIn, Failure> {
    let nearest = drywire::document::nearest(name, all().iter().map(|p| p.name)).map(str::to_owned);
    all().into_iter().find(|p| p.name == name).ok_or_else(|| {
        let hint = meant(nearest.as_deref(), "`drywire presets` lists them");
        Failure::input(format!("nothing built in is called `{name}`"), hint)
    })
}
