//! How the pickups that are heard are joined with each other.

use crate::circuit::{Driven, Ends, Node};

/// How the pickups that are heard are joined with each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Joining {
    /// No pickup is heard.
    Silent,
    /// One pickup is heard.
    Alone,
    /// All lie between the same two points, whichever way round.
    Parallel,
    /// Each begins where another ends.
    Series,
    /// In some other way: some in series with others in parallel, or with a blend pot between them.
    Mixed,
}

impl Joining {
    /// Returns how those of the pickups of `driven` that are `heard` are joined.
    pub(super) fn of(driven: &Driven, heard: &[bool]) -> Self {
        let pairs: Vec<[Node; 2]> = driven
            .ends
            .iter()
            .zip(heard)
            .filter_map(|(Ends { hot, cold }, heard)| heard.then_some([*hot, *cold]))
            .collect();
        let one = |a: Node, b: Node| driven.netlist.joined(a, b);
        let meets = |point: Node, pair: &[Node; 2]| pair.iter().any(|end| one(point, *end));
        // A point of a chain is shared by two at most, and all but its two ends are shared; where two meet on ground,
        // something else lies between their other ends.
        let shared = |point: &Node| pairs.iter().filter(|pair| meets(*point, pair)).count();
        match pairs.as_slice() {
            [] => Self::Silent,
            [_] => Self::Alone,
            [first, rest @ ..] => {
                let counts: Vec<usize> = pairs.iter().flatten().map(shared).collect();
                let ends = counts.iter().filter(|count| **count == 1).count();
                if rest.iter().all(|pair| first.iter().all(|point| meets(*point, pair))) {
                    Self::Parallel
                } else if ends == 2 && counts.iter().all(|c| *c <= 2) && shared(&Node::GROUND) < 2 {
                    Self::Series
                } else {
                    Self::Mixed
                }
            }
        }
    }
}
