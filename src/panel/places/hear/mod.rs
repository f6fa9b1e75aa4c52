//! A take heard through every arrangement of a guitar while its values are changed.
//!
//! The page is the guitar's own with a player beside it. The player's script asks for the sound and for kernels, which come as
//! floats from the same engine that writes files, and for the figures that a set of the same sound has.

mod answers;
mod page;
mod sounds;
mod take;
mod write;

pub(super) use answers::{amplified, floats, in_words, kernel, levels, live, of_guitars, refused, sound};
pub(super) use page::{hear_views, take_of};
pub(crate) use sounds::KnownSounds;
pub(super) use take::{Called, keep_take, kept, remove_take, rename_take};
pub(super) use write::{write, write_set};
