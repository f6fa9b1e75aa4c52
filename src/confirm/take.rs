//! A recording, read into strums.

use super::ConfirmError;
use super::onsets::{APART, frames_in, onsets, part};
use super::strum::{BANDS, SILENCE, Strum, levels};
use crate::measure::Unmeasurable;
use crate::quantity::{Dbfs, Seconds};
use crate::sound::{Sound, SoundError};

/// A longer recording is not looked through.
const LONGEST: Seconds = Seconds::new(600.0);
/// A recording whose highest sample is lower is silent.
const SILENT: Dbfs = Dbfs::new(-80.0);
/// So much of a strum is measured at most, and at least.
const MEASURED: [f64; 2] = [APART, 1.2];
/// What sounds without strums is looked for in parts of this length.
const QUIET: f64 = 0.25;
/// A peak is cut off where so many samples in a row stand within this share of the highest, so many times.
const FLAT_SAMPLES: usize = 4;
const FLAT: f64 = 1e-4;
const FLAT_TIMES: usize = 3;
/// Lower peaks have samples in a row that are equal for want of bits.
const FLAT_FROM: f64 = 0.2;
/// Between blocks in one recording there is a rest at least so long, and so much longer than any within one.
const REST: f64 = 1.8;
const REST_LONGER: f64 = 1.25;

/// A recording in which strums are found.
#[derive(Debug, Clone)]
pub struct Take {
    file: String,
    rate_hz: u32,
    samples: Vec<f64>,
    onsets: Vec<Seconds>,
    is_silent: bool,
    is_clipped: bool,
}

impl Take {
    /// Returns the take of `sound`, of its loudest channel.
    ///
    /// # Errors
    /// [`ConfirmError`] where it cannot be read or lasts more than ten minutes.
    pub fn read(sound: &Sound) -> Result<Self, ConfirmError> {
        if sound.duration() > LONGEST {
            return Err(ConfirmError::TooLong {
                file: sound.file_name().to_owned(),
                given: sound.duration(),
                most: LONGEST,
            });
        }
        let samples = loudest(sound)?;
        let highest = samples.iter().fold(0.0_f64, |most, sample| most.max(sample.abs()));
        let is_silent = 20.0 * highest.log10() < SILENT.value();
        Ok(Self {
            file: sound.file_name().to_owned(),
            rate_hz: sound.rate_hz(),
            onsets: if is_silent { Vec::new() } else { onsets(&samples, sound.rate_hz()) },
            is_silent,
            is_clipped: is_clipped(&samples, highest),
            samples,
        })
    }

    /// Returns the recording's file.
    pub fn file(&self) -> &str {
        &self.file
    }

    /// Returns when each strum begins, none in a silent take.
    pub fn onsets(&self) -> &[Seconds] {
        &self.onsets
    }

    /// Returns whether no sample is above what any input has by itself.
    pub(super) fn is_silent(&self) -> bool {
        self.is_silent
    }

    /// Returns whether this is the recording that `other` is, whatever their files are called.
    pub(super) fn is(&self, other: &Self) -> bool {
        !self.is_silent && self.rate_hz == other.rate_hz && self.samples == other.samples
    }

    /// Returns how many rests there are that part blocks.
    pub(super) fn rests(&self) -> usize {
        self.onsets.windows(2).filter(|pair| pair[1].value() - pair[0].value() >= REST).count()
    }

    /// Returns whether peaks are cut off.
    pub fn is_clipped(&self) -> bool {
        self.is_clipped
    }

    /// Returns how long a strum may be measured in all of `takes`: until the next one begins.
    pub(super) fn measurable<'t>(takes: impl IntoIterator<Item = &'t Self>) -> Seconds {
        let gaps = takes.into_iter().flat_map(|take| {
            let ends = take.onsets.iter().skip(1).copied();
            take.onsets.iter().zip(ends).map(|(from, to)| to.value() - from.value())
        });
        let shortest = gaps.fold(MEASURED[1], f64::min);
        Seconds::new(shortest.max(MEASURED[0]))
    }

    /// Returns so much of each strum whose number is among `numbers`.
    ///
    /// # Errors
    /// [`Unmeasurable`] where the rate is out of range or a sample is not finite.
    pub(super) fn strums(
        &self,
        numbers: std::ops::Range<usize>,
        length: Seconds,
    ) -> Result<Vec<Strum>, Unmeasurable> {
        let end = self.samples.len() as f64 / f64::from(self.rate_hz);
        // The last one may be cut short by the recording's end.
        let is_whole = |at: &&Seconds| at.value() + 0.9 * length.value() < end;
        self.onsets[numbers]
            .iter()
            .filter(is_whole)
            .map(|at| Strum::measured(&self.samples, self.rate_hz, *at, length))
            .collect()
    }

    /// Returns the levels of what sounds where the take is quietest.
    ///
    /// # Errors
    /// [`Unmeasurable`] where the rate is out of range or a sample is not finite.
    pub(super) fn noise(&self) -> Result<[f64; BANDS], Unmeasurable> {
        let length = frames_in(QUIET, 1.0 / f64::from(self.rate_hz));
        let energy = |part: &[f64]| part.iter().map(|sample| sample * sample).sum::<f64>();
        let quietest = self
            .samples
            .chunks_exact(length.max(1))
            .min_by(|one, other| energy(one).total_cmp(&energy(other)));
        quietest.map_or(Ok([SILENCE; BANDS]), |quietest| levels(quietest, self.rate_hz))
    }

    /// Returns the numbers of the strums of each of so many blocks, which rests part; nothing where the rests are not so many.
    pub(super) fn blocks(&self, count: usize) -> Option<Vec<std::ops::Range<usize>>> {
        let gap = |next: usize| self.onsets[next].value() - self.onsets[next - 1].value();
        let mut gaps: Vec<usize> = (1..self.onsets.len()).collect();
        gaps.sort_by(|one, other| gap(*other).total_cmp(&gap(*one)));
        let rests = count.checked_sub(1)?;
        let shortest = if rests == 0 { f64::INFINITY } else { gap(*gaps.get(rests - 1)?) };
        let longest_within = gaps.get(rests).map_or(0.0, |next| gap(*next));
        if shortest < REST || shortest < REST_LONGER * longest_within {
            return None;
        }
        let mut starts: Vec<usize> = gaps[..rests].to_vec();
        starts.sort_unstable();
        let ends = starts.iter().copied().chain([self.onsets.len()]);
        Some([0].into_iter().chain(starts.iter().copied()).zip(ends).map(|(from, to)| from..to).collect())
    }

    pub(super) fn rate_hz(&self) -> u32 {
        self.rate_hz
    }

    pub(super) fn samples(&self) -> &[f64] {
        &self.samples
    }

    /// Returns the part from and to so many seconds.
    pub(super) fn between(&self, from: f64, to: f64) -> &[f64] {
        part(&self.samples, f64::from(self.rate_hz), 0.0, [from, to])
    }
}

/// Returns the loudest channel.
fn loudest(sound: &Sound) -> Result<Vec<f64>, SoundError> {
    let power = |plane: &Vec<f64>| plane.iter().map(|sample| sample * sample).sum::<f64>();
    let planes = sound.planes()?;
    Ok(planes.into_iter().max_by(|one, other| power(one).total_cmp(&power(other))).unwrap_or_default())
}

/// Returns whether peaks of `samples` are cut off, at whatever level.
fn is_clipped(samples: &[f64], highest: f64) -> bool {
    let is_flat = |run: &[f64]| {
        let same = run.iter().all(|sample| *sample > (1.0 - FLAT) * highest);
        same || run.iter().all(|sample| *sample < -(1.0 - FLAT) * highest)
    };
    if highest < FLAT_FROM {
        return false;
    }
    let mut times = 0;
    let mut at = 0;
    while at + FLAT_SAMPLES <= samples.len() {
        if is_flat(&samples[at..at + FLAT_SAMPLES]) {
            times += 1;
            // To the end of this peak.
            while at < samples.len() && samples[at].abs() > 0.9 * highest {
                at += 1;
            }
        }
        at += 1;
    }
    times >= FLAT_TIMES
}
