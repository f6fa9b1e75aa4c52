//! The gains of a set: one for all files at their true levels, one for each at matched level.

use crate::measure::Levels;
use crate::quantity::{Db, DbTp, Dbfs};

/// What files are matched by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MatchBy {
    /// Integrated loudness.
    Loudness,
    /// RMS.
    Rms,
}

/// Why the files of a set are not matched as asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shortfall {
    /// Every take is silent, and nothing is matched.
    Silent,
    /// The source is shorter than an integrated loudness needs; matched by RMS.
    TooShort,
    /// Too little of some take passes the gates of integrated loudness; matched by RMS.
    TooQuiet,
}

/// The highest true peak written.
///
/// A meter by EBU Tech 3341 may read up to 0.2 dB too high; below this none reads above −1 dBTP.
pub const CEILING: DbTp = DbTp::new(-1.2);

/// A take that would need more than this to match is too near silence to be matched.
pub const MOST_GAIN: Db = Db::new(60.0);
/// A take whose RMS is below this is silent: nothing but rounding is left of it.
pub const SILENT: Dbfs = Dbfs::new(-140.0);

/// The gains of a set.
#[derive(Debug, Clone, PartialEq)]
pub struct Gains {
    /// The one gain of all files at their true levels.
    pub as_is: Db,
    /// Each take's gain at matched level, in the order of the takes; that of the true level where it cannot be
    /// matched.
    pub matched: Vec<Db>,
    /// Whether each take could be matched.
    pub is_matched: Vec<bool>,
    /// What the files are matched by in the end, where any is.
    pub by: MatchBy,
    /// Why they are not matched as asked, where they are not.
    pub shortfall: Option<Shortfall>,
    /// What else had to be done otherwise than asked, in words.
    pub remarks: Vec<String>,
}

impl Gains {
    /// Returns what the files are matched by, or nothing where all are silent.
    pub fn matched_by(&self) -> Option<MatchBy> {
        self.is_matched.contains(&true).then_some(self.by)
    }

    /// Returns the take that the others are brought to: the baseline, or the first that sounds where it does not; nothing where
    /// none sounds.
    pub fn leader(levels: &[Levels], baseline: usize) -> Option<usize> {
        leader(&silent(levels), baseline)
    }

    /// Returns the gains for takes of these `levels` before any gain, matched `by` loudness or RMS.
    ///
    /// True levels are the source's own, lowered for all alike where the loudest peak needs it. The matched level is
    /// that of the baseline at its true level, lowered where some other take's peak needs it.
    pub fn of(names: &[&str], levels: &[Levels], baseline: usize, by: MatchBy) -> Self {
        Self::from(names, levels, &silent(levels), baseline, by, Db::new(0.0))
    }

    /// Returns the gains for the same takes behind an amplifier, where they have these `amplified` levels, and had those of
    /// `before` without it.
    ///
    /// At its true level the baseline is as loud as it is without the amplifier, or has the same RMS where it has no loudness;
    /// all others have its gain, lowered for all alike where the loudest peak needs it. An amplified sound is denser: at the same
    /// peak it would be many decibels louder.
    #[must_use]
    pub fn amplified(
        &self,
        names: &[&str],
        amplified: &[Levels],
        before: &[Levels],
        baseline: usize,
        by: MatchBy,
    ) -> Self {
        let silent = silent(before);
        let leader = leader(&silent, baseline).unwrap_or(baseline);
        let (own, wanted) = (&amplified[leader], &before[leader]);
        let gain = gain_to_leader(own, wanted, self.as_is, MatchBy::Loudness)
            .or_else(|| gain_to_leader(own, wanted, self.as_is, MatchBy::Rms))
            .filter(|gain| gain.value().is_finite());
        Self::from(names, amplified, &silent, baseline, by, gain.unwrap_or(Db::new(0.0)))
    }

    fn from(
        names: &[&str],
        levels: &[Levels],
        silent: &[bool],
        baseline: usize,
        by: MatchBy,
        wanted: Db,
    ) -> Self {
        let loudest = CEILING + -wanted;
        let highest = levels.iter().map(Levels::true_peak).fold(loudest, |a, b| if b > a { b } else { a });
        let as_is = CEILING - highest;
        let Some(leader) = leader(silent, baseline) else {
            return Self {
                as_is,
                matched: vec![as_is; levels.len()],
                is_matched: vec![false; levels.len()],
                by,
                shortfall: Some(Shortfall::Silent),
                remarks: Vec::new(),
            };
        };
        let told = names.iter().zip(silent).filter(|(_, silent)| **silent);
        let remarks =
            told.map(|(name, _)| format!("{name} is silent with this source and stays so")).collect();
        let shortfall = match by {
            MatchBy::Loudness if levels[leader].loudness().is_too_short() => Some(Shortfall::TooShort),
            MatchBy::Loudness if !all_have_loudness(levels, silent, leader, as_is) => {
                Some(Shortfall::TooQuiet)
            }
            MatchBy::Loudness | MatchBy::Rms => None,
        };
        let by = if shortfall.is_some() { MatchBy::Rms } else { by };
        let mut gains = Self { as_is, matched: Vec::new(), is_matched: Vec::new(), by, shortfall, remarks };
        gains.match_to(names, levels, silent, leader);
        gains
    }

    fn match_to(&mut self, names: &[&str], levels: &[Levels], silent: &[bool], leader: usize) {
        let own = |i: usize, lowered: Db| {
            gain_to_leader(&levels[i], &levels[leader], self.as_is - lowered, self.by)
        };
        let mut lowered = Db::new(0.0);
        // Lowering the target can only lower the gains, by at least as much; a few rounds settle it.
        for _ in 0..8 {
            let excess = (0..levels.len())
                .filter(|i| !silent[*i])
                .filter_map(|i| {
                    own(i, lowered).filter(|g| *g <= MOST_GAIN).map(|g| levels[i].true_peak() + g - CEILING)
                })
                .fold(Db::new(0.0), |a, b| if b > a { b } else { a });
            if excess.value() <= 0.0 {
                break;
            }
            lowered = lowered + excess;
        }
        for (i, name) in names.iter().enumerate() {
            let gain = if silent[i] { None } else { own(i, lowered) };
            let fits = |g: &Db| *g <= MOST_GAIN && levels[i].true_peak() + *g <= CEILING + Db::new(1e-9);
            if let Some(too_much) = gain.filter(|g| !fits(g)) {
                self.remarks.push(format!(
                    "{name} would need {too_much} to match, more than {MOST_GAIN}; it stays at its true level"
                ));
            }
            let gain = gain.filter(fits);
            self.is_matched.push(gain.is_some());
            self.matched.push(gain.unwrap_or(self.as_is));
        }
    }
}

/// Returns which takes are silent.
fn silent(levels: &[Levels]) -> Vec<bool> {
    levels.iter().map(|l| l.rms() < SILENT).collect()
}

/// Returns the take that the others are brought to: the baseline, or the first that sounds where it does not.
fn leader(silent: &[bool], baseline: usize) -> Option<usize> {
    if silent[baseline] { silent.iter().position(|s| !s) } else { Some(baseline) }
}

fn all_have_loudness(levels: &[Levels], silent: &[bool], leader: usize, as_is: Db) -> bool {
    let sounding = levels.iter().zip(silent).filter(|(_, silent)| !**silent);
    sounding.clone().count() > 0
        && sounding
            .clone()
            .all(|(l, _)| gain_to_leader(l, &levels[leader], as_is, MatchBy::Loudness).is_some())
}

/// Returns the gain that brings `levels` to where `leader` is after `gain`.
fn gain_to_leader(levels: &Levels, leader: &Levels, gain: Db, by: MatchBy) -> Option<Db> {
    match by {
        MatchBy::Loudness => levels.loudness().gain_for(leader.loudness().with_gain(gain)?),
        MatchBy::Rms => Some(leader.rms() + gain - levels.rms()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::Meter;

    fn tone(amplitude: f64) -> Levels {
        let samples: Vec<f64> = (0..48_000).map(|n| amplitude * (0.13 * f64::from(n)).sin()).collect();
        let mut meter = Meter::new(48_000, 1).unwrap();
        meter.push(&[&samples]).unwrap();
        meter.finish().levels
    }

    #[test]
    fn where_the_baseline_is_silent_the_first_that_sounds_leads() {
        let gains = Gains::of(&["a", "b", "c"], &[tone(0.0), tone(0.1), tone(0.2)], 0, MatchBy::Rms);
        assert_eq!(gains.is_matched, [false, true, true]);
        assert!(((gains.matched[1] - gains.matched[2]).value() - 20.0 * 2f64.log10()).abs() < 1e-3);
        assert_eq!(gains.remarks, ["a is silent with this source and stays so"]);
    }

    #[test]
    fn what_is_all_but_silent_stays_at_its_true_level_and_what_is_only_quiet_is_matched() {
        // 80 and 40 dB below the baseline.
        let gains = Gains::of(&["a", "b", "c"], &[tone(0.5), tone(5e-5), tone(5e-3)], 0, MatchBy::Rms);
        assert_eq!(gains.is_matched, [true, false, true]);
        assert_eq!(gains.matched[1], gains.as_is);
        assert!((gains.matched[2] - gains.matched[0]).value() > 39.9);
        assert!(gains.remarks[0].starts_with("b would need 80"), "{:?}", gains.remarks);
    }
}
