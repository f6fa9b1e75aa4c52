//! The two curves of the amplifier and what joins them.

use std::f64::consts::TAU;
use std::sync::{Arc, LazyLock};

use super::curve::Curve;
use super::triode::Triode;

/// What a signal passes at the high rate.
#[derive(Debug, Clone, PartialEq)]
pub struct Stages {
    /// The first curve, if any.
    pub(super) first: Option<Arc<Curve>>,
    /// The second.
    pub(super) second: Arc<Curve>,
    /// Whether there is a coupling before each.
    pub(super) is_coupled: bool,
}

/// The first stage's curve as it is solved, before any table.
#[derive(Debug, Clone, Copy)]
pub struct TriodeSolution {
    triode: Triode,
    scale: f64,
}

impl TriodeSolution {
    /// Solves the generic amplifier's first stage.
    pub fn solved() -> Self {
        let triode = Triode::at_rest();
        Self { triode, scale: CUT_OFF / -triode.output(-REACH).0 }
    }

    /// Returns the cathode's voltage, in volts.
    pub fn bias(&self) -> f64 {
        self.triode.bias
    }

    /// Returns the gain from the grid's input to the anode.
    pub fn gain(&self) -> f64 {
        self.triode.gain
    }

    /// Returns how many of the curve's units are one volt at the grid's input.
    pub fn scale(&self) -> f64 {
        self.scale
    }

    /// Returns the curve's value and slope at `u`.
    pub fn at(&self, u: f64) -> (f64, f64) {
        let (value, slope) = self.triode.output(u / self.scale);
        (value * self.scale, slope)
    }
}

/// Where the first stage cuts off, the limiter's own limit being 1: 6 dB above it. A convention.
const CUT_OFF: f64 = 1.995_262_314_968_879_6;
/// How far the tables reach: volts at the grid, and the limiter's units.
const REACH: f64 = 14.0;
const REACH_OF_LIMITER: f64 = 16.0;
const PIECES: u32 = 1024;
const PIECES_OF_LIMITER: u32 = 2048;

static GENERIC: LazyLock<Stages> = LazyLock::new(|| {
    let solution = TriodeSolution::solved();
    let first = Curve::of(REACH * solution.scale, PIECES, |u| {
        let (value, slope) = solution.at(u);
        // Exact at rest, so that silence stays silent.
        if u == 0.0 { (0.0, 1.0) } else { (value, slope) }
    });
    // A bipolar differential pair's: P. Gray, R. Meyer, "Analysis and Design of Analog Integrated Circuits", from memory. It
    // stands for phase splitter and push-pull output, whose even harmonics cancel.
    let second = Curve::of(REACH_OF_LIMITER, PIECES_OF_LIMITER, |u| (u.tanh(), u.cosh().powi(-2)));
    Stages { first: Some(Arc::new(first)), second: Arc::new(second), is_coupled: true }
});

static CLIP_POINT: LazyLock<f64> = LazyLock::new(|| GENERIC.clip_point_of());

impl Stages {
    /// Returns the generic amplifier's stages.
    pub fn generic() -> &'static Self {
        &GENERIC
    }

    /// Returns one curve by itself, without couplings: for checks of what carries it.
    pub fn alone(curve: Curve) -> Self {
        Self { first: None, second: Arc::new(curve), is_coupled: false }
    }

    /// Returns the same without couplings.
    #[must_use]
    pub fn uncoupled(&self) -> Self {
        Self { is_coupled: false, ..self.clone() }
    }

    /// Returns the curves in the order in which they are passed.
    pub(super) fn curves(&self) -> impl Iterator<Item = &Curve> {
        self.first.iter().chain([&self.second]).map(Arc::as_ref)
    }

    /// Returns the first curve at `u`.
    pub fn first_at(&self, u: f64) -> f64 {
        self.first.as_ref().map_or(u, |first| first.at(u))
    }

    /// Returns the curves one after the other at `u`, without couplings.
    pub fn at(&self, u: f64) -> f64 {
        self.second.at(self.first_at(u))
    }

    /// Returns the generic amplifier's clip point: the amplitude of a sine at the first stage whose fundamental comes out 1 dB
    /// lower than it would without the curves, the couplings keeping out DC alone.
    pub fn clip_point() -> f64 {
        *CLIP_POINT
    }

    fn clip_point_of(&self) -> f64 {
        let (mut low, mut high) = (0.01, 10.0);
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            if 20.0 * (self.harmonic(middle, 1) / middle).log10() > -1.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        f64::midpoint(low, high)
    }

    /// Returns the amplitude, with its sign, of a harmonic of a cosine of `amplitude` after both curves, DC kept out between
    /// them.
    pub fn harmonic(&self, amplitude: f64, number: u32) -> f64 {
        /// Enough for harmonics that fall fast: the sum over a period is exact but for what lies above.
        const POINTS: u32 = 1024;
        let points = f64::from(POINTS);
        let turns = (0..POINTS).map(|n| TAU * f64::from(n) / points);
        let first: Vec<f64> = turns.clone().map(|turn| self.first_at(amplitude * turn.cos())).collect();
        let mean = first.iter().sum::<f64>() / points;
        let terms = first.iter().zip(turns);
        terms.map(|(v, turn)| self.second.at(v - mean) * (f64::from(number) * turn).cos()).sum::<f64>() * 2.0
            / points
    }
}
