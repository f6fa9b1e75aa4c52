//! A plan with all that is told about it.

use super::facts::{self, Beside, throw_facts};
use super::{Asked, Drawn, Finding, Labels, Passing, Preference, ThrowFacts, findings};
use crate::guitar::{Guitar, Lever, Pickup};
use crate::jack::{Seat, State};
use crate::response::VoiceError;
use crate::wiring::{Connection, Plan, Soldered, TravelState};

/// A plan, its names, what its throws are and what is to be found about it.
#[derive(Debug, Clone)]
pub struct Described {
    /// The plan.
    pub plan: Plan,
    /// What its things are called.
    pub labels: Labels,
    /// What each throw is; where the pickup has other switches, once for each place of these, the usual one first.
    pub facts: Vec<ThrowFacts>,
    /// Its marks among other plans.
    pub preference: Preference,
    /// Its faults, and what is worth knowing.
    pub findings: Vec<Finding>,
    /// Where selectors, and switches of other pickups, stand when the throws are read at the jack, by name and in words;
    /// nothing where there are none.
    pub read_at: Option<ReadAt>,
    /// What the pickup's other switches join where they stand by the guitar's file.
    beside: Connection,
}

/// Where selectors stand when a switch's throws are read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadAt {
    /// By name, such as `selector:1`.
    pub name: String,
    /// In words, such as `selector at 1 (toward the bridge)`.
    pub words: String,
}

/// With more ways than this in which a pickup's other switches can stand, they are moved one at a time.
const MOST_BESIDE: u64 = 36;

impl Described {
    /// Returns what is to be told about `plan` for `pickup` on `guitar`, in place of the switches that it has, of whose
    /// throws `asked` was asked.
    ///
    /// # Errors
    /// [`VoiceError`] where a throw's circuit has no solution.
    pub fn new(
        plan: Plan,
        labels: Labels,
        guitar: &Guitar,
        pickup: &Pickup,
        asked: Option<&[Asked]>,
    ) -> Result<Self, VoiceError> {
        Self::beside(plan, labels, (guitar, pickup), asked, &[Beside::nothing()])
    }

    /// Returns what is to be told about `switch`, one of the guitar's, beside the other switches on its pickup.
    ///
    /// # Errors
    /// [`VoiceError`] where a throw's circuit has no solution.
    pub fn soldered(guitar: &Guitar, switch: &Soldered, asked: Option<&[Asked]>) -> Result<Self, VoiceError> {
        let pickup = guitar.switched_by(switch);
        let labels = Labels::of(pickup, switch.names());
        let plan = switch.plan(labels.finish_is_plus());
        Self::beside(plan, labels, (guitar, pickup), asked, &others(guitar, switch))
    }

    fn beside(
        plan: Plan,
        labels: Labels,
        (guitar, pickup): (&Guitar, &Pickup),
        asked: Option<&[Asked]>,
        beside: &[Beside],
    ) -> Result<Self, VoiceError> {
        let place = guitar.pickups().iter().position(|own| own.name() == pickup.name()).unwrap_or_default();
        let seat = Seat::of(guitar, place)?;
        let facts = throw_facts(&plan, &seat, pickup, beside)?;
        let connections: Vec<Connection> = beside.iter().map(|others| others.connection).collect();
        let drawn = Drawn { plan: &plan, facts: &facts, labels: &labels, asked, beside: &connections };
        let found = findings(&drawn);
        Ok(Self {
            preference: Preference::of(&plan),
            facts,
            findings: found,
            read_at: seat.name().zip(seat.words()).map(|(name, words)| ReadAt { name, words }),
            beside: connections.first().copied().unwrap_or_else(|| Connection::joining([])),
            plan,
            labels,
        })
    }

    /// Returns what hot and ground see in every combination of pole states, the pickup's other switches standing still.
    pub fn travel(&self) -> Vec<TravelState> {
        let beside = |state: TravelState| TravelState {
            connection: state.connection.and(self.beside),
            poles: state.poles,
        };
        self.plan.travel().into_iter().map(beside).collect()
    }

    /// Returns the findings for which the plan is faulty.
    pub fn faults(&self) -> impl Iterator<Item = &Finding> {
        self.findings.iter().filter(|finding| finding.kind.is_fault())
    }

    /// Returns the findings that are no faults.
    pub fn remarks(&self) -> impl Iterator<Item = &Finding> {
        self.findings.iter().filter(|finding| !finding.kind.is_fault())
    }

    /// Returns the worst that is heard while the lever travels.
    pub fn worst_passing(&self) -> Passing {
        self.travel().iter().map(|state| Passing::of(&state.connection)).max().unwrap_or(Passing::Sounds)
    }
}

/// Returns what the other switches on the pickup of `switch` join, for each way in which they can stand.
fn others(guitar: &Guitar, switch: &Soldered) -> Vec<Beside> {
    let on = guitar.switched_by(switch);
    let place = guitar.pickups().iter().position(|pickup| pickup.name() == on.name()).unwrap_or_default();
    let is_other = |lever: &Lever| match *lever {
        Lever::Switch(other) => {
            guitar.pickup_switched_at(other) == place && guitar.switches()[other].name() != switch.name()
        }
        Lever::Selector(_) => false,
    };
    let others: Vec<Lever> = guitar.levers().into_iter().filter(is_other).collect();
    if others.is_empty() {
        return vec![Beside::nothing()];
    }
    let standing = State::standing(guitar, place);
    let ways = others.iter().map(|lever| lever.table(guitar).throws().len() as u64);
    let states = if ways.fold(1, u64::saturating_mul) <= MOST_BESIDE {
        standing.every(guitar, &others)
    } else {
        let moved = |state: &State| {
            let own = |lever: &&(Lever, usize)| others.contains(&lever.0);
            let as_standing = |(lever, throw): &(Lever, usize)| standing.throw_of(*lever) == Some(*throw);
            state.throws().iter().filter(|lever| !own(lever)).all(as_standing)
        };
        standing.with_one_moved(guitar).into_iter().filter(moved).collect()
    };
    states
        .into_iter()
        .map(|state| {
            let throw_of = |switch: usize| {
                state.throw_of(Lever::Switch(switch)).filter(|_| others.contains(&Lever::Switch(switch)))
            };
            Beside {
                name: Some(state.named_by(guitar, |lever| others.contains(&lever))),
                connection: guitar.switched(place, throw_of).unwrap_or_else(|| Connection::joining([])),
            }
        })
        .collect()
}

/// Returns the number of the first throw of `plan` whose solved circuit is not that of what is asked, which would
/// be a fault of the search.
///
/// # Errors
/// [`VoiceError`] where a throw's circuit has no solution.
pub fn first_contradiction(plan: &Plan, asked: &[Asked], pickup: &Pickup) -> Result<Option<u8>, VoiceError> {
    for ((throw, connection), asked) in plan.switch().throws().iter().zip(plan.throws()).zip(asked) {
        if !facts::is_as_asked(pickup, &connection, *asked)? {
            return Ok(Some(throw.number()));
        }
    }
    Ok(None)
}

/// Returns whether `switch`, one of the guitar's, is joined with other switches, so that what a throw of it makes depends on where
/// they stand.
pub fn is_linked(guitar: &Guitar, switch: &Soldered) -> bool {
    let on = guitar.switched_by(switch).name();
    let place = guitar.pickups().iter().position(|pickup| pickup.name() == on);
    place.is_some_and(|place| guitar.joined().linked_on(place).is_some())
}
