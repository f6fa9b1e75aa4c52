//! Which wires make the wanted nets: the fewest joints, and of those the least work.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::layout::Layout;
use super::legs::{Choices, LegPlace};
use super::notes::most_on;
use super::tree::{Edge, Net};
use super::wanted::ToneOrder;
use super::{Harness, PartKind, Role, Terminal, Wanted, Wire};
use crate::guitar::Grounding;

/// A wire, lead or leg of a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PlannedWire {
    /// What it joins.
    pub ends: Wire,
    /// Its length in millimetres, as it is led; of a lug that is bent to its own case, none.
    pub mm: u32,
    /// What it is.
    pub kind: WireKind,
}

/// What joins two terminals, in the order in which a person solders.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum WireKind {
    /// A lug bent to its own case.
    Bent,
    /// A wire of ground.
    Ground,
    /// A leg of a capacitor or a resistor.
    Leg,
    /// A wire.
    Wire,
    /// Two leads or legs spliced.
    Splice,
    /// A lead of a pickup or a battery.
    Lead,
    /// The strings' wire.
    Strings,
}

/// A wire of signal that is longer than this, in millimetres, takes up less hum where it is shielded. Common practice.
const LONG: u32 = 100;

impl PlannedWire {
    /// Returns whether it is a wire of signal so long that a shielded one is worth while.
    pub fn may_be_shielded(&self) -> bool {
        self.kind == WireKind::Wire && self.mm > LONG
    }
}

impl WireKind {
    /// Every kind, in the order in which a person solders, with what a list of its wires is headed.
    pub const HEADED: [(Self, &'static str); 7] = [
        (Self::Bent, "Lugs bent to their own case"),
        (Self::Ground, "Ground"),
        (Self::Leg, "Legs of capacitors and resistors"),
        (Self::Wire, "Wires"),
        (Self::Splice, "Splices"),
        (Self::Lead, "Leads"),
        (Self::Strings, "The strings, last"),
    ];
}

/// A plan of all wires.
#[derive(Debug, Clone, PartialEq)]
pub struct HarnessPlan {
    /// The wires, in the order in which a person solders.
    pub wires: Vec<PlannedWire>,
    /// What they cost: the way of each in millimetres, with what its joints are worth.
    pub cost_mm: f64,
    /// What no plan is below: its cost where no lug's room were limited.
    pub bound_mm: f64,
    /// Whether no plan costs less: all that could have been looked at.
    pub is_least: bool,
}

/// Ways are reckoned in hundredths of a millimetre.
pub(super) const HUNDREDTHS: f64 = 100.0;
/// Wires are led round corners.
const LED: f64 = 1.15;
/// What the two joints of a wire are worth, in millimetres.
const JOINTS: f64 = 25.0;
/// With more tone controls than this their orders are not all tried.
const MOST_ORDERED: usize = 3;
/// So many places of all legs together are looked at; cavities take a few.
const MOST_PLACED: usize = 2000;

/// Points of a net with what may lead where.
struct Points {
    stops: Vec<Terminal>,
    ends: Vec<Terminal>,
    edges: Vec<([Terminal; 2], f64, WireKind)>,
}

/// The best plan so far, in hundredths of a millimetre.
struct Best {
    cost: u64,
    wires: Vec<PlannedWire>,
}

impl Harness {
    /// Returns the plan with the fewest joints and the least work, over every order of the tone controls and every place of
    /// every leg; nothing where the lugs have no room for one.
    pub fn plan(&self) -> Option<HarnessPlan> {
        let layout = Layout::of(&self.parts);
        let orders = self.orders();
        let searches = orders.iter().filter_map(|order| {
            let wanted = Wanted::ordered(&self.parts, order);
            let choices = Choices::of(self, &layout, &wanted);
            let first = choices.least();
            let bound = self.bound(&layout, &wanted, &choices.legs(&first))?;
            Some((bound, wanted, choices, first))
        });
        let mut searches: Vec<_> = searches.collect();
        searches.sort_by_key(|(bound, ..)| *bound);
        let bound = searches.first()?.0;
        let (mut best, mut steps): (Option<Best>, usize) = (None, 0);
        for (bound, wanted, choices, first) in searches {
            let others = bound - choices.cost(&first);
            let mut open = BinaryHeap::from([Reverse((bound, first))]);
            while let Some(Reverse((least, places))) = open.pop() {
                // What is left costs no less.
                if best.as_ref().is_some_and(|best| best.cost <= least) || steps >= MOST_PLACED {
                    break;
                }
                steps += 1;
                if let Some((cost, wires)) = self.planned(&layout, &wanted, &choices.legs(&places))
                    && best.as_ref().is_none_or(|best| cost < best.cost)
                {
                    best = Some(Best { cost, wires });
                }
                open.extend(choices.next(&places).map(|next| Reverse((others + choices.cost(&next), next))));
            }
        }
        let Best { cost, mut wires } = best?;
        wires.sort_by_key(|wire| (wire.kind, wire.ends));
        let [cost_mm, bound_mm] = [cost, bound].map(in_millimetres);
        Some(HarnessPlan { wires, cost_mm, bound_mm, is_least: steps < MOST_PLACED })
    }

    /// Returns every order of the tone controls.
    pub(super) fn orders(&self) -> Vec<Vec<ToneOrder>> {
        let tones = self.branches.tracks.iter().filter(|track| track.role == Role::Tone).count();
        if tones > MOST_ORDERED {
            return vec![Vec::new()];
        }
        (0..tones).fold(vec![Vec::new()], |orders, _| {
            let with = |order: &Vec<ToneOrder>| ToneOrder::ALL.map(|own| [order.as_slice(), &[own]].concat());
            orders.iter().flat_map(with).collect()
        })
    }

    /// Returns the points of each net, of ground in a star one for each case that may be its middle.
    fn every_points(&self, layout: &Layout, wanted: &Wanted, legs: &[LegPlace]) -> Vec<Vec<Points>> {
        let sleeve = self.parts.jack()[1];
        let is_star = self.parts.guitar().cavity().ground() == Grounding::Star;
        let of = |net: &Vec<Terminal>| {
            if net.contains(&sleeve) && is_star {
                let centres = self.cases(net).into_iter();
                centres.map(|centre| self.points(layout, net, legs, Some(centre))).collect()
            } else {
                vec![self.points(layout, net, legs, None)]
            }
        };
        wanted.nets().iter().map(of).collect()
    }

    /// Returns what no plan with the legs there is below, whatever room the lugs have.
    fn bound(&self, layout: &Layout, wanted: &Wanted, legs: &[LegPlace]) -> Option<u64> {
        let of = |ways: &Vec<Points>| ways.iter().filter_map(|points| self.net(points).bound()).min();
        self.every_points(layout, wanted, legs).iter().map(of).sum()
    }

    /// Returns what the nets of `wanted` cost at least with the legs there, and the wires.
    fn planned(
        &self,
        layout: &Layout,
        wanted: &Wanted,
        legs: &[LegPlace],
    ) -> Option<(u64, Vec<PlannedWire>)> {
        let (mut cost, mut wires) = (0, Vec::new());
        for ways in self.every_points(layout, wanted, legs) {
            let trees = ways.iter().filter_map(|points| Some((self.net(points).cheapest()?, points)));
            let (tree, points) = trees.min_by_key(|(tree, _)| tree.cost)?;
            cost += tree.cost;
            wires.extend(tree.edges.iter().map(|edge| {
                let (ends, _, kind) = points.edges[*edge];
                let mm = match kind {
                    WireKind::Bent => 0.0,
                    // Both legs share the way between the points that they reach.
                    WireKind::Leg => {
                        legs.iter().find(|place| place.leg == ends[1]).map_or(0.0, |own| own.way / 2.0)
                    }
                    WireKind::Ground
                    | WireKind::Wire
                    | WireKind::Splice
                    | WireKind::Lead
                    | WireKind::Strings => LED * layout.way(&self.parts, ends[0], ends[1]),
                };
                PlannedWire { ends, mm: whole(mm), kind }
            }));
        }
        Some((cost, wires))
    }

    fn net(&self, points: &Points) -> Net {
        let all: Vec<Terminal> = points.stops.iter().chain(&points.ends).copied().collect();
        let place = |terminal: Terminal| all.iter().position(|own| *own == terminal).unwrap_or(0);
        let edge = |(ends, cost, _): &([Terminal; 2], f64, WireKind)| {
            let mut ends = ends.map(place);
            ends.sort_unstable();
            Edge { ends, cost: u64::from(whole(cost * HUNDREDTHS)) }
        };
        let room = points.stops.iter().map(|stop| self.room(*stop, points)).collect();
        Net { room, ends: points.ends.len(), edges: points.edges.iter().map(edge).collect() }
    }

    /// Returns how many edges a stop has room for; leads that are spliced have as many as there are.
    fn room(&self, stop: Terminal, points: &Points) -> usize {
        if self.parts.is_lead(stop) { points.ends.len() } else { most_on(self, stop) }
    }

    /// Returns the cases, frames and tabs of a net.
    pub(super) fn cases(&self, net: &[Terminal]) -> Vec<Terminal> {
        net.iter().copied().filter(|own| self.parts.is_metal(*own) && !self.parts.is_lead(*own)).collect()
    }

    /// Returns the points of a net: its lugs are stops and its leads ends. On ground the cases are the stops, or the sleeve
    /// where there is none, and a lug is an end; in a star all cases lead to the one at its `centre`. Where there is no lug,
    /// leads are spliced to the first.
    fn points(
        &self,
        layout: &Layout,
        net: &[Terminal],
        legs: &[LegPlace],
        centre: Option<Terminal>,
    ) -> Points {
        let parts = &self.parts;
        let sleeve = parts.jack()[1];
        let is_ground = net.contains(&sleeve);
        let lugs = || net.iter().copied().filter(|own| !parts.is_lead(*own));
        let mut stops: Vec<Terminal> = if is_ground { self.cases(net) } else { lugs().collect() };
        if stops.is_empty() {
            stops.push(if is_ground { sleeve } else { net[0] });
        }
        let ends: Vec<Terminal> = net.iter().copied().filter(|own| !stops.contains(own)).collect();
        let wire = |one: Terminal, other: Terminal| LED * layout.way(parts, one, other) + JOINTS;
        let of_net = if is_ground { WireKind::Ground } else { WireKind::Wire };
        let mut edges = Vec::new();
        for (place, one) in stops.iter().enumerate() {
            for other in &stops[place + 1..] {
                if centre.is_none_or(|centre| centre == *one || centre == *other) {
                    edges.push(([*one, *other], wire(*one, *other), of_net));
                }
            }
        }
        for end in &ends {
            for stop in &stops {
                let Some((cost, kind)) = self.leading(layout, *end, *stop, legs) else { continue };
                let kind = if is_ground && kind == WireKind::Wire { WireKind::Ground } else { kind };
                edges.push(([*stop, *end], cost, kind));
            }
        }
        Points { stops, ends, edges }
    }

    /// Returns what it costs to lead an end to a stop, and what leads there; nothing where a leg does not reach it.
    fn leading(
        &self,
        layout: &Layout,
        end: Terminal,
        stop: Terminal,
        legs: &[LegPlace],
    ) -> Option<(f64, WireKind)> {
        let parts = &self.parts;
        let way = layout.way(parts, end, stop);
        if parts.is_lead(stop) {
            return Some((6.0, WireKind::Splice));
        }
        match parts.part_of(end).kind() {
            PartKind::TwoLegs(..) => {
                let place = legs.iter().find(|place| place.leg == end)?;
                (place.stop == Some(stop)).then_some((place.cost, WireKind::Leg))
            }
            PartKind::Pickup(_) | PartKind::Battery => Some((6.0 + way / 2.0, WireKind::Lead)),
            PartKind::Strings => Some((6.0 + way / 2.0, WireKind::Strings)),
            PartKind::Pot(..) if parts.part_of(end) == parts.part_of(stop) && parts.is_metal(stop) => {
                Some((1.0, WireKind::Bent))
            }
            PartKind::Pot(..) | PartKind::Lever(_) | PartKind::Jack | PartKind::Cavity | PartKind::Buffer => {
                Some((LED * way + JOINTS, WireKind::Wire))
            }
        }
    }
}

impl HarnessPlan {
    /// Returns the wires by their ends alone.
    pub fn ends(&self) -> Vec<Wire> {
        self.wires.iter().map(|wire| wire.ends).collect()
    }
}

#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "ways within a cavity are below 2000 mm"
)]
pub(super) fn whole(value: f64) -> u32 {
    value.round() as u32
}

#[allow(clippy::cast_precision_loss, reason = "a plan costs less than 10⁹ hundredths")]
fn in_millimetres(hundredths: u64) -> f64 {
    hundredths as f64 / HUNDREDTHS
}
