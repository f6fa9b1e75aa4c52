//! `drywire probe`: what the meter must read at the jack, and what is wrong if it does not.

mod text;

use clap::Args as ClapArgs;
use drywire::probe::{Bench, ProbeReport, ProbeVerdict, ReadingOf, prove};

use super::choose::GuitarArgs;
use super::{Console, Failure, Outcome};

/// Tell what the meter must read at the jack, and what is wrong if it does not
///
/// Every position of the guitar's selectors and switches is worked out from the joints that its file states, with all
/// pickups in one circuit. Given what the meter read, every single mistake (something off its place, two wires swapped,
/// two lugs bridged, a coil open or shorted, a selector elsewhere, a volume not full) is compared with it, and what the
/// meter cannot tell apart is listed with the test that can. With --pickup only the positions in which that one is heard.
#[derive(Debug, ClapArgs)]
#[command(
    after_help = "Examples:\n  drywire probe --guitar mine.toml\n  drywire probe --guitar mine.toml --read mode:1=7.9k,mode:3=2.0k\n  drywire probe --guitar mine.toml --read selector:2+mode:1=3.9k --read selector:2+mode:3=2.6k\n  drywire probe --guitar mine.toml --read mode:1=open --json\n\nA selector or a switch may be left out of a position where it does not change the reading.\nUnplug the guitar from the amplifier before a meter touches it. Read at a cable's far end or at the jack, tip\nto sleeve, meter on ohms (20 kΩ range or automatic), every volume full, blend and bass cut at 10.\nExit code 1: a reading is not as expected."
)]
pub(crate) struct Args {
    #[command(flatten)]
    guitar: GuitarArgs,
    /// What the meter read, position by position of selectors and switches: ohms, or `open`
    #[arg(long, value_name = "POSITION=OHMS,…")]
    read: Vec<String>,
    /// Print the answer as JSON
    #[arg(long)]
    json: bool,
}

pub(crate) fn run(args: &Args, console: &mut Console) -> Result<Outcome, Failure> {
    let guitar = args.guitar.guitar()?;
    if guitar.buffer().is_some() {
        return Err(Failure::input(
            format!(
                "{} has a buffer, through which a meter at the jack reads nothing of the coils",
                guitar.name()
            ),
            "take the battery out and read before the buffer, with the [buffer] left out of the file",
        ));
    }
    let only = args.guitar.pickup.as_ref().map(|_| args.guitar.pickup(&guitar)).transpose()?;
    let bench = Bench::new(&guitar, only)?;
    if let Some(pickup) = only.filter(|_| bench.positions().is_empty()) {
        return Err(Failure::input(
            format!(
                "{} is heard in no position of the selectors and switches with the knobs full",
                pickup.name()
            ),
            "leave out --pickup to be told all positions",
        ));
    }
    let read = readings(args, &bench, guitar.name())?;
    let report = prove(&bench, &read)?;
    if args.json {
        console.result(json(&report))?;
    } else {
        console.table(text::report(&report, bench.is_readable(), only))?;
    }
    Ok(match report.verdict {
        ProbeVerdict::NothingRead | ProbeVerdict::AsExpected => Outcome::Done,
        ProbeVerdict::Explained | ProbeVerdict::Unexplained => Outcome::No,
    })
}

fn readings(args: &Args, bench: &Bench, guitar: &str) -> Result<Vec<ReadingOf>, Failure> {
    if !args.read.is_empty() && !bench.is_readable() {
        return Err(Failure::input(
            format!("no switch is soldered in on {guitar}, so no throw can be read"),
            "add a table headed [[switch]] to the guitar's file; `drywire lugs` finds its joints",
        ));
    }
    ReadingOf::parse_all(&args.read, bench).map_err(|faults| {
        let messages: Vec<String> = faults.iter().map(ToString::to_string).collect();
        let mut hints: Vec<String> = faults.iter().map(drywire::probe::JackReadingError::hint).collect();
        hints.dedup();
        Failure::input(messages.join("\nerror: "), hints.join("\nhint: "))
    })
}

fn json(report: &ProbeReport) -> String {
    serde_json::to_string_pretty(report).expect("a report holds nothing that JSON cannot")
}
