//! What must be joined in a cavity, as it follows from the guitar's file.

use super::branches::{Branches, controls_of};
use super::parts::{BRAID, COLD, HOT, SHIELD};
use super::union::Union;
use super::{Part, PartKind, Parts, Role, Terminal, TwoLegs};
use crate::circuit::{Solder, Spot};
use crate::guitar::{BleedForm, Point, ToneJoined, VolumeWiring};
use crate::wiring::Terminal as CoilEnd;

/// The nets that the guitar's file asks for. Of a tone control, which is the same circuit in four orders, the pot is on
/// the hot side.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    nets: Vec<Vec<Terminal>>,
}

impl Wanted {
    /// Returns the nets of the cavity of `parts`, each with its terminals in their order.
    pub fn of(parts: &Parts) -> Self {
        Self::ordered(parts, &[])
    }

    /// Returns the same with the tone controls, pot by pot, in these orders; those beyond are in the first.
    pub(super) fn ordered(parts: &Parts, orders: &[ToneOrder]) -> Self {
        let mut joining = Joining::new(parts, orders);
        joining.solder();
        for place in 0..parts.guitar().pickups().len() {
            let hot = joining.points.hot(place);
            let behind = joining.points.behind(place);
            joining.controls(Some(place), hot, behind);
        }
        let [tip, sleeve] = parts.jack().map(Terminal::index);
        let out = joining.points.out();
        match Branches::of(parts).follower {
            None => joining.controls(None, out, tip),
            Some(buffer) => {
                joining.controls(None, out, buffer.input.index());
                let [plus, minus] = buffer.battery.map(Terminal::index);
                let ring = parts.of_kind(PartKind::Jack).and_then(|jack| jack.lug("ring"));
                joining.nets.join(buffer.output.index(), tip);
                joining.nets.join(buffer.ground.index(), sleeve);
                joining.nets.join(buffer.supply.index(), plus);
                joining.nets.join(minus, ring.map_or(sleeve, Terminal::index));
            }
        }
        for metal in parts.terminals().filter(|terminal| parts.is_metal(*terminal)) {
            joining.nets.join(metal.index(), sleeve);
        }
        joining.read()
    }

    /// Returns the nets of more than one terminal.
    pub fn nets(&self) -> &[Vec<Terminal>] {
        &self.nets
    }
}

/// The order of a tone control from where it hangs to ground, and which way round its pot is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum ToneOrder {
    WiperFirst,
    EndFirst,
    CapacitorThenWiper,
    CapacitorThenEnd,
}

impl ToneOrder {
    pub(super) const ALL: [Self; 4] =
        [Self::WiperFirst, Self::EndFirst, Self::CapacitorThenWiper, Self::CapacitorThenEnd];

    /// Returns what is joined to what, of where it hangs, the pot's used end and wiper, the capacitor and ground.
    fn joints(
        self,
        hung: usize,
        [low, wiper]: [usize; 2],
        [one, other]: [usize; 2],
        ground: usize,
    ) -> [[usize; 2]; 3] {
        match self {
            Self::WiperFirst => [[hung, wiper], [low, one], [other, ground]],
            Self::EndFirst => [[hung, low], [wiper, one], [other, ground]],
            Self::CapacitorThenWiper => [[hung, one], [other, wiper], [low, ground]],
            Self::CapacitorThenEnd => [[hung, one], [other, low], [wiper, ground]],
        }
    }
}

/// The points beside the terminals that joints name: conductors that are no terminal of any part.
struct Points {
    terminals: usize,
    pickups: usize,
}

impl Points {
    fn out(&self) -> usize {
        self.terminals
    }

    fn hot(&self, pickup: usize) -> usize {
        self.terminals + 1 + pickup
    }

    fn behind(&self, pickup: usize) -> usize {
        self.hot(self.pickups + pickup)
    }

    fn cold(&self, pickup: usize) -> usize {
        self.hot(2 * self.pickups + pickup)
    }

    /// Returns the first of the points between parts that are joined to one another alone.
    fn all(&self) -> usize {
        self.hot(3 * self.pickups)
    }
}

struct Joining<'p> {
    parts: &'p Parts,
    orders: &'p [ToneOrder],
    points: Points,
    nets: Union,
}

impl<'p> Joining<'p> {
    fn new(parts: &'p Parts, orders: &'p [ToneOrder]) -> Self {
        let points = Points { terminals: parts.len(), pickups: parts.guitar().pickups().len() };
        let nets = Union::apart(points.all());
        Self { parts, orders, points, nets }
    }

    /// Joins what the file says is soldered together among pickups, selectors and switches.
    fn solder(&mut self) {
        let guitar = self.parts.guitar();
        let sleeve = self.parts.jack()[1].index();
        for group in Solder::of(guitar).groups() {
            let spots: Vec<usize> = group.spots.iter().map(|spot| self.spot(*spot)).collect();
            spots.windows(2).for_each(|pair| self.nets.join(pair[0], pair[1]));
        }
        for (place, pickup) in guitar.pickups().iter().enumerate() {
            if guitar.joined().is_empty() {
                self.nets.join(self.points.behind(place), self.points.out());
            }
            if !guitar.joined().names(Point::Cold(place)) {
                self.nets.join(self.points.cold(place), sleeve);
            }
            if pickup.is_joined_inside() {
                self.nets.join(self.points.hot(place), self.spot(Spot::Terminal(place, CoilEnd::Hot)));
                self.nets.join(self.points.cold(place), self.spot(Spot::Terminal(place, CoilEnd::Ground)));
            }
        }
        if let Some(blend) = self.part(PartKind::Pot(Role::Blend, None)) {
            self.nets.join(blend.at(1).index(), self.points.out());
        }
    }

    /// Returns the point that `spot` is: a terminal where there is one.
    fn spot(&self, spot: Spot) -> usize {
        let sleeve = self.parts.jack()[1].index();
        let of_pickup = |place: usize, lug: &str| {
            self.part(PartKind::Pickup(place)).and_then(|part| part.lug(lug)).map(Terminal::index)
        };
        match spot {
            Spot::Ground => sleeve,
            Spot::Out => self.points.out(),
            Spot::BlendEnd(end) => {
                let low_and_high = Branches::of(self.parts)
                    .tracks
                    .iter()
                    .find(|own| own.role == Role::Blend)
                    .map(|own| [own.low, own.high]);
                low_and_high.map_or(sleeve, |ends| ends[end].index())
            }
            Spot::Terminal(place, CoilEnd::Hot) => of_pickup(place, HOT).unwrap_or(self.points.hot(place)),
            Spot::Terminal(place, CoilEnd::Ground) => {
                of_pickup(place, BRAID).or_else(|| of_pickup(place, COLD)).unwrap_or(self.points.cold(place))
            }
            Spot::Terminal(place, end) => of_pickup(place, end.name()).unwrap_or(self.points.cold(place)),
            Spot::Behind(place) => self.points.behind(place),
            // It is metal: on ground, whatever its pickup's ground conductor is on.
            Spot::Shield(place) => of_pickup(place, SHIELD).unwrap_or(sleeve),
            Spot::Lug(lever, lug) => self.parts.of_lug(lever, lug.index()).map_or(sleeve, Terminal::index),
        }
    }

    fn part(&self, kind: PartKind) -> Option<&'p Part> {
        self.parts.of_kind(kind)
    }

    /// Joins the controls of the pickup at the place `whose`, or the guitar's own, between `hot` and `behind`.
    fn controls(&mut self, whose: Option<usize>, hot: usize, behind: usize) {
        let controls = *controls_of(self.parts, whose);
        let sleeve = self.parts.jack()[1].index();
        let tracks = Branches::of(self.parts).tracks;
        let track = |role: Role| {
            let own = tracks.iter().find(|own| own.role == role && own.whose == whose);
            own.map(|own| [own.low, own.wiper, own.high].map(Terminal::index))
        };
        let legs = |parts: &Parts, what: TwoLegs| {
            parts.of_kind(PartKind::TwoLegs(what, whose)).map(|part| [part.at(0).index(), part.at(1).index()])
        };
        let mut hot = hot;
        let mut join =
            |pairs: &[[usize; 2]]| pairs.iter().for_each(|[one, other]| self.nets.join(*one, *other));
        if let (Some([_, wiper, high]), Some([one, other])) =
            (track(Role::BassCut), legs(self.parts, TwoLegs::BassCapacitor))
        {
            join(&[[hot, high], [high, one], [wiper, other]]);
            hot = wiper;
        }
        if let Some([one, other]) = legs(self.parts, TwoLegs::Load) {
            join(&[[hot, one], [other, sleeve]]);
        }
        let mut out = hot;
        if let Some([low, wiper, high]) = track(Role::Volume) {
            let [from, to] = match controls.wiring() {
                VolumeWiring::Dependent => [high, wiper],
                VolumeWiring::Independent => [wiper, high],
            };
            join(&[[hot, from], [low, sleeve]]);
            (hot, out) = (from, to);
        }
        if let (Some(bleed), Some(capacitor)) = (controls.bleed(), legs(self.parts, TwoLegs::BleedCapacitor))
        {
            join(&[[hot, capacitor[0]]]);
            match (bleed.form(), legs(self.parts, TwoLegs::BleedResistor)) {
                (BleedForm::Series(_), Some(resistor)) => {
                    join(&[[capacitor[1], resistor[0]], [resistor[1], out]]);
                }
                (BleedForm::Parallel(_), Some(resistor)) => {
                    join(&[[capacitor[1], out], [hot, resistor[0]], [resistor[1], out]]);
                }
                (BleedForm::Capacitor | BleedForm::Series(_) | BleedForm::Parallel(_), _) => {
                    join(&[[capacitor[1], out]]);
                }
            }
        }
        if let (Some(tone), Some([low, wiper, _]), Some(capacitor)) =
            (controls.tone(), track(Role::Tone), legs(self.parts, TwoLegs::ToneCapacitor))
        {
            let hung = match tone.joined() {
                ToneJoined::BeforeVolume => hot,
                ToneJoined::AfterVolume => out,
            };
            let tones = tracks.iter().filter(|own| own.role == Role::Tone);
            let place = tones.clone().position(|own| own.whose == whose);
            let order =
                place.and_then(|place| self.orders.get(place)).copied().unwrap_or(ToneOrder::WiperFirst);
            join(&order.joints(hung, [low, wiper], capacitor, sleeve));
        }
        let bypass =
            legs(self.parts, TwoLegs::BypassCapacitor).or_else(|| legs(self.parts, TwoLegs::BypassResistor));
        let joint =
            whose.and_then(|place| self.parts.of_kind(PartKind::Pickup(place))).and_then(|own| own.lug("a-"));
        if let (Some([one, other]), Some(joint)) = (bypass, joint) {
            join(&[[joint.index(), one], [other, sleeve]]);
        }
        self.nets.join(out, behind);
    }

    fn read(self) -> Wanted {
        let mut nets: Vec<Vec<Terminal>> = Vec::new();
        for terminal in self.parts.terminals() {
            match nets.iter_mut().find(|net| self.nets.joins(net[0].index(), terminal.index())) {
                Some(net) => net.push(terminal),
                None => nets.push(vec![terminal]),
            }
        }
        nets.retain(|net| net.len() > 1);
        Wanted { nets }
    }
}
