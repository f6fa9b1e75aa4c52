//! Where the legs of capacitors and resistors may go: both of a part within reach of each other, a bleed on its own volume.

use super::layout::Layout;
use super::plan::{HUNDREDTHS, whole};
use super::{Harness, PartKind, Role, Terminal, TwoLegs, Wanted};

/// Both legs of a part reach as far together, in millimetres.
const REACH: f64 = 35.0;
/// What a leg's way is worth, of a wire's, and what a leg on a case is worth, in millimetres.
const LEG: f64 = 0.3;
const ON_A_CASE: f64 = 3.0;

/// Where a leg goes.
#[derive(Debug, Clone, Copy)]
pub(super) struct LegPlace {
    pub(super) leg: Terminal,
    /// The lug or case; nothing where it is spliced.
    pub(super) stop: Option<Terminal>,
    /// From there to where the part's other leg goes, in millimetres.
    pub(super) way: f64,
    /// What it costs there, in millimetres.
    pub(super) cost: f64,
}

/// The places of every part's two legs, those that cost least first.
pub(super) struct Choices(Vec<Vec<[LegPlace; 2]>>);

impl Choices {
    pub(super) fn of(harness: &Harness, layout: &Layout, wanted: &Wanted) -> Self {
        let parts = harness.parts.all().iter();
        let of_two = parts.filter_map(|part| match part.kind() {
            PartKind::TwoLegs(what, whose) => {
                let legs: Vec<Terminal> = part.terminals().collect();
                Some(places(
                    harness,
                    layout,
                    wanted,
                    [legs[0], legs[1]],
                    own_volume(harness, what, whose).as_deref(),
                ))
            }
            PartKind::Pot(..)
            | PartKind::Lever(_)
            | PartKind::Jack
            | PartKind::Pickup(_)
            | PartKind::Strings
            | PartKind::Cavity
            | PartKind::Buffer
            | PartKind::Battery => None,
        });
        Self(of_two.collect())
    }

    /// Returns the choice that costs least: of each part the number of its places.
    pub(super) fn least(&self) -> Vec<usize> {
        vec![0; self.0.len()]
    }

    /// Returns where the legs go by a choice.
    pub(super) fn legs(&self, choice: &[usize]) -> Vec<LegPlace> {
        self.0.iter().zip(choice).flat_map(|(places, own)| places[*own]).collect()
    }

    /// Returns what the legs cost by a choice, in hundredths of a millimetre.
    pub(super) fn cost(&self, choice: &[usize]) -> u64 {
        self.legs(choice).iter().map(|place| hundredths(place.cost)).sum()
    }

    /// Returns the choices that come after this one: one part goes to its next places. Every choice comes after one other alone,
    /// which costs no more.
    pub(super) fn next(&self, choice: &[usize]) -> impl Iterator<Item = Vec<usize>> {
        // The parts behind the last one that is not at its first places, and that one.
        let from = choice.iter().rposition(|own| *own > 0).unwrap_or(0);
        (from..choice.len()).filter(|part| choice[*part] + 1 < self.0[*part].len()).map(|part| {
            let mut next = choice.to_vec();
            next[part] += 1;
            next
        })
    }
}

fn hundredths(millimetres: f64) -> u64 {
    u64::from(whole(millimetres * HUNDREDTHS))
}

/// Returns the terminals of the volume pot that a bleed sits on.
fn own_volume(harness: &Harness, what: TwoLegs, whose: Option<usize>) -> Option<Vec<Terminal>> {
    match what {
        TwoLegs::BleedCapacitor | TwoLegs::BleedResistor => {
            let pot = harness.parts.of_kind(PartKind::Pot(Role::Volume, whose));
            pot.map(|pot| pot.terminals().collect())
        }
        TwoLegs::ToneCapacitor
        | TwoLegs::BassCapacitor
        | TwoLegs::BypassCapacitor
        | TwoLegs::BypassResistor
        | TwoLegs::Load => None,
    }
}

/// Returns the places of these legs, those that cost least first, at least one.
fn places(
    harness: &Harness,
    layout: &Layout,
    wanted: &Wanted,
    legs: [Terminal; 2],
    own_volume: Option<&[Terminal]>,
) -> Vec<[LegPlace; 2]> {
    let parts = &harness.parts;
    let [one, other] = legs.map(|leg| stops(harness, wanted, leg, own_volume));
    let way = |pair: &[Option<Terminal>; 2]| match *pair {
        [Some(a), Some(b)] => layout.way(parts, a, b),
        [None, _] | [_, None] => 0.0,
    };
    let pairs: Vec<[Option<Terminal>; 2]> =
        one.iter().flat_map(|a| other.iter().map(move |b| [*a, *b])).collect();
    let mut within: Vec<_> = pairs.iter().copied().filter(|pair| way(pair) <= REACH).collect();
    if within.is_empty() {
        // Then the part has to be lengthened.
        within = pairs;
    }
    let placed = |pair: [Option<Terminal>; 2]| {
        let way = way(&pair);
        [0, 1].map(|end| {
            let on_a_case = pair[end].is_some_and(|stop| parts.is_metal(stop));
            let cost = LEG * way / 2.0 + if on_a_case { ON_A_CASE } else { 0.0 };
            LegPlace { leg: legs[end], stop: pair[end], way, cost }
        })
    };
    let mut places: Vec<[LegPlace; 2]> = within.into_iter().map(placed).collect();
    places.sort_by_key(|pair| {
        (pair.iter().map(|own| hundredths(own.cost)).sum::<u64>(), pair.map(|own| own.stop))
    });
    places
}

/// Returns where `leg` may go: the lugs of its net, on ground the cases, of a bleed those of its volume; nowhere of its own where
/// it is spliced.
fn stops(
    harness: &Harness,
    wanted: &Wanted,
    leg: Terminal,
    own_volume: Option<&[Terminal]>,
) -> Vec<Option<Terminal>> {
    let sleeve = harness.parts.jack()[1];
    let net = wanted.nets().iter().find(|net| net.contains(&leg)).map_or(&[][..], Vec::as_slice);
    let mut all: Vec<Terminal> = if net.contains(&sleeve) {
        let cases = harness.cases(net);
        if cases.is_empty() { vec![sleeve] } else { cases }
    } else {
        net.iter().copied().filter(|own| !harness.parts.is_lead(*own)).collect()
    };
    if let Some(own) = own_volume.filter(|own| all.iter().any(|stop| own.contains(stop))) {
        all.retain(|stop| own.contains(stop));
    }
    if all.is_empty() { vec![None] } else { all.into_iter().map(Some).collect() }
}
