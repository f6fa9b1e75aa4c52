//! Which lead of a pickup is which: readings of a meter, of a needle while a coil is tapped with steel, and of a
//! compass, against every way in which the leads may be soldered.
//!
//! Every assignment of the leads to the coils' ends, with the faults that a pickup may have (a coil open, shorted,
//! touching the other or the shield, leads still joined, a lead cut or going nowhere), is a hypothesis; each
//! reading strikes out what it contradicts. One assignment left is certain, several are ambiguous and the next
//! reading is named, none is contradictory and the readings that clash are named. Nothing is guessed.

mod chart;
mod fit;
mod further;
mod health;
mod howto;
mod hypothesis;
mod interview;
mod known;
mod network;
mod next;
mod read;
mod reading;
mod readings;
mod report;
mod save;
mod strikes;
mod tell;
mod word;
mod words;
mod write;

pub use chart::{explain as explain_chart, of_pickup as chart_of_pickup};
pub use further::further;
pub use howto::{CAUTIONS, how_to};
pub use interview::{Interview, Reply};
pub use next::Step;
pub use reading::{Bobbin, Conductor, MeterError, OhmmeterReading, Reading, Swing, Unclear, pole_called};
pub use readings::{ChartNames, Entry, ReadingError, Readings};
pub use report::{CoilReport, Report, Verdict, identify, ways_left};
pub use save::SaveError;
pub use word::{Word, WordError};
pub use words::{Fields, Told};
