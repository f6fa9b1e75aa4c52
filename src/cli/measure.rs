//! `drywire measure`: what the coils of a guitar are, measured with a sound card and a resistor.

mod text;

use std::fs;
use std::path::{Path, PathBuf};

use clap::Args as ClapArgs;
use drywire::digest::Form;
use drywire::document::Document;
use drywire::folder::{Inputs, NewFile};
use drywire::guitar::{Draft, guitar_presets};
use drywire::impedance::{
    Evidence, Found, Known, MeasurementForm, Place, Reading, Refused, Section, Signal, Source, Subject, Take,
    Which, curve, state_volume_track,
};
use drywire::job::{SignalRequest, peaks_before_and_after};
use drywire::plot::{Followed, Theme, svg};
use drywire::quantity::Ohms;
use drywire::report::{measured_table, to_json};
use drywire::sound::Sound;
use drywire::wiring::CoilName;
use serde::Serialize;

use super::choose::{GuitarArgs, ReplaceArgs, draft_to_save, save_draft};
use super::hints::folder_failure;
use super::typed::{quantity, rate};
use super::{Console, Failure, Outcome};

const AFTER_HELP: &str = r#"Examples:
  drywire measure --signal sweep.wav
      writes the sound to play, and tells how to connect
  drywire measure take.wav --known "10k 1%" --guitar mine.toml --state selector:1 --ohms 7.7k --save
      a recording of the guitar at its jack, one pickup heard; its coils' values go into its file
  drywire measure take.wav --known "10k 1%" --coil a --ohms 3.9k --guitar mine.toml --save
      a recording of one coil by its leads
  drywire measure --lcr 1.9H@1kHz --coil a --guitar mine.toml --save
      what an inductance meter read
  drywire measure --resonance "3.1k with 470p, 2.4k with 1n" --coil both
      at which frequencies both coils in series are loudest with capacitors across them
  drywire measure --impedance curve.csv --coil a --json
      what another instrument measured

Unplug the guitar from the amplifier, and headphones and loudspeakers from the sound card: the sweeps are loud. Play the file and record the input with one sound card, without stopping, and connect the next in each silence.

At the jack every knob stands at 10 and nothing else is plugged in. --ohms is what the meter reads there, or at those leads: with it a known resistor that is another is found out. --volume-reads is for a volume pot that is not what is stamped on it.

Exit code 1: what was measured tells no values; why is printed."#;

/// Measure what the coils of this guitar are, with a sound card and a known resistor
///
/// Needed are a sound card with an instrument input, a resistor of about 100 kΩ from its output to that input's tip, and one of 10 kΩ
/// and 1 %. --signal writes the sound to play and tells how to connect: of its three sweeps the first is recorded with nothing across
/// the input, the second with the known resistor there, the third with the guitar or a coil. The recording tells each coil's
/// inductance, capacitance and loss with their standard deviations: at the guitar's jack, nothing unsoldered, or at the leads of one
/// coil or both. Other meters' readings and tables serve in its place. With --save what was found goes into the guitar's file, and every
/// later answer is about this guitar.
#[derive(Debug, ClapArgs)]
#[command(after_help = AFTER_HELP)]
pub(crate) struct Args {
    /// The recording of the signal: WAV, FLAC, AIFF, one channel or two
    take: Option<PathBuf>,
    /// Write the sound to play into this file: WAV, 24 bit
    #[arg(long, value_name = "FILE.wav", conflicts_with_all = ["take", "lcr", "resonance", "impedance", "save", "guitar"])]
    signal: Option<PathBuf>,
    /// Samples a second of the sound to play [default: 48000]
    #[arg(long, value_name = "HZ", allow_hyphen_values = true, requires = "signal", value_parser = |text: &str| rate(text, &Signal::RATES))]
    rate: Option<u32>,
    #[command(flatten)]
    replace: ReplaceArgs,
    /// The resistor that hung across the input during the second sweep, with its tolerance, such as `10k 1%`; without one it
    /// counts as 5 %
    #[arg(long, value_name = "OHMS TOLERANCE", allow_hyphen_values = true)]
    known: Option<String>,
    /// The resistor from the sound card's output to its input, where it is known; only the input's own resistance is told by it
    #[arg(long, value_name = "OHMS", value_parser = series, allow_hyphen_values = true, requires = "take")]
    series: Option<Ohms>,
    /// Where it was measured [default: jack with --guitar and without --coil, else leads]
    #[arg(long, value_enum, ignore_case = true)]
    at: Option<At>,
    /// Which coil was measured by its leads [default: both of a pickup that has two]
    #[arg(long, value_enum, ignore_case = true)]
    coil: Option<WhichCoil>,
    /// How selectors and switches stood, such as `selector:1+mode:1` [default: the first state]
    #[arg(long, value_name = "STATE")]
    state: Option<String>,
    /// What the ohmmeter read where the sweep was: at those leads, or at the jack with every knob at 10
    #[arg(long, value_name = "OHMS", value_parser = read, allow_hyphen_values = true)]
    ohms: Option<Ohms>,
    /// The most that the ohmmeter reads at the jack while the volume is turned; its track's ohms follow from that
    #[arg(long, value_name = "OHMS", value_parser = read, allow_hyphen_values = true, requires_all = ["ohms", "guitar"])]
    volume_reads: Option<Ohms>,
    /// In place of a recording: what an inductance (LCR) meter read in series mode, and at which frequency, such as `1.9H@1kHz`
    #[arg(long, value_name = "H@HZ", allow_hyphen_values = true, conflicts_with_all = ["take", "impedance"])]
    lcr: Option<String>,
    /// In place of a recording: the frequency at which it is loudest with each capacitor across it, such as `3.1k with 470p,
    /// 2.4k with 1n`
    #[arg(long, value_name = "LIST", allow_hyphen_values = true, conflicts_with_all = ["take", "impedance"])]
    resonance: Option<String>,
    /// In place of a recording: the table of another instrument, headed frequency_hz,magnitude_ohm,phase_deg, with commas,
    /// semicolons or tabs between its values
    #[arg(long, value_name = "FILE.csv", conflicts_with = "take")]
    impedance: Option<PathBuf>,
    #[command(flatten)]
    guitar: GuitarArgs,
    /// Put the values into the guitar's file
    #[arg(long, requires = "guitar")]
    save: bool,
    /// Draw what was measured, what the circuit makes of it and what that leaves
    #[arg(long, value_name = "FILE.svg", conflicts_with = "signal")]
    picture: Option<PathBuf>,
    /// Print the answer as JSON
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum At {
    /// At the guitar's jack, nothing unsoldered
    Jack,
    /// At the leads of a coil or of both, off all controls
    Leads,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum WhichCoil {
    /// Coil A, nearer the bridge
    A,
    /// Coil B, nearer the neck
    B,
    /// Both in series
    Both,
}

/// Returns the resistor in series that an option's text states, or why it is none.
fn series(text: &str) -> Result<Ohms, String> {
    let ohms: Ohms = quantity(text)?;
    let (least, most) = (Source::SERIES.start(), Source::SERIES.end());
    if Source::SERIES.contains(&ohms) {
        Ok(ohms)
    } else {
        Err(format!("{ohms} is no resistor to play through; allowed are {least} to {most}"))
    }
}

/// Returns what a meter read of a coil, as an option's text states it, or why it is none.
fn read(text: &str) -> Result<Ohms, String> {
    let ohms: Ohms = quantity(text)?;
    if ohms.value() > 0.0 {
        Ok(ohms)
    } else {
        Err(format!("{ohms} is no reading of a coil; wanted is one above 0 Ω, such as 7.7k"))
    }
}

#[derive(Serialize)]
struct SignalForm {
    file: String,
    rate_hz: u32,
    duration_s: f64,
    sections: [Section; 3],
}

pub(crate) fn run(args: &Args, console: &mut Console) -> Result<Outcome, Failure> {
    if let Some(out) = &args.signal {
        write_signal(args, out, console)?;
        return Ok(Outcome::Done);
    }
    let subject = subject(args)?;
    let found = match evidence(args)? {
        Ok(evidence) => subject.measure(&evidence, args.ohms)?,
        Err(refused) => Err(refused),
    };
    match found {
        Ok(found) => {
            tell(&found, &subject, args, console)?;
            Ok(Outcome::Done)
        }
        Err(refused) => {
            if args.json {
                console.result(to_json(&MeasurementForm::refused(&refused)))?;
            } else {
                console.table(text::refused(&refused))?;
            }
            Ok(Outcome::No)
        }
    }
}

fn write_signal(args: &Args, out: &Path, console: &mut Console) -> Result<(), Failure> {
    let rate_hz = args.rate.unwrap_or(Signal::RATE);
    let signal = SignalRequest { rate_hz, out: out.to_owned(), existing: args.replace.existing() }.make()?;
    if args.json {
        let file = out.file_name().unwrap_or(out.as_os_str()).to_string_lossy().into_owned();
        let form = SignalForm {
            file,
            rate_hz: signal.rate_hz(),
            duration_s: Signal::seconds(),
            sections: Signal::sections(),
        };
        return console.result(to_json(&form));
    }
    let kilohertz = f64::from(rate_hz) / 1000.0;
    console.note(format!("wrote {}: {:.1} s at {kilohertz} kHz", out.display(), Signal::seconds()));
    console.table(text::connections())
}

/// Returns what is measured: the guitar's file, or one of a lone pickup where none is named.
fn subject(args: &Args) -> Result<Subject, Failure> {
    let at = args.at.unwrap_or(if args.guitar.guitar.is_some() && args.coil.is_none() {
        At::Jack
    } else {
        At::Leads
    });
    if at == At::Jack && args.guitar.guitar.is_none() {
        return Err(Failure::input(
            "what the jack sees is not known without the guitar",
            "name its file with --guitar, or measure the coils by their leads with --at leads",
        ));
    }
    if at == At::Jack && args.coil.is_some() {
        return Err(Failure::input(
            "at the jack coils are not told one by one",
            "leave out --coil, and name the state with --state; or measure by the leads with --at leads",
        ));
    }
    if at == At::Leads && args.state.is_some() {
        return Err(Failure::input(
            "by the leads no selector or switch takes part",
            "leave out --state, or say --at jack",
        ));
    }
    let mut draft = draft(args)?;
    let guitar = draft.check()?;
    let pickup = match args.guitar.pickup_name() {
        Some(_) => {
            let own = args.guitar.pickup(&guitar)?;
            guitar.pickups().iter().position(|pickup| pickup.name() == own.name()).unwrap_or(0)
        }
        None => 0,
    };
    let has_two = guitar.pickups()[pickup].coil_b().is_some();
    let usual = if has_two { WhichCoil::Both } else { WhichCoil::A };
    let place = match at {
        At::Jack => Place::Jack(args.state.clone()),
        At::Leads => Place::Leads(match args.coil.unwrap_or(usual) {
            WhichCoil::A => Which::One(CoilName::A),
            WhichCoil::B => Which::One(CoilName::B),
            WhichCoil::Both => Which::Both,
        }),
    };
    if let (Some(most), Some(ohms)) = (args.volume_reads, args.ohms) {
        state_volume_track(&mut draft, &guitar, most, ohms)
            .map_err(|error| Failure::input(error.to_string(), error.hint()).about("--volume-reads"))?;
    }
    let guitar = draft.check()?;
    Ok(Subject::new(draft, guitar, pickup, place)?)
}

fn draft(args: &Args) -> Result<Draft, Failure> {
    let Some(given) = args.guitar.guitar.as_deref() else {
        let like = match (args.guitar.pickup.as_deref(), args.coil) {
            (Some(name), _) => name,
            (None, Some(_)) => "vintage-full-size",
            (None, None) => "single-coil",
        };
        let text = format!("format = 1\n[[pickup]]\nname = \"pickup\"\nlike = \"{like}\"\n");
        return Ok(Draft::of(Document::new("the pickup", text)));
    };
    if args.save {
        return draft_to_save(given);
    }
    let built_in = guitar_presets().iter().find(|preset| Path::new(preset.name) == given);
    match built_in {
        Some(preset) => Ok(Draft::copy_of(preset)),
        None => Ok(Draft::of(Document::open(given)?)),
    }
}

fn evidence(args: &Args) -> Result<Result<Evidence, Refused>, Failure> {
    let wrong = |error: drywire::impedance::ReadingError, option: &str| {
        Failure::input(error.to_string(), error.hint()).about(option)
    };
    if let Some(path) = &args.take {
        let Some(known) = &args.known else {
            return Err(Failure::input(
                "without the known resistor's value a recording tells no impedance",
                "say it with its tolerance, such as --known \"10k 1%\"",
            ));
        };
        let known: Known = known.parse().map_err(|error: drywire::impedance::KnownError| {
            Failure::input(error.to_string(), error.hint()).about("--known")
        })?;
        let take = Take::read(&Sound::open(path)?, known)?;
        return Ok(take.map(|take| Evidence::Take(take, known)));
    }
    if let Some(path) = &args.impedance {
        let shown = path.display();
        let table = fs::read(path).map_err(|error| {
            Failure::input(format!("cannot read `{shown}`: {error}"), "name a table, such as curve.csv")
        })?;
        return Ok(Ok(Evidence::Curve(curve(&table).map_err(|error| wrong(error, "--impedance"))?)));
    }
    let mut readings = Vec::new();
    if let Some(text) = &args.lcr {
        readings.push(Reading::inductance(text).map_err(|error| wrong(error, "--lcr"))?);
    }
    if let Some(text) = &args.resonance {
        readings.extend(Reading::peaks(text).map_err(|error| wrong(error, "--resonance"))?);
    }
    if readings.is_empty() {
        return Err(Failure::input(
            "nothing was given that tells a coil",
            "begin with `drywire measure --signal sweep.wav`, play and record it, and name the recording",
        ));
    }
    Ok(Ok(Evidence::Readings(readings)))
}

fn tell(found: &Found, subject: &Subject, args: &Args, console: &mut Console) -> Result<(), Failure> {
    let (draft, after) = found.put_into(subject)?;
    if args.json {
        console.result(to_json(&MeasurementForm::found(found, args.series)))?;
    } else {
        console.rows(&measured_table(found, subject))?;
        if args.guitar.guitar.is_some() {
            console.rows(&peaks_before_and_after(subject, &after)?)?;
        }
        console.table(text::remarks(found, subject, args.series))?;
        if !args.save {
            console.table(text::lines(subject, &draft))?;
        }
    }
    if let Some(path) = &args.picture {
        draw(found, subject, path, args, console)?;
    }
    if let Some(path) = args.guitar.guitar.as_deref().filter(|_| args.save) {
        save_draft(&draft, path)?;
        console.note(format!(
            "put into {}: what was measured of pickup {}",
            path.display(),
            subject.pickup().name()
        ));
    }
    Ok(())
}

fn draw(
    found: &Found,
    subject: &Subject,
    path: &Path,
    args: &Args,
    console: &mut Console,
) -> Result<(), Failure> {
    if found.points.is_empty() {
        return Err(Failure::input(
            "--picture: single readings are no curve that could be drawn",
            "leave it out, or measure with a recording",
        ));
    }
    let mut inputs = Inputs::new();
    for input in [&args.take, &args.impedance, &args.guitar.guitar].into_iter().flatten() {
        // A built-in guitar's name leads to no file.
        let _ = inputs.add(input);
    }
    let title = format!("{}, {}", subject.guitar().name(), subject.pickup().name());
    let picture = svg(&Followed::new(&title, found), Theme::Adaptive);
    NewFile::write(path, Form::Html.marked(&picture).as_bytes(), args.replace.existing(), &inputs)
        .map_err(|error| folder_failure(&error, "with --picture"))?;
    console.note(format!("wrote {}", path.display()));
    Ok(())
}
