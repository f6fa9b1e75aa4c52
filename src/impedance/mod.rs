//! What a coil, or a whole guitar at its jack, is as an impedance: measured with a sound card and a resistor, and the coils'
//! values that follow from it.
//!
//! One [`Signal`] is played and recorded without stopping, through a series resistor, while an instrument's input has nothing, a
//! known resistor and then the guitar across it. A [`Take`] of it is read section by section; the ratios of the sections need no
//! gain, no input impedance and no cable. A [`Subject`] says what hung there; its circuit is fitted to what was read, with what the
//! meter tells beforehand. A [`Preview`] is what is seen of a recording while it comes in.

mod bands;
mod coil;
mod coupled;
mod few;
mod fit;
mod form;
mod found;
mod known;
mod locate;
mod measure;
mod preview;
mod readings;
mod save;
mod section;
mod signal;
mod subject;
mod table;
mod take;
mod timing;
mod told;
mod track;
mod verdict;

#[cfg(test)]
mod tests;

pub use bands::{FROM, Point, TO};
pub use form::MeasurementForm;
pub use found::{CoilFound, Found, Health, Measured, Misfit};
pub use known::{Known, KnownError};
pub use measure::Evidence;
pub use preview::{Mark, Preview};
pub use readings::{Reading, ReadingError};
pub use signal::{CONNECT, Device, Section, Signal, SignalError};
pub use subject::{Place, Subject, SubjectError, Which};
pub use table::curve;
pub use take::{Source, Take, TakeError};
pub use track::{TrackError, state_volume_track};
pub use verdict::{Refused, Verdict};
