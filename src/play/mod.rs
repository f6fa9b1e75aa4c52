//! A set played: every take in memory, one cursor for all, and switches that are heard at once without a click.
//!
//! [`Takes`] are the samples of a set at the rate of the sound card. A [`Player`] fills one block after the other as
//! the sound card asks for them; it neither waits nor allocates. A [`Remote`] sends it [`Command`]s and sees where it
//! is. Neither knows of a sound card, so all of it is tested without one.
//!
//! Whatever jumps is cross-faded over [`FADE`]: another take, other levels, another trim, another place, the way back
//! to a loop's beginning, and silence. The fade is linear, since takes of one source are correlated and an equal-power
//! fade would swell; its weights add up to one, so it makes no step larger than the steps of the takes and a 480th of
//! the distance between them. No fade begins inside another: what is asked for meanwhile follows it.

mod player;
mod remote;
mod resample;
mod takes;

pub use player::{Cue, FADE, Player, Start};
pub use remote::{Command, FileLevels, Remote, View};
pub use takes::{MOST_SAMPLES, Takes, TakesError};

use crate::quantity::Db;

/// The trim at which playback begins unless it is set: low, for a resonant rise can surprise.
pub const USUAL_TRIM: Db = Db::new(-20.0);
/// The lowest trim.
pub const LOWEST_TRIM: Db = Db::new(-60.0);
/// The highest trim: nothing is ever played above the level of the files.
pub const HIGHEST_TRIM: Db = Db::new(0.0);

/// Returns the trim nearest to `wanted` within what is allowed.
pub fn allowed_trim(wanted: Db) -> Db {
    // A level that is no number is the lowest.
    let value = wanted.value().max(LOWEST_TRIM.value()).min(HIGHEST_TRIM.value());
    Db::new(value)
}
