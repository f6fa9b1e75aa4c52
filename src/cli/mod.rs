//! The command line: one file a command, each the way from its arguments to its result.

mod amp;
mod balance;
mod blind;
mod choose;
mod confirm;
mod console;
mod dialogue;
mod failure;
mod figures;
mod harness;
mod hear;
mod hints;
mod leads;
mod leads_table;
mod lugs;
mod manual;
mod measure;
#[cfg(test)]
mod options;
#[cfg(feature = "panel")]
mod panel;
mod play;
mod pluck;
mod presets;
mod probe;
mod response;
#[cfg(feature = "sound-card")]
mod session;
mod stored;
mod survey;
mod tips;
mod tolerances;
mod typed;
mod wrap;

use std::env;
use std::panic;
use std::process::ExitCode;

use clap::{CommandFactory, Parser, Subcommand};
use drywire::sound;

pub(crate) use console::Console;
pub(crate) use failure::Failure;

/// A dry run for a rewire: hear, plan and prove a pickup's coil arrangements before the iron is hot.
#[derive(Debug, Parser)]
#[command(version, propagate_version = true, max_term_width = 100)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
    /// Print neither progress nor tables; warnings and errors still go to standard error
    #[arg(long, global = true)]
    quiet: bool,
}

#[derive(Debug, Subcommand)]
enum Command {
    Hear(hear::Args),
    Figures(figures::Args),
    Response(response::Args),
    Pluck(pluck::Args),
    Leads(leads::Args),
    Lugs(lugs::Args),
    Probe(probe::Args),
    Harness(harness::Args),
    Measure(measure::Args),
    Balance(balance::Args),
    Confirm(confirm::Args),
    Survey(survey::Args),
    Play(play::Args),
    Blind(blind::Args),
    Presets(presets::Args),
    #[cfg(feature = "panel")]
    Panel(panel::Args),
    Manual(manual::Args),
}

/// How a command ended that could be carried out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Outcome {
    /// The work is done.
    Done,
    /// The answer is no: a plan faulty, leads contradictory, a reading unexplained.
    No,
}

/// Runs the program on the process's arguments and returns its exit code: 0 done, 1 the answer is no, 2 bad
/// input or an output that cannot be written, 3 a bug.
pub(crate) fn main() -> ExitCode {
    let arguments = Arguments::try_parse().unwrap_or_else(|error| {
        let given: Vec<String> = env::args_os().skip(1).map(|a| a.to_string_lossy().into_owned()).collect();
        tips::with_tip(error, &given, &Arguments::command()).exit()
    });
    let told = panic::take_hook();
    panic::set_hook(Box::new(move |panic| {
        if !sound::is_guarded() {
            told(panic);
        }
    }));
    let mut console = Console::new(arguments.quiet);
    match panic::catch_unwind(panic::AssertUnwindSafe(|| run(&arguments.command, &mut console))) {
        Ok(Ok(Outcome::Done)) => ExitCode::SUCCESS,
        Ok(Ok(Outcome::No)) => ExitCode::from(1),
        Ok(Err(failure)) => {
            console.fail(&failure);
            ExitCode::from(2)
        }
        Err(_) => {
            console
                .warn("this is a fault of drywire's own, not of your input; please report the lines above");
            ExitCode::from(3)
        }
    }
}

fn run(command: &Command, console: &mut Console) -> Result<Outcome, Failure> {
    match command {
        Command::Hear(args) => hear::run(args, console),
        Command::Figures(args) => figures::run(args, console),
        Command::Response(args) => response::run(args, console),
        Command::Pluck(args) => pluck::run(args, console),
        Command::Leads(args) => leads::run(args, console),
        Command::Lugs(args) => lugs::run(args, console),
        Command::Probe(args) => probe::run(args, console),
        Command::Harness(args) => harness::run(args, console),
        Command::Measure(args) => measure::run(args, console),
        Command::Balance(args) => balance::run(args, console),
        Command::Confirm(args) => confirm::run(args, console),
        Command::Survey(args) => survey::run(args, console),
        Command::Play(args) => play::run(args, console),
        Command::Blind(args) => blind::run(args, console),
        Command::Presets(args) => presets::run(args, console),
        #[cfg(feature = "panel")]
        Command::Panel(args) => panel::run(args, console),
        Command::Manual(args) => manual::run(args, Arguments::command(), console),
    }
}
