//! What names ask for: an arrangement, a throw of a soldered switch such as `mode:1` (`mode:1+phase:3` of two on one
//! pickup), a position of the whole guitar such as `selector:2+neck=parallel`; and `all`, `throws` and `positions`, which
//! are several. A throw of a switch that is joined with other switches is a position of the whole guitar.

use super::{PositionError, Scope, Voice, VoiceError, switch_named, throw_numbered, thrown};
use crate::document::nearest;
use crate::guitar::{Guitar, Pickup, Selector, UnknownPickup};
use crate::wiring::{Arrangement, Connection, Soldered, UnknownArrangement};

/// The word for every arrangement of the pickup.
pub const ALL: &str = "all";
/// The word for every throw of every switch on the pickup.
pub const THROWS: &str = "throws";
/// The word for every throw of the first selector.
pub const POSITIONS: &str = "positions";

/// What is meant of a two-coil pickup where nothing is named: what a builder would consider.
pub const USUAL: [Arrangement; 6] = [
    Arrangement::Series,
    Arrangement::Parallel,
    Arrangement::SplitA,
    Arrangement::SplitB,
    Arrangement::SeriesReversed,
    Arrangement::ParallelReversed,
];

/// Names that ask for nothing that can be heard.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SelectionError {
    /// No arrangement is called so.
    #[error(transparent)]
    Unknown(UnknownArrangement),
    /// A throw or a position does not exist.
    #[error(transparent)]
    Position(#[from] PositionError),
    /// There is no such pickup.
    #[error(transparent)]
    Pickup(#[from] UnknownPickup),
    /// A position is of the whole guitar, and one pickup is asked for.
    #[error("`{position}` is of the whole guitar, and pickup `{pickup}` is asked for")]
    WholeGuitar {
        /// The position's name.
        position: String,
        /// The pickup's name.
        pickup: String,
    },
    /// A throw is of a switch on another pickup than the one asked for.
    #[error("switch `{switch}` is on pickup `{on}`, and not on `{pickup}`")]
    OnAnotherPickup {
        /// The switch's name.
        switch: String,
        /// The pickup that it is on.
        on: String,
        /// The pickup asked for.
        pickup: String,
    },
    /// One voice is named twice.
    #[error("`{name}` is listed twice")]
    Twice {
        /// Its name.
        name: String,
    },
    /// A name is that of several voices where one is wanted.
    #[error("`{name}` is several, and one is wanted")]
    Several {
        /// The name.
        name: String,
        /// One of them.
        one: String,
    },
    /// The baseline is none of the voices.
    #[error("the baseline `{name}` is not among the arrangements {}", known.join(", "))]
    NoBaseline {
        /// The name as given.
        name: String,
        /// The voices' names.
        known: Vec<String>,
    },
    /// There is no voice to select.
    #[error("nothing is selected")]
    Nothing,
    /// A voice has no circuit or no response.
    #[error(transparent)]
    Voice(#[from] VoiceError),
}

impl SelectionError {
    /// Returns what to do about it.
    pub fn hint(&self) -> String {
        match self {
            Self::Unknown(unknown) => unknown.hint().unwrap_or_else(|| {
                "name one, or a throw such as mode:1, or a position such as selector:2".to_owned()
            }),
            Self::Position(error) => error.hint(),
            Self::Pickup(unknown) => format!("name one of {}", unknown.known),
            Self::WholeGuitar { .. } => "name no pickup".to_owned(),
            Self::OnAnotherPickup { on, .. } => format!("name pickup {on}, or none"),
            Self::Twice { .. } => "list each arrangement once".to_owned(),
            Self::Several { one, .. } => format!("name one, such as {one}"),
            Self::NoBaseline { name, known } => nearest(name, known.iter().map(String::as_str)).map_or_else(
                || "list it as well, or choose one of those".to_owned(),
                |near| format!("did you mean `{near}`?"),
            ),
            Self::Nothing => "name at least one arrangement, throw or position".to_owned(),
            Self::Voice(error) => error.hint().to_owned(),
        }
    }
}

impl<'g> Scope<'g> {
    /// Returns what of `guitar` voices called `names` connect: the whole guitar where one is a position of it, else the
    /// `pickup` asked for, or the one whose throws they name, or the guitar's first.
    ///
    /// # Errors
    /// [`SelectionError`] where there is no such pickup or switch, or a position and one pickup are asked for.
    pub fn of_names(
        guitar: &'g Guitar,
        pickup: Option<&str>,
        names: &[impl AsRef<str>],
    ) -> Result<Self, SelectionError> {
        let throws_are = throws_are_positions(guitar, pickup);
        let is_one = |name: &&str| names_position(guitar, name) || throws_are && *name == THROWS;
        let mut given = names.iter().map(AsRef::as_ref);
        match (given.clone().find(is_one), pickup) {
            (Some(position), Some(pickup)) => {
                Err(SelectionError::WholeGuitar { position: position.to_owned(), pickup: pickup.to_owned() })
            }
            (Some(_), None) => Ok(Self::Guitar),
            (None, Some(pickup)) => Ok(Self::Pickup(guitar.pickup(Some(pickup))?)),
            (None, None) => match given.find(|name| names_throw(name)) {
                Some(name) => pickup_of_throw(guitar, name).map(Self::Pickup),
                None => Ok(Self::Pickup(guitar.pickup(None)?)),
            },
        }
    }
}

/// Returns the voices that `names` ask for of `guitar`, where `scope` of it is heard, in their order; those that are
/// [`USUAL`], or every position, where nothing is named.
///
/// # Errors
/// [`SelectionError`] where a name asks for nothing, or a voice is named twice.
pub fn voices_named(
    guitar: &Guitar,
    scope: Scope<'_>,
    names: &[impl AsRef<str>],
) -> Result<Vec<Voice>, SelectionError> {
    let names: Vec<&str> = names.iter().map(AsRef::as_ref).collect();
    let lists: Result<Vec<Vec<Voice>>, SelectionError> = match (scope, &names[..]) {
        (Scope::Pickup(pickup), []) => {
            let available = pickup.arrangements();
            let usual = USUAL.into_iter().chain([Arrangement::Alone]);
            return Ok(usual.filter(|a| available.contains(a)).map(Voice::of).collect());
        }
        (Scope::Pickup(pickup), [ALL]) => {
            return Ok(pickup.arrangements().into_iter().map(Voice::of).collect());
        }
        (Scope::Pickup(pickup), _) => names.iter().map(|name| of_pickup(guitar, pickup, name)).collect(),
        (Scope::Guitar, []) => return of_guitar(guitar, POSITIONS),
        (Scope::Guitar, _) => names.iter().map(|name| of_guitar(guitar, name)).collect(),
    };
    let mut voices: Vec<Voice> = Vec::new();
    for voice in lists?.into_iter().flatten() {
        if voices.iter().any(|v| v.name() == voice.name()) {
            return Err(SelectionError::Twice { name: voice.name().to_owned() });
        }
        voices.push(voice);
    }
    Ok(voices)
}

/// Returns the one voice of `guitar` called `name`, where `scope` of it is heard.
///
/// # Errors
/// [`SelectionError`] where the name asks for nothing or for several.
pub fn voice_named(guitar: &Guitar, scope: Scope<'_>, name: &str) -> Result<Voice, SelectionError> {
    let voices = match scope {
        Scope::Pickup(pickup) => of_pickup(guitar, pickup, name)?,
        Scope::Guitar => of_guitar(guitar, name)?,
    };
    match <[Voice; 1]>::try_from(voices) {
        Ok([voice]) => Ok(voice),
        Err(several) => match several.first() {
            Some(one) => Err(SelectionError::Several { name: name.to_owned(), one: one.name().to_owned() }),
            None => Err(SelectionError::Nothing),
        },
    }
}

/// Returns the place of the baseline called `name` among `voices`: without a name that of `series`, else of the first.
///
/// # Errors
/// [`SelectionError::NoBaseline`] where none of them is called so.
pub fn baseline_among(voices: &[Voice], name: Option<&str>) -> Result<usize, SelectionError> {
    let listed = |name: &str| voices.iter().position(|v| v.name() == name);
    let Some(name) = name else { return Ok(listed(Arrangement::Series.name()).unwrap_or(0)) };
    listed(name).ok_or_else(|| SelectionError::NoBaseline {
        name: name.to_owned(),
        known: voices.iter().map(|voice| voice.name().to_owned()).collect(),
    })
}

/// Returns whether `name` is one of the whole guitar's positions, or asks for all of them.
pub fn names_position(guitar: &Guitar, name: &str) -> bool {
    let of_a_selector = |part: &str| {
        let joined = guitar.joined();
        let selectors = joined.selectors().iter().map(Selector::name);
        let linked = joined.linked().iter().map(|linked| &guitar.switches()[linked.switch()].name().value);
        let known = |name: &str| selectors.chain(linked).any(|own| own.as_str() == name);
        part.split_once(':').is_some_and(|(name, _)| known(name))
    };
    // Of pickups that are not joined, throws of several switches are of the one pickup that they are on.
    let of_several = name.contains('=') || name.contains('+') && !guitar.joined().is_empty();
    name == POSITIONS || of_several || of_a_selector(name)
}

/// Returns whether `name` asks for throws.
fn names_throw(name: &str) -> bool {
    name == THROWS || name.contains(':')
}

/// Returns whether the throws of the switches on the pickup called so, or else on that of the first switch, are positions
/// of the whole guitar: they are joined with other switches.
fn throws_are_positions(guitar: &Guitar, pickup: Option<&str>) -> bool {
    let first = || guitar.switches().first().map(|switch| guitar.switched_by(switch).name().as_str());
    let name = pickup.or_else(first);
    let place = guitar.pickups().iter().position(|pickup| Some(pickup.name().as_str()) == name);
    place.is_some_and(|place| guitar.joined().linked_on(place).is_some())
}

/// Returns the pickup whose switch `name` is a throw of.
fn pickup_of_throw<'g>(guitar: &'g Guitar, name: &str) -> Result<&'g Pickup, SelectionError> {
    let switch = match name.split_once(':') {
        Some((switch, _)) => switch_named(guitar, switch)?,
        None => guitar.switches().first().ok_or_else(|| no_switches(guitar))?,
    };
    Ok(guitar.switched_by(switch))
}

fn of_guitar(guitar: &Guitar, name: &str) -> Result<Vec<Voice>, SelectionError> {
    Ok(match name {
        POSITIONS => Voice::at_every_position(guitar)?,
        THROWS => Voice::at_every_linked_throw(guitar),
        _ => vec![Voice::at_position(guitar, name)?],
    })
}

fn of_pickup(guitar: &Guitar, pickup: &Pickup, name: &str) -> Result<Vec<Voice>, SelectionError> {
    if names_throw(name) {
        return throws_of(guitar, pickup, name);
    }
    Ok(vec![Voice::of(name.parse().map_err(SelectionError::Unknown)?)])
}

/// Returns the voices that `name`, a throw of each of several switches or of one, or all of them, asks for on `pickup`; a
/// switch that is not named stands in its first.
fn throws_of(guitar: &Guitar, pickup: &Pickup, name: &str) -> Result<Vec<Voice>, SelectionError> {
    let place = guitar.pickups().iter().position(|own| own.name() == pickup.name()).unwrap_or_default();
    let voice = |name: &str, connection: Connection| Voice::wired(name, connection, connection.arrangement());
    if name == THROWS {
        let all = thrown(guitar, place);
        let voices: Vec<Voice> = all.iter().map(|(name, connection)| voice(name, *connection)).collect();
        return if voices.is_empty() { Err(no_switches(guitar).into()) } else { Ok(voices) };
    }
    let mut throws = vec![0; guitar.switches().len()];
    for part in name.split('+') {
        let (switch, throw) =
            part.split_once(':').ok_or_else(|| PositionError::NoPart { part: part.to_owned() })?;
        let switch: &Soldered = switch_named(guitar, switch)?;
        let on = guitar.switched_by(switch);
        if on.name() != pickup.name() {
            return Err(SelectionError::OnAnotherPickup {
                switch: switch.name().value.to_string(),
                on: on.name().to_string(),
                pickup: pickup.name().to_string(),
            });
        }
        let own = guitar.switches().iter().position(|known| known.name() == switch.name());
        throws[own.unwrap_or_default()] = throw_numbered(switch, throw)?;
    }
    let connection =
        guitar.switched(place, |switch| Some(throws[switch])).ok_or_else(|| no_switches(guitar))?;
    Ok(vec![voice(name, connection)])
}

fn no_switches(guitar: &Guitar) -> PositionError {
    PositionError::NoSwitches { guitar: guitar.name().to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::Document;

    fn names(guitar: &Guitar, pickup: Option<&str>, asked: &[&str]) -> Result<Vec<String>, SelectionError> {
        let voices = voices_named(guitar, Scope::of_names(guitar, pickup, asked)?, asked)?;
        Ok(voices.iter().map(|voice| voice.name().to_owned()).collect())
    }

    #[test]
    fn what_is_not_named_is_usual_and_words_ask_for_several() {
        let two_coils = Guitar::built_in("set-neck").unwrap();
        let usual = USUAL.map(Arrangement::name);
        assert_eq!(names(&two_coils, None, &[]).unwrap(), usual);
        assert_eq!(
            names(&two_coils, None, &["all"]).unwrap().len(),
            two_coils.pickups()[0].arrangements().len()
        );
        let joined = Guitar::built_in("bolt-on-three-single").unwrap();
        assert_eq!(names(&joined, None, &[]).unwrap(), ["alone"]);
        let positions = names(&joined, None, &["positions"]).unwrap();
        assert_eq!(positions.len(), joined.joined().selectors()[0].switch().throws().len());
        assert_eq!(names(&joined, None, &[&positions[1]]).unwrap(), positions[1..2]);
        let text = "format = 1\nname = \"x\"\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\"\n[[switch]]\n\
                    name = \"mode\"\non = \"bridge\"\ntable = \"on-on\"\njoints = [[\"a+\", \"hot\", \"L3\"], \
                    [\"a-\", \"L1\", \"R2\"], [\"b+\", \"L2\"], [\"b-\", \"ground\", \"R3\"]]\n";
        let switched = Guitar::read(&Document::new("x", text)).unwrap();
        assert_eq!(names(&switched, None, &["throws"]).unwrap(), ["mode:1", "mode:3"]);
        assert_eq!(names(&switched, None, &["mode:3"]).unwrap(), ["mode:3"]);
    }

    #[test]
    fn what_asks_for_nothing_is_refused_with_what_to_do() {
        let guitar = Guitar::built_in("set-neck").unwrap();
        let told = |error: SelectionError| format!("{error}; {}", error.hint());
        let refused = |asked: &[&str]| told(names(&guitar, None, asked).unwrap_err());
        assert!(refused(&["seris"]).ends_with("did you mean `series`?"), "{}", refused(&["seris"]));
        assert!(refused(&["series", "series"]).starts_with("`series` is listed twice"));
        assert!(refused(&["mode:1"]).contains("no switch is soldered in"));
        let joined = Guitar::built_in("bolt-on-three-single").unwrap();
        let both = names(&joined, Some("neck"), &["positions"]).unwrap_err();
        assert!(matches!(both, SelectionError::WholeGuitar { .. }), "{both}");
        let several = voice_named(&joined, Scope::Guitar, "positions").unwrap_err();
        assert!(told(several).contains("is several, and one is wanted; name one, such as "));
        let voices = voices_named(&guitar, (&guitar.pickups()[0]).into(), &["parallel", "split-a"]).unwrap();
        assert_eq!(baseline_among(&voices, None), Ok(0));
        let baseline = told(baseline_among(&voices, Some("split-b")).unwrap_err());
        assert!(baseline.ends_with("did you mean `split-a`?"), "{baseline}");
    }
}
