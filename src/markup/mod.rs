//! What every page is made of: text that stays text, a head with its policy, and the colours in which all of them are set.
//!
//! A page is one file, complete in itself: its content security policy allows exactly its own style sheet and script, by
//! their digests, and no request.

mod breadth;
mod direction;
mod head;
mod template;
mod text;

pub use breadth::{breadth, shortened};
pub use head::Head;
pub use template::{filled, list};
pub use text::{Escaped, base64, content, escaped, json_in_script};

/// The colours of every page as custom properties, in light and dark surroundings and on paper; those that pictures have as
/// well are the same in both.
pub const COLOURS: &str = include_str!("colours.css");

/// What every page that is worked in is set in beside its colours: its text, buttons, tables and notes.
pub const COMPONENTS: &str = include_str!("components.css");
