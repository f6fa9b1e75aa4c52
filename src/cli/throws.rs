//! Throws of a soldered switch as voices: `mode:1`, or `throws` for all.

use drywire::guitar::{Guitar, Pickup};
use drywire::response::{PositionError, Voice, switch_named, switches_on, throw_numbered};
use drywire::wiring::{Connection, Soldered};

use super::Failure;
use super::positions::position_failure;

/// The word for every throw of every switch on the pickup.
pub(crate) const ALL: &str = "throws";

/// Returns whether an arrangement's name asks for throws.
pub(crate) fn asks(name: &str) -> bool {
    name == ALL || name.contains(':')
}

/// Returns the pickup whose switch `name` is a throw of.
pub(crate) fn pickup<'g>(guitar: &'g Guitar, name: &str) -> Result<&'g Pickup, Failure> {
    let switch = match name.split_once(':') {
        Some((switch, _)) => named(guitar, switch)?,
        None => guitar.switches().first().ok_or_else(|| none(guitar))?,
    };
    Ok(guitar.switched_by(switch))
}

/// Returns the voices that `name`, a throw or all of them, asks for on `pickup`.
pub(crate) fn voices(guitar: &Guitar, pickup: &Pickup, name: &str) -> Result<Vec<Voice>, Failure> {
    let Some((switch, throw)) = name.split_once(':') else {
        let voices: Vec<Voice> =
            switches_on(guitar, pickup).flat_map(|switch| throws(pickup, switch)).collect();
        return if voices.is_empty() { Err(none(guitar)) } else { Ok(voices) };
    };
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
    Ok(vec![
        throws(pickup, switch).swap_remove(throw_numbered(switch, throw).map_err(|e| position_failure(&e))?),
    ])
}

/// Returns each throw's voice.
fn throws(pickup: &Pickup, switch: &Soldered) -> Vec<Voice> {
    let plan = switch.plan(pickup.finish_is_plus());
    let numbers = switch.switch().throws().iter().map(|throw| throw.number().to_string());
    let voice = |(number, connection): (String, Connection)| {
        let name = format!("{}:{number}", switch.name().value);
        Voice::wired(name, connection, connection.arrangement())
    };
    numbers.zip(plan.throws()).map(voice).collect()
}

/// Returns the switch of that name.
fn named<'g>(guitar: &'g Guitar, name: &str) -> Result<&'g Soldered, Failure> {
    switch_named(guitar, name).map_err(|e| position_failure(&e))
}

fn none(guitar: &Guitar) -> Failure {
    position_failure(&PositionError::NoSwitches { guitar: guitar.name().to_owned() })
}
