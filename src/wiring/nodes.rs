//! Points joined into nodes.

/// The points that a pickup's joints can meet: six terminals and the lugs of the largest switch.
pub(crate) const MAX_POINTS: usize = 6 + super::MAX_LUGS;

/// Joins two points, and with them all that was joined to either, where each point is labelled with the least among those
/// joined to it.
pub(crate) fn join<L: Copy + Ord>(labels: &mut [L], one: usize, other: usize) {
    let (one, other) = (labels[one], labels[other]);
    let (keep, drop) = (one.min(other), one.max(other));
    labels.iter_mut().filter(|label| **label == drop).for_each(|label| *label = keep);
}

/// A partition of points into nodes: each point carries the least index among the points joined to it, so two
/// partitions are equal exactly when they join the same points.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Nodes {
    label: [u8; MAX_POINTS],
}

impl Nodes {
    /// Returns the partition in which no point is joined to another.
    pub(crate) fn apart() -> Self {
        let mut label = [0; MAX_POINTS];
        // MAX_POINTS is below 256, so every index fits.
        for (point, own) in (0..).zip(&mut label) {
            *own = point;
        }
        Self { label }
    }

    /// Joins two points, and with them all that was joined to either.
    pub(crate) fn join(&mut self, one: usize, other: usize) {
        join(&mut self.label, one, other);
    }

    /// Returns the number of the node that `point` belongs to: the least index of those joined to it.
    pub(crate) fn node(&self, point: usize) -> u8 {
        self.label[point]
    }
}
