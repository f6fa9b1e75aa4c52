//! `drywire survey`: every combination that a guitar's switches can make, and which of them sound alike.

use std::fs;
use std::path::{Path, PathBuf};
use std::thread::available_parallelism;
use std::time::{Duration, Instant};

use clap::Args as ClapArgs;
use drywire::digest::is_whole_file;
use drywire::folder::{Existing, Inputs, NewFile};
use drywire::guitar::Guitar;
use drywire::page::survey_page;
use drywire::plot::{Map, Theme, png, svgs};
use drywire::render::{Configuration, MatchBy, Model};
use drywire::response::{Selection, Setting, Voice};
use drywire::set::{FIGURES, SetSpec};
use drywire::sound::Depth;
use drywire::survey::{
    Combination, DistinctCircuit, Heard, Neutral, Radii, Solving, Space, SpaceError, SurveyFigures,
    SurveyPart, survey_rows,
};
use drywire::wiring::{Arrangement, UnknownArrangement};

use super::choose::GuitarArgs;
use super::figures::{figures_of, remarks};
use super::hear::{LISTENING_LEVEL, make, to_listen};
use super::output_folder::{
    Contents, ILLUSTRATIONS, OutputFolder, ReplaceArgs, TABLE, WITH_OUT, Within, folder_failure, to_json,
};
use super::source::{plucked, unplayable};
use super::typed::{DECIBELS, whole};
use super::wrap::wrapped;
use super::{Console, Failure, Outcome};

const EXAMPLES: &str = "\
Examples:
  drywire survey --guitar three-two-coil           all combinations of three two-coil pickups
  drywire survey --guitar mine.toml --arrangements series,parallel,split-a
  drywire survey --guitar mine.toml --pickup bridge --within 2
  drywire survey --guitar mine.toml --hear         also render the positions worth keeping

A survey that is broken off is gone on with by the same command. Up to 100,000 combinations of up to
20,000 different circuits are gone through.

Caution: start playback low. Levels are set by gain alone, there is no limiter, and a resonant
rise can surprise. Mind your daily sound dose.";

/// Go through every combination a guitar can make, and find which of them sound alike
#[derive(Debug, ClapArgs)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Args {
    #[command(flatten)]
    guitar: GuitarArgs,
    /// Arrangements that every two-coil pickup can have, separated by commas [default: the throws of its switch, or all]
    #[arg(long, value_name = "LIST", value_delimiter = ',', value_parser = arrangement)]
    arrangements: Vec<Arrangement>,
    /// The position that levels are told against [default: how the guitar stands]
    #[arg(long, value_name = "NAME")]
    baseline: Option<String>,
    /// Keep so many positions that every combination sounds within this of one of them
    #[arg(long, value_name = "DB", default_value = "3", allow_hyphen_values = true, value_parser = distance)]
    within: f64,
    /// Combinations up to this far apart are near-duplicates
    #[arg(long, value_name = "DB", default_value = "1", allow_hyphen_values = true, value_parser = distance)]
    alike: f64,
    /// Also render the positions that are kept, as a set in DIR/heard
    #[arg(long)]
    hear: bool,
    /// The folder of the results; other files in it are left alone
    #[arg(long, value_name = "DIR", default_value = "drywire-survey")]
    out: PathBuf,
    #[command(flatten)]
    replace: ReplaceArgs,
    /// How many threads may work [default: as many as the machine runs at once]
    #[arg(long, value_name = "N", allow_hyphen_values = true, value_parser = whole::<u16>(1..=256))]
    threads: Option<u16>,
    /// Print the results as JSON
    #[arg(long)]
    json: bool,
}

/// Returns the arrangement of that name, or why there is none.
fn arrangement(name: &str) -> Result<Arrangement, String> {
    name.trim().parse().map_err(|e: UnknownArrangement| match e.hint() {
        Some(hint) => format!("{e}\nhint: {hint}"),
        None => e.to_string(),
    })
}

/// Returns the distance that an option's text states, or why it states none.
fn distance(text: &str) -> Result<f64, String> {
    DECIBELS.number_within(text, &(0.05..=40.0)).map_err(|e| {
        format!("{e}\nhint: 1 dB can just be told side by side, 3 dB is plain; such as 1 or 2.5")
    })
}

/// The files of a survey.
const FILES: [&str; 4] = ["survey.csv", "survey.svg", "survey.png", "survey.html"];
/// The file that tells of them.
const LIST: &str = "survey.json";
/// Where in the folder of the results the positions that are kept can be heard.
const HEARD: &str = "heard/";
/// More positions than this make a page that nobody listens through.
const MOST_HEARD: usize = 24;
/// What is heard so far is kept at least this often.
const KEEP_EVERY: Duration = Duration::from_secs(1);
/// What a survey's files take is less than this for each combination.
const BYTES_EACH: u64 = 4096;

pub(crate) fn run(args: &Args, console: &mut Console) -> Result<Outcome, Failure> {
    let guitar = args.guitar.guitar()?;
    let pickup = args.guitar.pickup.as_ref().map(|_| args.guitar.pickup(&guitar)).transpose()?;
    let space = Space::new(&guitar, pickup, &args.arrangements).map_err(|e| space_failure(&e))?;
    if args.hear && guitar.joined().is_empty() && space.pickups().len() > 1 {
        let message =
            "a set is of one pickup or of pickups that are joined, and this guitar's are not joined";
        return Err(Failure::input(message, "name one with --pickup, or add a table headed [[selector]]"));
    }
    let baseline = baseline(args, &guitar, &space)?;
    let circuits = space.circuits().map_err(|e| space_failure(&e))?;
    let mut folder = begin(args, space.len())?;
    let neutral = Neutral::of(&space).map_err(|e| unplayable(&e))?;
    let reference = neutral.hear(&baseline)?;
    let keeping = Keeping::beside(&args.out, args.replace.existing())?;
    let heard = hear(args, &space, &circuits, &neutral, &keeping, console)?;
    let radii = Radii { alike: args.alike, within: args.within };
    let mut figures =
        SurveyFigures::new(&space, &circuits, &heard, (baseline.voice.name(), &reference), radii);
    fill(&figures, &mut folder)?;
    figures.files = folder.listed();
    folder.commit(LIST, &figures)?;
    keeping.forget();
    let is_heard = args.hear && render(args, &guitar, &circuits, &figures, console)?;
    tell(args, &figures, is_heard, console)
}

fn begin(args: &Args, combinations: usize) -> Result<OutputFolder, Failure> {
    let heard = |name: &str| format!("{HEARD}{name}");
    let rendered = [FIGURES, TABLE].into_iter().chain(ILLUSTRATIONS).filter(|_| args.hear);
    let contents = Contents {
        names: FILES.map(str::to_owned).to_vec(),
        list: LIST,
        // What an earlier survey rendered need not be what this one keeps.
        within: Within { list: Some(heard(FIGURES)), names: rendered.map(heard).collect() },
        bytes: BYTES_EACH * combinations as u64,
        inputs: &inputs(args),
        existing: args.replace.existing(),
    };
    OutputFolder::begin(&args.out, &contents)
}

fn inputs(args: &Args) -> Vec<&Path> {
    args.guitar.guitar.iter().map(PathBuf::as_path).collect()
}

/// Renders the positions that are kept, as `hear` does, and returns whether there were any to render, and not too many.
fn render(
    args: &Args,
    guitar: &Guitar,
    circuits: &[DistinctCircuit<'_>],
    figures: &SurveyFigures,
    console: &mut Console,
) -> Result<bool, Failure> {
    let called = |name: &String| circuits.iter().find(|c| c.first.voice.name() == name);
    let kept: Vec<&DistinctCircuit<'_>> = figures.keep.positions.iter().filter_map(called).collect();
    let Some(scope) = kept.first().map(|circuit| circuit.first.scope) else {
        console.warn("every combination is silent, and nothing is rendered");
        return Ok(false);
    };
    if kept.len() > MOST_HEARD {
        console.warn(format!(
            "{} positions are kept, more than the {MOST_HEARD} that are rendered at most; ask for fewer with a larger \
             --within",
            kept.len()
        ));
        return Ok(false);
    }
    let voices: Vec<Voice> = kept.iter().map(|circuit| circuit.first.voice.clone()).collect();
    let selection = Selection::of_voices(guitar, scope, &voices, 0)?;
    let source = plucked(guitar, scope)?;
    let configuration = Configuration {
        guitar,
        scope,
        rate_hz: source.sound.rate_hz(),
        source_channels: source.sound.channels(),
        channels: source.channels,
        model: Model::Circuit,
        recorded: None,
        hum: None,
    };
    let spec = SetSpec {
        configuration,
        sound: &source.sound,
        responses: selection.responses(),
        baseline: 0,
        by: MatchBy::Loudness,
        depth: Depth::Pcm24,
        with_impulses: false,
        with_spectra: true,
        listening_level: LISTENING_LEVEL,
        workers: workers(args),
    };
    let told = figures_of(&selection)?;
    make(&spec, told, &args.out.join(HEARD), &inputs(args), args.replace.existing(), console).map(|()| true)
}

fn workers(args: &Args) -> usize {
    args.threads.map_or_else(|| available_parallelism().map_or(1, usize::from), usize::from)
}

/// Returns the combination that levels are told against.
fn baseline<'g>(args: &Args, guitar: &'g Guitar, space: &Space<'g>) -> Result<Combination<'g>, Failure> {
    let first = space.combination(0);
    let named = |name: &str| (0..space.len()).map(|i| space.combination(i)).find(|c| c.voice.name() == name);
    match (&args.baseline, first.voice.is_of_a_guitar()) {
        (None, false) => Ok(first),
        (None, true) => {
            let voice = Voice::of_guitar("the guitar as it stands", Setting::standing(guitar));
            Ok(Combination { voice, ..first })
        }
        (Some(name), true) => {
            let voice = Voice::at_position(guitar, name)?;
            Ok(Combination { voice, ..first })
        }
        (Some(name), false) => named(name).ok_or_else(|| {
            let hint = format!("name one as the results do, such as {}", first.voice.name());
            Failure::input(format!("the baseline `{name}` is none of the combinations"), hint)
        }),
    }
}

/// Hears every circuit, going on from where an earlier run of the same survey was broken off.
fn hear(
    args: &Args,
    space: &Space<'_>,
    circuits: &[DistinctCircuit<'_>],
    neutral: &Neutral<'_>,
    keeping: &Keeping,
    console: &mut Console,
) -> Result<Vec<Heard>, Failure> {
    let mut part = SurveyPart::begun(space, circuits);
    if let Some(earlier) = keeping.found()? {
        let done = earlier.heard.iter().flatten().count();
        if part.take_up(earlier) {
            console.note(format!("going on from {}: {done} of {} are done", keeping.shown(), circuits.len()));
        } else {
            console.warn(format!("{} is of another survey, and is replaced", keeping.shown()));
        }
    }
    let bar = console.progress(circuits.len() as u64);
    let workers = workers(args);
    let survey = part.survey.clone();
    let (mut last, mut trouble) = (Instant::now(), None);
    let mut watch = |heard: &[Option<Heard>]| {
        bar.inc(1);
        if last.elapsed() >= KEEP_EVERY {
            let so_far = SurveyPart { survey: survey.clone(), heard: heard.to_vec() };
            trouble = keeping.keep(&so_far).err();
            last = Instant::now();
        }
        trouble.is_none()
    };
    bar.set_position(part.heard.iter().flatten().count() as u64);
    let solved = Solving { workers }.hear(neutral, circuits, &mut part.heard, &mut watch);
    bar.finish_and_clear();
    if let Some(trouble) = trouble {
        return Err(trouble);
    }
    solved?;
    Ok(part.heard.into_iter().flatten().collect())
}

/// The file beside the results that holds what an unfinished survey has heard.
struct Keeping {
    path: PathBuf,
    existing: Existing,
}

impl Keeping {
    fn beside(out: &Path, existing: Existing) -> Result<Self, Failure> {
        let absolute = std::path::absolute(out).ok();
        let name = absolute.as_deref().and_then(Path::file_name);
        match (name, absolute.as_ref()) {
            (Some(name), Some(absolute)) => {
                let mut name = name.to_owned();
                name.push(".part");
                Ok(Self { path: absolute.with_file_name(name), existing })
            }
            _ => Err(Failure::input(
                format!("`{}` is no folder that results can go into", out.display()),
                "choose another with --out",
            )),
        }
    }

    fn shown(&self) -> String {
        format!("`{}`", self.path.display())
    }

    /// Returns what was kept by an earlier run, if it is to be gone on from.
    fn found(&self) -> Result<Option<SurveyPart>, Failure> {
        if !self.path.exists() {
            return Ok(None);
        }
        let text = fs::read(&self.path).map_err(|e| e.to_string());
        match (text.and_then(|text| SurveyPart::read(&text).map_err(|e| e.to_string())), self.existing) {
            (Ok(part), _) => Ok(Some(part)),
            (Err(_), Existing::Replace) => Ok(None),
            (Err(why), Existing::ReplaceOwn | Existing::Keep) => {
                let message = format!("{} stands where an unfinished survey is kept: {why}", self.shown());
                let hint = "move it away, choose another folder with --out, or say --replace, and it is gone";
                Err(Failure::input(message, hint))
            }
        }
    }

    fn keep(&self, part: &SurveyPart) -> Result<(), Failure> {
        let written = NewFile::write(&self.path, &part.text(), self.existing, &Inputs::new());
        written.map_err(|e| folder_failure(&e, WITH_OUT))
    }

    /// Removes the file: the survey is whole. One that is not ours, or cannot be removed, stays; it is known for another
    /// survey's, or the same one's, the next time.
    fn forget(&self) {
        if is_whole_file(&self.path).is_ok_and(|ours| ours) {
            let _ = fs::remove_file(&self.path);
        }
    }
}

fn fill(figures: &SurveyFigures, folder: &mut OutputFolder) -> Result<(), Failure> {
    folder.write("survey.csv", survey_rows(figures).as_bytes())?;
    let map = Map::new(figures);
    let [adaptive, light, dark] = svgs(&map, [Theme::Adaptive, Theme::Light, Theme::Dark]);
    folder.write("survey.svg", adaptive.as_bytes())?;
    folder.write("survey.html", survey_page(figures, [light, dark]).as_bytes())?;
    let bitmap =
        png(&map, Theme::Light).map_err(|e| Failure::input(e.to_string(), "ask for fewer positions"))?;
    folder.write("survey.png", &bitmap)
}

fn space_failure(error: &SpaceError) -> Failure {
    let hint = match error {
        SpaceError::TooMany { .. } | SpaceError::TooManyCircuits { .. } => {
            "name fewer with --arrangements, such as series,parallel,split-a, or one pickup with --pickup"
        }
        SpaceError::NoArrangement { .. } => "name some that every two-coil pickup has",
        SpaceError::Voice(error) => return error.clone().into(),
    };
    Failure::input(error.to_string(), hint)
}

fn tell(
    args: &Args,
    figures: &SurveyFigures,
    is_heard: bool,
    console: &mut Console,
) -> Result<Outcome, Failure> {
    if args.json {
        console.result(to_json(figures))?;
        return Ok(Outcome::Done);
    }
    let count = wrapped(&figures.count(), "", "  ");
    console.table(format!("{}\n{count}\n", wrapped(&figures.guitar, "", "  ")))?;
    console.table(wrapped(
        &format!("{} Levels are against {}.", figures.verdict(), figures.baseline),
        "",
        "",
    ))?;
    for (heading, in_phase) in [("In phase", true), ("Out of phase", false)] {
        if let Some(table) = figures.kept_table(in_phase) {
            console.table(format!("\n{heading}"))?;
            console.rows(&table)?;
        }
    }
    let closing = [figures.distance.clone(), format!("This is {}.", figures.honesty)];
    console.table(remarks(&figures.assumed, &figures.notes, closing))?;
    let page = args.out.join("survey.html");
    let to_look = format!(
        "The survey is in {}; open {} in a browser to look through it.",
        args.out.display(),
        page.display()
    );
    console.table(format!("\n{}", wrapped(&to_look, "", "  ")))?;
    if is_heard {
        let folder = args.out.join(HEARD.trim_end_matches('/'));
        console.table(to_listen("The positions that are kept are", &folder))?;
    }
    Ok(Outcome::Done)
}
