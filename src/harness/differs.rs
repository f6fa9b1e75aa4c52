//! A difference that has no name of its own, told by what takes part in the sound.

use super::Harness;
use super::fault::{FaultKind, WiringFault};
use super::identity::Slot;
use super::judge::Case;
use super::wiring::Wiring;
use crate::quantity::listed;

pub(super) fn fault(case: &Case<'_>) -> WiringFault {
    let harness = case.harness;
    // What acts and should not, and what should and does not, with the states in which it is so.
    let mut told: Vec<([Vec<String>; 2], Vec<usize>)> = Vec::new();
    for place in case.differing {
        let [wanted, there] =
            [&harness.as_wanted, case.wiring].map(|wiring| harness.taking_part(wiring, *place));
        let without = |one: &[String], other: &[String]| -> Vec<String> {
            one.iter().filter(|name| !other.contains(name)).cloned().collect()
        };
        let difference = [without(&there, &wanted), without(&wanted, &there)];
        match told.iter_mut().find(|(own, _)| *own == difference) {
            Some((_, places)) => places.push(*place),
            None => told.push((difference, vec![*place])),
        }
    }
    let sentence = |([extra, lacking], places): &([Vec<String>; 2], Vec<usize>)| {
        let (more, less) = (listed(extra), listed(lacking));
        let one_or_more =
            |names: &[String], [one, more]: [&'static str; 2]| if names.len() == 1 { one } else { more };
        let [take, takes] = [extra, lacking].map(|names| one_or_more(names, ["takes", "take"]));
        let at = harness.at(places);
        match (extra.is_empty(), lacking.is_empty()) {
            (true, true) => format!("the same parts take part {at}, and are joined otherwise"),
            (false, true) => format!("{more} {take} part {at} and should not"),
            (true, false) => format!("{less} {takes} no part {at} and should"),
            (false, false) => {
                let does = one_or_more(lacking, ["does", "do"]);
                format!("{more} {take} part {at} and should not, and {less} should and {does} not")
            }
        }
    };
    let words: Vec<String> = told.iter().map(sentence).collect();
    let mut names: Vec<String> = told.iter().flat_map(|(own, _)| own.iter().flatten().cloned()).collect();
    names.sort();
    names.dedup();
    harness.fault(FaultKind::Differs, &names.join(" and "), case.differing, words.join("; "))
}

impl Harness {
    /// Returns the parts whose value matters to what is heard in the state at `place`.
    fn taking_part(&self, wiring: &Wiring, place: usize) -> Vec<String> {
        let branches = &self.branches;
        let tracks = branches.tracks.iter().enumerate().map(|(own, track)| (track.part, Slot::Track(own)));
        let fixed = branches.fixed.iter().enumerate().map(|(own, branch)| (branch.part, Slot::Fixed(own)));
        let coils = branches.coils.iter().enumerate().map(|(own, coil)| (coil.part, Slot::Coil(own)));
        let as_it_is = self.signature(wiring, place);
        let mut names: Vec<String> = tracks
            .chain(fixed)
            .chain(coils)
            .filter(|(_, slot)| {
                let other = self.exact.with_another(*slot);
                other.signature(branches, &self.throws, wiring, place) != as_it_is
            })
            .map(|(part, _)| self.parts.all()[part].name().to_owned())
            .collect();
        names.dedup();
        names
    }
}
