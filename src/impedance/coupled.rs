//! The coupling of two coils that were measured alone, from both together.

use super::coil::CoilValues;
use super::fit::{Problem, Unknown, Variable};
use super::found::{Found, Measured};
use super::measure::{UNLIKE, beyond_scale, data_of};
use super::subject::{Subject, SubjectError, Which};
use super::verdict::By;
use super::{Point, Refused, Take, Verdict};
use crate::guitar::{Measurand, MeasuredWith};
use crate::quantity::Ohms;
use crate::wiring::CoilName;

impl Subject {
    /// Returns whether both coils were measured alone, so that both in series tell their coupling.
    pub(super) fn tells_coupling(&self) -> bool {
        self.which() == Which::Both
            && !self.is_at_jack()
            && CoilName::BOTH.into_iter().all(|coil| {
                let coil = self.coil(coil);
                let alone = coil.measurement().is_some_and(|own| own.with() == MeasuredWith::Alone);
                alone && coil.inductance.origin.deviation().is_some()
            })
    }

    pub(super) fn coupled(
        &self,
        points: &[Point],
        scale: f64,
        ohms: Option<Ohms>,
        take: Option<&Take>,
    ) -> Result<Result<Found, Refused>, SubjectError> {
        let by = if take.is_some() { By::Recording } else { By::Instrument };
        let start = self.as_measured(self.guitar());
        let stated = self.guitar().pickups()[self.pickup_place()].coupling().unwrap_or(0.0);
        let variables = vec![
            Variable { unknown: Unknown::Coupling, limits: [0.0, 0.9], expected: [stated, 0.5] },
            Variable {
                unknown: Unknown::Coil(Measurand::Resistance),
                limits: [-0.3, 0.3],
                expected: [0.0, 0.02],
            },
            Variable {
                unknown: Unknown::Coil(Measurand::Capacitance),
                limits: [-1.0, 1.0],
                expected: [0.0, 0.3],
            },
            Variable { unknown: Unknown::Coil(Measurand::Loss), limits: [-1.0, 1.0], expected: [0.0, 0.2] },
            Variable { unknown: Unknown::Scale, limits: [-0.5, 0.5], expected: [0.0, scale.max(1e-5)] },
        ];
        let data = data_of(points, ohms);
        let problem = Problem::new(self, &start, variables, &data);
        let at = problem.variables.iter().map(|variable| variable.expected[0]).collect();
        let fit = problem.solved(at)?;
        if fit.misfit() > UNLIKE {
            let words =
                "both coils in series do not go together with each coil as it was measured alone".to_owned();
            return Ok(Err(Refused::of(by, Verdict::NotThisSignal, words)));
        }
        if let Some(refused) = beyond_scale(&fit, scale, by) {
            return Ok(Err(refused));
        }
        let coupling = fit.at[0];
        let of_coils =
            self.coils().into_iter().filter_map(|coil| self.coil(coil).inductance.origin.deviation());
        let of_coils = of_coils.fold(0.0, f64::max) * (1.0 + coupling);
        let mut found = self.told(&fit, points);
        found.with = MeasuredWith::Alone;
        for coil in &mut found.coils {
            let own = self.coil(coil.name);
            let values = CoilValues::of(own);
            coil.values = Measurand::ALL.map(|measurand| {
                let deviation = own.measurand(measurand).and_then(|(_, origin)| origin.deviation())?;
                let value = values.get(measurand);
                Some(Measured { value, deviation: deviation * value })
            });
        }
        found.coupling =
            Some(Measured { value: coupling, deviation: fit.covariance[(0, 0)].sqrt().hypot(of_coils) });
        found.source = take.map(Take::source);
        found.notes = take.map(|take| take.notes().to_vec()).unwrap_or_default();
        found.notes.push("each coil was measured alone before: both together tell their coupling".to_owned());
        Ok(Ok(found))
    }
}
