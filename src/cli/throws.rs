//! Throws of soldered switches as voices: `mode:1`, `mode:1+phase:3` of two on one pickup, or `throws` for all.

use drywire::guitar::{Guitar, Pickup};
use drywire::response::{PositionError, Voice, switch_named, throw_numbered, thrown};
use drywire::wiring::{Connection, Soldered};

use super::Failure;
use super::positions::position_failure;

/// The word for every throw of every switch on the pickup.
pub(crate) const ALL: &str = "throws";

/// Returns whether an arrangement's name asks for throws.
pub(crate) fn asks(name: &str) -> bool {
    name == ALL || name.contains(':')
}

/// Returns whether the throws of the switches on the pickup called so, or else on that of the first switch, are positions
/// of the whole guitar: they are joined with other switches.
pub(crate) fn are_positions(guitar: &Guitar, pickup: Option<&str>) -> bool {
    let first = || guitar.switches().first().map(|switch| guitar.switched_by(switch).name().as_str());
    let name = pickup.or_else(first);
    let place = guitar.pickups().iter().position(|pickup| Some(pickup.name().as_str()) == name);
    place.is_some_and(|place| guitar.joined().linked_on(place).is_some())
}

/// Returns the pickup whose switch `name` is a throw of.
pub(crate) fn pickup<'g>(guitar: &'g Guitar, name: &str) -> Result<&'g Pickup, Failure> {
    let switch = match name.split_once(':') {
        Some((switch, _)) => named(guitar, switch)?,
        None => guitar.switches().first().ok_or_else(|| none(guitar))?,
    };
    Ok(guitar.switched_by(switch))
}

/// Returns the voices that `name`, a throw of each of several switches or of one, or all of them, asks for on `pickup`; a
/// switch that is not named stands in its first.
pub(crate) fn voices(guitar: &Guitar, pickup: &Pickup, name: &str) -> Result<Vec<Voice>, Failure> {
    let place = guitar.pickups().iter().position(|own| own.name() == pickup.name()).unwrap_or_default();
    let voice = |name: &str, connection: Connection| Voice::wired(name, connection, connection.arrangement());
    if name == ALL {
        let all = thrown(guitar, place);
        let voices = all.iter().map(|(name, connection)| voice(name, *connection)).collect::<Vec<Voice>>();
        return if voices.is_empty() { Err(none(guitar)) } else { Ok(voices) };
    }
    let mut throws = vec![0; guitar.switches().len()];
    for part in name.split('+') {
        let no_part = || position_failure(&PositionError::NoPart { part: part.to_owned() });
        let (switch, throw) = part.split_once(':').ok_or_else(no_part)?;
        let switch = named(guitar, switch)?;
        let on = guitar.switched_by(switch);
        if on.name() != pickup.name() {
            return Err(Failure::input(
                format!(
                    "switch `{}` is on pickup `{}`, and not on `{}`",
                    switch.name().value,
                    on.name(),
                    pickup.name()
                ),
                format!("leave out --pickup, or say --pickup {}", on.name()),
            ));
        }
        let own = guitar.switches().iter().position(|known| known.name() == switch.name());
        throws[own.unwrap_or_default()] = throw_numbered(switch, throw).map_err(|e| position_failure(&e))?;
    }
    let connection = guitar.switched(place, |switch| Some(throws[switch])).ok_or_else(|| none(guitar))?;
    Ok(vec![voice(name, connection)])
}

/// Returns the switch of that name.
fn named<'g>(guitar: &'g Guitar, name: &str) -> Result<&'g Soldered, Failure> {
    switch_named(guitar, name).map_err(|e| position_failure(&e))
}

fn none(guitar: &Guitar) -> Failure {
    position_failure(&PositionError::NoSwitches { guitar: guitar.name().to_owned() })
}
