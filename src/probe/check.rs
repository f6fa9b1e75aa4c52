//! Tests at the bench that tell mistakes apart, each with its outcome worked out from what is soldered.

use super::bench::Bench;
use super::case::Case;
use super::suspect::{Cause, Mistake, Stood, Suspect};
use super::suspects::{neighbours, wires_at};
use crate::circuit::{Site, Spot};
use crate::guitar::{Knob, Lever};
use crate::jack::{Expected, State};
use crate::wiring::{CoilName, Sense};
use crate::words::standing;

/// A test. A vantage is a state in which it is made, by its place among the [`vantages`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Check {
    /// The meter at the jack in a position not read so far.
    Read(usize),
    /// A knob turned up.
    TurnUp(Knob),
    /// A look at where a lever stands.
    Look(Lever),
    /// Steel on the poles of each coil of a pickup, the meter at the jack.
    Tap(usize, usize),
    /// The meter on continuity between two points.
    Continuity(usize, Site, [Spot; 2]),
    /// One lead of a pickup's coil lifted, the meter across the coil.
    Across(usize, CoilName),
    /// Every wire lifted off the first of two neighbouring lugs, the meter on continuity between the two.
    Bare(usize, Site, [Spot; 2]),
}

/// What a test shows.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Outcome {
    Reads(Expected),
    /// The readings become right.
    Cures(bool),
    /// Where the lever is found in place of where it was said to be.
    Stands(Option<Stood>),
    /// How each coil's swing stands at the jack, `None` where it does not arrive.
    Swings(Vec<Option<Sense>>),
    Beeps(bool),
    Coil(Health),
}

/// A coil alone at the meter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Health {
    Sound,
    Open,
    Shorted,
}

impl Outcome {
    /// Returns whether two outcomes of one test can be told apart.
    pub(super) fn differs(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Reads(one), Self::Reads(other)) => !one.is_like(*other),
            (one, other) => one != other,
        }
    }
}

/// Returns the states in which tests are made: of each pickup where it is read best, and one lever off from there.
pub(super) fn vantages(bench: &Bench) -> Vec<State> {
    let mut all: Vec<State> = Vec::new();
    for seat in (0..bench.guitar.pickups().len()).filter_map(|pickup| bench.seat(pickup)) {
        for state in seat.with_one_moved(&bench.guitar) {
            if !all.contains(&state) {
                all.push(state);
            }
        }
    }
    all
}

/// Returns the tests that can be made at what is soldered, other than further readings at the jack.
pub(super) fn checks(bench: &Bench, vantages: &[State]) -> Vec<Check> {
    let Bench { guitar, solder, .. } = bench;
    let place = |state: &State| vantages.iter().position(|own| own == state);
    let mut all: Vec<Check> = guitar.knobs().into_iter().map(|(knob, _)| Check::TurnUp(knob)).collect();
    all.extend(guitar.levers().into_iter().map(Check::Look));
    for (pickup, own) in guitar.pickups().iter().enumerate() {
        let Some(seat) = bench.seat(pickup) else { continue };
        let around = seat.with_one_moved(guitar);
        all.extend(around.iter().filter_map(place).map(|vantage| Check::Tap(vantage, pickup)));
        let coils = CoilName::BOTH.into_iter().take(own.coil_places().len());
        all.extend(coils.map(|coil| Check::Across(pickup, coil)));
    }
    for site in bench.sites() {
        let (home, lever) = match site {
            Site::Lever(lever @ Lever::Switch(switch)) => {
                (bench.seat(guitar.pickup_switched_at(switch)), Some(lever))
            }
            Site::Lever(lever @ Lever::Selector(_)) => (bench.seat(0), Some(lever)),
            Site::Joints | Site::Blend => (bench.seat(0), None),
            Site::Pickup(_) => continue,
        };
        let Some(home) = home else { continue };
        let lugs = lever
            .into_iter()
            .flat_map(|lever| lever.table(guitar).lugs().map(move |lug| Spot::Lug(lever, lug)));
        let mut points: Vec<Spot> = lugs.collect();
        let soldered: Vec<Spot> = solder.at(site).flat_map(|group| group.spots.iter().copied()).collect();
        points.extend(wires_at(bench, site).into_iter().filter(|wire| soldered.contains(wire)));
        points.extend(soldered.iter().copied().filter(|spot| matches!(spot, Spot::BlendEnd(_))));
        let bare = lever.map(|lever| neighbours(lever, lever.table(guitar))).unwrap_or_default();
        let around = home.every(guitar, lever.as_slice());
        for vantage in around.iter().filter_map(place) {
            for (i, one) in points.iter().enumerate() {
                all.extend(
                    points[i + 1..].iter().map(|other| Check::Continuity(vantage, site, [*one, *other])),
                );
            }
            all.extend(bare.iter().flat_map(|[one, other]| {
                [Check::Bare(vantage, site, [*one, *other]), Check::Bare(vantage, site, [*other, *one])]
            }));
        }
    }
    all
}

/// Returns what `check` shows in `case`.
pub(super) fn outcome(bench: &Bench, vantages: &[State], case: &Case<'_>, check: Check) -> Outcome {
    match check {
        Check::Read(place) => Outcome::Reads(case.reads[place]),
        Check::TurnUp(knob) => {
            Outcome::Cures(matches!(case.suspect, Some(Suspect::Knob(own, _)) if *own == knob))
        }
        Check::Look(lever) => Outcome::Stands(match case.suspect {
            Some(Suspect::Elsewhere(own, stood)) if *own == lever => Some(stood.clone()),
            Some(Suspect::Elsewhere(..) | Suspect::Knob(..) | Suspect::Mistake(_)) | None => None,
        }),
        Check::Tap(vantage, pickup) => {
            let pickups = bench.guitar.pickups();
            let from: usize = pickups[..pickup].iter().map(|own| own.coil_places().len()).sum();
            let coils = from..from + pickups[pickup].coil_places().len();
            Outcome::Swings(case.swings[vantage][coils].to_vec())
        }
        Check::Continuity(vantage, _, [one, other]) => {
            Outcome::Beeps(case.touched[vantage].joins(one, other))
        }
        Check::Bare(vantage, site, lugs) => {
            Outcome::Beeps(beeps_bare(bench, &vantages[vantage], case.suspect, site, lugs))
        }
        Check::Across(pickup, coil) => Outcome::Coil(match case.suspect {
            Some(Suspect::Mistake(Mistake { cause, .. })) => match cause {
                Cause::Open(own, broken) if (*own, *broken) == (pickup, coil) => Health::Open,
                Cause::Shorted(own, shorted) if (*own, *shorted) == (pickup, coil) => Health::Shorted,
                Cause::Off(_)
                | Cause::Swapped(_)
                | Cause::Bridged(_)
                | Cause::Open(..)
                | Cause::Shorted(..) => Health::Sound,
            },
            Some(Suspect::Knob(..) | Suspect::Elsewhere(..)) | None => Health::Sound,
        }),
    }
}

/// Returns whether two neighbouring lugs are joined when every wire is lifted off the first; a drop of solder
/// between lugs stays.
fn beeps_bare(
    bench: &Bench,
    state: &State,
    suspect: Option<&Suspect>,
    site: Site,
    [bare, other]: [Spot; 2],
) -> bool {
    let drawn = &bench.solder;
    let soldered = match suspect {
        Some(Suspect::Mistake(Mistake { site: own, cause: Cause::Bridged(pair), .. })) => {
            drawn.without(site, bare).bridged(*own, *pair)
        }
        Some(Suspect::Mistake(mistake)) => mistake.soldered.without(site, bare),
        Some(Suspect::Knob(..) | Suspect::Elsewhere(..)) | None => drawn.without(site, bare),
    };
    state.nets(&bench.guitar, &soldered).joins(bare, other)
}

impl Check {
    /// Returns what to do, what it shows if this is the matter, and what if all is as drawn where that differs.
    pub(super) fn words(
        self,
        bench: &Bench,
        vantages: &[State],
        outcome: &Outcome,
        drawn: &Outcome,
    ) -> String {
        let Bench { guitar, naming, .. } = bench;
        let state = |vantage: usize| vantages[vantage].in_sentence(guitar);
        let names = |site, points: [Spot; 2]| points.map(|spot| naming.wire(guitar, site, spot));
        let todo = match self {
            Self::Read(place) => {
                let position = &bench.positions[place];
                let stands = if position.state.throws().is_empty() {
                    format!("in {}", position.name())
                } else {
                    position.state.in_sentence(guitar)
                };
                format!("read the jack {stands} too")
            }
            Self::TurnUp(knob) => format!("turn {} fully up and read again", knob.words(guitar)),
            Self::Look(lever) => format!("look where {} stands", lever.name(guitar)),
            Self::Tap(vantage, pickup) => {
                let own = &guitar.pickups()[pickup];
                let coils = if own.coil_b().is_some() { "each coil of " } else { "" };
                format!(
                    "tap at the jack {}, red on the tip, steel on {coils}the {} pickup, first swing",
                    state(vantage),
                    own.name()
                )
            }
            Self::Continuity(vantage, site, points) => {
                let [one, other] = names(site, points);
                format!("continuity between {one} and {other}{} {}", naming.at(guitar, site), state(vantage))
            }
            Self::Bare(vantage, site, lugs) => {
                let [bare, other] = names(site, lugs);
                format!(
                    "look for solder between {bare} and {other}{at}, or lift the wires off {bare}: continuity \
                     between {bare} and {other}{at} {}",
                    state(vantage),
                    at = naming.at(guitar, site)
                )
            }
            Self::Across(pickup, coil) => {
                let coil = naming.coil(guitar, pickup, coil);
                format!("lift one lead of {coil} and read across that coil")
            }
        };
        let shows = format!("{todo}: {} if so", outcome.words(bench, self));
        match self {
            Self::TurnUp(_) | Self::Look(_) => shows,
            Self::Read(_) | Self::Tap(..) | Self::Continuity(..) | Self::Bare(..) | Self::Across(..) => {
                if outcome.differs(drawn) {
                    format!("{shows}, {} if as drawn", drawn.words(bench, self))
                } else {
                    shows
                }
            }
        }
    }
}

impl Outcome {
    fn words(&self, bench: &Bench, check: Check) -> String {
        match self {
            Self::Reads(Expected::Open) | Self::Coil(Health::Open) => "open".to_owned(),
            Self::Reads(Expected::Ohms { nominal, .. }) => format!("about {nominal}"),
            Self::Cures(true) => "right".to_owned(),
            Self::Cures(false) => "no better".to_owned(),
            Self::Stands(None) => "as said".to_owned(),
            Self::Stands(Some(Stood::Reversed)) => "at the other end than said".to_owned(),
            Self::Stands(Some(Stood::Always(throw) | Stood::Once(_, throw))) => match check {
                Check::Look(lever) => standing(lever.table(&bench.guitar).throws()[*throw].position()),
                _ => "elsewhere".to_owned(),
            },
            Self::Beeps(true) => "a beep".to_owned(),
            Self::Beeps(false) => "no beep".to_owned(),
            Self::Coil(Health::Sound) => "its usual ohms".to_owned(),
            Self::Coil(Health::Shorted) => "near 0".to_owned(),
            Self::Swings(swings) => {
                let told = |swing: &Option<Sense>| match swing {
                    Some(Sense::Upright) => "+",
                    Some(Sense::Turned) => "-",
                    None => "none",
                };
                match swings.as_slice() {
                    [a, b] => format!("A {} and B {}", told(a), told(b)),
                    lone => lone.iter().map(told).collect::<Vec<_>>().join(" "),
                }
            }
        }
    }
}
