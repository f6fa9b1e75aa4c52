//! The combinations of a guitar, and which of them are one circuit.

use std::collections::HashMap;

use crate::circuit::Strapping;
use crate::guitar::{Guitar, Pickup};
use crate::response::{Scope, Setting, Voice, VoiceError, arranged, every_linked_throw, selected, thrown};
use crate::wiring::{Arrangement, Connection};

/// More combinations than this are not gone through.
pub const MOST_COMBINATIONS: usize = 100_000;
/// More different circuits than this are not compared, each with each.
pub const MOST_CIRCUITS: usize = 20_000;

/// Why a guitar's combinations cannot be surveyed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SpaceError {
    /// There are too many.
    #[error("{given} combinations; allowed are up to {MOST_COMBINATIONS}")]
    TooMany {
        /// How many there are.
        given: u128,
    },
    /// Too many of them differ.
    #[error("{given} different circuits; allowed are up to {MOST_CIRCUITS}")]
    TooManyCircuits {
        /// How many there are.
        given: usize,
    },
    /// None of the arrangements asked for is one of a pickup's.
    #[error("pickup `{pickup}` has none of the arrangements {asked}; it has {known}")]
    NoArrangement {
        /// The pickup's name.
        pickup: String,
        /// What was asked for.
        asked: String,
        /// What it has.
        known: String,
    },
    /// A combination's circuit cannot be built.
    #[error(transparent)]
    Voice(#[from] VoiceError),
}

/// One of the ways in which a pickup or a selector can stand.
#[derive(Debug, Clone)]
struct Choice<T> {
    name: String,
    is: T,
}

/// The combinations of what is surveyed.
#[derive(Debug, Clone)]
pub struct Space<'g> {
    guitar: &'g Guitar,
    kind: Kind<'g>,
}

#[derive(Debug, Clone)]
enum Kind<'g> {
    /// Each of these pickups by itself.
    Apart(Vec<(&'g Pickup, Vec<Choice<Voice>>)>),
    /// All pickups together.
    Joined {
        pickups: Vec<Vec<Choice<Strapping>>>,
        selectors: Vec<Vec<Choice<usize>>>,
        /// The ways in which the switches that are joined with others stand; the places of all switches' throws.
        linked: Vec<Choice<Vec<usize>>>,
    },
}

/// One combination.
#[derive(Debug, Clone)]
pub struct Combination<'g> {
    /// What is heard.
    pub scope: Scope<'g>,
    /// How it is connected; its name is the combination's.
    pub voice: Voice,
}

/// Combinations that are one circuit.
#[derive(Debug, Clone)]
pub struct DistinctCircuit<'g> {
    /// The first of them, called by what of it is heard.
    pub first: Combination<'g>,
    /// The places of all of them among the space's combinations.
    pub combinations: Vec<usize>,
}

impl<'g> Space<'g> {
    /// Returns all combinations of `guitar`: of each pickup the throws of its switch, or its arrangements, or those of
    /// them that are `asked` for; and every throw of every selector. Where the guitar does not say how its pickups are
    /// joined, or one is picked by `pickup`, each pickup is taken by itself.
    ///
    /// # Errors
    /// [`SpaceError`] where there are too many, or a pickup has none of the arrangements asked for.
    pub fn new(
        guitar: &'g Guitar,
        pickup: Option<&'g Pickup>,
        asked: &[Arrangement],
    ) -> Result<Self, SpaceError> {
        let kind = if pickup.is_some() || guitar.joined().is_empty() {
            let heard: Vec<&Pickup> =
                pickup.map_or_else(|| guitar.pickups().iter().collect(), |one| vec![one]);
            let is_alone = heard.len() == 1;
            let choices = heard.iter().map(|p| Ok((*p, voices(guitar, p, asked, is_alone)?)));
            Kind::Apart(choices.collect::<Result<_, SpaceError>>()?)
        } else {
            let pickups = guitar.pickups().iter().map(|p| strappings(guitar, p, asked));
            let selectors = guitar.joined().selectors().iter().map(|selector| {
                let throws = 0..selector.switch().throws().len();
                throws.map(|throw| Choice { name: selected(selector, throw), is: throw }).collect()
            });
            Kind::Joined {
                pickups: pickups.collect::<Result<_, _>>()?,
                selectors: selectors.collect(),
                linked: linked(guitar),
            }
        };
        let space = Self { guitar, kind };
        let given = space.size();
        if given > MOST_COMBINATIONS as u128 { Err(SpaceError::TooMany { given }) } else { Ok(space) }
    }

    fn size(&self) -> u128 {
        match &self.kind {
            Kind::Apart(pickups) => pickups.iter().map(|(_, voices)| voices.len() as u128).sum(),
            Kind::Joined { pickups, selectors, linked } => {
                let ways = pickups.iter().map(Vec::len).chain(selectors.iter().map(Vec::len));
                ways.chain([linked.len()]).map(|ways| ways as u128).product()
            }
        }
    }

    /// Returns the number of combinations.
    pub fn len(&self) -> usize {
        usize::try_from(self.size()).unwrap_or(usize::MAX)
    }

    /// Returns whether there are none.
    pub fn is_empty(&self) -> bool {
        self.size() == 0
    }

    /// Returns the guitar.
    pub fn guitar(&self) -> &'g Guitar {
        self.guitar
    }

    /// Returns the pickups whose coils are heard, of whichever combination.
    pub fn pickups(&self) -> Vec<&'g Pickup> {
        match &self.kind {
            Kind::Apart(pickups) => pickups.iter().map(|(pickup, _)| *pickup).collect(),
            Kind::Joined { .. } => self.guitar.pickups().iter().collect(),
        }
    }

    /// Returns the combination at `place`: selectors turn slowest, and the last pickup's arrangement changes fastest.
    ///
    /// # Panics
    /// Where there is none at that place.
    pub fn combination(&self, place: usize) -> Combination<'g> {
        self.described(place, None)
    }

    /// Returns the combination at `place`, called by its selectors and those pickups that are `heard`, or all.
    fn described(&self, place: usize, heard: Option<&[bool]>) -> Combination<'g> {
        match &self.kind {
            Kind::Apart(pickups) => {
                let mut left = place;
                for (pickup, voices) in pickups {
                    if let Some(choice) = voices.get(left) {
                        return Combination { scope: Scope::Pickup(pickup), voice: choice.is.clone() };
                    }
                    left -= voices.len();
                }
                panic!("there are {} combinations and none at {place}", self.len());
            }
            Kind::Joined { pickups, selectors, linked } => {
                let mut left = place;
                let mut digit = |ways: usize| {
                    let digit = left % ways;
                    left /= ways;
                    digit
                };
                let mut strapped: Vec<&Choice<Strapping>> =
                    pickups.iter().rev().map(|ways| &ways[digit(ways.len())]).collect();
                let switches = &linked[digit(linked.len())];
                let mut turned: Vec<&Choice<usize>> =
                    selectors.iter().rev().map(|ways| &ways[digit(ways.len())]).collect();
                strapped.reverse();
                turned.reverse();
                let told = strapped.iter().enumerate().filter(|(i, _)| heard.is_none_or(|heard| heard[*i]));
                let names = turned.iter().map(|choice| choice.name.as_str()).chain([switches.name.as_str()]);
                let names = names.chain(told.map(|(_, choice)| choice.name.as_str()));
                let names: Vec<&str> = names.filter(|name| !name.is_empty()).collect();
                let setting = Setting {
                    pickups: strapped.iter().map(|choice| choice.is).collect(),
                    throws: turned.iter().map(|choice| choice.is).collect(),
                    switches: switches.is.clone(),
                };
                Combination { scope: Scope::Guitar, voice: Voice::of_guitar(names.join("+"), setting) }
            }
        }
    }

    /// Returns the different circuits that the combinations are, in the order in which they first come up.
    ///
    /// # Errors
    /// [`SpaceError`] where a circuit cannot be built or there are too many.
    pub fn circuits(&self) -> Result<Vec<DistinctCircuit<'g>>, SpaceError> {
        let mut known = HashMap::new();
        let mut circuits: Vec<DistinctCircuit<'g>> = Vec::new();
        for place in 0..self.len() {
            let combination = self.combination(place);
            let likeness = combination.voice.likeness(self.guitar, combination.scope)?;
            // Pickups by themselves number their coils alike; which one it is tells them apart.
            let whose = combination.scope.to_string();
            let heard = matches!(self.kind, Kind::Joined { .. }).then(|| self.heard(likeness.heard()));
            let next = circuits.len();
            let circuit = *known.entry((whose, likeness)).or_insert(next);
            if circuit == next {
                let first = self.described(place, heard.as_deref());
                circuits.push(DistinctCircuit { first, combinations: Vec::new() });
            }
            circuits[circuit].combinations.push(place);
        }
        if circuits.len() > MOST_CIRCUITS {
            return Err(SpaceError::TooManyCircuits { given: circuits.len() });
        }
        Ok(circuits)
    }

    /// Returns of each pickup whether one of its coils is heard.
    fn heard(&self, coils: &[bool]) -> Vec<bool> {
        let mut left = coils;
        let pickups = self.guitar.pickups().iter();
        let of = pickups.map(|pickup| {
            let (own, rest) = left.split_at(pickup.coil_places().len());
            left = rest;
            own.contains(&true)
        });
        of.collect()
    }
}

/// Returns those of a pickup's arrangements that are asked for, or all where none is.
fn arrangements(pickup: &Pickup, asked: &[Arrangement]) -> Result<Vec<Arrangement>, SpaceError> {
    let known = pickup.arrangements();
    // A pickup of one coil has no choice, whatever is asked of the others.
    if asked.is_empty() || pickup.coil_b().is_none() {
        return Ok(known);
    }
    let found: Vec<Arrangement> = asked.iter().copied().filter(|a| known.contains(a)).collect();
    let names = |list: &[Arrangement]| list.iter().map(|a| a.name()).collect::<Vec<_>>().join(", ");
    if found.is_empty() {
        return Err(SpaceError::NoArrangement {
            pickup: pickup.name().to_string(),
            asked: names(asked),
            known: names(&known),
        });
    }
    Ok(found)
}

/// Returns every way in which the switches that are joined with others can stand, or the one of a guitar that has none,
/// without a name.
fn linked(guitar: &Guitar) -> Vec<Choice<Vec<usize>>> {
    let ways = every_linked_throw(guitar).into_iter();
    ways.map(|(name, switches)| Choice { name, is: switches }).collect()
}

/// Returns every way in which the pickup's switches can stand where no arrangement is asked for; none where it has none.
fn throws_of(guitar: &Guitar, pickup: &Pickup, asked: &[Arrangement]) -> Vec<(String, Connection)> {
    let place = guitar.pickups().iter().position(|own| own.name() == pickup.name());
    place.filter(|_| asked.is_empty()).map(|place| thrown(guitar, place)).unwrap_or_default()
}

fn strappings(
    guitar: &Guitar,
    pickup: &Pickup,
    asked: &[Arrangement],
) -> Result<Vec<Choice<Strapping>>, SpaceError> {
    let place = guitar.pickups().iter().position(|own| own.name() == pickup.name());
    if let Some(place) = place.filter(|place| guitar.joined().linked_on(*place).is_some()) {
        // Its switches say how it is joined, which are chosen beside it.
        return Ok(vec![Choice { name: String::new(), is: Setting::standing(guitar).pickups[place] }]);
    }
    let throws = throws_of(guitar, pickup, asked).into_iter();
    let strapping = |connection| Strapping { connection, bypassed: false };
    let throws: Vec<Choice<Strapping>> =
        throws.map(|(name, connection)| Choice { name, is: strapping(connection) }).collect();
    if !throws.is_empty() {
        return Ok(throws);
    }
    let choice = |a: Arrangement| Choice { name: arranged(pickup, a), is: Strapping::of(a) };
    Ok(arrangements(pickup, asked)?.into_iter().map(choice).collect())
}

/// Returns the voices of a pickup by itself, called as `hear` calls them where it is the only one.
fn voices(
    guitar: &Guitar,
    pickup: &Pickup,
    asked: &[Arrangement],
    is_alone: bool,
) -> Result<Vec<Choice<Voice>>, SpaceError> {
    let of =
        |(name, connection): (String, Connection)| Voice::wired(name, connection, connection.arrangement());
    let throws: Vec<Voice> = throws_of(guitar, pickup, asked).into_iter().map(of).collect();
    let voices = if throws.is_empty() {
        let name = |a: Arrangement| if is_alone { a.name().to_owned() } else { arranged(pickup, a) };
        let voice = |a: Arrangement| Voice::wired(name(a), a.connection(), Some(a));
        arrangements(pickup, asked)?.into_iter().map(voice).collect()
    } else {
        throws
    };
    Ok(voices.into_iter().map(|voice| Choice { name: voice.name().to_owned(), is: voice }).collect())
}
