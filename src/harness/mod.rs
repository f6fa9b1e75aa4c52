//! The whole control cavity: its parts, what must be joined, and whether the wires that are there are that circuit.
//!
//! # Source
//! Which lug of a pot is which, seen from behind: common practice, no source.

mod bench;
mod branches;
mod called;
mod change;
mod changes;
mod check;
mod checks;
mod coils;
mod differs;
mod fault;
mod field;
mod figures;
mod form;
mod hanging;
mod identity;
mod in_words;
mod interview;
mod judge;
mod layout;
mod legs;
mod loops;
mod mend;
mod metal;
mod meter;
mod missing;
mod network;
mod new_guitar;
mod notes;
mod parts;
mod plan;
mod reading;
mod save;
mod sheet;
mod throws;
mod tones;
mod tree;
mod union;
mod unseen;
mod volumes;
mod wanted;
mod wires;
mod wiring;

pub use bench::Harness;
pub use change::{Change, ChangeForm};
pub use checks::{AtMeter, AtMeterError, CavityCheck};
pub use fault::{Checked, FaultKind, WiringFault};
pub use form::{CheckForm, PlanForm};
pub use interview::WireInterview;
pub use mend::Mends;
pub use meter::{JudgedReading, Meter, MeterReport};
pub use new_guitar::GuitarInterview;
pub use parts::{HarnessError, Part, PartKind, Parts, Role, Terminal, TwoLegs};
pub use plan::{HarnessPlan, PlannedWire, WireKind};
pub use reading::{MeterReading, MeterReadingError, ReadWhere, Shown};
pub use save::{put_places, put_wires, stated};
pub use sheet::{PICTURE_STYLE, PartPlace, picture_by_hand_of, picture_of, sheet};
pub use throws::Throws;
pub use unseen::Unseen;
pub use wanted::Wanted;
pub use wires::{Wire, read_wires, refuse_strangers};
