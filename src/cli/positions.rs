//! Positions of a whole guitar as voices: `selector:2`, `selector:2+neck=parallel+mode:1`, or `positions` for all throws
//! of the first selector. A throw of a switch that is joined with other switches is one too.

use drywire::guitar::Guitar;
use drywire::response::{PositionError, Voice};

use super::{Failure, throws};

/// The word for every throw of the first selector.
const ALL: &str = "positions";

/// Returns whether a voice's name is one of the whole guitar.
pub(crate) fn asks(guitar: &Guitar, name: &str) -> bool {
    let of_a_selector = |part: &str| {
        let joined = guitar.joined();
        let selectors = joined.selectors().iter().map(drywire::guitar::Selector::name);
        let linked = joined.linked().iter().map(|linked| &guitar.switches()[linked.switch()].name().value);
        let known = |name: &str| selectors.chain(linked).any(|own| own.as_str() == name);
        part.split_once(':').is_some_and(|(name, _)| known(name))
    };
    // Of pickups that are not joined, throws of several switches are of the one pickup that they are on.
    let of_several = name.contains('=') || name.contains('+') && !guitar.joined().is_empty();
    name == ALL || of_several || of_a_selector(name)
}

/// Returns the voices that `name`, a position or all of them, asks for.
pub(crate) fn voices(guitar: &Guitar, name: &str) -> Result<Vec<Voice>, Failure> {
    let voices = if name == ALL {
        Voice::at_every_position(guitar)
    } else if name == throws::ALL {
        Ok(Voice::at_every_linked_throw(guitar))
    } else {
        Voice::at_position(guitar, name).map(|voice| vec![voice])
    };
    voices.map_err(|e| position_failure(&e))
}

/// Returns a position's error as the command's.
pub(crate) fn position_failure(error: &PositionError) -> Failure {
    Failure::input(error.to_string(), error.hint())
}
