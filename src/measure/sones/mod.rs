//! Loudness as a listener would tell it, in sones: twice as many are twice as loud.
//!
//! # Source
//! ISO 532-1:2017, the method for stationary sounds, free field, from third-octave levels. The specific loudness of
//! each critical band spreads upwards along slopes, and loudness is the area below; the constants stand in a file of their own.

mod tables;

pub use tables::SONE_BANDS;

use tables::{
    BANDWIDTH, CRITICAL_BANDS, LOW_BANDS, LOW_CRITICAL, LOW_RANGES, LOW_WEIGHTS, SLOPE_RANGES, SLOPES,
    THRESHOLD, TRANSMISSION, UPPER_ENDS,
};

use crate::quantity::{Db, DbSpl, Dbfs, Sones};

/// Returns the loudness of a stationary sound in a free field, from the levels of its third octaves from 25 Hz to
/// 12.5 kHz.
///
/// The standard weights the bands up to 250 Hz for levels up to 120 dB; louder ones are weighted like those.
pub fn sones(levels: &[DbSpl; SONE_BANDS]) -> Sones {
    Sones::new(area_below(&main_loudness(levels)))
}

/// Returns the loudness of a sound whose third octaves, from 25 Hz up, have the levels of `spectrum`, where full scale is played as
/// `full_scale`.
///
/// Bands that are not there, above half a low rate, are silent. The powers of `spectrum` are those of ideal bands; the
/// filters of the standard let a little of a neighbour through.
pub fn sones_of(spectrum: &[Dbfs], full_scale: DbSpl) -> Sones {
    let mut levels = [DbSpl::new(f64::NEG_INFINITY); SONE_BANDS];
    for (level, band) in levels.iter_mut().zip(spectrum) {
        *level = full_scale + (*band - Dbfs::new(0.0));
    }
    sones(&levels)
}

/// The listening levels over which a change of loudness is told as a range: quiet to loud. A convention.
const LISTENED: [f64; 6] = [60.0, 65.0, 70.0, 75.0, 80.0, 85.0];

/// Returns how much louder a sound of `own` spectrum is to a listener than another, in percent, negative where it is less loud,
/// where the other, of RMS level `rms`, is listened to at `level`; nothing where that cannot be told.
pub fn heard_change(own: &[Dbfs], (other, rms): (&[Dbfs], Dbfs), level: DbSpl) -> Option<f64> {
    // What the other's level is played as says what full scale is.
    let full_scale = DbSpl::new(level.value() - rms.value());
    let [own, other] = [own, other].map(|spectrum| sones_of(spectrum, full_scale).value());
    let change = (own / other - 1.0) * 100.0;
    change.is_finite().then_some(change)
}

/// Returns the least and the most of [`heard_change`] over usual listening levels, 60 to 85 dB.
pub fn heard_change_over_levels(own: &[Dbfs], other: (&[Dbfs], Dbfs)) -> Option<[f64; 2]> {
    let all = LISTENED.iter().map(|level| heard_change(own, other, DbSpl::new(*level)));
    let all: Vec<f64> = all.collect::<Option<_>>()?;
    Some([all.iter().copied().fold(f64::MAX, f64::min), all.iter().copied().fold(f64::MIN, f64::max)])
}

/// Returns the specific loudness of each critical band, and the nothing above the last.
fn main_loudness(levels: &[DbSpl; SONE_BANDS]) -> [f64; CRITICAL_BANDS + 1] {
    let mut excitation = [0.0; CRITICAL_BANDS];
    for (level, bands) in excitation.iter_mut().zip(LOW_CRITICAL) {
        let power: f64 = bands.map(|band| 10f64.powf(weighted(levels[band].value(), band) / 10.0)).sum();
        *level = Db::of_power(power).value();
    }
    for (level, band) in excitation[LOW_CRITICAL.len()..].iter_mut().zip(&levels[LOW_BANDS..]) {
        *level = band.value();
    }
    let mut specific = [0.0; CRITICAL_BANDS + 1];
    for (band, level) in excitation.into_iter().enumerate() {
        let level = level - TRANSMISSION[band];
        if level > THRESHOLD[band] {
            // A share s of the threshold is the ear's own noise.
            let s = 0.25;
            let above = 10f64.powf(0.1 * (level - BANDWIDTH[band] - THRESHOLD[band]));
            let loudness =
                0.0635 * 10f64.powf(0.025 * THRESHOLD[band]) * ((1.0 - s + s * above).powf(0.25) - 1.0);
            specific[band] = loudness.max(0.0);
        }
    }
    // The threshold changes within the lowest critical band.
    specific[0] *= (0.4 + 0.32 * specific[0].powf(0.2)).min(1.0);
    specific
}

/// Returns the level of a low band with its weight, in dB.
fn weighted(level: f64, band: usize) -> f64 {
    let range =
        LOW_RANGES.iter().zip(&LOW_WEIGHTS).position(|(up_to, weights)| level <= up_to - weights[band]);
    level + LOW_WEIGHTS[range.unwrap_or(LOW_WEIGHTS.len() - 1)][band]
}

/// Returns the area below the specific loudness, in sones, with the slopes that fall from a band into those above.
fn area_below(specific: &[f64; CRITICAL_BANDS + 1]) -> f64 {
    let (mut area, mut from, mut height) = (0.0, 0.0, 0.0);
    for (band, (&own, end)) in specific.iter().zip(UPPER_ENDS).enumerate() {
        let column = band.saturating_sub(1).min(SLOPES[0].len() - 1);
        // The slope of the band below is followed, piece by piece, until it meets the band's own loudness.
        while height > own && from < end {
            let range = range_below(height);
            let slope = SLOPES[range][column];
            let bottom = SLOPE_RANGES[range].max(own);
            let width = ((height - bottom) / slope).min(end - from);
            let low = if width < end - from { bottom } else { height - width * slope };
            area += width * (height + low) / 2.0;
            from = if width < end - from { from + width } else { end };
            height = low;
        }
        if from < end {
            area += own * (end - from);
            (from, height) = (end, own);
        }
    }
    area
}

/// Returns the range of slopes that a specific loudness falls through next.
fn range_below(height: f64) -> usize {
    SLOPE_RANGES.iter().position(|down_to| height > *down_to).unwrap_or(SLOPE_RANGES.len() - 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(levels: [f64; SONE_BANDS]) -> f64 {
        sones(&levels.map(DbSpl::new)).value()
    }

    /// The exact mid-frequency of a band, IEC 61260-1:2014.
    fn centre(band: usize) -> f64 {
        1000.0 * 10f64.powf((band as f64 - 16.0) / 10.0)
    }

    /// Returns the band levels of a tone through the standard's filters, of the sixth order: Butterworth band passes.
    fn tone(frequency: f64, level: f64) -> [f64; SONE_BANDS] {
        std::array::from_fn(|band| {
            let detuned = frequency / centre(band) - centre(band) / frequency;
            let detuned = detuned / (10f64.powf(0.05) - 10f64.powf(-0.05));
            level - 10.0 * (1.0 + detuned.powi(6)).log10()
        })
    }

    /// Within 5 % or 0.1 sone, as ISO 532-1:2017 asks of an implementation.
    fn is_within_the_standards_tolerance(own: f64, published: f64) -> bool {
        (own - published).abs() <= (0.05 * published).max(0.1)
    }

    #[test]
    fn the_standards_own_signals_have_their_published_loudness() {
        // ISO 532-1:2017, annex B.2 and B.3: test signals 1 to 5. The pink noise is a sound file whose 60 dB are those of
        // all it holds, much of it below 22 Hz: its third octaves, read off the file by a transform, lie some 17 dB lower.
        let levels = [
            -60.0, -60.0, 78.0, 79.0, 89.0, 72.0, 80.0, 89.0, 75.0, 87.0, 85.0, 79.0, 86.0, 80.0, 71.0, 70.0,
            72.0, 71.0, 72.0, 74.0, 69.0, 65.0, 67.0, 77.0, 68.0, 58.0, 45.0, 30.0,
        ];
        let pink = [
            17.84, 17.10, 17.24, 17.71, 17.61, 17.48, 16.54, 17.49, 17.14, 17.20, 17.15, 17.28, 17.25, 17.17,
            17.00, 17.28, 17.38, 17.28, 17.36, 17.31, 17.35, 17.30, 17.21, 17.26, 17.22, 17.31, 17.25, 17.28,
        ]
        .map(|below| 60.0 - below);
        for (what, levels, published) in [
            ("machine", levels, 83.296),
            ("250 Hz", tone(250.0, 80.0), 14.655),
            ("1 kHz", tone(1000.0, 60.0), 4.019),
            ("4 kHz", tone(4000.0, 40.0), 1.549),
            ("pink noise", pink, 10.498),
        ] {
            let own = of(levels);
            assert!(is_within_the_standards_tolerance(own, published), "{what}: {own} for {published}");
        }
        // Given as levels, the first needs no filter: it agrees to the digits that are published.
        assert!((of(levels) - 83.296).abs() < 0.005);
    }

    #[test]
    fn what_is_louder_in_a_band_is_not_less_loud() {
        for band in 0..SONE_BANDS {
            let mut last = 0.0;
            for step in 0..480 {
                let mut levels = [40.0; SONE_BANDS];
                levels[band] = f64::from(step) * 0.25;
                let now = of(levels);
                assert!(now >= last - 1e-9, "band {band} at {} dB: {now} after {last}", levels[band]);
                last = now;
            }
        }
    }

    #[test]
    fn ten_phon_more_are_twice_as_loud() {
        // S. S. Stevens' rule, which holds above 40 phon.
        for level in [50.0, 60.0, 70.0, 80.0] {
            let ratio = of(tone(1000.0, level + 10.0)) / of(tone(1000.0, level));
            assert!((ratio - 2.0).abs() < 0.1, "{ratio} at {level} dB");
        }
    }

    #[test]
    fn what_cannot_be_heard_has_no_loudness() {
        assert_eq!(of([f64::NEG_INFINITY; SONE_BANDS]), 0.0);
        assert_eq!(of([-60.0; SONE_BANDS]), 0.0);
    }
}
