//! Whole pieces of work from a checked request to files in their place: a set, a survey, a plucked source, a signal.
//!
//! A request is checked once, into a job that can be carried out as it stands. Errors say what is wrong and what to do;
//! they know no options.

mod amplified;
mod audition;
mod bands;
mod behind;
mod error;
mod figures;
mod illustrations;
mod measured;
mod neutral;
mod part_file;
mod pluck;
mod recorded;
mod set;
mod signal;
mod source;
mod sources;
mod survey;
mod wave;

pub use amplified::amplify;
pub use audition::{Audition, VoiceKernel};
pub use bands::with_bands;
pub use behind::BehindFigures;
pub use error::JobError;
pub use figures::{figures_of, foretell_drops};
pub use measured::peaks_before_and_after;
pub use neutral::{ASSUMED, THROUGH_A_PICKUP};
pub use pluck::{PluckChannels, PluckError, PluckJob, PluckRequest};
pub use recorded::{RecordedRequest, RecordedThroughError};
pub use set::{BITMAP, MadeSet, PAGE, PICTURE, SetJob, SetProgress, SetRequest, SetWatch, TABLE};
pub use signal::{SignalFileError, SignalRequest};
pub use source::{Mistaken, Source, SourceError};
pub use sources::{SetSource, SourcesError, SourcesOf};
pub use survey::{
    HEARD, KeptSet, MOST_HEARD, MadeSurvey, SURVEY_PAGE, SurveyError, SurveyJob, SurveyProgress,
    SurveyRequest, SurveyWatch,
};
