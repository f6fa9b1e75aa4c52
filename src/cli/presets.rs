//! `drywire presets`: the built-in files, to list, show and copy out.

use clap::{Args as ClapArgs, Subcommand};
use drywire::guitar::{Preset, guitar_presets, pickup_presets};

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
}

pub(crate) fn run(args: &Args, console: &mut Console) -> Result<Outcome, Failure> {
    match &args.action {
        None | Some(Action::List) => console.result(list())?,
        Some(Action::Show { name }) => console.result(find(name)?.text.trim_end())?,
    }
    Ok(Outcome::Done)
}

fn list() -> String {
    let group = |title: &str, presets: &[Preset]| {
        let lines: Vec<String> = presets.iter().map(|p| format!("  {:<22} {}", p.name, p.title())).collect();
        format!("{title}\n{}", lines.join("\n"))
    };
    format!("{}\n\n{}", group("guitars", guitar_presets()), group("pickups", pickup_presets()))
}

fn find(name: &str) -> Result<&'static Preset, Failure> {
    let all = || guitar_presets().iter().chain(pickup_presets());
    all().find(|p| p.name == name).ok_or_else(|| {
        let nearest = drywire::document::nearest(name, all().map(|p| p.name));
        let hint = match nearest {
            Some(nearest) => format!("did you mean `{nearest}`?"),
            None => "`drywire presets` lists them".to_owned(),
        };
        Failure::input(format!("nothing built in is called `{name}`"), hint)
    })
}
