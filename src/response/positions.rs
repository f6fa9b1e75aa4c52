//! Positions of a whole guitar by name: `selector:2`, or `selector:2+neck=parallel+mode:1`, where what is not named
//! stands as the guitar's file has it.

use super::{Setting, Voice};
use crate::circuit::{Solder, Spot, Strapping};
use crate::document::{Name, nearest};
use crate::guitar::{Guitar, Linked, Pickup, Selector, UnknownPickup};
use crate::wiring::{Arrangement, Connection, Soldered, Throw};

/// A position that a guitar does not have.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PositionError {
    /// The guitar's file does not say how its pickups are joined.
    #[error("the file of {guitar} does not say how its pickups are joined")]
    NotJoined {
        /// The guitar's name.
        guitar: String,
    },
    /// All throws of the first selector are asked for, and there is none.
    #[error("{guitar} has no selector")]
    NoSelector {
        /// The guitar's name.
        guitar: String,
        /// One of its pickups.
        pickup: String,
    },
    /// A part of the name is neither a throw nor a pickup's arrangement.
    #[error("`{part}` is no part of a position")]
    NoPart {
        /// The part as given.
        part: String,
    },
    /// A selector or a switch has no such throw.
    #[error("{what} `{name}` has no throw `{throw}`")]
    NoThrow {
        /// `selector` or `switch`.
        what: &'static str,
        /// Its name.
        name: String,
        /// The throw as given.
        throw: String,
        /// The throws there are.
        known: String,
    },
    /// There is no selector or switch of that name, but others.
    #[error("the guitar has no selector or switch `{name}`")]
    NoSwitch {
        /// The name as given.
        name: String,
        /// The selectors and switches there are.
        known: String,
        /// The one whose name is nearly the same.
        near: Option<String>,
    },
    /// No switch at all is soldered in.
    #[error("no switch is soldered in on {guitar}")]
    NoSwitches {
        /// The guitar's name.
        guitar: String,
    },
    /// The pickup's coils are joined by a switch that is joined with others.
    #[error("`{part}` leaves out a switch that is joined with others")]
    Linked {
        /// The part as given.
        part: String,
        /// A throw of the switch.
        switch: String,
    },
    /// There is no such pickup.
    #[error(transparent)]
    NoPickup(#[from] UnknownPickup),
    /// The pickup has no such arrangement.
    #[error("pickup `{pickup}` can not be connected as `{arrangement}`")]
    NoArrangement {
        /// The pickup's name.
        pickup: String,
        /// The arrangement as given.
        arrangement: String,
        /// The arrangements there are.
        known: String,
    },
}

impl PositionError {
    /// Returns what to do about it.
    pub fn hint(&self) -> String {
        match self {
            Self::NotJoined { .. } => {
                "add a table headed [[selector]], as in `drywire presets show bolt-on-three-single`"
                    .to_owned()
            }
            Self::NoSelector { pickup, .. } => {
                format!("name how its pickups are connected, such as {pickup}=series")
            }
            Self::NoPart { .. } => "say selector:2, pickup=arrangement or switch:1, joined by +".to_owned(),
            Self::NoThrow { known, .. } => format!("it has the throws {known}"),
            Self::NoSwitch { near: Some(near), .. } => format!("did you mean `{near}`?"),
            Self::NoSwitch { known, .. } | Self::NoArrangement { known, .. } => format!("it has {known}"),
            Self::NoSwitches { .. } => {
                "add a table headed [[switch]] to the guitar's file; `drywire lugs` finds its joints"
                    .to_owned()
            }
            Self::Linked { switch, .. } => format!("say where that stands, as in {switch}"),
            Self::NoPickup(unknown) => format!("say one of {}", unknown.known),
        }
    }
}

impl Setting {
    /// Returns how the guitar stands by its file: each pickup as its switches' first throws or its arrangement has it.
    pub fn standing(guitar: &Guitar) -> Self {
        let switches = vec![0; guitar.switches().len()];
        Self {
            pickups: (0..guitar.pickups().len()).map(|pickup| soldered(guitar, pickup, &switches)).collect(),
            throws: guitar.joined().selectors().iter().map(Selector::stands).collect(),
            switches,
        }
    }

    /// Returns what joins the terminals of the pickup at this place. Where its switches are joined with others, what leads
    /// out counts as its hot conductor, and ground as its ground.
    pub fn connection(&self, guitar: &Guitar, pickup: usize) -> Connection {
        if guitar.joined().linked_on(pickup).is_none() {
            return self.pickups[pickup].connection;
        }
        let throws = guitar.levers().into_iter().zip(self.throws.iter().chain(&self.switches));
        let contacts = throws.flat_map(|(lever, throw)| {
            let contacts = lever.table(guitar).throws()[*throw].contacts().iter();
            contacts.map(move |pair| pair.map(|lug| Spot::Lug(lever, lug))).collect::<Vec<_>>()
        });
        Solder::of(guitar).nets(None, &contacts.collect::<Vec<_>>()).of_pickup(pickup)
    }
}

/// Returns how the pickup at this place is strapped by its `switches`, which stand in these throws, or as its arrangement
/// has it. One whose switches are joined with others is not strapped by itself: its terminals are points of the guitar.
fn soldered(guitar: &Guitar, pickup: usize, switches: &[usize]) -> Strapping {
    if guitar.joined().linked_on(pickup).is_some() {
        return Strapping { connection: Connection::joining([]), bypassed: false };
    }
    match guitar.switched(pickup, |switch| Some(switches[switch])) {
        None => Strapping::of(guitar.pickups()[pickup].arrangement()),
        Some(connection) => Strapping { connection, bypassed: false },
    }
}

impl Voice {
    /// Returns the voice of `guitar` in the position called `name`.
    ///
    /// # Errors
    /// [`PositionError`] where the guitar does not have it.
    pub fn at_position(guitar: &Guitar, name: &str) -> Result<Self, PositionError> {
        if guitar.joined().is_empty() {
            return Err(PositionError::NotJoined { guitar: guitar.name().to_owned() });
        }
        let mut setting = Setting::standing(guitar);
        for part in name.split('+') {
            if let Some((pickup, arrangement)) = part.split_once('=') {
                let place = place_of(guitar, pickup)?;
                if let Some(linked) = guitar.joined().linked_on(place) {
                    return Err(PositionError::Linked {
                        part: part.to_owned(),
                        switch: switched(&guitar.switches()[linked.switch()], 0),
                    });
                }
                setting.pickups[place] = strapped(&guitar.pickups()[place], arrangement)?;
            } else if let Some((switch, throw)) = part.split_once(':') {
                turn(guitar, &mut setting, switch, throw)?;
            } else {
                return Err(PositionError::NoPart { part: part.to_owned() });
            }
        }
        Ok(Self::of_guitar(name, setting))
    }

    /// Returns the voices of every throw of the guitar's first selector.
    ///
    /// # Errors
    /// [`PositionError`] where it has none.
    pub fn at_every_position(guitar: &Guitar) -> Result<Vec<Self>, PositionError> {
        let Some(first) = guitar.joined().selectors().first() else {
            let guitar_name = guitar.name().to_owned();
            return Err(if guitar.joined().is_empty() {
                PositionError::NotJoined { guitar: guitar_name }
            } else {
                PositionError::NoSelector {
                    guitar: guitar_name,
                    pickup: guitar.pickups()[0].name().to_string(),
                }
            });
        };
        let throws = 0..first.switch().throws().len();
        throws.map(|throw| Self::at_position(guitar, &selected(first, throw))).collect()
    }

    /// Returns the voices of every way in which those switches on pickups can stand that are joined with other switches;
    /// none where none is.
    pub fn at_every_linked_throw(guitar: &Guitar) -> Vec<Self> {
        let standing = Setting::standing(guitar);
        let voice = |(name, switches): (String, Vec<usize>)| {
            (!name.is_empty()).then(|| Self::of_guitar(name, Setting { switches, ..standing.clone() }))
        };
        every_linked_throw(guitar).into_iter().filter_map(voice).collect()
    }
}

/// Returns every way in which the switches on pickups that are joined with other switches can stand, by name, with the
/// place of the throw of every switch, the others' being the first; one way without a name where there are none.
pub fn every_linked_throw(guitar: &Guitar) -> Vec<(String, Vec<usize>)> {
    let linked = guitar.joined().linked().iter().map(Linked::switch);
    let throws = |way: &Vec<(usize, usize)>| {
        let mut throws = vec![0; guitar.switches().len()];
        for (switch, throw) in way {
            throws[*switch] = *throw;
        }
        (way_named(guitar, way), throws)
    };
    ways_of(guitar, linked).iter().map(throws).collect()
}

/// Returns every way in which `switches`, by their places, can stand, the first turning slowest: each switch with the place
/// of its throw.
fn ways_of(guitar: &Guitar, switches: impl Iterator<Item = usize>) -> Vec<Vec<(usize, usize)>> {
    let mut ways: Vec<Vec<(usize, usize)>> = vec![Vec::new()];
    for switch in switches {
        let throws = 0..guitar.switches()[switch].switch().throws().len();
        ways = ways
            .iter()
            .flat_map(|begun| throws.clone().map(move |throw| [&begun[..], &[(switch, throw)]].concat()))
            .collect();
    }
    ways
}

fn way_named(guitar: &Guitar, way: &[(usize, usize)]) -> String {
    let names = way.iter().map(|(switch, throw)| switched(&guitar.switches()[*switch], *throw));
    names.collect::<Vec<_>>().join("+")
}

/// Returns the name of a selector's throw, by its place.
pub fn selected(selector: &Selector, throw: usize) -> String {
    format!("{}:{}", selector.name(), selector.switch().throws()[throw].number())
}

/// Returns the name of the throw of a switch on a pickup, by its place.
pub fn switched(switch: &Soldered, throw: usize) -> String {
    format!("{}:{}", switch.name().value, switch.switch().throws()[throw].number())
}

/// Returns the name of a pickup's arrangement.
pub fn arranged(pickup: &Pickup, arrangement: Arrangement) -> String {
    format!("{}={}", pickup.name(), arrangement.name())
}

/// Returns every way in which the switches on the pickup at this place can stand, by name, with what they join together:
/// `mode:1`, or `mode:1+phase:3` where there are two, the first turning slowest; none where there is none.
pub fn thrown(guitar: &Guitar, pickup: usize) -> Vec<(String, Connection)> {
    let on = (0..guitar.switches().len()).filter(|switch| guitar.pickup_switched_at(*switch) == pickup);
    let way = |way: &Vec<(usize, usize)>| {
        let throw_of = |switch: usize| way.iter().find(|(own, _)| *own == switch).map(|(_, throw)| *throw);
        Some((way_named(guitar, way), guitar.switched(pickup, throw_of)?))
    };
    ways_of(guitar, on).iter().filter_map(way).collect()
}

/// Returns the switch of that name.
///
/// # Errors
/// [`PositionError::NoSwitch`] and [`PositionError::NoSwitches`] where there is none.
pub fn switch_named<'g>(guitar: &'g Guitar, name: &str) -> Result<&'g Soldered, PositionError> {
    guitar.switches().iter().find(|s| s.name().value.as_str() == name).ok_or_else(|| {
        let selectors = guitar.joined().selectors().iter().map(|selector| selector.name().as_str());
        let switches = guitar.switches().iter().map(|switch| switch.name().value.as_str());
        let known: Vec<&str> = selectors.chain(switches).collect();
        let near = nearest(name, known.iter().copied()).map(str::to_owned);
        if near.is_none() && guitar.switches().is_empty() {
            return PositionError::NoSwitches { guitar: guitar.name().to_owned() };
        }
        PositionError::NoSwitch { name: name.to_owned(), known: known.join(", "), near }
    })
}

/// Returns the place of the switch's throw with this number.
///
/// # Errors
/// [`PositionError::NoThrow`] where it has none.
pub fn throw_numbered(switch: &Soldered, throw: &str) -> Result<usize, PositionError> {
    throw_among("switch", &switch.name().value, switch.switch().throws(), throw)
}

fn throw_among(
    what: &'static str,
    name: &Name,
    throws: &[Throw],
    throw: &str,
) -> Result<usize, PositionError> {
    let numbers: Vec<String> = throws.iter().map(|throw| throw.number().to_string()).collect();
    numbers.iter().position(|number| number == throw).ok_or_else(|| PositionError::NoThrow {
        what,
        name: name.to_string(),
        throw: throw.to_owned(),
        known: numbers.join(", "),
    })
}

/// Sets the throw of a selector or of a switch on a pickup, whose other switches stay in the throws that they were set to.
fn turn(guitar: &Guitar, setting: &mut Setting, name: &str, throw: &str) -> Result<(), PositionError> {
    let selectors = guitar.joined().selectors();
    if let Some(place) = selectors.iter().position(|s| s.name().as_str() == name) {
        let selector = &selectors[place];
        setting.throws[place] = throw_among("selector", selector.name(), selector.switch().throws(), throw)?;
        return Ok(());
    }
    let switch = switch_named(guitar, name)?;
    let place = place_of(guitar, guitar.switched_by(switch).name().as_str())?;
    let own = guitar.switches().iter().position(|known| known.name() == switch.name()).unwrap_or_default();
    setting.switches[own] = throw_numbered(switch, throw)?;
    setting.pickups[place] = soldered(guitar, place, &setting.switches);
    Ok(())
}

fn place_of(guitar: &Guitar, name: &str) -> Result<usize, PositionError> {
    let pickup = guitar.pickup(Some(name))?;
    Ok(guitar.pickups().iter().position(|own| own.name() == pickup.name()).unwrap_or_default())
}

fn strapped(pickup: &Pickup, name: &str) -> Result<Strapping, PositionError> {
    let known = pickup.arrangements();
    match name.parse::<Arrangement>() {
        Ok(arrangement) if known.contains(&arrangement) => Ok(Strapping::of(arrangement)),
        Ok(_) | Err(_) => Err(PositionError::NoArrangement {
            pickup: pickup.name().to_string(),
            arrangement: name.to_owned(),
            known: known.iter().map(|a| a.name()).collect::<Vec<_>>().join(", "),
        }),
    }
}
