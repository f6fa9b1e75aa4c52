//! The fewest points near which all others lie.
//!
//! # Source
//! The greedy choice and how far it can be off: V. Chvátal, "A greedy heuristic for the set-covering problem",
//! Mathematics of Operations Research 4(3), 1979. A lower bound: points of which no two are near one and the same point
//! need a point each.

use super::Points;

/// How good a cover is known to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Proof {
    /// No smaller one exists.
    Fewest,
    /// None smaller than this many exists.
    AtLeast(usize),
}

/// A set of points such that every point lies within a distance of one of them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cover {
    /// The chosen points, in order.
    pub chosen: Vec<usize>,
    /// For each point the place, in `chosen`, of the one nearest to it.
    pub nearest: Vec<usize>,
    /// How good it is known to be.
    pub proof: Proof,
}

/// The search for a smaller cover ends after this many words of sets were looked at, a second or two, or this many
/// steps. Counted, not timed, so that every machine finds the same.
const MOST_WORDS: usize = 2_000_000_000;
const MOST_STEPS: usize = 20_000;

/// A set of points.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Set(Vec<u64>);

impl Set {
    fn of(count: usize, has: impl Fn(usize) -> bool) -> Self {
        let mut set = Self(vec![0; count.div_ceil(64)]);
        (0..count).filter(|i| has(*i)).for_each(|i| set.put(i));
        set
    }

    fn put(&mut self, i: usize) {
        self.0[i / 64] |= 1 << (i % 64);
    }

    fn is_empty(&self) -> bool {
        self.0.iter().all(|word| *word == 0)
    }

    fn members(&self) -> impl Iterator<Item = usize> {
        let words = self.0.iter().enumerate();
        words.flat_map(|(at, word)| {
            (0..64).filter(move |bit| word >> bit & 1 == 1).map(move |bit| 64 * at + bit)
        })
    }

    fn count(&self) -> u32 {
        self.0.iter().map(|word| word.count_ones()).sum()
    }

    fn common(&self, other: &Self) -> u32 {
        self.0.iter().zip(&other.0).map(|(a, b)| (a & b).count_ones()).sum()
    }

    fn without(&self, other: &Self) -> Self {
        Self(self.0.iter().zip(&other.0).map(|(a, b)| a & !b).collect())
    }

    fn add(&mut self, other: &Self) {
        self.0.iter_mut().zip(&other.0).for_each(|(own, more)| *own |= more);
    }
}

impl Cover {
    /// Returns a cover of `points` within `radius`, found by taking again and again the point near which most others
    /// still lie.
    pub fn greedy(points: &Points, radius: f64) -> Self {
        let near = Near::of(points, radius);
        Self::told(points, near.greedy(), near.apart(&near.all()))
    }

    /// Returns a cover of `points` within `radius`: the greedy one, or a smaller one where a search of limited length
    /// finds it.
    pub fn of(points: &Points, radius: f64) -> Self {
        let near = Near::of(points, radius);
        let all = near.all();
        let bound = near.apart(&all);
        let steps = MOST_WORDS / (points.len() * all.0.len()).max(1);
        let mut search = Search { near: &near, best: near.greedy(), steps_left: steps.min(MOST_STEPS) };
        let is_done = search.best.len() <= bound || search.descend(&all, &mut Vec::new());
        let bound = if is_done { search.best.len() } else { bound };
        Self::told(points, search.best, bound)
    }

    /// Returns the cover with its chosen points in the order of `key`, those of one key as they were.
    #[must_use]
    pub fn sorted_by_key<K: Ord>(self, key: impl Fn(usize) -> K) -> Self {
        let mut order: Vec<usize> = (0..self.chosen.len()).collect();
        order.sort_by_key(|place| key(self.chosen[*place]));
        let mut places = vec![0; order.len()];
        for (now, before) in order.iter().enumerate() {
            places[*before] = now;
        }
        Self {
            chosen: order.iter().map(|place| self.chosen[*place]).collect(),
            nearest: self.nearest.iter().map(|place| places[*place]).collect(),
            proof: self.proof,
        }
    }

    fn told(points: &Points, mut chosen: Vec<usize>, bound: usize) -> Self {
        chosen.sort_unstable();
        let nearest = |i: usize| {
            let by_distance = |a: &usize, b: &usize| {
                points.distance(i, chosen[*a]).total_cmp(&points.distance(i, chosen[*b]))
            };
            (0..chosen.len()).min_by(by_distance).unwrap_or(0)
        };
        let nearest = (0..points.len()).map(nearest).collect();
        let proof = if chosen.len() <= bound { Proof::Fewest } else { Proof::AtLeast(bound) };
        Self { chosen, nearest, proof }
    }
}

/// For each point those that lie near it.
struct Near {
    around: Vec<Set>,
    counts: Vec<u32>,
}

impl Near {
    fn of(points: &Points, radius: f64) -> Self {
        let count = points.len();
        let mut around = vec![Set::of(count, |_| false); count];
        for i in 0..count {
            around[i].put(i);
            for j in i + 1..count {
                if points.distance(i, j) <= radius {
                    around[i].put(j);
                    around[j].put(i);
                }
            }
        }
        let counts = around.iter().map(Set::count).collect();
        Self { around, counts }
    }

    fn all(&self) -> Set {
        Set::of(self.around.len(), |_| true)
    }

    fn greedy(&self) -> Vec<usize> {
        let mut left = self.all();
        let mut chosen = Vec::new();
        while !left.is_empty() {
            // The first of those that cover most.
            let most = (0..self.around.len()).rev().max_by_key(|i| self.around[*i].common(&left));
            let Some(most) = most else { return chosen };
            chosen.push(most);
            left = left.without(&self.around[most]);
        }
        chosen
    }

    /// Returns how many of the points in `left` were found of which no two are near one and the same point.
    fn apart(&self, left: &Set) -> usize {
        let mut members: Vec<usize> = left.members().collect();
        members.sort_by_key(|i| self.counts[*i]);
        let mut taken = Set::of(self.around.len(), |_| false);
        let mut found = 0;
        for i in members {
            if self.around[i].common(&taken) == 0 {
                taken.add(&self.around[i]);
                found += 1;
            }
        }
        found
    }
}

/// The search for a cover smaller than the best so far.
struct Search<'n> {
    near: &'n Near,
    best: Vec<usize>,
    steps_left: usize,
}

impl Search<'_> {
    /// Looks at every cover that begins with `chosen` and leaves `left` to be covered, and returns whether it was done
    /// within the steps.
    fn descend(&mut self, left: &Set, chosen: &mut Vec<usize>) -> bool {
        if left.is_empty() {
            if chosen.len() < self.best.len() {
                self.best.clone_from(chosen);
            }
            return true;
        }
        if chosen.len() + self.near.apart(left) >= self.best.len() {
            return true;
        }
        if self.steps_left == 0 {
            return false;
        }
        self.steps_left -= 1;
        // Some point must cover the one that fewest can.
        let Some(hardest) = left.members().min_by_key(|i| self.near.counts[*i]) else { return true };
        let mut ways: Vec<usize> = self.near.around[hardest].members().collect();
        ways.sort_by_cached_key(|i| std::cmp::Reverse(self.near.around[*i].common(left)));
        for way in ways {
            chosen.push(way);
            let is_done = self.descend(&left.without(&self.near.around[way]), chosen);
            chosen.pop();
            if !is_done {
                return false;
            }
        }
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Points on a line that lie `steps` apart.
    fn line(places: &[f64]) -> Points {
        // A level in one band against all others moves a point along a line.
        let spectra: Vec<Vec<f64>> = places
            .iter()
            .map(|place| {
                let mut levels = vec![0.0; 24];
                levels[10] = *place;
                levels
            })
            .collect();
        Points::of(spectra.iter().map(Vec::as_slice))
    }

    /// The fewest points that cover, by trying every set of them.
    fn fewest(points: &Points, radius: f64) -> u32 {
        let near = |i: usize, j: usize| points.distance(i.min(j), i.max(j)) <= radius;
        let covers =
            |set: u32| (0..points.len()).all(|j| (0..points.len()).any(|i| set >> i & 1 == 1 && near(i, j)));
        (0..1u32 << points.len()).filter(|set| covers(*set)).map(u32::count_ones).min().unwrap()
    }

    #[test]
    fn a_cover_in_another_order_is_the_same_cover() {
        let cover = Cover { chosen: vec![2, 5, 9], nearest: vec![0, 2, 1, 1], proof: Proof::Fewest };
        let sorted = cover.clone().sorted_by_key(|point| point != 9);
        assert_eq!(
            (sorted.chosen.as_slice(), sorted.nearest.as_slice()),
            (&[9, 2, 5][..], &[1, 0, 2, 2][..])
        );
        let of = |cover: &Cover| cover.nearest.iter().map(|place| cover.chosen[*place]).collect::<Vec<_>>();
        assert_eq!(of(&cover), of(&sorted));
    }

    #[test]
    fn points_on_a_line_are_covered_by_every_third() {
        let places: Vec<f64> = (0..30).map(|i| 0.5 * f64::from(i)).collect();
        let points = line(&places);
        let cover = Cover::of(&points, points.distance(0, 1) * 1.001);
        assert_eq!((cover.chosen.len(), cover.proof), (10, Proof::Fewest));
    }

    #[test]
    fn a_cover_larger_than_its_bound_is_not_called_the_fewest() {
        let points = line(&[0.0, 1.0, 2.0]);
        let proof = |bound| Cover::told(&points, vec![0, 2], bound).proof;
        assert_eq!((proof(1), proof(2)), (Proof::AtLeast(1), Proof::Fewest));
    }

    proptest! {
        #[test]
        fn every_point_is_covered_and_what_is_called_fewest_is(
            places in prop::collection::vec(0.0..20.0_f64, 1..10),
            radius in 0.05..2.0_f64,
        ) {
            let points = line(&places);
            let cover = Cover::of(&points, radius);
            for (i, nearest) in cover.nearest.iter().enumerate() {
                prop_assert!(points.distance(i, cover.chosen[*nearest]) <= radius);
            }
            prop_assert_eq!(cover.proof, Proof::Fewest);
            prop_assert_eq!(cover.chosen.len(), fewest(&points, radius) as usize);
        }

        #[test]
        fn no_cover_is_smaller_than_the_bound(places in prop::collection::vec(0.0..20.0_f64, 1..10), radius in 0.05..2.0_f64) {
            let points = line(&places);
            let near = Near::of(&points, radius);
            prop_assert!(near.apart(&near.all()) <= fewest(&points, radius) as usize);
        }
    }
}
