//! A source heard through several voices at once, and the gains that make a set of them.

mod amplified;
mod forecast;
mod gains;
mod hum;
mod pass;
mod take;

pub use amplified::{Amplified, Amplifier};
pub use forecast::forecast;
pub use gains::{CEILING, Gains, MOST_GAIN, MatchBy, SILENT, Shortfall};
pub use hum::{Hum, Mains};
pub use pass::{Sink, measuring_pass, pass};
pub use take::{Channels, Configuration, Model, Take};

use crate::circuit::SolveError;
use crate::filter::KernelError;
use crate::measure::Unmeasurable;
use crate::sound::{SoundError, WriteError};

/// Why a source could not be rendered.
#[derive(Debug, thiserror::Error)]
pub enum RenderError {
    /// The source cannot be read.
    #[error(transparent)]
    Sound(#[from] SoundError),
    /// A voice's kernel cannot be made.
    #[error(transparent)]
    Kernel(#[from] KernelError<SolveError>),
    /// A voice's circuit has no solution.
    #[error(transparent)]
    Solve(#[from] SolveError),
    /// What was rendered cannot be measured.
    #[error(transparent)]
    Measure(#[from] Unmeasurable),
    /// The source has not the channels that are asked for.
    #[error("the source's channels are {given}, and {wanted}")]
    Channels {
        /// The source's channels.
        given: usize,
        /// What is wanted, in words.
        wanted: &'static str,
    },
    /// A voice without a name has no second-order model.
    #[error("`{name}` is no named arrangement, and the second-order model knows only those")]
    Unnamed {
        /// The voice's name.
        name: String,
    },
    /// What was rendered cannot be written.
    #[error(transparent)]
    Write(#[from] WriteError),
}
