//! Where the selectors and switches of a guitar stand.

use crate::circuit::{Nets, Solder, Spot};
use crate::guitar::{Guitar, Lever};
use crate::wiring::Connection;
use crate::words::standing;

/// A throw of each lever that is in play: of all, or, where the guitar's file does not say how its pickups are joined,
/// of those on the one pickup that is read by itself.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct State {
    alone: Option<usize>,
    /// The place of each lever's throw, in the order of [`Guitar::levers`].
    throws: Vec<(Lever, usize)>,
}

impl State {
    /// What the one state of a guitar without selector and switch is called.
    pub const AS_IT_IS: &'static str = "as it is";

    /// Returns how `guitar` stands by its file, with the pickup at the place `pickup` by itself where the file does not
    /// say how the pickups are joined.
    pub fn standing(guitar: &Guitar, pickup: usize) -> Self {
        let alone = guitar.joined().is_empty().then_some(pickup);
        let in_play = |lever: &Lever| match (alone, *lever) {
            (None, _) => true,
            (Some(pickup), Lever::Switch(switch)) => guitar.pickup_switched_at(switch) == pickup,
            (Some(_), Lever::Selector(_)) => false,
        };
        let levers = guitar.levers().into_iter().filter(in_play);
        Self { alone, throws: levers.map(|lever| (lever, lever.stands(guitar))).collect() }
    }

    /// Returns the levers with the places of their throws.
    pub fn throws(&self) -> &[(Lever, usize)] {
        &self.throws
    }

    /// Returns the place of the throw of `lever`, where that is in play.
    pub fn throw_of(&self, lever: Lever) -> Option<usize> {
        self.throws.iter().find(|(own, _)| *own == lever).map(|(_, throw)| *throw)
    }

    /// Returns the place of the pickup that is read by itself.
    pub fn alone(&self) -> Option<usize> {
        self.alone
    }

    /// Returns the same with `lever`, where it is in play, in the throw at this place.
    #[must_use]
    pub fn with(&self, lever: Lever, throw: usize) -> Self {
        let moved = |(own, at): &(Lever, usize)| (*own, if *own == lever { throw } else { *at });
        Self { alone: self.alone, throws: self.throws.iter().map(moved).collect() }
    }

    /// Returns the number of states in which the levers in play can stand.
    pub fn ways(&self, guitar: &Guitar) -> u64 {
        let ways = self.throws.iter().map(|(lever, _)| lever.table(guitar).throws().len() as u64);
        ways.fold(1, u64::saturating_mul)
    }

    /// Returns every state in which those of `levers` that are in play stand somehow, and the others as here: the first
    /// lever turns slowest.
    pub fn every(&self, guitar: &Guitar, levers: &[Lever]) -> Vec<Self> {
        let mut all = vec![self.clone()];
        for (lever, _) in self.throws.iter().filter(|(lever, _)| levers.contains(lever)) {
            let throws = 0..lever.table(guitar).throws().len();
            all = all.iter().flat_map(|state| throws.clone().map(|t| state.with(*lever, t))).collect();
        }
        all
    }

    /// Returns this state and every one in which a single lever stands elsewhere.
    pub fn with_one_moved(&self, guitar: &Guitar) -> Vec<Self> {
        let mut all = vec![self.clone()];
        for (lever, at) in &self.throws {
            let elsewhere = (0..lever.table(guitar).throws().len()).filter(|throw| throw != at);
            all.extend(elsewhere.map(|throw| self.with(*lever, throw)));
        }
        all
    }

    /// Returns what it is called: the throws by their numbers, joined by `+`, as in `selector:2+mode:1`.
    pub fn name(&self, guitar: &Guitar) -> String {
        self.named_by(guitar, |_| true)
    }

    /// Returns what it is called by those of its levers that `told` says.
    pub fn named_by(&self, guitar: &Guitar, told: impl Fn(Lever) -> bool) -> String {
        let of = |(lever, throw): &(Lever, usize)| {
            format!("{}:{}", lever.name(guitar), lever.table(guitar).throws()[*throw].number())
        };
        let names: Vec<String> = self.throws.iter().filter(|(lever, _)| told(*lever)).map(of).collect();
        if names.is_empty() { Self::AS_IT_IS.to_owned() } else { names.join("+") }
    }

    /// Returns where each lever is in words, as in `selector toward the bridge; mode lever toward lugs 3`; a lone one is
    /// not named. Nothing where there is none.
    pub fn position(&self, guitar: &Guitar) -> Option<String> {
        let at = |(lever, throw): &(Lever, usize)| lever.table(guitar).throws()[*throw].position().to_owned();
        match self.throws.as_slice() {
            [] => None,
            [only] => Some(at(only)),
            several => {
                let named = several.iter().map(|own| format!("{} {}", own.0.name(guitar), at(own)));
                Some(named.collect::<Vec<_>>().join("; "))
            }
        }
    }

    /// Returns where the levers stand as it goes into a sentence, with the name after it: `with the lever toward lugs 3 (mode:1)`,
    /// `with selector toward the neck, mode lever toward lugs 3 (selector:3+mode:1)`; `as it is` where there is none.
    pub fn in_sentence(&self, guitar: &Guitar) -> String {
        match (self.throws.len(), self.position(guitar)) {
            (1, Some(position)) => format!("{} ({})", standing(&position), self.name(guitar)),
            (_, Some(position)) => format!("with {} ({})", position.replace("; ", ", "), self.name(guitar)),
            (_, None) => Self::AS_IT_IS.to_owned(),
        }
    }

    /// Returns the pairs of lugs that are joined.
    pub fn contacts(&self, guitar: &Guitar) -> Vec<[Spot; 2]> {
        let of = |(lever, throw): &(Lever, usize)| {
            let lever = *lever;
            let contacts = lever.table(guitar).throws()[*throw].contacts().iter();
            contacts.map(move |pair| pair.map(|lug| Spot::Lug(lever, lug))).collect::<Vec<_>>()
        };
        self.throws.iter().flat_map(of).collect()
    }

    /// Returns what is one node of what is soldered in `guitar`.
    pub fn nets(&self, guitar: &Guitar, solder: &Solder) -> Nets {
        solder.nets(self.alone, &self.contacts(guitar))
    }

    /// Returns what the switches on the pickup at this place, or its arrangement where it has none, make of it. Where its
    /// switches are joined with others, what leads out counts as its hot conductor, and ground as its ground.
    pub fn connection(&self, guitar: &Guitar, pickup: usize) -> Connection {
        if guitar.joined().linked_on(pickup).is_some() {
            return self.nets(guitar, &Solder::of(guitar)).of_pickup(pickup);
        }
        let throw_of = |switch: usize| self.throw_of(Lever::Switch(switch));
        let switched = guitar.switched(pickup, throw_of);
        switched.unwrap_or_else(|| guitar.pickups()[pickup].arrangement().connection())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::Document;

    /// A selector that stands in its second throw, and two switches, both on the bridge pickup.
    fn guitar() -> Guitar {
        let text = "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\"\n[[pickup]]\nname = \"neck\"\n\
            like = \"mini\"\narrangement = \"parallel\"\n[[selector]]\nname = \"selector\"\nstands = 2\n\
            table = \"three-way-toggle\"\njoints = [[\"bridge\", \"1\"], [\"neck\", \"2\"], [\"out\", \"0\"]]\n\
            [[switch]]\nname = \"mode\"\non = \"bridge\"\ntable = \"on-on-single\"\n\
            joints = [[\"a+\", \"hot\"], [\"a-\", \"b+\", \"L2\"], [\"b-\", \"ground\", \"L3\"]]\n\
            [[switch]]\nname = \"other\"\non = \"bridge\"\ntable = \"on-on-single\"\n\
            joints = [[\"hot\", \"L3\"], [\"a-\", \"L2\"]]\n";
        Guitar::read(&Document::new("mine.toml", text)).unwrap()
    }

    #[test]
    fn states_are_called_by_selectors_and_then_switches() {
        let guitar = guitar();
        let standing = State::standing(&guitar, 0);
        assert_eq!(standing.name(&guitar), "selector:2+mode:1+other:1");
        let told = standing.position(&guitar).unwrap();
        assert!(told.starts_with("selector middle; mode lever toward"), "{told}");
        assert_eq!(standing.ways(&guitar), 12);
        let all = standing.every(&guitar, &guitar.levers());
        let names: Vec<String> = all.iter().map(|state| state.name(&guitar)).collect();
        assert_eq!(names[..2], ["selector:1+mode:1+other:1", "selector:1+mode:1+other:3"]);
        assert_eq!((names.len(), names[11].as_str()), (12, "selector:3+mode:3+other:3"));
        let moved: Vec<String> =
            standing.with_one_moved(&guitar).iter().map(|state| state.name(&guitar)).collect();
        assert_eq!(moved[1..3], ["selector:1+mode:1+other:1", "selector:3+mode:1+other:1"]);
        assert_eq!(moved.len(), 5);
    }

    /// Series; the coils' joint to ground, or to hot, or both at once, which shorts hot.
    #[test]
    fn two_switches_on_one_pickup_make_one_connection() {
        let guitar = guitar();
        let labels: Vec<String> = State::standing(&guitar, 0)
            .every(&guitar, &guitar.levers()[1..])
            .iter()
            .map(|state| state.connection(&guitar, 0).label())
            .collect();
        assert_eq!(labels, ["series", "split-b", "split-a", "hot shorted to ground"]);
        assert_eq!(State::standing(&guitar, 0).connection(&guitar, 1).label(), "parallel");
    }

    #[test]
    fn pickups_that_are_not_joined_have_states_of_their_own() {
        let guitar = Guitar::built_in("short-scale-blade").unwrap();
        let alone = State::standing(&guitar, 1);
        assert_eq!((alone.alone(), alone.name(&guitar)), (Some(1), "as it is".to_owned()));
        assert_eq!((alone.position(&guitar), alone.ways(&guitar)), (None, 1));
    }
}
