//! Physical quantities and levels as types, their notation read and written.
//!
//! A unit is a type and a difference between two levels is another, so that ohms are never added to farads
//! nor one loudness to another. Inside a single formula the bare `f64` is taken out with `value()`.

mod doubt;
mod level;
mod notation;
mod show;
mod unit;

pub use doubt::{Doubt, doubt};
pub use level::{Db, DbSpl, DbTp, Dbfs, Dbv, Lufs, Sones};
pub use notation::{NotationError, parse_decibels, parse_plain, parse_quantity};
pub(crate) use show::listed;
pub use show::{brief, counted, engineering, signed};
pub use unit::{Farads, Henries, Hertz, Metres, Ohms, Quantity, Seconds, Volts};
