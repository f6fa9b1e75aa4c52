//! `drywire pluck`: a source made from nothing but strings and the places of the coils.

use std::path::PathBuf;

use clap::Args as ClapArgs;
use drywire::guitar::Guitar;
use drywire::job::{PluckChannels, PluckRequest};
use drywire::pluck::{Layout, Phrase, Recipe, Settings};
use drywire::quantity::{Dbfs, Metres, Seconds};

use super::choose::{GuitarArgs, ReplaceArgs};
use super::hints::unplayable;
use super::typed::{BEATS, FACTOR, FULL_SCALE, quantity, rate, whole};
use super::{Console, Failure, Outcome};

const EXAMPLES: &str = "\
Examples:
  drywire pluck                                   an open E chord into pluck.wav
  drywire pluck --notes E2 --seconds 4 --out low.wav
  drywire pluck --chord x32010 --strum 35ms --out chord.wav
  drywire pluck --notes 'E2:0.5 G2 A2 - | B2~ D3~ ^022100:4*0.6' --tempo 100
  drywire pluck --chord 022100 --channels coils --guitar my-guitar.toml --pickup neck

A phrase is written event by event, [^]WHAT[@STRING][:BEATS][*FORCE][~]:
  E2  A#3  Bb2        a note, on the string where its fret is lowest, or on STRING
                      (1 the highest to 6)
  022100  x32010      the frets of a chord, lowest string first, x for a string not played;
  x.10.12.12.12.10    dots between them where a fret has two digits; ^ strums it upward
  -                   a pause;  | is for the eye alone
  :0.5                beats, until others are given (1 at first)
  *0.6                how hard, above 0 up to 1, this event only
  ~                   let it ring until its string is played again; otherwise it stops at the
                      next event. The last event sounds to the end.

With --channels coils, channel 1 is coil A (nearer the bridge) and channel 2 coil B, at their
true balance: what `drywire hear --source-channels coils` wants. One channel is exactly their sum.";

/// Make a neutral source: plucked strings as a pickup's coils see them, before any circuit
#[derive(Debug, ClapArgs)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Args {
    #[command(flatten)]
    played: Played,
    #[command(flatten)]
    strings: Strings,
    #[command(flatten)]
    sensing: Sensing,
    #[command(flatten)]
    file: Written,
}

#[derive(Debug, ClapArgs)]
#[command(next_help_heading = "What is played")]
struct Played {
    /// A phrase (see below)
    #[arg(long, value_name = "PHRASE", conflicts_with = "chord")]
    notes: Option<String>,
    /// One strummed chord, by its frets from the lowest string to the highest
    #[arg(long, value_name = "FRETS", default_value = "022100")]
    chord: String,
    /// How long the source is [default: as long as its phrase; a chord 4 s]
    #[arg(long, value_name = "TIME", allow_hyphen_values = true, value_parser = quantity::<Seconds>)]
    seconds: Option<Seconds>,
    /// Beats a minute
    #[arg(long, value_name = "BPM", default_value_t = Settings::default().tempo, allow_hyphen_values = true,
        value_parser = |text: &str| BEATS.number(text, &Settings::TEMPOS))]
    tempo: f64,
    /// Time from one string of a chord to the next
    #[arg(long, value_name = "TIME", default_value = "20ms", allow_hyphen_values = true, value_parser = quantity::<Seconds>)]
    strum: Seconds,
    /// Small irregularity of the hand, the same for the same number; 0: none
    #[arg(long, value_name = "NUMBER", default_value_t = Settings::default().seed, allow_hyphen_values = true,
        value_parser = whole::<u64>(0..=u64::MAX))]
    seed: u64,
}

#[derive(Debug, ClapArgs)]
#[command(next_help_heading = "The strings")]
struct Strings {
    /// Time in which a fundamental falls by 60 dB
    #[arg(long, value_name = "TIME", default_value = "6s", allow_hyphen_values = true, value_parser = quantity::<Seconds>)]
    decay: Seconds,
    /// How many times faster a partial at 5 kHz falls; 1: all alike
    #[arg(long, value_name = "FACTOR", default_value_t = Settings::default().treble_damping,
        allow_hyphen_values = true,
        value_parser = |text: &str| FACTOR.number(text, &Settings::TREBLE_DAMPINGS))]
    treble_damping: f64,
    /// Where they are plucked, from the bridge
    #[arg(long, value_name = "LENGTH", default_value = "140mm", allow_hyphen_values = true, value_parser = quantity::<Metres>)]
    pluck_at: Metres,
    /// Length of string that the plectrum touches; a finger about 10 mm
    #[arg(long, value_name = "LENGTH", default_value = "2mm", allow_hyphen_values = true, value_parser = quantity::<Metres>)]
    contact: Metres,
    /// Factor on their stiffness; 0: ideal strings
    #[arg(long, value_name = "FACTOR", default_value_t = Settings::default().stiffness, allow_hyphen_values = true,
        value_parser = |text: &str| FACTOR.number(text, &Settings::STIFFNESSES))]
    stiffness: f64,
}

#[derive(Debug, ClapArgs)]
#[command(next_help_heading = "What hears them")]
struct Sensing {
    #[command(flatten)]
    guitar: GuitarArgs,
    /// Take the coils of every pickup of the guitar, and not of one alone
    #[arg(long, conflicts_with = "pickup")]
    every_pickup: bool,
    /// Length of string over which a coil senses
    #[arg(long, value_name = "LENGTH", default_value = "10mm", allow_hyphen_values = true, value_parser = quantity::<Metres>)]
    aperture: Metres,
    /// One channel, the sum of the coils, or a channel for each coil
    #[arg(long, value_enum, default_value_t = Channels::One, ignore_case = true)]
    channels: Channels,
}

#[derive(Debug, ClapArgs)]
#[command(next_help_heading = "The file")]
struct Written {
    /// The file to write: WAV, 24 bit
    #[arg(long, value_name = "FILE.wav", default_value = "pluck.wav")]
    out: PathBuf,
    #[command(flatten)]
    replace: ReplaceArgs,
    /// Samples a second
    #[arg(long, value_name = "HZ", default_value_t = Settings::default().rate, allow_hyphen_values = true,
        value_parser = |text: &str| rate(text, &Settings::RATES))]
    rate: u32,
    /// Peak of the loudest among the coils and their sum, in dBFS
    #[arg(long, value_name = "DBFS", default_value_t = Settings::default().peak.value(), allow_hyphen_values = true,
        value_parser = peak)]
    peak: f64,
}

#[derive(Debug, Clone, Copy, clap::ValueEnum)]
enum Channels {
    One,
    Coils,
}

fn peak(text: &str) -> Result<f64, String> {
    FULL_SCALE.number(text, &(Settings::PEAKS.start().value()..=Settings::PEAKS.end().value()))
}

impl From<Channels> for PluckChannels {
    fn from(channels: Channels) -> Self {
        match channels {
            Channels::One => Self::One,
            Channels::Coils => Self::Coils,
        }
    }
}

/// Synthesises the source that `args` describe and writes it.
pub(crate) fn run(args: &Args, console: &mut Console) -> Result<Outcome, Failure> {
    let phrase = phrase(&args.played)?;
    let guitar = args.sensing.guitar.guitar()?;
    let request = PluckRequest {
        phrase,
        layout: layout(&args.sensing, &guitar)?,
        settings: settings(args),
        channels: args.sensing.channels.into(),
        out: args.file.out.clone(),
        existing: args.file.replace.existing(),
        inputs: args.sensing.guitar.guitar.iter().cloned().collect(),
    };
    let job = request.check()?;
    job.make()?;
    console.note(report(args, job.recipe(), &guitar));
    Ok(Outcome::Done)
}

fn phrase(played: &Played) -> Result<Phrase, Failure> {
    Ok(match &played.notes {
        Some(notes) => Phrase::parse("--notes", notes)?,
        None => Phrase::parse("--chord", &played.chord)?,
    })
}

fn layout(sensing: &Sensing, guitar: &Guitar) -> Result<Layout, Failure> {
    let layout = if sensing.every_pickup {
        Layout::of(guitar, guitar.pickups(), sensing.aperture)
    } else {
        Layout::of(guitar, [sensing.guitar.pickup(guitar)?], sensing.aperture)
    };
    layout.map_err(|e| unplayable(&e))
}

fn settings(args: &Args) -> Settings {
    let Args { played, strings, file, sensing: _ } = args;
    Settings {
        pluck_at: strings.pluck_at,
        contact: strings.contact,
        strum: played.strum,
        tempo: played.tempo,
        decay: strings.decay,
        treble_damping: strings.treble_damping,
        stiffness: strings.stiffness,
        length: played.seconds.or_else(|| played.notes.is_none().then_some(PluckRequest::CHORD)),
        rate: file.rate,
        peak: Dbfs::new(file.peak),
        seed: played.seed,
    }
}

fn report(args: &Args, recipe: &Recipe, guitar: &Guitar) -> String {
    let (seconds, kilohertz) =
        (recipe.frames() as f64 / f64::from(args.file.rate), f64::from(args.file.rate) / 1000.0);
    let places: Vec<String> =
        recipe.layout().coils().iter().map(|c| format!("{:.1}", c.from_bridge.value() * 1000.0)).collect();
    let (channels, coils) = match (args.sensing.channels, places.len()) {
        (_, 1) => ("one channel", "the coil"),
        (Channels::One, _) => ("one channel", "the sum of the coils"),
        (Channels::Coils, _) => ("a channel each", "the coils"),
    };
    format!(
        "{}: {seconds:.2} s at {kilohertz} kHz, {channels} for {coils} {} mm from the bridge of {}",
        args.file.out.display(),
        places.join(", "),
        guitar.name(),
    )
}

#[cfg(test)]
mod tests {
    use drywire::pluck::CoilPlace;

    use super::*;

    #[derive(clap::Parser)]
    struct Alone {
        #[command(flatten)]
        args: Args,
    }

    #[test]
    fn what_is_not_said_is_as_in_the_library() {
        let args = <Alone as clap::Parser>::parse_from(["pluck", "--notes", "E2"]).args;
        assert_eq!(settings(&args), Settings::default());
        assert_eq!(args.sensing.aperture, CoilPlace::APERTURE);
    }
}
