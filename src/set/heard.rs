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

/// Adds to `figures` how loud takes of `spectra` are where the baseline, of RMS level `own`, is listened to at `level`;
/// nothing where it is silent.
pub(super) fn tell_loudness(
    figures: &mut SetFigures,
    spectra: &[Spectrum],
    baseline: usize,
    own: Dbfs,
    level: DbSpl,
) {
    if !own.value().is_finite() {
        return;
    }
    let at = |take: usize, level: f64| {
        // What the baseline's level is played as says what full scale is.
        sones_of(&spectra[take], DbSpl::new(level - own.value()))
    };
    let against = |take: usize, level: f64| percent(at(take, level), at(baseline, level));
    for (take, arrangement) in figures.arrangements.iter_mut().enumerate() {
        arrangement.loudness_sone = finite(at(take, level.value()).value());
        arrangement.drop_heard_percent = against(take, level.value());
        let over: Option<Vec<f64>> = SPAN.iter().map(|level| against(take, *level)).collect();
        let ends = |all: Vec<f64>| {
            [all.iter().copied().fold(f64::MAX, f64::min), all.iter().copied().fold(f64::MIN, f64::max)]
        };
        arrangement.drop_heard_percent_60_to_85 = over.map(ends);
    }
}

/// Returns how much louder one is than the other, in percent: negative where it is less loud.
fn percent(own: Sones, other: Sones) -> Option<f64> {
    finite((own.value() / other.value() - 1.0) * 100.0)
}
