//! What the readings leave no doubt about.

use super::fit::Passage;
use super::hypothesis::{Hypotheses, Hypothesis};
use super::network::{Condition, Point};
use super::reading::{Bobbin, Conductor, Reading};
use super::readings::Readings;
use crate::guitar::Pole;
use crate::quantity::Ohms;

/// The readings and the hypotheses that all of them leave.
pub(super) struct Known<'k> {
    pub(super) readings: &'k Readings,
    pub(super) hypotheses: &'k Hypotheses,
    pub(super) survivors: &'k [&'k Hypothesis],
}

/// A coil as far as it is known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct KnownCoil {
    /// Which coil it is, where taps have tied its leads to a bobbin.
    pub(super) bobbin: Option<Bobbin>,
    /// The conductors known to belong to it.
    pub(super) conductors: Vec<Conductor>,
    pub(super) plus: Option<Conductor>,
    pub(super) minus: Option<Conductor>,
}

impl Known<'_> {
    /// Returns whether every hypothesis left says so; nothing is known where none is left.
    pub(super) fn always(&self, says: impl Fn(&Hypothesis) -> bool) -> bool {
        !self.survivors.is_empty() && self.survivors.iter().all(|h| says(h))
    }

    /// Returns what `ask` finds, where every hypothesis left gives that answer.
    pub(super) fn agreed<T: PartialEq>(&self, ask: impl Fn(&Hypothesis) -> T) -> Option<T> {
        let (first, rest) = self.survivors.split_first()?;
        let answer = ask(first);
        rest.iter().all(|h| ask(h) == answer).then_some(answer)
    }

    /// Returns how current passes between two conductors, where that is known.
    pub(super) fn passage(&self, between: [Conductor; 2]) -> Option<Passage> {
        self.agreed(|h| self.hypotheses.passage(h, between))
    }

    /// Returns the leads.
    pub(super) fn leads(&self) -> impl Iterator<Item = Conductor> + Clone {
        (0..self.readings.leads.len()).filter_map(|i| u8::try_from(i).ok()).map(Conductor)
    }

    /// Returns the shield, where there is one.
    pub(super) fn shield(&self) -> Option<Conductor> {
        self.readings.shield.as_ref()?;
        u8::try_from(self.readings.leads.len()).ok().map(Conductor)
    }

    /// Returns the coils: by bobbin where their leads are tied to one or nothing is known of them, without one
    /// where only the pairs are known.
    pub(super) fn coils(&self) -> Vec<KnownCoil> {
        let bobbins = &Bobbin::BOTH[..self.readings.coil_count()];
        let named = |bobbin: &Bobbin| KnownCoil {
            bobbin: Some(*bobbin),
            conductors: self.agreed(|h| self.belonging_to(h, *bobbin)).unwrap_or_default(),
            plus: self.agreed(|h| h.assignment.0[bobbin.index()][0]).flatten(),
            minus: self.agreed(|h| h.assignment.0[bobbin.index()][1]).flatten(),
        };
        let coils: Vec<KnownCoil> = bobbins
            .iter()
            .filter(|b| !self.always(|h| h.conditions[b.index()] == Condition::Absent))
            .map(named)
            .collect();
        if coils.iter().any(|coil| !coil.conductors.is_empty()) {
            return coils;
        }
        let groups = self.agreed(|h| {
            let mut groups = Bobbin::BOTH.map(|b| self.belonging_to(h, b));
            groups.sort();
            groups
        });
        match groups {
            Some(groups) if groups.iter().all(|g| !g.is_empty()) => groups
                .into_iter()
                .map(|conductors| KnownCoil { bobbin: None, conductors, plus: None, minus: None })
                .collect(),
            _ => coils,
        }
    }

    /// Returns the conductors on a coil's ends or tap, and those by which one comes to its ends.
    pub(super) fn belonging_to(&self, h: &Hypothesis, bobbin: Bobbin) -> Vec<Conductor> {
        let assigned = h.assignment.0[bobbin.index()];
        let tap = Some(Point::Middle(bobbin));
        self.leads()
            .chain(self.shield())
            .filter(|c| assigned.contains(&Some(*c)) || (h.seat(*c) == tap && self.shield() != Some(*c)))
            .collect()
    }

    /// Returns whether a coil is known to be shorted from end to end.
    pub(super) fn is_shorted(&self, coil: &KnownCoil) -> bool {
        match (coil.bobbin, coil.conductors.as_slice()) {
            (Some(bobbin), _) => self.always(|h| h.conditions[bobbin.index()] == Condition::Shorted),
            (None, [one, other]) => self.passage([*one, *other]) == Some(Passage::Joined),
            (None, _) => false,
        }
    }

    /// Returns the mean of what was read across a coil alone, where anything was.
    pub(super) fn ohms(&self, coil: &KnownCoil) -> Option<Ohms> {
        let ends = match (coil.plus, coil.minus, coil.conductors.as_slice()) {
            (Some(plus), Some(minus), _) => [plus, minus],
            (_, _, [one, other]) => [*one, *other],
            _ => return None,
        };
        let across_one_coil = self.always(|h| {
            let of = |bobbin: Bobbin| 0b11 << (2 * bobbin.index());
            self.hypotheses.way(h, ends[0], ends[1]).is_some_and(|way| match coil.bobbin {
                Some(bobbin) => way.parts & !of(bobbin) == 0,
                None => Bobbin::BOTH.iter().any(|b| way.parts & !of(*b) == 0),
            })
        });
        let read: Vec<f64> = self
            .readings
            .entries()
            .iter()
            .filter_map(|entry| match &entry.reading {
                Reading::Ohms { between, reads } if ends.iter().all(|end| between.contains(end)) => {
                    reads.closed().map(Ohms::value)
                }
                Reading::Ohms { .. } | Reading::Tap { .. } | Reading::Compass { .. } => None,
            })
            .collect();
        (across_one_coil && !read.is_empty()).then(|| Ohms::new(read.iter().sum::<f64>() / read.len() as f64))
    }

    /// Returns the pole that a compass showed at a coil's top, where its readings agree.
    pub(super) fn top_pole(&self, bobbin: Bobbin) -> Option<Pole> {
        let mut poles = self.compass(bobbin);
        let first = poles.next()?.1;
        poles.all(|(_, pole)| pole == first).then_some(first)
    }

    /// Returns the compass readings that nothing else bears out: made once, and not borne out by the opposite
    /// pole at the other coil, as one magnet under both makes it.
    pub(super) fn unconfirmed(&self) -> Vec<usize> {
        Bobbin::BOTH
            .into_iter()
            .filter(|bobbin| {
                let other = Bobbin::BOTH[1 - bobbin.index()];
                let poles = (self.top_pole(*bobbin), self.top_pole(other));
                let opposite = matches!(poles, (Some(one), Some(other)) if one != other);
                self.compass(*bobbin).count() == 1 && !opposite
            })
            .flat_map(|bobbin| self.compass(bobbin).map(|(i, _)| i))
            .collect()
    }

    fn compass(&self, bobbin: Bobbin) -> impl Iterator<Item = (usize, Pole)> {
        self.readings.entries().iter().enumerate().filter_map(move |(i, entry)| match entry.reading {
            Reading::Compass { coil, top_pole } if coil == bobbin => Some((i, top_pole)),
            Reading::Ohms { .. } | Reading::Tap { .. } | Reading::Compass { .. } => None,
        })
    }
}
