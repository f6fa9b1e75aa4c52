//! The ratio of two voices from single notes that ring while the switch is thrown: no player is in it.

use nalgebra::{DMatrix, DVector};

use super::foretold::Partial;
use super::onsets::{deviation, median};
use super::playing::{Measured, level_of};
use super::steps::{Step, Stepped, stepped};
use super::strum::{BANDS, band_of};
use super::take::Take;
use crate::measure::Unmeasurable;
use crate::quantity::Hertz;

/// Steps this many deviations from the middle of their third octave are left out.
const FAR: f64 = 3.5;
/// What all steps of a take may be off together, and each third octave by itself: frames and throws.
const ALL_DB: f64 = 0.05;
const BAND_DB: f64 = 0.08;

/// What the notes of a take tell.
#[derive(Debug, Clone)]
pub(super) struct Flips {
    /// How the second voice was measured against the first; nothing where no note rings while the switch is thrown.
    pub(super) measured: Option<Measured>,
    /// The partials that this is from.
    pub(super) partials: Vec<Partial>,
    /// How many notes were used.
    pub(super) notes: usize,
    /// How often the switch was thrown in them.
    pub(super) throws: usize,
    /// How many were chords.
    pub(super) chords: usize,
}

/// What is heard of single notes in a take while a switch is thrown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FlipsHeard {
    /// How many single notes rang while it was thrown.
    pub notes: usize,
    /// How often it was thrown in them.
    pub throws: usize,
    /// How often several notes sounded together.
    pub chords: usize,
}

impl Take {
    /// Returns what is heard of single notes in this take, or in what has come in of it so far.
    ///
    /// # Errors
    /// [`Unmeasurable`] where the rate is out of range or a sample is not finite.
    pub fn flips_heard(&self) -> Result<FlipsHeard, Unmeasurable> {
        let Flips { notes, throws, chords, .. } = Flips::of(self)?;
        Ok(FlipsHeard { notes, throws, chords })
    }
}

/// A step with its note.
#[derive(Debug, Clone, Copy)]
struct Own {
    step: Step,
    note: usize,
    fundamental: f64,
    band: usize,
}

impl Flips {
    /// Returns what the notes of `take` tell, the first of which begins in the first voice.
    ///
    /// # Errors
    /// [`Unmeasurable`] where the rate is out of range or a sample is not finite.
    pub(super) fn of(take: &Take) -> Result<Self, Unmeasurable> {
        let notes = take.notes()?;
        let chords = notes.iter().filter(|note| note.fundamental.is_none()).count();
        let told: Vec<(Option<f64>, Stepped)> =
            notes.iter().filter_map(|note| Some((note.fundamental, stepped(take, note)?))).collect();
        let single = told.iter().filter(|(fundamental, _)| fundamental.is_some());
        let throws = single.clone().map(|(_, stepped)| stepped.throws).sum();
        let notes = single.count();
        let (measured, partials) = combined(&in_one_direction(&told));
        Ok(Self { measured, partials, notes, throws, chords })
    }
}

/// Returns the steps of all notes from the first voice to the second. A switch may be thrown unheard between two notes, so that the
/// number of throws tells in which voice a note begins only where its steps tell neither. Of chords only the throws count.
fn in_one_direction(told: &[(Option<f64>, Stepped)]) -> Vec<Own> {
    let mut all: Vec<Own> = Vec::new();
    let mut is_second = false;
    for (note, (fundamental, stepped)) in told.iter().enumerate() {
        let is_odd = stepped.throws % 2 == 1;
        let Some(fundamental) = fundamental else {
            is_second ^= is_odd;
            continue;
        };
        let own: Vec<Own> = stepped
            .steps
            .iter()
            .filter_map(|step| {
                let band = band_of(step.hz)?;
                Some(Own { step: *step, note, fundamental: *fundamental, band })
            })
            .collect();
        let agrees: f64 = own
            .iter()
            .filter_map(|own| {
                let near = all.iter().filter(|other| other.band.abs_diff(own.band) <= 1);
                let steps: Vec<f64> = near.map(|other| other.step.db).collect();
                (!steps.is_empty()).then(|| median(&steps) * own.step.db / own.step.sd_db.powi(2))
            })
            .sum();
        let turned = if agrees == 0.0 { is_second } else { agrees < 0.0 };
        let sign = if turned { -1.0 } else { 1.0 };
        all.extend(own.into_iter().map(|mut own| {
            own.step.db *= sign;
            own
        }));
        is_second = turned ^ is_odd;
    }
    all
}

fn combined(own: &[Own]) -> (Option<Measured>, Vec<Partial>) {
    let mut partials = Vec::new();
    let (mut bands, mut means, mut variances, mut powers) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for band in 0..BANDS {
        let steps: Vec<&Own> = own.iter().filter(|own| own.band == band).collect();
        let middle = median(&steps.iter().map(|own| own.step.db).collect::<Vec<f64>>());
        let off: Vec<f64> = steps.iter().map(|own| (own.step.db - middle).abs()).collect();
        let spread = deviation(&off);
        let is_near = |own: &&&Own| (own.step.db - middle).abs() <= FAR * spread.max(own.step.sd_db);
        let near: Vec<&&Own> = steps.iter().filter(is_near).collect();
        if near.is_empty() {
            continue;
        }
        let weight = |own: &Own| 1.0 / (own.step.sd_db.powi(2) + spread.powi(2));
        let weights: f64 = near.iter().map(|own| weight(own)).sum();
        let mean = near.iter().map(|own| weight(own) * own.step.db).sum::<f64>() / weights;
        bands.push(band);
        means.push(mean);
        variances.push(1.0 / weights + BAND_DB * BAND_DB);
        powers.push(near.iter().map(|own| 10f64.powf(own.step.level / 10.0)).sum::<f64>());
        partials.extend(near.iter().map(|own| Partial {
            frequency: Hertz::new(own.step.hz),
            note: own.note,
            fundamental: Hertz::new(own.fundamental),
            band,
            weight: weight(own),
        }));
    }
    if bands.is_empty() {
        return (None, partials);
    }
    let count = bands.len();
    let whole: f64 = powers.iter().sum();
    let shares = DVector::from_iterator(count, powers.iter().map(|power| power / whole));
    let mean = DVector::from_vec(means);
    let covariance =
        DMatrix::from_fn(count, count, |i, j| ALL_DB * ALL_DB + if i == j { variances[i] } else { 0.0 });
    let [level, level_sd] = level_of(&shares, &mean, &covariance);
    (Some(Measured { bands, mean, covariance, level, level_sd, shares, strums: None }), partials)
}
