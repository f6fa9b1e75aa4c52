//! Readings at the jack as they are given: `mode:1=7.9k`, `selector:2+mode:1=7.9k`.

use super::Bench;
use crate::document::nearest;
use crate::guitar::{Guitar, Lever};
use crate::jack::{JackReadings, State};
use crate::leads::{MeterError, OhmmeterReading};
use crate::quantity::Ohms;
use crate::response::VoiceError;

/// What the meter showed at the jack of a [`Bench`], its knobs full.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingOf {
    /// The state that the levers were in or, where some were left out that do not matter, each that it may have been.
    pub(super) states: Vec<State>,
    pub(super) shown: OhmmeterReading,
}

/// A text that is no reading at this bench.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum JackReadingError {
    /// The text does not say what was read where.
    #[error("`{}` is not a throw and what the meter read there, such as mode:1=7.9k", given.escape_debug())]
    NoPair {
        /// The text as given.
        given: String,
    },
    /// The guitar has no such throw.
    #[error("the guitar has no throw `{}`", given.escape_debug())]
    UnknownThrow {
        /// The name as given.
        given: String,
        /// What to do about it.
        hint: String,
    },
    /// One selector or switch has two throws in one state.
    #[error("`{}` has two throws of {lever}", given.escape_debug())]
    TwoThrows {
        /// The state as given.
        given: String,
        /// The selector or switch.
        lever: String,
    },
    /// The switches named are on pickups that the guitar's file does not join.
    #[error("`{}` names switches on two pickups, and the file does not say how these are joined", given.escape_debug())]
    Apart {
        /// The state as given.
        given: String,
    },
    /// A selector or a switch is left out, and where it stands changes the reading.
    #[error("`{}` does not say where {} stands, and that changes the reading", given.escape_debug(), levers.join(" and "))]
    LeftOut {
        /// The state as given.
        given: String,
        /// The selectors and switches to name.
        levers: Vec<String>,
        /// The same state with them.
        whole: String,
    },
    /// One state has two readings.
    #[error("`{throw}` is read twice")]
    Twice {
        /// The state's name.
        throw: String,
    },
    /// What was read is no resistance.
    #[error("what `{throw}` reads: {cause}")]
    NoMeter {
        /// The state's name.
        throw: String,
        /// Why it is none.
        cause: MeterError,
    },
    /// A circuit that has to be compared cannot be solved.
    #[error(transparent)]
    Unsolved(#[from] VoiceError),
}

/// The most of a wrong text that is repeated.
const SHOWN: usize = 80;
/// With more states than this left open by what is not named, all levers are to be named.
const MOST_LEFT_OPEN: u64 = 1000;

impl ReadingOf {
    /// Returns the readings that `texts` state, each text one or several separated by commas; every fault is returned.
    ///
    /// # Errors
    /// A [`JackReadingError`] for each that is no reading or repeats a state.
    pub fn parse_all(texts: &[String], bench: &Bench) -> Result<Vec<Self>, Vec<JackReadingError>> {
        let mut readings: Vec<Self> = Vec::new();
        let mut faults = Vec::new();
        for text in texts.iter().flat_map(|texts| apart(texts)) {
            match Self::parse(text, bench) {
                Ok(reading) => match readings.iter().find_map(|known| known.shared(&reading)) {
                    Some(state) => faults.push(JackReadingError::Twice { throw: state.name(&bench.guitar) }),
                    None => readings.push(reading),
                },
                Err(fault) => faults.push(fault),
            }
        }
        if faults.is_empty() { Ok(readings) } else { Err(faults) }
    }

    fn parse(text: &str, bench: &Bench) -> Result<Self, JackReadingError> {
        let (name, read) =
            text.split_once('=').ok_or_else(|| JackReadingError::NoPair { given: short(text) })?;
        let states = states(name.trim(), bench)?;
        let throw = || states[0].name(&bench.guitar);
        let shown = OhmmeterReading::parse(read)
            .map_err(|cause| JackReadingError::NoMeter { throw: throw(), cause })?;
        Ok(Self { states, shown })
    }

    /// Returns a state that both may have been taken in.
    fn shared(&self, other: &Self) -> Option<&State> {
        self.states.iter().find(|state| other.states.contains(state))
    }
}

/// Returns the readings of a list separated by commas, of which those in front of figures alone are decimal.
fn apart(list: &str) -> Vec<&str> {
    let mut found: Vec<&str> = Vec::new();
    let mut from = 0;
    for (at, _) in list.match_indices(',') {
        let next = list[at + 1..].split(',').next().unwrap_or_default();
        let is_decimal = list[..at].ends_with(|c: char| c.is_ascii_digit())
            && next.starts_with(|c: char| c.is_ascii_digit())
            && !next.contains('=');
        if !is_decimal {
            found.push(&list[from..at]);
            from = at + 1;
        }
    }
    found.push(&list[from..]);
    found
}

fn short(text: &str) -> String {
    text.trim().chars().take(SHOWN).collect()
}

/// Returns the states that `name` may mean, all of which read the same: first the one in which what it leaves out stands
/// as the guitar's file has it.
fn states(name: &str, bench: &Bench) -> Result<Vec<State>, JackReadingError> {
    let guitar = &bench.guitar;
    let mut named: Vec<(Lever, usize)> = Vec::new();
    let is_whole = name == State::AS_IT_IS && !guitar.joined().is_empty();
    for part in name.split('+').map(str::trim).filter(|_| !is_whole) {
        let (lever, throw) = throw_of(part, guitar)?;
        if named.iter().any(|(known, _)| *known == lever) {
            let lever = lever.name(guitar).to_string();
            return Err(JackReadingError::TwoThrows { given: short(name), lever });
        }
        named.push((lever, throw));
    }
    let on = |lever: Lever| match lever {
        Lever::Switch(switch) => guitar.pickup_switched_at(switch),
        Lever::Selector(_) => 0,
    };
    let standing = State::standing(guitar, named.first().map_or(0, |(lever, _)| on(*lever)));
    if named.iter().any(|(lever, _)| standing.throw_of(*lever).is_none()) {
        return Err(JackReadingError::Apart { given: short(name) });
    }
    let stated = named.iter().fold(standing, |state, (lever, throw)| state.with(*lever, *throw));
    let levers = stated.throws().iter().map(|(lever, _)| *lever);
    let open: Vec<Lever> = levers.filter(|lever| named.iter().all(|(own, _)| own != lever)).collect();
    let left_out = |levers: &[Lever]| JackReadingError::LeftOut {
        given: short(name),
        levers: levers.iter().map(|lever| lever.name(guitar).to_string()).collect(),
        whole: stated.named_by(guitar, |own| levers.contains(&own) || !open.contains(&own)),
    };
    let ways = open.iter().map(|lever| lever.table(guitar).throws().len() as u64);
    if ways.fold(1, u64::saturating_mul) > MOST_LEFT_OPEN {
        return Err(left_out(&open));
    }
    let mut readings = JackReadings::new(&bench.full);
    let mut read = |state: &State| readings.nominal(&state.nets(guitar, &bench.solder));
    let mut all = stated.every(guitar, &open);
    let mut matter = Vec::new();
    for lever in &open {
        for state in &all {
            let (own, other) = (read(state)?, read(&state.with(*lever, 0))?);
            if !alike(own, other) {
                matter.push(*lever);
                break;
            }
        }
    }
    if !matter.is_empty() {
        return Err(left_out(&matter));
    }
    all.sort_by_key(|state| *state != stated);
    Ok(all)
}

/// Returns whether two circuits read the same but for rounding.
fn alike(one: Option<Ohms>, other: Option<Ohms>) -> bool {
    match (one, other) {
        (None, None) => true,
        (Some(one), Some(other)) => {
            (one.value() - other.value()).abs() <= 1e-9 * one.value().max(other.value())
        }
        (None, Some(_)) | (Some(_), None) => false,
    }
}

/// Returns the lever and the place of its throw that a part such as `mode:1` names.
/// Returns the state of `guitar` in which the levers that `name` has stand as it says, and the others as the file has them; the
/// pickup at the place `pickup` is by itself where the file does not say how the pickups are joined.
///
/// # Errors
/// [`JackReadingError`] where there is no such lever or throw, or one lever has two.
pub fn state_named(guitar: &Guitar, pickup: usize, name: &str) -> Result<State, JackReadingError> {
    let standing = State::standing(guitar, pickup);
    let mut named: Vec<Lever> = Vec::new();
    let parts = name.split('+').map(str::trim).filter(|part| *part != State::AS_IT_IS);
    parts.map(|part| throw_of(part, guitar)).try_fold(standing, |state, found| {
        let (lever, throw) = found?;
        if named.contains(&lever) {
            let lever = lever.name(guitar).to_string();
            return Err(JackReadingError::TwoThrows { given: short(name), lever });
        }
        if state.throw_of(lever).is_none() {
            return Err(JackReadingError::Apart { given: short(name) });
        }
        named.push(lever);
        Ok(state.with(lever, throw))
    })
}

fn throw_of(part: &str, guitar: &Guitar) -> Result<(Lever, usize), JackReadingError> {
    let named = |(lever, throw): (Lever, usize)| {
        format!("{}:{}", lever.name(guitar), lever.table(guitar).throws()[throw].number())
    };
    let all = || {
        let throws = |lever: Lever| (0..lever.table(guitar).throws().len()).map(move |throw| (lever, throw));
        guitar.levers().into_iter().flat_map(throws)
    };
    all().find(|own| named(*own) == part).ok_or_else(|| {
        let known: Vec<String> = all().map(named).collect();
        let hint = match nearest(part, known.iter().map(String::as_str)) {
            Some(near) => format!("did you mean `{near}`?"),
            None if known.is_empty() => {
                format!("it has no selector or switch: say \"{}=…\"", State::AS_IT_IS)
            }
            None => format!(
                "it has {}; a switch is read where the guitar's file has its joints under [[switch]]",
                known.join(", ")
            ),
        };
        JackReadingError::UnknownThrow { given: short(part), hint }
    })
}

impl JackReadingError {
    /// Returns what to do about it.
    pub fn hint(&self) -> String {
        match self {
            Self::NoPair { .. } => "write throw=ohms, several separated by commas".to_owned(),
            Self::UnknownThrow { hint, .. } => hint.clone(),
            Self::TwoThrows { .. } => "name each selector and each switch once".to_owned(),
            Self::Apart { .. } => {
                "read the throws of one pickup at a time, or say in the file how the pickups are joined"
                    .to_owned()
            }
            Self::LeftOut { whole, .. } => format!("name it too, as in {whole}=7.9k"),
            Self::Twice { .. } => "give each throw once: the reading that you trust".to_owned(),
            Self::NoMeter { .. } => {
                "write what the meter shows, such as 7.9k, or open where it shows OL".to_owned()
            }
            Self::Unsolved(_) => "some value of the guitar's file is extreme".to_owned(),
        }
    }
}
