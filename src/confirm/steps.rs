//! How a ringing note's partials step while a switch is thrown: each dies away evenly in dB, and steps at each throw.

use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;
use realfft::RealFftPlanner;

use super::notes::Note;
use super::onsets::{deviation, frames_in, median};
use super::take::Take;

/// A frame and how far frames are apart, in seconds: partials of the lowest note stand apart in one.
const FRAME: f64 = 0.05;
const HOP: f64 = 0.006;
/// What is compared before and after a throw, in seconds from it: a switch breaks before it makes, and clicks.
const ASIDE: f64 = 0.04;
const SPAN: f64 = 0.11;
/// Throws are at least so far apart.
const APART: f64 = 0.18;
/// A throw steps by so much, all partials taken together, and so much more than is usual where nothing is thrown.
const STEP_DB: f64 = 0.6;
const MORE: f64 = 2.5;
/// A partial is no more certain than that from one note: strings beat.
const LEAST_SD: f64 = 0.4;
/// A partial whose course is so uneven tells nothing.
const UNEVEN_DB: f64 = 3.0;

/// A partial's step from the state in which its note began to the other one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Step {
    pub(super) hz: f64,
    pub(super) db: f64,
    pub(super) sd_db: f64,
    /// The level at which it began, in dB.
    pub(super) level: f64,
}

/// What a note tells.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Stepped {
    pub(super) steps: Vec<Step>,
    /// How often the switch was thrown.
    pub(super) throws: usize,
}

/// The levels of a note's partials, frame by frame, in dB.
struct Courses {
    levels: Vec<Vec<f64>>,
    /// When each frame's middle is.
    times: Vec<f64>,
}

/// Returns how the partials of `note` step; nothing where no throw is found.
pub(super) fn stepped(take: &Take, note: &Note) -> Option<Stepped> {
    let courses = Courses::of(take, note);
    if courses.times.len() < 8 {
        return None;
    }
    let throws = courses.throws();
    let first = *throws.first()?;
    // Which way a throw goes is told by how like the first one it is.
    let reference = courses.changes(first);
    let state_after: Vec<bool> = throws
        .iter()
        .map(|at| {
            let changes = courses.changes(*at);
            changes.iter().zip(&reference).map(|(one, other)| one * other).sum::<f64>() > 0.0
        })
        .collect();
    let state = |time: f64| {
        let before = throws.iter().zip(&state_after).take_while(|(at, _)| **at <= time).last();
        before.is_some_and(|(_, state)| *state)
    };
    let is_clear = |time: f64| throws.iter().all(|at| (time - at).abs() > ASIDE);
    let frames: Vec<usize> = (0..courses.times.len()).filter(|i| is_clear(courses.times[*i])).collect();
    let states: Vec<f64> = frames.iter().map(|i| f64::from(u8::from(state(courses.times[*i])))).collect();
    let times: Vec<f64> = frames.iter().map(|i| courses.times[*i] - courses.times[0]).collect();
    let steps = note.partials.iter().zip(&courses.levels).filter_map(|(hz, levels)| {
        let levels: Vec<f64> = frames.iter().map(|i| levels[*i]).collect();
        fitted(*hz, &times, &states, &levels, throws.len())
    });
    let steps: Vec<Step> = steps.collect();
    (!steps.is_empty()).then_some(Stepped { steps, throws: throws.len() })
}

impl Courses {
    fn of(take: &Take, note: &Note) -> Self {
        let rate = f64::from(take.rate_hz());
        let samples = take.between(note.rings[0], note.rings[1]);
        let count = frames_in(FRAME, 1.0 / rate).max(4);
        let hop = frames_in(HOP, 1.0 / rate).max(1);
        let length = (2 * count).next_power_of_two();
        let plan = RealFftPlanner::new().plan_fft_forward(length);
        let window: Vec<f64> = (0..count)
            .map(|n| 0.5 - 0.5 * (std::f64::consts::TAU * (n as f64 + 0.5) / count as f64).cos())
            .collect();
        let (mut frame, mut spectrum) = (plan.make_input_vec(), plan.make_output_vec());
        let mut scratch = plan.make_scratch_vec();
        let bins: Vec<usize> = note.partials.iter().map(|hz| frames_in(*hz, rate / length as f64)).collect();
        let mut own = Self { levels: vec![Vec::new(); note.partials.len()], times: Vec::new() };
        for start in (0..samples.len().saturating_sub(count)).step_by(hop) {
            frame.fill(0.0);
            for ((to, sample), weight) in frame.iter_mut().zip(&samples[start..]).zip(&window) {
                *to = sample * weight;
            }
            let done = plan.process_with_scratch(&mut frame, &mut spectrum, &mut scratch);
            debug_assert!(done.is_ok(), "the planner itself made the vectors, of the lengths it needs");
            for (levels, bin) in own.levels.iter_mut().zip(&bins) {
                let near = &spectrum[bin.saturating_sub(1)..(bin + 2).min(spectrum.len())];
                let power: f64 = near.iter().map(Complex64::norm_sqr).sum();
                levels.push(10.0 * (power + 1e-30).log10());
            }
            own.times.push(note.rings[0] + (start as f64 + 0.5 * count as f64) / rate);
        }
        own
    }

    /// Returns by how much each partial changes about `at`, beyond how it dies away.
    fn changes(&self, at: f64) -> Vec<f64> {
        let within = |from: f64, to: f64| {
            let place = |time: f64| self.times.partition_point(|own| *own < time);
            place(at + from)..place(at + to)
        };
        let (before, after) = (within(-SPAN, -ASIDE), within(ASIDE, SPAN));
        let falls = (SPAN + ASIDE) / HOP;
        let change = |levels: &Vec<f64>| {
            if before.is_empty() || after.is_empty() {
                return 0.0;
            }
            let mean = |part: &[f64]| part.iter().sum::<f64>() / part.len() as f64;
            let slope = median(&levels.windows(2).map(|two| two[1] - two[0]).collect::<Vec<f64>>());
            mean(&levels[after.clone()]) - mean(&levels[before.clone()]) - slope * falls
        };
        self.levels.iter().map(change).collect()
    }

    /// Returns when the switch is thrown.
    fn throws(&self) -> Vec<f64> {
        let size = |time: &f64| {
            let changes: Vec<f64> = self.changes(*time).into_iter().map(f64::abs).collect();
            median(&changes)
        };
        let sizes: Vec<f64> = self.times.iter().map(size).collect();
        let least = STEP_DB.max(MORE * lower_quartile(&sizes));
        let about = frames_in(APART, HOP) / 2;
        let is_highest = |i: &usize| {
            let near = &sizes[i.saturating_sub(about)..(i + about + 1).min(sizes.len())];
            sizes[*i] >= least && near.iter().all(|other| *other <= sizes[*i])
        };
        let mut throws: Vec<f64> = Vec::new();
        for i in (0..sizes.len()).filter(is_highest) {
            let at = self.middle(i, &sizes);
            if throws.last().is_none_or(|last| at - last >= APART) {
                throws.push(at);
            }
        }
        throws
    }

    /// Returns the middle of what is nearly as high about the frame `i`: changes have a flat top.
    fn middle(&self, i: usize, sizes: &[f64]) -> f64 {
        const NEARLY: f64 = 0.8;
        let is_near = |place: &usize| sizes[*place] > NEARLY * sizes[i];
        let from = (0..=i).rev().take_while(is_near).last().unwrap_or(i);
        let to = (i..sizes.len()).take_while(is_near).last().unwrap_or(i);
        f64::midpoint(self.times[from], self.times[to])
    }
}

fn lower_quartile(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted.get(sorted.len() / 4).copied().unwrap_or(0.0)
}

/// Returns the step of a partial at `hz` whose `levels` at `times` were in these `states`, 0 or 1, by least squares of which far
/// ones count less; what it dies away by may bend where the states change often enough to tell.
///
/// # Source
/// P. J. Huber, *Robust Estimation of a Location Parameter*, 1964: weights 1 to 1.5 deviations, less beyond.
fn fitted(hz: f64, times: &[f64], states: &[f64], levels: &[f64], throws: usize) -> Option<Step> {
    const TURNS: usize = 6;
    const HUBER: f64 = 1.5;
    let columns = if throws >= 3 { 4 } else { 3 };
    let count = times.len();
    let share = states.iter().sum::<f64>() / count.max(1) as f64;
    if count < 4 * columns || !(0.02..0.98).contains(&share) {
        return None;
    }
    let design = DMatrix::from_fn(count, columns, |row, column| match column {
        0 => 1.0,
        1 => states[row],
        2 => times[row],
        _ => times[row] * times[row],
    });
    let wanted = DVector::from_column_slice(levels);
    let mut weights = DVector::from_element(count, 1.0);
    let mut found = DVector::zeros(columns);
    let (mut spread, mut variance) = (0.0, 0.0);
    for _ in 0..TURNS {
        let weighted = DMatrix::from_fn(count, columns, |row, column| design[(row, column)] * weights[row]);
        let inverse = (weighted.transpose() * &design).try_inverse()?;
        found = &inverse * (weighted.transpose() * &wanted);
        let left = &wanted - &design * &found;
        spread = deviation(left.abs().as_slice());
        variance = inverse[(1, 1)];
        for (weight, left) in weights.iter_mut().zip(left.iter()) {
            *weight = (HUBER * spread.max(1e-3) / left.abs().max(1e-9)).min(1.0);
        }
    }
    // What beats stays off for as long as frames overlap and longer.
    let together = 3.0 * FRAME / HOP;
    let sd_db = (spread * (variance * together).sqrt()).hypot(LEAST_SD);
    (spread < UNEVEN_DB).then_some(Step { hz, db: found[1], sd_db, level: found[0] })
}
