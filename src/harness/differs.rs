//! A difference that has no name of its own, told by the parts that act on the sound.

use super::Harness;
use super::fault::{FaultKind, WiringFault};
use super::identity::Slot;
use super::judge::Case;
use super::wiring::Wiring;
use crate::quantity::listed;

pub(super) fn fault(case: &Case<'_>) -> WiringFault {
    let harness = case.harness;
    // The parts that act and should not, and those that should and do not, with the states in which it is so.
    let mut told: Vec<([Vec<usize>; 2], Vec<usize>)> = Vec::new();
    for place in case.differing {
        let [wanted, there] = [&harness.as_wanted, case.wiring].map(|wiring| harness.acting(wiring, *place));
        let without = |one: &[usize], other: &[usize]| -> Vec<usize> {
            one.iter().filter(|part| !other.contains(part)).copied().collect()
        };
        let difference = [without(&there, &wanted), without(&wanted, &there)];
        match told.iter_mut().find(|(own, _)| *own == difference) {
            Some((_, places)) => places.push(*place),
            None => told.push((difference, vec![*place])),
        }
    }
    let words: Vec<String> =
        told.iter().map(|(parts, places)| sentence(harness, parts, &harness.at(places))).collect();
    let all = harness.parts.all();
    let mut names: Vec<&str> =
        told.iter().flat_map(|(own, _)| own.iter().flatten()).map(|part| all[*part].name()).collect();
    names.sort_unstable();
    names.dedup();
    harness.fault(FaultKind::Differs, &names.join(" and "), case.differing, words.join("; "))
}

/// Returns which parts act `at` a state and should not, and which should and do not.
fn sentence(harness: &Harness, [extra, lacking]: &[Vec<usize>; 2], at: &str) -> String {
    let called = |parts: &[usize]| {
        let words: Vec<String> =
            parts.iter().map(|part| harness.parts.the_part(&harness.parts.all()[*part])).collect();
        let [acts, does] = if let [_] = parts { ["acts", "does"] } else { ["act", "do"] };
        (listed(&words), acts, does)
    };
    let ((more, act, _), (less, _, does)) = (called(extra), called(lacking));
    match (extra.is_empty(), lacking.is_empty()) {
        (true, true) => format!("the right parts act {at}, and are joined in another way"),
        (false, true) => format!("{more} {act} {at}, and should not"),
        (true, false) => format!("{less} {does} not act {at}, and should"),
        (false, false) => format!("{more} {act} {at} and should not, and {less} should and {does} not"),
    }
}

impl Harness {
    /// Returns the parts, by their places, whose value matters to what is heard in the state at `place`.
    fn acting(&self, wiring: &Wiring, place: usize) -> Vec<usize> {
        let branches = &self.branches;
        let tracks = branches.tracks.iter().enumerate().map(|(own, track)| (track.part, Slot::Track(own)));
        let fixed = branches.fixed.iter().enumerate().map(|(own, branch)| (branch.part, Slot::Fixed(own)));
        let coils = branches.coils.iter().enumerate().map(|(own, coil)| (coil.part, Slot::Coil(own)));
        let as_it_is = self.signature(wiring, place);
        let mut parts: Vec<usize> = tracks
            .chain(fixed)
            .chain(coils)
            .filter(|(_, slot)| {
                let other = self.exact.with_another(*slot);
                other.signature(branches, &self.throws, wiring, place) != as_it_is
            })
            .map(|(part, _)| part)
            .collect();
        parts.dedup();
        parts
    }
}
