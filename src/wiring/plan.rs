//! A plan: the joints between a pickup's leads, a switch's lugs, hot and ground.

use std::sync::Arc;

use super::nodes::Nodes;
use super::{Connection, Contact, Lug, PoleState, Switch, Terminal, Thing};

/// What is soldered to what around one switch.
///
/// Each group is what meets at one point; a group of n things takes n − 1 joints.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    switch: Arc<Switch>,
    groups: Vec<Vec<Thing>>,
}

/// What hot and ground see in one combination of pole states.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TravelState {
    /// What each pole joins, from left to right.
    pub poles: Vec<PoleState>,
    /// What the terminals see of one another.
    pub connection: Connection,
}

/// How the groups are soldered: which wires go to which lug, which lugs are linked, and what is spliced off the
/// switch.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Soldering {
    /// The wires at each lug, in the order of [`Switch::lugs`].
    pub at_lug: Vec<Vec<Thing>>,
    /// The jumpers between lugs.
    pub jumpers: Vec<[Lug; 2]>,
    /// The wires that are joined to one another and to no lug.
    pub splices: Vec<Vec<Thing>>,
}

impl Plan {
    /// Returns the plan with these groups, of which none shares a thing with another, in a canonical order:
    /// terminals before lugs, and the groups by their first thing.
    pub fn new(switch: impl Into<Arc<Switch>>, groups: impl IntoIterator<Item = Vec<Thing>>) -> Self {
        let mut groups: Vec<Vec<Thing>> = groups.into_iter().filter(|group| group.len() > 1).collect();
        for group in &mut groups {
            group.sort();
        }
        groups.sort();
        Self { switch: switch.into(), groups }
    }

    /// Returns the switch.
    pub fn switch(&self) -> &Switch {
        &self.switch
    }

    /// Returns the groups of two and more things.
    pub fn groups(&self) -> &[Vec<Thing>] {
        &self.groups
    }

    /// Returns the number of joints (wires and jumpers): a group of n things counts n − 1.
    pub fn joints(&self) -> usize {
        self.groups.iter().map(|group| group.len() - 1).sum()
    }

    /// Returns what the terminals see of one another while these contacts are closed.
    pub fn connection(&self, contacts: &[Contact]) -> Connection {
        let mut nodes = self.nodes();
        for [one, other] in contacts {
            nodes.join(Thing::Lug(*one).point(), Thing::Lug(*other).point());
        }
        Connection::of(&nodes)
    }

    /// Returns what the terminals see of one another in each throw.
    pub fn throws(&self) -> Vec<Connection> {
        self.switch.throws().iter().map(|throw| self.connection(throw.contacts())).collect()
    }

    /// Returns what hot and ground see in every combination of pole states that the lever can pass through: the
    /// poles of a switch do not move at exactly the same time.
    pub fn travel(&self) -> Vec<TravelState> {
        let mut combinations: Vec<Vec<PoleState>> = vec![Vec::new()];
        for states in self.switch.travel() {
            combinations = combinations
                .iter()
                .flat_map(|begun| states.iter().map(|state| [begun, std::slice::from_ref(state)].concat()))
                .collect();
        }
        let state = |poles: Vec<PoleState>| {
            let contacts: Vec<Contact> = poles.iter().flat_map(|pole| pole.contacts.clone()).collect();
            TravelState { connection: self.connection(&contacts), poles }
        };
        combinations.into_iter().map(state).collect()
    }

    /// Returns whether the joints alone, without the switch, join two things.
    pub fn joins(&self, one: Thing, other: Thing) -> bool {
        let nodes = self.nodes();
        nodes.node(one.point()) == nodes.node(other.point())
    }

    /// Returns how to solder the groups: jumpers link a group's lugs in order, and its wires go where fewest
    /// meet; ground and hot prefer an outer lug.
    pub fn soldering(&self) -> Soldering {
        let mut at_lug = vec![Vec::new(); self.switch.lug_names().len()];
        let mut jumpers = Vec::new();
        let mut splices = Vec::new();
        for group in &self.groups {
            let lugs: Vec<Lug> = group.iter().filter_map(|thing| as_lug(*thing)).collect();
            let wires = group.iter().copied().filter(|thing| as_lug(*thing).is_none());
            if lugs.is_empty() {
                splices.push(wires.collect());
                continue;
            }
            let links: Vec<[Lug; 2]> = lugs.windows(2).map(|pair| [pair[0], pair[1]]).collect();
            // Conductors that leave for the controls are placed first, for they have a preference of place.
            let mut wires: Vec<Thing> = wires.collect();
            wires.sort_by_key(|wire| !leaves_for_the_controls(*wire));
            for wire in wires {
                let ends = |lug: Lug| links.iter().filter(|link| link.contains(&lug)).count();
                let crowd = |lug: &&Lug| {
                    let common = leaves_for_the_controls(wire) && self.switch.is_common(**lug);
                    (common, at_lug[lug.index()].len() + ends(**lug), lug.index())
                };
                if let Some(lug) = lugs.iter().min_by_key(crowd) {
                    at_lug[lug.index()].push(wire);
                }
            }
            jumpers.extend(links);
        }
        for wires in &mut at_lug {
            wires.sort();
        }
        Soldering { at_lug, jumpers, splices }
    }

    fn nodes(&self) -> Nodes {
        let mut nodes = Nodes::apart();
        for group in &self.groups {
            for pair in group.windows(2) {
                nodes.join(pair[0].point(), pair[1].point());
            }
        }
        nodes
    }
}

impl Soldering {
    /// Returns how many wires and jumper ends meet at `lug`.
    pub fn crowd(&self, lug: Lug) -> usize {
        self.at_lug[lug.index()].len() + self.linked(lug).count()
    }

    /// Returns the lugs that a jumper links to `lug`.
    pub fn linked(&self, lug: Lug) -> impl Iterator<Item = Lug> {
        self.jumpers.iter().filter_map(move |[one, other]| match lug {
            lug if lug == *one => Some(*other),
            lug if lug == *other => Some(*one),
            _ => None,
        })
    }
}

fn as_lug(thing: Thing) -> Option<Lug> {
    match thing {
        Thing::Lug(lug) => Some(lug),
        Thing::Terminal(_) | Thing::Shield => None,
    }
}

fn leaves_for_the_controls(thing: Thing) -> bool {
    match thing {
        Thing::Terminal(terminal) => matches!(terminal, Terminal::Hot | Terminal::Ground),
        Thing::Shield => true,
        Thing::Lug(_) => false,
    }
}

#[cfg(test)]
mod tests {
    use super::Terminal::{AMinus, APlus, BMinus, BPlus, Ground, Hot};
    use super::*;
    use crate::wiring::{Arrangement, Function};

    /// The plan that the trade draws for series and parallel (common practice, no source).
    fn known() -> Plan {
        let switch = Switch::named("on-on").unwrap();
        let lug = |name| Thing::Lug(switch.lug(name).unwrap());
        let end = Thing::Terminal;
        Plan::new(
            Arc::clone(&switch),
            [
                vec![end(APlus), end(Hot), lug("L3")],
                vec![end(AMinus), lug("L1"), lug("R2")],
                vec![end(BPlus), lug("L2")],
                vec![end(BMinus), end(Ground), lug("R3")],
            ],
        )
    }

    #[test]
    fn a_throw_joins_what_its_contacts_and_the_joints_join() {
        let [first, third] = known().throws()[..] else { panic!("two throws") };
        assert_eq!(first, Arrangement::Series.connection());
        assert_eq!(third, Arrangement::Parallel.connection());
    }

    #[test]
    fn a_lever_passes_through_nine_states() {
        let travel = known().travel();
        assert_eq!(travel.len(), 9);
        assert!(travel[4].poles.iter().all(|pole| pole.contacts.is_empty()));
        assert_eq!(Function::of(&travel[4].connection), Function::Dead);
        assert_eq!(Function::of(&travel[0].connection).arrangement(), Some(Arrangement::Series));
        assert_eq!(Function::of(&travel[8].connection).arrangement(), Some(Arrangement::Parallel));
    }

    #[test]
    fn joints_are_wires_and_jumpers() {
        let plan = known();
        let soldering = plan.soldering();
        let wires: usize = soldering.at_lug.iter().map(Vec::len).sum();
        let spliced: usize = soldering.splices.iter().map(|wires| wires.len() - 1).sum();
        assert_eq!(plan.joints(), 7);
        assert_eq!(wires + soldering.jumpers.len() + spliced, plan.joints());
        let names = |lug: Lug| plan.switch().name_of(lug).to_owned();
        assert_eq!(soldering.jumpers.iter().map(|j| j.map(names)).collect::<Vec<_>>(), [["L1", "R2"]]);
    }
}
