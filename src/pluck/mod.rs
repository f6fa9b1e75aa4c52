//! Plucked strings as the coils see them: a source with a channel a coil, made without a guitar.
//!
//! A string is a sum of damped modes; each coil hears every mode by the place it sits at and the stretch of
//! string it senses. A [`Phrase`] says what is played, a [`Layout`] where the coils are, [`Settings`] how it is
//! played; a [`Recipe`] holds the three checked, and renders a [`PluckedTake`].
//!
//! ```
//! use drywire::guitar::Guitar;
//! use drywire::pluck::{CoilPlace, Layout, Phrase, Recipe, Settings};
//!
//! let guitar = Guitar::built_in("set-neck")?;
//! let layout = Layout::of(&guitar, guitar.pickup(Some("bridge")), CoilPlace::APERTURE).expect("within a guitar");
//! let phrase = Phrase::parse("riff", "E2:0.5 G2 A2~ 022100:2*0.6")?;
//! let take = Recipe::new(&phrase, layout, Settings::default()).expect("playable").render();
//! assert_eq!(take.coils().len(), 2);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod built_in;
mod check;
mod layout;
mod modes;
mod performance;
mod phrase;
mod pitch;
mod recipe;
mod strings;
mod take;

pub use built_in::{BuiltInSource, built_in_sources};
pub use check::Unplayable;
pub use layout::{CoilPlace, Layout, MAX_COILS};
pub use phrase::Phrase;
pub use pitch::{Pitch, UnknownNote};
pub use recipe::{MAX_SAMPLES, Recipe, Settings};
pub use strings::{FRETS, GuitarString, STANDARD};
pub use take::PluckedTake;
