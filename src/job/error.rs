//! Why a set cannot be made.

use super::{RecordedThroughError, SourceError};
use crate::bands::Bands;
use crate::circuit::SolveError;
use crate::folder::{FolderError, OutputError};
use crate::page::PageError;
use crate::plot::PlotError;
use crate::quantity::{DbSpl, Dbfs, counted};
use crate::render::{Channels, Hum, RenderError};
use crate::response::{SelectionError, VoiceError};
use crate::set::{LISTENING_LEVEL, LISTENING_LEVELS, SetError};
use crate::sound::{SoundError, WriteError};

/// Why a set cannot be made.
#[derive(Debug, thiserror::Error)]
pub enum JobError {
    /// The voices are not those of the guitar.
    #[error(transparent)]
    Selection(#[from] SelectionError),
    /// Impulse responses are asked for of the resonance alone.
    #[error("impulse responses are the circuit's, and the second-order model leaves it to a section")]
    ImpulsesOfSecondOrder,
    /// Hum is asked for through the resonance alone.
    #[error("hum goes through the whole circuit, and the second-order model is its resonance alone")]
    HumOfSecondOrder,
    /// Fewer or more guitars are to be drawn than make sense.
    #[error("bands of {given} draws; allowed are {} to {}", Bands::DRAWS.start(), Bands::DRAWS.end())]
    Draws {
        /// How many.
        given: u32,
    },
    /// The listening level is none that loudness is told at.
    #[error(
        "a listening level of {}; allowed are {} to {}",
        given, LISTENING_LEVELS.start(), LISTENING_LEVELS.end()
    )]
    ListeningLevel {
        /// The level.
        given: DbSpl,
    },
    /// The hum is stronger or weaker than makes sense.
    #[error("hum of {}; allowed are {} to {}", given, Hum::LEVELS.start(), Hum::LEVELS.end())]
    HumLevel {
        /// Its level.
        given: Dbfs,
    },
    /// A recording is to be taken back by the resonance alone.
    #[error("the second-order model cannot take a recording back through an arrangement")]
    RecordedOfSecondOrder,
    /// The resonance alone is asked for of a voice that it does not know.
    #[error(transparent)]
    Unnamed(RenderError),
    /// It is said how a take was recorded, and there is none.
    #[error("it is said how a take was recorded, through {through}, and no take is named")]
    RecordedWithoutTake {
        /// What it is said to be recorded through.
        through: String,
    },
    /// A source by coils is said to be recorded through an arrangement.
    #[error("a source with a channel for each coil was not recorded through an arrangement")]
    RecordedOfCoils,
    /// The voice that a take was recorded through is of no use.
    #[error(transparent)]
    Recorded(#[from] RecordedThroughError),
    /// There is no source.
    #[error(transparent)]
    Source(#[from] SourceError),
    /// The source has not the channels that are wanted of it.
    #[error("`{source_name}` has {}, and {}", counted(*given, "channel"), wanted(*channels, *coils))]
    Channels {
        /// The source's name.
        source_name: String,
        /// Its channels.
        given: usize,
        /// What they are to stand for.
        channels: Channels,
        /// The coils of what is heard.
        coils: usize,
    },
    /// The set cannot be rendered.
    #[error(transparent)]
    Set(#[from] SetError),
    /// A voice has no response.
    #[error(transparent)]
    Voice(#[from] VoiceError),
    /// The files cannot be written.
    #[error(transparent)]
    Output(#[from] OutputError),
    /// The picture cannot be drawn.
    #[error(transparent)]
    Plot(#[from] PlotError),
    /// The page cannot be made.
    #[error(transparent)]
    Page(#[from] PageError),
}

impl JobError {
    /// Returns what to do about it; `elsewhere` says how another folder is named.
    pub fn hint(&self, elsewhere: &str) -> String {
        let told = match self {
            Self::Selection(error) => return error.hint(),
            Self::ImpulsesOfSecondOrder | Self::HumOfSecondOrder | Self::RecordedOfSecondOrder => {
                "use the whole circuit"
            }
            Self::Unnamed(_) | Self::Set(SetError::Render(RenderError::Unnamed { .. })) => {
                "use the whole circuit for a throw that no arrangement is like, and for positions"
            }
            Self::Draws { .. } => return format!("{} are usual", Bands::USUAL_DRAWS),
            Self::ListeningLevel { .. } => return format!("{LISTENING_LEVEL} is usual"),
            Self::HumLevel { .. } => return format!("{} is usual", Hum::USUAL),
            Self::RecordedWithoutTake { .. } => "name the take",
            Self::RecordedOfCoils => {
                "hold it for neutral, or take each of its channels for a sound of its own"
            }
            Self::Recorded(error) => return error.hint(),
            Self::Source(error) => return error.hint(),
            Self::Channels { channels: Channels::Coils, .. } => {
                "take each channel for a sound of its own, or pluck a source by coils"
            }
            Self::Channels { channels: Channels::Stereo, coils, .. } => {
                return format!(
                    "mix it to one or two in a sound editor, or take it for a source by coils if it has one for each \
                     coil, here {}",
                    counted(*coils, "channel")
                );
            }
            Self::Set(SetError::Render(RenderError::Sound(error))) => error.hint(),
            Self::Set(SetError::Render(RenderError::Write(WriteError::TooLong { .. }))) => {
                "cut the source into shorter parts, or write fewer bits"
            }
            Self::Set(SetError::Render(RenderError::Write(error))) => error.hint(),
            Self::Set(SetError::Render(RenderError::Channels { .. })) => {
                "give a source with a channel for each coil that is heard, or of one or two that are heard alike"
            }
            Self::Set(SetError::Render(
                RenderError::Kernel(_) | RenderError::Solve(_) | RenderError::Measure(_),
            )) => "some value of the guitar's file is extreme; `drywire figures` lists them",
            Self::Set(SetError::Open { .. }) => {
                return format!(
                    "check the folder's permissions and the free space, or choose another {elsewhere}"
                );
            }
            Self::Voice(error) => error.hint(),
            Self::Output(error) => return error.hint(elsewhere),
            Self::Plot(_) => "leave some arrangements out",
            Self::Page(_) => "leave out the arrangement that it names",
        };
        told.to_owned()
    }
}

fn wanted(channels: Channels, coils: usize) -> String {
    match channels {
        Channels::Coils => format!(
            "a source by coils has one for each coil that is heard, here {}",
            counted(coils, "channel")
        ),
        Channels::Stereo => "one or two are heard alike".to_owned(),
    }
}

impl From<SolveError> for JobError {
    fn from(error: SolveError) -> Self {
        Self::Voice(error.into())
    }
}

impl From<SoundError> for JobError {
    fn from(error: SoundError) -> Self {
        Self::Source(error.into())
    }
}

impl From<FolderError> for JobError {
    fn from(error: FolderError) -> Self {
        Self::Output(error.into())
    }
}
