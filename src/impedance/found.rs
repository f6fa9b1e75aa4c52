//! Coils' values from what was measured.

use num_complex::Complex64;

use super::coil::CoilValues;
use super::fit::{Datum, Fit, Problem, Unknown, Variable};
use super::subject::{Place, Subject, SubjectError, Which, checked, impedance, put};
use super::{Known, Point, Reading, Refused, Source, Take, Verdict};
use crate::guitar::{Guitar, MEASURANDS, Measurand, MeasuredWith, PartKind};
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

/// A value with its standard deviation, in its unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// The value.
    pub value: f64,
    /// The standard deviation.
    pub deviation: f64,
}

/// How a coil is by its values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Health {
    /// As coils of its ohms are.
    Healthy,
    /// Inductance and Q are low together.
    ShortedTurn,
}

impl Health {
    /// Returns it in the words of reports.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Healthy => "healthy",
            Self::ShortedTurn => "shorted turn suspected",
        }
    }
}

/// A coil that was measured.
#[derive(Debug, Clone, PartialEq)]
pub struct CoilFound {
    /// Which one.
    pub name: CoilName,
    /// In the order of [`Measurand::ALL`]: nothing where that was not told, a share of zero where there is no eddy section.
    pub values: [Option<Measured>; MEASURANDS],
    /// What a meter reads in series mode at 1 kHz, without the winding's capacitance.
    pub inductance_1khz: Measured,
    /// How it is.
    pub health: Health,
}

/// How far the circuit is from what was measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Misfit {
    /// The root of the mean square of the magnitudes, in dB.
    pub rms_db: f64,
    /// The largest, in dB, with its sign.
    pub worst_db: f64,
    /// Where that is.
    pub worst_at: Hertz,
}

/// What was found.
#[derive(Debug, Clone)]
pub struct Found {
    /// The coils that were measured.
    pub coils: Vec<CoilFound>,
    /// Whether a coil was measured alone, or both as one.
    pub with: MeasuredWith,
    /// How the errors of two values go together, where they do.
    pub correlation: Vec<([Measurand; 2], f64)>,
    /// The coupling of the coils, where it is told.
    pub coupling: Option<Measured>,
    /// What source and input were, where there was a recording.
    pub source: Option<Source>,
    /// How far the circuit is from what was measured, where that was an impedance.
    pub misfit: Option<Misfit>,
    /// What was measured, point by point, and the circuit's own impedance there.
    pub points: Vec<(Point, Complex64)>,
    /// What is to be told.
    pub notes: Vec<String>,
}

/// The standard deviation of what a handheld meter reads.
pub(super) const METER: f64 = 0.01;
/// The standard deviation of another instrument's scale.
const INSTRUMENT: f64 = 0.005;
/// Where the circuit is off by more, it is looked whether frames were lost: 0.17 dB.
const DOUBTFUL: f64 = 0.02;
/// Where the circuit is off by more, it is not that of a coil: 1 dB.
const UNLIKE: f64 = 0.12;
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
        if let Some(refused) = self.open(points)? {
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
            return Ok(Err(Refused::new(Verdict::NotThisSignal, words)));
        }
        if let Some(refused) = self.wrong_resistor(&start, points, scale, ohms)? {
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
            found
                .notes
                .push("the known resistor is not checked, since no ohms of the coil are known".to_owned());
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
    fn open(&self, points: &[Point]) -> Result<Option<Refused>, SubjectError> {
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
            Refused::new(Verdict::Open, words)
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
        let mut data = vec![Datum::Impedance(points.to_vec())];
        data.extend(ohms.map(|ohms| Datum::Direct(ohms, METER)));
        self.solved(start, variables, &data, points, ohms)
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
            let words = format!(
                "by the known resistor the coils have {}, and the meter read {read}: the resistor has {} of what was said",
                Ohms::new(told),
                format_args!("{:.0} %", 100.0 / off.exp())
            );
            Refused::new(Verdict::WrongResistor, words)
        }))
    }

    /// Returns whether both coils were measured alone, so that both in series tell their coupling.
    fn tells_coupling(&self) -> bool {
        self.which() == Which::Both
            && !self.is_at_jack()
            && CoilName::BOTH.into_iter().all(|coil| {
                let coil = self.coil(coil);
                let alone = coil.measurement().is_some_and(|own| own.with() == MeasuredWith::Alone);
                alone && coil.inductance.origin.deviation().is_some()
            })
    }

    fn coupled(
        &self,
        points: &[Point],
        scale: f64,
        ohms: Option<Ohms>,
        take: Option<&Take>,
    ) -> Result<Result<Found, Refused>, SubjectError> {
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
        let mut data = vec![Datum::Impedance(points.to_vec())];
        data.extend(ohms.map(|ohms| Datum::Direct(ohms, METER)));
        let problem = Problem::new(self, &start, variables, &data);
        let at = problem.variables.iter().map(|variable| variable.expected[0]).collect();
        let fit = problem.solved(at)?;
        if fit.misfit() > UNLIKE {
            let words =
                "both coils in series do not go together with each coil as it was measured alone".to_owned();
            return Ok(Err(Refused::new(Verdict::NotThisSignal, words)));
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

    fn told(&self, fit: &Fit, points: &[Point]) -> Found {
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

    fn read(&self, readings: &[Reading], ohms: Option<Ohms>) -> Result<Result<Found, Refused>, SubjectError> {
        let peaks = readings.iter().filter(|reading| matches!(reading, Reading::Peak { .. })).count();
        let mut told = vec![Measurand::Inductance];
        if peaks > 1 {
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
        let mut found = self.told(&fit, &[]);
        found.notes.push(format!(
            "only what the readings can tell is found: {}",
            told.iter().map(|measurand| measurand.words()).collect::<Vec<_>>().join(", ")
        ));
        Ok(Ok(found))
    }
}

fn misfit(points: &[Point], fit: &Fit) -> Misfit {
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

impl Place {
    /// Returns where that is, in words.
    pub fn words(&self) -> &'static str {
        match self {
            Self::Leads(_) => "at the leads",
            Self::Jack(_) => "at the jack",
        }
    }
}
