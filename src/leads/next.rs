//! The reading that settles most.
//!
//! What is still in doubt is measured by the weight of the hypotheses that must be struck out before one
//! assignment is left: all but the heaviest. The next reading is the one that leaves least in doubt on average,
//! its outcomes weighed by the hypotheses that allow them; among equals, the one whose worst outcome leaves
//! least, then the one that strikes out most, then ohms before taps. A fault counts a fiftieth of its absence, so
//! that the usual is asked about first; no weight ever decides what is certain.

use std::cmp::Ordering;
use std::collections::BTreeMap;

use super::fit::Passage;
use super::hypothesis::{Assignment, Hypotheses, Hypothesis};
use super::network::{Bond, Swings};
use super::reading::{Bobbin, Conductor, Reading, Swing};
use super::readings::Readings;

/// What to do next at the bench.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step {
    /// Read the resistance between two conductors.
    Ohms {
        /// The conductors.
        between: [Conductor; 2],
    },
    /// Tap a coil and watch the first swing.
    Tap {
        /// The coil.
        coil: Bobbin,
        /// The conductor for the red probe.
        red: Conductor,
        /// The conductor for the black probe.
        black: Conductor,
    },
    /// Hold a compass over a coil.
    Compass {
        /// The coil.
        coil: Bobbin,
    },
    /// Undo the joint between two leads, which cannot be told apart while they are one, and read again.
    Undo {
        /// The leads that are joined.
        between: [Conductor; 2],
    },
}

/// Outcomes of a reading: open, joined, wire; or +, −, none.
const OUTCOMES: usize = 3;
/// Differences of weight below this are rounding.
const NOTHING: f64 = 1e-9;

/// Returns the step that settles most among `survivors`, `None` where no reading settles anything more.
///
/// Steps of `skipped` are left out, as are readings that have been taken.
pub(super) fn next_step(
    readings: &Readings,
    hypotheses: &Hypotheses,
    survivors: &[&Hypothesis],
    skipped: &[Step],
) -> Option<Step> {
    if let Some(undo) = joint_to_undo(readings, survivors).filter(|undo| !skipped.contains(undo)) {
        return Some(undo);
    }
    let candidates = candidates(readings, skipped);
    let scales = Scales::of(hypotheses, survivors);
    let best =
        candidates.iter().map(|step| (scales.weigh(*step), *step)).min_by(|(a, _), (b, _)| a.compare(b))?;
    let (outlook, step) = best;
    let settles = outlook.mean_doubt < scales.doubt() - NOTHING;
    let splits = outlook.mean_left < scales.total - NOTHING;
    (settles || (splits && scales.can_be_settled_by(&candidates))).then_some(step)
}

/// Returns the joint between two leads that every hypothesis has.
fn joint_to_undo(readings: &Readings, survivors: &[&Hypothesis]) -> Option<Step> {
    let pairs = pairs(readings.leads.len());
    let joint =
        pairs.into_iter().find(|[a, b]| survivors.iter().all(|h| h.bond != Bond::Apart && h.joins(*a, *b)));
    joint.filter(|_| !survivors.is_empty()).map(|between| Step::Undo { between })
}

fn pairs(count: usize) -> Vec<[Conductor; 2]> {
    let conductors: Vec<Conductor> = (0..count).filter_map(|i| u8::try_from(i).ok()).map(Conductor).collect();
    let mut pairs = Vec::new();
    for (i, a) in conductors.iter().enumerate() {
        pairs.extend(conductors[i + 1..].iter().map(|b| [*a, *b]));
    }
    pairs
}

fn candidates(readings: &Readings, skipped: &[Step]) -> Vec<Step> {
    let pairs = pairs(readings.conductors().count());
    let ohms = pairs.iter().map(|between| Step::Ohms { between: *between });
    // A coil without a name is asked for once the other has one.
    let known_or_next = (readings.bobbins.len() + 1).min(readings.coil_count());
    let taps = Bobbin::BOTH
        .into_iter()
        .take(known_or_next)
        .flat_map(|coil| pairs.iter().map(move |[red, black]| Step::Tap { coil, red: *red, black: *black }));
    ohms.chain(taps).filter(|step| !skipped.contains(step) && !is_taken(readings, *step)).collect()
}

/// Returns whether the reading that `step` asks for has been taken, with the probes either way round.
pub(super) fn is_taken(readings: &Readings, step: Step) -> bool {
    let alike = |[a, b]: [Conductor; 2], [c, d]: [Conductor; 2]| (a, b) == (c, d) || (a, b) == (d, c);
    readings.entries().iter().any(|entry| match step {
        Step::Ohms { between } => {
            matches!(entry.reading, Reading::Ohms { between: read, .. } if alike(read, between))
        }
        Step::Tap { coil, red, black } => {
            matches!(entry.reading, Reading::Tap { coil: read, red: r, black: b, .. }
                if read == coil && alike([r, b], [red, black]))
        }
        Step::Compass { coil } => {
            matches!(entry.reading, Reading::Compass { coil: read, .. } if read == coil)
        }
        Step::Undo { .. } => false,
    })
}

/// What a step leaves in doubt.
struct Outlook {
    worst_doubt: f64,
    mean_doubt: f64,
    mean_left: f64,
}

impl Outlook {
    fn compare(&self, other: &Self) -> Ordering {
        let closer =
            |a: f64, b: f64| if (a - b).abs() <= NOTHING { Ordering::Equal } else { a.total_cmp(&b) };
        closer(self.mean_doubt, other.mean_doubt)
            .then(closer(self.worst_doubt, other.worst_doubt))
            .then(closer(self.mean_left, other.mean_left))
    }
}

/// The survivors with their weights and the assignment, by number, that each makes.
struct Scales<'h> {
    hypotheses: &'h Hypotheses,
    survivors: Vec<(&'h Hypothesis, usize)>,
    assignments: usize,
    total: f64,
}

impl<'h> Scales<'h> {
    fn of(hypotheses: &'h Hypotheses, survivors: &[&'h Hypothesis]) -> Self {
        let mut numbers: BTreeMap<Assignment, usize> = BTreeMap::new();
        let survivors: Vec<(&Hypothesis, usize)> = survivors
            .iter()
            .map(|h| {
                let next = numbers.len();
                (*h, *numbers.entry(h.assignment).or_insert(next))
            })
            .collect();
        let total = survivors.iter().map(|(h, _)| h.weight).sum();
        Self { hypotheses, survivors, assignments: numbers.len(), total }
    }

    fn doubt(&self) -> f64 {
        let mut by_assignment = vec![0.0; self.assignments];
        self.survivors.iter().for_each(|(h, number)| by_assignment[*number] += h.weight);
        doubt(&by_assignment)
    }

    fn weigh(&self, step: Step) -> Outlook {
        let mut weights = vec![vec![0.0; self.assignments]; OUTCOMES];
        for (hypothesis, number) in &self.survivors {
            let outcomes = self.outcomes(hypothesis, step);
            let each = hypothesis.weight / f64::from(outcomes.count_ones());
            for (outcome, row) in weights.iter_mut().enumerate() {
                if outcomes & (1 << outcome) != 0 {
                    row[*number] += each;
                }
            }
        }
        let mut outlook = Outlook { worst_doubt: 0.0, mean_doubt: 0.0, mean_left: 0.0 };
        for row in &weights {
            let left: f64 = row.iter().sum();
            let doubt = doubt(row);
            outlook.worst_doubt = outlook.worst_doubt.max(doubt);
            outlook.mean_doubt += doubt * left / self.total;
            outlook.mean_left += left * left / self.total;
        }
        outlook
    }

    /// Returns the outcomes that `hypothesis` allows, a bit each.
    fn outcomes(&self, hypothesis: &Hypothesis, step: Step) -> u8 {
        match step {
            Step::Ohms { between } => match self.hypotheses.passage(hypothesis, between) {
                Passage::Open => 1,
                Passage::Joined => 2,
                Passage::Wire => 4,
            },
            Step::Tap { coil, red, black } => match self.hypotheses.way(hypothesis, black, red) {
                Some(way) => way.swings[coil.index()].bits(),
                None => 1 << Swings::place(Swing::None),
            },
            Step::Compass { .. } | Step::Undo { .. } => 1,
        }
    }

    /// Returns whether all `steps` together would leave a single assignment in some case.
    fn can_be_settled_by(&self, steps: &[Step]) -> bool {
        let mut cases: BTreeMap<Vec<u8>, Option<usize>> = BTreeMap::new();
        for (hypothesis, number) in &self.survivors {
            let case: Vec<u8> = steps.iter().map(|step| self.outcomes(hypothesis, *step)).collect();
            cases
                .entry(case)
                .and_modify(|only| *only = only.filter(|known| known == number))
                .or_insert(Some(*number));
        }
        cases.values().any(Option::is_some)
    }
}

fn doubt(by_assignment: &[f64]) -> f64 {
    by_assignment.iter().sum::<f64>() - by_assignment.iter().copied().fold(0.0, f64::max)
}
