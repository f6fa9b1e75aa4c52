//! A pickup's wire as a meter on direct current sees it: what lies between any two points of the two coils.
//!
//! Each coil is two halves in a row, so that its middle (a tap, or the place of an insulation fault) is a point
//! too. What is unknown stays unknown: a way between two points names the halves it leads through, not ohms.
//!
//! # Source
//! Tapping a coil's poles induces a voltage along that coil's wire, positive at its + end, and through the
//! shared magnet path at most a third of it along the other coil's, positive at *its* + end (common practice,
//! no source); copper's halves share it as they share the turns, which is unknown. A voltmeter loads nothing.

use super::reading::{Bobbin, Swing};

/// A point of the wire: an end or the middle of a coil.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Point {
    /// The tap-positive end.
    Plus(Bobbin),
    /// The other end.
    Minus(Bobbin),
    /// Some place between the ends.
    Middle(Bobbin),
}

impl Point {
    pub(super) const COUNT: usize = 6;

    pub(super) const fn index(self) -> usize {
        match self {
            Self::Plus(b) => 3 * b.index(),
            Self::Minus(b) => 3 * b.index() + 1,
            Self::Middle(b) => 3 * b.index() + 2,
        }
    }

    /// Returns the other end of the coil of which this is an end.
    pub(super) const fn other_end(self) -> Self {
        match self {
            Self::Plus(b) => Self::Minus(b),
            Self::Minus(b) => Self::Plus(b),
            Self::Middle(b) => Self::Middle(b),
        }
    }

    pub(super) const fn ends(bobbin: Bobbin) -> [Self; 2] {
        [Self::Plus(bobbin), Self::Minus(bobbin)]
    }
}

/// What joins the two coils to each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Bond {
    /// Nothing.
    Apart,
    /// One end of the first coil and one of the second.
    Joined(Point, Point),
    /// Both ends: + to + and − to −, or crosswise.
    Beside { crossed: bool },
    /// A fault of the insulation between the two windings.
    Touching,
}

impl Bond {
    /// Every bond.
    pub(super) const ALL: [Self; 8] = {
        use Bobbin::{First, Second};
        use Point::{Minus, Plus};
        [
            Self::Apart,
            Self::Joined(Minus(First), Plus(Second)),
            Self::Joined(Plus(First), Minus(Second)),
            Self::Joined(Plus(First), Plus(Second)),
            Self::Joined(Minus(First), Minus(Second)),
            Self::Beside { crossed: false },
            Self::Beside { crossed: true },
            Self::Touching,
        ]
    };

    /// Returns the end of the other coil that is one point with `end`.
    pub(super) fn partner(self, end: Point) -> Option<Point> {
        self.joints().into_iter().flatten().find_map(|(a, b)| match end {
            e if e == a => Some(b),
            e if e == b => Some(a),
            _ => None,
        })
    }

    fn joints(self) -> [Option<(Point, Point)>; 2] {
        use Bobbin::{First, Second};
        use Point::{Minus, Plus};
        match self {
            Self::Apart | Self::Touching => [None, None],
            Self::Joined(a, b) => [Some((a, b)), None],
            Self::Beside { crossed: false } => {
                [Some((Plus(First), Plus(Second))), Some((Minus(First), Minus(Second)))]
            }
            Self::Beside { crossed: true } => {
                [Some((Plus(First), Minus(Second))), Some((Minus(First), Plus(Second)))]
            }
        }
    }
}

/// The state of one coil's wire.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Condition {
    /// As wound.
    Whole,
    /// Broken: no current passes from end to end.
    Open,
    /// Shorted from end to end, to a resistance near zero.
    Shorted,
    /// Not there: a pickup of one coil.
    Absent,
}

/// The swings that a tap may show, as a set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Swings(u8);

impl Swings {
    const fn of(swing: Swing) -> Self {
        Self(1 << Self::place(swing))
    }

    pub(super) const fn place(swing: Swing) -> usize {
        match swing {
            Swing::Plus => 0,
            Swing::Minus => 1,
            Swing::None => 2,
        }
    }

    pub(super) const fn holds(self, swing: Swing) -> bool {
        self.0 & Self::of(swing).0 != 0
    }

    /// Returns the set as its bits, in the order of [`Swings::place`].
    pub(super) const fn bits(self) -> u8 {
        self.0
    }

    /// Returns the swings of a coil of which the probes span `upper` and `lower` of its halves, each +1, −1 or 0.
    /// The whole coil swings by its own measure, less at most a third from the other; a half may or may not
    /// pass a third.
    const fn spanning([upper, lower]: [i8; 2]) -> Self {
        let none = Self::of(Swing::None);
        match upper + lower {
            0 => none,
            2 => Self::of(Swing::Plus),
            -2 => Self::of(Swing::Minus),
            1 => Self(Self::of(Swing::Plus).0 | none.0),
            _ => Self(Self::of(Swing::Minus).0 | none.0),
        }
    }
}

/// A way for current between two points.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Way {
    /// The parts of wire on the way, a bit each: two halves of each coil, and the two coils beside each other.
    /// None: the points are joined, or the coil between them is shorted.
    pub(super) parts: u8,
    /// What a tap shows, for each coil, with red on the second point.
    pub(super) swings: [Swings; 2],
}

/// The number of parts of wire that [`Way::parts`] tells apart.
pub(super) const PARTS: usize = 5;
const BESIDE: u8 = 1 << 4;

/// The ways between all points, in one state of bond and coils.
#[derive(Debug, Clone)]
pub(super) struct Network {
    ways: [[Option<Way>; Point::COUNT]; Point::COUNT],
}

/// A piece of wire or a joint: from one point to another, through parts, with the voltage that a tap of each
/// coil induces along it.
struct Edge {
    ends: [usize; 2],
    parts: u8,
    rise: [[i8; 2]; 2],
}

impl Network {
    /// Returns the network of two coils in those conditions with that bond.
    pub(super) fn new(bond: Bond, conditions: [Condition; 2]) -> Self {
        let edges = edges(bond, conditions);
        let mut ways = [[None; Point::COUNT]; Point::COUNT];
        for (from, row) in ways.iter_mut().enumerate() {
            walk(&edges, from, 0, [[0; 2]; 2], row);
        }
        Self { ways }
    }

    /// Returns the way from the point on the black probe to that on the red one, where there is one.
    pub(super) fn way(&self, black: usize, red: usize) -> Option<Way> {
        self.ways[black][red]
    }
}

/// Follows every edge from `at`; edges form no loop, so a point that has been reached is never reached again.
fn walk(edges: &[Edge], at: usize, parts: u8, rise: [[i8; 2]; 2], row: &mut [Option<Way>; Point::COUNT]) {
    row[at] = Some(Way { parts, swings: rise.map(Swings::spanning) });
    for edge in edges {
        let (next, direction) = match edge.ends {
            [a, b] if a == at => (b, 1),
            [a, b] if b == at => (a, -1),
            _ => continue,
        };
        if row[next].is_none() {
            let mut further = rise;
            for (coil, step) in further.iter_mut().zip(edge.rise) {
                for (half, up) in coil.iter_mut().zip(step) {
                    *half += direction * up;
                }
            }
            walk(edges, next, parts | edge.parts, further, row);
        }
    }
}

fn edges(bond: Bond, conditions: [Condition; 2]) -> Vec<Edge> {
    use Condition::{Absent, Open, Shorted, Whole};
    let mut edges = Vec::new();
    let mut wound = Bobbin::BOTH.map(|b| matches!(conditions[b.index()], Whole | Shorted));
    if let Bond::Beside { crossed } = bond {
        match conditions {
            [Whole, Whole] => {
                let upright = if crossed { -1 } else { 1 };
                let [plus, minus] = Point::ends(Bobbin::First).map(Point::index);
                edges.push(Edge { ends: [minus, plus], parts: BESIDE, rise: [[1, 0], [upright, 0]] });
                wound = [false, false];
            }
            // The shorted coil shorts the other one too; keeping both would close a loop.
            [Shorted, _] => wound[1] = false,
            [_, Shorted] => wound[0] = false,
            [Open | Absent, _] | [_, Open | Absent] => {}
        }
    }
    for bobbin in Bobbin::BOTH {
        if wound[bobbin.index()] {
            edges.extend(halves(bobbin, conditions[bobbin.index()] == Shorted));
        }
    }
    let touch =
        (bond == Bond::Touching).then_some((Point::Middle(Bobbin::First), Point::Middle(Bobbin::Second)));
    for (a, b) in bond.joints().into_iter().flatten().chain(touch) {
        edges.push(Edge { ends: [a.index(), b.index()], parts: 0, rise: [[0; 2]; 2] });
    }
    edges
}

fn halves(bobbin: Bobbin, shorted: bool) -> [Edge; 2] {
    let [plus, minus, middle] =
        [Point::Plus(bobbin), Point::Minus(bobbin), Point::Middle(bobbin)].map(Point::index);
    [([middle, plus], 0), ([minus, middle], 1)].map(|(ends, half)| {
        let mut edge = Edge { ends, parts: 0, rise: [[0; 2]; 2] };
        if !shorted {
            edge.parts = 1 << (2 * bobbin.index() + half);
            edge.rise[bobbin.index()][half] = 1;
        }
        edge
    })
}

#[cfg(test)]
mod tests {
    use super::Bobbin::{First, Second};
    use super::Condition::{Open, Shorted, Whole};
    use super::Point::{Middle, Minus, Plus};
    use super::*;

    fn swings(network: &Network, red: Point, black: Point) -> [&'static [Swing]; 2] {
        let way = network.way(black.index(), red.index());
        way.map_or([&[Swing::None]; 2], |way| {
            way.swings.map(|s| match s.bits() {
                1 => &[Swing::Plus][..],
                2 => &[Swing::Minus],
                4 => &[Swing::None],
                5 => &[Swing::Plus, Swing::None],
                _ => &[Swing::Minus, Swing::None],
            })
        })
    }

    #[test]
    fn a_coils_own_leads_swing_by_polarity_and_the_others_do_not() {
        let apart = Network::new(Bond::Apart, [Whole, Whole]);
        assert_eq!(swings(&apart, Plus(First), Minus(First)), [&[Swing::Plus], &[Swing::None]]);
        assert_eq!(swings(&apart, Minus(Second), Plus(Second)), [&[Swing::None], &[Swing::Minus]]);
        assert_eq!(apart.way(Plus(First).index(), Plus(Second).index()), None);
        let half = swings(&apart, Plus(First), Middle(First));
        assert_eq!(half, [&[Swing::Plus, Swing::None][..], &[Swing::None]]);
    }

    #[test]
    fn a_joint_in_series_lets_either_coil_be_heard_across_both() {
        let series = Network::new(Bond::Joined(Minus(First), Plus(Second)), [Whole, Whole]);
        assert_eq!(swings(&series, Plus(First), Minus(Second)), [&[Swing::Plus], &[Swing::Plus]]);
        let reversed = Network::new(Bond::Joined(Minus(First), Minus(Second)), [Whole, Whole]);
        assert_eq!(swings(&reversed, Plus(First), Plus(Second)), [&[Swing::Plus], &[Swing::Minus]]);
    }

    #[test]
    fn an_open_coil_ends_every_way_and_a_shorted_one_swings_nothing() {
        let series = Bond::Joined(Minus(First), Plus(Second));
        let open = Network::new(series, [Open, Whole]);
        assert_eq!(open.way(Plus(First).index(), Minus(Second).index()), None);
        assert!(open.way(Minus(First).index(), Minus(Second).index()).is_some());
        let shorted = Network::new(series, [Shorted, Whole]);
        assert_eq!(swings(&shorted, Plus(First), Minus(Second)), [&[Swing::None], &[Swing::Plus]]);
        assert_eq!(shorted.way(Plus(First).index(), Minus(First).index()).map(|w| w.parts), Some(0));
    }

    #[test]
    fn no_state_of_bond_and_coils_closes_a_loop() {
        for bond in Bond::ALL {
            for first in [Whole, Open, Shorted, Condition::Absent] {
                for second in [Whole, Open, Shorted, Condition::Absent] {
                    let mut island: [usize; Point::COUNT] = std::array::from_fn(|i| i);
                    for edge in edges(bond, [first, second]) {
                        let [a, b] = edge.ends.map(|end| island[end]);
                        assert_ne!(a, b, "{bond:?} {first:?} {second:?}");
                        island.iter_mut().filter(|i| **i == b).for_each(|i| *i = a);
                    }
                }
            }
        }
    }
}
