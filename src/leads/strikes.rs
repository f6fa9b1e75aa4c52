//! Which readings strike out which hypotheses, and which readings cannot all be true.

use std::collections::VecDeque;

use super::hypothesis::{Hypotheses, Hypothesis};
use super::reading::{Bobbin, Reading};
use super::readings::Readings;

/// A set of readings, by their places among the entries.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Set([u64; WORDS]);

const WORDS: usize = Readings::MAX_READINGS.div_ceil(64);

impl Set {
    fn first(count: usize) -> Self {
        let mut set = Self::default();
        (0..count).for_each(|i| set.insert(i));
        set
    }

    fn insert(&mut self, index: usize) {
        self.0[index / 64] |= 1 << (index % 64);
    }

    fn without(mut self, index: usize) -> Self {
        self.0[index / 64] &= !(1 << (index % 64));
        self
    }

    fn holds(self, index: usize) -> bool {
        self.0[index / 64] & (1 << (index % 64)) != 0
    }

    fn meets(self, other: Self) -> bool {
        self.0.iter().zip(other.0).any(|(a, b)| a & b != 0)
    }

    fn lies_in(self, other: Self) -> bool {
        self.0.iter().zip(other.0).all(|(a, b)| a & !b == 0)
    }

    fn members(self) -> impl Iterator<Item = usize> {
        (0..Readings::MAX_READINGS).filter(move |i| self.holds(*i))
    }
}

/// The hypotheses about a pickup, and for each the readings that strike it out by themselves.
pub(super) struct Strikes<'r> {
    readings: &'r Readings,
    hypotheses: &'r Hypotheses,
    struck_by: Vec<Set>,
}

impl<'r> Strikes<'r> {
    pub(super) fn of(readings: &'r Readings, hypotheses: &'r Hypotheses) -> Self {
        let struck_by = hypotheses.list.iter().map(|hypothesis| {
            let mut set = Set::default();
            for (i, entry) in readings.entries().iter().enumerate() {
                if !hypotheses.allows(hypothesis, &entry.reading) {
                    set.insert(i);
                }
            }
            set
        });
        Self { readings, hypotheses, struck_by: struck_by.collect() }
    }

    /// Returns the hypotheses that all readings leave.
    pub(super) fn survivors(&self) -> Vec<&'r Hypothesis> {
        self.left_by(self.all()).collect()
    }

    /// Returns up to `most` sets of readings that cannot all be true, each the least of its kind: without any
    /// one of its readings the others agree.
    ///
    /// Where a single reading is false it is in every such set, for without it the rest is true.
    pub(super) fn clashes(&self, most: usize) -> Vec<Vec<usize>> {
        // Enough for a dozen clashes of a dozen readings, and an end to the search among thousands.
        const LOOKED_AT: usize = 200;
        let mut found: Vec<Set> = Vec::new();
        let mut left = VecDeque::from([self.all()]);
        for _ in 0..LOOKED_AT {
            let Some(set) = left.pop_front() else { break };
            if found.len() == most || self.agrees(set) {
                continue;
            }
            let known = found.iter().copied().find(|clash| clash.lies_in(set));
            let clash = known.unwrap_or_else(|| self.least(set));
            // A further clash lacks at least one reading of this one.
            left.extend(clash.members().map(|reading| set.without(reading)));
            if known.is_none() {
                found.push(clash);
            }
        }
        let mut clashes: Vec<Vec<usize>> = found.into_iter().map(|set| set.members().collect()).collect();
        clashes.sort_by_key(Vec::len);
        clashes
    }

    /// Returns the readings of which each, left out alone, makes the others agree.
    pub(super) fn suspects(&self) -> Vec<usize> {
        (0..self.readings.entries().len()).filter(|i| self.agrees(self.all().without(*i))).collect()
    }

    fn all(&self) -> Set {
        Set::first(self.readings.entries().len())
    }

    /// Leaves out of a clash, one by one, whatever it remains a clash without; of two orders the one with fewer
    /// left is kept.
    fn least(&self, clash: Set) -> Set {
        let shrink = |order: &mut dyn Iterator<Item = usize>| {
            order.fold(clash, |kept, i| if self.agrees(kept.without(i)) { kept } else { kept.without(i) })
        };
        let members: Vec<usize> = clash.members().collect();
        let forward = shrink(&mut members.iter().copied());
        let backward = shrink(&mut members.iter().rev().copied());
        if forward.members().count() < backward.members().count() { forward } else { backward }
    }

    /// Returns whether some pickup fits all readings of `set`, and no coil has two top poles.
    fn agrees(&self, set: Set) -> bool {
        self.poles_agree(set) && self.left_by(set).next().is_some()
    }

    pub(super) fn poles_agree_throughout(&self) -> bool {
        self.poles_agree(self.all())
    }

    fn poles_agree(&self, set: Set) -> bool {
        Bobbin::BOTH.into_iter().all(|bobbin| {
            let mut poles = self.of_set(set).filter_map(|reading| match reading {
                Reading::Compass { coil, top_pole } if *coil == bobbin => Some(*top_pole),
                Reading::Ohms { .. } | Reading::Tap { .. } | Reading::Compass { .. } => None,
            });
            let first = poles.next();
            poles.all(|pole| Some(pole) == first)
        })
    }

    fn left_by(&self, set: Set) -> impl Iterator<Item = &'r Hypothesis> {
        let hypotheses = self.hypotheses;
        hypotheses
            .list
            .iter()
            .zip(&self.struck_by)
            .filter(move |(_, struck)| !struck.meets(set))
            .map(|(hypothesis, _)| hypothesis)
            .filter(move |h| hypotheses.has_resistances(h, self.of_set(set)))
    }

    fn of_set(&self, set: Set) -> impl Iterator<Item = &'r Reading> {
        let entries = self.readings.entries();
        set.members().take_while(move |i| *i < entries.len()).map(|i| &entries[i].reading)
    }
}
