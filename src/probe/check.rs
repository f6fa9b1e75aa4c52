//! Tests at the bench that tell mistakes apart, each with its outcome worked out from the joints.

use super::bench::{Bench, Mount};
use super::expected::Corners;
use super::suspect::{Cause, Mistake, Suspect, joined, neighbours, without};
use super::{Expected, Position};
use crate::response::VoiceError;
use crate::wiring::{CoilName, Connection, Function, Lug, Plan, Sense, Thing};

/// A test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Check {
    /// The meter at the jack in a position not read so far.
    Read(usize),
    /// The volume knob turned up.
    TurnUp,
    /// Steel on each coil's poles, the meter at the jack.
    Tap(usize),
    /// The meter on continuity between two points, the lever in a position.
    Continuity(usize, [Thing; 2]),
    /// One lead of a coil lifted, the meter across the coil.
    Across(usize, CoilName),
    /// Every wire lifted off the first of two neighbouring lugs, the meter on continuity between the two.
    Bare(usize, [Lug; 2]),
}

/// What a test shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Outcome {
    Reads(Expected),
    /// The readings become right.
    Cures(bool),
    /// How each coil's swing stands at the jack, `None` where it does not arrive.
    Swings([Option<Sense>; 2]),
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
    pub(super) fn differs(self, other: Self) -> bool {
        match (self, other) {
            (Self::Reads(one), Self::Reads(other)) => !one.is_like(other),
            (one, other) => one != other,
        }
    }
}

/// Returns what the meter reads in each position where `case` is the matter, or all is as drawn.
pub(super) fn readings(bench: &Bench, case: Option<&Suspect>) -> Result<Vec<Expected>, VoiceError> {
    let turned = match case {
        Some(Suspect::Volume(turned)) => Some(Corners::new(&bench.guitar, *turned)),
        Some(Suspect::Mistake(_)) | None => None,
    };
    let corners = turned.as_ref().unwrap_or(&bench.full);
    let read = |at: &Position| corners.expected(at.pickup(), heard(at, case));
    bench.positions().iter().map(read).collect()
}

/// Returns what the terminals see of one another in a position.
pub(super) fn heard(at: &Position, case: Option<&Suspect>) -> Connection {
    match case {
        Some(Suspect::Mistake(mistake)) if at.mount == Some(mistake.mount) => {
            mistake.heard.connection(at.contacts())
        }
        Some(Suspect::Mistake(_) | Suspect::Volume(_)) | None => at.drawn,
    }
}

/// Returns the tests that can be made at the switches, other than further readings at the jack.
pub(super) fn checks(bench: &Bench) -> Vec<Check> {
    let mut all = vec![Check::TurnUp];
    for (place, at) in bench.positions().iter().enumerate() {
        let Some(Mount { plan, .. }) = at.mount.map(|mount| &bench.mounts[mount]) else { continue };
        all.push(Check::Tap(place));
        let lugs = plan.switch().lugs().map(Thing::Lug);
        let wires =
            plan.groups().iter().flatten().copied().filter(|thing| matches!(thing, Thing::Terminal(_)));
        let points: Vec<Thing> = lugs.chain(wires).collect();
        for (i, one) in points.iter().enumerate() {
            all.extend(points[i + 1..].iter().map(|other| Check::Continuity(place, [*one, *other])));
        }
        let neighbours = neighbours(plan.switch());
        all.extend(
            neighbours.into_iter().flat_map(|[one, other]| {
                [Check::Bare(place, [one, other]), Check::Bare(place, [other, one])]
            }),
        );
    }
    for mount in 0..bench.mounts.len() {
        all.extend(CoilName::BOTH.map(|coil| Check::Across(mount, coil)));
    }
    all
}

/// Returns what `check` shows where `case` is the matter, whose readings are `reads`, or all is as drawn.
pub(super) fn outcome(bench: &Bench, case: Option<&Suspect>, reads: &[Expected], check: Check) -> Outcome {
    let at = |place: usize| &bench.positions()[place];
    match check {
        Check::Read(place) => Outcome::Reads(reads[place]),
        Check::TurnUp => Outcome::Cures(matches!(case, Some(Suspect::Volume(_)))),
        Check::Tap(place) => Outcome::Swings(swings(heard(at(place), case))),
        Check::Continuity(place, points) => Outcome::Beeps(beeps(bench, at(place), case, points)),
        Check::Bare(place, lugs) => Outcome::Beeps(beeps_bare(bench, at(place), case, lugs)),
        Check::Across(mount, coil) => Outcome::Coil(match case {
            Some(Suspect::Mistake(Mistake { mount: at, cause, .. })) if *at == mount => match cause {
                Cause::Open(broken) if *broken == coil => Health::Open,
                Cause::Shorted(shorted) if *shorted == coil => Health::Shorted,
                Cause::Off(_)
                | Cause::Swapped(_)
                | Cause::Bridged(_)
                | Cause::Open(_)
                | Cause::Shorted(_) => Health::Sound,
            },
            Some(Suspect::Mistake(_) | Suspect::Volume(_)) | None => Health::Sound,
        }),
    }
}

/// Returns how each coil stands between hot and ground.
fn swings(connection: Connection) -> [Option<Sense>; 2] {
    match Function::of(&connection) {
        Function::Muted | Function::Dead => [None; 2],
        Function::OneCoil { coil: CoilName::A, sense, .. } => [Some(sense), None],
        Function::OneCoil { coil: CoilName::B, sense, .. } => [None, Some(sense)],
        Function::TwoCoils { a, b, .. } => [Some(a), Some(b)],
    }
}

/// Returns whether two points are joined by solder, contacts or a shorted coil.
fn beeps(bench: &Bench, at: &Position, case: Option<&Suspect>, [one, other]: [Thing; 2]) -> bool {
    soldered(bench, at, case).is_some_and(|plan| closed(plan, at).joins(one, other))
}

/// Returns whether two neighbouring lugs are joined when every wire is lifted off the first; a drop of solder
/// between lugs stays.
fn beeps_bare(bench: &Bench, at: &Position, case: Option<&Suspect>, [bare, other]: [Lug; 2]) -> bool {
    let bridge = match case {
        Some(Suspect::Mistake(Mistake { mount, cause: Cause::Bridged(pair), .. }))
            if at.mount == Some(*mount) =>
        {
            Some(*pair)
        }
        Some(Suspect::Mistake(_) | Suspect::Volume(_)) | None => None,
    };
    // What a bridge joins must be taken apart before the wires are: it is put back afterwards.
    let Some(wired) = soldered(bench, at, case.filter(|_| bridge.is_none())) else { return false };
    let lifted = without(wired, Thing::Lug(bare));
    let plan = bridge.map_or_else(|| lifted.clone(), |pair| joined(&lifted, pair.map(Thing::Lug)));
    closed(&plan, at).joins(Thing::Lug(bare), Thing::Lug(other))
}

/// Returns what is soldered at the switch of a position.
fn soldered<'p>(bench: &'p Bench, at: &Position, case: Option<&'p Suspect>) -> Option<&'p Plan> {
    at.mount.map(|mount| match case {
        Some(Suspect::Mistake(mistake)) if mistake.mount == mount => &mistake.soldered,
        Some(Suspect::Mistake(_) | Suspect::Volume(_)) | None => &bench.mounts[mount].plan,
    })
}

/// Returns a plan with the position's contacts as joints.
fn closed(plan: &Plan, at: &Position) -> Plan {
    at.contacts().iter().fold(plan.clone(), |plan, pair| joined(&plan, pair.map(Thing::Lug)))
}

impl Check {
    /// Returns what to do, what it shows if this is the matter, and what if all is as drawn where that differs.
    pub(super) fn words(self, bench: &Bench, outcome: Outcome, drawn: Outcome) -> String {
        let throw = |place: usize| bench.positions()[place].name();
        let todo = match self {
            Self::Read(place) => format!("read the jack in {} too", throw(place)),
            Self::TurnUp => "turn the volume fully up and read again".to_owned(),
            Self::Tap(place) => {
                let pickup = bench.positions()[place].pickup();
                format!(
                    "tap at the jack in {}, red on the tip, steel on each coil of {pickup}, first swing",
                    throw(place)
                )
            }
            Self::Continuity(place, points) => {
                let mount = bench.positions()[place].mount.map(|mount| &bench.mounts[mount]);
                let name = |thing| mount.map(|m| m.labels.wire(thing, m.plan.switch())).unwrap_or_default();
                let [one, other] = points.map(name);
                format!("continuity between {one} and {other} in {}", throw(place))
            }
            Self::Bare(place, lugs) => {
                let mount = bench.positions()[place].mount.map(|mount| &bench.mounts[mount]);
                let name = |lug| mount.map(|m| m.plan.switch().name_of(lug)).unwrap_or_default();
                let [bare, other] = lugs.map(name);
                format!(
                    "look for solder between {bare} and {other}, or lift the wires off {bare}: continuity between \
                     {bare} and {other} in {}",
                    throw(place)
                )
            }
            Self::Across(_, coil) => format!("lift one lead of {coil} and read across that coil"),
        };
        let shows = format!("{todo}: {} if so", outcome.words());
        if outcome.differs(drawn) && self != Self::TurnUp {
            format!("{shows}, {} if as drawn", drawn.words())
        } else {
            shows
        }
    }
}

impl Outcome {
    fn words(self) -> String {
        match self {
            Self::Reads(Expected::Open) | Self::Coil(Health::Open) => "open".to_owned(),
            Self::Reads(Expected::Ohms { nominal, .. }) => format!("about {nominal}"),
            Self::Cures(true) => "right".to_owned(),
            Self::Cures(false) => "no better".to_owned(),
            Self::Beeps(true) => "a beep".to_owned(),
            Self::Beeps(false) => "no beep".to_owned(),
            Self::Coil(Health::Sound) => "its usual ohms".to_owned(),
            Self::Coil(Health::Shorted) => "near 0".to_owned(),
            Self::Swings(swings) => {
                let [a, b] = swings.map(|swing| match swing {
                    Some(Sense::Upright) => "+",
                    Some(Sense::Turned) => "-",
                    None => "none",
                });
                format!("A {a} and B {b}")
            }
        }
    }
}
