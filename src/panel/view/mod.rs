//! What the pages are made of.

mod card;
mod connection;
mod curve;
mod field;
mod frame;
mod hand;
mod how;
mod incoming;
mod probes;
mod section;
mod typed;

use drywire::page::PARTS_SCRIPT;

pub(crate) use card::card;
pub(crate) use connection::connection;
pub(crate) use curve::Curves;
pub(crate) use field::Field;
pub(crate) use frame::{Frame, GuitarPlace, Tab, notice, path_segment};
pub(crate) use hand::{how_by_hand, in_hand};
pub(crate) use incoming::incoming;
pub(crate) use probes::probes;
pub(crate) use section::{Moves, Sheet, sections};
pub(crate) use typed::{Asked, Doubted};

/// What the panel's style sheet has beside the shared parts.
pub(crate) const STYLE: &str = include_str!("panel.css");
/// The script of every page.
pub(crate) const SCRIPT: &str = include_str!("../script/panel.js");
/// The scripts of the places where one solders by hand, by name.
pub(crate) const HAND_SCRIPTS: [(&str, &str); 4] = [
    ("grip.js", include_str!("../script/grip.js")),
    ("hands.js", include_str!("../script/hands.js")),
    ("move.js", include_str!("../script/move.js")),
    ("zoom.js", include_str!("../script/zoom.js")),
];
/// The scripts of the places where one hears or records, by name; the last runs in the sound card's own thread.
pub(crate) const SOUND_SCRIPTS: [(&str, &str); 13] = [
    ("parts.js", PARTS_SCRIPT),
    ("hear.js", include_str!("../script/hear.js")),
    ("reels.js", include_str!("../script/reels.js")),
    ("asked.js", include_str!("../script/asked.js")),
    ("elements.js", include_str!("../script/elements.js")),
    ("incoming.js", include_str!("../script/incoming.js")),
    ("level.js", include_str!("../script/level.js")),
    ("recording.js", include_str!("../script/recording.js")),
    ("live.js", include_str!("../script/live.js")),
    ("measure.js", include_str!("../script/measure.js")),
    ("confirm.js", include_str!("../script/confirm.js")),
    ("strums.js", include_str!("../script/strums.js")),
    (
        "convolver.js",
        concat!(include_str!("../../page/script/transform.js"), include_str!("../script/convolver.js")),
    ),
];
