//! Where each curve's label stands: beside its curve or joined to its mark by a leader, on no other label and on no
//! curve.
//!
//! Every place on a grid over the panel is given a cost, curve by curve; labels take their cheapest places one after
//! the other, are placed anew in the light of the others until nothing moves, and are then shifted a little to where
//! they stand best. No chance is involved: the same picture always comes out the same.

use super::scene::{Frame, Point, count, whole};

/// A curve as heights at equal steps across a panel.
#[derive(Debug, Clone)]
pub(super) struct Heights {
    left: f64,
    heights: Vec<f64>,
}

/// A label that wants a place.
#[derive(Debug, Clone)]
pub(super) struct Wanted {
    pub(super) width: f64,
    pub(super) height: f64,
    /// The curve that the label belongs to.
    pub(super) curve: usize,
    /// The mark on that curve which a leader may join the label to; without one it must stand beside the curve.
    pub(super) mark: Option<Point>,
}

/// Where a label stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Placement {
    pub(super) frame: Frame,
    /// From the label to its mark, where it does not stand beside its curve.
    pub(super) leader: Option<[Point; 2]>,
    cost: f64,
}

/// The panel that labels are placed in.
#[derive(Debug, Clone, Copy)]
pub(super) struct Field<'a> {
    pub(super) frame: Frame,
    pub(super) curves: &'a [Heights],
    /// Marks that no label may cover.
    pub(super) marks: &'a [Frame],
    /// The size of type, by which distances are judged.
    pub(super) em: f64,
}

const STEP: f64 = 4.0;
/// The grid of places, and the finer one of the last shift, in ems.
const GRID: (f64, f64) = (0.9, 0.6);
const FINE: f64 = 0.08;
/// A label this near to its own curve and this much nearer than to any other belongs to it without a leader.
const BESIDE: f64 = 0.75;
const CLEARER: f64 = 0.7;
/// From a curve to a label, in ems: where it stands best, and where it begins to touch.
const BEST: f64 = 0.45;
const TOUCH: f64 = 0.3;
/// Between two labels, across and down, in ems.
const BETWEEN: (f64, f64) = (1.1, 0.3);
/// Looked at around a label, in ems.
const AROUND: f64 = 2.0;
/// A leader no longer than this, in ems.
const LONGEST: f64 = 26.0;
/// What it costs a leader to cross a curve, to run along one for a step, and to pass another's mark.
const CROSSING: f64 = 12.0;
const ALONG: f64 = 1.0;
const PASSING: f64 = 40.0;
const ROUNDS: usize = 6;
const FIRST: usize = 9;

impl Heights {
    /// Returns a curve's heights between its ends; its points rise in x.
    pub(super) fn of(curve: &[Point]) -> Self {
        let Some(first) = curve.first() else { return Self { left: 0.0, heights: Vec::new() } };
        let mut heights = Vec::new();
        let mut x = first.x;
        for pair in curve.windows(2) {
            while x <= pair[1].x {
                let t = if pair[1].x > pair[0].x { (x - pair[0].x) / (pair[1].x - pair[0].x) } else { 0.0 };
                heights.push(pair[0].y + t * (pair[1].y - pair[0].y));
                x += STEP;
            }
        }
        Self { left: first.x, heights }
    }

    /// Returns the points of the curve between two places across, and the next one.
    pub(super) fn between(&self, left: f64, right: f64) -> impl Iterator<Item = Point> {
        let index = |x: f64| self.index(x).min(self.heights.len());
        let (from, to) = (index(left), index(right + STEP));
        let left = self.left;
        self.heights[from..to]
            .iter()
            .enumerate()
            .map(move |(i, y)| Point::new(left + STEP * (from + i) as f64, *y))
    }

    /// Returns the height at `x`, or none beyond the curve's ends.
    pub(super) fn at(&self, x: f64) -> Option<f64> {
        let steps = (x - self.left) / STEP;
        if steps < 0.0 {
            return None;
        }
        let index = self.index(x);
        let pair = self.heights.get(index..index + 2)?;
        Some(pair[0] + (steps - index as f64) * (pair[1] - pair[0]))
    }

    /// Returns the index of the last height at or before `x`, or of the first one.
    fn index(&self, x: f64) -> usize {
        count(((x - self.left) / STEP).floor()) as usize
    }
}

/// Returns a place for each label, or none where it would have to cover something.
pub(super) fn placed(field: Field<'_>, wanted: &[Wanted]) -> Vec<Option<Placement>> {
    let candidates: Vec<Vec<Placement>> = wanted.iter().map(|w| field.candidates(w)).collect();
    // Who is placed first can spoil the others' places, so everyone is first once; a crowd takes its chances.
    let settled = (0..wanted.len().min(FIRST)).map(|first| settled(&candidates, first, field.em));
    let best = settled.min_by(|a, b| total(a, field.em).total_cmp(&total(b, field.em)));
    let mut places = best.unwrap_or_default();
    for i in 0..wanted.len() {
        if let Some(place) = places[i] {
            let nearby = field.nearby(&wanted[i], place.frame);
            places[i] = cheapest(&nearby, &places, i, field.em).or(places[i]);
        }
    }
    places
}

/// Returns places that no single label would leave, found from `first` on.
fn settled(candidates: &[Vec<Placement>], first: usize, em: f64) -> Vec<Option<Placement>> {
    let count = candidates.len();
    let mut places: Vec<Option<Placement>> = vec![None; count];
    for _ in 0..ROUNDS {
        let before = places.clone();
        for i in (0..count).map(|i| (first + i) % count) {
            places[i] = cheapest(&candidates[i], &places, i, em);
        }
        if places == before {
            break;
        }
    }
    places
}

/// Returns what a set of places costs together; a label without a place costs more than any with one.
fn total(places: &[Option<Placement>], em: f64) -> f64 {
    let mut cost = 0.0;
    for (i, place) in places.iter().enumerate() {
        let Some(place) = place else {
            cost += 1e4;
            continue;
        };
        cost += place.cost + places[..i].iter().flatten().map(|p| between(place, p, em)).sum::<f64>();
    }
    cost
}

/// Returns the candidate, of those sorted by cost, that is cheapest with the other labels where they are.
fn cheapest(
    candidates: &[Placement],
    places: &[Option<Placement>],
    own: usize,
    em: f64,
) -> Option<Placement> {
    let mut best: Option<(f64, Placement)> = None;
    for candidate in candidates {
        if best.is_some_and(|(cost, _)| cost <= candidate.cost) {
            break;
        }
        let others = places.iter().enumerate().filter(|(i, _)| *i != own).filter_map(|(_, p)| *p);
        let cost = candidate.cost + others.map(|p| between(candidate, &p, em)).sum::<f64>();
        if cost.is_finite() && best.is_none_or(|(least, _)| cost < least) {
            best = Some((cost, *candidate));
        }
    }
    best.map(|(_, place)| place)
}

/// Returns what it costs that two labels stand where they do.
fn between(one: &Placement, other: &Placement, em: f64) -> f64 {
    // Farther apart beside each other, where two labels would read as one line.
    let Frame { left, top, right, bottom } = one.frame;
    let (across, down) = (BETWEEN.0 * em, BETWEEN.1 * em);
    let kept = Frame { left: left - across, top: top - down, right: right + across, bottom: bottom + down };
    if kept.overlaps(other.frame) {
        return f64::INFINITY;
    }
    let covers = |p: &Placement, q: &Placement| {
        let along = |[a, b]: [Point; 2]| (0..=32).map(move |i| between_points(a, b, f64::from(i) / 32.0));
        p.leader.is_some_and(|leader| along(leader).any(|at| q.frame.grown(0.2 * em).distance(at) == 0.0))
    };
    let crossed = match (one.leader, other.leader) {
        (Some(a), Some(b)) => cross(a, b),
        _ => false,
    };
    if covers(one, other) || covers(other, one) || crossed { 400.0 } else { 0.0 }
}

impl Field<'_> {
    fn candidates(&self, wanted: &Wanted) -> Vec<Placement> {
        let (across, down) = (GRID.0 * self.em, GRID.1 * self.em);
        let columns = whole(((self.frame.width() - wanted.width) / across).floor());
        let rows = whole(((self.frame.height() - wanted.height) / down).floor());
        let mut found = Vec::new();
        for row in 0..=rows {
            for column in 0..=columns {
                let left = self.frame.left + across * f64::from(column);
                let top = self.frame.top + down * f64::from(row);
                found.extend(self.judged(wanted, left, top));
            }
        }
        found.sort_by(|a: &Placement, b| a.cost.total_cmp(&b.cost));
        found
    }

    fn nearby(&self, wanted: &Wanted, frame: Frame) -> Vec<Placement> {
        let mut found = Vec::new();
        for row in -6..=6 {
            for column in -6..=6 {
                let (across, down) = (FINE * self.em * f64::from(column), FINE * self.em * f64::from(row));
                found.extend(self.judged(wanted, frame.left + across, frame.top + down));
            }
        }
        found.sort_by(|a: &Placement, b| a.cost.total_cmp(&b.cost));
        found
    }

    /// Returns the label's placement with its upper left corner there, or none where it may not stand.
    fn judged(&self, wanted: &Wanted, left: f64, top: f64) -> Option<Placement> {
        let frame = Frame { left, top, right: left + wanted.width, bottom: top + wanted.height };
        let inside = left >= self.frame.left
            && top >= self.frame.top
            && frame.right <= self.frame.right
            && frame.bottom <= self.frame.bottom;
        if !inside || self.marks.iter().any(|m| m.overlaps(frame)) {
            return None;
        }
        let (mut own, mut other) = (f64::INFINITY, f64::INFINITY);
        for (i, curve) in self.curves.iter().enumerate() {
            let nearest = if i == wanted.curve { &mut own } else { &mut other };
            let mut before: Option<Point> = None;
            for point in curve.between(frame.left - AROUND * self.em, frame.right + AROUND * self.em) {
                *nearest = nearest.min(frame.distance_squared(point));
                // A steep curve may leap over a label from one of its points to the next.
                if *nearest == 0.0 || before.is_some_and(|before| spanned(before, point).overlaps(frame)) {
                    return None;
                }
                before = Some(point);
            }
        }
        let (own, other) = (own.sqrt() / self.em, other.sqrt() / self.em);
        let touching = |d: f64| if d < TOUCH { 60.0 * (TOUCH - d) / TOUCH } else { 0.0 };
        let crowded = 6.0 * (1.2 - other).max(0.0);
        let cost = touching(own) + 2.0 * touching(other) + crowded;
        let far = wanted.mark.map_or(0.0, |mark| frame.distance(mark) / self.em);
        if own <= BESIDE && other >= own + CLEARER {
            let cost = cost + 8.0 * (own - BEST).abs() + 0.5 * far;
            return Some(Placement { frame, leader: None, cost });
        }
        let mark = wanted.mark.filter(|_| far <= LONGEST)?;
        let leader = [frame.nearest(mark), mark];
        Some(Placement { frame, leader: Some(leader), cost: cost + 10.0 + 1.2 * far + self.obscured(leader) })
    }

    /// Returns what it costs that a leader crosses curves, runs along them or passes other marks.
    fn obscured(&self, [from, to]: [Point; 2]) -> f64 {
        let pieces = whole((from.distance(to) / STEP).ceil()).max(2);
        // The last piece lies at the mark, where rounding decides on which side of its own curve it is.
        let along: Vec<Point> =
            (0..pieces).map(|i| between_points(from, to, f64::from(i) / f64::from(pieces))).collect();
        let mut cost = 0.0;
        for curve in self.curves {
            let mut side = None;
            for above in along.iter().filter_map(|p| curve.at(p.x).map(|y| y - p.y)) {
                cost += if side.is_some_and(|s| s != (above > 0.0)) { CROSSING } else { 0.0 };
                cost += if above.abs() < TOUCH * self.em { ALONG } else { 0.0 };
                side = Some(above > 0.0);
            }
        }
        let passed = |mark: &&Frame| {
            mark.distance(to) > 0.0 && along.iter().any(|p| mark.grown(0.2 * self.em).distance(*p) == 0.0)
        };
        cost + PASSING * self.marks.iter().filter(passed).count() as f64
    }
}

fn between_points(a: Point, b: Point, t: f64) -> Point {
    Point::new(a.x + t * (b.x - a.x), a.y + t * (b.y - a.y))
}

/// Returns the least frame that holds two points.
fn spanned(a: Point, b: Point) -> Frame {
    Frame { left: a.x.min(b.x), top: a.y.min(b.y), right: a.x.max(b.x), bottom: a.y.max(b.y) }
}

/// Returns whether two lines cross, by the sides on which each has the other's ends.
fn cross([a, b]: [Point; 2], [c, d]: [Point; 2]) -> bool {
    let side = |p: Point, q: Point, r: Point| (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x) > 0.0;
    side(a, b, c) != side(a, b, d) && side(c, d, a) != side(c, d, b)
}

#[cfg(test)]
mod tests {
    use super::*;

    const PANEL: Frame = Frame { left: 0.0, top: 0.0, right: 400.0, bottom: 200.0 };

    fn bundle(n: usize) -> (Vec<Heights>, Vec<Wanted>, Vec<Frame>) {
        let peak = |i: usize| Point::new(200.0 + 12.0 * i as f64, 80.0 + 7.0 * i as f64);
        let curve = |i: usize| {
            let top = peak(i);
            let at =
                |x: f64| Point::new(x, top.y + 0.004 * (x - top.x).powi(2).min(40.0 * (x - top.x).abs()));
            (0..=40).map(|k| at(10.0 * f64::from(k))).collect::<Vec<Point>>()
        };
        let curves = (0..n).map(|i| Heights::of(&curve(i))).collect();
        let wanted = (0..n).map(|i| Wanted { width: 80.0, height: 12.0, curve: i, mark: Some(peak(i)) });
        (curves, wanted.collect(), (0..n).map(|i| Frame::around(peak(i), 3.0)).collect())
    }

    #[test]
    fn labels_overlap_neither_each_other_nor_curves_nor_marks_however_many_there_are() {
        for n in 1..=9 {
            let (curves, wanted, marks) = bundle(n);
            let field = Field { frame: PANEL, curves: &curves, marks: &marks, em: 10.0 };
            let places = placed(field, &wanted);
            for (i, place) in places.iter().enumerate() {
                let place = place.unwrap_or_else(|| panic!("{i} of {n} has no place"));
                assert!(places[..i].iter().flatten().all(|p| !p.frame.overlaps(place.frame)), "{i} of {n}");
                assert!(marks.iter().all(|m| !m.overlaps(place.frame)));
                let touched =
                    curves.iter().flat_map(|c| c.between(place.frame.left, place.frame.right - STEP));
                assert!(touched.into_iter().all(|p| place.frame.distance(p) > 0.0), "{i} of {n}");
            }
            assert_eq!(places, placed(field, &wanted));
        }
    }

    #[test]
    fn a_lone_curves_label_stands_beside_it_without_a_leader() {
        let (curves, wanted, marks) = bundle(1);
        let place =
            placed(Field { frame: PANEL, curves: &curves, marks: &marks, em: 10.0 }, &wanted)[0].unwrap();
        assert_eq!(place.leader, None);
    }

    #[test]
    fn a_label_too_wide_for_its_panel_has_no_place() {
        let (curves, mut wanted, marks) = bundle(1);
        wanted[0].width = 401.0;
        assert_eq!(placed(Field { frame: PANEL, curves: &curves, marks: &marks, em: 10.0 }, &wanted), [None]);
    }
}
