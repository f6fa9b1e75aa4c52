//! Which terminals of a pickup are one node.

use super::Terminal;
use super::nodes::Nodes;

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
        let mut nodes = Nodes::apart();
        for group in groups {
            for pair in group.windows(2) {
                nodes.join(pair[0].index(), pair[1].index());
            }
        }
        Self::of(&nodes)
    }

    /// Returns what the terminals, the first six points of `nodes`, see of one another.
    ///
    /// Terminals come before all other points, so the least index of a node that holds a terminal is a
    /// terminal's.
    pub(crate) fn of(nodes: &Nodes) -> Self {
        Self { node: Terminal::ALL.map(|terminal| nodes.node(terminal.index())) }
    }

    /// Returns the connection in which all is joined that either of the two joins.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        let mut nodes = Nodes::apart();
        for terminal in Terminal::ALL {
            nodes.join(terminal.index(), self.node(terminal));
            nodes.join(terminal.index(), other.node(terminal));
        }
        Self::of(&nodes)
    }

    /// Returns every connection there is: the 203 partitions of six terminals (the sixth Bell number).
    pub fn all() -> Vec<Self> {
        let mut partial = vec![Vec::new()];
        for terminal in 0..6 {
            let mut longer = Vec::new();
            for nodes in &partial {
                // A terminal joins a node that was begun before it, or begins one of its own.
                for node in (0..=terminal).filter(|&n| n == terminal || nodes.get(usize::from(n)) == Some(&n))
                {
                    longer.push([nodes.as_slice(), &[node]].concat());
                }
            }
            partial = longer;
        }
        partial.iter().map(|nodes| Self { node: std::array::from_fn(|i| nodes[i]) }).collect()
    }

    /// Returns the number of the node that `terminal` belongs to: the least index of those joined to it.
    pub fn node(&self, terminal: Terminal) -> usize {
        usize::from(self.node[terminal.index()])
    }

    /// Returns whether two terminals are joined.
    pub fn joins(&self, one: Terminal, other: Terminal) -> bool {
        self.node(one) == self.node(other)
    }

    /// Returns whether nothing else is joined to `terminal`.
    pub fn is_free(&self, terminal: Terminal) -> bool {
        Terminal::ALL.into_iter().filter(|&other| self.joins(terminal, other)).count() == 1
    }

    /// Returns the number of nodes, from one to six.
    pub fn nodes(&self) -> usize {
        Terminal::ALL.into_iter().filter(|terminal| self.node(*terminal) == terminal.index()).count()
    }

    /// Returns whether everything that is joined here is joined in `other` too.
    pub fn is_within(&self, other: &Self) -> bool {
        Terminal::ALL.into_iter().all(|t| other.node(t) == other.node(Terminal::ALL[self.node(t)]))
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
        assert_eq!(one.nodes(), 2);
    }

    #[test]
    fn what_either_joins_is_joined_by_both_together() {
        let one = Connection::joining([&[Hot, APlus][..], &[AMinus, BPlus]]);
        let other = Connection::joining([&[APlus, BMinus][..], &[BPlus, Ground]]);
        let both =
            Connection::joining([&[Hot, APlus][..], &[AMinus, BPlus], &[APlus, BMinus], &[BPlus, Ground]]);
        assert_eq!((one.and(other), other.and(one)), (both, both));
        assert!(both.joins(Hot, BMinus) && both.joins(AMinus, Ground) && !both.joins(Hot, Ground));
    }

    /// The sixth Bell number is 203 (OEIS A000110).
    #[test]
    fn there_are_203_connections_and_no_two_are_alike() {
        let mut all = Connection::all();
        assert_eq!(all.len(), 203);
        all.sort();
        all.dedup();
        assert_eq!(all.len(), 203);
    }

    #[test]
    fn a_connection_is_within_another_that_joins_no_less() {
        let less = Connection::joining([&[Hot, APlus][..]]);
        let more = Connection::joining([&[Hot, APlus, BPlus][..], &[AMinus, Ground]]);
        let other = Connection::joining([&[Hot, BPlus][..]]);
        assert!(less.is_within(&more) && !more.is_within(&less));
        assert!(!less.is_within(&other) && other.is_within(&more));
        assert!(other.is_free(AMinus) && !other.is_free(Hot));
        assert!(more.is_free(BMinus));
    }
}
