//! Which terminals are one net.

use crate::wiring::join;

/// A partition of points: each carries the least number among the points joined to it, so that two partitions are equal
/// exactly when they join the same points.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(super) struct Union(Vec<u16>);

impl Union {
    /// Returns the partition in which none of `len` points is joined to another.
    pub(super) fn apart(len: usize) -> Self {
        Self((0..).take(len).collect())
    }

    /// Joins two points, and with them all that was joined to either.
    pub(super) fn join(&mut self, one: usize, other: usize) {
        join(&mut self.0, one, other);
    }

    /// Returns whether two points are joined.
    pub(super) fn joins(&self, one: usize, other: usize) -> bool {
        self.0[one] == self.0[other]
    }

    /// Returns the number of points.
    pub(super) fn len(&self) -> usize {
        self.0.len()
    }

    /// Returns the least point among those joined to `point`.
    pub(super) fn least(&self, point: usize) -> usize {
        usize::from(self.0[point])
    }
}
