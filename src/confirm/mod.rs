//! Whether a guitar that was rewired sounds as it was foretold, told from recordings of it.
//!
//! Nobody plays the same twice. What a person's strums differ by within a block is the person's; what is left between two voices is
//! set against what the guitar's file foretells of them, both with their bands. [`Session`] is what is asked of a guitar, a [`Take`]
//! a recording read into strums, a [`Confirmation`] the answer.
//!
//! What two takes tell is the ratio of two voices, and nothing that both have: a coil whose leads are crossed in every throw is not
//! seen, and every verdict says so.

mod answer;
mod chi_squared;
mod flips;
mod foretold;
mod notes;
mod onsets;
mod playing;
mod session;
mod steps;
mod strum;
mod take;
mod verdict;
mod weigh;
mod words;

pub use answer::{BandAnswer, Confirmation, ConsistentWith, DifferenceAnswer, KeptConfirmation, TakeAnswer};
pub use flips::FlipsHeard;
pub use foretold::ForetoldError;
pub use playing::{Block, Fault};
pub use session::{ConfirmError, Forecast, Session};
pub use strum::{BANDS, Strum, centre};
pub use take::Take;
pub use verdict::Verdict;
