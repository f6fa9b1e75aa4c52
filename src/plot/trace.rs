//! A curve on its way to the sheet: cut at the panel's edges, freed of points that nobody sees, broken into dashes.

use super::scene::{Frame, Point};

/// Farther than this from the curve no point may be lost; a tenth of what a fine line is wide.
const TOLERANCE: f64 = 0.06;

/// Returns the parts of a curve that lie between the frame's upper and lower edge, cut exactly there.
pub(super) fn within(frame: Frame, curve: &[Point]) -> Vec<Vec<Point>> {
    let mut parts: Vec<Vec<Point>> = Vec::new();
    let mut open = false;
    for pair in curve.windows(2) {
        let Some([from, to]) = cut(frame, pair[0], pair[1]) else {
            open = false;
            continue;
        };
        if !open {
            parts.push(vec![from]);
        }
        if let Some(part) = parts.last_mut() {
            part.push(to);
        }
        open = to == pair[1];
    }
    parts
}

/// Returns the part of a segment between the frame's upper and lower edge.
fn cut(frame: Frame, from: Point, to: Point) -> Option<[Point; 2]> {
    let rise = to.y - from.y;
    let (mut start, mut end) = (0.0, 1.0);
    if rise == 0.0 {
        return (frame.top..=frame.bottom).contains(&from.y).then_some([from, to]);
    }
    let (top, bottom) = ((frame.top - from.y) / rise, (frame.bottom - from.y) / rise);
    start = f64::max(start, top.min(bottom));
    end = f64::min(end, top.max(bottom));
    let at = |t: f64| Point::new(from.x + t * (to.x - from.x), from.y + t * rise);
    let whole = |t: f64| {
        if t <= 0.0 {
            from
        } else if t >= 1.0 {
            to
        } else {
            at(t)
        }
    };
    (start < end).then(|| [whole(start), whole(end)])
}

/// Returns the fewest of the curve's points from which it stays within the tolerance.
///
/// # Source
/// D. Douglas, T. Peucker, *Cartographica* 10(2), 1973: keep the farthest point, and look at both sides of it.
pub(super) fn simplified(curve: &[Point]) -> Vec<Point> {
    let (Some(first), Some(last)) = (curve.first(), curve.last()) else { return Vec::new() };
    let mut kept = vec![*first];
    // Pairs of indices still to be looked at, the leftmost on top; no recursion, so that no curve is too long.
    let mut left_to_do = vec![(0, curve.len() - 1)];
    while let Some((from, to)) = left_to_do.pop() {
        let farthest = (from + 1..to)
            .map(|i| (off_line(curve[i], curve[from], curve[to]), i))
            .max_by(|a, b| a.0.total_cmp(&b.0));
        match farthest {
            Some((off, middle)) if off > TOLERANCE => left_to_do.extend([(middle, to), (from, middle)]),
            Some(_) | None => kept.push(curve[to]),
        }
    }
    if kept.len() == 1 {
        kept.push(*last);
    }
    kept
}

fn off_line(p: Point, a: Point, b: Point) -> f64 {
    let length = a.distance(b);
    if length == 0.0 {
        return p.distance(a);
    }
    ((b.x - a.x) * (a.y - p.y) - (a.x - p.x) * (b.y - a.y)).abs() / length
}

/// Returns the strokes of a line broken into strokes and gaps of the lengths in `pattern`; an empty pattern breaks
/// nothing.
pub(super) fn dashed(line: &[Point], pattern: &[f64]) -> Vec<Vec<Point>> {
    if pattern.is_empty() {
        return vec![line.to_vec()];
    }
    let mut strokes: Vec<Vec<Point>> = Vec::new();
    let (mut place, mut left) = (0, pattern[0]);
    for pair in line.windows(2) {
        let length = pair[0].distance(pair[1]);
        let at = |d: f64| {
            let t = if length > 0.0 { d / length } else { 0.0 };
            Point::new(pair[0].x + t * (pair[1].x - pair[0].x), pair[0].y + t * (pair[1].y - pair[0].y))
        };
        let mut done = 0.0;
        if strokes.is_empty() {
            strokes.push(vec![pair[0]]);
        }
        while length - done > left {
            done += left;
            let stroke = place % 2 == 0;
            place = (place + 1) % pattern.len();
            left = pattern[place];
            match strokes.last_mut() {
                Some(last) if stroke => last.push(at(done)),
                _ => strokes.push(vec![at(done)]),
            }
        }
        left -= length - done;
        if let Some(last) = strokes.last_mut().filter(|_| place % 2 == 0) {
            last.push(pair[1]);
        }
    }
    strokes.retain(|s| s.len() > 1);
    strokes
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(points: &[(f64, f64)]) -> Vec<Point> {
        points.iter().map(|(x, y)| Point::new(*x, *y)).collect()
    }

    #[test]
    fn a_curve_that_leaves_a_panel_is_cut_at_its_edge_and_comes_back() {
        let frame = Frame { left: 0.0, top: 0.0, right: 30.0, bottom: 10.0 };
        let parts = within(frame, &line(&[(0.0, 5.0), (10.0, 15.0), (20.0, 5.0), (30.0, 5.0)]));
        assert_eq!(
            parts,
            [line(&[(0.0, 5.0), (5.0, 10.0)]), line(&[(15.0, 10.0), (20.0, 5.0), (30.0, 5.0)])]
        );
        assert_eq!(within(frame, &line(&[(0.0, -1.0), (10.0, -2.0)])), Vec::<Vec<Point>>::new());
        let through = within(frame, &line(&[(0.0, -10.0), (30.0, 20.0)]));
        assert_eq!(through, [line(&[(10.0, 0.0), (20.0, 10.0)])]);
    }

    #[test]
    fn a_straight_line_keeps_two_points_and_a_curve_stays_within_the_tolerance() {
        let straight: Vec<Point> = (0..100).map(|i| Point::new(f64::from(i), 2.0 * f64::from(i))).collect();
        assert_eq!(simplified(&straight), [straight[0], straight[99]]);
        let wave: Vec<Point> =
            (0..=400).map(|i| Point::new(f64::from(i), 40.0 * (f64::from(i) / 40.0).sin())).collect();
        let few = simplified(&wave);
        assert!(few.len() < 150 && few[0] == wave[0] && few[few.len() - 1] == wave[400], "{}", few.len());
        for p in &wave {
            let off = few.windows(2).filter(|w| (w[0].x..=w[1].x).contains(&p.x));
            assert!(off.map(|w| off_line(*p, w[0], w[1])).fold(f64::INFINITY, f64::min) <= TOLERANCE);
        }
        assert_eq!(simplified(&[]), []);
    }

    #[test]
    fn dashes_go_on_around_corners_and_add_up() {
        let strokes = dashed(&line(&[(0.0, 0.0), (5.0, 0.0), (5.0, 5.0)]), &[4.0, 2.0]);
        assert_eq!(strokes, [line(&[(0.0, 0.0), (4.0, 0.0)]), line(&[(5.0, 1.0), (5.0, 5.0)])]);
        assert_eq!(dashed(&line(&[(0.0, 0.0), (9.0, 0.0)]), &[]), [line(&[(0.0, 0.0), (9.0, 0.0)])]);
        let corner = dashed(&line(&[(0.0, 0.0), (3.0, 0.0), (3.0, 9.0)]), &[4.0, 2.0]);
        assert_eq!(corner[0], line(&[(0.0, 0.0), (3.0, 0.0), (3.0, 1.0)]));
    }
}
