//! Coils' values from single readings, only what these can tell.

use super::coil::CoilValues;
use super::fit::{Datum, Fit, Problem, Unknown, Variable};
use super::found::Found;
use super::measure::METER;
use super::subject::{Subject, SubjectError, Which, checked, put};
use super::{Reading, Refused};
use crate::guitar::Measurand;
use crate::quantity::Ohms;

impl Subject {
    pub(super) fn read(
        &self,
        readings: &[Reading],
        ohms: Option<Ohms>,
    ) -> Result<Result<Found, Refused>, SubjectError> {
        let has_peak = readings.iter().any(|reading| matches!(reading, Reading::Peak { .. }));
        let mut told = vec![Measurand::Inductance];
        // One reading tells one value: beside another a peak tells what is across the inductance.
        if has_peak && readings.len() > 1 {
            told.push(Measurand::Capacitance);
        }
        if ohms.is_some() {
            told.push(Measurand::Resistance);
        }
        let mut draft = self.draft().clone();
        for coil in self.moving() {
            let own = match self.which() {
                Which::One(measured) => self.coil(measured),
                Which::Both => self.coil(coil),
            };
            let values = CoilValues::of(own);
            for measurand in &told {
                put(&mut draft, &self.table(coil), *measurand, values.get(*measurand).max(1e-12))?;
            }
        }
        let start = self.as_measured(&checked(&draft)?);
        let variable = |measurand: &Measurand| Variable {
            unknown: Unknown::Coil(*measurand),
            limits: [-2.5, 2.5],
            expected: match measurand {
                Measurand::Capacitance => [0.0, 0.4],
                Measurand::Resistance => [0.0, 0.7],
                Measurand::Inductance | Measurand::Loss | Measurand::EddyShare | Measurand::EddyCorner => {
                    [0.0, 1.5]
                }
            },
        };
        let mut data: Vec<Datum> = readings.iter().map(Reading::datum).collect();
        data.extend(ohms.map(|ohms| Datum::Direct(ohms, METER)));
        let problem = Problem::new(self, &start, told.iter().map(variable).collect(), &data);
        let at = vec![0.0; told.len()];
        let fit = problem.solved(at)?;
        if let Some(what) = contradiction(&fit, readings) {
            return Err(SubjectError::Contradictory { what });
        }
        // They decide on one value alone, which no coil has where they are not met.
        if let Some(ohms) = ohms.filter(|_| fit.off[readings.len()].abs() > SURE) {
            return Err(SubjectError::NoCoilsOhms { ohms });
        }
        let mut found = self.told(&fit, &[]);
        found.notes.push(format!(
            "only what the readings can tell is found: {}",
            told.iter().map(|measurand| measurand.words()).collect::<Vec<_>>().join(", ")
        ));
        Ok(Ok(found))
    }
}

/// What is off by so many standard deviations is no chance.
const SURE: f64 = 4.0;

/// Returns what of a fit's readings, or of the capacitance that they come to, is further off than it can be.
fn contradiction(fit: &Fit, readings: &[Reading]) -> Option<String> {
    let capacitance = fit.place(Unknown::Coil(Measurand::Capacitance));
    let of_readings = readings.iter().zip(&fit.off);
    let worst = of_readings.max_by(|(_, one), (_, other)| one.abs().total_cmp(&other.abs()));
    if let Some((reading, off)) = worst.filter(|(_, off)| off.abs() > SURE) {
        return Some(reading.off_by(*off));
    }
    let expectations = &fit.off[fit.off.len() - fit.variables.len()..];
    let place = capacitance.filter(|place| expectations[*place].abs() > SURE)?;
    Some(format!(
        "they go together only where the coil has {:.2} times the capacitance that it is taken to have",
        fit.at[place].exp()
    ))
}
