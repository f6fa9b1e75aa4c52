//! Which wires make the wanted nets: the fewest joints, and of those the least work.

use super::layout::Layout;
use super::notes::most_on;
use super::tree::{Edge, Net, Tree};
use super::wanted::ToneOrder;
use super::{Harness, PartKind, Role, Terminal, TwoLegs, Wanted, Wire};
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
    /// With legs where they are, no plan costs less.
    pub bound_mm: f64,
}

/// Ways are reckoned in hundredths of a millimetre.
const HUNDREDTHS: f64 = 100.0;
/// Wires are led round corners.
const LED: f64 = 1.15;
/// What the two joints of a wire are worth, in millimetres.
const JOINTS: f64 = 25.0;
/// Both legs of a part reach as far together, in millimetres.
const REACH: f64 = 35.0;
/// With more tone controls than this their orders are not all tried.
const MOST_ORDERED: usize = 3;

/// Points of a net with what may lead where.
struct Points {
    stops: Vec<Terminal>,
    ends: Vec<Terminal>,
    edges: Vec<([Terminal; 2], f64, WireKind)>,
}

impl Harness {
    /// Returns the plan with the fewest joints and the least work; nothing where the lugs have no room for one.
    pub fn plan(&self) -> Option<HarnessPlan> {
        let layout = Layout::of(&self.parts);
        let tones = self.branches.tracks.iter().filter(|track| track.role == Role::Tone).count();
        let orders = ToneOrder::ALL.len();
        let ways = if tones <= MOST_ORDERED { orders.pow(u32::try_from(tones).unwrap_or(0)) } else { 1 };
        let mut best: Option<(u64, u64, Vec<PlannedWire>)> = None;
        for way in 0..ways {
            let mut left = way;
            let chosen: Vec<ToneOrder> = (0..tones)
                .map(|_| {
                    let own = ToneOrder::ALL[left % orders];
                    left /= orders;
                    own
                })
                .collect();
            let Some((cost, bound, wires)) = self.planned(&layout, &Wanted::ordered(&self.parts, &chosen))
            else {
                continue;
            };
            best = match best {
                Some((least, least_bound, _)) if cost < least => Some((cost, least_bound.min(bound), wires)),
                Some((least, least_bound, kept)) => Some((least, least_bound.min(bound), kept)),
                None => Some((cost, bound, wires)),
            };
        }
        let (cost, bound, mut wires) = best?;
        wires.sort_by_key(|wire| (wire.kind, wire.ends));
        let [cost_mm, bound_mm] = [cost, bound].map(in_millimetres);
        Some(HarnessPlan { wires, cost_mm, bound_mm })
    }

    /// Returns what the nets of `wanted` cost at least, what no plan of them is below, and the wires.
    fn planned(&self, layout: &Layout, wanted: &Wanted) -> Option<(u64, u64, Vec<PlannedWire>)> {
        let sleeve = self.parts.jack()[1];
        let (mut cost, mut bound, mut wires) = (0, 0, Vec::new());
        let legs = self.leg_places(layout, wanted);
        for net in wanted.nets() {
            let is_ground = net.contains(&sleeve);
            let (tree, edges) = if is_ground && self.parts.guitar().cavity().ground() == Grounding::Star {
                let stars = self.cases(net).into_iter().filter_map(|centre| {
                    let points = self.points(layout, net, &legs, Some(centre));
                    Some((self.cheapest(&points)?, points.edges))
                });
                stars.min_by_key(|(tree, _)| tree.cost)?
            } else {
                let points = self.points(layout, net, &legs, None);
                (self.cheapest(&points)?, points.edges)
            };
            cost += tree.cost;
            bound += tree.bound;
            wires.extend(tree.edges.iter().map(|edge| {
                let (ends, _, kind) = edges[*edge];
                let mm = match kind {
                    WireKind::Bent => 0.0,
                    // Both legs share the way between the points that they reach.
                    WireKind::Leg => {
                        let mate =
                            legs.iter().find(|place| place.leg == ends[1]).and_then(|place| place.mate);
                        mate.map_or(0.0, |mate| layout.way(&self.parts, ends[0], mate) / 2.0)
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
        Some((cost, bound, wires))
    }

    fn cheapest(&self, points: &Points) -> Option<Tree> {
        let all: Vec<Terminal> = points.stops.iter().chain(&points.ends).copied().collect();
        let place = |terminal: Terminal| all.iter().position(|own| *own == terminal).unwrap_or(0);
        let edge = |(ends, cost, _): &([Terminal; 2], f64, WireKind)| {
            let mut ends = ends.map(place);
            ends.sort_unstable();
            Edge { ends, cost: u64::from(whole(cost * HUNDREDTHS)) }
        };
        let room = points.stops.iter().map(|stop| self.room(*stop, points)).collect();
        Net { room, ends: points.ends.len(), edges: points.edges.iter().map(edge).collect() }.cheapest()
    }

    /// Returns how many edges a stop has room for; leads that are spliced have as many as there are.
    fn room(&self, stop: Terminal, points: &Points) -> usize {
        if self.parts.is_lead(stop) { points.ends.len() } else { most_on(self, stop) }
    }

    /// Returns the cases, frames and tabs of a net.
    fn cases(&self, net: &[Terminal]) -> Vec<Terminal> {
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
                let to_mate = place.mate.map_or(0.0, |mate| layout.way(parts, mate, stop));
                let on_a_case = if parts.is_metal(stop) { 3.0 } else { 0.0 };
                let may = place.only.as_ref().is_none_or(|only| only.contains(&stop));
                (may && (to_mate <= REACH || place.is_out_of_reach))
                    .then_some((0.3 * to_mate / 2.0 + on_a_case, WireKind::Leg))
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

    /// Returns where the legs of each part go: both within reach of each other, a bleed on its own volume.
    fn leg_places(&self, layout: &Layout, wanted: &Wanted) -> Vec<LegPlace> {
        let parts = &self.parts;
        let sleeve = parts.jack()[1];
        let mut all = Vec::new();
        for part in parts.all() {
            let PartKind::TwoLegs(what, whose) = part.kind() else { continue };
            let legs: Vec<Terminal> = part.terminals().collect();
            let own_volume: Option<Vec<Terminal>> = match what {
                TwoLegs::BleedCapacitor | TwoLegs::BleedResistor => {
                    parts.of_kind(PartKind::Pot(Role::Volume, whose)).map(|pot| pot.terminals().collect())
                }
                TwoLegs::ToneCapacitor
                | TwoLegs::BassCapacitor
                | TwoLegs::BypassCapacitor
                | TwoLegs::BypassResistor
                | TwoLegs::Load => None,
            };
            let stops = |leg: Terminal| -> Vec<Terminal> {
                let Some(net) = wanted.nets().iter().find(|net| net.contains(&leg)) else {
                    return Vec::new();
                };
                let lugs = net.iter().copied().filter(|own| !parts.is_lead(*own));
                let all: Vec<Terminal> = if net.contains(&sleeve) {
                    let cases = self.cases(net);
                    if cases.is_empty() { vec![sleeve] } else { cases }
                } else {
                    lugs.collect()
                };
                match &own_volume {
                    Some(own) if all.iter().any(|stop| own.contains(stop)) => {
                        all.into_iter().filter(|stop| own.contains(stop)).collect()
                    }
                    Some(_) | None => all,
                }
            };
            let [one, other] = [stops(legs[0]), stops(legs[1])];
            let pairs = one.iter().flat_map(|a| other.iter().map(move |b| (*a, *b)));
            let cost = |(a, b): &(Terminal, Terminal)| {
                let cases = [*a, *b].into_iter().filter(|stop| parts.is_metal(*stop)).count();
                let on_cases = if cases > 0 { 3.0 } else { 0.0 };
                (whole((0.3 * layout.way(parts, *a, *b) + on_cases) * HUNDREDTHS), *a, *b)
            };
            let best = pairs.min_by_key(cost);
            let is_out_of_reach = best.is_some_and(|(a, b)| layout.way(parts, a, b) > REACH);
            let [first, second] = [best.map(|(a, _)| a), best.map(|(_, b)| b)];
            let only = |stops: Vec<Terminal>| own_volume.is_some().then_some(stops);
            all.push(LegPlace { leg: legs[0], mate: second, only: only(one), is_out_of_reach });
            all.push(LegPlace { leg: legs[1], mate: first, only: only(other), is_out_of_reach });
        }
        all
    }
}

/// Where a leg may go.
struct LegPlace {
    leg: Terminal,
    /// Where the part's other leg is.
    mate: Option<Terminal>,
    /// The only stops that it may go to.
    only: Option<Vec<Terminal>>,
    /// Whether the part has to be lengthened.
    is_out_of_reach: bool,
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
fn whole(value: f64) -> u32 {
    value.round() as u32
}

#[allow(clippy::cast_precision_loss, reason = "a plan costs less than 10⁹ hundredths")]
fn in_millimetres(hundredths: u64) -> f64 {
    hundredths as f64 / HUNDREDTHS
}
