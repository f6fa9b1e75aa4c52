//! Where the same playing is in two takes, found by how their loudness rises.

use realfft::RealFftPlanner;

use crate::quantity::Seconds;

/// How long a step of a take's envelope is.
const STEP: f64 = 0.01;
/// How much of the takes is compared at most.
const LONGEST: f64 = 60.0;

/// What two takes have in common.
pub(super) struct Overlap {
    /// Where it begins in each take, in steps.
    starts: [usize; 2],
    /// How long it is.
    pub(super) length: Seconds,
    /// How much later the playing begins in the second take.
    pub(super) offset: Seconds,
    /// The correlation of the takes' envelopes over it, 1 where they are alike.
    pub(super) likeness: f64,
}

impl Overlap {
    /// Returns what `takes` have in common.
    pub(super) fn of(takes: [&[f64]; 2], rates_hz: [u32; 2]) -> Self {
        let envelopes = [0, 1].map(|i| envelope(takes[i], rates_hz[i]));
        let lag = lag(&envelopes.each_ref().map(|envelope| rises(envelope)));
        let starts = [(-lag).max(0), lag.max(0)].map(isize::unsigned_abs);
        let left = |i: usize| envelopes[i].len().saturating_sub(starts[i]);
        let steps = left(0).min(left(1));
        let parts = [0, 1].map(|i| &envelopes[i][starts[i].min(envelopes[i].len())..][..steps]);
        Self {
            starts,
            length: Seconds::new((steps as f64 * STEP).min(LONGEST)),
            offset: Seconds::new(lag as f64 * STEP),
            likeness: correlation(parts),
        }
    }

    /// Returns the part of a take, the first or the second, that the other has as well.
    pub(super) fn part<'t>(&self, which: usize, take: &'t [f64], rate_hz: u32) -> &'t [f64] {
        let step = step(rate_hz);
        let from = (self.starts[which] * step).min(take.len());
        let rest = &take[from..];
        let steps = (self.length.value() / STEP).round();
        let frames = rest.chunks(step).take_while({
            let mut left = steps;
            move |_| {
                left -= 1.0;
                left >= 0.0
            }
        });
        let frames: usize = frames.map(<[f64]>::len).sum();
        &rest[..frames]
    }
}

/// Returns the frames of a step.
fn step(rate_hz: u32) -> usize {
    (rate_hz as usize).div_euclid(100).max(1)
}

fn envelope(take: &[f64], rate_hz: u32) -> Vec<f64> {
    let rms =
        |part: &[f64]| (part.iter().map(|sample| sample * sample).sum::<f64>() / part.len() as f64).sqrt();
    take.chunks_exact(step(rate_hz)).map(rms).collect()
}

/// Returns by how much an envelope rises at each step.
fn rises(envelope: &[f64]) -> Vec<f64> {
    let before = std::iter::once(0.0).chain(envelope.iter().copied());
    envelope.iter().zip(before).map(|(own, before)| (own - before).max(0.0)).collect()
}

/// Returns by how many steps the second is later than the first: where they have the most in common.
fn lag(rises: &[Vec<f64>; 2]) -> isize {
    let length = (rises[0].len() + rises[1].len()).next_power_of_two().max(2);
    let mut planner = RealFftPlanner::new();
    let (forward, inverse) = (planner.plan_fft_forward(length), planner.plan_fft_inverse(length));
    let [first, second] = rises.each_ref().map(|own| {
        let mut padded = own.clone();
        padded.resize(length, 0.0);
        let mut spectrum = forward.make_output_vec();
        let done = forward.process(&mut padded, &mut spectrum);
        debug_assert!(done.is_ok(), "both are of the length that was planned");
        spectrum
    });
    let mut cross: Vec<_> = first.iter().zip(&second).map(|(first, second)| first.conj() * second).collect();
    // The ends are real, as they are of any real sequence.
    for end in [0, cross.len() - 1] {
        cross[end].im = 0.0;
    }
    let mut common = inverse.make_output_vec();
    let done = inverse.process(&mut cross, &mut common);
    debug_assert!(done.is_ok(), "both are of the length that was planned");
    let most = (0..length).max_by(|a, b| common[*a].total_cmp(&common[*b])).unwrap_or(0);
    let signed = |steps: usize| isize::try_from(steps).unwrap_or(0);
    if most < rises[1].len() { signed(most) } else { signed(most) - signed(length) }
}

fn correlation(parts: [&[f64]; 2]) -> f64 {
    let count = parts[0].len().max(1) as f64;
    let means = parts.map(|part| part.iter().sum::<f64>() / count);
    let product = |a: usize, b: usize| {
        parts[a].iter().zip(parts[b]).map(|(x, y)| (x - means[a]) * (y - means[b])).sum::<f64>()
    };
    let size = (product(0, 0) * product(1, 1)).sqrt();
    // What does not change at all is alike.
    if size > 0.0 { product(0, 1) / size } else { 1.0 }
}
