//! The statistics of a blind comparison: a listener says in each of n trials which of two sounds X was.
//!
//! Somebody who hears no difference is right in each trial with probability one half. The number of trials is fixed
//! beforehand; looking at the result and going on until it pleases makes the figures below untrue.
//!
//! # Source
//! The one-sided exact binomial test, R. A. Fisher, *The Design of Experiments*, 1935, chapter II; its use with ABX:
//! D. Clark, "High-resolution subjective testing using a double-blind comparator", JAES 30(5), 1982 (both from
//! memory).

/// The most trials for which figures are given; their binomials are whole numbers below 2¹⁰¹.
pub const MOST_TRIALS: u32 = 100;
/// The trials of a run where no other number is asked for: more tell smaller differences.
pub const USUAL_TRIALS: u32 = 16;

/// The level at which a difference counts as heard: chance alone reaches it in at most one run of twenty.
pub const LEVEL: f64 = 0.05;

/// A run of a fixed number of trials.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Run {
    trials: u32,
}

/// A number of trials that no run has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("{given} trials; a blind comparison has 1 to {MOST_TRIALS}")]
pub struct TrialsError {
    /// The number as given.
    pub given: u32,
}

impl Run {
    /// Returns a run of `trials` trials, 1 to [`MOST_TRIALS`].
    ///
    /// # Errors
    /// [`TrialsError`] for any other number.
    pub fn new(trials: u32) -> Result<Self, TrialsError> {
        if (1..=MOST_TRIALS).contains(&trials) {
            Ok(Self { trials })
        } else {
            Err(TrialsError { given: trials })
        }
    }

    /// Returns the number of trials.
    pub fn trials(self) -> u32 {
        self.trials
    }

    /// Returns the probability of at least `right` right answers by guessing alone: the p value of that result.
    pub fn p_value(self, right: u32) -> f64 {
        let ways: u128 = (right..=self.trials).map(|k| binomial(self.trials, k)).sum();
        ways as f64 / 2f64.powi(self.trials.cast_signed())
    }

    /// Returns the least number of right answers that counts as a difference heard at [`LEVEL`], or `None` where even
    /// all of them could be chance.
    pub fn needed(self) -> Option<u32> {
        (0..=self.trials).find(|right| self.p_value(*right) <= LEVEL)
    }

    /// Returns whether `right` right answers count as a difference heard.
    pub fn is_heard(self, right: u32) -> bool {
        self.p_value(right) <= LEVEL
    }

    /// Returns how often guessing alone reaches [`Run::needed`], at most [`LEVEL`]; zero where nothing can.
    pub fn chance(self) -> f64 {
        self.needed().map_or(0.0, |needed| self.p_value(needed))
    }
}

/// Returns the number of ways to choose `k` of `n`, exactly.
fn binomial(n: u32, k: u32) -> u128 {
    // Each step's product is a binomial times its divisor, so the division leaves no rest.
    (0..u128::from(k.min(n - k))).fold(1, |ways, i| ways * (u128::from(n) - i) / (i + 1))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(trials: u32) -> Run {
        Run::new(trials).unwrap()
    }

    /// The tails by hand: C(8,7) + C(8,8) = 9 of 256; C(10,8) + C(10,9) + C(10,10) = 56 of 1024.
    #[test]
    fn a_p_value_is_the_exact_binomial_tail() {
        assert_eq!(run(8).p_value(7), 9.0 / 256.0);
        assert_eq!(run(10).p_value(8), 56.0 / 1024.0);
        assert_eq!(run(16).p_value(12), 2517.0 / 65536.0);
        for trials in [1, 5, 30, MOST_TRIALS] {
            assert_eq!(run(trials).p_value(0), 1.0);
            assert_eq!(run(trials).p_value(trials + 1), 0.0);
            assert_eq!(run(trials).p_value(trials), 0.5f64.powi(trials.cast_signed()));
        }
    }

    /// Exact binomials; published tables are often off by one (8 of 10 is p = 0.0547 and does not suffice).
    #[test]
    fn what_is_needed_and_how_often_chance_reaches_it_are_the_exact_values() {
        for (trials, needed, percent) in
            [(10, 9, 1.07), (12, 10, 1.93), (16, 12, 3.84), (20, 15, 2.07), (25, 18, 2.16), (30, 20, 4.94)]
        {
            assert_eq!(run(trials).needed(), Some(needed), "{trials}");
            assert!(
                (100.0 * run(trials).chance() - percent).abs() < 0.005,
                "{trials}: {}",
                run(trials).chance()
            );
            assert!(run(trials).is_heard(needed) && !run(trials).is_heard(needed - 1));
        }
    }

    #[test]
    fn a_run_too_short_to_show_anything_says_so() {
        assert_eq!((run(4).needed(), run(4).chance()), (None, 0.0));
        assert_eq!(run(5).needed(), Some(5));
    }

    #[test]
    fn a_number_of_trials_outside_one_to_a_hundred_is_refused() {
        for given in [0, 101, u32::MAX] {
            assert_eq!(
                Run::new(given).unwrap_err().to_string(),
                format!("{given} trials; a blind comparison has 1 to 100")
            );
        }
    }
}
