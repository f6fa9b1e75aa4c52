//! Many circuits of one shape at many frequencies: the order of elimination is worked out once, and four frequencies go
//! through it side by side.

use num_complex::Complex64;

use super::solve::OMEGA0;
use super::{Circuit, SolveError};
use crate::quantity::Hertz;

/// Frequencies side by side: as many doubles as fit into one register of most processors.
const LANES: usize = 4;
/// A pivot below this, in scaled units where entries are of the order of one, is left to the solver that chooses its
/// pivots.
const LEAST_PIVOT: f64 = 1e-12;

/// The elimination of every circuit whose equations have the same places filled.
///
/// # Source
/// Gaussian elimination along a fixed order, after S. W. Director, R. A. Rohrer, "The generalized adjoint network and
/// network sensitivities", IEEE Trans. Circuit Theory 16(3), 1969: one solution of the transposed equations gives the
/// way from every source to the output. Inductors come first and leave admittances, then the nodes by how few others
/// they touch, the output last, so that the first half of the solution is a single division.
#[derive(Debug, Clone)]
pub struct Sweep {
    size: usize,
    /// The places filled in the equations: row, column and the slot that holds it.
    filled: Vec<(usize, usize, usize)>,
    slots: usize,
    steps: Vec<Step>,
    output: Option<usize>,
}

/// The elimination of one unknown from all later equations.
#[derive(Debug, Clone)]
struct Step {
    row: usize,
    pivot: usize,
    below: Vec<Below>,
}

/// A later equation that holds the unknown.
#[derive(Debug, Clone)]
struct Below {
    row: usize,
    factor: usize,
    /// Pairs of slots: what is lessened, by the factor times what.
    lessened: Vec<(usize, usize)>,
}

/// Complex numbers side by side.
#[derive(Debug, Clone, Copy)]
struct Lanes {
    re: [f64; LANES],
    im: [f64; LANES],
}

impl Lanes {
    const ZERO: Self = Self { re: [0.0; LANES], im: [0.0; LANES] };
    const ONE: Self = Self { re: [1.0; LANES], im: [0.0; LANES] };

    #[inline]
    fn less(&mut self, a: &Self, b: &Self) {
        for i in 0..LANES {
            self.re[i] -= a.re[i] * b.re[i] - a.im[i] * b.im[i];
            self.im[i] -= a.re[i] * b.im[i] + a.im[i] * b.re[i];
        }
    }

    #[inline]
    fn times(&self, other: &Self) -> Self {
        let mut product = Self::ZERO;
        for i in 0..LANES {
            product.re[i] = self.re[i] * other.re[i] - self.im[i] * other.im[i];
            product.im[i] = self.re[i] * other.im[i] + self.im[i] * other.re[i];
        }
        product
    }

    /// Returns the reciprocals, or `None` where one of the numbers is too near zero.
    #[inline]
    fn inverse(&self) -> Option<Self> {
        let mut inverse = Self::ZERO;
        let mut least = f64::INFINITY;
        for i in 0..LANES {
            let power = self.re[i] * self.re[i] + self.im[i] * self.im[i];
            least = least.min(power);
            inverse.re[i] = self.re[i] / power;
            inverse.im[i] = -self.im[i] / power;
        }
        (least > LEAST_PIVOT * LEAST_PIVOT).then_some(inverse)
    }
}

impl Sweep {
    /// Returns the elimination of circuits with the shape of `circuit`.
    pub fn of(circuit: &Circuit) -> Self {
        let size = circuit.size();
        let mut full = vec![false; size * size];
        for (i, j) in places(size) {
            full[i * size + j] = circuit.is_filled(i, j) || i == j;
        }
        let mut order = Vec::new();
        let mut left: Vec<usize> = (0..size).filter(|row| Some(*row) != circuit.output).collect();
        let mut pattern = full.clone();
        while !left.is_empty() {
            let touched = |row: usize| left.iter().filter(|other| pattern[row * size + **other]).count();
            let rank = |row: usize| (!circuit.is_inductor(row), touched(row));
            let next = (0..left.len()).min_by_key(|at| rank(left[*at])).unwrap_or(0);
            let row = left.remove(next);
            let later: Vec<usize> = left.iter().copied().chain(circuit.output).collect();
            for &i in later.iter().filter(|i| full[**i * size + row]) {
                for &j in later.iter().filter(|j| full[row * size + **j]) {
                    pattern[i * size + j] = true;
                }
            }
            full.clone_from(&pattern);
            order.push(row);
        }
        order.extend(circuit.output);
        let mut slot_of = vec![usize::MAX; size * size];
        let mut slots = 0;
        for (place, _) in full.iter().enumerate().filter(|(_, full)| **full) {
            slot_of[place] = slots;
            slots += 1;
        }
        let filled = places(size).filter(|(i, j)| circuit.is_filled(*i, *j));
        let steps = order.iter().enumerate().map(|(at, &row)| {
            let later = &order[at + 1..];
            let holds = |i: &&usize| full[**i * size + row];
            let below = later.iter().filter(holds).map(|&i| Below {
                row: i,
                factor: slot_of[i * size + row],
                lessened: later
                    .iter()
                    .filter(|j| full[row * size + **j])
                    .map(|&j| (slot_of[i * size + j], slot_of[row * size + j]))
                    .collect(),
            });
            Step { row, pivot: slot_of[row * size + row], below: below.collect() }
        });
        Self {
            size,
            filled: filled.map(|(i, j)| (i, j, slot_of[i * size + j])).collect(),
            slots,
            steps: steps.collect(),
            output: circuit.output,
        }
    }

    /// Returns whether `circuit` has the shape that the elimination was worked out for.
    pub fn fits(&self, circuit: &Circuit) -> bool {
        let filled = places(circuit.size()).filter(|(i, j)| circuit.is_filled(*i, *j));
        circuit.size() == self.size
            && circuit.output == self.output
            && filled.eq(self.filled.iter().map(|(i, j, _)| (*i, *j)))
    }

    /// Returns the output's voltage per volt of each source of `circuit` at `frequencies`, one list a frequency.
    ///
    /// # Errors
    /// [`SolveError::Singular`] where the circuit has no solution.
    ///
    /// # Panics
    /// Where the circuit has another shape.
    pub fn responses(
        &self,
        circuit: &Circuit,
        frequencies: &[Hertz],
    ) -> Result<Vec<Vec<Complex64>>, SolveError> {
        let points: Vec<Complex64> =
            frequencies.iter().map(|f| Complex64::new(0.0, std::f64::consts::TAU * f.value())).collect();
        self.transfers(circuit, &points)
    }

    /// Returns the output's voltage per volt of each source of `circuit` at complex frequencies in rad/s, one list a point.
    ///
    /// # Errors
    /// As [`Sweep::responses`], which also panics like this.
    pub(super) fn transfers(
        &self,
        circuit: &Circuit,
        points: &[Complex64],
    ) -> Result<Vec<Vec<Complex64>>, SolveError> {
        assert!(self.fits(circuit), "the circuit has the shape of the sweep");
        if self.output.is_none() {
            return Ok(vec![vec![Complex64::ZERO; circuit.drives.len()]; points.len()]);
        }
        let values: Vec<(usize, f64, f64)> = self
            .filled
            .iter()
            .map(|(i, j, slot)| (*slot, circuit.g[(*i, *j)], circuit.c[(*i, *j)]))
            .collect();
        let mut work = vec![Lanes::ZERO; self.slots];
        let mut currents = vec![Lanes::ZERO; self.size];
        let mut responses = Vec::with_capacity(points.len());
        for group in points.chunks(LANES) {
            // A group that is not full goes on with its last point.
            let at: [Complex64; LANES] =
                std::array::from_fn(|lane| group[lane.min(group.len() - 1)] / OMEGA0);
            let s = Lanes { re: at.map(|s| s.re), im: at.map(|s| s.im) };
            if self.solve(&values, &s, &mut work, &mut currents).is_none() {
                for point in group {
                    responses.push(circuit.transfer(*point)?);
                }
                continue;
            }
            for lane in 0..group.len() {
                let at = |row: usize| Complex64::new(currents[row].re[lane], currents[row].im[lane]);
                let of =
                    |drives: &Vec<(usize, f64)>| drives.iter().map(|(row, share)| at(*row) * *share).sum();
                responses.push(circuit.drives.iter().map(of).collect());
            }
        }
        Ok(responses)
    }

    /// Solves the transposed equations for the output, or returns `None` where a pivot is too near zero.
    fn solve(
        &self,
        values: &[(usize, f64, f64)],
        s: &Lanes,
        work: &mut [Lanes],
        currents: &mut [Lanes],
    ) -> Option<()> {
        work.fill(Lanes::ZERO);
        for (slot, g, c) in values {
            work[*slot] = Lanes { re: s.re.map(|re| g + re * c), im: s.im.map(|im| im * c) };
        }
        let mut last = Lanes::ONE;
        for step in &self.steps {
            last = work[step.pivot].inverse()?;
            for below in &step.below {
                let factor = work[below.factor].times(&last);
                work[below.factor] = factor;
                for (lessened, by) in &below.lessened {
                    let by = work[*by];
                    work[*lessened].less(&factor, &by);
                }
            }
        }
        for (at, step) in self.steps.iter().enumerate().rev() {
            let mut own = if at + 1 == self.steps.len() { last } else { Lanes::ZERO };
            for below in &step.below {
                own.less(&work[below.factor], &currents[below.row]);
            }
            currents[step.row] = own;
        }
        Some(())
    }
}

fn places(size: usize) -> impl Iterator<Item = (usize, usize)> {
    (0..size).flat_map(move |i| (0..size).map(move |j| (i, j)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{JackLoad, Strapping, Wired, circuit_of};
    use crate::document::Document;
    use crate::guitar::Guitar;
    use crate::wiring::Arrangement;

    fn frequencies() -> Vec<Hertz> {
        (0..61).map(|i| Hertz::new(20.0 * 1000f64.powf(f64::from(i) / 60.0))).collect()
    }

    fn compare(circuit: &Circuit, sweep: &Sweep, what: &str) {
        let swept = sweep.responses(circuit, &frequencies()).unwrap();
        assert_eq!(swept.len(), 61);
        for (f, swept) in frequencies().into_iter().zip(&swept) {
            let one = circuit.response(f).unwrap();
            let loudest = one.iter().map(|h| h.norm()).fold(0.0, f64::max);
            for (a, b) in one.iter().zip(swept) {
                assert!((a - b).norm() <= 1e-10 * loudest, "{what}, {f}: {a} {b}");
            }
        }
    }

    #[test]
    fn a_sweep_gives_what_the_solver_gives_for_every_arrangement_and_position() {
        let text = "format = 1\n[[pickup]]\nname = \"p\"\nlike = \"vintage-full-size\"\nbypass = \"22n\"\n\
            [pickup.coil_b]\nresistance = \"4.2k\"\neddy_share = 0.2\neddy_corner = \"6k\"\n[buffer]\n";
        let pickup = Guitar::read(&Document::new("p.toml", text)).unwrap();
        let whole = Guitar::built_in("set-neck").unwrap();
        for arrangement in Arrangement::TWO_COIL {
            let strapping = Strapping::of(arrangement);
            let mut wired = vec![(&pickup, Wired::Pickup(&pickup.pickups()[0], strapping))];
            let both = [strapping, Strapping::of(Arrangement::Parallel)];
            let throws = [[0], [1], [2]];
            if arrangement != Arrangement::SeriesBypassed {
                wired.extend(
                    throws
                        .iter()
                        .map(|t| (&whole, Wired::Guitar { pickups: &both, throws: t, switches: &[] })),
                );
            }
            for (guitar, wired) in wired {
                let driven = circuit_of(guitar, wired, JackLoad::Plugged).unwrap();
                let circuit = Circuit::new(&driven.netlist, driven.jack);
                compare(&circuit, &Sweep::of(&circuit), arrangement.name());
            }
        }
    }

    #[test]
    fn one_sweep_serves_all_circuits_of_a_shape_and_no_other() {
        let guitar = |henries: f64, volume: f64| {
            let text = format!(
                "format = 1\n[[pickup]]\nname = \"p\"\n[pickup.coil_a]\nresistance = \"5k\"\ninductance = \"{henries}\"\n\
                 capacitance = \"90p\"\n[controls]\nvolume = {{ pot = \"500k\", turned = {volume} }}\n"
            );
            let guitar = Guitar::read(&Document::new("p.toml", text)).unwrap();
            let wired = Wired::Pickup(&guitar.pickups()[0], Strapping::of(Arrangement::Alone));
            let driven = circuit_of(&guitar, wired, JackLoad::Plugged).unwrap();
            Circuit::new(&driven.netlist, driven.jack)
        };
        let sweep = Sweep::of(&guitar(2.0, 7.0));
        compare(&guitar(6.5, 2.0), &sweep, "another inductance and knob");
        assert!(!sweep.fits(&guitar(2.0, 10.0)), "turned up, the pot's upper part is a short");
        let silent = guitar(2.0, 0.0);
        compare(&silent, &Sweep::of(&silent), "turned down");
    }
}
