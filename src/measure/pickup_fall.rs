//! Whether a recording looks as if it went through a pickup and its cable.
//!
//! Such a circuit lets through less and less above its resonance, by 12 dB an octave on top of what strings lose by themselves;
//! and what is left above 8 kHz is little. The limits are a convention of this program's, set between recordings of both kinds:
//! plucked strings by themselves fall by up to 22 dB over an octave from 3 to 6 kHz, a low string let ring the most.

use crate::quantity::{Db, Hertz};

/// Where a fall begins that a pickup's resonance makes.
const FALL_FROM: [f64; 2] = [3000.0, 6500.0];
/// The least fall over an octave.
const LEAST_FALL: Db = Db::new(26.0);
/// What lies above is compared with what lies between those.
const ABOVE: f64 = 7500.0;
const BODY: [f64; 2] = [950.0, 4200.0];
/// The least by which it is lower.
const LEAST_LOWER: Db = Db::new(35.0);

/// Returns whether a long-term spectrum, third octaves by rising frequency each with its level, looks so; never where it does not
/// reach 12 kHz.
pub fn looks_as_through_a_pickup(bands: &[(Hertz, Db)]) -> bool {
    let levels = |within: &dyn Fn(f64) -> bool| {
        bands.iter().filter(|(f, _)| within(f.value())).map(|(_, level)| level.value()).collect::<Vec<f64>>()
    };
    let highest = |levels: Vec<f64>| levels.into_iter().fold(f64::NEG_INFINITY, f64::max);
    let body = highest(levels(&|f| (BODY[0]..=BODY[1]).contains(&f)));
    let above = highest(levels(&|f| f >= ABOVE));
    let reaches = bands.iter().any(|(f, _)| f.value() > 12_000.0);
    // An octave is three third octaves.
    let falls = bands.windows(4).any(|four| {
        let (from, to) = (four[0], four[3]);
        (FALL_FROM[0]..=FALL_FROM[1]).contains(&from.0.value())
            && from.1.value() - to.1.value() >= LEAST_FALL.value()
    });
    reaches && falls && body - above >= LEAST_LOWER.value()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn looks(at: impl Fn(f64) -> f64, to: i32) -> bool {
        let bands = (-13..=to).map(|i| {
            let f = 1000.0 * 10f64.powf(f64::from(i) / 10.0);
            (Hertz::new(f), Db::new(at(f)))
        });
        looks_as_through_a_pickup(&bands.collect::<Vec<_>>())
    }

    #[test]
    fn a_steep_fall_from_the_upper_middle_on_is_a_pickups_and_a_slow_one_is_not() {
        let octaves = |f: f64, from: f64| (f / from).log2().max(0.0);
        assert!(looks(|f| -40.0 * octaves(f, 4000.0), 12));
        assert!(!looks(|f| -20.0 * octaves(f, 4000.0), 12), "strings by themselves");
        assert!(!looks(|f| -40.0 * octaves(f, 9000.0), 12), "the end of a recording's range");
        assert!(!looks(|f| -40.0 * octaves(f, 4000.0), 9), "not enough is known");
        assert!(!looks(|f| if f > 9000.0 { 0.0 } else { -40.0 * octaves(f, 4000.0) }, 12), "what lies above");
    }
}
