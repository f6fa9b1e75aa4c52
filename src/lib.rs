//! A dry run for a rewire: what each coil arrangement of a guitar pickup will sound like on one guitar, how to
//! wire it, and what the meter must read afterwards.
//!
//! The modules stand in the order of the data's way; each uses only those before it.

#![cfg_attr(test, allow(clippy::float_cmp, reason = "tests compare with values that are exact"))]

mod vectors;
mod workers;

pub mod cautions;

pub mod quantity;

pub mod document;

pub mod digest;

pub mod markup;

pub mod wiring;

pub mod guitar;

pub mod leads;

pub mod pluck;

pub mod circuit;

pub mod response;

pub mod words;

pub mod jack;

pub mod lugs;

pub mod probe;

pub mod filter;

pub mod sound;

pub mod folder;

pub mod measure;

pub mod bands;

pub mod render;

pub mod report;

pub mod survey;

pub mod plot;

pub mod abx;

pub mod page;

pub mod set;

pub mod play;
