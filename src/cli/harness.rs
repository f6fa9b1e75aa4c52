//! `drywire harness`: every wire of the control cavity.

mod ask;
mod help;
mod text;

use std::path::{Path, PathBuf};

use clap::Args as ClapArgs;
use drywire::document::Document;
use drywire::guitar::{Guitar, guitar_presets};
use drywire::harness::{CheckForm, Harness, PlanForm, Wire, read_wires, refuse_strangers, sheet};

use super::choose::{ReplaceArgs, save_sheet};
use super::{Console, Failure, Outcome};

/// Plan every wire of the control cavity, or check the wires that are there
///
/// From the guitar's file every wire follows: the fewest joints there can be, metal on ground by solder, at most three on a lug.
/// Wires to check stand in the file's table [harness], from terminal to terminal, or are asked for lug by lug. They are right where they make the circuit that
/// is heard, whatever their style; every fault is named with the positions in which it shows.
#[derive(Debug, ClapArgs)]
#[command(after_help = help::after())]
pub(crate) struct Args {
    /// Plan the wires of this guitar: a file, or the name of a built-in one
    #[arg(long, value_name = "FILE|NAME", required_unless_present_any = ["check", "ask"])]
    guitar: Option<PathBuf>,
    /// Check the wires that this guitar file states, and list every fault
    #[arg(long, value_name = "FILE", conflicts_with = "guitar")]
    check: Option<PathBuf>,
    /// Ask what is on each lug, and check the wires so told; without --guitar or --save ask for the guitar first
    #[arg(long, conflicts_with_all = ["check", "sheet"])]
    ask: bool,
    /// Put the wires that were told into this guitar's file, only those; it is the guitar that is asked about, and where there is no
    /// such file yet it is made
    #[arg(long, value_name = "FILE", requires = "ask", conflicts_with = "guitar")]
    save: Option<PathBuf>,
    /// Also write a page to print and solder from; beside the plan it shows the wires that the guitar's file states
    #[arg(long, value_name = "FILE.html", conflicts_with = "check")]
    sheet: Option<PathBuf>,
    #[command(flatten)]
    replace: ReplaceArgs,
    /// Print the answer as JSON
    #[arg(long)]
    json: bool,
}

pub(crate) fn run(args: &Args, console: &mut Console) -> Result<Outcome, Failure> {
    // The parser asks for --guitar wherever there is neither --check nor --ask.
    let guitar = args.guitar.as_deref().unwrap_or(Path::new(""));
    match (&args.check, &args.save) {
        (Some(file), _) => check(args, file, console),
        (None, Some(save)) => ask::into_file(args, save, console),
        (None, None) if args.ask => ask::about(args, args.guitar.as_deref(), console),
        (None, None) => plan(args, guitar, console),
    }
}

fn harness_of(guitar: &Guitar) -> Result<Harness, Failure> {
    Harness::of(guitar).map_err(|e| Failure::input(e.to_string(), e.hint()))
}

fn plan(args: &Args, given: &Path, console: &mut Console) -> Result<Outcome, Failure> {
    let document = if given.is_file() { Some(Document::open(given)?) } else { None };
    let guitar = match &document {
        Some(document) => Guitar::read(document)?,
        None => Guitar::open(given)?,
    };
    let harness = harness_of(&guitar)?;
    let as_is = match (&document, guitar.cavity().wires()) {
        (Some(document), Some(named)) if args.sheet.is_some() => {
            Some(read_wires(document, harness.parts(), named)?)
        }
        (Some(document), Some(_) | None) => {
            refuse_strangers(document, harness.parts())?;
            None
        }
        (None, _) => None,
    };
    let Some(plan) = harness.plan() else {
        let none = "No plan exists: more has to meet at some lug than it has room for. Say ground = \"bus\" in [harness], or \
                    leave out what need not be wired.";
        if args.json {
            console.result("{ \"joints\": null, \"wires\": [], \"bound\": null }".to_owned())?;
        } else {
            console.table(none.to_owned())?;
        }
        if let Some(path) = &args.sheet {
            console.note(format!("nothing was written to {}: there is no plan to show", path.display()));
        }
        return Ok(Outcome::No);
    };
    if let Some(path) = &args.sheet {
        let page = sheet(&harness, &plan, as_is.as_deref())?;
        save_sheet(path, &page, args.replace, [Some(given), None], console)?;
    }
    if args.json {
        let form = PlanForm::new(harness.parts(), &plan);
        console
            .result(serde_json::to_string_pretty(&form).expect("the form holds nothing that JSON cannot"))?;
    } else {
        console.table(text::plan(&harness, &plan))?;
    }
    Ok(Outcome::Done)
}

fn check(args: &Args, file: &Path, console: &mut Console) -> Result<Outcome, Failure> {
    if !file.is_file()
        && let Some(preset) = guitar_presets().iter().find(|preset| file.as_os_str() == preset.name)
    {
        return Err(Failure::input(
            format!("the built-in guitar `{}` states no wires to check", preset.name),
            format!("`drywire presets copy {} mine.toml` makes a file to state them in", preset.name),
        ));
    }
    let document = Document::open(file)?;
    let guitar = Guitar::read(&document)?;
    let harness = harness_of(&guitar)?;
    let Some(named) = guitar.cavity().wires() else {
        return Err(Failure::input(
            format!("`{}` states no wires to check", file.display()),
            "add a table headed [harness] with wires = [[\"volume.2\", \"jack.tip\"], …]",
        ));
    };
    let wires = read_wires(&document, harness.parts(), named)?;
    tell_check(args, &harness, &wires, console)
}

/// Tells what is found of `wires`, and what mends them.
fn tell_check(
    args: &Args,
    harness: &Harness,
    wires: &[Wire],
    console: &mut Console,
) -> Result<Outcome, Failure> {
    let checked = harness.check(wires);
    let mends = harness.mends(wires);
    let is_as_wanted = checked.is_as_wanted();
    if args.json {
        let form = CheckForm::new(harness.parts(), checked, &mends);
        console
            .result(serde_json::to_string_pretty(&form).expect("the form holds nothing that JSON cannot"))?;
    } else {
        console.table(text::check(harness, &checked, &mends))?;
    }
    Ok(if is_as_wanted { Outcome::Done } else { Outcome::No })
}
