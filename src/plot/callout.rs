//! Where the numbers of marked points stand: each near its point, joined to it by a leader, on no other number and on
//! no mark, as long as there is room.
//!
//! Each number in turn takes the nearest place around its point that is free. No chance is involved: the same picture
//! always comes out the same.

use std::f64::consts::{SQRT_2, TAU};

use super::scene::{Frame, Point};

/// Points among others that are to be numbered.
#[derive(Debug, Clone, Copy)]
pub(super) struct Crowd<'a> {
    /// What no number may leave.
    pub(super) frame: Frame,
    /// Every mark, the numbered points among them.
    pub(super) dots: &'a [Point],
    /// The points that are numbered.
    pub(super) points: &'a [Point],
    /// The radii of a mark and of a numbered point's mark, and half the side of a number's tag, which is a square.
    pub(super) dot: f64,
    pub(super) point: f64,
    pub(super) tag: f64,
}

/// What a tag keeps clear of, from the most to the least.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd)]
enum Clear {
    Tags,
    Points,
    Dots,
}

/// Between a tag and what it keeps clear of, in halves of its side.
const GAP: f64 = 0.25;
/// Distances from the point that are tried, in halves of a tag's side, and directions.
const STEP: f64 = 0.5;
const STEPS: u32 = 32;
const DIRECTIONS: u32 = 24;

/// Returns the middle of each point's number.
pub(super) fn numbered(crowd: Crowd<'_>) -> Vec<Point> {
    let mut placed: Vec<Point> = Vec::with_capacity(crowd.points.len());
    for _ in crowd.points {
        let free =
            [Clear::Dots, Clear::Points, Clear::Tags].into_iter().find_map(|of| crowd.free(&placed, of));
        // A crowd without any room has its numbers one on the other rather than none.
        let next =
            free.unwrap_or_else(|| crowd.candidates(placed.len()).next().unwrap_or(crowd.frame.middle()));
        placed.push(next);
    }
    placed
}

impl Crowd<'_> {
    /// Returns the nearest free place for the number after those that are `placed`.
    fn free(&self, placed: &[Point], of: Clear) -> Option<Point> {
        self.candidates(placed.len()).find(|at| self.is_free(*at, placed, of))
    }

    /// Returns the places around a point, the nearest first, beginning above it at the right.
    fn candidates(&self, own: usize) -> impl Iterator<Item = Point> {
        let point = self.points[own];
        let nearest = self.point + (SQRT_2 + GAP) * self.tag;
        (0..STEPS).flat_map(move |step| {
            let distance = nearest + STEP * self.tag * f64::from(step);
            (0..DIRECTIONS).map(move |direction| {
                let turn = f64::from(direction) / f64::from(DIRECTIONS) - 0.125;
                let (sine, cosine) = (TAU * turn).sin_cos();
                Point::new(point.x + distance * cosine, point.y + distance * sine)
            })
        })
    }

    fn is_free(&self, at: Point, placed: &[Point], of: Clear) -> bool {
        let gap = GAP * self.tag;
        let own = self.points[placed.len()];
        let tag = Frame::around(at, self.tag);
        let inside = self.frame.grown(-self.tag).distance(at) == 0.0;
        let tags = || placed.iter().all(|other| !tag.overlaps(Frame::around(*other, self.tag + gap)));
        // A line this far from a tag's middle passes its corners.
        let corner = SQRT_2 * self.tag;
        let leaders = || {
            placed.iter().zip(self.points).all(|(other, point)| {
                to_line(at, [*point, *other]) >= corner && to_line(*other, [own, at]) >= corner
            })
        };
        // What lies as near to the point as its own mark reaches can be passed by no leader.
        let apart = |p: &&Point| p.distance(own) > 2.0 * self.point;
        let points = || {
            self.points.iter().all(|p| tag.distance(*p) >= self.point)
                && self.points.iter().filter(apart).all(|p| to_line(*p, [own, at]) >= self.point)
        };
        let dots = || self.dots.iter().all(|dot| tag.distance(*dot) >= self.dot);
        inside && tags() && (of < Clear::Points || (points() && leaders())) && (of < Clear::Dots || dots())
    }
}

/// Returns the distance of a point from a line between two others.
fn to_line(p: Point, [a, b]: [Point; 2]) -> f64 {
    let (x, y) = (b.x - a.x, b.y - a.y);
    let along = ((p.x - a.x) * x + (p.y - a.y) * y) / (x * x + y * y).max(f64::MIN_POSITIVE);
    let t = along.clamp(0.0, 1.0);
    p.distance(Point::new(a.x + t * x, a.y + t * y))
}

#[cfg(test)]
mod tests {
    use super::*;

    const PLANE: Frame = Frame { left: 0.0, top: 0.0, right: 400.0, bottom: 200.0 };

    fn numbers(dots: &[Point], points: &[Point]) -> Vec<Point> {
        let crowd = Crowd { frame: PLANE, dots, points, dot: 2.0, point: 4.0, tag: 8.0 };
        let placed = numbered(crowd);
        assert_eq!(placed, numbered(crowd));
        placed
    }

    #[test]
    fn numbers_lie_on_no_number_and_on_no_mark_even_in_a_crowd() {
        let dots: Vec<Point> = (0..400)
            .map(|i| Point::new(150.0 + 5.0 * f64::from(i % 20), 50.0 + 5.0 * f64::from(i / 20)))
            .collect();
        let points: Vec<Point> = dots.iter().copied().step_by(57).collect();
        let placed = numbers(&dots, &points);
        assert_eq!(placed.len(), points.len());
        for (i, at) in placed.iter().enumerate() {
            let tag = Frame::around(*at, 8.0);
            assert!(placed[..i].iter().all(|other| !tag.overlaps(Frame::around(*other, 8.0))), "{i}");
            assert!(dots.iter().all(|dot| tag.distance(*dot) >= 2.0), "{i}");
            assert!(tag.corners().iter().all(|corner| PLANE.distance(*corner) == 0.0), "{i}");
        }
    }

    #[test]
    fn a_lone_points_number_is_beside_it_and_points_in_one_place_have_a_number_each() {
        let lone = [Point::new(200.0, 100.0)];
        let tag = Frame::around(numbers(&lone, &lone)[0], 8.0);
        assert!((4.0..12.0).contains(&tag.distance(lone[0])));
        let placed = numbers(&[lone[0]; 5], &[lone[0]; 5]);
        let tags: Vec<Frame> = placed.iter().map(|at| Frame::around(*at, 8.0)).collect();
        assert!((0..5).all(|i| tags[..i].iter().all(|other| !tags[i].overlaps(*other))));
    }

    #[test]
    fn where_there_is_no_room_every_point_still_has_a_number() {
        let corner = Point::new(0.0, 0.0);
        let crowd = [corner; 300];
        assert_eq!(numbers(&crowd, &crowd).len(), 300);
    }
}
