//! `drywire leads`: which lead of a pickup is which.

use std::error::Error;
use std::io;
use std::path::{Path, PathBuf};

use drywire::document::{Document, FileKind};
use drywire::folder::{Existing, Inputs, NewFile};
use drywire::guitar::Draft;
use drywire::leads::{
    CAUTIONS, Interview, OhmmeterReading, Readings, Report, SaveError, Swing, Verdict, Word, identify,
    pole_called,
};

use super::choose::save_draft;
use super::dialogue::hold;
use super::hints::folder_failure;
use super::leads_table::table;
use super::{Console, Failure, Outcome};

/// How the readings are told to go elsewhere.
const WITH_SAVE: &str = "with --save";

/// Identify a pickup's leads from meter readings, steel taps and a compass
///
/// Give the readings in a file or by options; without either, questions are asked one by one, the most telling
/// reading first. A name with a comma or an equals sign in it needs the file.
#[derive(Debug, clap::Args)]
#[command(after_long_help = EXAMPLES)]
pub(crate) struct Args {
    /// A readings file
    #[arg(conflicts_with_all = ["leads", "shield", "coils", "ohms", "tap", "compass", "chart"])]
    file: Option<PathBuf>,
    /// The leads' colours, such as white,grey,red,blue
    #[arg(long, value_delimiter = ',', value_name = "NAMES")]
    leads: Vec<String>,
    /// What the shield or bare wire is called
    #[arg(long, value_name = "NAME", requires = "leads")]
    shield: Option<String>,
    /// The coils' names as you tell them apart; a single one means a pickup of one coil
    #[arg(long, value_delimiter = ',', value_name = "NAMES", requires = "leads")]
    coils: Vec<String>,
    /// A resistance: white,grey=5.9k or white,red=open
    #[arg(long, value_name = "LEAD,LEAD=OHMS", requires = "leads")]
    ohms: Vec<String>,
    /// A tap: 'screw side,red=white,black=grey,swing=+' (or swing=- or swing=none)
    #[arg(long, value_name = "COIL,red=LEAD,black=LEAD,swing=SWING", requires = "leads")]
    tap: Vec<String>,
    /// A compass: 'screw side=north'
    #[arg(long, value_name = "COIL=POLE", requires = "leads")]
    compass: Vec<String>,
    /// What a maker's chart calls a coil's leads: start=white,finish=grey
    #[arg(long, value_name = "start=LEAD,finish=LEAD", requires = "leads")]
    chart: Vec<String>,
    /// Put the leads that were found into this guitar's file, or write the readings of the options or of the dialogue to a
    /// new readings file
    #[arg(long, value_name = "FILE")]
    save: Option<PathBuf>,
    /// The pickup that was measured, of the guitar's file that --save names
    #[arg(long, value_name = "NAME", requires = "save")]
    pickup: Option<String>,
    /// Print the result as JSON
    #[arg(long)]
    json: bool,
}

const EXAMPLES: &str = "\
Examples:
  drywire leads
      asks question by question
  drywire leads bench.toml --json
  drywire leads bench.toml --save mine.toml --pickup neck
      puts what was found into the guitar's file, only those values
  drywire leads --leads white,grey,red,blue --ohms white,grey=5.9k \\
      --tap 'screw side,red=white,black=grey,swing=+'

A readings file:
  leads = [\"white\", \"grey\", \"red\", \"blue\"]
  shield = \"bare\"                      # where there is one
  [[ohms]]
  between = [\"white\", \"grey\"]
  reads = \"5.9k\"                       # or \"open\"
  [[tap]]                              # steel to the coil's poles, first swing
  coil = \"screw side\"                  # a name of your own
  red = \"white\"
  black = \"grey\"
  swing = \"+\"                          # or \"-\" or \"none\"
  [[compass]]
  coil = \"screw side\"
  top_pole = \"north\"                   # or \"south\"
  [[chart]]                            # what a maker's chart says, if any
  start = \"white\"
  finish = \"grey\"

Exit codes: 0 certain or ambiguous, 1 contradictory, 2 bad input.

Unplug the guitar from the amplifier before a meter or an iron touches it, and
never open the amplifier.";

/// Runs the command.
pub(crate) fn run(args: &Args, console: &mut Console) -> Result<Outcome, Failure> {
    let guitar = match &args.save {
        Some(save) => guitar_at(save, args)?,
        None => None,
    };
    let readings = match &args.file {
        Some(file) => Readings::read(&Document::open(file)?)?,
        None if args.leads.is_empty() => hold_dialogue(console)?,
        None => from_options(args)?,
    };
    if let (Some(save), None) = (&args.save, &guitar) {
        let text = readings.to_toml();
        NewFile::write(save, text.as_bytes(), Existing::Keep, &Inputs::new())
            .map_err(|e| folder_failure(&e, WITH_SAVE))?;
        console.note(format!("readings written to {}", save.display()));
    }
    let report = identify(&readings);
    if args.json {
        console.result(json(&report)?)?;
    } else {
        console.table(table(&report, &readings))?;
    }
    if let (Some(save), Some(draft)) = (&args.save, guitar) {
        put_into_guitar(&report, draft, save, args.pickup.as_deref(), console)?;
        if report.verdict != Verdict::Certain && args.file.is_none() {
            console.note(format!("the readings, to be kept in a file:\n\n{}", readings.to_toml()));
        }
    }
    Ok(match report.verdict {
        Verdict::Certain | Verdict::Ambiguous => Outcome::Done,
        Verdict::Contradictory => Outcome::No,
    })
}

fn json(report: &Report) -> Result<String, Failure> {
    serde_json::to_string_pretty(report).map_err(|e| Failure::Output(e.into()))
}

/// Asks until the leads are certain, nothing more can be asked, or the person leaves.
fn hold_dialogue(console: &mut Console) -> Result<Readings, Failure> {
    let mut interview = Interview::new();
    let before: Vec<&str> = CAUTIONS.into_iter().chain([Interview::ALWAYS]).collect();
    hold(console, io::stdin().lock(), &before, &mut interview)?;
    interview.readings().cloned().ok_or_else(|| {
        Failure::input(
            "the answers ended before the leads were named",
            "name the leads first, or give a readings file or --leads",
        )
    })
}

/// Whether an option was taken, or why not.
type Taken = Result<(), Box<dyn Error>>;

/// Returns the readings that the options state, or every fault among them.
fn from_options(args: &Args) -> Result<Readings, Failure> {
    let mut readings = Readings::default();
    let mut faults: Vec<String> = Vec::new();
    let mut take = |option: &str, given: &[String], add: &mut dyn FnMut(&mut Readings, &str) -> Taken| {
        for given in given {
            if let Err(why) = add(&mut readings, given) {
                faults.push(format!("--{option} `{}`: {why}", given.escape_debug()));
            }
        }
    };
    let one_coil = args.coils.len() == 1;
    take("leads", &args.leads, &mut |readings, name| {
        readings.add_lead(Word::new(name)?)?;
        Ok(())
    });
    take("shield", args.shield.as_slice(), &mut |readings, name| Ok(readings.set_shield(Word::new(name)?)?));
    take("coils", &args.coils, &mut |readings, name| {
        readings.bobbin(name)?;
        if one_coil { Ok(readings.set_one_coil()?) } else { Ok(()) }
    });
    take("ohms", &args.ohms, &mut add_ohms);
    take("tap", &args.tap, &mut add_tap);
    take("compass", &args.compass, &mut add_compass);
    take("chart", &args.chart, &mut add_chart);
    if faults.is_empty() && readings.leads().len() == 1 && readings.shield().is_none() {
        faults.push("--leads: one lead and no --shield: there is nothing to measure between".to_owned());
    }
    if faults.is_empty() {
        return Ok(readings);
    }
    Err(Failure::input(faults.join("\nerror: "), "`drywire leads --help` shows each option's form"))
}

fn add_ohms(readings: &mut Readings, given: &str) -> Taken {
    let form = "wanted is LEAD,LEAD=OHMS, such as white,grey=5.9k";
    let (pair, reads) = given.rsplit_once('=').ok_or(form)?;
    let (one, other) = pair.split_once(',').ok_or(form)?;
    let between = [readings.conductor(one)?, readings.conductor(other)?];
    Ok(readings.add_ohms(between, OhmmeterReading::parse(reads)?, None)?)
}

fn add_tap(readings: &mut Readings, given: &str) -> Taken {
    let form = "wanted is COIL,red=LEAD,black=LEAD,swing=+ (or - or none)";
    let parts: Vec<&str> = given.split(',').map(str::trim).collect();
    let &[coil, _, _, _] = parts.as_slice() else { return Err(form.into()) };
    let field = |key: &str| {
        parts[1..]
            .iter()
            .find_map(|part| part.strip_prefix(key)?.strip_prefix('='))
            .map(str::trim)
            .ok_or(form)
    };
    let probes = [readings.conductor(field("red")?)?, readings.conductor(field("black")?)?];
    let swing = Swing::called(field("swing")?).ok_or(form)?;
    let coil = readings.bobbin(coil)?;
    Ok(readings.add_tap(coil, probes, swing, None)?)
}

fn add_compass(readings: &mut Readings, given: &str) -> Taken {
    let (coil, pole) = given
        .rsplit_once('=')
        .and_then(|(coil, pole)| Some((coil, pole_called(pole)?)))
        .ok_or("wanted is COIL=north or COIL=south")?;
    let coil = readings.bobbin(coil)?;
    Ok(readings.add_compass(coil, pole, None)?)
}

fn add_chart(readings: &mut Readings, given: &str) -> Taken {
    let ends = given.strip_prefix("start=").and_then(|rest| rest.split_once(",finish="));
    let (start, finish) = ends.ok_or("wanted is start=LEAD,finish=LEAD")?;
    Ok(readings.add_chart(start, finish)?)
}

/// Returns the guitar that `--save` names, in which nothing is wrong; none where there is no file of that name yet, which
/// the readings are then written to.
fn guitar_at(save: &Path, args: &Args) -> Result<Option<Draft>, Failure> {
    let given = save.display();
    if save.symlink_metadata().is_err() {
        if args.file.is_some() || args.pickup.is_some() {
            return Err(Failure::input(
                format!("there is no guitar's file `{given}` to put the leads into"),
                "name one that is there; `drywire presets copy` makes one",
            ));
        }
        // Whether the readings can be kept is found out before any is asked for.
        NewFile::begin(save, Existing::Keep, &Inputs::new()).map_err(|e| folder_failure(&e, WITH_SAVE))?;
        return Ok(None);
    }
    let document = Document::open(save).ok().filter(|it| FileKind::of(it) == Some(FileKind::Guitar));
    let Some(document) = document else {
        return Err(Failure::input(
            format!("`{given}` exists already, and is no guitar's file to put the leads into"),
            "choose a new name for the readings with --save; nothing is overwritten",
        ));
    };
    let draft = Draft::of(document);
    draft.check()?;
    Ok(Some(draft))
}

fn put_into_guitar(
    report: &Report,
    mut draft: Draft,
    save: &Path,
    pickup: Option<&str>,
    console: &mut Console,
) -> Result<(), Failure> {
    match report.put_into(&mut draft, pickup) {
        Ok(pickup) => {
            save_draft(&draft, save)?;
            let coils = ["coil A, nearer the bridge,", "coil B"].into_iter().zip(&report.coils);
            let coils = coils.map(|(coil, found)| {
                format!("{coil} is `{}`", found.name.as_deref().unwrap_or("the coil told first"))
            });
            let coils: Vec<String> = coils.collect();
            console.note(format!("put into {}, pickup {pickup}: {}", save.display(), coils.join(", ")));
            Ok(())
        }
        Err(uncertain @ SaveError::Uncertain) => {
            console.warn(format!("{uncertain}: {}", save.display()));
            Ok(())
        }
        Err(which @ (SaveError::NoPickup { .. } | SaveError::WhichPickup { .. })) => {
            Err(Failure::input(which.to_string(), "name the pickup by --pickup"))
        }
        Err(SaveError::Draft(error)) => Err(Failure::input(error.to_string(), error.hint())),
    }
}
