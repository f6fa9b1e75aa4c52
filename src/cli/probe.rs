//! `drywire probe`: what the meter must read at the jack, and what is wrong if it does not.

mod text;

use clap::Args as ClapArgs;
use drywire::document::Document;
use drywire::guitar::Guitar;
use drywire::harness::{AtMeter, AtMeterError, MeterReading, MeterReport, Unseen};
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
    after_help = "Examples:\n  drywire probe --guitar mine.toml\n  drywire probe --guitar mine.toml --read mode:1=7.9k,mode:3=2.0k\n  drywire probe --guitar mine.toml --read selector:2+mode:1=3.9k --read selector:2+mode:3=2.6k\n  drywire probe --guitar mine.toml --read mode:1=open --json\n  drywire probe --guitar mine.toml --read selector:2+volume@0=0 --read tone.case=beep\n\nA knob is turned as in volume@0, and metal reads beep against the sleeve, where the file has a table [harness].\nA selector or a switch may be left out of a position where it does not change the reading.\nUnplug the guitar from the amplifier before a meter touches it. Read at a cable's far end or at the jack, tip\nto sleeve, meter on ohms (20 kΩ range or automatic), every volume full, blend and bass cut at 10.\nExit code 1: a reading is not as expected."
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
    let only = args.guitar.pickup.as_ref().map(|_| args.guitar.pickup(&guitar)).transpose()?;
    let (of_cavity, plain): (Vec<String>, Vec<String>) =
        single_readings(&args.read).into_iter().partition(|text| MeterReading::is_of_a_cavity(text));
    if guitar.buffer().is_some() {
        return behind_a_buffer(&guitar, args, &of_cavity, &plain, console);
    }
    let at = if guitar.cavity().is_stated() { Some(at_meter(&guitar, args)?) } else { None };
    let cavity = match (&at, of_cavity.first()) {
        (_, None) => None,
        (Some(at), Some(_)) => Some(judged(at, &of_cavity, &plain)?),
        (None, Some(first)) => return Err(no_cavity(&guitar, first)),
    };
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
    let read = readings(&plain, &bench, guitar.name())?;
    let report = prove(&bench, &read)?;
    let fits = cavity.as_ref().is_none_or(|cavity| cavity.readings.iter().all(|reading| reading.fits));
    if args.json {
        let unseen = at.as_ref().map(AtMeter::unseen);
        console.result(json(&ProbeForm {
            report: Some(&report),
            cavity: cavity.as_ref(),
            unseen_in_cavity: unseen.as_deref(),
        }))?;
    } else {
        console.table(text::report(&report, bench.is_readable(), only))?;
        if let Some(cavity) = &cavity {
            console.table(format!("\n{}", text::cavity(cavity)))?;
        }
        if let Some(at) = &at {
            console.table(format!("\n{}", text::unseen(&at.unseen())))?;
        }
    }
    Ok(match report.verdict {
        ProbeVerdict::NothingRead | ProbeVerdict::AsExpected if fits => Outcome::Done,
        ProbeVerdict::NothingRead
        | ProbeVerdict::AsExpected
        | ProbeVerdict::Explained
        | ProbeVerdict::Unexplained => Outcome::No,
    })
}

/// The report, with what was read that only a whole cavity has.
#[derive(serde::Serialize)]
struct ProbeForm<'r> {
    #[serde(flatten)]
    report: Option<&'r ProbeReport>,
    /// Readings with a knob turned, and of continuity.
    #[serde(skip_serializing_if = "Option::is_none")]
    cavity: Option<&'r MeterReport>,
    /// What no reading at the jack shows of the cavity.
    #[serde(skip_serializing_if = "Option::is_none")]
    unseen_in_cavity: Option<&'r [Unseen]>,
}

/// Tells of a guitar with a buffer what can be read: metal against the sleeve.
fn behind_a_buffer(
    guitar: &Guitar,
    args: &Args,
    of_cavity: &[String],
    plain: &[String],
    console: &mut Console,
) -> Result<Outcome, Failure> {
    let is_metal = |text: &String| !text.contains('@');
    let is_readable = !of_cavity.is_empty() && plain.is_empty() && of_cavity.iter().all(is_metal);
    if !is_readable {
        return Err(Failure::input(
            format!(
                "{} has a buffer, through which a meter at the jack reads nothing of the coils",
                guitar.name()
            ),
            "take the battery out and read before the buffer, with the [buffer] left out of the file; metal against the sleeve can \
             be given as it is, as in --read volume.case=beep, where the file has a table [harness]",
        ));
    }
    if !guitar.cavity().is_stated() {
        return Err(no_cavity(guitar, &of_cavity[0]));
    }
    let report = judged(&at_meter(guitar, args)?, of_cavity, plain)?;
    if args.json {
        console.result(json(&ProbeForm { report: None, cavity: Some(&report), unseen_in_cavity: None }))?;
    } else {
        console.table(text::metal(guitar, &report))?;
    }
    let fits = report.readings.iter().all(|reading| reading.fits);
    Ok(if fits { Outcome::Done } else { Outcome::No })
}

fn no_cavity(guitar: &Guitar, reading: &str) -> Failure {
    Failure::input(
        format!("{} has no table [harness], and `{reading}` is of a whole cavity", guitar.name()),
        "add a table headed [harness] to the guitar's file, with its wires where they are not as planned",
    )
}

/// Returns the readings one by one where some of a list are of a cavity: those are separated by commas alone.
fn single_readings(texts: &[String]) -> Vec<String> {
    let apart = |text: &String| {
        if MeterReading::is_of_a_cavity(text) {
            text.split(',').map(str::to_owned).collect()
        } else {
            vec![text.clone()]
        }
    };
    texts.iter().flat_map(apart).collect()
}

fn at_meter(guitar: &Guitar, args: &Args) -> Result<AtMeter, Failure> {
    let stated = args.guitar.guitar.as_ref().filter(|_| guitar.cavity().wires().is_some());
    let document = stated.map(|file| Document::open(file)).transpose()?;
    AtMeter::of(guitar, document.as_ref()).map_err(|error| match error {
        AtMeterError::Harness(error) => Failure::input(error.to_string(), error.hint()),
        AtMeterError::Wires(refusal) => refusal.into(),
    })
}

fn judged(at: &AtMeter, of_cavity: &[String], plain: &[String]) -> Result<MeterReport, Failure> {
    at.judge(of_cavity, plain).map_err(|error| Failure::input(error.to_string(), error.hint()))
}

fn readings(read: &[String], bench: &Bench, guitar: &str) -> Result<Vec<ReadingOf>, Failure> {
    if !read.is_empty() && !bench.is_readable() {
        return Err(Failure::input(
            format!("no switch is soldered in on {guitar}, so no throw can be read"),
            "add a table headed [[switch]] to the guitar's file; `drywire lugs` finds its joints",
        ));
    }
    ReadingOf::parse_all(read, bench).map_err(|faults| {
        let messages: Vec<String> = faults.iter().map(ToString::to_string).collect();
        let mut hints: Vec<String> = faults.iter().map(drywire::probe::JackReadingError::hint).collect();
        hints.dedup();
        Failure::input(messages.join("\nerror: "), hints.join("\nhint: "))
    })
}

fn json(report: &ProbeForm<'_>) -> String {
    serde_json::to_string_pretty(report).expect("a report holds nothing that JSON cannot")
}
