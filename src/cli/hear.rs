//! `drywire hear`: the main job, from a guitar and a source to a set of files, or from several to a set each.

mod hum;

use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use clap::{Args as ClapArgs, ValueEnum};
use drywire::cautions;
use drywire::guitar::Guitar;
use drywire::job::{
    JobError, MadeSet, PAGE, RecordedRequest, SetJob, SetProgress, SetRequest, SetSource, SourcesError,
    SourcesOf, THROUGH_A_PICKUP,
};
use drywire::quantity::{DbSpl, Seconds, counted};
use drywire::render::{Channels, MatchBy, Model};
use drywire::report::{SetFigures, to_json};
use drywire::set::{LISTENING_LEVEL, LISTENING_LEVELS};
use drywire::sound::Depth;
use indicatif::ProgressBar;

use super::amp::AmpArgs;
use super::choose::{GuitarArgs, ReplaceArgs, VoiceArgs};
use super::figures::{footing, heading, tell_amplifier, tell_bands};
use super::tolerances::ToleranceArgs;
use super::typed::{SOUND_PRESSURE, time};
use super::wrap::wrapped;
use super::{Console, Failure, Outcome};
use hum::{HumArgs, hum};

const EXAMPLES: &str = "\
Examples:
  drywire hear                                     a built-in guitar and a built-in source
  drywire hear take.wav --pickup vintage-full-size --arrangements series,parallel,split-a
  drywire hear di.wav --guitar mine.toml --recorded-through series
  drywire hear di.wav --guitar mine.toml --arrangements positions --recorded-through selector:2
  drywire hear coils.wav --source-channels coils --match rms --bits 16 --out coils-set
  drywire hear --hum 50                            with mains hum, as split and parallel coils catch it
  drywire hear di.wav --amp edge                   through a generic amplifier that breaks up when one digs in
  drywire hear hour.wav --no-page                  sound and figures alone
  drywire hear takes/ low-note --out bench         bench/NAME for each: every sound file of a folder, and one more
  drywire hear take.wav --replace                  also over files that you put or changed where the set goes

Of several sources, one that fails does not stop the others; the exit code is 2 where any failed.

Caution: start playback low. Levels are set by gain alone, there is no limiter, and a resonant
rise can surprise. Mind your daily sound dose.";

/// Hear what each arrangement does: render, match, measure and write a set of files
#[derive(Debug, ClapArgs)]
#[command(after_help = EXAMPLES)]
#[allow(clippy::struct_excessive_bools, reason = "each is a flag of the command line")]
pub(crate) struct Args {
    /// Sound files (WAV, FLAC, AIFF, Ogg Vorbis, MP3), folders of them or built-in sources; without one a chord is
    /// plucked
    #[arg(value_name = "SOURCE.wav")]
    sources: Vec<PathBuf>,
    #[command(flatten)]
    guitar: GuitarArgs,
    #[command(flatten)]
    voices: VoiceArgs,
    /// The folder of the set, or of the sets of several sources, each called as its source; other files in it are
    /// left alone
    #[arg(long, value_name = "DIR", default_value = "drywire-out")]
    out: PathBuf,
    #[command(flatten)]
    replace: ReplaceArgs,
    /// What the matched files are matched by
    #[arg(long = "match", value_enum, default_value_t = By::Loudness, ignore_case = true)]
    by: By,
    /// The whole circuit, or its resonance alone
    #[arg(long, value_enum, default_value_t = Kind::Circuit, ignore_case = true)]
    model: Kind,
    /// What the source has been through: nothing, or an arrangement, a throw such as `mode:1`, or a position of the whole
    /// guitar such as `selector:2`
    #[arg(long, value_name = "neutral|ARRANGEMENT", default_value = "neutral")]
    recorded_through: String,
    /// The guitar as it was recorded: its cable, input and knobs, where they were others
    #[arg(long, value_name = "FILE")]
    recorded_guitar: Option<PathBuf>,
    /// What the source's channels are: sounds of their own, or coil A and coil B [default: stereo]
    #[arg(long, value_enum, ignore_case = true)]
    source_channels: Option<SourceChannels>,
    /// How samples are stored
    #[arg(long, value_enum, default_value_t = Bits::B24, ignore_case = true)]
    bits: Bits,
    /// Take samples that are no numbers as silence, and say so
    #[arg(long)]
    repair: bool,
    /// Where the 20 s begin that the page plays of a longer source [default: where it is loudest]
    #[arg(long, value_name = "TIME", allow_hyphen_values = true, value_parser = time)]
    excerpt: Option<Seconds>,
    /// Also write each arrangement's impulse response, for any convolution player
    #[arg(long)]
    impulses: bool,
    #[command(flatten)]
    hum: HumArgs,
    #[command(flatten)]
    amp: AmpArgs,
    /// The sound pressure level of the baseline's as-is file to tell loudness at, 40 to 100 dB SPL
    #[arg(long, value_name = "dB", default_value_t = LISTENING_LEVEL.value(), allow_hyphen_values = true,
        value_parser = listening_level)]
    listening_level: f64,
    #[command(flatten)]
    tolerances: ToleranceArgs,
    /// Leave out the page, the pictures and the loudness in sones, which take longer than the sound of a short source
    #[arg(long, conflicts_with = "excerpt")]
    no_page: bool,
    /// Print the figures as JSON
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum By {
    Loudness,
    Rms,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Kind {
    Circuit,
    SecondOrder,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum SourceChannels {
    Stereo,
    Coils,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Bits {
    #[value(name = "16", aliases = ["16bit", "16-bit", "16 bit", "16 bits"])]
    B16,
    #[value(name = "24", aliases = ["24bit", "24-bit", "24 bit", "24 bits"])]
    B24,
    #[value(name = "32f", aliases = ["float", "32float", "32 bit float", "32-bit float"])]
    B32f,
}

impl From<By> for MatchBy {
    fn from(by: By) -> Self {
        match by {
            By::Loudness => Self::Loudness,
            By::Rms => Self::Rms,
        }
    }
}

impl From<Kind> for Model {
    fn from(kind: Kind) -> Self {
        match kind {
            Kind::Circuit => Self::Circuit,
            Kind::SecondOrder => Self::SecondOrder,
        }
    }
}

impl From<SourceChannels> for Channels {
    fn from(channels: SourceChannels) -> Self {
        match channels {
            SourceChannels::Stereo => Self::Stereo,
            SourceChannels::Coils => Self::Coils,
        }
    }
}

impl From<Bits> for Depth {
    fn from(bits: Bits) -> Self {
        match bits {
            Bits::B16 => Self::Pcm16,
            Bits::B24 => Self::Pcm24,
            Bits::B32f => Self::Float32,
        }
    }
}

pub(crate) fn run(args: &Args, console: &mut Console) -> Result<Outcome, Failure> {
    let guitar = args.guitar.guitar()?;
    let recorded_guitar = args.recorded_guitar.as_deref().map(Guitar::open).transpose()?;
    let recorded = recorded(args, recorded_guitar.as_ref())?;
    let selection = args.voices.selection(&guitar, args.guitar.pickup_name());
    let request = SetRequest {
        source: args.sources.first().cloned(),
        source_channels: args.source_channels.map(Into::into),
        repairs: args.repair,
        recorded,
        matched_by: args.by.into(),
        model: args.model.into(),
        depth: args.bits.into(),
        amplification: args.amp.amplification()?,
        hum: hum(&args.hum)?,
        with_impulses: args.impulses,
        draws: args.tolerances.draws(),
        with_page: !args.no_page,
        excerpt: args.excerpt,
        listening_level: DbSpl::new(args.listening_level),
        existing: args.replace.existing(),
        ..SetRequest::new(&guitar, &args.out)
    };
    let guitars = [&args.guitar.guitar, &args.recorded_guitar].into_iter().flatten().cloned();
    match SourcesOf::given(&args.sources, &args.out)? {
        SourcesOf::One(source) => {
            let request = SetRequest { inputs: guitars.collect(), ..request };
            let job = request.check_with(selection?)?;
            let made = make(&job, &source, console)?;
            tell(args, &made.figures, console)
        }
        SourcesOf::Many(sources, failed) => {
            let all = sources.iter().filter_map(|source| source.source.clone());
            let request = SetRequest { inputs: all.chain(guitars).collect(), ..request };
            hear_all(args, &request.check_with(selection?)?, &sources, failed, console)
        }
    }
}

/// Makes the set of one source, and tells how far it is and what is odd about the source.
fn make(job: &SetJob<'_>, source: &SetSource, console: &mut Console) -> Result<MadeSet, JobError> {
    let bar = Bar::default();
    let made = job.make_of(source, &|progress| bar.advance(progress, console));
    bar.finish();
    let made = made?;
    warn_of(&made, console);
    Ok(made)
}

/// Warns of what is odd about the source of a set.
pub(crate) fn warn_of(made: &MadeSet, console: &mut Console) {
    let name = made.figures.source.as_ref().map_or("the source", |source| source.file.as_str());
    for warning in &made.warnings {
        let how = if warning == THROUGH_A_PICKUP { ", as in --recorded-through series" } else { "" };
        console.warn(format!("`{name}`: {warning}{how}"));
    }
}

/// The progress of a set, once something is known of it.
#[derive(Default)]
pub(crate) struct Bar(OnceLock<ProgressBar>);

impl Bar {
    pub(crate) fn advance(&self, progress: SetProgress, console: &Console) {
        self.0.get_or_init(|| console.progress(progress.of)).inc(progress.frames);
    }

    pub(crate) fn finish(&self) {
        if let Some(bar) = self.0.get() {
            bar.finish_and_clear();
        }
    }
}

/// Makes the sets of several sources, whichever of them fail, and tells of each, and of the folders that `failed`.
fn hear_all(
    args: &Args,
    job: &SetJob<'_>,
    sources: &[SetSource],
    failed: Vec<(PathBuf, SourcesError)>,
    console: &mut Console,
) -> Result<Outcome, Failure> {
    let count = sources.len() + failed.len();
    let (mut sets, mut failures) = (Vec::new(), failed.len());
    for (folder, error) in failed {
        console.table(format!("{}: failed", folder.display()))?;
        console.fail(&error.into());
    }
    for source in sources {
        let name = source.source.as_deref().unwrap_or(Path::new("")).display();
        match make(job, source, console) {
            Ok(MadeSet { figures, .. }) => {
                let notes = figures.notes.iter();
                let notes =
                    notes.map(|note| format!("\n{}", wrapped(&format!("note: {note}"), "  ", "    ")));
                console.table(format!("{name}: {}{}", source.out.display(), notes.collect::<String>()))?;
                sets.push(figures);
            }
            Err(error) => {
                failures += 1;
                console.table(format!("{name}: failed"))?;
                console.fail(&error.into());
            }
        }
    }
    if args.json {
        console.result(to_json(&sets))?;
    }
    let verb = if count == 1 { "is" } else { "are" };
    let told = format!("{} of {} {verb} written", sets.len(), counted(count, "set"));
    console.table(if args.no_page || sets.is_empty() {
        format!("\n{told}.")
    } else {
        let told = format!("{told}; open the {PAGE} of one in a browser to listen. {}", cautions::EARS);
        format!("\n{}", wrapped(&told, "", ""))
    })?;
    if failures == 0 {
        return Ok(Outcome::Done);
    }
    let message = format!("{failures} of {} could not be heard", counted(count, "source"));
    let whole = if sets.is_empty() { "" } else { "; the other sets are whole" };
    Err(Failure::input(message, format!("each one's error stands above{whole}")))
}

/// Returns the voice that the sources are said to be recorded through, if any.
fn recorded<'g>(args: &'g Args, guitar: Option<&'g Guitar>) -> Result<Option<RecordedRequest<'g>>, Failure> {
    match (args.recorded_through.as_str(), guitar) {
        ("neutral", None) => Ok(None),
        ("neutral", Some(_)) => Err(Failure::input(
            "--recorded-guitar says how a take was recorded, and --recorded-through says neutral",
            "name the arrangement that was heard, such as --recorded-through series",
        )),
        (through, guitar) => Ok(Some(RecordedRequest { through, guitar })),
    }
}

fn listening_level(text: &str) -> Result<f64, String> {
    SOUND_PRESSURE.number_within(text, &(LISTENING_LEVELS.start().value()..=LISTENING_LEVELS.end().value()))
}

fn tell(args: &Args, figures: &SetFigures, console: &mut Console) -> Result<Outcome, Failure> {
    if args.json {
        console.result(to_json(figures))?;
        return Ok(Outcome::Done);
    }
    console.table(heading(figures))?;
    console.rows(&figures.response_table())?;
    tell_bands(figures, console)?;
    console.table("")?;
    console.rows(&figures.sound_table())?;
    tell_amplifier(figures, console)?;
    if !args.no_page {
        console.table("")?;
        console.rows(&figures.heard_table())?;
    }
    console.table(footing(figures))?;
    console.table(if args.no_page {
        format!("\nThe set is in {}.", args.out.display())
    } else {
        format!("\n{}", to_listen("The set is", &args.out))
    })?;
    Ok(Outcome::Done)
}

/// Returns where `what` can be heard, and what to mind.
pub(crate) fn to_listen(what: &str, folder: &Path) -> String {
    let page = folder.join(PAGE);
    let told = format!("{what} in {}; open {} in a browser to listen.", folder.display(), page.display());
    format!("{}\n{}", wrapped(&told, "", "  "), wrapped(cautions::EARS, "", "  "))
}
