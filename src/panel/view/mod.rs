//! What the pages are made of.

mod card;
mod curve;
mod field;
mod frame;
mod how;
mod section;
mod typed;

pub(crate) use card::card;
pub(crate) use curve::Curves;
pub(crate) use field::Field;
pub(crate) use frame::{Frame, Tab, notice, path_segment};
pub(crate) use section::{Moves, Sheet, sections};
pub(crate) use typed::Asked;

/// What the panel's style sheet has beside the shared parts.
pub(crate) const STYLE: &str = include_str!("panel.css");
/// The script of every page.
pub(crate) const SCRIPT: &str = include_str!("../script/panel.js");
