//! What most draws lie within.

use serde::{Deserialize, Serialize};

/// The share of the draws below a band, and above it.
const OUTSIDE: f64 = 0.05;

/// From where to where nine draws in ten lie.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Band {
    /// The 5 % quantile.
    pub low: f64,
    /// The 95 % quantile.
    pub high: f64,
}

impl Band {
    /// Returns the band of `values`, or `None` where fewer than half of `draws` have one: there is then nothing to
    /// tell.
    pub(super) fn of(mut values: Vec<f64>, draws: usize) -> Option<Self> {
        values.retain(|value| value.is_finite());
        if values.is_empty() || 2 * values.len() < draws {
            return None;
        }
        values.sort_by(f64::total_cmp);
        Some(Self { low: quantile(&values, OUTSIDE), high: quantile(&values, 1.0 - OUTSIDE) })
    }
}

/// Returns the quantile of sorted values, between neighbours in proportion.
///
/// # Source
/// R. J. Hyndman, Y. Fan, "Sample quantiles in statistical packages", The American Statistician 50(4), 1996, type 7.
pub(super) fn quantile(sorted: &[f64], share: f64) -> f64 {
    let place = share * (sorted.len() - 1) as f64;
    let below = place.floor();
    // A share from 0 to 1 of a length in memory.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to the last index")]
    let at = below as usize;
    let above = sorted[(at + 1).min(sorted.len() - 1)];
    sorted[at] + (above - sorted[at]) * (place - below)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_band_is_from_the_fifth_to_the_ninety_fifth_hundredth() {
        let values: Vec<f64> = (0..=100).rev().map(f64::from).collect();
        assert_eq!(Band::of(values, 101), Some(Band { low: 5.0, high: 95.0 }));
        assert_eq!(Band::of(vec![1.0, 2.0], 2), Some(Band { low: 1.05, high: 1.95 }));
    }

    #[test]
    fn what_less_than_half_of_the_draws_have_has_no_band() {
        assert_eq!(Band::of(vec![1.0, f64::NAN], 3), None);
        assert_eq!(Band::of(Vec::new(), 0), None);
    }
}
