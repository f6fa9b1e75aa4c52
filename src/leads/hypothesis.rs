//! Every way in which a pickup's leads may be soldered to its coils, faults included.

use super::network::{Bond, Condition, Network, Point};
use super::reading::{Bobbin, Conductor};
use super::readings::Readings;

/// The end of each coil that is + and the other, each with the lead that is on it or, where no lead is, the lead
/// that one comes to through the other coil.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub(super) struct Assignment(pub(super) [[Option<Conductor>; 2]; 2]);

/// One way in which the pickup may be wired.
#[derive(Debug, Clone)]
pub(super) struct Hypothesis {
    seats: [Option<Point>; SEATS],
    pub(super) bond: Bond,
    pub(super) conditions: [Condition; 2],
    network: usize,
    pub(super) assignment: Assignment,
    /// How likely it is beside the others before anything was read; it orders the next reading and decides
    /// nothing.
    pub(super) weight: f64,
}

/// All hypotheses about one pickup.
pub(super) struct Hypotheses {
    networks: Vec<Network>,
    pub(super) list: Vec<Hypothesis>,
}

/// The leads and the shield.
const SEATS: usize = Readings::MAX_LEADS + 1;
/// The weight of a fault, against that of its absence.
const FAULT: f64 = 0.02;
/// The weight of a lead that goes to no coil.
const LOOSE: f64 = 0.05;
/// Every condition that a coil may be in.
const CONDITIONS: [Condition; 4] = [Condition::Whole, Condition::Open, Condition::Shorted, Condition::Absent];

/// A make of pickup: which points are brought out, what joins the coils inside, and how common that is.
struct Make {
    out: Vec<Point>,
    bond: Bond,
    absent: [bool; 2],
    /// Whether the leads themselves may be found joined, as they leave the factory.
    leads_may_be_joined: bool,
    weight: f64,
}

impl Hypotheses {
    /// Returns every hypothesis about a pickup with so many leads, coils, and a shield or none: each lead on each
    /// point brought out, with up to two faults at once where there are at most four leads, none of them loose,
    /// and with one otherwise.
    pub(super) fn about(readings: &Readings) -> Self {
        let leads = readings.leads.len();
        let mut all = Self { networks: networks(), list: Vec::new() };
        for make in makes(leads, readings.shield.is_some(), readings.coil_count()) {
            let seating = Seating { make: &make, leads, shield: readings.shield.is_some() };
            seating.fill(0, &mut [None; SEATS], &mut all.list);
        }
        all
    }

    /// Returns the network of `hypothesis`.
    pub(super) fn network(&self, hypothesis: &Hypothesis) -> &Network {
        &self.networks[hypothesis.network]
    }
}

impl Hypothesis {
    /// Returns the point to which `conductor` leads, where it leads to any.
    pub(super) fn seat(&self, conductor: Conductor) -> Option<Point> {
        self.seats[conductor.index()]
    }

    /// Returns whether two conductors are one point by what joins the coils, or by sharing a point.
    pub(super) fn joins(&self, one: Conductor, other: Conductor) -> bool {
        let (Some(a), Some(b)) = (self.seat(one), self.seat(other)) else { return false };
        a == b || self.bond.partner(a) == Some(b)
    }
}

impl Assignment {
    /// Returns whether both ends of every coil that `hypothesis` has are assigned.
    pub(super) fn is_complete(self, hypothesis: &Hypothesis) -> bool {
        self.0
            .iter()
            .zip(hypothesis.conditions)
            .all(|(ends, condition)| condition == Condition::Absent || ends.iter().all(Option::is_some))
    }
}

fn networks() -> Vec<Network> {
    let mut networks = Vec::new();
    for bond in Bond::ALL {
        for first in CONDITIONS {
            for second in CONDITIONS {
                networks.push(Network::new(bond, [first, second]));
            }
        }
    }
    networks
}

fn network_index(bond: Bond, conditions: [Condition; 2]) -> usize {
    let bond = Bond::ALL.iter().position(|b| *b == bond).unwrap_or(0);
    let [first, second] = conditions.map(|c| CONDITIONS.iter().position(|k| *k == c).unwrap_or(0));
    (bond * CONDITIONS.len() + first) * CONDITIONS.len() + second
}

fn makes(leads: usize, shield: bool, coils: usize) -> Vec<Make> {
    use Bobbin::{First, Second};
    use Point::{Middle, Minus, Plus};
    let mut makes = Vec::new();
    let mut make = |out: &[Point], bond: Bond, absent: [bool; 2], weight: f64| {
        let leads_may_be_joined = false;
        makes.push(Make { out: out.to_vec(), bond, absent, leads_may_be_joined, weight });
    };
    for bobbin in Bobbin::BOTH.into_iter().take(coils) {
        let absent = Bobbin::BOTH.map(|b| b != bobbin);
        let rarely = if coils == 1 { 1.0 } else { 0.05 };
        make(&[Plus(bobbin), Minus(bobbin)], Bond::Apart, absent, rarely);
        make(&[Plus(bobbin), Middle(bobbin), Minus(bobbin)], Bond::Apart, absent, 0.5 * rarely);
    }
    if coils == 1 {
        return makes;
    }
    let both = [false; 2];
    let ends = [Plus(First), Minus(First), Plus(Second), Minus(Second)];
    for bond in Bond::ALL {
        if let Bond::Joined(a, b) = bond {
            let outer = [a.other_end(), b.other_end()];
            make(&[outer[0], a, outer[1]], bond, both, 1.0);
            make(&outer, bond, both, 1.0);
        } else if let Bond::Beside { .. } = bond {
            make(&[Plus(First), Minus(First)], bond, both, 0.1);
        }
    }
    // A lead may have been cut short where there are fewer than four.
    for cut in ends {
        if leads == 3 {
            let left: Vec<Point> = ends.into_iter().filter(|e| *e != cut).collect();
            make(&left, Bond::Apart, both, FAULT);
        }
    }
    for (a, b) in Point::ends(First).into_iter().flat_map(|a| Point::ends(Second).map(|b| (a, b))) {
        if leads == 2 {
            make(&[a, b], Bond::Apart, both, FAULT);
        }
    }
    for middles in [&[Middle(First)][..], &[Middle(Second)], &[Middle(First), Middle(Second)]] {
        if (5..=6).contains(&leads) && ends.len() + middles.len() <= leads {
            make(&[&ends[..], middles].concat(), Bond::Apart, both, 0.2);
        }
    }
    if leads + usize::from(shield) >= ends.len() {
        makes.push(Make {
            out: ends.to_vec(),
            bond: Bond::Apart,
            absent: both,
            leads_may_be_joined: true,
            weight: 1.0,
        });
    }
    makes
}

/// One make, being matched to the leads.
struct Seating<'m> {
    make: &'m Make,
    leads: usize,
    shield: bool,
}

impl Seating<'_> {
    /// Puts a free lead, or once the shield, on each point brought out from number `next` on.
    fn fill(&self, next: usize, seats: &mut [Option<Point>; SEATS], list: &mut Vec<Hypothesis>) {
        let Some(point) = self.make.out.get(next) else {
            self.add_with_faults(*seats, list);
            return;
        };
        for conductor in 0..self.leads + usize::from(self.shield) {
            if seats[conductor].is_none() {
                seats[conductor] = Some(*point);
                self.fill(next + 1, seats, list);
                seats[conductor] = None;
            }
        }
    }

    fn add_with_faults(&self, seats: [Option<Point>; SEATS], list: &mut Vec<Hypothesis>) {
        let loose = seats[..self.leads].iter().filter(|s| s.is_none()).count();
        let shield_is_a_lead = self.shield && seats[self.leads].is_some();
        let mut weight = self.make.weight;
        for _ in 0..loose {
            weight *= LOOSE;
        }
        if shield_is_a_lead {
            // The fewer the leads, the more often the braid is one of them.
            weight *= [1.0, 0.5, 0.5, 0.1].get(self.leads).unwrap_or(&FAULT);
        }
        let most = if loose == 0 && self.leads <= 4 { 2 } else { 1 };
        for bond in self.bonds() {
            for conditions in self.conditions() {
                for contact in self.contacts(bond, conditions, shield_is_a_lead) {
                    let broken =
                        conditions.iter().filter(|c| matches!(c, Condition::Open | Condition::Shorted));
                    let faults =
                        broken.count() + usize::from(bond != self.make.bond) + usize::from(contact.is_some());
                    if faults > most || (bond == Bond::Touching && conditions != [Condition::Whole; 2]) {
                        continue;
                    }
                    let mut seats = seats;
                    if contact.is_some() {
                        seats[self.leads] = contact;
                    }
                    list.push(Hypothesis {
                        seats,
                        bond,
                        conditions,
                        network: network_index(bond, conditions),
                        assignment: self.assignment(&seats, bond),
                        weight: weight * FAULT.powi(i32::try_from(faults).unwrap_or(2)),
                    });
                }
            }
        }
    }

    fn bonds(&self) -> Vec<Bond> {
        if self.make.leads_may_be_joined { Bond::ALL.to_vec() } else { vec![self.make.bond] }
    }

    fn conditions(&self) -> Vec<[Condition; 2]> {
        let [first, second] = self.make.absent.map(|absent| {
            if absent {
                &[Condition::Absent][..]
            } else {
                &[Condition::Whole, Condition::Open, Condition::Shorted]
            }
        });
        first.iter().flat_map(|f| second.iter().map(|s| [*f, *s])).collect()
    }

    /// Returns where the shield may touch the wire by a fault: nowhere, at an end, or inside a coil that is whole
    /// (where a broken or shorted one touches it cannot be told from its end, and two such places would close a
    /// loop).
    fn contacts(&self, bond: Bond, conditions: [Condition; 2], shield_is_a_lead: bool) -> Vec<Option<Point>> {
        let mut contacts = vec![None];
        if !self.shield || shield_is_a_lead {
            return contacts;
        }
        for bobbin in Bobbin::BOTH {
            if conditions[bobbin.index()] == Condition::Absent {
                continue;
            }
            contacts.extend(Point::ends(bobbin).map(Some));
            let middle = Point::Middle(bobbin);
            let single = matches!(bond, Bond::Apart | Bond::Joined(..));
            if single && conditions[bobbin.index()] == Condition::Whole && !self.make.out.contains(&middle) {
                contacts.push(Some(middle));
            }
        }
        contacts
    }

    fn assignment(&self, seats: &[Option<Point>; SEATS], bond: Bond) -> Assignment {
        // Leads come first, so that a lead goes before a shield that touches the same point.
        let conductor_at = |point: Point| {
            let at = seats[..self.leads + usize::from(self.shield)].iter().position(|s| *s == Some(point))?;
            u8::try_from(at).ok().map(Conductor)
        };
        let lead_of = |end: Point| {
            let partner = bond.partner(end);
            let through_the_other_coil = partner.map(Point::other_end);
            [Some(end), partner, through_the_other_coil].into_iter().flatten().find_map(conductor_at)
        };
        let absent = self.make.absent;
        Assignment(Bobbin::BOTH.map(
            |b| {
                if absent[b.index()] { [None; 2] } else { Point::ends(b).map(lead_of) }
            },
        ))
    }
}
