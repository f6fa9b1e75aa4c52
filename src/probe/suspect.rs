//! A single mistake: what it is, what it concerns, and what it is called.

use super::bench::Bench;
use crate::circuit::{Nets, Site, Solder, Spot};
use crate::guitar::{Guitar, Knob, Lever};
use crate::jack::State;
use crate::quantity::listed;
use crate::wiring::{CoilName, Terminal};
use crate::words::standing;

/// A single mistake.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Suspect {
    /// A knob is not full but here, 0 to 10.
    Knob(Knob, f64),
    /// A selector or a switch did not stand where it was said to.
    Elsewhere(Lever, Stood),
    /// Something is not soldered as drawn, or a coil is not sound.
    Mistake(Mistake),
}

/// Where a lever stood in place of where it was said to.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Stood {
    /// In the throw at this place, whatever was said.
    Always(usize),
    /// Its throws are counted from the other end.
    Reversed,
    /// In the throw at this place while this one state was read.
    Once(State, usize),
}

/// Something not soldered as drawn, or a coil that is not sound, and what that makes of what is soldered.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Mistake {
    pub(super) site: Site,
    pub(super) cause: Cause,
    /// What is soldered to what where leads and lugs can be touched.
    pub(super) soldered: Solder,
}

/// What is wrong at one place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Cause {
    /// A thing is not joined to the rest of its group.
    Off(Spot),
    /// Two wires are in each other's place.
    Swapped([Spot; 2]),
    /// Two neighbouring lugs touch.
    Bridged([Spot; 2]),
    /// The wire of a pickup's coil is broken.
    Open(usize, CoilName),
    /// The ends of a pickup's coil are joined inside.
    Shorted(usize, CoilName),
}

impl Stood {
    /// Returns the throw in which a lever of `guitar` stood while `state` was read.
    fn in_place_of(&self, guitar: &Guitar, lever: Lever, state: &State) -> Option<usize> {
        let said = state.throw_of(lever)?;
        match self {
            Self::Always(throw) => Some(*throw),
            Self::Reversed => Some(lever.table(guitar).throws().len() - 1 - said),
            Self::Once(own, throw) if own == state => Some(*throw),
            Self::Once(..) => Some(said),
        }
    }
}

impl Suspect {
    /// Returns the state that the guitar was in while `state` was said.
    pub(super) fn stood(&self, guitar: &Guitar, state: &State) -> State {
        match self {
            Self::Elsewhere(lever, stood) => match stood.in_place_of(guitar, *lever, state) {
                Some(throw) => state.with(*lever, throw),
                None => state.clone(),
            },
            Self::Knob(..) | Self::Mistake(_) => state.clone(),
        }
    }

    /// Returns whether both are the same knob, wherever it stands.
    pub(super) fn is_same_knob(&self, other: &Self) -> bool {
        matches!((self, other), (Self::Knob(own, _), Self::Knob(other, _)) if own == other)
    }

    /// Returns the kind of mistake, as a word for programs.
    pub(super) const fn kind(&self) -> &'static str {
        match self {
            Self::Knob(Knob::Volume(_), _) => "volume",
            Self::Knob(Knob::BassCut(_), _) => "bass-cut",
            Self::Knob(Knob::Blend, _) => "blend",
            Self::Elsewhere(..) => "elsewhere",
            Self::Mistake(mistake) => match mistake.cause {
                Cause::Off(_) => "off",
                Cause::Swapped(_) => "swapped",
                Cause::Bridged(_) => "bridged",
                Cause::Open(..) => "coil-open",
                Cause::Shorted(..) => "coil-shorted",
            },
        }
    }

    /// Returns the names of the things concerned, as the guitar's file has them.
    pub(super) fn things(&self, bench: &Bench) -> Vec<String> {
        let Bench { guitar, naming, .. } = bench;
        match self {
            Self::Knob(..) => Vec::new(),
            Self::Elsewhere(lever, _) => vec![lever.name(guitar).to_string()],
            Self::Mistake(Mistake {
                cause: Cause::Open(pickup, coil) | Cause::Shorted(pickup, coil),
                ..
            }) => naming.ends(*pickup, *coil).to_vec(),
            Self::Mistake(mistake) => {
                mistake.concerned().iter().map(|spot| naming.name(guitar, mistake.site, *spot)).collect()
            }
        }
    }

    /// Returns the name of the pickup, selector or switch at which the mistake is, where it is at one.
    pub(super) fn at(&self, bench: &Bench) -> Option<String> {
        let pickup = |place: usize| bench.guitar.pickups()[place].name().to_string();
        match self {
            Self::Knob(Knob::Volume(whose) | Knob::BassCut(whose), _) => whose.map(pickup),
            Self::Knob(Knob::Blend, _) => None,
            Self::Elsewhere(lever, _) => Some(lever.name(&bench.guitar).to_string()),
            Self::Mistake(mistake) => match (mistake.cause, mistake.site) {
                (Cause::Open(own, _) | Cause::Shorted(own, _), _) | (_, Site::Pickup(own)) => {
                    Some(pickup(own))
                }
                (_, Site::Lever(lever)) => Some(lever.name(&bench.guitar).to_string()),
                (_, Site::Joints | Site::Blend) => None,
            },
        }
    }

    /// Returns the mistake in words, such as `lead b+ is not joined to lug L2`.
    pub(super) fn words(&self, bench: &Bench) -> String {
        let guitar = &bench.guitar;
        match self {
            // What would be told as 10.0 of 10 is a hair below.
            Self::Knob(knob, turned) if *turned >= 9.95 => {
                format!("{} is not quite full", knob.words(guitar))
            }
            Self::Knob(knob, turned) => {
                format!("{} is not full but at about {turned:.1} of 10", knob.words(guitar))
            }
            Self::Elsewhere(lever, stood) => {
                let name = lever.name(guitar);
                let at = |throw: usize| {
                    let throw = &lever.table(guitar).throws()[throw];
                    format!("{} ({name}:{})", standing(throw.position()), throw.number())
                };
                match stood {
                    Stood::Always(throw) => {
                        format!("{name} stands elsewhere: {}, whatever is said", at(*throw))
                    }
                    Stood::Reversed => {
                        format!("{name} stands elsewhere: its throws are counted from the other end")
                    }
                    Stood::Once(state, throw) => {
                        format!(
                            "{name} stood elsewhere at the reading {}: {}",
                            state.in_sentence(guitar),
                            at(*throw)
                        )
                    }
                }
            }
            Self::Mistake(mistake) => mistake.words(bench),
        }
    }
}

impl Mistake {
    /// Returns the spots that the mistake is about.
    pub(super) fn concerned(&self) -> Vec<Spot> {
        match self.cause {
            Cause::Off(spot) => vec![spot],
            Cause::Swapped(pair) | Cause::Bridged(pair) => pair.to_vec(),
            Cause::Open(pickup, coil) | Cause::Shorted(pickup, coil) => {
                [coil.plus(), coil.minus()].map(|end| Spot::Terminal(pickup, end)).to_vec()
            }
        }
    }

    /// Returns what is one node for the circuit: a broken coil leads nowhere.
    pub(super) fn heard(&self, mut touched: Nets) -> Nets {
        if let Cause::Open(pickup, coil) = self.cause {
            touched.lift(Spot::Terminal(pickup, coil.plus()));
        }
        touched
    }

    fn words(&self, bench: &Bench) -> String {
        let Bench { guitar, naming, solder, .. } = bench;
        let wire = |spot: Spot| naming.wire(guitar, self.site, spot);
        let at = naming.at(guitar, self.site);
        match self.cause {
            Cause::Off(spot) => {
                let group = solder.at(self.site).find(|group| group.spots.contains(&spot));
                let rest = group.into_iter().flat_map(|group| &group.spots).filter(|other| **other != spot);
                let rest: Vec<String> = rest.map(|other| wire(*other)).collect();
                format!("{} is not joined to {}{at}", wire(spot), listed(&rest))
            }
            Cause::Swapped([one, other]) => match self.site {
                Site::Pickup(pickup) => {
                    let name = guitar.pickups()[pickup].name();
                    format!("the {name} pickup is turned round: its hot and its ground are swapped")
                }
                Site::Lever(_) | Site::Joints | Site::Blend => {
                    let [first, second] = [one, other].map(wire);
                    match coil_of(one).zip(coil_of(other)) {
                        Some((coil, same)) if coil == same => {
                            let coil = naming.coil(guitar, coil.0, coil.1);
                            format!("{coil} is turned round: {first} and {second} are swapped")
                        }
                        Some(_) | None => format!("{first} and {second} are swapped{at}"),
                    }
                }
            },
            Cause::Bridged(pair) => {
                let [one, other] = pair.map(|spot| naming.name(guitar, self.site, spot));
                format!("lugs {one} and {other} are bridged{at}")
            }
            Cause::Open(pickup, coil) => {
                format!("{} is open: its wire is broken inside", naming.coil(guitar, pickup, coil))
            }
            Cause::Shorted(pickup, coil) => {
                format!("{} is shorted inside", naming.coil(guitar, pickup, coil))
            }
        }
    }
}

fn coil_of(spot: Spot) -> Option<(usize, CoilName)> {
    match spot {
        Spot::Terminal(pickup, end) => Terminal::coil(end).map(|coil| (pickup, coil)),
        Spot::Ground | Spot::Out | Spot::BlendEnd(_) | Spot::Behind(_) | Spot::Shield(_) | Spot::Lug(..) => {
            None
        }
    }
}
