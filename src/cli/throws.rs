//! Throws of a soldered switch as voices: `mode:1`, or `throws` for all.

use drywire::guitar::{Guitar, Pickup};
use drywire::response::Voice;
use drywire::wiring::{Connection, Soldered};

use super::Failure;

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
        let own = guitar.switches().iter().filter(|s| guitar.switched_by(s).name() == pickup.name());
        let voices: Vec<Voice> = own.flat_map(|s| throws(pickup, s)).collect();
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
    Ok(vec![throws(pickup, switch).swap_remove(place(switch, throw)?)])
}

/// Returns the place of the switch's throw with this number.
pub(crate) fn place(switch: &Soldered, throw: &str) -> Result<usize, Failure> {
    let numbers: Vec<String> =
        switch.switch().throws().iter().map(|throw| throw.number().to_string()).collect();
    numbers.iter().position(|number| number == throw).ok_or_else(|| {
        Failure::input(
            format!("switch `{}` has no throw `{throw}`", switch.name().value),
            format!("it has the throws {}", numbers.join(", ")),
        )
    })
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
pub(crate) fn named<'g>(guitar: &'g Guitar, name: &str) -> Result<&'g Soldered, Failure> {
    guitar.switches().iter().find(|s| s.name().value.as_str() == name).ok_or_else(|| {
        let known: Vec<&str> = guitar.switches().iter().map(|s| s.name().value.as_str()).collect();
        if known.is_empty() {
            return none(guitar);
        }
        Failure::input(format!("the guitar has no switch `{name}`"), format!("it has {}", known.join(", ")))
    })
}

fn none(guitar: &Guitar) -> Failure {
    Failure::input(
        format!("no switch is soldered in on {}", guitar.name()),
        "add a table headed [[switch]] to the guitar's file; `drywire lugs` finds its joints",
    )
}
