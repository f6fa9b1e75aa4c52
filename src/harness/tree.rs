//! The cheapest tree of a net whose points have limited room, exactly: relaxed, then branched, best first.
//!
//! # Source
//! Branch and bound over a relaxation without limits, whose spanning tree is J. B. Kruskal's (Proceedings of the AMS 7(1),
//! 1956).

use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// An edge between two points, with its cost in hundredths of a millimetre.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Edge {
    pub(super) ends: [usize; 2],
    pub(super) cost: u64,
}

/// Points and the edges that may join them. The first points are stops, which edges may pass and which together make a tree;
/// the others are ends, each of which has one edge, to a stop.
#[derive(Debug, Clone)]
pub(super) struct Net {
    /// How many edges each stop has room for.
    pub(super) room: Vec<usize>,
    pub(super) ends: usize,
    pub(super) edges: Vec<Edge>,
}

/// The cheapest tree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Tree {
    pub(super) edges: Vec<usize>,
    pub(super) cost: u64,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Mark {
    Free,
    Forced,
    Banned,
}

/// So many relaxations are looked at; nets of a cavity take a few.
const MOST_STEPS: usize = 100_000;

impl Net {
    /// Returns what no tree is below: the cost where no point's room were limited; nothing where there is no tree.
    pub(super) fn bound(&self) -> Option<u64> {
        self.relaxed(&vec![Mark::Free; self.edges.len()]).map(|(bound, _)| bound)
    }

    /// Returns the cheapest tree, the first of several by the order of edges; nothing where there is none.
    pub(super) fn cheapest(&self) -> Option<Tree> {
        let free = vec![Mark::Free; self.edges.len()];
        let (bound, edges) = self.relaxed(&free)?;
        let mut open = BinaryHeap::from([(Reverse((bound, 0usize)), 0usize)]);
        let mut kept = vec![(free, edges)];
        for _ in 0..MOST_STEPS {
            let (Reverse((cost, _)), at) = open.pop()?;
            let (marks, edges) = std::mem::take(&mut kept[at]);
            let Some(fullest) = self.fullest(&edges) else { return Some(Tree { edges, cost }) };
            let mut marks = marks;
            for edge in edges.iter().filter(|edge| self.edges[**edge].ends.contains(&fullest)) {
                if marks[*edge] == Mark::Forced {
                    continue;
                }
                let mut without = marks.clone();
                without[*edge] = Mark::Banned;
                if let Some((cost, edges)) = self.relaxed(&without) {
                    open.push((Reverse((cost, kept.len())), kept.len()));
                    kept.push((without, edges));
                }
                marks[*edge] = Mark::Forced;
            }
        }
        None
    }

    /// Returns the stop that is fullest beyond its room.
    fn fullest(&self, edges: &[usize]) -> Option<usize> {
        let taken = |stop: usize| edges.iter().filter(|edge| self.edges[**edge].ends.contains(&stop)).count();
        let over = (0..self.room.len()).filter_map(|stop| {
            let over = taken(stop).checked_sub(self.room[stop] + 1)?;
            Some((over, Reverse(stop)))
        });
        over.max().map(|(_, Reverse(stop))| stop)
    }

    /// Returns the cheapest tree without regard to room, with what is forced and without what is banned.
    fn relaxed(&self, marks: &[Mark]) -> Option<(u64, Vec<usize>)> {
        let stops = self.room.len();
        let mut order: Vec<usize> =
            (0..self.edges.len()).filter(|edge| marks[*edge] != Mark::Banned).collect();
        order.sort_by_key(|edge| (marks[*edge] != Mark::Forced, self.edges[*edge].cost, *edge));
        let mut joined = super::union::Union::apart(stops);
        let mut is_led = vec![false; self.ends];
        let (mut chosen, mut cost, mut trees) = (Vec::new(), 0, stops);
        for edge in order {
            let Edge { ends: [one, other], cost: own } = self.edges[edge];
            let fits = if other < stops {
                let fits = !joined.joins(one, other);
                joined.join(one, other);
                trees -= usize::from(fits);
                fits
            } else {
                !std::mem::replace(&mut is_led[other - stops], true)
            };
            if fits {
                chosen.push(edge);
                cost += own;
            } else if marks[edge] == Mark::Forced {
                return None;
            }
        }
        (trees <= 1 && is_led.iter().all(|led| *led)).then_some((cost, chosen))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand_chacha::ChaCha8Rng;
    use rand_chacha::rand_core::{Rng, SeedableRng};

    /// Every tree of the stops by its Prüfer code, with every way to lead the ends.
    fn by_brute_force(net: &Net) -> Option<u64> {
        let stops = net.room.len();
        let cost = |one: usize, other: usize| {
            let found = net.edges.iter().find(|edge| edge.ends == [one.min(other), one.max(other)]);
            found.map(|edge| edge.cost)
        };
        let codes = if stops <= 2 { 1 } else { stops.pow(u32::try_from(stops - 2).unwrap()) };
        let mut best: Option<u64> = None;
        for code in 0..codes {
            let mut tree = Vec::new();
            if stops == 2 {
                tree.push([0, 1]);
            } else if stops > 2 {
                let mut left = code;
                let code: Vec<usize> = (0..stops - 2)
                    .map(|_| {
                        let own = left % stops;
                        left /= stops;
                        own
                    })
                    .collect();
                let mut degree = vec![1; stops];
                for stop in &code {
                    degree[*stop] += 1;
                }
                for stop in &code {
                    let leaf = degree.iter().position(|own| *own == 1).unwrap();
                    tree.push([leaf, *stop]);
                    degree[leaf] -= 1;
                    degree[*stop] -= 1;
                }
                let last: Vec<usize> = (0..stops).filter(|stop| degree[*stop] == 1).collect();
                tree.push([last[0], last[1]]);
            }
            for way in 0..stops.pow(u32::try_from(net.ends).unwrap()) {
                let (mut way, mut taken, mut sum) = (way, vec![0; stops], Some(0));
                for [one, other] in &tree {
                    taken[*one] += 1;
                    taken[*other] += 1;
                    sum = sum.zip(cost(*one, *other)).map(|(sum, own): (u64, u64)| sum + own);
                }
                for end in 0..net.ends {
                    taken[way % stops] += 1;
                    sum = sum.zip(cost(way % stops, stops + end)).map(|(sum, own)| sum + own);
                    way /= stops;
                }
                if taken.iter().zip(&net.room).all(|(taken, room)| taken <= room) {
                    best = best.into_iter().chain(sum).min();
                }
            }
        }
        best
    }

    #[test]
    fn the_cheapest_tree_of_240_nets_is_that_of_brute_force() {
        let mut random = ChaCha8Rng::seed_from_u64(3);
        let mut below = |count: u64| random.next_u64() % count;
        let (mut none, mut dearer) = (0, 0);
        for _ in 0..240 {
            let stops = usize::try_from(1 + below(5)).unwrap();
            let ends = usize::try_from(below(5)).unwrap();
            let mut edges = Vec::new();
            for one in 0..stops {
                for other in one + 1..stops + ends {
                    if below(8) > 0 {
                        edges.push(Edge { ends: [one, other], cost: 1 + below(20) });
                    }
                }
            }
            let room = (0..stops).map(|_| usize::try_from(1 + below(3)).unwrap()).collect();
            let net = Net { room, ends, edges };
            let tree = net.cheapest();
            assert_eq!(tree.as_ref().map(|tree| tree.cost), by_brute_force(&net), "{net:?}");
            match tree {
                None => none += 1,
                Some(tree) => dearer += u32::from(tree.cost > net.bound().unwrap()),
            }
        }
        assert!(none > 10 && dearer > 10, "{none} {dearer}");
    }
}
