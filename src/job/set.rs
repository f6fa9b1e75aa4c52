//! A whole set from one checked request: rendered, matched, measured, shown, and put into its folder.

use std::fs::File;
use std::path::{Path, PathBuf};
use std::thread::available_parallelism;

use super::illustrations::illustrate;
use super::neutral;
use super::recorded::Through;
use super::{JobError, RecordedRequest, SetSource, Source, figures_of, with_bands};
use crate::amp::Amplification;
use crate::bands::Bands;
use crate::folder::{Contents, Existing, FolderError, OutputFolder, Within};
use crate::guitar::Guitar;
use crate::quantity::{DbSpl, Seconds};
use crate::render::{Channels, Configuration, Hum, MatchBy, Model, RenderError};
use crate::report::{SetFigures, set_rows, to_json};
use crate::response::{Scope, Selection};
use crate::set::{FIGURES, Filled, LISTENING_LEVEL, LISTENING_LEVELS, SetError, SetSpec};
use crate::sound::{Depth, WriteError};

/// The page that plays a set.
pub const PAGE: &str = "listen.html";
/// The table of a set.
pub const TABLE: &str = "figures.csv";
/// The picture of a set, to any size.
pub const PICTURE: &str = "response.svg";
/// The same as a bitmap.
pub const BITMAP: &str = "response.png";
/// The files of a set that show it, and that it can do without.
pub(super) const ILLUSTRATIONS: [&str; 3] = [PICTURE, BITMAP, PAGE];

/// What a set is to be made of, not yet checked.
#[derive(Debug, Clone)]
pub struct SetRequest<'g> {
    /// The guitar.
    pub guitar: &'g Guitar,
    /// The name of one of its pickups; none: the one whose throws are named, or the first.
    pub pickup: Option<String>,
    /// Names of arrangements, throws or positions, or `all`, `throws`, `positions`; none: the usual ones.
    pub voices: Vec<String>,
    /// The name of the voice that the others are told against; none: `series`, else the first.
    pub baseline: Option<String>,
    /// A sound file or the name of a built-in source; none: an open chord plucked for the guitar.
    pub source: Option<PathBuf>,
    /// What the source's channels stand for; none: what they are known to, else sounds of their own.
    pub source_channels: Option<Channels>,
    /// Whether samples that are no numbers are taken as silence.
    pub repairs: bool,
    /// The voice that the source was recorded through; none: it is neutral.
    pub recorded: Option<RecordedRequest<'g>>,
    /// What the matched files are matched by.
    pub matched_by: MatchBy,
    /// What the voices are rendered by.
    pub model: Model,
    /// How samples are stored.
    pub depth: Depth,
    /// The amplifier that the files are heard through, if any.
    pub amplification: Option<Amplification>,
    /// The mains hum that is added, if any.
    pub hum: Option<Hum>,
    /// Whether the impulse responses are written as well.
    pub with_impulses: bool,
    /// How many guitars are drawn within the part tolerances, [`Bands::DRAWS`]; none: there are no bands.
    pub draws: Option<u32>,
    /// Whether the pictures, the page and the loudness in sones are wanted, which take longer than the sound of a short
    /// source.
    pub with_page: bool,
    /// Where the part begins that the page plays of a long source; none: where it is loudest.
    pub excerpt: Option<Seconds>,
    /// The sound pressure level at which the baseline's as-is file is taken to be heard, [`LISTENING_LEVELS`].
    pub listening_level: DbSpl,
    /// The folder of the set.
    pub out: PathBuf,
    /// What to do where files stand at the set's names.
    pub existing: Existing,
    /// Files beside the source that are read, such as the guitar's, and must not be replaced.
    pub inputs: Vec<PathBuf>,
    /// How many threads may work.
    pub workers: usize,
}

impl<'g> SetRequest<'g> {
    /// Returns the request of a set of the usual arrangements of `guitar`'s first pickup in the folder `out`, with a chord
    /// plucked for it.
    pub fn new(guitar: &'g Guitar, out: impl Into<PathBuf>) -> Self {
        Self {
            guitar,
            pickup: None,
            voices: Vec::new(),
            baseline: None,
            source: None,
            source_channels: None,
            repairs: false,
            recorded: None,
            matched_by: MatchBy::Loudness,
            model: Model::Circuit,
            depth: Depth::Pcm24,
            amplification: None,
            hum: None,
            with_impulses: false,
            draws: None,
            with_page: true,
            excerpt: None,
            listening_level: LISTENING_LEVEL,
            out: out.into(),
            existing: Existing::default(),
            inputs: Vec::new(),
            workers: available_parallelism().map_or(1, usize::from),
        }
    }

    /// Checks the request, and works out what is told before any sound, bands among it. No source is opened.
    ///
    /// # Errors
    /// [`JobError`] where what is asked for does not go together or is none of the guitar's.
    pub fn check(self) -> Result<SetJob<'g>, JobError> {
        self.check_alone()?;
        let selection =
            Selection::of_names(self.guitar, self.pickup.as_deref(), &self.voices, self.baseline.as_deref())?;
        self.job(selection)
    }

    /// Checks the request with voices that are selected already, in place of those that it names.
    ///
    /// # Errors
    /// [`JobError`] where what is asked for does not go together.
    pub fn check_with(self, selection: Selection<'g>) -> Result<SetJob<'g>, JobError> {
        self.check_alone()?;
        self.job(selection)
    }

    /// Refuses what does not go together whatever the voices are.
    fn check_alone(&self) -> Result<(), JobError> {
        match self.model {
            Model::SecondOrder if self.with_impulses => return Err(JobError::ImpulsesOfSecondOrder),
            Model::SecondOrder if self.hum.is_some() => return Err(JobError::HumOfSecondOrder),
            Model::SecondOrder | Model::Circuit => {}
        }
        if let Some(given) = self.draws.filter(|draws| !Bands::DRAWS.contains(draws)) {
            return Err(JobError::Draws { given });
        }
        if let Some(hum) = self.hum.filter(|hum| !Hum::LEVELS.contains(&hum.level())) {
            return Err(JobError::HumLevel { given: hum.level() });
        }
        if !LISTENING_LEVELS.contains(&self.listening_level) {
            return Err(JobError::ListeningLevel { given: self.listening_level });
        }
        Ok(())
    }

    fn job(self, selection: Selection<'g>) -> Result<SetJob<'g>, JobError> {
        if let Some(name) = self.unknown_to_the_model(&selection) {
            return Err(JobError::Unnamed(RenderError::Unnamed { name }));
        }
        let through = self.through(&selection)?;
        let mut figures = figures_of(&selection)?;
        figures.notes.extend(through.as_ref().and_then(|through| through.note.clone()));
        let bands = match self.draws {
            None => None,
            Some(draws) => {
                let neutral = Source::plucked(selection.guitar(), selection.scope())?.sound;
                Some(with_bands(&mut figures, &selection, draws, &neutral, self.workers)?)
            }
        };
        Ok(SetJob { request: self, selection, through, figures, bands })
    }

    /// Returns the name of a voice that the resonance alone does not know, where that is what renders.
    fn unknown_to_the_model(&self, selection: &Selection<'_>) -> Option<String> {
        let is_known = |name: Option<_>| matches!(selection.scope(), Scope::Pickup(_)) && name.is_some();
        let unknown = match self.model {
            Model::Circuit => None,
            Model::SecondOrder => {
                selection.responses().iter().find(|response| !is_known(response.voice().arrangement()))
            }
        };
        unknown.map(|response| response.voice().name().to_owned())
    }

    fn through(&self, selection: &Selection<'_>) -> Result<Option<Through>, JobError> {
        let Some(asked) = &self.recorded else { return Ok(None) };
        if self.source.is_none() {
            return Err(JobError::RecordedWithoutTake { through: asked.through.to_owned() });
        }
        if self.source_channels == Some(Channels::Coils) {
            return Err(JobError::RecordedOfCoils);
        }
        match self.model {
            Model::Circuit => {}
            Model::SecondOrder => return Err(JobError::RecordedOfSecondOrder),
        }
        Ok(Some(Through::asked(asked, selection.guitar(), selection.scope())?))
    }
}

/// A set that can be made as it stands.
#[derive(Debug, Clone)]
pub struct SetJob<'g> {
    request: SetRequest<'g>,
    selection: Selection<'g>,
    through: Option<Through>,
    figures: SetFigures,
    bands: Option<Bands>,
}

/// A set in its folder.
#[derive(Debug, Clone)]
pub struct MadeSet {
    /// What was measured, as the folder's `figures.json` has it.
    pub figures: SetFigures,
    /// What is odd about the source and what was done about it, which is also among the figures' notes.
    pub warnings: Vec<String>,
}

/// How far a set is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SetProgress {
    /// The frames that were read since it was told last.
    pub frames: u64,
    /// The frames that are to be read in all.
    pub of: u64,
}

/// What is told of a set's progress, from whichever thread.
pub type SetWatch<'w> = dyn Fn(SetProgress) + Sync + 'w;

impl SetJob<'_> {
    /// Makes the set of the request's source in the request's folder.
    ///
    /// # Errors
    /// [`JobError`] where the source is of no use or a file cannot be written; the folder is then as it was.
    pub fn make(&self, watch: &SetWatch<'_>) -> Result<MadeSet, JobError> {
        self.make_from(self.request.source.as_deref(), &self.request.out, watch)
    }

    /// Makes the set of another source in another folder.
    ///
    /// # Errors
    /// As for [`SetJob::make`].
    pub fn make_of(&self, source: &SetSource, watch: &SetWatch<'_>) -> Result<MadeSet, JobError> {
        self.make_from(source.source.as_deref(), &source.out, watch)
    }

    fn make_from(
        &self,
        source: Option<&Path>,
        out: &Path,
        watch: &SetWatch<'_>,
    ) -> Result<MadeSet, JobError> {
        let opened = self.opened(source)?;
        let spec = self.spec(&opened);
        let mut figures = self.figures.clone();
        if !opened.is_made && self.through.is_none() {
            figures.assumed.push(neutral::ASSUMED.to_owned());
        }
        let mut folder = self.begin(source, out, &spec)?;
        let filled = fill(&spec, &mut figures, &mut folder, watch)?;
        let mut warnings = filled.warnings.clone();
        let doubt = neutral::doubt(&opened, self.through.is_some())?;
        figures.notes.extend(doubt.clone());
        warnings.extend(doubt);
        if self.request.with_page {
            let bands = self.bands.as_ref();
            illustrate(&spec, &figures, &filled, bands, &mut folder, self.request.excerpt)?;
        }
        figures.files = folder.listed();
        folder.commit(FIGURES, &to_json(&figures))?;
        Ok(MadeSet { figures, warnings })
    }

    fn opened(&self, source: Option<&Path>) -> Result<Source, JobError> {
        let opened = match source {
            Some(given) => Source::open(given, self.request.source_channels, self.request.repairs)?,
            None => Source::plucked(self.selection.guitar(), self.selection.scope())?,
        };
        match opened.channels {
            Channels::Coils if self.through.is_some() => Err(JobError::RecordedOfCoils),
            Channels::Coils | Channels::Stereo => Ok(opened),
        }
    }

    fn spec<'s>(&'s self, source: &'s Source) -> SetSpec<'s> {
        SetSpec {
            configuration: Configuration {
                model: self.request.model,
                hum: self.request.hum,
                ..source.configuration(&self.selection, self.through.as_ref())
            },
            sound: &source.sound,
            responses: self.selection.responses(),
            baseline: self.selection.baseline(),
            by: self.request.matched_by,
            depth: self.request.depth,
            amplification: self.request.amplification,
            with_impulses: self.request.with_impulses,
            with_spectra: self.request.with_page,
            listening_level: self.request.listening_level,
            workers: self.request.workers,
        }
    }

    fn begin(&self, source: Option<&Path>, out: &Path, spec: &SetSpec<'_>) -> Result<OutputFolder, JobError> {
        let mut names = spec.file_names();
        names.push(TABLE.to_owned());
        names.extend(spec.impulse_names());
        if self.request.with_page {
            names.extend(ILLUSTRATIONS.map(str::to_owned));
        }
        let inputs: Vec<PathBuf> =
            source.map(Path::to_owned).into_iter().chain(self.request.inputs.iter().cloned()).collect();
        let contents = Contents {
            names: &names,
            list: FIGURES,
            within: &Within::default(),
            bytes: spec.bytes().map_err(|e| of_channels(spec, e.into()))?,
            inputs: &inputs,
            existing: self.request.existing,
        };
        Ok(OutputFolder::begin(out, &contents)?)
    }
}

/// Writes the set's sound files and its table.
fn fill(
    spec: &SetSpec<'_>,
    figures: &mut SetFigures,
    folder: &mut OutputFolder,
    watch: &SetWatch<'_>,
) -> Result<Filled<File>, JobError> {
    let of = spec.frames_to_read();
    let filled =
        spec.fill(figures, &mut |name| folder.open(name), &|frames| watch(SetProgress { frames, of }));
    let filled = filled.map_err(|error| match error {
        SetError::Render(RenderError::Write(WriteError::Io(cause))) => folder.failed(cause).into(),
        SetError::Open { name, cause } => match cause.downcast::<FolderError>() {
            Ok(refusal) => refusal.into(),
            Err(cause) => SetError::Open { name, cause }.into(),
        },
        other @ SetError::Render(_) => of_channels(spec, other),
    })?;
    for (name, digest) in spec.file_names().iter().zip(&filled.digests) {
        folder.note(name, *digest);
    }
    for (name, impulse) in spec.impulse_names().iter().zip(filled.impulses.iter().flat_map(|i| &i.files)) {
        folder.write(name, impulse)?;
    }
    folder.write(TABLE, set_rows(figures).as_bytes())?;
    Ok(filled)
}

/// Returns the error, with what is wanted of the source's channels where it is about them.
pub(super) fn of_channels(spec: &SetSpec<'_>, error: SetError) -> JobError {
    let Configuration { guitar, scope, channels, .. } = spec.configuration;
    match error {
        SetError::Render(RenderError::Channels { given, .. }) => JobError::Channels {
            source_name: spec.sound.file_name().to_owned(),
            given,
            channels,
            coils: scope.places(guitar).len(),
        },
        other @ (SetError::Render(_) | SetError::Open { .. }) => other.into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::RecordedThroughError;
    use crate::quantity::Dbfs;
    use crate::render::Mains;
    use crate::response::RecordedError;

    /// Returns why a request that is changed by `change` is refused.
    fn refused(change: impl FnOnce(&mut SetRequest<'_>)) -> JobError {
        let guitar = Guitar::built_in("set-neck").unwrap();
        let folder = tempfile::tempdir().unwrap();
        let mut request = SetRequest::new(&guitar, folder.path().join("set"));
        request.source = Some("no-such-take.wav".into());
        change(&mut request);
        let error = request.check().expect_err("a refusal");
        assert!(folder.path().read_dir().unwrap().next().is_none(), "{error}: something was written");
        let hint = error.hint("in another place");
        assert!(!hint.is_empty() && !format!("{error}{hint}").contains("--"), "{error}; {hint}");
        error
    }

    #[test]
    fn what_does_not_go_together_is_refused_before_a_source_is_opened() {
        let series = || Some(RecordedRequest { through: "series", guitar: None });
        let with = |model| move |request: &mut SetRequest<'_>| request.model = model;
        let second_order = with(Model::SecondOrder);
        assert!(matches!(
            refused(|r| {
                second_order(r);
                r.with_impulses = true;
            }),
            JobError::ImpulsesOfSecondOrder
        ));
        assert!(matches!(
            refused(|r| {
                second_order(r);
                r.hum = Some(Hum::new(Mains::Hz50, Hum::USUAL));
            }),
            JobError::HumOfSecondOrder
        ));
        assert!(matches!(
            refused(|r| {
                second_order(r);
                r.recorded = series();
            }),
            JobError::RecordedOfSecondOrder
        ));
        assert!(matches!(
            refused(|r| {
                r.source_channels = Some(Channels::Coils);
                r.recorded = series();
            }),
            JobError::RecordedOfCoils
        ));
        assert!(matches!(
            refused(|r| {
                r.source = None;
                r.recorded = series();
            }),
            JobError::RecordedWithoutTake { .. }
        ));
        let reversed = Some(RecordedRequest { through: "series-reversed", guitar: None });
        assert!(matches!(
            refused(|r| r.recorded = reversed),
            JobError::Recorded(RecordedThroughError::Recorded(RecordedError::OutOfPhase { .. }))
        ));
        assert!(matches!(refused(|r| r.voices = vec!["seris".to_owned()]), JobError::Selection(_)));
        for draws in [*Bands::DRAWS.start() - 1, *Bands::DRAWS.end() + 1] {
            assert!(
                matches!(refused(|r| r.draws = Some(draws)), JobError::Draws { given } if given == draws)
            );
        }
        for level in [39.9, 100.1, f64::NAN] {
            let level = DbSpl::new(level);
            assert!(matches!(refused(|r| r.listening_level = level), JobError::ListeningLevel { .. }));
        }
        for level in [-120.1, 0.1, f64::NAN] {
            let hum = Some(Hum::new(Mains::Hz60, Dbfs::new(level)));
            assert!(matches!(refused(|r| r.hum = hum), JobError::HumLevel { .. }));
        }
    }

    #[test]
    fn a_take_by_coils_was_not_recorded_through_an_arrangement_though_only_the_take_tells() {
        let guitar = Guitar::built_in("set-neck").unwrap();
        let folder = tempfile::tempdir().unwrap();
        let request = SetRequest {
            source: Some("open-chord-coils".into()),
            recorded: Some(RecordedRequest { through: "series", guitar: None }),
            ..SetRequest::new(&guitar, folder.path().join("set"))
        };
        let made = request.check().unwrap().make(&|_| ());
        assert!(matches!(made, Err(JobError::RecordedOfCoils)));
        assert!(folder.path().read_dir().unwrap().next().is_none());
    }

    #[test]
    fn what_cannot_be_written_leaves_the_folder_and_progress_tells_how_far_a_set_is() {
        let guitar = Guitar::built_in("set-neck").unwrap();
        let folder = tempfile::tempdir().unwrap();
        let own = folder.path().join(TABLE);
        std::fs::write(&own, "mine").unwrap();
        let request = SetRequest {
            voices: vec!["series".to_owned()],
            with_page: false,
            ..SetRequest::new(&guitar, folder.path())
        };
        let kept = request.clone().check().unwrap().make(&|_| ());
        assert!(matches!(kept, Err(JobError::Output(_))));
        assert_eq!(std::fs::read_to_string(&own).unwrap(), "mine");
        std::fs::remove_file(&own).unwrap();
        let read = std::sync::Mutex::new((0, 0));
        let made = request.check().unwrap().make(&|progress| {
            let mut read = read.lock().unwrap();
            *read = (read.0 + progress.frames, progress.of);
        });
        let (frames, of) = *read.lock().unwrap();
        assert!(made.unwrap().figures.files.len() == 3 && frames == of && of > 0, "{frames} of {of}");
    }
}
