//! What is measured: every state of a guitar's selectors and switches, or the arrangements of a pickup that has none.

use super::naming::Naming;
use crate::circuit::{Nets, Site, Solder};
use crate::guitar::{Guitar, Lever, Pickup};
use crate::jack::{AtJack, JackReadings, Seat, State, heard};
use crate::quantity::Ohms;
use crate::response::VoiceError;
use crate::wiring::Arrangement;

/// A guitar at the bench, its knobs full, with all that is measured at its jack.
#[derive(Debug, Clone)]
pub struct Bench {
    pub(super) guitar: Guitar,
    pub(super) solder: Solder,
    pub(super) naming: Naming,
    pub(super) full: AtJack,
    pub(super) positions: Vec<Position>,
    /// For each pickup where it is read best; nothing where it is not measured.
    seats: Vec<Option<State>>,
    ways: u64,
}

/// One thing to measure: a state, or an arrangement of a pickup without a switch.
#[derive(Debug, Clone, PartialEq)]
pub struct Position {
    name: String,
    pub(super) state: State,
    what_if: Option<Arrangement>,
    arrangement: String,
    heard: Vec<String>,
}

/// With more states than this, those are listed in which one lever at most is not where it stands.
const MOST_LISTED: u64 = 64;

impl Bench {
    /// Returns what can be measured on `guitar`: every state of its selectors and switches, or where there are very many
    /// those that are one lever off from where it stands; of these, those in which the pickup `only` is heard, where one
    /// is named.
    ///
    /// Where the file does not say how the pickups are joined, each that has a switch is read by itself, or the one
    /// named or the first, and of a pickup without a switch the arrangements are told that it could have.
    ///
    /// # Errors
    /// [`VoiceError`] where a circuit has no solution.
    pub fn new(guitar: &Guitar, only: Option<&Pickup>) -> Result<Self, VoiceError> {
        let place = |pickup: &Pickup| guitar.pickups().iter().position(|own| own.name() == pickup.name());
        let only = only.and_then(place);
        let mut bench = Self {
            guitar: guitar.clone(),
            solder: Solder::of(guitar),
            naming: Naming::of(guitar),
            full: AtJack::full(guitar),
            positions: Vec::new(),
            seats: vec![None; guitar.pickups().len()],
            ways: 0,
        };
        if guitar.joined().is_empty() {
            for pickup in apart(guitar, only) {
                bench.measure_alone(pickup)?;
            }
        } else {
            bench.measure_whole(only)?;
        }
        Ok(bench)
    }

    fn measure_alone(&mut self, pickup: usize) -> Result<(), VoiceError> {
        let standing = State::standing(&self.guitar, pickup);
        if standing.throws().is_empty() {
            let own = &self.guitar.pickups()[pickup];
            let position = |arrangement: Arrangement| Position {
                name: arrangement.name().to_owned(),
                state: standing.clone(),
                what_if: Some(arrangement),
                arrangement: arrangement.name().to_owned(),
                heard: vec![own.name().to_string()],
            };
            self.positions.extend(own.arrangements().into_iter().map(position));
            return Ok(());
        }
        self.ways += standing.ways(&self.guitar);
        for state in self.listed(&standing) {
            let position = self.position(state)?;
            self.positions.push(position);
        }
        self.seats[pickup] = Some(standing);
        Ok(())
    }

    fn measure_whole(&mut self, only: Option<usize>) -> Result<(), VoiceError> {
        let guitar = self.guitar.clone();
        for (pickup, seat) in self.seats.iter_mut().enumerate() {
            *seat = Some(Seat::of(&guitar, pickup)?.state().clone());
        }
        let standing = State::standing(&guitar, 0);
        self.ways = standing.ways(&guitar);
        for state in self.listed(&standing) {
            let position = self.position(state)?;
            let name = only.map(|pickup| guitar.pickups()[pickup].name().as_str());
            if name.is_none_or(|name| position.heard.iter().any(|heard| heard == name)) {
                self.positions.push(position);
            }
        }
        Ok(())
    }

    fn listed(&self, standing: &State) -> Vec<State> {
        if standing.ways(&self.guitar) <= MOST_LISTED {
            standing.every(&self.guitar, &self.guitar.levers())
        } else {
            standing.with_one_moved(&self.guitar)
        }
    }

    fn position(&self, state: State) -> Result<Position, VoiceError> {
        let pickups = self.guitar.pickups();
        let is_heard = match state.alone() {
            Some(alone) => (0..pickups.len()).map(|place| place == alone).collect(),
            None => heard(&self.guitar, &self.full.swings(&state.nets(&self.guitar, &self.solder))?),
        };
        let heard: Vec<usize> = (0..pickups.len()).filter(|place| is_heard[*place]).collect();
        let connected = |place: usize| {
            let own = &pickups[place];
            let switched = (0..self.guitar.switches().len())
                .any(|switch| self.guitar.pickup_switched_at(switch) == place);
            if switched {
                state.connection(&self.guitar, place).label()
            } else {
                own.arrangement().to_string()
            }
        };
        let arrangement = match (state.alone(), heard.as_slice()) {
            (Some(alone), _) => connected(alone),
            (None, []) => "nothing heard".to_owned(),
            (None, [only]) if pickups.len() == 1 => connected(*only),
            (None, several) => {
                let each =
                    several.iter().map(|place| format!("{} {}", pickups[*place].name(), connected(*place)));
                each.collect::<Vec<_>>().join(", ")
            }
        };
        Ok(Position {
            name: state.name(&self.guitar),
            state,
            what_if: None,
            arrangement,
            heard: heard.into_iter().map(|place| pickups[place].name().to_string()).collect(),
        })
    }

    /// Returns the bench with these `states` among what is measured.
    pub(super) fn with(&self, states: impl IntoIterator<Item = State>) -> Result<Self, VoiceError> {
        let mut bench = self.clone();
        for state in states {
            if bench.place_of(&state).is_none() {
                let position = bench.position(state)?;
                bench.positions.push(position);
            }
        }
        Ok(bench)
    }

    /// Returns the place among the positions of the one that is this state.
    pub(super) fn place_of(&self, state: &State) -> Option<usize> {
        self.positions.iter().position(|position| position.what_if.is_none() && position.state == *state)
    }

    /// Returns what can be measured: in the order of the file, the first lever turning slowest.
    pub fn positions(&self) -> &[Position] {
        &self.positions
    }

    /// Returns the number of states there are, listed or not; none where there are but arrangements to choose among.
    pub fn ways(&self) -> u64 {
        self.ways
    }

    /// Returns whether readings can be judged: a switch or a selector is soldered in, or pickups are joined.
    pub fn is_readable(&self) -> bool {
        !self.guitar.joined().is_empty() || !self.guitar.switches().is_empty()
    }

    /// Returns, for a pickup that is measured, where it is read best.
    pub(super) fn seat(&self, pickup: usize) -> Option<&State> {
        self.seats[pickup].as_ref()
    }

    /// Returns whether the pickup at this place is among what is measured.
    pub(super) fn is_measured(&self, pickup: usize) -> bool {
        let name = self.guitar.pickups()[pickup].name().as_str();
        self.positions.iter().any(|position| position.heard.iter().any(|heard| heard == name))
    }

    /// Returns where something is soldered that is measured.
    pub(super) fn sites(&self) -> Vec<Site> {
        let measured = |pickup: &usize| self.seat(*pickup).is_some();
        let switches = (0..self.guitar.switches().len())
            .filter(|switch| measured(&self.guitar.pickup_switched_at(*switch)))
            .map(|switch| Site::Lever(Lever::Switch(switch)));
        let selectors = (0..self.guitar.joined().selectors().len()).map(Lever::Selector).map(Site::Lever);
        let pickups = (0..self.guitar.pickups().len()).filter(measured).map(Site::Pickup);
        switches.chain(selectors).chain([Site::Joints, Site::Blend]).chain(pickups).collect()
    }

    /// Returns what is one node in a position with everything as drawn.
    pub(super) fn drawn(&self, position: &Position) -> Nets {
        match (position.what_if, position.state.alone()) {
            (Some(arrangement), Some(pickup)) => {
                let strapped = self.solder.strapped(pickup, arrangement.connection());
                let bypassed = arrangement == Arrangement::SeriesBypassed;
                let solder = if bypassed { strapped.bypassed(pickup) } else { strapped };
                position.state.nets(&self.guitar, &solder)
            }
            (Some(_) | None, _) => position.state.nets(&self.guitar, &self.solder),
        }
    }

    /// Returns what the meter reads in each position with the knobs where the file has them, or nothing where all are
    /// full.
    ///
    /// # Errors
    /// [`VoiceError`] where a circuit has no solution.
    pub fn as_set(&self) -> Result<Option<Vec<Option<Ohms>>>, VoiceError> {
        if self.guitar == self.guitar.with_knobs_full() {
            return Ok(None);
        }
        let as_set = AtJack::as_set(&self.guitar);
        let mut readings = JackReadings::new(&as_set);
        self.positions.iter().map(|p| readings.nominal(&self.drawn(p))).collect::<Result<_, _>>().map(Some)
    }
}

/// Returns the places of the pickups that are read each by itself.
fn apart(guitar: &Guitar, only: Option<usize>) -> Vec<usize> {
    if let Some(only) = only {
        return vec![only];
    }
    let switches = 0..guitar.switches().len();
    let switched = |pickup: &usize| switches.clone().any(|s| guitar.pickup_switched_at(s) == *pickup);
    let all: Vec<usize> = (0..guitar.pickups().len()).filter(switched).collect();
    if all.is_empty() { vec![0] } else { all }
}

impl Position {
    /// Returns the name by which a reading is given, such as `selector:2+mode:1`, or `series`.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Returns what is heard and how it is joined: the arrangement, with its pickup's name where the guitar has several.
    pub fn arrangement(&self) -> &str {
        &self.arrangement
    }

    /// Returns the names of the pickups that are heard.
    pub fn heard(&self) -> &[String] {
        &self.heard
    }

    /// Returns the levers with the places of their throws; none where the position is an arrangement to choose.
    pub fn throws(&self) -> &[(Lever, usize)] {
        self.state.throws()
    }
}
