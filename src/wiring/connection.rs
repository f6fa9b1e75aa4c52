//! Which terminals of a pickup are one node.

use super::Terminal;

/// A partition of a pickup's six terminals into nodes, in a canonical form: two connections are equal exactly
/// when they join the same terminals.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Connection {
    /// The least index among the terminals joined to each.
    node: [u8; 6],
}

impl Connection {
    /// Returns the connection in which each of `groups` is joined, and groups that share a terminal are one.
    pub fn joining<'g>(groups: impl IntoIterator<Item = &'g [Terminal]>) -> Self {
        let mut node = [0, 1, 2, 3, 4, 5];
        for group in groups {
            for pair in group.windows(2) {
                let (a, b) = (node[pair[0].index()], node[pair[1].index()]);
                for entry in &mut node {
                    if *entry == a.max(b) {
                        *entry = a.min(b);
                    }
                }
            }
        }
        Self { node }
    }

    /// Returns the number of the node that `terminal` belongs to: the least index of those joined to it.
    pub fn node(&self, terminal: Terminal) -> usize {
        usize::from(self.node[terminal.index()])
    }

    /// Returns whether two terminals are joined.
    pub fn joins(&self, one: Terminal, other: Terminal) -> bool {
        self.node(one) == self.node(other)
    }
}

#[cfg(test)]
mod tests {
    use super::Terminal::{AMinus, APlus, BMinus, BPlus, Ground, Hot};
    use super::*;

    #[test]
    fn the_order_of_joints_and_of_what_they_join_is_irrelevant() {
        let one = Connection::joining([&[Hot, APlus, BPlus][..], &[AMinus, Ground], &[BMinus, Ground]]);
        let other = Connection::joining([&[BMinus, AMinus, Ground][..], &[APlus, Hot], &[Hot, BPlus]]);
        assert_eq!(one, other);
        assert!(one.joins(AMinus, BMinus) && !one.joins(APlus, AMinus));
    }
}
