//! What is soldered to what in a whole guitar, and what that and closed contacts make one node.

use super::spot::{Layout, Spot};
use crate::guitar::{Guitar, Lever, Point};
use crate::wiring::{Connection, Terminal, Thing};

/// Where a group of spots is soldered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Site {
    /// At the pickup at this place, whose coils no switch joins.
    Pickup(usize),
    /// Around a selector or a switch.
    Lever(Lever),
    /// Among the joints of the guitar that are at no selector.
    Joints,
    /// At the blend pot.
    Blend,
}

/// The spots that are soldered together at one point.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Group {
    /// Where that is.
    pub site: Site,
    /// The spots.
    pub spots: Vec<Spot>,
}

/// All that is soldered in a guitar. Groups that share a spot are one.
#[derive(Debug, Clone, PartialEq)]
pub struct Solder {
    layout: Layout,
    groups: Vec<Group>,
    /// For each pickup whether its ground conductor is on ground without a joint that says so.
    grounded: Vec<bool>,
    bypassed: Vec<bool>,
}

/// Which spots are one node.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Nets {
    layout: Layout,
    /// The least place among the spots joined to each.
    node: Vec<usize>,
    bypassed: Vec<bool>,
}

/// What a circuit depends on, of [`Nets`]: equal keys are equal circuits.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct NetsKey(Vec<usize>, Vec<bool>);

impl Solder {
    /// Returns what the guitar's file says is soldered. Coils that no switch joins are joined as their arrangement says.
    pub fn of(guitar: &Guitar) -> Self {
        let pickups = guitar.pickups();
        let mut solder = Self {
            layout: Layout::of(guitar),
            groups: Vec::new(),
            grounded: (0..pickups.len()).map(|i| !guitar.joined().names(Point::Cold(i))).collect(),
            bypassed: vec![false; pickups.len()],
        };
        for (place, pickup) in pickups.iter().enumerate() {
            if !(0..guitar.switches().len()).any(|switch| guitar.pickup_switched_at(switch) == place) {
                let arrangement = pickup.arrangement();
                solder = solder.strapped(place, arrangement.connection());
                solder.bypassed[place] = arrangement == crate::wiring::Arrangement::SeriesBypassed;
            }
        }
        let is_linked = |switch: usize| guitar.joined().linked().iter().any(|own| own.switch() == switch);
        let alone = guitar.switches().iter().enumerate().filter(|(switch, _)| !is_linked(*switch));
        for (switch, soldered) in alone {
            let (lever, pickup) = (Lever::Switch(switch), guitar.pickup_switched_at(switch));
            let plan = soldered.plan(pickups[pickup].finish_is_plus());
            for group in plan.groups() {
                let spots = group.iter().map(|thing| spot_of(*thing, pickup, lever)).collect();
                solder.groups.push(Group { site: Site::Lever(lever), spots });
            }
        }
        let joined = guitar.joined();
        let mut add = |site, group: &[Point], lever: Option<Lever>| {
            let spots = group.iter().filter_map(|point| spot_at(*point, lever)).collect();
            solder.groups.push(Group { site, spots });
        };
        joined.fixed().iter().for_each(|group| add(Site::Joints, group, None));
        for (place, selector) in joined.selectors().iter().enumerate() {
            let lever = Lever::Selector(place);
            selector.joints().iter().for_each(|group| add(Site::Lever(lever), group, Some(lever)));
        }
        for linked in joined.linked() {
            let lever = Lever::Switch(linked.switch());
            linked.joints().iter().for_each(|group| add(Site::Lever(lever), group, Some(lever)));
        }
        for (end, point) in joined.blend().iter().flat_map(|blend| blend.ends().into_iter().enumerate()) {
            let spots = spot_at(point, None).into_iter().chain([Spot::BlendEnd(end)]).collect();
            solder.groups.push(Group { site: Site::Blend, spots });
        }
        solder
    }

    /// Returns the groups.
    pub fn groups(&self) -> &[Group] {
        &self.groups
    }

    /// Returns the groups at `site`.
    pub fn at(&self, site: Site) -> impl Iterator<Item = &Group> {
        self.groups.iter().filter(move |group| group.site == site)
    }

    /// Returns the same with the terminals of the pickup at `place` joined as `connection` says, and by no switch.
    #[must_use]
    pub fn strapped(&self, place: usize, connection: Connection) -> Self {
        let mut solder = self.clone();
        let is_own = |group: &Group| {
            let own =
                |spot: &Spot| matches!(spot, Spot::Terminal(own, _) | Spot::Shield(own) if *own == place);
            match group.site {
                Site::Pickup(pickup) => pickup == place,
                Site::Lever(Lever::Switch(_)) => group.spots.iter().any(own),
                Site::Lever(Lever::Selector(_)) | Site::Joints | Site::Blend => false,
            }
        };
        solder.groups.retain(|group| !is_own(group));
        for first in Terminal::ALL.into_iter().filter(|t| connection.node(*t) == t.index()) {
            let joined = Terminal::ALL.into_iter().filter(|t| connection.joins(first, *t));
            let spots: Vec<Spot> = joined.map(|terminal| Spot::Terminal(place, terminal)).collect();
            if spots.len() > 1 {
                solder.groups.push(Group { site: Site::Pickup(place), spots });
            }
        }
        solder.bypassed[place] = false;
        solder
    }

    /// Returns the same with the coils' joint of the pickup at `place` bypassed to ground.
    #[must_use]
    pub fn bypassed(mut self, place: usize) -> Self {
        self.bypassed[place] = true;
        self
    }

    /// Returns the same with `spot` off whatever it is soldered to at `site`.
    #[must_use]
    pub fn without(&self, site: Site, spot: Spot) -> Self {
        let mut solder = self.clone();
        for group in solder.groups.iter_mut().filter(|group| group.site == site) {
            group.spots.retain(|own| *own != spot);
        }
        solder
    }

    /// Returns the same with two spots in each other's place at all `sites`.
    #[must_use]
    pub fn swapped(&self, sites: &[Site], [one, other]: [Spot; 2]) -> Self {
        let mut solder = self.clone();
        for group in solder.groups.iter_mut().filter(|group| sites.contains(&group.site)) {
            for spot in &mut group.spots {
                if *spot == one {
                    *spot = other;
                } else if *spot == other {
                    *spot = one;
                }
            }
        }
        solder
    }

    /// Returns the same with two spots joined.
    #[must_use]
    pub fn bridged(&self, site: Site, spots: [Spot; 2]) -> Self {
        let mut solder = self.clone();
        solder.groups.push(Group { site, spots: spots.to_vec() });
        solder
    }

    /// Returns what is one node while these `contacts` are closed: with all pickups as the guitar joins them or, where
    /// its file does not say how, with the pickup at the place `alone` by itself.
    pub fn nets(&self, alone: Option<usize>, contacts: &[[Spot; 2]]) -> Nets {
        let mut nets = Nets {
            layout: self.layout.clone(),
            node: (0..self.layout.len()).collect(),
            bypassed: self.bypassed.clone(),
        };
        match alone {
            Some(pickup) => {
                nets.join(Spot::Behind(pickup), Spot::Out);
                nets.join(Spot::Terminal(pickup, Terminal::Ground), Spot::Ground);
            }
            None => {
                for pickup in (0..self.grounded.len()).filter(|pickup| self.grounded[*pickup]) {
                    nets.join(Spot::Terminal(pickup, Terminal::Ground), Spot::Ground);
                }
            }
        }
        for pickup in 0..self.grounded.len() {
            nets.join(Spot::Shield(pickup), Spot::Terminal(pickup, Terminal::Ground));
        }
        for pair in self.groups.iter().flat_map(|group| group.spots.windows(2)) {
            nets.join(pair[0], pair[1]);
        }
        for [one, other] in contacts {
            nets.join(*one, *other);
        }
        nets
    }
}

impl Nets {
    /// Joins two spots, and with them all that is joined to either.
    pub fn join(&mut self, one: Spot, other: Spot) {
        let [one, other] = [one, other].map(|spot| self.node[self.layout.place(spot)]);
        let (keep, drop) = (one.min(other), one.max(other));
        self.node.iter_mut().filter(|node| **node == drop).for_each(|node| *node = keep);
    }

    /// Takes `spot` off all that it is joined to; the others stay joined.
    pub fn lift(&mut self, spot: Spot) {
        let place = self.layout.place(spot);
        if self.node[place] == place {
            // It is the one that the others are called by: the next takes its part.
            let rest = |node: &Vec<usize>| (place + 1..node.len()).find(|other| node[*other] == place);
            if let Some(next) = rest(&self.node) {
                self.node[next..].iter_mut().filter(|node| **node == place).for_each(|node| *node = next);
            }
        }
        self.node[place] = place;
    }

    /// Returns whether two spots are one node.
    pub fn joins(&self, one: Spot, other: Spot) -> bool {
        let [one, other] = [one, other].map(|spot| self.node[self.layout.place(spot)]);
        one == other
    }

    /// Returns what the terminals of the pickup at `place` see of one another, what leads out counting as its hot conductor
    /// and ground as its ground.
    pub fn of_pickup(&self, place: usize) -> Connection {
        let own = |terminal: Terminal| Spot::Terminal(place, terminal);
        let spots = |terminal: Terminal| match terminal {
            Terminal::Hot => vec![Spot::Out, own(terminal)],
            Terminal::Ground => vec![Spot::Ground, own(terminal)],
            Terminal::APlus | Terminal::AMinus | Terminal::BPlus | Terminal::BMinus => vec![own(terminal)],
        };
        let meet = |one: Terminal, other: Terminal| {
            spots(one).iter().any(|one| spots(other).iter().any(|other| self.joins(*one, *other)))
        };
        let pairs = Terminal::ALL.into_iter().flat_map(|one| Terminal::ALL.map(|other| [one, other]));
        let pairs: Vec<[Terminal; 2]> = pairs.filter(|[one, other]| meet(*one, *other)).collect();
        Connection::joining(pairs.iter().map(<[Terminal; 2]>::as_slice))
    }

    /// Returns what of the nets a circuit depends on.
    pub fn key(&self) -> NetsKey {
        // Lugs come last, so the least place of a node that holds anything else is never a lug's.
        NetsKey(self.node[..self.layout.with_parts()].to_vec(), self.bypassed.clone())
    }

    /// Returns whether the coils' joint of the pickup at `place` is bypassed to ground.
    pub(super) fn is_bypassed(&self, place: usize) -> bool {
        self.bypassed[place]
    }
}

fn spot_of(thing: Thing, pickup: usize, lever: Lever) -> Spot {
    match thing {
        Thing::Terminal(terminal) => Spot::Terminal(pickup, terminal),
        Thing::Shield => Spot::Shield(pickup),
        Thing::Lug(lug) => Spot::Lug(lever, lug),
    }
}

fn spot_at(point: Point, lever: Option<Lever>) -> Option<Spot> {
    match point {
        Point::Hot(pickup) => Some(Spot::Behind(pickup)),
        Point::Cold(pickup) => Some(Spot::Terminal(pickup, Terminal::Ground)),
        Point::Out => Some(Spot::Out),
        Point::Ground => Some(Spot::Ground),
        Point::Lug(lug) => lever.map(|lever| Spot::Lug(lever, lug)),
        Point::LugOf(lever, lug) => Some(Spot::Lug(lever, lug)),
        Point::Terminal(pickup, terminal) => Some(Spot::Terminal(pickup, terminal)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{Circuit, JackLoad, Strapping, Wired, circuit_of, resistance_to_ground};
    use crate::document::Document;
    use crate::quantity::Hertz;
    use crate::response::Setting;

    fn closed(guitar: &Guitar, throws: &[usize]) -> Vec<[Spot; 2]> {
        let contacts = guitar.levers().into_iter().zip(throws).flat_map(|(lever, throw)| {
            let contacts = lever.table(guitar).throws()[*throw].contacts().to_vec();
            contacts.into_iter().map(move |pair| pair.map(|lug| Spot::Lug(lever, lug)))
        });
        contacts.collect()
    }

    /// Compares the two circuits; the first of the one's coils is the coil at `from` of the other's.
    fn same(guitar: &Guitar, wired: Wired<'_>, nets: &Nets, from: usize) {
        let [one, other] = [wired, Wired::Soldered(nets)]
            .map(|wired| circuit_of(guitar, wired, JackLoad::Unplugged).unwrap());
        let ohms = |driven: &crate::circuit::Driven| {
            resistance_to_ground(&driven.netlist, driven.jack).unwrap().map(crate::quantity::Ohms::value)
        };
        match (ohms(&one), ohms(&other)) {
            (None, None) => {}
            (Some(one), Some(other)) => assert!((one - other).abs() <= 1e-9 * one, "{one} {other}"),
            different => panic!("{different:?}"),
        }
        let at = |driven: &crate::circuit::Driven| {
            Circuit::new(&driven.netlist, driven.jack).response(Hertz::new(2e3)).unwrap()
        };
        for (one, other) in at(&one).iter().zip(&at(&other)[from..]) {
            assert!((one - other).norm() <= 1e-9, "{one} {other}");
        }
    }

    /// The two ways to say how a guitar is wired, by strappings and throws and by what is soldered, are one circuit.
    #[test]
    fn what_is_soldered_is_the_circuit_that_is_heard() {
        let own = "format = 1\njoints = [[\"bridge.ground\", \"neck\"], [\"bridge\", \"out\"]]\n\
            [[pickup]]\nname = \"bridge\"\nlike = \"mini\"\narrangement = \"series-bypassed\"\n\
            bypass_resistor = \"5k\"\n[pickup.controls]\nvolume = { pot = \"250k\", turned = 6 }\n\
            [[pickup]]\nname = \"neck\"\nlike = \"single-coil\"\n";
        let blend = "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\"\n[[pickup]]\nname = \"neck\"\n\
            like = \"single-coil\"\n[blend]\npot = \"500k\"\nturned = 4\nends = [\"bridge\", \"neck\"]\n";
        let linked = "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"single-coil\"\n[[pickup]]\nname = \"neck\"\n\
            like = \"mini\"\n[[selector]]\nname = \"selector\"\ntable = \"three-way-toggle\"\n\
            joints = [[\"bridge\", \"1\"], [\"out\", \"0\"]]\n[[switch]]\nname = \"phase\"\non = \"neck\"\ntable = \"on-on\"\n\
            joints = [[\"a+\", \"L1\", \"R3\"], [\"a-\", \"b+\"], [\"b-\", \"L3\", \"R1\"], [\"selector.2\", \"L2\"], \
            [\"ground\", \"R2\"]]\n";
        let three = Guitar::built_in("three-two-coil").unwrap();
        let read = |text: &str| Guitar::read(&Document::new("mine.toml", text)).unwrap();
        for guitar in [Guitar::built_in("set-neck").unwrap(), three, read(own), read(blend), read(linked)] {
            let solder = Solder::of(&guitar);
            let standing = Setting::standing(&guitar);
            let mut throws = vec![Vec::new()];
            for lever in guitar.levers() {
                let all = 0..lever.table(&guitar).throws().len();
                throws = throws
                    .iter()
                    .flat_map(|begun| all.clone().map(move |throw| [&begun[..], &[throw]].concat()))
                    .collect();
            }
            for throws in throws {
                let wired = Wired::Guitar {
                    pickups: &standing.pickups,
                    throws: &throws,
                    switches: &throws[guitar.joined().selectors().len()..],
                };
                same(&guitar, wired, &solder.nets(None, &closed(&guitar, &throws)), 0);
            }
        }
    }

    #[test]
    fn a_pickup_by_itself_is_the_circuit_that_is_heard_of_it() {
        let guitar = Guitar::built_in("short-scale-blade").unwrap();
        let solder = Solder::of(&guitar);
        for (place, pickup) in guitar.pickups().iter().enumerate() {
            let from = guitar.pickups()[..place].iter().map(|p| p.coil_places().len()).sum();
            for arrangement in pickup.arrangements() {
                let strapped = solder.strapped(place, arrangement.connection());
                let wired = Wired::Pickup(pickup, Strapping::of(arrangement));
                same(&guitar, wired, &strapped.nets(Some(place), &[]), from);
            }
        }
    }

    #[test]
    fn what_is_lifted_leaves_the_others_joined() {
        let guitar = Guitar::built_in("set-neck").unwrap();
        let spots = [Spot::Out, Spot::Behind(0), Spot::Behind(1)];
        for lifted in spots {
            let mut nets = Solder::of(&guitar).nets(None, &[[spots[0], spots[1]], [spots[1], spots[2]]]);
            assert!(nets.joins(spots[0], spots[2]));
            nets.lift(lifted);
            let others: Vec<Spot> = spots.into_iter().filter(|spot| *spot != lifted).collect();
            assert!(nets.joins(others[0], others[1]) && !nets.joins(lifted, others[0]), "{lifted:?}");
        }
    }
}
