//! `drywire hear`: the main job, from a guitar and a source to a set of files, or from several to a set each.

mod hum;
mod illustrations;
mod jobs;
mod recorded;

use std::fs::File;
use std::path::{Path, PathBuf};
use std::thread::available_parallelism;

use clap::{Args as ClapArgs, ValueEnum};
use drywire::bands::Bands;
use drywire::cautions;
use drywire::folder::{Existing, FolderError};
use drywire::quantity::{DbSpl, Seconds, counted};
use drywire::render::{Channels, Configuration, Hum, MatchBy, Model, RenderError};
use drywire::report::{SetFigures, set_rows};
use drywire::response::{Recorded, Scope, Selection, VoiceResponse};
use drywire::set::{FIGURES, Filled, SetError, SetSpec};
use drywire::sound::{Depth, WriteError};

use super::choose::{GuitarArgs, VoiceArgs};
use super::figures::{figures_of, footing, heading, tell_bands};
use super::output_folder::{
    Contents, ILLUSTRATIONS, OutputFolder, PAGE, ReplaceArgs, TABLE, WITH_OUT, Within, folder_failure,
    to_json,
};
use super::source::{Source, named, plucked, sound_failure};
use super::tolerances::ToleranceArgs;
use super::typed::{SOUND_PRESSURE, time};
use super::wrap::wrapped;
use super::{Console, Failure, Outcome};
use hum::{HumArgs, hum};
use illustrations::illustrate;
use jobs::{Job, Jobs};
use recorded::recorded;

const EXAMPLES: &str = "\
Examples:
  drywire hear                                     a built-in guitar and a built-in source
  drywire hear take.wav --pickup vintage-full-size --arrangements series,parallel,split-a
  drywire hear di.wav --guitar mine.toml --recorded-through series
  drywire hear di.wav --guitar mine.toml --arrangements positions --recorded-through selector:2
  drywire hear coils.wav --source-channels coils --match rms --bits 16 --out coils-set
  drywire hear --hum 50                            with mains hum, as split and parallel coils catch it
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
    /// The sound pressure level of the baseline's as-is file to tell loudness at, 40 to 100 dB SPL
    #[arg(long, value_name = "dB", default_value = "75", allow_hyphen_values = true, value_parser = listening_level)]
    listening_level: DbSpl,
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

pub(crate) fn run(args: &Args, console: &mut Console) -> Result<Outcome, Failure> {
    if args.impulses && matches!(args.model, Kind::SecondOrder) {
        let message =
            "--impulses writes the circuit's response, and --model second-order leaves it to a section";
        return Err(Failure::input(message, "use the default, --model circuit"));
    }
    let hum = hum(args)?;
    let guitar = args.guitar.guitar()?;
    let selection = args.voices.selection(&guitar, args.guitar.pickup_name())?;
    check_model(args, &selection)?;
    let recorded = recorded(args, &guitar, selection.scope())?;
    let mut figures = figures_of(&selection)?;
    figures.notes.extend(recorded.as_ref().and_then(|through| through.note.clone()));
    let bands = args
        .tolerances
        .tell(&selection, &mut figures, || plucked(&guitar, selection.scope()).map(|source| source.sound))?;
    let setup = Setup {
        args,
        selection: &selection,
        recorded: recorded.as_ref().map(|through| &through.voice),
        hum,
        figures,
        bands,
    };
    match Jobs::of(&args.sources, &args.out)? {
        Jobs::One(job) => {
            let figures = setup.hear(&job, &[&job], console)?;
            tell(args, &figures, console)
        }
        Jobs::Many(jobs, failed) => setup.hear_all(&jobs, &failed, console),
    }
}

/// What every source is heard with.
struct Setup<'r> {
    args: &'r Args,
    selection: &'r Selection<'r>,
    recorded: Option<&'r Recorded>,
    hum: Option<Hum>,
    /// What is told before any sound.
    figures: SetFigures,
    bands: Option<Bands>,
}

impl Setup<'_> {
    /// Makes the set of one source; `all` are those whose files must not be written over.
    fn hear(&self, job: &Job, all: &[&Job], console: &mut Console) -> Result<SetFigures, Failure> {
        let Self { args, selection, recorded, hum, .. } = *self;
        let source = source(args, job, selection)?;
        if recorded.is_some() && source.channels == Channels::Coils {
            return Err(recorded::of_coils());
        }
        let mut spec = spec(args, selection, &source, recorded);
        spec.configuration.hum = hum;
        let mut figures = self.figures.clone();

        let mut folder = begin(args, job, all, &spec)?;
        let filled = fill(&spec, &mut figures, &mut folder, console)?;
        if !args.no_page {
            illustrate(&spec, &figures, &filled, self.bands.as_ref(), &mut folder, args.excerpt)?;
        }
        figures.files = folder.listed();
        folder.commit(FIGURES, &figures)?;
        Ok(figures)
    }

    /// Makes the sets of several sources, whichever of them fail, and tells of each, and of the folders that `failed`.
    fn hear_all(
        &self,
        jobs: &[Job],
        failed: &[(PathBuf, Failure)],
        console: &mut Console,
    ) -> Result<Outcome, Failure> {
        let all: Vec<&Job> = jobs.iter().collect();
        let count = jobs.len() + failed.len();
        for (folder, failure) in failed {
            console.table(format!("{}: failed", folder.display()))?;
            console.fail(failure);
        }
        let (mut sets, mut failed) = (Vec::new(), failed.len());
        for job in jobs {
            let source = job.source.as_deref().unwrap_or(Path::new("")).display();
            match self.hear(job, &all, console) {
                Ok(figures) => {
                    let notes = figures.notes.iter();
                    let notes =
                        notes.map(|note| format!("\n{}", wrapped(&format!("note: {note}"), "  ", "    ")));
                    console.table(format!("{source}: {}{}", job.out.display(), notes.collect::<String>()))?;
                    sets.push(figures);
                }
                Err(failure) => {
                    failed += 1;
                    console.table(format!("{source}: failed"))?;
                    console.fail(&failure);
                }
            }
        }
        if self.args.json {
            console.result(
                serde_json::to_string_pretty(&sets).expect("figures hold nothing that JSON cannot"),
            )?;
        }
        let verb = if count == 1 { "is" } else { "are" };
        let told = format!("{} of {} {verb} written", sets.len(), counted(count, "set"));
        console.table(if self.args.no_page || sets.is_empty() {
            format!("\n{told}.")
        } else {
            let told = format!("{told}; open the {PAGE} of one in a browser to listen. {}", cautions::EARS);
            format!("\n{}", wrapped(&told, "", ""))
        })?;
        if failed == 0 {
            return Ok(Outcome::Done);
        }
        let message = format!("{failed} of {} could not be heard", counted(count, "source"));
        let whole = if sets.is_empty() { "" } else { "; the other sets are whole" };
        Err(Failure::input(message, format!("each one's error stands above{whole}")))
    }
}

/// The sound pressure level that `--listening-level` states unless told otherwise.
pub(crate) const LISTENING_LEVEL: DbSpl = DbSpl::new(75.0);

fn listening_level(text: &str) -> Result<DbSpl, String> {
    SOUND_PRESSURE.number_within(text, &(40.0..=100.0)).map(DbSpl::new)
}

fn source(args: &Args, job: &Job, selection: &Selection<'_>) -> Result<Source, Failure> {
    let asked = args.source_channels.map(|c| match c {
        SourceChannels::Stereo => Channels::Stereo,
        SourceChannels::Coils => Channels::Coils,
    });
    match &job.source {
        Some(given) => named(given, asked, args.repair),
        None => plucked(selection.guitar(), selection.scope()),
    }
}

/// Refuses a voice that the resonance alone does not know, before any source is opened.
fn check_model(args: &Args, selection: &Selection<'_>) -> Result<(), Failure> {
    let is_named = |response: &&VoiceResponse| {
        matches!(selection.scope(), Scope::Pickup(_)) && response.voice().arrangement().is_some()
    };
    match (args.model, selection.responses().iter().find(|response| !is_named(response))) {
        (Kind::SecondOrder, Some(unnamed)) => {
            let error = RenderError::Unnamed { name: unnamed.voice().name().to_owned() };
            Err(Failure::input(error.to_string(), UNNAMED))
        }
        (Kind::SecondOrder, None) | (Kind::Circuit, _) => Ok(()),
    }
}

/// What to do about a voice that the resonance alone does not know.
const UNNAMED: &str = "use --model circuit for a throw that no arrangement is like, and for positions";

fn spec<'o>(
    args: &Args,
    selection: &'o Selection<'o>,
    source: &'o Source,
    recorded: Option<&'o Recorded>,
) -> SetSpec<'o> {
    let configuration = Configuration {
        guitar: selection.guitar(),
        scope: selection.scope(),
        rate_hz: source.sound.rate_hz(),
        source_channels: source.sound.channels(),
        channels: source.channels,
        model: match args.model {
            Kind::Circuit => Model::Circuit,
            Kind::SecondOrder => Model::SecondOrder,
        },
        recorded,
        hum: None,
    };
    SetSpec {
        configuration,
        sound: &source.sound,
        responses: selection.responses(),
        baseline: selection.baseline(),
        by: match args.by {
            By::Loudness => MatchBy::Loudness,
            By::Rms => MatchBy::Rms,
        },
        depth: match args.bits {
            Bits::B16 => Depth::Pcm16,
            Bits::B24 => Depth::Pcm24,
            Bits::B32f => Depth::Float32,
        },
        with_impulses: args.impulses,
        with_spectra: !args.no_page,
        listening_level: args.listening_level,
        workers: available_parallelism().map_or(1, usize::from),
    }
}

fn begin(args: &Args, job: &Job, all: &[&Job], spec: &SetSpec<'_>) -> Result<OutputFolder, Failure> {
    let mut names = spec.file_names();
    names.push(TABLE.to_owned());
    names.extend(spec.impulse_names());
    if !args.no_page {
        names.extend(ILLUSTRATIONS.map(str::to_owned));
    }
    let bytes = spec.bytes().map_err(|e| set_failure(spec, &e.into()))?;
    let guitars = [&args.guitar.guitar, &args.recorded_guitar];
    let inputs = all.iter().map(|job| &job.source).chain(guitars).flatten();
    let inputs: Vec<&Path> = inputs.map(PathBuf::as_path).collect();
    let existing = args.replace.existing();
    let contents =
        Contents { names, list: FIGURES, within: Within::default(), bytes, inputs: &inputs, existing };
    OutputFolder::begin(&job.out, &contents)
}

/// Makes the whole set of `spec` in the folder `out`, with the `figures` that are told before any sound.
pub(crate) fn make(
    spec: &SetSpec<'_>,
    mut figures: SetFigures,
    out: &Path,
    inputs: &[&Path],
    existing: Existing,
    console: &mut Console,
) -> Result<(), Failure> {
    let told = std::iter::once(TABLE).chain(ILLUSTRATIONS).map(str::to_owned);
    let names: Vec<String> = spec.file_names().into_iter().chain(told).collect();
    let bytes = spec.bytes().map_err(|e| set_failure(spec, &e.into()))?;
    let contents = Contents { names, list: FIGURES, within: Within::default(), bytes, inputs, existing };
    let mut folder = OutputFolder::begin(out, &contents)?;
    let filled = fill(spec, &mut figures, &mut folder, console)?;
    illustrate(spec, &figures, &filled, None, &mut folder, None)?;
    figures.files = folder.listed();
    folder.commit(FIGURES, &figures)
}

/// Writes the set's sound files and its table.
fn fill(
    spec: &SetSpec<'_>,
    figures: &mut SetFigures,
    folder: &mut OutputFolder,
    console: &mut Console,
) -> Result<Filled<File>, Failure> {
    let bar = console.progress(spec.frames_to_read());
    let filled = spec.fill(figures, &mut |name| folder.open(name), &|frames| bar.inc(frames));
    bar.finish_and_clear();
    let filled = filled.map_err(|e| match e {
        SetError::Render(RenderError::Write(WriteError::Io(cause))) => folder.failed(cause),
        SetError::Open { name, cause } => match cause.downcast::<FolderError>() {
            Ok(refusal) => folder_failure(&refusal, WITH_OUT),
            Err(cause) => set_failure(spec, &SetError::Open { name, cause }),
        },
        other @ SetError::Render(_) => set_failure(spec, &other),
    })?;
    for warning in &filled.warnings {
        console.warn(format!("`{}`: {warning}", spec.sound.file_name()));
    }
    for (name, digest) in spec.file_names().iter().zip(&filled.digests) {
        folder.note(name, *digest);
    }
    for (name, impulse) in spec.impulse_names().iter().zip(filled.impulses.iter().flat_map(|i| &i.files)) {
        folder.write(name, impulse)?;
    }
    folder.write(TABLE, set_rows(figures).as_bytes())?;
    Ok(filled)
}

fn set_failure(spec: &SetSpec<'_>, error: &SetError) -> Failure {
    let hint = match error {
        SetError::Render(RenderError::Sound(e)) => return sound_failure(e),
        SetError::Render(RenderError::Channels { given, .. }) => return channels_failure(spec, *given),
        SetError::Render(RenderError::Write(WriteError::TooLong { .. })) => {
            "cut the source into shorter parts, or write fewer bits with --bits 16"
        }
        SetError::Render(RenderError::Write(e)) => e.hint(),
        SetError::Render(RenderError::Unnamed { .. }) => UNNAMED,
        SetError::Render(RenderError::Kernel(_) | RenderError::Solve(_) | RenderError::Measure(_)) => {
            "some value of the guitar's file is extreme; `drywire figures` lists them"
        }
        SetError::Open { .. } => {
            "check the folder's permissions and the free space, or choose another with --out"
        }
    };
    Failure::input(error.to_string(), hint)
}

/// Returns what is wrong with a source of `given` channels, and how to come to one that can be heard.
fn channels_failure(spec: &SetSpec<'_>, given: usize) -> Failure {
    let count = |count: usize| counted(count, "channel");
    let Configuration { guitar, scope, channels, .. } = spec.configuration;
    let coils = scope.places(guitar).len();
    let name = spec.sound.file_name();
    match channels {
        Channels::Coils => Failure::input(
            format!(
                "`{name}` has {}, and a source by coils has one for each coil that is heard, here {}",
                count(given),
                count(coils)
            ),
            "say --source-channels stereo to hear each channel alike; `drywire pluck --channels coils` makes a source \
             by coils, and without a source one is plucked",
        ),
        Channels::Stereo => Failure::input(
            format!("`{name}` has {}, and one or two are heard alike", count(given)),
            format!(
                "mix it to one or two in a sound editor, or say --source-channels coils if it has one for each coil, \
                 here {}",
                count(coils)
            ),
        ),
    }
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
