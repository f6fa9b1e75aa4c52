//! Positions of a whole guitar as voices: `selector:2`, `selector:2+neck=parallel+mode:1`, or `positions` for all throws
//! of the first selector.

use drywire::circuit::Strapping;
use drywire::guitar::{Guitar, Pickup, Selector};
use drywire::response::{Setting, Voice};
use drywire::wiring::{Arrangement, Soldered};

use super::{Failure, throws};

/// The word for every throw of the first selector.
const ALL: &str = "positions";

/// Returns whether a voice's name is one of the whole guitar.
pub(crate) fn asks(guitar: &Guitar, name: &str) -> bool {
    let of_a_selector = |part: &str| {
        let known = |name: &str| guitar.joined().selectors().iter().any(|s| s.name().as_str() == name);
        part.split_once(':').is_some_and(|(name, _)| known(name))
    };
    name == ALL || name.contains(['+', '=']) || of_a_selector(name)
}

/// Returns the voices that `name`, a position or all of them, asks for.
pub(crate) fn voices(guitar: &Guitar, name: &str) -> Result<Vec<Voice>, Failure> {
    if guitar.joined().is_empty() {
        return Err(Failure::input(
            format!("the file of {} does not say how its pickups are joined", guitar.name()),
            "add a table headed [[selector]], as in `drywire presets show bolt-on-three-single`",
        ));
    }
    if name != ALL {
        return Ok(vec![voice(guitar, name)?]);
    }
    let Some(first) = guitar.joined().selectors().first() else {
        return Err(Failure::input(
            format!("{} has no selector", guitar.name()),
            format!("name how its pickups are connected, such as {}=series", guitar.pickups()[0].name()),
        ));
    };
    let numbers = first.switch().throws().iter().map(|throw| format!("{}:{}", first.name(), throw.number()));
    numbers.map(|name| voice(guitar, &name)).collect()
}

fn voice(guitar: &Guitar, name: &str) -> Result<Voice, Failure> {
    let mut setting = standing(guitar);
    for part in name.split('+') {
        if let Some((pickup, arrangement)) = part.split_once('=') {
            let place = place_of(guitar, pickup)?;
            setting.pickups[place] = strapped(&guitar.pickups()[place], arrangement)?;
        } else if let Some((switch, throw)) = part.split_once(':') {
            turn(guitar, &mut setting, switch, throw)?;
        } else {
            return Err(Failure::input(
                format!("`{part}` is no part of a position"),
                "say selector:2, pickup=arrangement or switch:1, joined by +",
            ));
        }
    }
    Ok(Voice::of_guitar(name, setting))
}

/// Returns how the guitar stands by its file: each pickup as its switch's first throw or its arrangement has it.
fn standing(guitar: &Guitar) -> Setting {
    let strapping = |pickup: &Pickup| {
        let switch = guitar.switches().iter().find(|s| guitar.switched_by(s).name() == pickup.name());
        switch.map_or_else(|| Strapping::of(pickup.arrangement()), |switch| thrown(pickup, switch, 0))
    };
    Setting {
        pickups: guitar.pickups().iter().map(strapping).collect(),
        throws: guitar.joined().selectors().iter().map(Selector::stands).collect(),
    }
}

fn thrown(pickup: &Pickup, switch: &Soldered, throw: usize) -> Strapping {
    let connection = switch.plan(pickup.finish_is_plus()).throws()[throw];
    Strapping { connection, bypassed: false }
}

/// Sets the throw of a selector or of a switch on a pickup.
fn turn(guitar: &Guitar, setting: &mut Setting, name: &str, throw: &str) -> Result<(), Failure> {
    let selectors = guitar.joined().selectors();
    if let Some(place) = selectors.iter().position(|s| s.name().as_str() == name) {
        let selector = &selectors[place];
        setting.throws[place] = selector.throw_numbered(throw).ok_or_else(|| {
            let numbers: Vec<String> =
                selector.switch().throws().iter().map(|throw| throw.number().to_string()).collect();
            Failure::input(
                format!("selector `{name}` has no throw `{throw}`"),
                format!("it has the throws {}", numbers.join(", ")),
            )
        })?;
        return Ok(());
    }
    let switch = throws::named(guitar, name)?;
    let place = place_of(guitar, guitar.switched_by(switch).name().as_str())?;
    setting.pickups[place] = thrown(&guitar.pickups()[place], switch, throws::place(switch, throw)?);
    Ok(())
}

fn place_of(guitar: &Guitar, name: &str) -> Result<usize, Failure> {
    let pickup = guitar.pickup(Some(name)).map_err(|e| Failure::input(e.to_string(), ""))?;
    Ok(guitar.pickups().iter().position(|own| own.name() == pickup.name()).unwrap_or_default())
}

fn strapped(pickup: &Pickup, name: &str) -> Result<Strapping, Failure> {
    let known = pickup.arrangements();
    let names: Vec<&str> = known.iter().map(|a| a.name()).collect();
    match name.parse::<Arrangement>() {
        Ok(arrangement) if known.contains(&arrangement) => Ok(Strapping::of(arrangement)),
        Ok(_) | Err(_) => Err(Failure::input(
            format!("pickup `{}` can not be connected as `{name}`", pickup.name()),
            format!("it has {}", names.join(", ")),
        )),
    }
}
