//! How a person plays, told by the strums themselves: what strums of one block differ by is theirs, and no voice's.

use nalgebra::{DMatrix, DVector};

use super::onsets::{deviation, median};
use super::strum::{BANDS, SILENCE, Strum, alike};

/// What is known of players before a take is looked at, as standard deviations in dB: a third octave from strum to strum, and
/// with how many strums' weight; all of them from take to take, likewise. The design's figures: 1.5 dB a strum, 2 dB a string, 8 mm
/// of pluck place; 0.7 dB between takes.
const STRUM_DB: f64 = 1.9;
const STRUM_WEIGHT: f64 = 6.0;
const DRIFT_DB: f64 = 0.7;
const DRIFT_WEIGHT: f64 = 4.0;
/// A strum's level from strum to strum.
const LEVEL_DB: f64 = 1.7;
/// How third octaves of a strum go together: all by the strum's level, near ones by the place of the pluck as well; and with how
/// many strums' weight.
const ALL_TOGETHER: f64 = 0.45;
const NEAR: f64 = 1.2;
const TOGETHER_WEIGHT: f64 = 12.0;
/// A strum so far from its block's middle is none of its kind: both of these.
const ODD_DEVIATIONS: f64 = 4.0;
const ODD_DB: f64 = 6.0;
/// A gain was changed where blocks of one voice are so far apart: both of these.
const GAIN_DB: f64 = 4.0;
const GAIN_DEVIATIONS: f64 = 3.5;
/// Bands so far above what was there before, and so far below the strongest, are taken.
const ABOVE_NOISE: f64 = 6.0;
const BELOW_STRONGEST: f64 = 50.0;
/// The pitches of one chord are at least so much alike, from take to take.
const SAME_CHORD: f64 = 0.45;

/// Strums that were played one after the other through one voice.
#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    /// The place of its voice in the order of first naming.
    pub voice: usize,
    /// The strums, in the order in which they were played.
    pub strums: Vec<Strum>,
    /// The recording's file.
    pub file: String,
    /// The level of what sounds without strums, in each third octave.
    pub noise: [f64; BANDS],
    /// Why nothing is told by it.
    pub fault: Option<Fault>,
}

/// Why nothing is told by a take.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fault {
    /// Nothing is heard.
    Silent,
    /// Something is heard, and no strum stands out of it.
    NoStrum,
    /// Peaks are cut off.
    Clipped,
    /// Another chord is played than in the first take.
    AnotherChord,
}

/// All strums of a session with what they tell of the player.
#[derive(Debug, Clone)]
pub(super) struct Playing {
    pub(super) blocks: Vec<Block>,
    /// How many strums were left out of each block.
    pub(super) odd: Vec<usize>,
    covariance: DMatrix<f64>,
    level_variance: f64,
    drift_variance: f64,
}

/// How a voice was measured against another.
#[derive(Debug, Clone)]
pub(super) struct Measured {
    /// The third octaves that were measured.
    pub(super) bands: Vec<usize>,
    pub(super) mean: DVector<f64>,
    pub(super) covariance: DMatrix<f64>,
    /// The level of all, and its standard deviation.
    pub(super) level: f64,
    pub(super) level_sd: f64,
    /// Each band's share of the first voice's power.
    pub(super) shares: DVector<f64>,
    /// How many strums of the voice that has fewer; nothing of single notes, whose ratios have no player in them.
    pub(super) strums: Option<usize>,
}

/// Returns the level of all third octaves together that differ by `mean`, with its covariance, where each has this share of the
/// first voice's power; and that level's standard deviation.
pub(super) fn level_of(shares: &DVector<f64>, mean: &DVector<f64>, covariance: &DMatrix<f64>) -> [f64; 2] {
    let powers = shares.zip_map(mean, |share, level| share * 10f64.powf(level / 10.0));
    let whole = powers.sum();
    let weights = powers / whole;
    [10.0 * whole.log10(), weights.dot(&(covariance * &weights)).sqrt()]
}

impl Block {
    /// Returns the level of each strum, in dB.
    fn levels(&self) -> Vec<f64> {
        self.strums.iter().map(|strum| strum.level(|_| true)).collect()
    }

    /// Returns the third octaves of each strum.
    fn rows(&self) -> impl Iterator<Item = DVector<f64>> {
        self.strums.iter().map(|strum| DVector::from_row_slice(&strum.bands))
    }
}

impl Playing {
    /// Returns what `blocks` tell.
    pub(super) fn of(mut blocks: Vec<Block>) -> Self {
        for place in of_another_chord(&blocks) {
            blocks[place].fault = blocks[place].fault.or(Some(Fault::AnotherChord));
        }
        let odd = blocks.iter_mut().map(leave_odd_out).collect();
        let mut scatter = DMatrix::zeros(BANDS, BANDS);
        let (mut level_squares, mut degrees) = (0.0, 0.0);
        for block in usable(&blocks) {
            let rows: Vec<DVector<f64>> = block.rows().collect();
            let middle = mean_of(&rows);
            for row in &rows {
                let off = row - &middle;
                scatter.ger(1.0, &off, &off, 1.0);
            }
            let own = block.levels();
            let middle = mean(&own);
            level_squares += own.iter().map(|level| (level - middle).powi(2)).sum::<f64>();
            degrees += (rows.len() - 1) as f64;
        }
        let level_variance = (level_squares + STRUM_WEIGHT * LEVEL_DB * LEVEL_DB) / (degrees + STRUM_WEIGHT);
        let drift_variance = drift(&blocks, level_variance);
        Self { covariance: shrunk(&scatter, degrees), blocks, odd, level_variance, drift_variance }
    }

    /// Returns how many strums a voice has.
    pub(super) fn strums(&self, voice: usize) -> usize {
        self.of_voice(voice).map(|block| block.strums.len()).sum()
    }

    /// Returns how the voice `later` was measured against `first`; nothing where one of them has no strums or no third octave is
    /// loud enough in both.
    pub(super) fn measured(&self, first: usize, later: usize) -> Option<Measured> {
        let [a, b] = [first, later].map(|voice| self.mean(voice));
        let (a, b) = (a?, b?);
        let heard = [self.heard(first, &a), self.heard(later, &b)];
        let bands: Vec<usize> = (0..BANDS).filter(|band| heard.iter().all(|heard| heard[*band])).collect();
        if bands.is_empty() {
            return None;
        }
        let share = |voice: usize| 1.0 / self.strums(voice) as f64;
        let of_takes = |voice: usize| 1.0 / self.of_voice(voice).count() as f64;
        let strums = share(first) + share(later);
        let takes = (of_takes(first) + of_takes(later)) * self.drift_variance;
        let covariance = DMatrix::from_fn(bands.len(), bands.len(), |i, j| {
            self.covariance[(bands[i], bands[j])] * strums + takes
        });
        let is_taken = |band: usize| bands.contains(&band);
        let level = |voice: usize| {
            let all: Vec<f64> = self
                .of_voice(voice)
                .flat_map(|block| &block.strums)
                .map(|strum| strum.level(is_taken))
                .collect();
            mean(&all)
        };
        let power = |band: usize| 10f64.powf(a[band] / 10.0);
        let whole: f64 = bands.iter().map(|band| power(*band)).sum();
        Some(Measured {
            mean: DVector::from_iterator(bands.len(), bands.iter().map(|band| b[*band] - a[*band])),
            covariance,
            level: level(later) - level(first),
            level_sd: (self.level_variance * strums + takes).sqrt(),
            shares: DVector::from_iterator(bands.len(), bands.iter().map(|band| power(*band) / whole)),
            strums: Some(self.strums(first).min(self.strums(later))),
            bands,
        })
    }

    /// Returns by how much the blocks of a voice differ in level where no player drifts so far.
    pub(super) fn gain_changed(&self, voice: usize) -> Option<f64> {
        let own: Vec<(f64, usize)> =
            self.of_voice(voice).map(|block| (median(&block.levels()), block.strums.len())).collect();
        let least = own.iter().copied().min_by(|one, other| one.0.total_cmp(&other.0))?;
        let most = own.iter().copied().max_by(|one, other| one.0.total_cmp(&other.0))?;
        let strums = 1.0 / least.1 as f64 + 1.0 / most.1 as f64;
        let deviation = (self.level_variance * strums + 2.0 * DRIFT_DB * DRIFT_DB).sqrt();
        let apart = most.0 - least.0;
        (apart > GAIN_DB.max(GAIN_DEVIATIONS * deviation)).then_some(apart)
    }

    fn of_voice(&self, voice: usize) -> impl Iterator<Item = &Block> {
        of_voice(&self.blocks, voice)
    }

    /// Returns the mean of a voice's strums in each third octave.
    fn mean(&self, voice: usize) -> Option<DVector<f64>> {
        let rows: Vec<DVector<f64>> = self.of_voice(voice).flat_map(Block::rows).collect();
        (!rows.is_empty()).then(|| mean_of(&rows))
    }

    /// Returns of each third octave whether it is heard in a voice.
    fn heard(&self, voice: usize, mean: &DVector<f64>) -> [bool; BANDS] {
        let strongest = mean.max();
        let noise = |band: usize| self.of_voice(voice).map(|block| block.noise[band]).fold(SILENCE, f64::max);
        std::array::from_fn(|band| {
            mean[band] > noise(band) + ABOVE_NOISE && mean[band] > strongest - BELOW_STRONGEST
        })
    }
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

fn mean_of(rows: &[DVector<f64>]) -> DVector<f64> {
    rows.iter().fold(DVector::zeros(BANDS), |sum, row| sum + row) / rows.len().max(1) as f64
}

/// Takes strums out of a block that are far louder or softer than the others; returns how many.
fn leave_odd_out(block: &mut Block) -> usize {
    let levels = block.levels();
    let middle = median(&levels);
    let off: Vec<f64> = levels.iter().map(|level| (level - middle).abs()).collect();
    let limit = ODD_DB.max(ODD_DEVIATIONS * deviation(&off));
    let mut places = off.iter().map(|off| *off <= limit);
    let before = block.strums.len();
    block.strums.retain(|_| places.next().unwrap_or(true));
    before - block.strums.len()
}

/// Returns the covariance of a strum's third octaves from the `scatter` of so many degrees of freedom: too few to tell all of it,
/// so that it is drawn to what is usual.
fn shrunk(scatter: &DMatrix<f64>, degrees: f64) -> DMatrix<f64> {
    let variance =
        |band: usize| (scatter[(band, band)] + STRUM_WEIGHT * STRUM_DB * STRUM_DB) / (degrees + STRUM_WEIGHT);
    DMatrix::from_fn(BANDS, BANDS, |i, j| {
        let size = (scatter[(i, i)] * scatter[(j, j)]).sqrt();
        let own = if size > 0.0 { scatter[(i, j)] / size } else { 0.0 };
        let usual = ALL_TOGETHER + (1.0 - ALL_TOGETHER) * (-(i.abs_diff(j) as f64) / NEAR).exp();
        let together = (degrees * own + TOGETHER_WEIGHT * usual) / (degrees + TOGETHER_WEIGHT);
        let together = if i == j { 1.0 } else { together };
        together * (variance(i) * variance(j)).sqrt()
    })
}

/// Returns the variance of the level from take to take, from blocks of the same voice and what is usual.
fn drift(blocks: &[Block], level_variance: f64) -> f64 {
    let (mut excess, mut degrees) = (0.0, 0.0);
    let voices = blocks.iter().map(|block| block.voice + 1).max().unwrap_or(0);
    for voice in 0..voices {
        let own: Vec<(f64, f64)> =
            of_voice(blocks, voice).map(|block| (mean(&block.levels()), block.strums.len() as f64)).collect();
        if own.len() < 2 {
            continue;
        }
        let middle = own.iter().map(|(level, _)| level).sum::<f64>() / own.len() as f64;
        let of_strums = own.iter().map(|(_, count)| level_variance / count).sum::<f64>() / own.len() as f64;
        let free = (own.len() - 1) as f64;
        excess += own.iter().map(|(level, _)| (level - middle).powi(2)).sum::<f64>() - free * of_strums;
        degrees += free;
    }
    (DRIFT_WEIGHT * DRIFT_DB * DRIFT_DB + excess.max(-DRIFT_WEIGHT * DRIFT_DB * DRIFT_DB * 0.5))
        / (DRIFT_WEIGHT + degrees)
}

/// Returns the blocks that tell something.
fn usable(blocks: &[Block]) -> impl Iterator<Item = &Block> {
    blocks.iter().filter(|block| block.fault.is_none() && !block.strums.is_empty())
}

fn of_voice(blocks: &[Block], voice: usize) -> impl Iterator<Item = &Block> {
    usable(blocks).filter(move |block| block.voice == voice)
}

/// Returns the places of the blocks whose pitches are not those of the first.
fn of_another_chord(blocks: &[Block]) -> Vec<usize> {
    let pitches: Vec<Option<Vec<f64>>> = blocks.iter().map(pitches).collect();
    let Some(first) = pitches.iter().flatten().next() else { return Vec::new() };
    let is_other = |own: &Option<Vec<f64>>| {
        own.as_ref().and_then(|own| alike(first, own)).is_some_and(|alike| alike < SAME_CHORD)
    };
    (0..pitches.len()).filter(|block| is_other(&pitches[*block])).collect()
}

fn pitches(block: &Block) -> Option<Vec<f64>> {
    let mut known = block.strums.iter().map(|strum| &strum.pitches).filter(|own| !own.is_empty());
    let mut sum = known.next()?.clone();
    for own in known {
        for (sum, own) in sum.iter_mut().zip(own) {
            *sum += own;
        }
    }
    Some(sum)
}
