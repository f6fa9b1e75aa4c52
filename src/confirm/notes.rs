//! Single notes in a take: where each begins, its fundamental and its partials.

use super::onsets::{frames_in, part};
use super::strum::{alike, levels, pitches, together};
use super::take::Take;
use crate::measure::{Unmeasurable, padded_spectrum};

/// What is compared before and after something happens: seconds from it.
const BEFORE: [f64; 2] = [-0.2, -0.03];
const AFTER: [f64; 2] = [0.04, 0.21];
/// Less alike in its pitches, another note has begun.
const SAME_NOTE: f64 = 0.5;
/// Struck anew, a note's treble comes back: louder by so much below 1 kHz, and above it by so much more.
const STRUCK_LOW_DB: f64 = 3.0;
const STRUCK_HIGH_DB: f64 = 12.0;
/// The third octaves below 1 kHz, from 160 Hz, and above it.
const LOW: std::ops::Range<usize> = 3..11;
const HIGH: std::ops::Range<usize> = 13..19;
/// A note's attack is left out, and what is about the next one.
const ATTACK: f64 = 0.12;
const RELEASE: f64 = 0.06;
/// A note is taken that rings so long.
const SHORTEST: f64 = 0.8;
/// The stretch by which a note's pitch is told.
const PITCHED: f64 = 0.33;
/// Fundamentals that guitars have, and how far partials are looked for, in hertz.
const FUNDAMENTALS: [f64; 2] = [70.0, 1400.0];
const PARTIALS: [f64; 2] = [140.0, 2810.0];
/// A peak so far below the strongest is no partial.
const PEAK_DB: f64 = 42.0;
/// A partial lies within this share of the fundamental of where a stiff string has it.
const NEAR: f64 = 0.06;
const STIFF: [f64; 6] = [0.0, 4e-5, 1e-4, 2e-4, 4e-4, 8e-4];
/// The share of the peaks' power that one note explains; of a chord it is less.
const ONE_NOTE: f64 = 0.92;
/// A note of twice the pitch has to explain nearly all that the lower one does.
const AS_WELL: f64 = 0.99;

/// A note in a take.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Note {
    /// From when to when it rings.
    pub(super) rings: [f64; 2],
    /// Its fundamental in hertz; nothing where several notes sound together.
    pub(super) fundamental: Option<f64>,
    /// Its partials' frequencies in hertz, or those of all notes that sound together.
    pub(super) partials: Vec<f64>,
}

/// A peak of a spectrum.
#[derive(Debug, Clone, Copy)]
struct Peak {
    hz: f64,
    amplitude: f64,
}

impl Take {
    /// Returns the notes that ring long enough.
    ///
    /// # Errors
    /// [`Unmeasurable`] where the rate is out of range or a sample is not finite.
    pub(super) fn notes(&self) -> Result<Vec<Note>, Unmeasurable> {
        // A recording may begin while the first note rings already.
        let mut starts: Vec<f64> = if self.rings_at_once() { vec![0.0] } else { Vec::new() };
        for onset in self.onsets() {
            let at = onset.value();
            if starts.is_empty() || self.begins_note(at)? {
                starts.push(at);
            }
        }
        let end = self.samples().len() as f64 / f64::from(self.rate_hz());
        let ends = starts.iter().skip(1).map(|next| next - RELEASE).chain([end]);
        let rings = starts.iter().zip(ends).map(|(from, to)| [from + ATTACK, self.until_faint(*from, to)]);
        Ok(rings.filter(|[from, to]| to - from >= SHORTEST).map(|rings| self.note(rings)).collect())
    }

    fn rings_at_once(&self) -> bool {
        /// As long as it takes to tell, and 40 dB below the highest sample of all.
        const FIRST: f64 = 0.1;
        const FAINT: f64 = 0.01;
        let highest = |part: &[f64]| part.iter().fold(0.0_f64, |most, sample| most.max(sample.abs()));
        let is_later = self.onsets().first().is_some_and(|first| first.value() > 2.0 * FIRST);
        is_later && highest(self.between(0.0, FIRST)) > FAINT * highest(self.samples())
    }

    /// Returns whether a note begins at `at`, and not a switch that is thrown while one rings.
    fn begins_note(&self, at: f64) -> Result<bool, Unmeasurable> {
        let rate = f64::from(self.rate_hz());
        let [before, after] = [BEFORE, AFTER].map(|within| part(self.samples(), rate, at, within));
        let [was, is] = [levels(before, self.rate_hz())?, levels(after, self.rate_hz())?];
        let rise = |bands: &std::ops::Range<usize>| {
            together(&is, |band| bands.contains(&band)) - together(&was, |band| bands.contains(&band))
        };
        let (low, high) = (rise(&LOW), rise(&HIGH));
        let is_other =
            alike(&pitches(before, rate), &pitches(after, rate)).is_some_and(|alike| alike < SAME_NOTE);
        Ok(low >= STRUCK_LOW_DB && (is_other || high - low >= STRUCK_HIGH_DB || low >= 2.0 * STRUCK_HIGH_DB))
    }

    /// Returns until when what begins at `from` is well above the take's quietest, `to` at most.
    fn until_faint(&self, from: f64, to: f64) -> f64 {
        /// 40 dB below where it began nothing is told of its partials.
        const FAINT: f64 = 1e-4;
        const STEP: f64 = 0.1;
        let power = |at: f64| {
            let part = self.between(at, at + STEP);
            part.iter().map(|sample| sample * sample).sum::<f64>() / part.len().max(1) as f64
        };
        let begun = power(from + ATTACK);
        let mut at = from + ATTACK;
        while at + STEP < to && power(at) > FAINT * begun {
            at += STEP;
        }
        (at + STEP).min(to)
    }

    fn note(&self, rings: [f64; 2]) -> Note {
        let samples = self.between(rings[0], (rings[0] + PITCHED).min(rings[1]));
        let peaks = peaks(samples, f64::from(self.rate_hz()));
        if let Some((fundamental, partials)) = one_note(&peaks) {
            return Note { rings, fundamental: Some(fundamental), partials };
        }
        let all = peaks.iter().map(|peak| peak.hz).filter(|hz| (PARTIALS[0]..PARTIALS[1]).contains(hz));
        Note { rings, fundamental: None, partials: all.collect() }
    }
}

/// Returns the peaks of the spectrum of `samples` up to where partials are looked for.
fn peaks(samples: &[f64], rate: f64) -> Vec<Peak> {
    let length = (4 * samples.len()).next_power_of_two().max(16);
    let count = samples.len().max(1) as f64;
    let window = |n: usize| 0.5 - 0.5 * (std::f64::consts::TAU * (n as f64 + 0.5) / count).cos();
    let windowed: Vec<f64> = samples.iter().enumerate().map(|(n, sample)| sample * window(n)).collect();
    let bins = padded_spectrum(&windowed, length);
    let bin = rate / length as f64;
    let [from, to] = [FUNDAMENTALS[0], PARTIALS[1]].map(|hz| frames_in(hz, bin));
    let amplitudes: Vec<f64> = bins.iter().take(to + 2).map(|bin| bin.norm()).collect();
    let strongest = amplitudes.iter().skip(from).copied().fold(0.0, f64::max);
    let least = strongest * 10f64.powf(-PEAK_DB / 20.0);
    let is_peak = |k: &usize| {
        let own = amplitudes[*k];
        own > least && own >= amplitudes[k - 1] && own > amplitudes[k + 1]
    };
    // Side lobes of the window are no peaks: none stands so near to a stronger one, 31 dB above it.
    let found: Vec<usize> = (from.max(1)..amplitudes.len().saturating_sub(1)).filter(is_peak).collect();
    let lobes = frames_in(6.0 * rate / count, bin);
    let stands = |k: &usize| {
        let near = found.iter().filter(|other| other.abs_diff(*k) <= lobes && *other != k);
        near.copied().all(|other| amplitudes[other] < 25.0 * amplitudes[*k])
    };
    let peak = |k: usize| Peak { hz: k as f64 * bin, amplitude: amplitudes[k] };
    found.iter().copied().filter(stands).map(peak).collect()
}

/// Returns the fundamental and the partials of the one note that `peaks` are of.
fn one_note(peaks: &[Peak]) -> Option<(f64, Vec<f64>)> {
    let whole: f64 = peaks.iter().map(|peak| peak.amplitude.powi(2)).sum();
    let mut guesses: Vec<f64> = peaks
        .iter()
        .flat_map(|peak| (1..=6).map(|n| peak.hz / f64::from(n)))
        .filter(|hz| (FUNDAMENTALS[0]..FUNDAMENTALS[1]).contains(hz))
        .collect();
    guesses.sort_by(|one, other| other.total_cmp(one));
    let mut best: Option<(f64, f64, Vec<f64>)> = None;
    for fundamental in guesses {
        for stiff in STIFF {
            let partials: Vec<&Peak> =
                peaks.iter().filter(|peak| is_partial(peak.hz, fundamental, stiff)).collect();
            let explained = partials.iter().map(|peak| peak.amplitude.powi(2)).sum::<f64>() / whole;
            let is_better = best.as_ref().is_none_or(|(known, ..)| explained * AS_WELL > *known);
            if is_better {
                best = Some((explained, fundamental, partials.iter().map(|peak| peak.hz).collect()));
            }
        }
    }
    let (explained, fundamental, mut partials) = best?;
    partials.retain(|hz| (PARTIALS[0]..PARTIALS[1]).contains(hz));
    (explained >= ONE_NOTE && !partials.is_empty()).then_some((fundamental, partials))
}

fn is_partial(hz: f64, fundamental: f64, stiff: f64) -> bool {
    let place = |number: f64| number * fundamental * (1.0 + stiff * number * number).sqrt();
    let about = (hz / fundamental).round().max(1.0);
    [about - 1.0, about].into_iter().filter(|n| *n >= 1.0).any(|n| (place(n) - hz).abs() < NEAR * fundamental)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn note(fundamental: f64, stiff: f64) -> Vec<Peak> {
        (1..=30)
            .map(f64::from)
            .map(|n| Peak { hz: n * fundamental * (1.0 + stiff * n * n).sqrt(), amplitude: 1.0 / n })
            .filter(|peak| peak.hz < PARTIALS[1])
            .collect()
    }

    #[test]
    fn one_note_is_told_by_its_partials_and_a_chord_is_none() {
        for (hz, stiff) in [(82.4, 1.1e-4), (146.8, 6e-5), (330.0, 2e-5), (659.0, 1e-4)] {
            let (fundamental, partials) = one_note(&note(hz, stiff)).unwrap();
            assert!((fundamental / hz - 1.0).abs() < 0.01, "{fundamental} for {hz}");
            assert!(partials.len() + 3 >= note(hz, stiff).len(), "{partials:?}");
        }
        let chord: Vec<Peak> = [82.4, 123.5, 164.8, 207.7, 246.9, 329.6].map(|hz| note(hz, 5e-5)).concat();
        assert_eq!(one_note(&chord), None);
        assert_eq!(one_note(&[]), None);
    }
}
