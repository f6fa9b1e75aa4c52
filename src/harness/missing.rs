//! What is still to be soldered, where nothing that is there is wrong.

use super::union::Union;
use super::wiring::Wiring;
use super::{Harness, PartKind, Terminal, Wanted, Wire};

/// Of more parts of two legs than this not every way round is tried.
const MOST_TURNED: usize = 8;

impl Harness {
    /// Returns the joints that `wires` lack, those of `planned` first where they are among them; nothing where a wire is wrong, or
    /// none is missing. Each can be soldered without taking another off.
    pub fn left_to_solder(&self, wires: &[Wire], planned: &[Wire]) -> Option<Vec<Wire>> {
        let Wiring { mut solder, .. } = Wiring::of(&self.parts, &self.branches, wires);
        let nets = self.unfinished(wires, &solder, planned)?;
        let mut left: Vec<Wire> = Vec::new();
        for wire in planned {
            let [one, other] = wire.map(Terminal::index);
            let is_led = |lead: &Terminal| {
                self.parts.is_lead(*lead) && wires.iter().chain(&left).any(|own| own.contains(lead))
            };
            let is_of_a_net = nets.iter().any(|net| wire.iter().all(|end| net.contains(end)));
            if is_of_a_net && !solder.joins(one, other) && !wire.iter().any(is_led) {
                solder.join(one, other);
                left.push(*wire);
            }
        }
        let apart = self.representatives(&solder);
        for net in &nets {
            let of_net = |own: &&Terminal| net.iter().any(|end| solder.joins(end.index(), own.index()));
            let ends: Vec<Terminal> = apart.iter().filter(of_net).copied().collect();
            // A lug takes more wires than a lead does.
            let middle = ends.iter().position(|end| !self.parts.is_lead(*end)).unwrap_or(0);
            let others = ends.iter().enumerate().filter(|(place, _)| *place != middle);
            left.extend(others.map(|(_, end)| [ends[middle], *end]));
        }
        Some(left)
    }

    /// Returns how many joints `wires` lack where none of them is wrong.
    pub(super) fn missing(&self, wires: &[Wire], solder: &Union) -> Option<usize> {
        let nets = self.unfinished(wires, solder, &[])?;
        Some(nets.iter().map(|net| apart(solder, net)).sum())
    }

    /// Returns the nets, over every order of the tone controls and either way round of every part of two legs, of which the wires
    /// that are there join the most and no two, of equal ones those of `planned`; nothing where they fit none, or make all of them.
    fn unfinished(&self, wires: &[Wire], solder: &Union, planned: &[Wire]) -> Option<Vec<Vec<Terminal>>> {
        let is_wired = |leg: Terminal| wires.iter().chain(planned).any(|wire| wire.contains(&leg));
        let legs = self.parts.all().iter().filter(|part| matches!(part.kind(), PartKind::TwoLegs(..)));
        let legs =
            legs.map(|part| [part.at(0), part.at(1)]).filter(|legs| legs.iter().any(|own| is_wired(*own)));
        let legs: Vec<[Terminal; 2]> = legs.take(MOST_TURNED).collect();
        let mut fitting: Vec<(usize, Vec<Vec<Terminal>>)> = Vec::new();
        for order in self.orders() {
            let wanted = Wanted::ordered(&self.parts, &order);
            for turned in 0..1_usize << legs.len() {
                let is_turned = legs.iter().enumerate().filter(|(place, _)| turned >> place & 1 == 1);
                let is_turned: Vec<[Terminal; 2]> = is_turned.map(|(_, legs)| *legs).collect();
                let nets = with_turned(wanted.nets(), &is_turned);
                if is_within(wires, &nets) {
                    fitting.push((nets.iter().map(|net| apart(solder, net)).sum(), nets));
                }
            }
        }
        fitting.sort_by_key(|(missing, nets)| (*missing, !is_within(planned, nets)));
        let found = fitting.into_iter().find(|(_, nets)| self.is_finished_by(solder, nets));
        found.filter(|(missing, _)| *missing > 0).map(|(_, nets)| nets)
    }

    /// Returns whether the wires are the circuit once the nets are joined.
    fn is_finished_by(&self, solder: &Union, nets: &[Vec<Terminal>]) -> bool {
        let mut finished = solder.clone();
        for pair in nets.iter().flat_map(|net| net.windows(2)) {
            finished.join(pair[0].index(), pair[1].index());
        }
        let wiring = Wiring::soldered(&self.parts, &self.branches, finished);
        self.is_safe(&wiring) && self.differing(&wiring).next().is_none()
    }
}

/// Returns the nets with the legs of these parts the other way round.
fn with_turned(nets: &[Vec<Terminal>], turned: &[[Terminal; 2]]) -> Vec<Vec<Terminal>> {
    let other = |end: &Terminal| {
        let of_part = turned.iter().find(|legs| legs.contains(end));
        of_part.map_or(*end, |[one, other]| if one == end { *other } else { *one })
    };
    nets.iter().map(|net| net.iter().map(other).collect()).collect()
}

/// Returns whether no wire leads from one net to another. What leads to a lug that is in none may be harmless.
fn is_within(wires: &[Wire], nets: &[Vec<Terminal>]) -> bool {
    let mut of_net: Vec<Option<usize>> = Vec::new();
    for (net, ends) in nets.iter().enumerate() {
        for end in ends {
            of_net.resize(of_net.len().max(end.index() + 1), None);
            of_net[end.index()] = Some(net);
        }
    }
    let net = |end: Terminal| of_net.get(end.index()).copied().flatten();
    wires.iter().all(|[one, other]| match [net(*one), net(*other)] {
        [Some(one), Some(other)] => one == other,
        [None, _] | [_, None] => true,
    })
}

/// Returns how many joints a net lacks.
fn apart(solder: &Union, net: &[Terminal]) -> usize {
    let mut parts: Vec<usize> = net.iter().map(|end| solder.least(end.index())).collect();
    parts.sort_unstable();
    parts.dedup();
    parts.len().saturating_sub(1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::guitar::Guitar;
    use crate::harness::Change;

    fn harness(guitar: &str) -> Harness {
        Harness::of(&Guitar::built_in(guitar).unwrap()).unwrap()
    }

    fn ends(harness: &Harness, names: [&str; 2]) -> Wire {
        names.map(|name| harness.parts().terminal(name).unwrap())
    }

    #[test]
    fn each_right_joint_that_is_added_is_one_less_that_is_missing() {
        let harness = harness("set-neck");
        let planned = harness.plan().unwrap().ends();
        for count in 0..planned.len() {
            let there = &planned[..count];
            let checked = harness.check(there);
            assert_eq!(checked.joints_missing, Some(planned.len() - count));
            let words = checked.verdict_words();
            assert!(words.contains("missing, and none is wrong"), "{words}");
            let left = harness.left_to_solder(there, &planned).unwrap();
            assert_eq!(left, &planned[count..], "those of the plan");
        }
        assert_eq!(harness.check(&planned).joints_missing, None);
        assert_eq!(harness.left_to_solder(&planned, &planned), None);
    }

    #[test]
    fn what_is_left_to_solder_finishes_a_wiring_that_is_not_the_plan() {
        for guitar in ["set-neck", "bolt-on-three-single", "three-two-coil"] {
            let harness = harness(guitar);
            let chains = harness.simple_wires();
            for count in [0, 3, chains.len() / 2, chains.len() - 1] {
                let there = &chains[..count];
                let left = harness.left_to_solder(there, &harness.plan().unwrap().ends()).unwrap();
                let all = [there, &left].concat();
                assert!(harness.check(&all).is_as_wanted(), "{guitar} {count}: {:#?}", harness.check(&all));
                assert_eq!(left.len(), chains.len() - count);
            }
        }
    }

    #[test]
    fn legs_either_way_round_and_tones_in_any_order_are_right_so_far() {
        let harness = harness("set-neck");
        let planned = harness.plan().unwrap().ends();
        let lacks =
            planned.iter().position(|wire| *wire == ends(&harness, ["volume.2", "jack.tip"])).unwrap();
        let without = [&planned[..lacks], &planned[lacks + 1..]].concat();
        let turned = Change::Exchange(ends(&harness, ["tone-cap.1", "tone-cap.2"])).applied(&without);
        let other_end = Change::Exchange(ends(&harness, ["tone.1", "tone.2"])).applied(&turned);
        for wires in [without, turned, other_end] {
            assert_eq!(harness.check(&wires).joints_missing, Some(1));
        }
    }

    #[test]
    fn a_wire_that_is_wrong_is_no_joint_that_is_missing() {
        let harness = harness("set-neck");
        let planned = harness.plan().unwrap().ends();
        let few = &planned[..4];
        let short = [few, &[ends(&harness, ["jack.tip", "jack.sleeve"])]].concat();
        let checked = harness.check(&short);
        assert_eq!(checked.joints_missing, None, "{checked:#?}");
        let words = checked.verdict_words();
        assert!(
            words.starts_with("not as wanted: ") && words.ends_with("what is silent may hide others"),
            "{words}"
        );
        assert_eq!(harness.left_to_solder(&short, &planned), None);
    }

    #[test]
    fn an_idle_lug_on_its_own_wiper_is_right_so_far() {
        let harness = harness("set-neck");
        let planned = harness.plan().unwrap().ends();
        // The tone pot's third lug is in no net.
        let idle = [&planned[1..], &[ends(&harness, ["tone.3", "tone.2"])]].concat();
        assert_eq!(harness.check(&idle).joints_missing, Some(1), "{:#?}", harness.check(&idle));
    }
}
