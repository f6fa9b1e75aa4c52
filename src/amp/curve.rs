//! A smooth curve as a table.

/// A memoryless curve: cubic pieces (Hermite) between two ends, straight lines beyond.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Where the first piece begins.
    from: f64,
    /// Pieces to a unit.
    density: f64,
    /// The number of the last piece, as a place.
    last: f64,
    /// The coefficients of each piece, by powers of the way through it; the first and the last are the lines beyond.
    pieces: Vec<[f64; 4]>,
}

impl Curve {
    /// Returns the curve through `f`, which returns a value and a slope, in `pieces` pieces from −`reach` to `reach`.
    pub fn of(reach: f64, pieces: u32, f: impl Fn(f64) -> (f64, f64)) -> Self {
        let width = 2.0 * reach / f64::from(pieces);
        let knots: Vec<(f64, f64)> = (0..=pieces)
            .map(|n| {
                let (value, slope) = f(-reach + width * f64::from(n));
                (value, slope * width)
            })
            .collect();
        let (first, last) = (knots[0], knots[knots.len() - 1]);
        let before = [first.0 - first.1, first.1, 0.0, 0.0];
        let beyond = [last.0, last.1, 0.0, 0.0];
        let between = knots.windows(2).map(|ends| {
            let [(y0, s0), (y1, s1)] = [ends[0], ends[1]];
            let rise = y1 - y0;
            [y0, s0, 3.0 * rise - 2.0 * s0 - s1, s0 + s1 - 2.0 * rise]
        });
        let pieces: Vec<[f64; 4]> = std::iter::once(before).chain(between).chain([beyond]).collect();
        Self { from: -reach - width, density: 1.0 / width, last: (pieces.len() - 1) as f64, pieces }
    }

    /// Returns where the first piece begins that is a straight line, and how many pieces there are to a unit.
    pub fn places(&self) -> [f64; 2] {
        [self.from, self.density]
    }

    /// Returns the value at each knot, and the slope over a piece there.
    pub fn knots(&self) -> impl Iterator<Item = [f64; 2]> {
        self.pieces.iter().skip(1).map(|[value, slope, ..]| [*value, *slope])
    }

    /// Returns the curve's value at `u`.
    #[inline]
    pub fn at(&self, u: f64) -> f64 {
        let place = (u - self.from) * self.density;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a place is held between 0 and the last piece"
        )]
        let number = place.max(0.0).min(self.last) as u32;
        let way = place - f64::from(number);
        let [c0, c1, c2, c3] = self.pieces[number as usize];
        c0 + way * (c1 + way * (c2 + way * c3))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_is_its_curve_between_the_ends_and_straight_beyond() {
        let tanh = Curve::of(16.0, 2048, |u| (u.tanh(), u.cosh().powi(-2)));
        let worst = (-160_000..=160_000)
            .map(|n| f64::from(n) * 1e-4)
            .map(|u| (tanh.at(u) - u.tanh()).abs())
            .fold(0.0, f64::max);
        println!("the limiter's table is {worst:.1e} off");
        assert!(worst < 1e-9, "{worst}");
        assert_eq!(tanh.at(0.0), 0.0);
        let square = Curve::of(2.0, 8, |u| (u * u, 2.0 * u));
        for (u, value) in [(-3.0, 8.0), (-2.0, 4.0), (0.3, 0.09), (2.0, 4.0), (5.0, 16.0), (1e30, 4e30)] {
            assert!((square.at(u) / value - 1.0).abs() < 1e-12, "{u}: {}", square.at(u));
        }
    }
}
