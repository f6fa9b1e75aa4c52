//! How the library's errors are told on the command line: which option does what they ask for.

use drywire::balance::BalanceError;
use drywire::confirm::{ConfirmError, ForetoldError};
use drywire::document::OpenError;
use drywire::folder::{FolderError, Obstacle, OutputError};
use drywire::guitar::GuitarError;
use drywire::impedance::{SubjectError, TakeError};
use drywire::job::{
    JobError, Mistaken, PluckError, RecordedThroughError, SignalFileError, SourceError, SourcesError,
    SurveyError,
};
use drywire::pluck::Unplayable;
use drywire::quantity::counted;
use drywire::render::{Channels, RenderError};
use drywire::response::{PositionError, SelectionError, VoiceError};
use drywire::set::SetError;
use drywire::sound::{Problem, SoundError, WriteError};
use drywire::survey::SpaceError;

use super::Failure;
use super::typed::{is_unit, of_a_unit};

/// How `hear`, `survey` and `pluck` are told to write elsewhere.
pub(crate) const WITH_OUT: &str = "with --out";

/// Returns a folder's or file's error as the command's, which is told to write `elsewhere` as that says.
pub(crate) fn folder_failure(error: &FolderError, elsewhere: &str) -> Failure {
    // Only commands that have the option keep what others wrote.
    let replaced = match error.obstacle() {
        Obstacle::Others { .. } => ", or say --replace, and it is gone",
        _ => "",
    };
    Failure::input(error.to_string(), format!("{}{replaced}", error.hint(elsewhere)))
}

impl From<OpenError> for Failure {
    fn from(error: OpenError) -> Self {
        Self::input(error.to_string(), error.hint())
    }
}

impl From<GuitarError> for Failure {
    fn from(error: GuitarError) -> Self {
        match error {
            GuitarError::Refused(refusal) => Self::Document(refusal),
            GuitarError::Unknown { .. } | GuitarError::Open(_) => {
                Self::Input { message: error.to_string(), hint: error.hint() }
            }
        }
    }
}

impl From<VoiceError> for Failure {
    fn from(error: VoiceError) -> Self {
        let hint = match error {
            VoiceError::Solve(_) => format!("{}; `drywire figures --json` lists them", error.hint()),
            VoiceError::CoilCount { .. } | VoiceError::Scope { .. } | VoiceError::Build(_) => {
                error.hint().to_owned()
            }
        };
        Self::input(error.to_string(), hint)
    }
}

impl From<PositionError> for Failure {
    fn from(error: PositionError) -> Self {
        Self::input(error.to_string(), error.hint())
    }
}

impl From<SelectionError> for Failure {
    fn from(error: SelectionError) -> Self {
        let hint = match &error {
            SelectionError::Pickup(_) => {
                "built-in pickups can be named without --guitar; `drywire presets` lists them".to_owned()
            }
            SelectionError::WholeGuitar { position, pickup } => {
                let message = format!("`{position}` is of the whole guitar, and --pickup says {pickup}");
                return Self::input(message, "leave out --pickup");
            }
            SelectionError::OnAnotherPickup { on, .. } => {
                format!("leave out --pickup, or say --pickup {on}")
            }
            SelectionError::Voice(error) => return error.clone().into(),
            SelectionError::Unknown(_)
            | SelectionError::Position(_)
            | SelectionError::Twice { .. }
            | SelectionError::Several { .. }
            | SelectionError::NoBaseline { .. }
            | SelectionError::Nothing => error.hint(),
        };
        Self::input(error.to_string(), hint)
    }
}

impl From<BalanceError> for Failure {
    fn from(error: BalanceError) -> Self {
        match error {
            // Takes are compared as they are: nothing of them is repaired.
            BalanceError::Sound(error) if matches!(error.problem(), Problem::BadSample { .. }) => {
                Self::input(error.to_string(), "let a sound editor repair it, or play and record it again")
            }
            BalanceError::Sound(error) => error.into(),
            BalanceError::Voice(error) => error.into(),
            BalanceError::Silent { .. } | BalanceError::TooShort { .. } | BalanceError::NoBand => {
                Self::input(error.to_string(), error.hint())
            }
            BalanceError::OnePickup { .. } => Self::input(error.to_string(), error.hint()).about("--between"),
        }
    }
}

impl From<ConfirmError> for Failure {
    fn from(error: ConfirmError) -> Self {
        match error {
            // Takes are measured as they are: nothing of them is repaired.
            ConfirmError::Sound(error) if matches!(error.problem(), Problem::BadSample { .. }) => {
                Self::input(error.to_string(), "let a sound editor repair it, or play and record it again")
            }
            ConfirmError::Sound(error) => error.into(),
            ConfirmError::Selection(error) => error.into(),
            ConfirmError::Foretold(ForetoldError::Voice(error)) => error.into(),
            ConfirmError::Foretold(ForetoldError::Unplayable(_))
            | ConfirmError::Unmeasurable(_)
            | ConfirmError::TooLong { .. }
            | ConfirmError::OneVoice { .. }
            | ConfirmError::Blocks { .. }
            | ConfirmError::Chords { .. }
            | ConfirmError::NoFlips { .. }
            | ConfirmError::SameRecording { .. } => Self::input(error.to_string(), error.hint()),
        }
    }
}

impl From<SoundError> for Failure {
    fn from(error: SoundError) -> Self {
        if error.is_missing() && is_unit(error.name()) {
            // A value and its unit that a space cut apart.
            return Self::input(error.to_string(), of_a_unit(error.name(), None));
        }
        let how = if let Problem::BadSample { .. } = error.problem() { " with --repair" } else { "" };
        Self::input(error.to_string(), format!("{}{how}", error.hint()))
    }
}

impl From<SourceError> for Failure {
    fn from(error: SourceError) -> Self {
        let message = error.to_string();
        match error {
            SourceError::Sound(error) => error.into(),
            SourceError::Unplayable { faults } => unplayable(&faults),
            SourceError::Mistaken { given, is, error } => {
                if error.is_missing() && is_unit(&given) {
                    return error.into();
                }
                let hint = match is {
                    Mistaken::Guitar => {
                        format!("say --guitar {given}, and without a source one is plucked for it")
                    }
                    Mistaken::Pickup => {
                        format!("say --pickup {given}, and without a source one is plucked for it")
                    }
                    Mistaken::Arrangement => format!(
                        "arrangements are listed with commas and no spaces, as in --arrangements series,{given}"
                    ),
                    Mistaken::Nearly(name) => format!("did you mean `{name}`?"),
                };
                Self::input(message, hint)
            }
        }
    }
}

impl From<SourcesError> for Failure {
    fn from(error: SourcesError) -> Self {
        Self::input(error.to_string(), error.hint())
    }
}

/// Returns the faults of a recipe as the command's.
pub(crate) fn unplayable(faults: &[Unplayable]) -> Failure {
    let told: Vec<String> = faults.iter().map(|fault| format!("{fault}\nhint: {}", fault.hint())).collect();
    Failure::Input { message: told.join("\nerror: "), hint: None }
}

impl From<OutputError> for Failure {
    fn from(error: OutputError) -> Self {
        match error {
            OutputError::Folder(error) => folder_failure(&error, WITH_OUT),
            OutputError::Name(_) | OutputError::Input { .. } => {
                Self::input(error.to_string(), error.hint(WITH_OUT))
            }
        }
    }
}

impl From<RecordedThroughError> for Failure {
    fn from(error: RecordedThroughError) -> Self {
        match error {
            RecordedThroughError::Selection(error) => Self::from(error).about("--recorded-through"),
            RecordedThroughError::Recorded(_) => {
                Self::input(error.to_string(), error.hint()).about("--recorded-through")
            }
            RecordedThroughError::Pickup(_) => Self::input(error.to_string(), error.hint()),
        }
    }
}

/// What to do about a voice that the resonance alone does not know.
const UNNAMED: &str = "use --model circuit for a throw that no arrangement is like, and for positions";
/// What to do about what the resonance alone cannot do.
const CIRCUIT: &str = "use the default, --model circuit";

impl From<JobError> for Failure {
    fn from(error: JobError) -> Self {
        match &error {
            JobError::ImpulsesOfSecondOrder => Self::input(
                "--impulses writes the circuit's response, and --model second-order leaves it to a section",
                CIRCUIT,
            ),
            JobError::HumOfSecondOrder => Self::input(
                "--hum goes through the whole circuit, and --model second-order is its resonance alone",
                CIRCUIT,
            ),
            JobError::RecordedOfSecondOrder => Self::input(
                "--model second-order cannot take a recording back through an arrangement",
                CIRCUIT,
            ),
            JobError::RecordedWithoutTake { through } => Self::input(
                "--recorded-through says how a take was recorded, and no take is named",
                format!("name it, as in `drywire hear di.wav --recorded-through {through}`"),
            ),
            JobError::RecordedOfCoils => Self::input(
                error.to_string(),
                "leave out --recorded-through, or say --source-channels stereo",
            ),
            JobError::Unnamed(_) | JobError::Set(SetError::Render(RenderError::Unnamed { .. })) => {
                Self::input(error.to_string(), UNNAMED)
            }
            JobError::Channels { channels: Channels::Coils, .. } => Self::input(
                error.to_string(),
                "say --source-channels stereo to hear each channel alike; `drywire pluck --channels coils` makes a \
                 source by coils, and without a source one is plucked",
            ),
            JobError::Channels { channels: Channels::Stereo, coils, .. } => Self::input(
                error.to_string(),
                format!(
                    "mix it to one or two in a sound editor, or say --source-channels coils if it has one for each \
                     coil, here {}",
                    counted(*coils, "channel")
                ),
            ),
            JobError::Set(SetError::Render(RenderError::Write(WriteError::TooLong { .. }))) => Self::input(
                error.to_string(),
                "cut the source into shorter parts, or write fewer bits with --bits 16",
            ),
            JobError::Selection(_)
            | JobError::Recorded(_)
            | JobError::Source(_)
            | JobError::Voice(_)
            | JobError::Output(_)
            | JobError::Set(_)
            | JobError::Draws { .. }
            | JobError::ListeningLevel { .. }
            | JobError::HumLevel { .. }
            | JobError::Plot(_)
            | JobError::Page(_) => without_an_option(error),
        }
    }
}

/// Returns an error of a job as the command's that is told as the one that it comes from is, or as the library does.
fn without_an_option(error: JobError) -> Failure {
    match error {
        JobError::Selection(error) => error.into(),
        JobError::Recorded(error) => error.into(),
        JobError::Source(error) => error.into(),
        JobError::Voice(error) => error.into(),
        JobError::Output(error) => error.into(),
        JobError::Set(SetError::Render(RenderError::Sound(error))) => error.into(),
        other => Failure::input(other.to_string(), other.hint(WITH_OUT)),
    }
}

impl From<SurveyError> for Failure {
    fn from(error: SurveyError) -> Self {
        let hint = match error {
            SurveyError::Pickup(unknown) => return SelectionError::from(unknown).into(),
            SurveyError::Space(SpaceError::Voice(error)) | SurveyError::Voice(error) => return error.into(),
            SurveyError::Unplayable { faults } => return unplayable(&faults),
            SurveyError::Output(error) => return error.into(),
            SurveyError::Set(error) => return error.into(),
            SurveyError::Space(SpaceError::TooMany { .. } | SpaceError::TooManyCircuits { .. }) => {
                "name fewer with --arrangements, such as series,parallel,split-a, or one pickup with --pickup"
                    .to_owned()
            }
            SurveyError::NotJoined => "name one with --pickup, or add a table headed [[selector]]".to_owned(),
            SurveyError::NotAPart { .. } => {
                "move it away, choose another folder with --out, or say --replace, and it is gone".to_owned()
            }
            SurveyError::Space(SpaceError::NoArrangement { .. })
            | SurveyError::Position(_)
            | SurveyError::NoBaseline { .. }
            | SurveyError::NoFolder { .. }
            | SurveyError::Plot(_) => error.hint(WITH_OUT),
        };
        Self::input(error.to_string(), hint)
    }
}

impl From<PluckError> for Failure {
    fn from(error: PluckError) -> Self {
        match error {
            PluckError::Unplayable { faults } => unplayable(&faults),
            PluckError::File(error) => folder_failure(&error, WITH_OUT),
            PluckError::NotWave { .. } | PluckError::Input(_) | PluckError::Write { .. } => {
                Self::input(error.to_string(), error.hint(WITH_OUT))
            }
        }
    }
}

impl From<SignalFileError> for Failure {
    fn from(error: SignalFileError) -> Self {
        const ELSEWHERE: &str = "with --signal";
        match error {
            SignalFileError::File(error) => folder_failure(&error, ELSEWHERE),
            SignalFileError::Signal(_) | SignalFileError::NotWave { .. } | SignalFileError::Write { .. } => {
                Self::input(error.to_string(), error.hint(ELSEWHERE))
            }
        }
    }
}

impl From<TakeError> for Failure {
    fn from(error: TakeError) -> Self {
        match error {
            TakeError::Sound(error) => error.into(),
            TakeError::Rate { .. } | TakeError::TooLong { .. } => {
                Self::input(error.to_string(), error.hint())
            }
        }
    }
}

impl From<SubjectError> for Failure {
    fn from(error: SubjectError) -> Self {
        match error {
            SubjectError::Voice(error) => error.into(),
            SubjectError::State(_) => Self::input(error.to_string(), error.hint()).about("--state"),
            SubjectError::OneCoil { .. }
            | SubjectError::Buffer { .. }
            | SubjectError::NotHeard { .. }
            | SubjectError::Contradictory { .. }
            | SubjectError::NoCoilsOhms { .. }
            | SubjectError::Draft(_)
            | SubjectError::Refused(_) => Self::input(error.to_string(), error.hint()),
        }
    }
}
