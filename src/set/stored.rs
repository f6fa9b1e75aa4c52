//! A set that was written before, read back from its folder.

use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use crate::folder::EntryName;
use crate::quantity::counted;
use crate::report::{ArrangementFigures, FiguresError, FileFigures, MAX_FIGURES_BYTES, SetFigures};
use crate::sound::{Sound, SoundError};

/// The file that tells of all others in a set's folder.
pub const FIGURES: &str = "figures.json";

/// The most arrangements of a set that is read; each keeps two files open.
pub const MOST_ARRANGEMENTS: usize = 100;

/// A set in its folder: its figures, and its files opened and found to fit together.
#[derive(Debug, Clone)]
pub struct StoredSet {
    folder: PathBuf,
    figures: SetFigures,
    takes: Vec<StoredTake>,
}

/// The two files of an arrangement.
#[derive(Debug, Clone)]
pub struct StoredTake {
    /// The arrangement's or throw's name.
    pub name: String,
    /// Its file at matched level.
    pub matched: Sound,
    /// Its file at its true level.
    pub as_is: Sound,
}

/// A set that cannot be read: where, and why.
#[derive(Debug, thiserror::Error)]
#[error("the set in `{folder}` cannot be used: {problem}")]
pub struct StoredError {
    folder: String,
    problem: StoredProblem,
}

impl StoredError {
    /// Returns why the set cannot be used.
    pub fn problem(&self) -> &StoredProblem {
        &self.problem
    }

    /// Returns what to do about it.
    pub fn hint(&self) -> &'static str {
        self.problem.hint()
    }
}

/// What is wrong with a set.
#[derive(Debug, thiserror::Error)]
pub enum StoredProblem {
    /// There is no such folder, or something else stands there.
    #[error("{0}")]
    NoFolder(&'static str),
    /// The folder has no figures, or they cannot be read.
    #[error("its `{FIGURES}` cannot be read: {0}")]
    NoFigures(io::Error),
    /// The figures are of no use.
    #[error("its `{FIGURES}` {0}")]
    Figures(#[from] FiguresError),
    /// Nothing was rendered.
    #[error("its `{FIGURES}` tells of no {0}")]
    Nothing(&'static str),
    /// There are too many arrangements.
    #[error("its `{FIGURES}` tells of {given} arrangements; at most {MOST_ARRANGEMENTS} are read")]
    TooMany {
        /// Their number.
        given: usize,
    },
    /// An arrangement has a name that is none, or that another has as well.
    #[error("its `{FIGURES}` has an arrangement called `{given}`, {what}")]
    Name {
        /// The name.
        given: String,
        /// What is wrong with it.
        what: &'static str,
    },
    /// A file's name leads out of the folder.
    #[error("`{file}` of `{arrangement}` does not lie in the set's folder")]
    Outside {
        /// The arrangement.
        arrangement: String,
        /// The file as named.
        file: String,
    },
    /// A file is missing, or is no sound.
    #[error("its sound file {0}")]
    Sound(#[from] SoundError),
    /// A file does not fit the others.
    #[error("its `{file}` has {given}, and `{other}` {wanted}")]
    Unlike {
        /// The file.
        file: String,
        /// What it has.
        given: String,
        /// What it is held against.
        other: String,
        /// What that has.
        wanted: String,
    },
}

impl StoredProblem {
    /// Returns what to do about it.
    pub fn hint(&self) -> &'static str {
        match self {
            Self::NoFolder(_) => "give the folder that `drywire hear` wrote, such as drywire-out",
            Self::NoFigures(cause) if cause.kind() == io::ErrorKind::NotFound => {
                "give the folder that `drywire hear` wrote, such as drywire-out"
            }
            Self::NoFigures(_) => "check the permissions of the folder and of the file",
            Self::Figures(e) => e.hint(),
            Self::Sound(e) if e.is_missing() => {
                "a file of the set is gone; render the set again with `drywire hear`"
            }
            Self::Nothing(_)
            | Self::TooMany { .. }
            | Self::Name { .. }
            | Self::Outside { .. }
            | Self::Sound(_)
            | Self::Unlike { .. } => {
                "the folder was changed after it was written; render the set again with `drywire hear`"
            }
        }
    }
}

impl StoredSet {
    /// Opens the set in `folder`: reads its figures, opens the files that they name, and holds them against each
    /// other. Samples are not read.
    ///
    /// # Errors
    /// [`StoredError`] where the figures are missing, broken or of another schema, where a file is missing, lies
    /// outside of the folder or is no sound, and where the files' rates, channels or lengths differ.
    pub fn open(folder: &Path) -> Result<Self, StoredError> {
        Self::read(folder).map_err(|problem| StoredError { folder: folder.display().to_string(), problem })
    }

    fn read(folder: &Path) -> Result<Self, StoredProblem> {
        let figures = SetFigures::from_json(&figures_text(folder)?)?;
        let (rate_hz, named) = named_files(&figures)?;
        let opened = |(a, [matched, as_is]): (&ArrangementFigures, [EntryName; 2])| {
            Ok(StoredTake {
                name: a.name.clone(),
                matched: open_within(folder, &a.name, &matched)?,
                as_is: open_within(folder, &a.name, &as_is)?,
            })
        };
        let takes: Vec<StoredTake> = named.into_iter().map(opened).collect::<Result<_, StoredProblem>>()?;
        check_alike(&figures, rate_hz, &takes)?;
        Ok(Self { folder: folder.to_owned(), figures, takes })
    }

    /// Returns the folder as it was given.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Returns the figures.
    pub fn figures(&self) -> &SetFigures {
        &self.figures
    }

    /// Returns the takes, at least one, in the order of the figures.
    pub fn takes(&self) -> &[StoredTake] {
        &self.takes
    }

    /// Returns the sample rate of every file in hertz.
    pub fn rate_hz(&self) -> u32 {
        self.takes[0].matched.rate_hz()
    }

    /// Returns the number of channels of every file.
    pub fn channels(&self) -> usize {
        self.takes[0].matched.channels()
    }

    /// Returns the number of frames of every file.
    pub fn frames(&self) -> u64 {
        self.takes[0].matched.frames()
    }

    /// Returns the place of the take called `name` among the takes.
    pub fn position(&self, name: &str) -> Option<usize> {
        self.takes.iter().position(|take| take.name == name)
    }
}

/// Returns the text of the figures in `folder`, cut off one byte beyond what is read.
fn figures_text(folder: &Path) -> Result<Vec<u8>, StoredProblem> {
    match folder.metadata() {
        Ok(there) if there.is_dir() => {}
        Ok(_) => return Err(StoredProblem::NoFolder("it is no folder")),
        Err(e) if e.kind() == io::ErrorKind::NotFound => {
            return Err(StoredProblem::NoFolder("there is no such folder"));
        }
        Err(e) => return Err(StoredProblem::NoFigures(e)),
    }
    let path = folder.join(FIGURES);
    // What is no file is not opened: a pipe would wait for a writer.
    if !path.metadata().map_err(StoredProblem::NoFigures)?.is_file() {
        return Err(StoredProblem::NoFigures(io::Error::other("it is no file")));
    }
    let mut text = Vec::new();
    let file = File::open(path).map_err(StoredProblem::NoFigures)?;
    file.take(MAX_FIGURES_BYTES + 1).read_to_end(&mut text).map_err(StoredProblem::NoFigures)?;
    Ok(text)
}

/// Returns the rate of the set and, for each arrangement, the names of its files.
#[expect(clippy::type_complexity, reason = "it is taken apart where it is made")]
fn named_files(
    figures: &SetFigures,
) -> Result<(u32, Vec<(&ArrangementFigures, [EntryName; 2])>), StoredProblem> {
    let source = figures.source.as_ref().ok_or(StoredProblem::Nothing("source, so nothing was rendered"))?;
    let given = figures.arrangements.len();
    match given {
        0 => return Err(StoredProblem::Nothing("arrangement")),
        1..=MOST_ARRANGEMENTS => {}
        _ => return Err(StoredProblem::TooMany { given }),
    }
    let mut named = Vec::with_capacity(given);
    for (i, a) in figures.arrangements.iter().enumerate() {
        let refused = |what| Err(StoredProblem::Name { given: a.name.clone(), what });
        if !(1..=100).contains(&a.name.len()) || a.name.contains(char::is_control) {
            return refused("which is no name of 1 to 100 letters");
        }
        if figures.arrangements[..i].iter().any(|other| other.name == a.name) {
            return refused("as another is");
        }
        named.push((a, [entry(a, a.matched.as_ref())?, entry(a, a.as_is.as_ref())?]));
    }
    Ok((source.rate_hz, named))
}

fn entry(a: &ArrangementFigures, file: Option<&FileFigures>) -> Result<EntryName, StoredProblem> {
    let file = file.ok_or(StoredProblem::Nothing("sound files of some arrangement"))?;
    EntryName::new(&file.file)
        .map_err(|e| StoredProblem::Outside { arrangement: a.name.clone(), file: e.given })
}

/// Opens a file of the set that really lies in its folder, wherever links lead.
fn open_within(folder: &Path, arrangement: &str, name: &EntryName) -> Result<Sound, StoredProblem> {
    let path = folder.join(name.as_str());
    let leads_out = match (folder.canonicalize(), path.canonicalize()) {
        (Ok(folder), Ok(path)) => !path.starts_with(folder),
        // What cannot be found is told by opening it.
        (Err(_), _) | (_, Err(_)) => false,
    };
    if leads_out {
        let (arrangement, file) = (arrangement.to_owned(), name.to_string());
        return Err(StoredProblem::Outside { arrangement, file });
    }
    Ok(Sound::open(&path)?)
}

fn check_alike(figures: &SetFigures, rate_hz: u32, takes: &[StoredTake]) -> Result<(), StoredProblem> {
    let names = figures.arrangements.iter().flat_map(|a| [&a.matched, &a.as_is]).flatten().map(|f| &f.file);
    let sounds: Vec<(&String, &Sound)> =
        names.zip(takes.iter().flat_map(|take| [&take.matched, &take.as_is])).collect();
    let (first_name, first) = sounds[0];
    for (name, sound) in &sounds {
        let unlike = |other: &str, given: String, wanted: String| {
            Err(StoredProblem::Unlike { file: (*name).clone(), given, other: other.to_owned(), wanted })
        };
        if sound.rate_hz() != rate_hz {
            return unlike(FIGURES, format!("{} Hz", sound.rate_hz()), format!("states {rate_hz} Hz"));
        }
        if sound.channels() != first.channels() {
            let told = |s: &Sound| counted(s.channels(), "channel");
            return unlike(first_name, told(sound), told(first));
        }
        if sound.frames() != first.frames() {
            let told = |s: &Sound| counted(s.frames(), "frame");
            return unlike(first_name, told(sound), told(first));
        }
    }
    Ok(())
}
