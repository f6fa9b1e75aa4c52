//! What a fit tells of the coils, each value with its standard deviation.

use num_complex::Complex64;

use super::Point;
use super::coil::CoilValues;
use super::fit::{Fit, Unknown};
use super::found::{CoilFound, Found, Health, Measured, Misfit};
use super::subject::{Subject, Which};
use crate::guitar::{Measurand, MeasuredWith};
use crate::quantity::Hertz;
use crate::wiring::CoilName;

impl Subject {
    pub(super) fn told(&self, fit: &Fit, points: &[Point]) -> Found {
        let coils = self.coils().into_iter().map(|name| self.coil_found(fit, name)).collect();
        let with = match self.which() {
            Which::One(_) => MeasuredWith::Alone,
            Which::Both => MeasuredWith::Pair,
        };
        let mut notes = Vec::new();
        if with == MeasuredWith::Pair {
            let coupling = self.guitar().pickups()[self.pickup_place()].coupling().unwrap_or(0.0);
            notes.push(format!(
                "both coils are taken for equal but for their ohms, with a coupling of {coupling}; what they make together is \
                 surer than either alone"
            ));
        }
        notes.push(
            "an impedance does not tell how covers and steel hold back the strings' flux: 0.5 to 1 dB in the top octave"
                .to_owned(),
        );
        let mut correlation = Vec::new();
        for (i, one) in Measurand::ALL.into_iter().enumerate() {
            for other in &Measurand::ALL[i + 1..] {
                let places = [one, *other].map(|measurand| fit.place(Unknown::Coil(measurand)));
                if let [Some(a), Some(b)] = places {
                    let together = fit.covariance[(a, b)]
                        / (fit.covariance[(a, a)] * fit.covariance[(b, b)]).sqrt().max(f64::MIN_POSITIVE);
                    correlation.push(([one, *other], together));
                }
            }
        }
        Found {
            coils,
            with,
            correlation,
            coupling: None,
            source: None,
            misfit: (!points.is_empty()).then(|| misfit(points, fit)),
            points: points.iter().copied().zip(fit.follows.iter().copied()).collect(),
            notes,
        }
    }

    fn coil_found(&self, fit: &Fit, name: CoilName) -> CoilFound {
        let pickup = &fit.guitar.pickups()[self.pickup_place()];
        let coil = match (name, pickup.coil_b()) {
            (CoilName::B, Some(b)) => b,
            (CoilName::A | CoilName::B, _) => pickup.coil_a(),
        };
        let own = CoilValues::of(coil);
        let share = |measurand: Measurand| {
            fit.place(Unknown::Coil(measurand)).map(|i| fit.covariance[(i, i)].max(0.0).sqrt())
        };
        let is_sectioned = coil.eddy.is_some();
        let values = Measurand::ALL.map(|measurand| {
            let value = own.get(measurand);
            match share(measurand) {
                Some(deviation) => Some(Measured { value, deviation: deviation * value }),
                None if measurand == Measurand::EddyShare
                    && !is_sectioned
                    && share(Measurand::Loss).is_some() =>
                {
                    Some(Measured { value: 0.0, deviation: 0.0 })
                }
                None => None,
            }
        });
        let at_1khz = |values: &CoilValues| values.inductance_at(1000.0);
        let inductance = at_1khz(&own);
        // How its logarithm goes with each unknown.
        let slope = |unknown: Unknown| match unknown {
            Unknown::Coil(measurand) => {
                let mut moved = own;
                moved.0[measurand.index()] *= 1.001;
                (at_1khz(&moved) / inductance).ln() / 1.001_f64.ln()
            }
            Unknown::Coupling | Unknown::Part(_) | Unknown::Scale => 0.0,
        };
        let slopes: Vec<f64> = fit.variables.iter().map(|variable| slope(variable.unknown)).collect();
        let mut variance = 0.0;
        for (i, one) in slopes.iter().enumerate() {
            for (j, other) in slopes.iter().enumerate() {
                variance += one * other * fit.covariance[(i, j)];
            }
        }
        let inductance_1khz =
            Measured { value: inductance, deviation: inductance * variance.max(0.0).sqrt() };
        let health = self.health(name, &own, share(Measurand::Loss).unwrap_or(0.0));
        CoilFound { name, values, inductance_1khz, health }
    }

    /// Returns how a coil is against what the file, or its type, has for its ohms.
    fn health(&self, name: CoilName, own: &CoilValues, of_loss: f64) -> Health {
        const LOW_INDUCTANCE: f64 = 0.85;
        const LOW_Q: f64 = 0.5;
        let coil = self.coil(name);
        let mut expected = CoilValues::of(coil);
        if !coil.inductance.origin.is_stated() {
            let turns = own.get(Measurand::Resistance) / expected.get(Measurand::Resistance);
            for measurand in [Measurand::Inductance, Measurand::Loss] {
                expected.0[measurand.index()] *= turns * turns;
            }
        }
        let is_low = own.inductance_at(1000.0) < LOW_INDUCTANCE * expected.inductance_at(1000.0);
        let is_damped = own.q() * (1.0 + 2.0 * of_loss) < LOW_Q * expected.q();
        if is_low && is_damped { Health::ShortedTurn } else { Health::Healthy }
    }
}

pub(super) fn misfit(points: &[Point], fit: &Fit) -> Misfit {
    let decibels = |left: &Complex64| 20.0 / std::f64::consts::LN_10 * left.re;
    let rms = (fit.left.iter().map(|left| decibels(left).powi(2)).sum::<f64>()
        / fit.left.len().max(1) as f64)
        .sqrt();
    let worst =
        fit.left.iter().zip(points).max_by(|(one, _), (other, _)| one.re.abs().total_cmp(&other.re.abs()));
    let (worst_db, worst_at) =
        worst.map_or((0.0, Hertz::new(0.0)), |(left, point)| (decibels(left), point.frequency));
    Misfit { rms_db: rms, worst_db, worst_at }
}
