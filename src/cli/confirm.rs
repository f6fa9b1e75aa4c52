//! `drywire confirm`: recordings after soldering against what was foretold.

mod text;

use std::fs;
use std::path::{Path, PathBuf};
use std::thread::available_parallelism;

use clap::Args as ClapArgs;
use drywire::confirm::{Confirmation, KeptConfirmation, Session, Take};
use drywire::digest::Form;
use drywire::folder::{Existing, Inputs, NewFile};
use drywire::guitar::Guitar;
use drywire::plot::{Confirmed, Theme, svg};
use drywire::quantity::counted;
use drywire::report::to_json;
use drywire::sound::Sound;

use super::choose::{GuitarArgs, ReplaceArgs};
use super::hints::folder_failure;
use super::{Console, Failure, Outcome};

const AFTER_HELP: &str = "Examples:
  drywire confirm --guitar mine.toml mode:1=a1.wav mode:3=b1.wav mode:1=a2.wav mode:3=b2.wav
      four recordings, in the order in which they were played
  drywire confirm --guitar mine.toml take.wav --order mode:1,mode:3,mode:1,mode:3
      one recording of the same
  drywire confirm --guitar mine.toml --flips notes.wav --between mode:1,mode:3
      single notes that ring while the switch is thrown: surer, but for the treble

Record with the guitar's cable in the sound card's instrument input, and not in the amplifier. Leave the gain as it is, and every knob where the guitar's file has it, and let each chord ring for a second.

With --order damp the strings and wait two seconds before each change of the switch. For --flips let sixteen single notes ring, three seconds each, and throw the switch every half second; the first begins in the first throw.

A take is consistent with what the guitar's file has, not consistent, or cannot be told, which says how many more strums would tell.

Exit code 1: a take is not consistent with what the guitar's file has.";

/// Tell from recordings whether a rewired guitar sounds as it was foretold
///
/// Play the same chord in two throws or more without hearing the amplifier: four strums in the one, four in the other, and the same
/// again. A NAME is a throw of a soldered switch such as mode:1, a position of the whole guitar such as selector:2, or an arrangement
/// such as parallel; it may come again. Each later one is told against the first: how much louder it is, in all and in third octaves,
/// as measured and as the guitar's file foretells, both with their standard deviations, and which of the guitar's arrangements it is
/// consistent with. What strums of one throw differ by is the player's, and is allowed for. Takes tell nothing that all of them have.
#[derive(Debug, ClapArgs)]
#[command(after_help = AFTER_HELP)]
pub(crate) struct Args {
    /// What was recorded, each with its name in front, in the order in which it was played; with --order the one recording alone
    #[arg(value_name = "NAME=TAKE.wav", required_unless_present = "flips")]
    takes: Vec<String>,
    /// In which throws the blocks of the one recording were played, in their order, a rest of 2 s between them
    #[arg(long, value_name = "NAME,NAME,…", value_delimiter = ',')]
    order: Vec<String>,
    /// In place of strums: a recording of single notes that ring while the switch is thrown
    #[arg(long, value_name = "TAKE.wav", requires = "between", conflicts_with_all = ["takes", "order"])]
    flips: Option<PathBuf>,
    /// Between which two throws the switch is thrown, the first note beginning in the first
    #[arg(long, value_name = "NAME,NAME", value_delimiter = ',', requires = "flips")]
    between: Vec<String>,
    #[command(flatten)]
    guitar: GuitarArgs,
    /// Keep what was measured, with its day, in the folder `readings` beside the guitar's file
    #[arg(long, requires = "guitar")]
    save: bool,
    /// Draw what was foretold and what was measured, with both bands; of several throws one file each, by their numbers
    #[arg(long, value_name = "FILE.svg")]
    picture: Option<PathBuf>,
    #[command(flatten)]
    replace: ReplaceArgs,
    /// Print the answer as JSON
    #[arg(long)]
    json: bool,
}

/// What was recorded.
enum Recorded<'a> {
    /// Each throw with its recording, in the order in which they were played.
    Takes(Vec<(&'a str, &'a Path)>),
    /// One recording, and the throws of its blocks in their order.
    Blocks(&'a Path, Vec<&'a str>),
    /// Single notes that ring while the switch is thrown between two throws.
    Flips(&'a Path, [&'a str; 2]),
}

impl<'a> Recorded<'a> {
    fn of(args: &'a Args) -> Result<Self, Failure> {
        let trimmed =
            |names: &'a [String]| -> Vec<&'a str> { names.iter().map(|name| name.trim()).collect() };
        if let Some(take) = &args.flips {
            return match trimmed(&args.between)[..] {
                [first, later] if first != later => Ok(Self::Flips(take, [first, later])),
                ref names => {
                    let given = match names {
                        [name, _] => format!("`{name}` twice"),
                        _ => counted(names.len(), "throw"),
                    };
                    let message = format!("--between names {given}; wanted are two throws");
                    Err(Failure::input(message, "separate two by a comma, such as mode:1,mode:3"))
                }
            };
        }
        if args.order.is_empty() {
            let takes: Result<Vec<_>, Failure> = args.takes.iter().map(|text| throw_and_take(text)).collect();
            return Ok(Self::Takes(takes?));
        }
        let [take] = &args.takes[..] else {
            return Err(Failure::input(
                format!(
                    "--order: {} recordings are given, and the order is that within one",
                    args.takes.len()
                ),
                "name one recording, or each throw with its own, such as mode:1=a1.wav mode:3=b1.wav",
            ));
        };
        Ok(Self::Blocks(Path::new(take), trimmed(&args.order)))
    }

    fn names(&self) -> Vec<&'a str> {
        match self {
            Self::Takes(takes) => takes.iter().map(|(name, _)| *name).collect(),
            Self::Blocks(_, order) => order.clone(),
            Self::Flips(_, between) => between.to_vec(),
        }
    }

    fn files(&self) -> Vec<&'a Path> {
        match self {
            Self::Takes(takes) => takes.iter().map(|(_, path)| *path).collect(),
            Self::Blocks(path, _) | Self::Flips(path, _) => vec![path],
        }
    }

    fn confirm(
        &self,
        guitar: &Guitar,
        pickup: Option<&str>,
        console: &mut Console,
    ) -> Result<Confirmation, Failure> {
        let workers = available_parallelism().map_or(1, usize::from);
        let session = Session::new(guitar, pickup, &self.names())?;
        let blocks = match self {
            Self::Takes(takes) => {
                let take = |(name, path): &(&str, &Path)| -> Result<(String, Take), Failure> {
                    Ok(((*name).to_owned(), read(path, console)?))
                };
                let takes: Result<Vec<(String, Take)>, Failure> = takes.iter().map(take).collect();
                session.blocks(&takes?)?
            }
            Self::Blocks(path, order) => session.blocks_of_one(&read(path, console)?, order)?,
            Self::Flips(path, _) => return Ok(session.confirm_flips(&read(path, console)?, workers)?),
        };
        Ok(session.confirm(blocks, &session.forecast(workers)?))
    }
}

/// Reads a recording, and warns of what is wrong with its file.
fn read(path: &Path, console: &mut Console) -> Result<Take, Failure> {
    let sound = Sound::open(path)?;
    for warning in sound.warnings() {
        console.warn(format!("{}: {warning}", path.display()));
    }
    Ok(Take::read(&sound)?)
}

fn throw_and_take(text: &str) -> Result<(&str, &Path), Failure> {
    // A position may have equals signs of its own, selector:2+neck=parallel=take.wav, and so may a file.
    let splits = || text.match_indices('=').map(|(at, _)| (&text[..at], &text[at + 1..]));
    let parts = splits().find(|(_, path)| Path::new(path).is_file()).or_else(|| splits().next_back());
    let (name, path) = parts.filter(|(name, path)| !name.is_empty() && !path.is_empty()).ok_or_else(|| {
        Failure::input(
            format!("`{text}` does not say in which throw it was recorded"),
            "write the throw before it, such as mode:1=a1.wav, or say --order mode:1,mode:3,mode:1,mode:3",
        )
    })?;
    Ok((name, Path::new(path)))
}

pub(crate) fn run(args: &Args, console: &mut Console) -> Result<Outcome, Failure> {
    let guitar = args.guitar.guitar()?;
    if let Some(path) = args.guitar.guitar.as_deref().filter(|path| args.save && !path.is_file()) {
        return Err(Failure::input(
            format!("--save: the built-in guitar `{}` has no folder", path.display()),
            "copy it into a file with `drywire presets copy`, and name that",
        ));
    }
    if let Some(path) = args
        .picture
        .as_deref()
        .filter(|path| !path.extension().is_some_and(|e| e.eq_ignore_ascii_case("svg")))
    {
        return Err(Failure::input(
            format!("--picture: `{}` does not end in `.svg`, which is what is drawn", path.display()),
            format!("name it `{}`", path.with_extension("svg").display()),
        ));
    }
    let recorded = Recorded::of(args)?;
    let confirmation = recorded.confirm(&guitar, args.guitar.pickup_name(), console)?;
    tell(&confirmation, args, console)?;
    if let Some(path) = &args.picture {
        draw(&confirmation, &guitar, path, &recorded, args, console)?;
    }
    if let Some(path) = args.guitar.guitar.as_deref().filter(|_| args.save) {
        keep(confirmation.clone(), &guitar, path, console)?;
    }
    Ok(if confirmation.is_no() { Outcome::No } else { Outcome::Done })
}

fn tell(confirmation: &Confirmation, args: &Args, console: &mut Console) -> Result<(), Failure> {
    if args.json {
        return console.result(to_json(confirmation));
    }
    console.table(text::verdicts(confirmation))?;
    for difference in &confirmation.differences {
        console.table(text::level(difference))?;
        console.rows(&text::bands(difference))?;
    }
    console.table(text::notes(confirmation))
}

fn draw(
    confirmation: &Confirmation,
    guitar: &Guitar,
    path: &Path,
    recorded: &Recorded<'_>,
    args: &Args,
    console: &mut Console,
) -> Result<(), Failure> {
    if confirmation.differences.is_empty() {
        console.warn("--picture: nothing was measured that could be drawn");
        return Ok(());
    }
    // No file that is written replaces what was read.
    let mut inputs = Inputs::new();
    for input in recorded.files().into_iter().chain(args.guitar.guitar.as_deref()) {
        // A built-in guitar's name leads to no file.
        let _ = inputs.add(input);
    }
    for (place, picture) in Confirmed::all(guitar.name(), confirmation).iter().enumerate() {
        let picture = svg(picture, Theme::Adaptive);
        let path = numbered(path, place);
        NewFile::write(&path, Form::Html.marked(&picture).as_bytes(), args.replace.existing(), &inputs)
            .map_err(|error| folder_failure(&error, "with --picture"))?;
        console.note(format!("wrote {}", path.display()));
    }
    Ok(())
}

/// Returns the path of the picture at this place: the first is called as it was asked for, `confirm.svg`, then `confirm-2.svg`.
fn numbered(path: &Path, place: usize) -> PathBuf {
    if place == 0 {
        return path.to_owned();
    }
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let ending = path.extension().map(|ending| format!(".{}", ending.to_string_lossy())).unwrap_or_default();
    path.with_file_name(format!("{stem}-{}{ending}", place + 1))
}

/// Keeps what was told in `readings`, under the first name of the day that is free.
fn keep(told: Confirmation, guitar: &Guitar, path: &Path, console: &mut Console) -> Result<(), Failure> {
    /// More than anybody keeps in a day; what stands there is never replaced.
    const MOST: usize = 10_000;
    let folder = path.parent().unwrap_or(Path::new("")).join("readings");
    fs::create_dir_all(&folder).map_err(|error| {
        Failure::input(
            format!("cannot make the folder `{}`: {error}", folder.display()),
            "look who may write there, or leave out --save and keep what --json prints",
        )
    })?;
    let date = chrono::Local::now().format("%Y-%m-%d").to_string();
    let name = |number: usize| match number {
        1 => format!("confirm-{date}.json"),
        _ => format!("confirm-{date}-{number}.json"),
    };
    let free =
        (1..=MOST).map(|number| folder.join(name(number))).find(|path| fs::symlink_metadata(path).is_err());
    let free = free.unwrap_or_else(|| folder.join(name(1)));
    let kept = KeptConfirmation { date, guitar: guitar.name().to_owned(), told };
    NewFile::write(&free, to_json(&kept).as_bytes(), Existing::ReplaceOwn, &Inputs::new())
        .map_err(|error| folder_failure(&error, "without --save"))?;
    console.note(format!("kept in {}", free.display()));
    Ok(())
}
