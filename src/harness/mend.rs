//! What mends a faulty wiring: every single change is tried, then pairs of them.

use std::collections::HashSet;

use super::identity::Signature;
use super::wiring::Wiring;
use super::{Change, Harness, Wire};

/// What mends a wiring.
#[derive(Debug, Clone, PartialEq)]
pub struct Mends {
    /// Each way to mend it, those that touch the fewest joints; changes of one way are made in this order.
    pub ways: Vec<Vec<Change>>,
    /// How many single changes were tried: all there are.
    pub tried: usize,
}

/// The most first changes that are looked at where two are needed.
const FIRSTS: usize = 48;

impl Harness {
    /// Returns what mends `wires`, after which a check finds nothing: all single changes that touch the fewest joints, or
    /// where there is none, pairs of changes. Nothing where nothing is wrong.
    pub fn mends(&self, wires: &[Wire]) -> Mends {
        if self.check(wires).is_as_wanted() {
            return Mends { ways: Vec::new(), tried: 0 };
        }
        let changes = self.changes(wires);
        let tried = changes.len();
        let single = self.single(wires, &changes);
        if !single.is_empty() {
            return Mends { ways: single.into_iter().map(|change| vec![change]).collect(), tried };
        }
        Mends { ways: self.pairs(wires, &changes), tried }
    }

    /// Returns those of `changes` that mend `wires` and touch the fewest joints.
    fn single(&self, wires: &[Wire], changes: &[Change]) -> Vec<Change> {
        let wiring = Wiring::of(&self.parts, &self.branches, wires);
        // The state that fails first tells most changes at once.
        let first = self.differing(&wiring).next().unwrap_or(0);
        let mut order: Vec<usize> = (0..self.throws.len()).collect();
        order.swap(0, first);
        let mends = |change: &&Change| {
            let wires = change.applied(wires);
            let wiring = Wiring::of(&self.parts, &self.branches, &wires);
            self.is_safe(&wiring)
                && order.iter().all(|place| self.signature(&wiring, *place) == self.signatures[*place])
        };
        let mending: Vec<Change> = changes.iter().filter(mends).copied().collect();
        let fewest = mending.iter().map(|change| change.touched(wires)).min().unwrap_or(0);
        let fewest = mending.into_iter().filter(|change| change.touched(wires) == fewest);
        fewest.filter(|change| self.check(&change.applied(wires)).is_as_wanted()).collect()
    }

    /// Returns pairs of changes that mend `wires`. The first must lead to a circuit that is one change from the wanted one, as
    /// far as the first failing state tells, and be a step towards it.
    fn pairs(&self, wires: &[Wire], changes: &[Change]) -> Vec<Vec<Change>> {
        let wiring = Wiring::of(&self.parts, &self.branches, wires);
        let before = self.distance(&wiring);
        let place = self.differing(&wiring).next();
        let near = place.map(|place| self.one_change_off(place));
        let mut firsts: Vec<(usize, Change, Vec<Wire>)> = changes
            .iter()
            .filter_map(|change| {
                let wires = change.applied(wires);
                let wiring = Wiring::of(&self.parts, &self.branches, &wires);
                let is_near = place.is_none_or(|place| {
                    near.as_ref().is_none_or(|near| near.contains(&self.signature(&wiring, place)))
                });
                let distance = is_near.then(|| self.distance(&wiring))?;
                (distance <= before).then_some((distance, *change, wires))
            })
            .collect();
        firsts.sort_by_key(|(distance, change, _)| (*distance, change.touched(wires)));
        firsts.truncate(FIRSTS);
        let mut ways: Vec<(usize, Vec<Change>)> = Vec::new();
        for (_, first, wires_after) in &firsts {
            let second = self.single(wires_after, &self.changes(wires_after));
            ways.extend(
                second
                    .into_iter()
                    .map(|second| (first.touched(wires) + second.touched(wires_after), vec![*first, second])),
            );
        }
        let fewest = ways.iter().map(|(touched, _)| *touched).min().unwrap_or(0);
        let mut seen: HashSet<Vec<Wire>> = HashSet::new();
        let mut distinct = |way: &Vec<Change>| {
            // In either order it is the same way.
            let mut after = way.iter().fold(wires.to_vec(), |wires, change| change.applied(&wires));
            after.sort_unstable();
            seen.insert(after)
        };
        let ways = ways.into_iter().filter(|(touched, _)| *touched == fewest).map(|(_, way)| way);
        ways.filter(|way| distinct(way)).collect()
    }

    /// Returns how far a wiring is from the wanted one: the states that differ and the metal that is not on ground.
    fn distance(&self, wiring: &Wiring) -> usize {
        self.differing(wiring).count() + self.unsafe_metal(wiring).count()
    }

    /// Returns the signatures in the state at `place` of all circuits that are one change from the wanted one.
    fn one_change_off(&self, place: usize) -> HashSet<Signature> {
        let wires = self.simple_wires();
        let changed = self.changes(&wires).into_iter().map(|change| {
            let wires = change.applied(&wires);
            self.signature(&Wiring::of(&self.parts, &self.branches, &wires), place)
        });
        changed.chain([self.signatures[place].clone()]).collect()
    }
}
