//! `drywire figures`: the numbers alone, without sound.

use std::thread::available_parallelism;

use clap::Args as ClapArgs;
use drywire::job::{Source, amplify, figures_of, foretell_drops, with_bands};
use drywire::report::{SetFigures, to_json};

use super::amp::AmpArgs;
use super::choose::{GuitarArgs, VoiceArgs};
use super::tolerances::ToleranceArgs;
use super::wrap::wrapped;
use super::{Console, Failure, Outcome};

/// Print what each arrangement does, without writing any sound
#[derive(Debug, ClapArgs)]
#[command(
    after_help = "Examples:\n  drywire figures\n  drywire figures --pickup narrow-blade --arrangements all\n  drywire figures --guitar mine.toml --pickup neck --json\n  drywire figures --amp driven      an open chord through a generic amplifier, rendered in memory"
)]
pub(crate) struct Args {
    #[command(flatten)]
    guitar: GuitarArgs,
    #[command(flatten)]
    voices: VoiceArgs,
    #[command(flatten)]
    tolerances: ToleranceArgs,
    #[command(flatten)]
    amp: AmpArgs,
    /// Print the figures as JSON
    #[arg(long)]
    json: bool,
}

pub(crate) fn run(args: &Args, console: &mut Console) -> Result<Outcome, Failure> {
    let guitar = args.guitar.guitar()?;
    let selection = args.voices.selection(&guitar, args.guitar.pickup_name())?;
    let mut figures = figures_of(&selection)?;
    let workers = available_parallelism().map_or(1, usize::from);
    let source = Source::plucked(&guitar, selection.scope())?;
    if let Some(asked) = args.amp.amplification()? {
        amplify(&mut figures, &selection, &source, asked, workers)?;
    } else {
        foretell_drops(&mut figures, &source.sound, &selection).map_err(|e| {
            Failure::input(
                e.to_string(),
                "some value of the guitar's file is extreme; try `drywire response`",
            )
        })?;
    }
    if let Some(draws) = args.tolerances.draws() {
        with_bands(&mut figures, &selection, draws, &source.sound, workers)?;
    }
    if args.json {
        console.result(to_json(&figures))?;
    } else {
        console.table(heading(&figures))?;
        console.rows(&figures.response_table())?;
        console.table("")?;
        console.rows(&figures.level_table())?;
        tell_amplifier(&figures, console)?;
        tell_bands(&figures, console)?;
        console.table(footing(&figures))?;
    }
    Ok(Outcome::Done)
}

/// Prints how sure the figures are, where that was worked out.
pub(crate) fn tell_bands(figures: &SetFigures, console: &mut Console) -> Result<(), Failure> {
    if let Some((table, told)) = figures.bands_table().zip(figures.bands_told()) {
        console.table("")?;
        console.rows(&table)?;
        console.table(format!("\n{}", wrapped(&told, "", "")))?;
    }
    Ok(())
}

/// Prints what is left of each change behind the amplifier, where there is one.
pub(crate) fn tell_amplifier(figures: &SetFigures, console: &mut Console) -> Result<(), Failure> {
    if let Some(table) = figures.amplifier_table() {
        console.table("")?;
        console.rows(&table)?;
    }
    Ok(())
}

/// Returns what stands above a table: the guitar and the pickup.
pub(crate) fn heading(figures: &SetFigures) -> String {
    let source = figures.source.as_ref().map_or_else(String::new, |source| format!("{}, ", source.file));
    let heard = format!("{}, {source}levels against {}", figures.heard(), figures.baseline);
    format!("{}\n{}\n", wrapped(&figures.guitar, "", "  "), wrapped(&heard, "", "  "))
}

/// Returns what stands below a table: what was assumed, remarks, and what these figures are.
pub(crate) fn footing(figures: &SetFigures) -> String {
    remarks([&figures.measured, &figures.assumed, &figures.notes], [format!("This is {}.", figures.honesty)])
}

/// Returns what was measured, what was assumed, notes and `closing` sentences, each on a line of its own below a line that is free.
pub(crate) fn remarks(
    [measured, assumed, notes]: [&[String]; 3],
    closing: impl IntoIterator<Item = String>,
) -> String {
    let titled = [("measured", measured), ("assumed", assumed), ("note", notes)];
    let entries =
        titled.iter().flat_map(|(title, entries)| entries.iter().map(move |e| format!("{title}: {e}")));
    let lines = entries.chain(closing).map(|line| format!("\n{}", wrapped(&line, "", "  ")));
    lines.collect()
}
