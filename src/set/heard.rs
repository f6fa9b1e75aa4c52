//! How loud takes are to a listener, against the baseline.

use std::ops::RangeInclusive;

use super::listener::Spectrum;
use crate::measure::sones_of;
use crate::quantity::{DbSpl, Dbfs, Sones};
use crate::report::{SetFigures, finite};

/// The sound pressure level at which the baseline's as-is file is taken to be heard unless another is asked for. A
/// convention.
pub const LISTENING_LEVEL: DbSpl = DbSpl::new(75.0);
/// The levels that may be asked for: from a quiet room to what harms ears within minutes.
pub const LISTENING_LEVELS: RangeInclusive<DbSpl> = DbSpl::new(40.0)..=DbSpl::new(100.0);

/// The listening levels over which a drop is told as a range: quiet to loud. A convention.
const SPAN: [f64; 6] = [60.0, 65.0, 70.0, 75.0, 80.0, 85.0];

/// How loud a take is to a listener.
pub(super) struct Heard {
    pub(super) sones: Option<f64>,
    /// Against the baseline, in percent more.
    pub(super) percent: Option<f64>,
    /// The least and the most of that over the listening levels.
    pub(super) percent_over_levels: Option<[f64; 2]>,
}

/// Adds to `figures` how loud takes are.
pub(super) fn tell_loudness(figures: &mut SetFigures, heard: &[Heard]) {
    for (arrangement, heard) in figures.arrangements.iter_mut().zip(heard) {
        arrangement.loudness_sone = heard.sones;
        arrangement.drop_heard_percent = heard.percent;
        arrangement.drop_heard_percent_60_to_85 = heard.percent_over_levels;
    }
}

/// Returns how loud takes of `spectra` are where the baseline, of RMS level `own`, is listened to at `level`; nothing where it
/// is silent.
pub(super) fn heard(spectra: &[Spectrum], baseline: usize, own: Dbfs, level: DbSpl) -> Vec<Heard> {
    if !own.value().is_finite() {
        return Vec::new();
    }
    let at = |take: usize, level: f64| {
        // What the baseline's level is played as says what full scale is.
        sones_of(&spectra[take], DbSpl::new(level - own.value()))
    };
    let against = |take: usize, level: f64| percent(at(take, level), at(baseline, level));
    let of = |take: usize| {
        let over: Option<Vec<f64>> = SPAN.iter().map(|level| against(take, *level)).collect();
        let ends = |all: Vec<f64>| {
            [all.iter().copied().fold(f64::MAX, f64::min), all.iter().copied().fold(f64::MIN, f64::max)]
        };
        Heard {
            sones: finite(at(take, level.value()).value()),
            percent: against(take, level.value()),
            percent_over_levels: over.map(ends),
        }
    };
    (0..spectra.len()).map(of).collect()
}

/// Returns how much louder one is than the other, in percent: negative where it is less loud.
fn percent(own: Sones, other: Sones) -> Option<f64> {
    finite((own.value() / other.value() - 1.0) * 100.0)
}
