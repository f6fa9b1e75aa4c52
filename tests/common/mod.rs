//! What several promise tests need: reference circuits, whole programs run, files read by an independent reader.
#![allow(dead_code, unreachable_pub, reason = "each test binary uses its own part")]
#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

pub mod amplified;
pub mod browser;
pub mod cavities;
pub mod circuits;
pub mod decks;
pub mod devtools;
pub mod draws;
pub mod made;
pub mod neutral;
#[cfg(feature = "panel")]
pub mod panel;
pub mod program;
pub mod render;
pub mod stored;
pub mod strums;
pub mod takes;
