//! The fit of a circuit to what was measured of it: least squares of the logarithm, with what is known beforehand.

use std::f64::consts::TAU;

use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;
use rmpfit::{MPError, MPFitter, MPPar, MPResult};

use super::Point;
use super::subject::{Subject, impedance};
use crate::circuit::Circuit;
use crate::guitar::{Guitar, Measurand, Part, PartKind};
use crate::quantity::{Farads, Henries, Hertz, Ohms};
use crate::response::VoiceError;

/// What was measured, to be followed by the circuit.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Datum {
    /// An impedance, point by point.
    Impedance(Vec<Point>),
    /// What a meter read with direct current, and the standard deviation of its logarithm.
    Direct(Ohms, f64),
    /// The inductance that a meter read at a frequency, in series with a resistance, and the standard deviation of its logarithm.
    Inductance(Henries, Hertz, f64),
    /// The frequency at which the impedance is highest with a capacitor across, and the standard deviation of its logarithm.
    Peak(Farads, Hertz, f64),
}

/// What is unknown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Unknown {
    /// A value of the coils that move, as the logarithm of what it is against the start.
    Coil(Measurand),
    /// The coupling of the coils.
    Coupling,
    /// The logarithm of a part's value against the start, by its place in the order of [`Guitar::with_parts`].
    Part(usize),
    /// The logarithm of what all impedances are read as against what they are.
    Scale,
}

/// An unknown with what is known of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Variable {
    pub(super) unknown: Unknown,
    pub(super) limits: [f64; 2],
    /// What it is expected to be, and the standard deviation of that.
    pub(super) expected: [f64; 2],
}

/// What an impedance's logarithm may be off beside noise before it tells anything: parts of the circuit that are not in it.
pub(super) const FLOOR: f64 = 0.003;
/// The range over which what the circuit does not follow is alike, in octaves.
const ALIKE_OVER: f64 = 0.5;
/// The step of derivatives.
const STEP: f64 = 1e-5;
/// A frequency so low that coils are their resistance.
const DIRECT: Hertz = Hertz::new(0.01);

/// A fit that has ended.
#[derive(Debug, Clone)]
pub(super) struct Fit {
    pub(super) variables: Vec<Variable>,
    pub(super) at: Vec<f64>,
    pub(super) covariance: DMatrix<f64>,
    /// What each datum and then each expectation is off by, in its standard deviation.
    pub(super) off: Vec<f64>,
    /// The sum of squares.
    pub(super) cost: f64,
    /// Of each point the logarithm of what was measured against the circuit.
    pub(super) left: Vec<Complex64>,
    /// The circuit's impedance at each point.
    pub(super) follows: Vec<Complex64>,
    /// The guitar where the variables are so.
    pub(super) guitar: Guitar,
}

/// The least squares of one subject.
pub(super) struct Problem<'p> {
    pub(super) subject: &'p Subject,
    /// The guitar from which the variables are told, as it is measured.
    pub(super) start: &'p Guitar,
    pub(super) variables: Vec<Variable>,
    pub(super) data: &'p [Datum],
    parameters: Vec<MPPar>,
    failed: Option<VoiceError>,
}

impl<'p> Problem<'p> {
    pub(super) fn new(
        subject: &'p Subject,
        start: &'p Guitar,
        variables: Vec<Variable>,
        data: &'p [Datum],
    ) -> Self {
        let parameters = variables.iter().map(|variable| MPPar {
            limited_low: true,
            limited_up: true,
            limit_low: variable.limits[0],
            limit_up: variable.limits[1],
            step: STEP,
            ..MPPar::default()
        });
        let parameters = parameters.collect();
        Self { subject, start, variables, data, parameters, failed: None }
    }

    /// Returns the guitar where the variables are `at`.
    pub(super) fn guitar(&self, at: &[f64]) -> Guitar {
        let place = |unknown: Unknown| self.variables.iter().position(|variable| variable.unknown == unknown);
        let pickup = self.subject.pickup().name().as_str();
        let mut order = 0;
        self.start.with_parts(|part: Part<'_>| {
            let own = order;
            order += 1;
            if part.of == pickup {
                if part.kind == PartKind::Coupling
                    && let Some(place) = place(Unknown::Coupling)
                {
                    return at[place];
                }
                let moving = part.coil.filter(|coil| self.subject.moves(*coil));
                if let Some(place) =
                    moving.and(Measurand::of(part.kind)).and_then(|measurand| place(Unknown::Coil(measurand)))
                {
                    return part.value * at[place].exp();
                }
            }
            match place(Unknown::Part(own)) {
                Some(place) => part.value * at[place].exp(),
                None => part.value,
            }
        })
    }

    fn circuit(&self, at: &[f64]) -> Result<Circuit, VoiceError> {
        self.subject.circuit(&self.guitar(at))
    }

    fn scale(&self, at: &[f64]) -> f64 {
        let place = self.variables.iter().position(|variable| variable.unknown == Unknown::Scale);
        place.map_or(0.0, |place| at[place])
    }

    /// Returns what is left over where the variables are `at`, each in its standard deviation: data, then expectations.
    fn left(&self, at: &[f64]) -> Result<Vec<f64>, VoiceError> {
        let circuit = self.circuit(at)?;
        let scale = self.scale(at);
        let mut left = Vec::new();
        for datum in self.data {
            match datum {
                Datum::Impedance(points) => {
                    for point in points {
                        let off = (point.impedance / impedance(&circuit, point.frequency)?).ln() - scale;
                        let deviation = deviation(point);
                        left.extend([off.re / deviation, off.im / deviation]);
                    }
                }
                Datum::Direct(read, deviation) => {
                    let ohms = impedance(&circuit, DIRECT)?.re;
                    left.push((read.value() / ohms).ln() / deviation);
                }
                Datum::Inductance(read, frequency, deviation) => {
                    let henries = impedance(&circuit, *frequency)?.im / (TAU * frequency.value());
                    left.push((read.value() / henries.max(f64::MIN_POSITIVE)).ln() / deviation);
                }
                Datum::Peak(capacitor, frequency, deviation) => {
                    let highest = highest(&circuit, *capacitor)?;
                    left.push((frequency.value() / highest).ln() / deviation);
                }
            }
        }
        let expected = self.variables.iter().zip(at);
        left.extend(expected.map(|(variable, at)| (at - variable.expected[0]) / variable.expected[1]));
        Ok(left)
    }

    /// Returns the sum of squares where the variables are `at`.
    pub(super) fn cost(&self, at: &[f64]) -> Result<f64, VoiceError> {
        Ok(self.left(at)?.iter().map(|left| left * left).sum())
    }

    /// Returns the best fit that is reached from `at`.
    pub(super) fn solved(mut self, mut at: Vec<f64>) -> Result<Fit, VoiceError> {
        // Where it ends without converging, it is as near as it came.
        let _ = self.mpfit(&mut at);
        if let Some(error) = self.failed.take() {
            return Err(error);
        }
        let off = self.left(&at)?;
        let cost = off.iter().map(|off| off * off).sum();
        let slopes = self.slopes(&at)?;
        let (mut follows, mut left) = (Vec::new(), Vec::new());
        let (circuit, scale) = (self.circuit(&at)?, self.scale(&at));
        for point in self.points() {
            let follow = impedance(&circuit, point.frequency)? * scale.exp();
            left.push((point.impedance / follow).ln());
            follows.push(follow);
        }
        let covariance = self.covariance(&slopes, &left);
        let guitar = self.guitar(&at);
        Ok(Fit { variables: self.variables, at, covariance, off, cost, left, follows, guitar })
    }

    fn points(&self) -> &'p [Point] {
        let data: &'p [Datum] = self.data;
        data.iter()
            .find_map(|datum| match datum {
                Datum::Impedance(points) => Some(points.as_slice()),
                Datum::Direct(..) | Datum::Inductance(..) | Datum::Peak(..) => None,
            })
            .unwrap_or(&[])
    }

    fn slopes(&self, at: &[f64]) -> Result<DMatrix<f64>, VoiceError> {
        let mut columns = Vec::new();
        for place in 0..at.len() {
            let moved = |by: f64| {
                let mut moved = at.to_vec();
                moved[place] += by;
                self.left(&moved)
            };
            let step = 10.0 * STEP;
            let (up, down) = (moved(step)?, moved(-step)?);
            columns.push(DVector::from_iterator(
                up.len(),
                up.iter().zip(&down).map(|(up, down)| (up - down) / (2.0 * step)),
            ));
        }
        Ok(DMatrix::from_columns(&columns))
    }

    /// Returns the covariance of the variables: from the noise of each point, and from what the circuit does not follow, which is
    /// alike at neighbouring frequencies and so tells less than as many independent errors would.
    fn covariance(&self, slopes: &DMatrix<f64>, off: &[Complex64]) -> DMatrix<f64> {
        let points = self.points();
        let free = self.variables.len() as f64;
        let excess =
            points.iter().zip(off).map(|(point, off)| off.norm_sqr() - 2.0 * point.deviation.powi(2));
        let degrees = (2.0 * points.len() as f64 - free).max(1.0);
        // The circuit bends itself to what it cannot follow: of as few independent errors each variable takes one away.
        let octaves = match (points.first(), points.last()) {
            (Some(first), Some(last)) => (last.frequency.value() / first.frequency.value()).log2(),
            _ => 0.0,
        };
        let independent = 2.0 * octaves / ALIKE_OVER;
        let hidden = independent / (independent - free).max(0.2 * independent).max(1.0);
        let misfit = (excess.sum::<f64>().max(0.0) / degrees * hidden).max(FLOOR.powi(2) / 9.0);
        let rows = slopes.nrows();
        let mut errors = DMatrix::<f64>::identity(rows, rows);
        let first = self.first_point();
        for (i, one) in points.iter().enumerate() {
            for (j, other) in points.iter().enumerate() {
                let apart = (one.frequency.value() / other.frequency.value()).log2() / ALIKE_OVER;
                let alike = (-0.5 * apart * apart).exp();
                let noise = if i == j { one.deviation.powi(2) } else { 0.0 };
                let common = (misfit * alike + noise) / (deviation(one) * deviation(other));
                for part in 0..2 {
                    errors[(first + 2 * i + part, first + 2 * j + part)] = common;
                }
            }
        }
        let normal = slopes.transpose() * slopes;
        let Some(inverse) = normal.clone().try_inverse() else {
            return DMatrix::identity(self.variables.len(), self.variables.len());
        };
        let gain = &inverse * slopes.transpose();
        &gain * errors * gain.transpose()
    }

    /// Returns the row of what is left of the first point.
    fn first_point(&self) -> usize {
        self.data.iter().take_while(|datum| !matches!(datum, Datum::Impedance(_))).count()
    }
}

/// Returns the standard deviation of the logarithm of a point, in which the circuit's own is counted.
fn deviation(point: &Point) -> f64 {
    point.deviation.hypot(FLOOR)
}

/// Returns the frequency at which the impedance of `circuit` with a capacitor across is highest.
fn highest(circuit: &Circuit, capacitor: Farads) -> Result<f64, VoiceError> {
    const FROM: f64 = 300.0;
    const STEPS: u32 = 80;
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    let magnitude = |hz: f64| -> Result<f64, VoiceError> {
        let own = 1.0 / impedance(circuit, Hertz::new(hz))?;
        Ok(1.0 / (own + Complex64::new(0.0, TAU * hz * capacitor.value())).norm())
    };
    let step = 2f64.powf(1.0 / 12.0);
    let mut best = (0.0, FROM);
    for i in 0..STEPS {
        let hz = FROM * step.powi(i.cast_signed());
        let found = magnitude(hz)?;
        if found > best.0 {
            best = (found, hz);
        }
    }
    // Golden section between the neighbours.
    let [mut low, mut high] = [(best.1 / step).ln(), (best.1 * step).ln()];
    for _ in 0..40 {
        let [one, other] = [high - GOLDEN * (high - low), low + GOLDEN * (high - low)];
        if magnitude(one.exp())? > magnitude(other.exp())? { high = other } else { low = one }
    }
    Ok((0.5 * (low + high)).exp())
}

impl MPFitter for Problem<'_> {
    fn eval(&mut self, at: &[f64], deviates: &mut [f64]) -> MPResult<()> {
        match self.left(at) {
            Ok(left) => {
                deviates.copy_from_slice(&left);
                Ok(())
            }
            Err(error) => {
                self.failed = Some(error);
                Err(MPError::Eval)
            }
        }
    }

    fn number_of_points(&self) -> usize {
        let data = self.data.iter().map(|datum| match datum {
            Datum::Impedance(points) => 2 * points.len(),
            Datum::Direct(..) | Datum::Inductance(..) | Datum::Peak(..) => 1,
        });
        data.sum::<usize>() + self.variables.len()
    }

    fn parameters(&self) -> &[MPPar] {
        &self.parameters
    }
}

impl Fit {
    /// Returns where an unknown is, if it was one.
    pub(super) fn place(&self, unknown: Unknown) -> Option<usize> {
        self.variables.iter().position(|variable| variable.unknown == unknown)
    }

    /// Adds what is known to be off beside noise and misfit to the variance of an unknown.
    pub(super) fn doubt(&mut self, unknown: Unknown, deviation: f64) {
        if let Some(place) = self.place(unknown) {
            self.covariance[(place, place)] += deviation * deviation;
        }
    }

    /// Returns the root of the mean square of what the circuit does not follow, of both parts of the logarithm together.
    pub(super) fn misfit(&self) -> f64 {
        let sum: f64 = self.left.iter().map(Complex64::norm_sqr).sum();
        (sum / self.left.len().max(1) as f64).sqrt()
    }
}
