//! `drywire figures`: the numbers alone, without sound.

use clap::Args as ClapArgs;
use drywire::render::forecast;
use drywire::report::{ArrangementFigures, SetFigures};
use drywire::response::{Scope, SecondOrder, Selection, VoiceError, VoiceResponse};
use drywire::sound::Sound;
use drywire::words;

use super::choose::{GuitarArgs, VoiceArgs};
use super::output_folder::to_json;
use super::source::plucked;
use super::tolerances::ToleranceArgs;
use super::wrap::wrapped;
use super::{Console, Failure, Outcome};

/// Print what each arrangement does, without rendering any sound
#[derive(Debug, ClapArgs)]
#[command(
    after_help = "Examples:\n  drywire figures\n  drywire figures --pickup narrow-blade --arrangements all\n  drywire figures --guitar mine.toml --pickup neck --json"
)]
pub(crate) struct Args {
    #[command(flatten)]
    guitar: GuitarArgs,
    #[command(flatten)]
    voices: VoiceArgs,
    #[command(flatten)]
    tolerances: ToleranceArgs,
    /// Print the figures as JSON
    #[arg(long)]
    json: bool,
}

pub(crate) fn run(args: &Args, console: &mut Console) -> Result<Outcome, Failure> {
    let guitar = args.guitar.guitar()?;
    let selection = args.voices.selection(&guitar, args.guitar.pickup_name())?;
    let mut figures = figures_of(&selection)?;
    let neutral = plucked(&guitar, selection.scope())?.sound;
    add_drops(&mut figures, &neutral, selection.responses(), selection.baseline())?;
    args.tolerances.tell(&selection, &mut figures, || Ok(neutral))?;
    if args.json {
        console.result(to_json(&figures))?;
    } else {
        console.table(heading(&figures))?;
        console.rows(&figures.response_table())?;
        console.table("")?;
        console.rows(&figures.level_table())?;
        tell_bands(&figures, console)?;
        console.table(footing(&figures))?;
    }
    Ok(Outcome::Done)
}

/// Adds the drops that the voices will have with `sound`, the source that is heard where none is named.
fn add_drops(
    figures: &mut SetFigures,
    sound: &Sound,
    responses: &[VoiceResponse],
    baseline: usize,
) -> Result<(), Failure> {
    let foretold = forecast(sound, responses).map_err(|e| {
        Failure::input(e.to_string(), "some value of the guitar's file is extreme; try `drywire response`")
    })?;
    let against = &foretold[baseline];
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

/// Returns the figures of what is selected before any sound.
pub(crate) fn figures_of(selection: &Selection<'_>) -> Result<SetFigures, Failure> {
    let (guitar, scope, responses) = (selection.guitar(), selection.scope(), selection.responses());
    let mut set = SetFigures::new(guitar, scope, selection.baseline_name());
    for response in responses {
        let figures = response.figures().map_err(VoiceError::from)?;
        let off = match (response.voice().arrangement(), scope) {
            (None, _) | (_, Scope::Guitar) => None,
            (Some(arrangement), Scope::Pickup(pickup)) => {
                let alone = SecondOrder::of(guitar, pickup, arrangement);
                Some(alone.distance(response).map_err(VoiceError::from)?.value())
            }
        };
        let noise = response.thermal_noise().map_err(VoiceError::from)?;
        let told = ArrangementFigures::new(response.voice().name(), &figures, off);
        set.arrangements.push(told.with_noise(&noise));
    }
    // What the name of a throw or a position does not tell.
    let unsaid =
        responses.iter().filter(|r| r.voice().arrangement().is_none_or(|a| a.name() != r.voice().name()));
    set.notes.extend(unsaid.map(|r| format!("{} is {}", r.voice().name(), words::voice(r, guitar, scope))));
    Ok(set)
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

/// Returns what stands above a table: the guitar and the pickup.
pub(crate) fn heading(figures: &SetFigures) -> String {
    let source = figures.source.as_ref().map_or_else(String::new, |source| format!("{}, ", source.file));
    let heard = format!("{}, {source}levels against {}", figures.heard(), figures.baseline);
    format!("{}\n{}\n", wrapped(&figures.guitar, "", "  "), wrapped(&heard, "", "  "))
}

/// Returns what stands below a table: what was assumed, remarks, and what these figures are.
pub(crate) fn footing(figures: &SetFigures) -> String {
    remarks(&figures.assumed, &figures.notes, [format!("This is {}.", figures.honesty)])
}

/// Returns what was assumed, notes and `closing` sentences, each on a line of its own below a line that is free.
pub(crate) fn remarks(
    assumed: &[String],
    notes: &[String],
    closing: impl IntoIterator<Item = String>,
) -> String {
    let titled = [("assumed", assumed), ("note", notes)];
    let entries =
        titled.iter().flat_map(|(title, entries)| entries.iter().map(move |e| format!("{title}: {e}")));
    let lines = entries.chain(closing).map(|line| format!("\n{}", wrapped(&line, "", "  ")));
    lines.collect()
}
