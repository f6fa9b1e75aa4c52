//! How loud takes are to a listener, against the baseline.

use std::ops::RangeInclusive;

use super::listener::Spectrum;
use crate::measure::{ThirdOctave, heard_change, heard_change_over_levels, sones_of};
use crate::quantity::{DbSpl, Dbfs};
use crate::report::{SetFigures, finite};

/// The sound pressure level at which the baseline's as-is file is taken to be heard unless another is asked for. A
/// convention.
pub const LISTENING_LEVEL: DbSpl = DbSpl::new(75.0);
/// The levels that may be asked for: from a quiet room to what harms ears within minutes.
pub const LISTENING_LEVELS: RangeInclusive<DbSpl> = DbSpl::new(40.0)..=DbSpl::new(100.0);

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
    let spectra: Vec<Vec<Dbfs>> =
        spectra.iter().map(|spectrum| spectrum.iter().map(ThirdOctave::level).collect()).collect();
    let against = (&*spectra[baseline], own);
    // What the baseline's level is played as says what full scale is.
    let full_scale = DbSpl::new(level.value() - own.value());
    let of = |take: &Vec<Dbfs>| Heard {
        sones: finite(sones_of(take, full_scale).value()),
        percent: heard_change(take, against, level),
        percent_over_levels: heard_change_over_levels(take, against),
    };
    spectra.iter().map(of).collect()
}
