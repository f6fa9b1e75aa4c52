//! `drywire blind`: can the difference between two arrangements be heard at all?

#[cfg(feature = "sound-card")]
mod comparison;
#[cfg(feature = "sound-card")]
mod record;
#[cfg(feature = "sound-card")]
mod trials;

use std::path::PathBuf;

use clap::Args as ClapArgs;
use drywire::abx::{MOST_TRIALS, Run, USUAL_TRIALS};
use drywire::quantity::{Db, Seconds};
use drywire::set::StoredSet;

#[cfg(feature = "sound-card")]
use self::{
    comparison::Comparison,
    record::{Finding, Record},
    trials::{Trials, hidden_order},
};
use super::play::{USUAL_LEVEL, level};
use super::stored::{note_amplifier, place_of, stored};
use super::typed::{part, whole};
use super::{Console, Failure, Outcome};

const HELP: &str = "\
In each trial X is one of the two, drawn by the operating system's own source of chance. Listen as
long as you like, then say which it is. The number of trials is fixed before the first: going on
until the result pleases would make its figures untrue. A run that is left gives no result.

Keys:
  a, b, x            hear A, B, or X
  1, 2               X is A, X is B
  space, p           pause, go on
  left, right, <, >  two seconds back, forward
  [, ], l, w         loop from here, to here; loop or not; loop over the whole take
  -, +               quieter, louder by 1 dB; never louder than the files
  q, escape          leave without a result

Where standard input is no terminal, the keys are read from it.

Examples:
  drywire blind drywire-out
  drywire blind drywire-out --a series --b split-a --trials 20

Caution: start playback low. Levels are set by gain alone, there is no limiter, and a resonant
rise can surprise. Mind your daily sound dose.";

/// Compare two arrangements of a set blind (ABX) at matched levels, with exact statistics
#[derive(Debug, ClapArgs)]
#[command(after_help = HELP)]
pub(crate) struct Args {
    /// The folder of the set that `hear` wrote; the result goes into it under a new name
    #[arg(value_name = "DIR")]
    folder: PathBuf,
    /// One arrangement [default: the baseline]
    #[arg(long, value_name = "ARRANGEMENT")]
    a: Option<String>,
    /// The other [default: the first that is not the one]
    #[arg(long, value_name = "ARRANGEMENT")]
    b: Option<String>,
    /// How many trials, fixed beforehand
    #[arg(long, value_name = "N", default_value_t = USUAL_TRIALS, allow_hyphen_values = true,
        value_parser = whole::<u32>(1..=u64::from(MOST_TRIALS)))]
    trials: u32,
    /// The output device, by its name or a part of it [default: the system's]
    #[arg(long, value_name = "NAME")]
    device: Option<String>,
    /// The level to begin with, against the files' own, which is the highest
    #[arg(long, value_name = "DB", default_value = USUAL_LEVEL, allow_hyphen_values = true, value_parser = level)]
    level: Db,
    /// Play round and round over a part only
    #[arg(long = "loop", value_name = "FROM-TO", allow_hyphen_values = true, value_parser = part)]
    region: Option<(Seconds, Seconds)>,
    /// Print the result as JSON
    #[arg(long)]
    json: bool,
}

pub(crate) fn run(args: &Args, console: &mut Console) -> Result<Outcome, Failure> {
    let set = stored(&args.folder)?;
    let pair = pair(args, &set)?;
    let run = Run::new(args.trials).map_err(|e| {
        Failure::input(e.to_string(), format!("{USUAL_TRIALS} is usual; more tell smaller differences"))
    })?;
    if run.needed().is_none() {
        console.warn("so few trials show nothing: even all of them right could be chance; take 5 or more");
    }
    note_amplifier(&set, console);
    compare(args, &set, pair, run, console)
}

/// Returns the places of A and B.
fn pair(args: &Args, set: &StoredSet) -> Result<[usize; 2], Failure> {
    if set.takes().len() < 2 {
        return Err(Failure::input(
            format!("the set holds `{}` alone, and two arrangements are wanted", set.takes()[0].name),
            "render it with more by `drywire hear --arrangements`",
        ));
    }
    let a = place_of(set, args.a.as_ref().unwrap_or(&set.figures().baseline))?;
    let b = match &args.b {
        Some(name) => place_of(set, name)?,
        None => usize::from(a == 0),
    };
    if a != b {
        return Ok([a, b]);
    }
    Err(Failure::input(
        format!("A and B are both `{}`, and two arrangements are wanted", set.takes()[a].name),
        "name two of the set with --a and --b, or render it with more with `drywire hear`",
    ))
}

#[cfg(not(feature = "sound-card"))]
fn compare(_: &Args, set: &StoredSet, _: [usize; 2], _: Run, _: &mut Console) -> Result<Outcome, Failure> {
    Err(super::stored::without_card(set.folder()))
}

#[cfg(feature = "sound-card")]
fn compare(
    args: &Args,
    set: &StoredSet,
    pair: [usize; 2],
    run: Run,
    console: &mut Console,
) -> Result<Outcome, Failure> {
    // Whether a result can be kept is found out before the first trial.
    let record = Record::begin(set.folder())?;
    console.note(super::wrap::wrapped(drywire::cautions::EARS, "", ""));
    let trials = Trials::new(run, hidden_order(run.trials())?);
    let comparison =
        Comparison { set, pair, device: args.device.as_deref(), trim: args.level, part: args.region };
    let trials = comparison.hold(trials, console)?;
    let finding = Finding::of(set, pair, &trials);
    let path = record.keep(&finding)?;
    if args.json {
        console.result(finding.json())?;
    } else {
        console.table(finding.told())?;
        console.table(format!("The result is in {}.", path.display()))?;
    }
    Ok(Outcome::Done)
}
