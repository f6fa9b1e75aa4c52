//! `drywire survey`: every combination that a guitar's switches can make, and which of them sound alike.

use std::path::PathBuf;
use std::sync::Mutex;

use clap::Args as ClapArgs;
use drywire::job::{HEARD, KeptSet, MOST_HEARD, SURVEY_PAGE, SurveyProgress, SurveyRequest};
use drywire::quantity::Db;
use drywire::report::to_json;
use drywire::survey::{Radii, SurveyFigures};
use drywire::wiring::{Arrangement, UnknownArrangement};
use indicatif::ProgressBar;

use super::choose::{GuitarArgs, ReplaceArgs};
use super::figures::remarks;
use super::hear::{Bar, to_listen, warn_of};
use super::typed::{DECIBELS, whole};
use super::wrap::wrapped;
use super::{Console, Failure, Outcome};

const EXAMPLES: &str = "\
Examples:
  drywire survey --guitar three-two-coil           all combinations of three two-coil pickups
  drywire survey --guitar mine.toml --arrangements series,parallel,split-a
  drywire survey --guitar mine.toml --pickup bridge --within 2
  drywire survey --guitar mine.toml --hear         also render the positions worth keeping

A survey that is broken off is gone on with by the same command. Up to 100,000 combinations of up to
20,000 different circuits are gone through.

Caution: start playback low. Levels are set by gain alone, there is no limiter, and a resonant
rise can surprise. Mind your daily sound dose.";

/// Go through every combination a guitar can make, and find which of them sound alike
#[derive(Debug, ClapArgs)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Args {
    #[command(flatten)]
    guitar: GuitarArgs,
    /// Arrangements that every two-coil pickup can have, separated by commas [default: the throws of its switch, or all]
    #[arg(long, value_name = "LIST", value_delimiter = ',', value_parser = arrangement)]
    arrangements: Vec<Arrangement>,
    /// The position that levels are told against [default: how the guitar stands]
    #[arg(long, value_name = "NAME")]
    baseline: Option<String>,
    /// Keep so many positions that every combination sounds within this of one of them
    #[arg(long, value_name = "DB", default_value_t = Radii::WITHIN.value(), allow_hyphen_values = true, value_parser = distance)]
    within: f64,
    /// Combinations up to this far apart are near-duplicates
    #[arg(long, value_name = "DB", default_value_t = Radii::ALIKE.value(), allow_hyphen_values = true, value_parser = distance)]
    alike: f64,
    /// Also render the positions that are kept, as a set in DIR/heard
    #[arg(long)]
    hear: bool,
    /// The folder of the results; other files in it are left alone
    #[arg(long, value_name = "DIR", default_value = "drywire-survey")]
    out: PathBuf,
    #[command(flatten)]
    replace: ReplaceArgs,
    /// How many threads may work [default: as many as the machine runs at once]
    #[arg(long, value_name = "N", allow_hyphen_values = true, value_parser = whole::<u16>(1..=256))]
    threads: Option<u16>,
    /// Print the results as JSON
    #[arg(long)]
    json: bool,
}

/// Returns the arrangement of that name, or why there is none.
fn arrangement(name: &str) -> Result<Arrangement, String> {
    name.trim().parse().map_err(|e: UnknownArrangement| match e.hint() {
        Some(hint) => format!("{e}\nhint: {hint}"),
        None => e.to_string(),
    })
}

/// Returns the distance that an option's text states, or why it states none.
fn distance(text: &str) -> Result<f64, String> {
    DECIBELS.number_within(text, &(Radii::ALLOWED.start().value()..=Radii::ALLOWED.end().value())).map_err(
        |e| format!("{e}\nhint: 1 dB can just be told side by side, 3 dB is plain; such as 1 or 2.5"),
    )
}

pub(crate) fn run(args: &Args, console: &mut Console) -> Result<Outcome, Failure> {
    let guitar = args.guitar.guitar()?;
    let mut request = SurveyRequest {
        pickup: args.guitar.pickup_name().map(str::to_owned),
        arrangements: args.arrangements.clone(),
        baseline: args.baseline.clone(),
        radii: Radii { alike: Db::new(args.alike), within: Db::new(args.within) },
        is_heard: args.hear,
        existing: args.replace.existing(),
        inputs: args.guitar.guitar.iter().cloned().collect(),
        ..SurveyRequest::new(&guitar, &args.out)
    };
    if let Some(threads) = args.threads {
        request.workers = usize::from(threads);
    }
    let job = request.check()?;
    let shown = Mutex::new(Shown { console, circuits: None });
    let rendering = Bar::default();
    let made = job.make(&|progress| {
        let mut shown = shown.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        shown.tell(progress, &rendering);
    });
    rendering.finish();
    let Shown { console, circuits } = shown.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner);
    if let Some(bar) = circuits {
        bar.finish_and_clear();
    }
    let made = made?;
    match &made.kept {
        KeptSet::NotAsked => {}
        KeptSet::Silent => console.warn("every combination is silent, and nothing is rendered"),
        KeptSet::TooMany { given } => console.warn(format!(
            "{given} positions are kept, more than the {MOST_HEARD} that are rendered at most; ask for fewer with a \
             larger --within"
        )),
        KeptSet::Made(set) => warn_of(set, console),
    }
    tell(args, &made.figures, matches!(made.kept, KeptSet::Made(_)), console)
}

/// What is shown while a survey is made.
struct Shown<'c> {
    console: &'c mut Console,
    circuits: Option<ProgressBar>,
}

impl Shown<'_> {
    fn tell(&mut self, progress: SurveyProgress<'_>, rendering: &Bar) {
        match progress {
            SurveyProgress::GoesOn { part, done, of } => {
                self.console.note(format!("going on from `{}`: {done} of {of} are done", part.display()));
            }
            SurveyProgress::Replaces { part } => {
                self.console.warn(format!("`{}` is of another survey, and is replaced", part.display()));
            }
            SurveyProgress::Heard { done, of } => {
                let bar = self.circuits.get_or_insert_with(|| self.console.progress(of as u64));
                bar.set_position(done as u64);
                if done == of {
                    bar.finish_and_clear();
                }
            }
            SurveyProgress::Renders(progress) => rendering.advance(progress, self.console),
        }
    }
}

fn tell(
    args: &Args,
    figures: &SurveyFigures,
    is_heard: bool,
    console: &mut Console,
) -> Result<Outcome, Failure> {
    if args.json {
        console.result(to_json(figures))?;
        return Ok(Outcome::Done);
    }
    let count = wrapped(&figures.count(), "", "  ");
    console.table(format!("{}\n{count}\n", wrapped(&figures.guitar, "", "  ")))?;
    console.table(wrapped(
        &format!("{} Levels are against {}.", figures.verdict(), figures.baseline),
        "",
        "",
    ))?;
    for (heading, in_phase) in [("In phase", true), ("Out of phase", false)] {
        if let Some(table) = figures.kept_table(in_phase) {
            console.table(format!("\n{heading}"))?;
            console.rows(&table)?;
        }
    }
    let closing = [figures.distance.clone(), format!("This is {}.", figures.honesty)];
    console.table(remarks([&figures.measured, &figures.assumed, &figures.notes], closing))?;
    let page = args.out.join(SURVEY_PAGE);
    let to_look = format!(
        "The survey is in {}; open {} in a browser to look through it.",
        args.out.display(),
        page.display()
    );
    console.table(format!("\n{}", wrapped(&to_look, "", "  ")))?;
    if is_heard {
        let folder = args.out.join(HEARD);
        console.table(to_listen("The positions that are kept are", &folder))?;
    }
    Ok(Outcome::Done)
}
