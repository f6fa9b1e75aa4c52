//! The circuit of what was measured fitted to it, and what speaks against that.

use super::fit::{Datum, FLOOR, Fit, Problem, Unknown, Variable};
use super::found::Found;
use super::subject::{Subject, SubjectError, Which, impedance};
use super::told::misfit;
use super::verdict::By;
use super::{Known, Point, Reading, Refused, Take, Verdict};
use crate::guitar::{Guitar, Measurand, PartKind};
use crate::quantity::{Hertz, Ohms};
use crate::wiring::CoilName;

/// What was measured of a subject.
#[derive(Debug, Clone)]
pub enum Evidence {
    /// A recording, and the resistor that was known in it.
    Take(Take, Known),
    /// An impedance that another instrument measured.
    Curve(Vec<Point>),
    /// Single readings.
    Readings(Vec<Reading>),
}

/// The standard deviation of what a handheld meter reads.
pub(super) const METER: f64 = 0.01;
/// The standard deviation of another instrument's scale.
const INSTRUMENT: f64 = 0.005;
/// Where the circuit is off by more, it is looked whether frames were lost: 0.17 dB.
const DOUBTFUL: f64 = 0.02;
/// Where the circuit is off by more, it is not that of a coil: 1 dB.
pub(super) const UNLIKE: f64 = 0.12;
/// An eddy section is taken where it lowers the sum of squares by more.
const WORTH: f64 = 12.0;
/// What the one eddy section of the circuit makes of a capacitance where steel and a cover are there: in simulated coils it came
/// out up to 3 % low.
const OF_CORES: f64 = 0.013;
/// What controls of unknown value make of an inductance at the jack: in simulated guitars it came out up to 2 % off.
const OF_CONTROLS: f64 = 0.008;
/// Below this the coils conduct.
const OPEN_FROM: Ohms = Ohms::new(60e3);

impl Subject {
    /// Returns what `evidence` tells of the coils, `ohms` being what the meter read where it was measured. `Err` of the inner
    /// result says why no values are told.
    ///
    /// # Errors
    /// [`SubjectError`] where a circuit has no solution, or the file cannot hold the values.
    pub fn measure(
        &self,
        evidence: &Evidence,
        ohms: Option<Ohms>,
    ) -> Result<Result<Found, Refused>, SubjectError> {
        match evidence {
            Evidence::Take(take, known) => self.follow(take.points(), known.deviation(), ohms, Some(take)),
            Evidence::Curve(points) => self.follow(points, INSTRUMENT, ohms, None),
            Evidence::Readings(readings) => self.read(readings, ohms),
        }
    }

    fn follow(
        &self,
        points: &[Point],
        scale: f64,
        ohms: Option<Ohms>,
        take: Option<&Take>,
    ) -> Result<Result<Found, Refused>, SubjectError> {
        let by = if take.is_some() { By::Recording } else { By::Instrument };
        if let Some(refused) = self.open(points, by)? {
            return Ok(Err(refused));
        }
        if self.tells_coupling() {
            return self.coupled(points, scale, ohms, take);
        }
        let (start, mut fit) = self.best(points, scale, ohms)?;
        if fit.misfit() > DOUBTFUL
            && let Some(take) = take
            && let Some(frames) = self.slipped(&start, take, scale, ohms, fit.misfit())?
        {
            let words = format!(
                "the third section is {frames} frames off where it belongs, so that phases are wrong"
            );
            return Ok(Err(Refused::new(Verdict::Slipped, words)));
        }
        if fit.misfit() > UNLIKE {
            let words = format!(
                "what was measured is up to {:.1} dB off any coil in this place",
                misfit(points, &fit).worst_db.abs()
            );
            return Ok(Err(Refused::of(by, Verdict::NotThisSignal, words)));
        }
        if let Some(refused) = self.wrong_resistor(&start, points, scale, ohms, by)? {
            return Ok(Err(refused));
        }
        if let Some(refused) = beyond_scale(&fit, scale, by) {
            return Ok(Err(refused));
        }
        if fit.place(Unknown::Coil(Measurand::EddyShare)).is_some() {
            fit.doubt(Unknown::Coil(Measurand::Capacitance), OF_CORES);
        }
        if self.is_at_jack() {
            fit.doubt(Unknown::Coil(Measurand::Inductance), OF_CONTROLS);
        }
        let mut found = self.told(&fit, points);
        found.source = take.map(Take::source);
        found.notes.splice(0..0, take.iter().flat_map(|take| take.notes().to_vec()));
        if self.known_ohms(ohms).is_none() {
            let scale = match by {
                By::Recording => "the known resistor",
                By::Instrument => "the instrument's scale",
            };
            found.notes.push(format!("{scale} is not checked, since no ohms of the coil are known"));
        }
        Ok(Ok(found))
    }

    /// Returns the best of the circuits that may be there, with the guitar from which it is told: with an eddy section where that is
    /// worth it; of one coil alone beside its free neighbour or, where the leads of that are not there, without.
    fn best(&self, points: &[Point], scale: f64, ohms: Option<Ohms>) -> Result<(Guitar, Fit), SubjectError> {
        let is_one_of_two = matches!(self.which(), Which::One(_)) && self.pickup().coil_b().is_some();
        let pickup = self.pickup().name().as_str();
        let mut best: Option<(Guitar, Fit)> = None;
        for with_section in [false, true] {
            let start = self.as_measured(&self.start(with_section)?);
            let apart = is_one_of_two.then(|| {
                start.with_parts(|part| match part.kind {
                    PartKind::Coupling if part.of == pickup => 0.0,
                    _ => part.value,
                })
            });
            for start in [Some(start), apart].into_iter().flatten() {
                let fit = self.fitted(&start, points, scale, ohms)?;
                let worth = |known: &Fit| {
                    let is_larger = fit.variables.len() > known.variables.len();
                    fit.cost + if is_larger { WORTH } else { 0.0 } < known.cost
                };
                if best.as_ref().is_none_or(|(_, known)| worth(known)) {
                    best = Some((start, fit));
                }
            }
        }
        best.ok_or_else(|| SubjectError::Refused("there is no circuit".to_owned()))
    }

    /// Refuses what conducts nothing where the coils are to be.
    fn open(&self, points: &[Point], by: By) -> Result<Option<Refused>, SubjectError> {
        const LOWEST: usize = 4;
        let circuit = self.circuit(&self.as_measured(&self.start(false)?))?;
        let mut least = f64::INFINITY;
        let mut expected = 0.0_f64;
        for point in points.iter().take(LOWEST) {
            least = least.min(point.impedance.norm());
            expected = expected.max(impedance(&circuit, point.frequency)?.norm());
        }
        let is_open = least > OPEN_FROM.value() && least > 4.0 * expected;
        Ok(is_open.then(|| {
            let words = format!(
                "{} at {}, where a coil has some {}",
                Ohms::new(least),
                points[0].frequency,
                Ohms::new(expected)
            );
            Refused::of(by, Verdict::Open, words)
        }))
    }

    /// Returns the variables of a fit of an impedance.
    fn variables(&self, start: &Guitar, scale: Option<f64>, ohms_known: bool) -> Vec<Variable> {
        let of = |measurand, limits, deviation| Variable {
            unknown: Unknown::Coil(measurand),
            limits,
            expected: [0.0, deviation],
        };
        let known = if ohms_known { METER } else { 0.7 };
        let mut variables = vec![
            of(Measurand::Resistance, [-1.8, 1.8], known),
            of(Measurand::Inductance, [-2.5, 2.5], 2.0),
            of(Measurand::Capacitance, [-3.4, 3.4], 1.0),
            of(Measurand::Loss, [-4.0, 4.0], 1.2),
        ];
        let coil = &start.pickups()[self.pickup_place()];
        let coil =
            if self.moves(CoilName::A) { coil.coil_a() } else { coil.coil_b().unwrap_or(coil.coil_a()) };
        if coil.eddy.is_some() {
            variables.push(of(Measurand::EddyShare, [-4.0, 1.6], 0.6));
            variables.push(of(Measurand::EddyCorner, [-2.2, 2.2], 0.5));
        }
        let is_one_of_two = matches!(self.which(), Which::One(_)) && self.pickup().coil_b().is_some();
        let pickup = self.pickup().name().as_str();
        let mut order = 0;
        let tolerances = start.tolerances();
        // The value stays: parts are only looked through.
        let _ = start.with_parts(|part| {
            let own = order;
            order += 1;
            if is_one_of_two && part.kind == PartKind::Coupling && part.of == pickup && part.value > 0.0 {
                variables.push(Variable {
                    unknown: Unknown::Coupling,
                    limits: [0.0, 0.45],
                    expected: [part.value, 0.08],
                });
            }
            let is_control = matches!(part.kind, PartKind::Pot | PartKind::Capacitor | PartKind::Resistor);
            if is_control && (part.of.is_empty() || part.of == pickup) {
                let [low, high] = tolerances.range(part.kind, part.origin, part.value);
                let deviation = ((high - low) / 12f64.sqrt() / part.value).max(1e-3);
                variables.push(Variable {
                    unknown: Unknown::Part(own),
                    limits: [-1.5, 1.5],
                    expected: [0.0, deviation],
                });
            }
            part.value
        });
        if let Some(deviation) = scale {
            variables.push(Variable {
                unknown: Unknown::Scale,
                limits: [-0.5, 0.5],
                expected: [0.0, deviation.max(1e-5)],
            });
        }
        variables
    }

    fn fitted(
        &self,
        start: &Guitar,
        points: &[Point],
        scale: f64,
        ohms: Option<Ohms>,
    ) -> Result<Fit, SubjectError> {
        let variables = self.variables(start, Some(scale), ohms.is_none() && self.states_ohms());
        self.solved(start, variables, &data_of(points, ohms), points, ohms)
    }

    fn solved(
        &self,
        start: &Guitar,
        variables: Vec<Variable>,
        data: &[Datum],
        points: &[Point],
        ohms: Option<Ohms>,
    ) -> Result<Fit, SubjectError> {
        let problem = Problem::new(self, start, variables, data);
        let at = self.begun(&problem, points, ohms)?;
        Ok(problem.solved(at)?)
    }

    /// Returns where a fit begins: the ohms as read, an inductance that the low frequencies have, the best of a few capacitances.
    fn begun(
        &self,
        problem: &Problem<'_>,
        points: &[Point],
        ohms: Option<Ohms>,
    ) -> Result<Vec<f64>, SubjectError> {
        const LOW: std::ops::Range<f64> = 250.0..900.0;
        const TURNS: usize = 4;
        let variables = &problem.variables;
        let mut at: Vec<f64> = variables.iter().map(|variable| variable.expected[0]).collect();
        let place =
            |measurand| variables.iter().position(|variable| variable.unknown == Unknown::Coil(measurand));
        let held = |place: usize, value: f64| {
            let [low, high] = variables[place].limits;
            value.clamp(0.98 * low, 0.98 * high)
        };
        if let (Some(ohms), Some(place)) = (ohms, place(Measurand::Resistance)) {
            let direct = impedance(&self.circuit(problem.start)?, Hertz::new(0.01))?.re;
            at[place] = held(place, (ohms.value() / direct).ln());
        }
        if let Some(inductance) = place(Measurand::Inductance) {
            for _ in 0..TURNS {
                let circuit = self.circuit(&problem.guitar(&at))?;
                let mut ratios = Vec::new();
                for point in points.iter().filter(|point| LOW.contains(&point.frequency.value())) {
                    let ratio = point.impedance.im / impedance(&circuit, point.frequency)?.im;
                    ratios.extend(Some(ratio).filter(|ratio| *ratio > 0.0));
                }
                ratios.sort_by(f64::total_cmp);
                if let Some(ratio) = ratios.get(ratios.len() / 2) {
                    let moved = held(inductance, at[inductance] + ratio.ln());
                    if let Some(loss) = place(Measurand::Loss) {
                        at[loss] = held(loss, at[loss] + moved - at[inductance]);
                    }
                    at[inductance] = moved;
                }
            }
        }
        if let Some(capacitance) = place(Measurand::Capacitance) {
            let mut best = (f64::INFINITY, at[capacitance]);
            for factor in [0.2_f64, 0.35, 0.6, 0.85, 1.2, 1.7, 2.4, 4.0] {
                at[capacitance] = factor.ln();
                let cost = problem.cost(&at)?;
                if cost < best.0 {
                    best = (cost, at[capacitance]);
                }
            }
            at[capacitance] = best.1;
        }
        Ok(at)
    }

    /// Returns by how many frames the third section has to be moved for the circuit to follow, where that makes all the difference.
    fn slipped(
        &self,
        start: &Guitar,
        take: &Take,
        scale: f64,
        ohms: Option<Ohms>,
        misfit: f64,
    ) -> Result<Option<i32>, SubjectError> {
        const BETTER: f64 = 0.35;
        const FIRST: [i32; 14] = [1, 2, 3, 4, 6, 8, 12, 16, 24, 32, 48, 64, 96, 128];
        let off = |frames: i32| -> Result<f64, SubjectError> {
            Ok(self.fitted(start, &take.moved(f64::from(frames)), scale, ohms)?.misfit())
        };
        let mut best = (misfit, 0);
        for frames in FIRST.into_iter().flat_map(|n| [n, -n]) {
            let found = off(frames)?;
            if found < best.0 {
                best = (found, frames);
            }
        }
        // From there to the nearest that is best.
        let mut step = (best.1.abs() / 4).max(1);
        while step > 0 && best.0 > BETTER * BETTER * misfit {
            let here = best;
            for frames in [here.1 - step, here.1 + step] {
                let found = off(frames)?;
                if found < best.0 {
                    best = (found, frames);
                }
            }
            if best == here {
                step /= 2;
            }
        }
        Ok(Some(best.1).filter(|frames| *frames != 0 && best.0 < BETTER * misfit))
    }

    /// Returns the ohms where it is measured, as read or as the file states the coils'.
    fn known_ohms(&self, ohms: Option<Ohms>) -> Option<Ohms> {
        let stated = || -> Option<Ohms> {
            let circuit = self.circuit(&self.as_measured(self.guitar())).ok()?;
            self.states_ohms().then_some(())?;
            Some(Ohms::new(impedance(&circuit, Hertz::new(0.01)).ok()?.re))
        };
        ohms.or_else(stated)
    }

    fn states_ohms(&self) -> bool {
        self.coils().into_iter().all(|coil| self.coil(coil).resistance_is_stated())
    }

    /// Refuses a known resistor by which the coils have other ohms than the meter read.
    fn wrong_resistor(
        &self,
        start: &Guitar,
        points: &[Point],
        scale: f64,
        ohms: Option<Ohms>,
        by: By,
    ) -> Result<Option<Refused>, SubjectError> {
        const SURE: f64 = 3.5;
        let Some(read) = self.known_ohms(ohms) else { return Ok(None) };
        let data = [Datum::Impedance(points.to_vec())];
        let fit = self.solved(start, self.variables(start, None, false), &data, points, ohms)?;
        let circuit = self.circuit(&fit.guitar)?;
        let told = impedance(&circuit, Hertz::new(0.01))?.re;
        let own =
            fit.place(Unknown::Coil(Measurand::Resistance)).map_or(0.0, |i| fit.covariance[(i, i)].sqrt());
        let off = (told / read.value()).ln();
        let deviation = own.hypot(scale).hypot(METER);
        Ok((off.abs() > SURE * deviation).then(|| {
            let (told, percent) = (Ohms::new(told), 100.0 / off.exp());
            let words = match by {
                By::Recording => format!(
                    "by the known resistor the coils have {told}, and the meter read {read}: the resistor has {percent:.0} % of what \
                     was said"
                ),
                By::Instrument => format!(
                    "by the table the coils have {told}, and the meter read {read}: the meter has {percent:.0} % of what the \
                     instrument shows"
                ),
            };
            Refused::of(by, Verdict::WrongResistor, words)
        }))
    }
}

/// Returns what is to be followed: an impedance, and the ohms that a meter read.
pub(super) fn data_of(points: &[Point], ohms: Option<Ohms>) -> Vec<Datum> {
    let direct = ohms.map(|ohms| Datum::Direct(ohms, METER));
    [Datum::Impedance(points.to_vec())].into_iter().chain(direct).collect()
}

/// Refuses a fit that follows only where all impedances are read further off than what they are read by can be.
pub(super) fn beyond_scale(fit: &Fit, deviation: f64, by: By) -> Option<Refused> {
    const SURE: f64 = 4.0;
    let off = fit.at[fit.place(Unknown::Scale)?];
    (off.abs() > SURE * deviation.hypot(FLOOR)).then(|| {
        let cause = match by {
            By::Recording => "the resistor has another value",
            By::Instrument => "the instrument's scale is off",
        };
        let words = format!(
            "a coil follows what was measured only where all of it is {:.1} % off, and what it was measured by is said to be \
             closer: {cause}, or what hangs there is more than the coil",
            100.0 * off.exp_m1().abs()
        );
        Refused::of(by, Verdict::WrongResistor, words)
    })
}
