//! Where selectors stand so that one pickup is read, and others are not.

use super::{AtJack, Expected, State};
use crate::circuit::Solder;
use crate::guitar::{Guitar, Lever};
use crate::response::VoiceError;
use crate::wiring::Connection;

/// A pickup of a guitar at whose jack it is read, with all levers but its own switches in one place.
#[derive(Debug, Clone)]
pub struct Seat<'g> {
    guitar: &'g Guitar,
    at: AtJack,
    solder: Solder,
    pickup: usize,
    state: State,
}

/// With more states than this, selectors are moved one at a time to look for the best.
const MOST: u64 = 1000;

impl<'g> Seat<'g> {
    /// Returns the seat of the pickup at the place `pickup`: selectors where it is heard with the fewest others, and
    /// nearest to where they stand; the switches of others as they stand.
    ///
    /// # Errors
    /// [`VoiceError`] where a circuit has no solution.
    pub fn of(guitar: &'g Guitar, pickup: usize) -> Result<Self, VoiceError> {
        let at = AtJack::full(guitar);
        let own = guitar.pickups()[pickup].arrangement().connection();
        let solder = Solder::of(guitar);
        // What switches make of a pickup that are joined with others, no arrangement says.
        let is_linked = guitar.joined().linked_on(pickup).is_some();
        let heard_as_usual = if is_linked { solder.clone() } else { solder.strapped(pickup, own) };
        let standing = State::standing(guitar, pickup);
        let selectors: Vec<Lever> =
            guitar.levers().into_iter().filter(|lever| matches!(lever, Lever::Selector(_))).collect();
        let ways = selectors.iter().map(|lever| lever.table(guitar).throws().len() as u64);
        let states = if ways.fold(1, u64::saturating_mul) <= MOST {
            standing.every(guitar, &selectors)
        } else {
            standing.with_one_moved(guitar)
        };
        let mut best = None;
        for state in states {
            let swings = at.swings(&state.nets(guitar, &heard_as_usual))?;
            let heard = heard(guitar, &swings);
            let others = (0..heard.len()).filter(|other| *other != pickup && heard[*other]).count();
            let moved = state.throws().iter().zip(standing.throws()).filter(|(one, other)| one != other);
            let marks = (!heard[pickup], others, moved.count());
            if best.as_ref().is_none_or(|(known, _)| marks < *known) {
                best = Some((marks, state));
            }
        }
        let state = best.map_or(standing, |(_, state)| state);
        Ok(Self { guitar, at, solder, pickup, state })
    }

    /// Returns where all levers stand, the pickup's own switches as well.
    pub fn state(&self) -> &State {
        &self.state
    }

    /// Returns what the meter reads with the pickup's terminals joined so, by no switch; nothing where a buffer stands
    /// between them and the jack.
    ///
    /// # Errors
    /// [`VoiceError`] where the circuit has no solution.
    pub fn expected(&self, connection: Connection) -> Result<Option<Expected>, VoiceError> {
        if self.guitar.buffer().is_some() {
            return Ok(None);
        }
        let solder = self.solder.strapped(self.pickup, connection);
        self.at.expected(&self.state.nets(self.guitar, &solder)).map(Some)
    }

    /// Returns the levers that are not on the pickup, with the throws in which they stand.
    fn others(&self) -> impl Iterator<Item = (Lever, usize)> {
        let is_own = |lever: Lever| match lever {
            Lever::Switch(switch) => self.guitar.pickup_switched_at(switch) == self.pickup,
            Lever::Selector(_) => false,
        };
        self.state.throws().iter().copied().filter(move |(lever, _)| !is_own(*lever))
    }

    /// Returns where the others stand by name, as in `selector:1`; nothing where there is none.
    pub fn name(&self) -> Option<String> {
        let others: Vec<Lever> = self.others().map(|(lever, _)| lever).collect();
        let name = self.state.named_by(self.guitar, |lever| others.contains(&lever));
        (!others.is_empty()).then_some(name)
    }

    /// Returns where the others stand in words, as in `selector at 1 (toward the bridge)`; nothing where there is none.
    pub fn words(&self) -> Option<String> {
        let each = self.others().map(|(lever, throw)| {
            let throw = &lever.table(self.guitar).throws()[throw];
            format!("{} at {} ({})", lever.name(self.guitar), throw.number(), throw.position())
        });
        let each: Vec<String> = each.collect();
        (!each.is_empty()).then(|| each.join(", "))
    }
}

/// Returns of each pickup whether any of its coils makes the meter at the jack swing.
pub(crate) fn heard<T>(guitar: &Guitar, swings: &[Option<T>]) -> Vec<bool> {
    let mut left = swings;
    let of = guitar.pickups().iter().map(|pickup| {
        let (own, rest) = left.split_at(pickup.coil_places().len());
        left = rest;
        own.iter().any(Option::is_some)
    });
    of.collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::Document;

    #[test]
    fn a_pickup_is_read_where_the_selector_leaves_it_alone() {
        let set_neck = Guitar::built_in("set-neck").unwrap();
        let seat = |pickup| Seat::of(&set_neck, pickup).unwrap();
        assert_eq!(seat(0).name().unwrap(), "selector:1");
        assert_eq!(seat(1).words().unwrap(), "selector at 3 (toward the neck)");
        let three = Guitar::built_in("three-two-coil").unwrap();
        assert_eq!(Seat::of(&three, 1).unwrap().name().unwrap(), "selector:3+add-neck:1");
    }

    #[test]
    fn a_selector_stays_where_it_stands_if_the_pickup_is_alone_there() {
        let text = "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\"\n[[pickup]]\nname = \"neck\"\n\
            like = \"mini\"\n[[selector]]\nname = \"knob\"\ntable = \"rotary-six\"\nstands = 4\njoints = [\
            [\"bridge\", \"A1\", \"A4\"], [\"neck\", \"A2\", \"A5\"], [\"out\", \"A0\"]]\n";
        let guitar = Guitar::read(&Document::new("mine.toml", text)).unwrap();
        assert_eq!(Seat::of(&guitar, 0).unwrap().name().unwrap(), "knob:4");
        assert_eq!(Seat::of(&guitar, 1).unwrap().name().unwrap(), "knob:2");
        let alone = Guitar::built_in("travel-mini").unwrap();
        assert_eq!(Seat::of(&alone, 0).unwrap().words(), None);
    }
}
