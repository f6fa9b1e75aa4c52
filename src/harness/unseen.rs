//! What a meter at the jack cannot show of a cavity, whatever is read there, and which test shows it.

use std::collections::BTreeMap;

use serde::Serialize;

use super::meter::Mistake;
use super::reading::ReadWhere;
use super::{Change, Harness, Meter, PartKind, Role, Terminal, TwoLegs, Wire};
use crate::jack::Expected;

/// Mistakes that no reading at the jack shows, and the one test that shows them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Unseen {
    /// The test.
    pub settle_by: String,
    /// Each mistake in words.
    pub mistakes: Vec<String>,
}

/// What a mistake is about: what is tested.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum About {
    /// Leads of pickups, or which pickup is on which lug.
    Leads,
    /// The tone branch of the pot of this track.
    Tone(usize),
    /// Another part of two legs, by its place among all parts.
    Legs(usize),
    /// Two terminals that should be joined, or should not.
    Joint,
}

impl Meter {
    /// Returns every single mistake that changes what is heard, or takes metal off ground, and that no reading shows: in every
    /// state with all knobs at 10, each volume at 0 and 5, each tone, bass cut and blend at 0, and all metal against the sleeve.
    /// The wires are `wires` where these are the wanted circuit, else those of the plan.
    pub fn unseen(&self, wires: &[Wire]) -> Vec<Unseen> {
        let harness = self.nominal();
        let planned = || harness.plan().map_or_else(|| harness.simple_wires(), |plan| plan.ends());
        let wires = if harness.check(wires).is_as_wanted() { wires.to_vec() } else { planned() };
        let places: Vec<(ReadWhere, Expected)> =
            self.places().into_iter().map(|place| (place, self.expected(place))).collect();
        let mut groups: BTreeMap<About, Vec<String>> = BTreeMap::new();
        for mistake in harness.mistakes(&wires) {
            let (wiring, broken) = harness.with_mistake(&wires, mistake);
            let is_harmless =
                broken.is_none() && harness.is_safe(&wiring) && harness.differing(&wiring).next().is_none();
            let shows = |(place, expected): &(ReadWhere, Expected)| {
                self.reads_otherwise(*place, *expected, &wiring, broken)
            };
            if !is_harmless && !places.iter().any(shows) {
                groups.entry(harness.about(mistake)).or_default().push(harness.told(mistake));
            }
        }
        let unseen = |(about, mistakes)| Unseen { settle_by: harness.settled_by(about), mistakes };
        groups.into_iter().map(unseen).collect()
    }

    /// Returns every place of reading.
    fn places(&self) -> Vec<ReadWhere> {
        let harness = self.nominal();
        let mut places: Vec<ReadWhere> = harness.metal.iter().map(|metal| ReadWhere::Metal(*metal)).collect();
        if harness.branches.follower.is_some() {
            return places;
        }
        for state in 0..harness.throws.len() {
            places.push(ReadWhere::Jack { state, knob: None });
            for (track, own) in harness.branches.tracks.iter().enumerate() {
                let turned: &[f64] = match own.role {
                    Role::Volume => &[0.0, 5.0],
                    Role::Tone | Role::BassCut | Role::Blend => &[0.0],
                };
                places.extend(turned.iter().map(|at| ReadWhere::Jack { state, knob: Some((track, *at)) }));
            }
        }
        places
    }
}

impl Harness {
    /// Returns the test that shows a mistake.
    pub(super) fn test_of(&self, mistake: Mistake) -> String {
        self.settled_by(self.about(mistake))
    }

    fn about(&self, mistake: Mistake) -> About {
        let ends = match mistake {
            Mistake::Change(
                Change::Remove(ends)
                | Change::Add(ends)
                | Change::Exchange(ends)
                | Change::Move { wire: ends, .. },
            ) => ends,
            Mistake::CoilOpen(_) | Mistake::CoilShorted(_) => return About::Leads,
            Mistake::TrackBroken(track) => {
                return if self.branches.tracks[track].role == Role::Tone {
                    About::Tone(track)
                } else {
                    About::Joint
                };
            }
        };
        let of_part = |terminal: Terminal| {
            let part = self.parts.part_of(terminal);
            match part.kind() {
                PartKind::Pot(Role::Tone, whose) | PartKind::TwoLegs(TwoLegs::ToneCapacitor, whose) => {
                    let is_own =
                        |track: &super::branches::Track| track.role == Role::Tone && track.whose == whose;
                    self.branches.tracks.iter().position(is_own).map(About::Tone)
                }
                PartKind::TwoLegs(..) => self.parts.all().iter().position(|own| own == part).map(About::Legs),
                PartKind::Pickup(_) => Some(About::Leads),
                PartKind::Pot(..)
                | PartKind::Lever(_)
                | PartKind::Jack
                | PartKind::Strings
                | PartKind::Cavity
                | PartKind::Buffer
                | PartKind::Battery => None,
            }
        };
        // What is exchanged between lugs is heard where another pickup is.
        let usual =
            if matches!(mistake, Mistake::Change(Change::Exchange(_))) { About::Leads } else { About::Joint };
        // Leads that touch a tone pot's lug are of the pot.
        ends.into_iter().filter_map(of_part).max_by_key(|about| *about != About::Leads).unwrap_or(usual)
    }

    fn settled_by(&self, about: About) -> String {
        match about {
            About::Leads => "plug in at a low volume and tap each coil's poles with steel, position by position: it must sound where \
                             it should and nowhere else; two coils together must be louder and fuller than either alone, not thinner"
                .to_owned(),
            About::Tone(track) => {
                let own = &self.branches.tracks[track];
                let capacitor = self.parts.of_kind(PartKind::TwoLegs(TwoLegs::ToneCapacitor, own.whose));
                let capacitor = capacitor.map_or_else(|| "the capacitor".to_owned(), |own| self.parts.the_part(own));
                let pot = self.parts.the_part(&self.parts.all()[own.part]);
                let hung = self.hung(own.wiper).map(|lug| self.parts.told(lug));
                let beep = hung.map_or_else(String::new, |lug| {
                    format!("unplugged, {lug} must beep against one end of the tone control and its capacitor; ")
                });
                format!(
                    "{beep}across {capacitor} the meter must not beep, nor read anything but open once it is charged; {pot} must \
                     read its track between its used lugs as it is turned; plugged in, the sound must darken evenly as it is turned \
                     down"
                )
            }
            About::Legs(part) => format!(
                "across {} the meter must read what it is worth, a capacitor open; plugged in, turn its knob: the sound must change \
                 as it is meant to",
                self.parts.the_part(&self.parts.all()[part])
            ),
            About::Joint => {
                "unplugged, continuity between the two named: a beep where they are to be joined, none where they are not".to_owned()
            }
        }
    }

    /// Returns the lug outside the tone branch that it hangs on, of the net of its `wiper`.
    fn hung(&self, wiper: Terminal) -> Option<Terminal> {
        let net = self.wanted.nets().iter().find(|net| net.contains(&wiper))?;
        let is_volume =
            |own: &&Terminal| matches!(self.parts.part_of(**own).kind(), PartKind::Pot(Role::Volume, _));
        net.iter().find(is_volume).copied()
    }
}
