//! The search for the plans with the fewest joints.
//!
//! All ways to join the things are the partitions of a set, which a depth-first search makes by adding one thing
//! after another to a group that exists or to a new one. A joint, once made, is made in every throw; so a branch
//! dies where a throw already joins what it must keep apart, or where more joints are still wanted than may be
//! made. The number of joints that may be made grows from the least that could do until plans are found, or until
//! no branch died of it: then no number of joints would help.

use std::sync::Arc;

use super::Asked;
use crate::wiring::{Connection, Nodes, Plan, Switch, Terminal, Thing};

/// What a search found.
#[derive(Debug, Clone)]
pub struct Found {
    /// The plans with the fewest joints that do what is asked; none where no plan does.
    pub plans: Vec<Plan>,
    /// How many ways to join some of the things were looked at; they decide all others.
    pub searched: u64,
}

/// A number of throws asked for that the switch does not have.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{} asked for, and `{switch}` has {has}", if *given == 1 { "1 throw is".to_owned() } else { format!("{given} throws are") })]
pub struct WrongCount {
    /// How many throws were asked for.
    pub given: usize,
    /// The switch.
    pub switch: String,
    /// How many throws it has.
    pub has: usize,
}

/// A switch, and what is asked of each of its throws.
#[derive(Debug, Clone)]
pub struct Wanted {
    switch: Arc<Switch>,
    asked: Vec<Asked>,
}

impl Wanted {
    /// Returns the request for `asked`, throw by throw, of `switch`.
    ///
    /// # Errors
    /// [`WrongCount`] where not every throw, or more, is asked for.
    pub fn new(switch: impl Into<Arc<Switch>>, asked: Vec<Asked>) -> Result<Self, WrongCount> {
        let switch = switch.into();
        let has = switch.throws().len();
        if asked.len() == has {
            Ok(Self { switch, asked })
        } else {
            Err(WrongCount { given: asked.len(), switch: switch.name().to_owned(), has })
        }
    }

    /// Returns the switch.
    pub fn switch(&self) -> &Switch {
        &self.switch
    }

    /// Returns what is asked of each throw.
    pub fn asked(&self) -> &[Asked] {
        &self.asked
    }

    /// Returns every plan with the fewest joints that does what is asked.
    pub fn fewest(&self) -> Found {
        let mut searched = 0;
        let mut joints = self.least();
        loop {
            let level = self.level(joints);
            searched += level.searched;
            if !level.plans.is_empty() || !level.bound_mattered {
                return Found { plans: level.plans, searched };
            }
            joints += 1;
        }
    }

    /// Returns every plan with exactly this many joints that does what is asked.
    pub fn with(&self, joints: usize) -> Found {
        let level = self.level(joints);
        Found { plans: level.plans, searched: level.searched }
    }

    /// Returns the number of ways to join the things in any way at all.
    pub fn ways(&self) -> u64 {
        bell(things(&self.switch).len())
    }

    /// Returns whether some plan does what is asked.
    pub fn is_possible(&self) -> bool {
        !self.fewest().plans.is_empty()
    }

    /// Returns the same throws in the other orders that this switch can do.
    pub fn rearranged(&self) -> Vec<Self> {
        let mut orders: Vec<Vec<Asked>> = vec![Vec::new()];
        for asked in &self.asked {
            let insert = |order: &Vec<Asked>| {
                let at = |i| [&order[..i], &[*asked], &order[i..]].concat();
                (0..=order.len()).map(at).collect::<Vec<_>>()
            };
            orders = orders.iter().flat_map(insert).collect();
        }
        let mut possible: Vec<Self> = Vec::new();
        for asked in orders {
            let other = Self { switch: Arc::clone(&self.switch), asked };
            let is_new = other.asked != self.asked && possible.iter().all(|p| p.asked != other.asked);
            if is_new && other.is_possible() {
                possible.push(other);
            }
        }
        possible
    }

    /// Returns, for each other built-in switch that can do it, the same throws in the same order, with anything
    /// in the throws that it has beyond them; smallest switch first.
    pub fn alternatives(&self) -> Vec<Self> {
        let others = Switch::built_in().iter().filter(|other| other.name() != self.switch.name());
        others.filter_map(|other| self.spread_over(other)).collect()
    }

    /// Returns the same throws among those of `other`, where it has as many and some plan does them.
    fn spread_over(&self, other: &Arc<Switch>) -> Option<Self> {
        let throws = other.throws().len();
        let chosen = |set: u32| (0..throws).filter(move |throw| set >> throw & 1 == 1);
        // Bit sets of throws: the highest first, so that a spare throw lies in the middle or at the beginning.
        let sets = (0..1_u32 << throws).rev().filter(|set| chosen(*set).count() == self.asked.len());
        let spread = |set: u32| {
            let mut asked = vec![Asked::Any; throws];
            chosen(set).zip(&self.asked).for_each(|(throw, wanted)| asked[throw] = *wanted);
            Self { switch: Arc::clone(other), asked }
        };
        sets.map(spread).find(Self::is_possible)
    }

    /// Returns the number of joints below which no plan can do: each throw needs as many as its wires and the
    /// contacts leave wanting.
    fn least(&self) -> usize {
        let search = Search::new(self, usize::MAX);
        search.wanting(&search.start()).map_or(0, usize::from)
    }

    fn level(&self, joints: usize) -> Level {
        let mut search = Search::new(self, joints);
        let start = search.start();
        search.descend(&mut Vec::new(), &mut Vec::new(), &start);
        let Search { found, searched, bound_mattered, things, .. } = search;
        let plan = |groups: Vec<u8>| {
            let count = groups.iter().max().map_or(0, |last| usize::from(*last) + 1);
            let mut joined = vec![Vec::new(); count];
            groups.iter().zip(&things).for_each(|(group, thing)| joined[usize::from(*group)].push(*thing));
            Plan::new(Arc::clone(&self.switch), joined)
        };
        Level { plans: found.into_iter().map(plan).collect(), searched, bound_mattered }
    }
}

/// What the search for one number of joints found.
struct Level {
    plans: Vec<Plan>,
    searched: u64,
    /// Whether a branch died only because no more joints may be made.
    bound_mattered: bool,
}

struct Search<'w> {
    wanted: &'w Wanted,
    things: Vec<Thing>,
    /// For each throw, how many joints each connection lacks at least.
    lacking: Vec<Lacking>,
    joints: usize,
    /// The group of each thing, plan by plan.
    found: Vec<Vec<u8>>,
    searched: u64,
    bound_mattered: bool,
}

impl<'w> Search<'w> {
    fn new(wanted: &'w Wanted, joints: usize) -> Self {
        Self {
            wanted,
            things: things(&wanted.switch),
            lacking: wanted.asked.iter().map(|asked| Lacking::of(*asked)).collect(),
            joints,
            found: Vec::new(),
            searched: 0,
            bound_mattered: false,
        }
    }

    /// Returns the nodes of each throw with its contacts closed and nothing joined.
    fn start(&self) -> Vec<Nodes> {
        let closed = |contacts: &[crate::wiring::Contact]| {
            let mut nodes = Nodes::apart();
            for [one, other] in contacts {
                nodes.join(Thing::Lug(*one).point(), Thing::Lug(*other).point());
            }
            nodes
        };
        self.wanted.switch.throws().iter().map(|throw| closed(throw.contacts())).collect()
    }

    /// Returns how many joints are wanting at least, or nothing where no joints would do.
    fn wanting(&self, throws: &[Nodes]) -> Option<u8> {
        let lacking = throws.iter().zip(&self.lacking);
        lacking
            .map(|(nodes, lacking)| lacking.from(Connection::of(nodes)))
            .try_fold(0, |most, l| Some(most.max(l?)))
    }

    /// Adds the next thing to each group and to a new one, and so on to the last.
    ///
    /// `group_of` holds the group of each thing so far, and `first_of` the first thing of each group.
    fn descend(&mut self, group_of: &mut Vec<u8>, first_of: &mut Vec<usize>, throws: &[Nodes]) {
        self.searched += 1;
        let Some(wanting) = self.wanting(throws).map(usize::from) else { return };
        let (placed, groups) = (group_of.len(), first_of.len());
        let (made, left) = (placed - groups, self.things.len() - placed);
        if wanting > left {
            return;
        }
        if made + wanting > self.joints {
            self.bound_mattered = true;
            return;
        }
        if made + left < self.joints {
            return;
        }
        if left == 0 {
            self.found.push(group_of.clone());
            return;
        }
        // There are no more groups than things, of which there are fewer than 256.
        for group in (0..=groups).filter_map(|group| u8::try_from(group).ok()) {
            group_of.push(group);
            if let Some(first) = first_of.get(usize::from(group)) {
                let (one, other) = (self.things[*first].point(), self.things[placed].point());
                let mut joined = throws.to_vec();
                for nodes in &mut joined {
                    nodes.join(one, other);
                }
                self.descend(group_of, first_of, &joined);
            } else {
                first_of.push(placed);
                self.descend(group_of, first_of, throws);
                first_of.pop();
            }
            group_of.pop();
        }
    }
}

/// How many joints each of the 203 connections lacks at least to be what is asked.
struct Lacking {
    /// By the connection's nodes as digits of a number to the base six.
    joints: Vec<Option<u8>>,
}

impl Lacking {
    fn of(asked: Asked) -> Self {
        let all = Connection::all();
        let accepted: Vec<&Connection> = all.iter().filter(|c| asked.accepts(c)).collect();
        let mut joints = vec![None; 6_usize.pow(6)];
        for connection in &all {
            let reached = accepted.iter().filter(|wanted| connection.is_within(wanted));
            let lacking = reached.map(|wanted| connection.nodes() - wanted.nodes()).min();
            joints[Self::index(*connection)] = lacking.and_then(|lacking| u8::try_from(lacking).ok());
        }
        Self { joints }
    }

    fn from(&self, connection: Connection) -> Option<u8> {
        self.joints[Self::index(connection)]
    }

    fn index(connection: Connection) -> usize {
        Terminal::ALL.into_iter().fold(0, |index, terminal| 6 * index + connection.node(terminal))
    }
}

/// Returns the things to be joined: the coils' ends, hot, ground and the lugs.
fn things(switch: &Switch) -> Vec<Thing> {
    Terminal::ALL.into_iter().map(Thing::Terminal).chain(switch.lugs().map(Thing::Lug)).collect()
}

/// Returns the number of partitions of `n` things.
///
/// # Source
/// The Bell triangle (OEIS A011971): each row begins with the last of the one before, and each entry is the sum
/// of those to its left and above that.
fn bell(n: usize) -> u64 {
    let mut row = vec![1_u64];
    for _ in 1..n {
        let mut next = vec![row[row.len() - 1]];
        for above in &row {
            next.push(next[next.len() - 1].saturating_add(*above));
        }
        row = next;
    }
    row[row.len() - 1]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wiring::Arrangement;

    #[test]
    fn the_bell_numbers_are_the_published_ones() {
        // OEIS A000110.
        for (n, expected) in [(1, 1), (2, 2), (3, 5), (6, 203), (9, 21_147), (12, 4_213_597)] {
            assert_eq!(bell(n), expected);
        }
    }

    #[test]
    fn a_switch_is_asked_for_as_many_throws_as_it_has() {
        let switch = Switch::named("on-on-on").unwrap();
        let refusal = Wanted::new(switch, vec![Asked::Split; 2]).unwrap_err();
        assert_eq!(refusal.to_string(), "2 throws are asked for, and `on-on-on` has 3");
    }

    #[test]
    fn what_one_pole_cannot_do_is_proven_and_the_nearest_switch_that_can_is_named() {
        let asked = [Arrangement::Series, Arrangement::Parallel].map(Asked::Named);
        let wanted = Wanted::new(Switch::named("on-on-single").unwrap(), asked.to_vec()).unwrap();
        let found = wanted.fewest();
        assert!(found.plans.is_empty() && found.searched > 0);
        assert_eq!(wanted.alternatives()[0].switch().name(), "on-on");
        assert!(wanted.rearranged().is_empty());
    }
}
