//! A whole survey from one checked request: every circuit heard, told, drawn, put into its folder, and what is kept rendered.

use std::path::{Path, PathBuf};
use std::thread::available_parallelism;
use std::time::{Duration, Instant};

use super::part_file::PartFile;
use super::set::{ILLUSTRATIONS, TABLE};
use super::source::{hints_of, told};
use super::{JobError, MadeSet, SetProgress, SetRequest};
use crate::folder::{Contents, Existing, FolderError, OutputError, OutputFolder, Within};
use crate::guitar::{Guitar, UnknownPickup};
use crate::page::survey_page;
use crate::plot::{Map, PlotError, Theme, png, svgs};
use crate::pluck::Unplayable;
use crate::report::to_json;
use crate::response::{PositionError, Selection, Setting, Voice, VoiceError};
use crate::set::FIGURES;
use crate::survey::{
    Combination, DistinctCircuit, Heard, Neutral, Radii, Solving, Space, SpaceError, SurveyFigures,
    SurveyPart, survey_rows,
};
use crate::wiring::Arrangement;

/// The page to look through a survey.
pub const SURVEY_PAGE: &str = "survey.html";
/// The files of a survey, apart from the list.
const FILES: [&str; 4] = ["survey.csv", "survey.svg", "survey.png", SURVEY_PAGE];
/// The file that tells of them.
const LIST: &str = "survey.json";
/// The folder among the results in which the positions that are kept can be heard.
pub const HEARD: &str = "heard";
/// More positions than this make a page that nobody listens through.
pub const MOST_HEARD: usize = 24;
/// What is heard so far is kept at least this often.
const KEEP_EVERY: Duration = Duration::from_secs(1);
/// What a survey's files take is less than this for each combination.
const BYTES_EACH: u64 = 4096;

/// What is to be surveyed, not yet checked.
#[derive(Debug, Clone)]
pub struct SurveyRequest<'g> {
    /// The guitar.
    pub guitar: &'g Guitar,
    /// The name of one of its pickups, to be taken by itself; none: all of them.
    pub pickup: Option<String>,
    /// The arrangements that every two-coil pickup can have; none: the throws of its switch, or all.
    pub arrangements: Vec<Arrangement>,
    /// The position that levels are told against; none: how the guitar stands.
    pub baseline: Option<String>,
    /// How near is near.
    pub radii: Radii,
    /// Whether the positions that are kept are rendered as a set.
    pub is_heard: bool,
    /// The folder of the results.
    pub out: PathBuf,
    /// What to do where files stand at their names.
    pub existing: Existing,
    /// Files that are read, such as the guitar's, and must not be replaced.
    pub inputs: Vec<PathBuf>,
    /// How many threads may work.
    pub workers: usize,
}

/// Why a survey cannot be made.
#[derive(Debug, thiserror::Error)]
pub enum SurveyError {
    /// There is no such pickup.
    #[error(transparent)]
    Pickup(#[from] UnknownPickup),
    /// The combinations cannot be gone through.
    #[error(transparent)]
    Space(#[from] SpaceError),
    /// Pickups that are not joined cannot be rendered as one set.
    #[error("a set is of one pickup or of pickups that are joined, and this guitar's are not joined")]
    NotJoined,
    /// The baseline is no position of the guitar.
    #[error(transparent)]
    Position(#[from] PositionError),
    /// The baseline is none of the combinations.
    #[error("the baseline `{name}` is none of the combinations")]
    NoBaseline {
        /// The name as given.
        name: String,
        /// The name of one of them.
        one: String,
    },
    /// No chord can be plucked for the guitar.
    #[error("{}", told(faults))]
    Unplayable {
        /// Every reason.
        faults: Vec<Unplayable>,
    },
    /// A circuit has no solution.
    #[error(transparent)]
    Voice(#[from] VoiceError),
    /// The results have no place.
    #[error("`{}` is no folder that results can go into", out.display())]
    NoFolder {
        /// The folder as given.
        out: PathBuf,
    },
    /// Something else stands where an unfinished survey is kept.
    #[error("`{}` stands where an unfinished survey is kept: {why}", path.display())]
    NotAPart {
        /// The file.
        path: PathBuf,
        /// Why it is no part of a survey.
        why: String,
    },
    /// The files cannot be written.
    #[error(transparent)]
    Output(#[from] OutputError),
    /// The map cannot be drawn.
    #[error(transparent)]
    Plot(#[from] PlotError),
    /// The positions that are kept cannot be rendered.
    #[error(transparent)]
    Set(#[from] JobError),
}

impl SurveyError {
    /// Returns what to do about it; `elsewhere` says how another folder is named.
    pub fn hint(&self, elsewhere: &str) -> String {
        match self {
            Self::Pickup(unknown) => format!("name one of {}", unknown.known),
            Self::Space(SpaceError::TooMany { .. } | SpaceError::TooManyCircuits { .. }) => {
                "name fewer arrangements, such as series, parallel and split-a, or one pickup".to_owned()
            }
            Self::Space(SpaceError::NoArrangement { .. }) => {
                "name some that every two-coil pickup has".to_owned()
            }
            Self::Space(SpaceError::Voice(error)) | Self::Voice(error) => error.hint().to_owned(),
            Self::NotJoined => "name one pickup, or add a table headed [[selector]]".to_owned(),
            Self::Position(error) => error.hint(),
            Self::NoBaseline { one, .. } => format!("name one as the results do, such as {one}"),
            Self::Unplayable { faults } => hints_of(faults),
            Self::NoFolder { .. } => format!("choose another {elsewhere}"),
            Self::NotAPart { .. } => format!("move it away, or choose another folder {elsewhere}"),
            Self::Output(error) => error.hint(elsewhere),
            Self::Plot(_) => "ask for fewer positions".to_owned(),
            Self::Set(error) => error.hint(elsewhere),
        }
    }
}

impl From<FolderError> for SurveyError {
    fn from(error: FolderError) -> Self {
        Self::Output(error.into())
    }
}

impl<'g> SurveyRequest<'g> {
    /// Returns the request of a survey of all of `guitar` into the folder `out`.
    pub fn new(guitar: &'g Guitar, out: impl Into<PathBuf>) -> Self {
        Self {
            guitar,
            pickup: None,
            arrangements: Vec::new(),
            baseline: None,
            radii: Radii::default(),
            is_heard: false,
            out: out.into(),
            existing: Existing::default(),
            inputs: Vec::new(),
            workers: available_parallelism().map_or(1, usize::from),
        }
    }

    /// Checks the request and finds the circuits; none is solved.
    ///
    /// # Errors
    /// [`SurveyError`] where what is asked for is none of the guitar's, or is too much.
    pub fn check(self) -> Result<SurveyJob<'g>, SurveyError> {
        let pickup = match &self.pickup {
            Some(name) => Some(self.guitar.pickup(Some(name))?),
            None => None,
        };
        let space = Space::new(self.guitar, pickup, &self.arrangements)?;
        if self.is_heard && self.guitar.joined().is_empty() && space.pickups().len() > 1 {
            return Err(SurveyError::NotJoined);
        }
        let baseline = self.against(&space)?;
        let circuits = space.circuits()?;
        Ok(SurveyJob { request: self, space, baseline, circuits })
    }

    /// Returns the combination that levels are told against.
    fn against(&self, space: &Space<'g>) -> Result<Combination<'g>, SurveyError> {
        let first = space.combination(0);
        let named =
            |name: &str| (0..space.len()).map(|i| space.combination(i)).find(|c| c.voice.name() == name);
        match (&self.baseline, first.voice.is_of_a_guitar()) {
            (None, false) => Ok(first),
            (None, true) => {
                let voice = Voice::of_guitar("the guitar as it stands", Setting::standing(self.guitar));
                Ok(Combination { voice, ..first })
            }
            (Some(name), true) => {
                let voice = Voice::at_position(self.guitar, name)?;
                Ok(Combination { voice, ..first })
            }
            (Some(name), false) => named(name).ok_or_else(|| SurveyError::NoBaseline {
                name: name.clone(),
                one: first.voice.name().to_owned(),
            }),
        }
    }
}

/// A survey that can be made as it stands.
#[derive(Debug, Clone)]
pub struct SurveyJob<'g> {
    request: SurveyRequest<'g>,
    space: Space<'g>,
    baseline: Combination<'g>,
    circuits: Vec<DistinctCircuit<'g>>,
}

/// A survey in its folder.
#[derive(Debug, Clone)]
pub struct MadeSurvey {
    /// What was found, as the folder's `survey.json` has it.
    pub figures: SurveyFigures,
    /// The set of the positions that are kept.
    pub kept: KeptSet,
}

/// What became of the set of the positions that are kept.
#[derive(Debug, Clone)]
pub enum KeptSet {
    /// It was not asked for.
    NotAsked,
    /// Every combination is silent.
    Silent,
    /// More positions are kept than the [`MOST_HEARD`] that are rendered.
    TooMany {
        /// How many.
        given: usize,
    },
    /// It is in the folder [`HEARD`] among the results.
    Made(Box<MadeSet>),
}

/// How far a survey is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SurveyProgress<'p> {
    /// It goes on from where an earlier run was broken off.
    GoesOn {
        /// The file that was kept.
        part: &'p Path,
        /// The circuits that were heard.
        done: usize,
        /// The circuits there are.
        of: usize,
    },
    /// The file of another survey is there, and is replaced.
    Replaces {
        /// The file.
        part: &'p Path,
    },
    /// So many circuits are heard.
    Heard {
        /// How many.
        done: usize,
        /// The circuits there are.
        of: usize,
    },
    /// The set of what is kept is being rendered.
    Renders(SetProgress),
}

/// What is told of a survey's progress, from whichever thread.
pub type SurveyWatch<'w> = dyn Fn(SurveyProgress<'_>) + Sync + 'w;

impl SurveyJob<'_> {
    /// Makes the survey, going on from where an earlier run of the same one was broken off.
    ///
    /// # Errors
    /// [`SurveyError`] where a circuit has no solution or a file cannot be written.
    pub fn make(&self, watch: &SurveyWatch<'_>) -> Result<MadeSurvey, SurveyError> {
        let mut folder = self.begin()?;
        let neutral = Neutral::of(&self.space).map_err(|faults| SurveyError::Unplayable { faults })?;
        let reference = neutral.hear(&self.baseline)?;
        let part = PartFile::beside(&self.request.out, self.request.existing)?;
        let heard = self.hear(&neutral, &part, watch)?;
        let against = (self.baseline.voice.name(), &reference);
        let mut figures =
            SurveyFigures::new(&self.space, &self.circuits, &heard, against, self.request.radii);
        fill(&figures, &mut folder)?;
        figures.files = folder.listed();
        folder.commit(LIST, &to_json(&figures))?;
        part.forget();
        let kept = if self.request.is_heard { self.render(&figures, watch)? } else { KeptSet::NotAsked };
        Ok(MadeSurvey { figures, kept })
    }

    fn begin(&self) -> Result<OutputFolder, SurveyError> {
        let rendered = [FIGURES, TABLE].into_iter().chain(ILLUSTRATIONS).filter(|_| self.request.is_heard);
        let heard = |name: &str| format!("{HEARD}/{name}");
        let contents = Contents {
            names: &FILES.map(str::to_owned),
            list: LIST,
            // What an earlier survey rendered need not be what this one keeps.
            within: &Within { list: Some(heard(FIGURES)), names: rendered.map(heard).collect() },
            bytes: BYTES_EACH * self.space.len() as u64,
            inputs: &self.request.inputs,
            existing: self.request.existing,
        };
        Ok(OutputFolder::begin(&self.request.out, &contents)?)
    }

    /// Hears every circuit.
    fn hear(
        &self,
        neutral: &Neutral<'_>,
        file: &PartFile,
        watch: &SurveyWatch<'_>,
    ) -> Result<Vec<Heard>, SurveyError> {
        let of = self.circuits.len();
        let mut part = SurveyPart::begun(&self.space, &self.circuits);
        if let Some(earlier) = file.found()? {
            let done = earlier.heard.iter().flatten().count();
            watch(if part.take_up(earlier) {
                SurveyProgress::GoesOn { part: file.path(), done, of }
            } else {
                SurveyProgress::Replaces { part: file.path() }
            });
        }
        let survey = part.survey.clone();
        let (mut last, mut trouble) = (Instant::now(), None);
        let mut done = part.heard.iter().flatten().count();
        watch(SurveyProgress::Heard { done, of });
        let mut kept = |heard: &[Option<Heard>]| {
            done += 1;
            watch(SurveyProgress::Heard { done, of });
            if last.elapsed() >= KEEP_EVERY {
                let so_far = SurveyPart { survey: survey.clone(), heard: heard.to_vec() };
                trouble = file.keep(&so_far).err();
                last = Instant::now();
            }
            trouble.is_none()
        };
        let solving = Solving { workers: self.request.workers };
        let solved = solving.hear(neutral, &self.circuits, &mut part.heard, &mut kept);
        if let Some(trouble) = trouble {
            return Err(trouble.into());
        }
        solved?;
        Ok(part.heard.into_iter().flatten().collect())
    }

    /// Renders the positions that are kept as a set.
    fn render(&self, figures: &SurveyFigures, watch: &SurveyWatch<'_>) -> Result<KeptSet, SurveyError> {
        let called = |name: &String| self.circuits.iter().find(|c| c.first.voice.name() == name);
        let kept: Vec<&Combination<'_>> =
            figures.keep.positions.iter().filter_map(called).map(|circuit| &circuit.first).collect();
        let Some(first) = kept.first() else { return Ok(KeptSet::Silent) };
        if kept.len() > MOST_HEARD {
            return Ok(KeptSet::TooMany { given: kept.len() });
        }
        let SurveyRequest { guitar, out, existing, inputs, workers, .. } = &self.request;
        let voices: Vec<Voice> = kept.iter().map(|combination| combination.voice.clone()).collect();
        let selection = Selection::of_voices(guitar, first.scope, &voices, 0).map_err(JobError::from)?;
        let request = SetRequest {
            existing: *existing,
            inputs: inputs.clone(),
            workers: *workers,
            ..SetRequest::new(guitar, out.join(HEARD))
        };
        let job = request.check_with(selection)?;
        Ok(KeptSet::Made(Box::new(job.make(&|progress| watch(SurveyProgress::Renders(progress)))?)))
    }
}

fn fill(figures: &SurveyFigures, folder: &mut OutputFolder) -> Result<(), SurveyError> {
    folder.write("survey.csv", survey_rows(figures).as_bytes())?;
    let map = Map::new(figures);
    let [adaptive, light, dark] = svgs(&map, [Theme::Adaptive, Theme::Light, Theme::Dark]);
    folder.write("survey.svg", adaptive.as_bytes())?;
    folder.write(SURVEY_PAGE, survey_page(figures, [light, dark]).as_bytes())?;
    Ok(folder.write("survey.png", &png(&map, Theme::Light)?)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_guitar_does_not_have_is_refused_before_anything_is_heard() {
        let joined = Guitar::built_in("three-two-coil").unwrap();
        let single = Guitar::built_in("set-neck").unwrap();
        let out = Path::new("never-made");
        let request = SurveyRequest { pickup: Some("nek".to_owned()), ..SurveyRequest::new(&joined, out) };
        assert!(matches!(request.check(), Err(SurveyError::Pickup(_))));
        let baseline = Some("selector:9".to_owned());
        let request = SurveyRequest { baseline, ..SurveyRequest::new(&joined, out) };
        assert!(matches!(request.check(), Err(SurveyError::Position(_))));
        let request = SurveyRequest {
            pickup: Some(single.pickups()[0].name().to_string()),
            baseline: Some("nothing".to_owned()),
            ..SurveyRequest::new(&single, out)
        };
        let error = request.check().expect_err("a refusal");
        assert!(matches!(&error, SurveyError::NoBaseline { one, .. } if one == "series"), "{error}");
        assert_eq!(error.hint("elsewhere"), "name one as the results do, such as series");
        assert!(!out.exists());
    }

    #[test]
    fn a_survey_that_is_whole_leaves_no_part_and_tells_how_far_it_is() {
        let guitar = Guitar::built_in("set-neck").unwrap();
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path().join("survey");
        let arrangements = vec![Arrangement::Series, Arrangement::Parallel];
        let pickup = Some(guitar.pickups()[0].name().to_string());
        let request = SurveyRequest { pickup, arrangements, ..SurveyRequest::new(&guitar, &out) };
        let last = std::sync::Mutex::new(None);
        let made = request.check().unwrap().make(&|progress| match progress {
            SurveyProgress::Heard { done, of } => *last.lock().unwrap() = Some((done, of)),
            SurveyProgress::GoesOn { .. } | SurveyProgress::Replaces { .. } => panic!("nothing was there"),
            SurveyProgress::Renders(_) => {}
        });
        let made = made.unwrap();
        assert_eq!(*last.lock().unwrap(), Some((2, 2)));
        assert!(matches!(made.kept, KeptSet::NotAsked), "{:?}", made.kept);
        assert!(out.join(SURVEY_PAGE).is_file() && !out.join(HEARD).exists());
        assert!(!folder.path().join("survey.part").exists());
    }
}
