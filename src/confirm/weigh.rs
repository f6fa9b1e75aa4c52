//! What a measured difference of two voices is consistent with.

use nalgebra::{DMatrix, DVector};

use super::chi_squared::above;
use super::foretold::{Difference, Foretold};
use super::playing::{Measured, level_of};
use super::strum::centre;

/// A voice whose fit lags so far behind the best is refused: were both as likely before, it is 90 times less likely now.
pub(super) const REFUSED: f64 = 9.0;
/// A changed gain has to explain so much more.
const GAIN_WORTH: f64 = 4.0;
/// How far a gain may have been changed, as a standard deviation in dB. A convention.
const GAIN_DB: f64 = 12.0;
/// The level is then off by so many standard deviations.
const GAIN_DEVIATIONS: f64 = 2.5;
/// A fit whose squares are so many times as large as chance makes them is none. Of 630 simulated sessions with guitars that are off by
/// their ranges the right voice lies beyond it in 1 of 100 where coils go together, and in 3 where they are against each other; a
/// chord picked at another place, or a pickup that the guitar's file does not describe, gives 3 to 8.
const NO_FIT: f64 = 2.5;
/// What is consistent with takes is so far off by chance in at least so many of all. A convention.
const AGREES: f64 = 0.01;
/// What takes have to tell voices apart by, in what lies between their forecasts, for more strums to be of use.
const TELLS: f64 = 16.0;
const MORE: [usize; 8] = [4, 8, 12, 16, 24, 32, 48, 64];
/// Where the rule looks: below, and from and to.
const LOW_BELOW: f64 = 810.0;
const HIGH: [f64; 2] = [4400.0, 8100.0];
/// Coils against each other have their treble so far above the rest.
pub(super) const RISE_DB: f64 = 18.0;

/// How well a difference is explained.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Fit {
    pub(super) chi2: f64,
    pub(super) degrees: usize,
    pub(super) p: f64,
    /// Twice the logarithm of its likelihood, negative, but for what all have: the squares, and what a wide forecast costs.
    score: f64,
}

/// What is set against another to explain a difference.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Cause {
    /// The later take is of one of these voices, by its group.
    Voice(usize),
    /// The first take is of one of these voices, by its group, and the later one as it is drawn.
    First(usize),
    /// Both throws do what the other one is to do.
    Swapped,
    /// The recording's gain was changed between the takes.
    Gain,
}

/// Voices that are not told apart, by their places among the candidates.
pub(super) type Group = Vec<usize>;

/// Two voices as they are drawn, and all that there are.
#[derive(Debug, Clone, Copy)]
pub(super) struct Drawn<'s> {
    pub(super) foretold: &'s Foretold,
    pub(super) groups: &'s [Group],
    /// The first voice among the candidates.
    pub(super) first: usize,
    /// The later one.
    pub(super) later: usize,
}

/// What a difference was weighed against.
#[derive(Debug, Clone)]
pub(super) struct Weighed {
    /// Every group with its fit, best first.
    pub(super) voices: Vec<(usize, Fit)>,
    /// The group that is drawn, and that of the first voice.
    pub(super) drawn: usize,
    pub(super) first: usize,
    /// The fit of what is drawn.
    pub(super) own: Fit,
    /// What explains the difference best.
    pub(super) best: (Cause, Fit),
    /// By how much what is drawn lags behind that.
    pub(super) lag: f64,
    /// How many more strums would tell the drawn voice from its nearest rival; nothing where no number would, or of notes.
    pub(super) more: Option<usize>,
    /// The drawn voice's nearest rival.
    pub(super) rival: Option<usize>,
    /// Whether strums were measured, and not single notes.
    pub(super) is_of_strums: bool,
    /// The level as it was measured.
    pub(super) measured_level: f64,
    /// The level as it is foretold of what is drawn, and its standard deviation.
    pub(super) level: f64,
    pub(super) level_sd: f64,
    /// The same of each band.
    pub(super) bands: Vec<(f64, f64)>,
    /// What the rule sees.
    pub(super) rule: Rule,
}

/// What lies below 800 Hz, and what above it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Rule {
    /// The level below 800 Hz as it was measured.
    pub(super) low: f64,
    /// As it is foretold of what is drawn.
    pub(super) foretold: f64,
    /// By how much the treble rises from there; nothing where it was not measured.
    pub(super) rise: Option<f64>,
    /// What that is by the rule.
    pub(super) seen: Seen,
}

/// What the level below 800 Hz is by the rule.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Seen {
    /// As it is drawn.
    AsDrawn,
    /// Both throws sound alike.
    NoChange,
    /// The other way round.
    Swapped,
    /// Coils sound against each other.
    OutOfPhase,
    /// None of these.
    Unclear,
}

impl Fit {
    /// Returns whether it explains what was measured at all.
    pub(super) fn is_one(&self) -> bool {
        self.chi2 < NO_FIT * self.degrees as f64
    }

    /// Returns whether chance alone makes takes of what it explains so far off often enough for it to be called consistent.
    pub(super) fn agrees(&self) -> bool {
        self.p >= AGREES
    }

    /// Returns by how much this lags behind `other`.
    pub(super) fn lag_behind(&self, other: &Self) -> f64 {
        self.score - other.score
    }
}

impl Drawn<'_> {
    /// Returns what `measured` is consistent with; nothing where the numbers allow no answer.
    pub(super) fn weigh(&self, measured: &Measured) -> Option<Weighed> {
        let difference = |first, later| self.foretold.difference(first, later, &measured.bands);
        let drawn_group = self.groups.iter().position(|group| group.contains(&self.later))?;
        let (mut voices, mut lows) = (Vec::new(), Vec::new());
        for (place, group) in self.groups.iter().enumerate() {
            let differences: Vec<Difference> =
                group.iter().map(|voice| difference(self.first, *voice)).collect();
            lows.push((low(measured, &differences[0].mean), self.foretold.is_reversed(group[0])));
            let fits = differences.iter().filter_map(|difference| fit(measured, difference, 0.0));
            let best = fits.min_by(|one, other| one.score.total_cmp(&other.score))?;
            voices.push((place, best));
        }
        voices.sort_by(|(_, one), (_, other)| one.score.total_cmp(&other.score));
        let own = voices.iter().find(|(place, _)| *place == drawn_group)?.1;
        let as_drawn = difference(self.first, self.later);
        let mut best = (Cause::Voice(voices[0].0), voices[0].1);
        let [level, level_sd] = level_of(&measured.shares, &as_drawn.mean, &as_drawn.covariance);
        let is_same = as_drawn.mean.iter().all(|level| *level == 0.0);
        let swapped = fit(measured, &difference(self.later, self.first), 0.0)?;
        if !is_same && swapped.score < best.1.score {
            best = (Cause::Swapped, swapped);
        }
        // The first sounding as the later one is to is told as both sounding alike.
        let is_another = |group: &Group| !group.contains(&self.first) && !group.contains(&self.later);
        for (place, group) in self.groups.iter().enumerate().filter(|(_, group)| is_another(group)) {
            let fits = group.iter().filter_map(|voice| fit(measured, &difference(*voice, self.later), 0.0));
            best = fits
                .map(|own| (Cause::First(place), own))
                .fold(best, |best, own| if own.1.score < best.1.score { own } else { best });
        }
        if measured.strums.is_some() {
            let gain = fit(measured, &as_drawn, GAIN_DB)?;
            let off = (measured.level - level).abs() / measured.level_sd.hypot(level_sd);
            if off > GAIN_DEVIATIONS && gain.is_one() && gain.score + GAIN_WORTH < best.1.score {
                best = (Cause::Gain, gain);
            }
        }
        let rival = voices.iter().map(|(place, _)| *place).find(|place| *place != drawn_group);
        let more = rival.and_then(|rival| self.more(measured, &as_drawn, rival));
        let bands = (0..measured.bands.len()).map(|i| (as_drawn.mean[i], as_drawn.covariance[(i, i)].sqrt()));
        Some(Weighed {
            drawn: drawn_group,
            first: self.groups.iter().position(|group| group.contains(&self.first))?,
            is_of_strums: measured.strums.is_some(),
            measured_level: measured.level,
            own,
            best,
            lag: own.lag_behind(&best.1),
            more,
            rival,
            level,
            level_sd,
            bands: bands.collect(),
            rule: Rule::of(
                measured,
                low(measured, &as_drawn.mean),
                &lows,
                self.foretold.is_reversed(self.later),
            ),
            voices,
        })
    }

    /// Returns how many more strums would tell what is drawn from the group `rival`.
    fn more(&self, measured: &Measured, as_drawn: &Difference, rival: usize) -> Option<usize> {
        let strums = measured.strums? as f64;
        let other = self.foretold.difference(self.first, *self.groups[rival].first()?, &measured.bands);
        let apart = &as_drawn.mean - &other.mean;
        let tells = |more: &usize| {
            let covariance = &measured.covariance * (strums / (strums + *more as f64)) + &as_drawn.covariance;
            covariance.cholesky().is_some_and(|root| apart.dot(&root.solve(&apart)) > TELLS)
        };
        MORE.into_iter().find(tells)
    }
}

fn fit(measured: &Measured, difference: &Difference, gain_db: f64) -> Option<Fit> {
    let count = measured.bands.len();
    let together = DMatrix::from_element(count, count, gain_db * gain_db);
    let covariance = &measured.covariance + &difference.covariance + together;
    let root = covariance.cholesky()?;
    let off = &measured.mean - &difference.mean;
    let chi2 = off.dot(&root.solve(&off));
    let log_of_determinant = 2.0 * root.l_dirty().diagonal().iter().map(|own| own.ln()).sum::<f64>();
    Some(Fit { chi2, degrees: count, p: above(chi2, count), score: chi2 + log_of_determinant })
}

/// Returns the level of what lies below 800 Hz, or of the lowest band where nothing does.
fn low(measured: &Measured, levels: &DVector<f64>) -> f64 {
    let is_low = |i: &usize| *i == 0 || centre(measured.bands[*i]).value() < LOW_BELOW;
    let (mut before, mut after) = (0.0, 0.0);
    for i in (0..measured.bands.len()).filter(is_low) {
        before += measured.shares[i];
        after += measured.shares[i] * 10f64.powf(levels[i] / 10.0);
    }
    10.0 * (after / before).log10()
}

impl Rule {
    /// Returns what `measured` is by the rule: its level below 800 Hz lies nearest to what is drawn, to none, to the opposite, or to
    /// coils against each other, each voice's own level being in `lows`.
    fn of(measured: &Measured, foretold: f64, lows: &[(f64, bool)], drawn_reversed: bool) -> Self {
        let level = low(measured, &measured.mean);
        let high: Vec<f64> = (0..measured.bands.len())
            .filter(|i| (HIGH[0]..HIGH[1]).contains(&centre(measured.bands[*i]).value()))
            .map(|i| measured.mean[i])
            .collect();
        let rise = (!high.is_empty()).then(|| high.iter().sum::<f64>() / high.len() as f64 - level);
        let reversed = lows.iter().filter(|(_, is_reversed)| *is_reversed && !drawn_reversed);
        let reversed = reversed.map(|(low, _)| *low).reduce(f64::max);
        // The first of those that are equally far is taken.
        let seen = [
            (Seen::AsDrawn, (foretold - level).abs()),
            (Seen::NoChange, level.abs()),
            (Seen::Swapped, (foretold + level).abs()),
            (Seen::OutOfPhase, reversed.map_or(f64::INFINITY, |low| (level - low).max(0.0))),
        ];
        let nearest = seen.into_iter().min_by(|(_, one), (_, other)| one.total_cmp(other));
        let seen = match nearest {
            Some((Seen::OutOfPhase, _)) if rise.is_none_or(|rise| rise <= RISE_DB) => Seen::Unclear,
            Some((seen, _)) => seen,
            None => Seen::Unclear,
        };
        Self { low: level, foretold, rise, seen }
    }
}
