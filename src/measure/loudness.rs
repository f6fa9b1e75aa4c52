//! Integrated loudness from the K-weighted energy of every 100 ms, and what a gain makes of it.
//!
//! # Source
//! ITU-R BS.1770-5 (2023), annex 1, equations 2 to 7; EBU R 128 (2023). Blocks of 400 ms that overlap by 75 %,
//! an absolute gate at −70 LUFS and a relative one 10 LU below the mean of what passes the first.

use crate::quantity::{Db, Lufs};

/// The offset in l = −0.691 + 10 log₁₀ Σ G z, which makes 997 Hz at full scale in one channel −3.01 LKFS.
const OFFSET: f64 = -0.691;
const ABSOLUTE_GATE: f64 = -70.0;
/// −10 LU as a ratio of powers.
const RELATIVE_GATE: f64 = 0.1;
const HOPS_A_BLOCK: usize = 4;

/// The integrated loudness of a sound, and of the same sound under any gain.
///
/// The absolute gate stays where it is under a gain, so that loudness need not rise by the gain: 6 dB on a sound
/// with a quiet ending can bring the ending over the gate and raise the loudness by less. The kept energies
/// are gated anew for each gain. A mono sound is one channel.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Loudness {
    /// The K-weighted mean square of each whole 100 ms, the channels added.
    hops: Vec<f64>,
}

impl Loudness {
    /// Returns the integrated loudness, `None` where the sound is shorter than 400 ms or nothing in it is
    /// louder than −70 LUFS.
    pub fn integrated(&self) -> Option<Lufs> {
        self.with_gain(Db::new(0.0))
    }

    /// Returns whether the sound is shorter than the 400 ms of the first block, so that it has no loudness at any level.
    pub fn is_too_short(&self) -> bool {
        self.hops.len() < HOPS_A_BLOCK
    }

    /// Returns the integrated loudness that the sound would have after `gain`; `None` as above.
    pub fn with_gain(&self, gain: Db) -> Option<Lufs> {
        self.gated_level(gain).map(|level| Lufs::new(level) + gain)
    }

    /// Returns the least gain after which the integrated loudness is `target`, exactly but for rounding;
    /// `None` where the sound is silent or shorter than 400 ms, or the target is not above −70 LUFS.
    pub fn gain_for(&self, target: Lufs) -> Option<Db> {
        // With a gain g the loudness is g + m(g), where m falls in steps as quieter blocks come over the
        // gates; wanted is g = target − m(g). The right side rises with g. Begun from a gain that cannot be
        // too high, where only the loudest block counts, the iteration therefore never steps over the least
        // solution, and ends because m has no more steps than there are blocks.
        let loudest = self.blocks().fold(0.0, f64::max);
        if loudest <= 0.0 || target.value() <= ABSOLUTE_GATE {
            return None;
        }
        let mut level = level_of(loudest);
        loop {
            let gain = target - Lufs::new(level);
            let gated = self.gated_level(gain)?;
            if gated >= level {
                return Some(gain);
            }
            level = gated;
        }
    }

    /// Returns the level, without the gain, of the blocks that pass the gates with it.
    fn gated_level(&self, gain: Db) -> Option<f64> {
        let absolute = 10f64.powf((ABSOLUTE_GATE - OFFSET - gain.value()) / 10.0);
        let relative = RELATIVE_GATE * self.mean_above(absolute)?;
        self.mean_above(absolute.max(relative)).map(level_of)
    }

    fn mean_above(&self, threshold: f64) -> Option<f64> {
        let (sum, count) = self
            .blocks()
            .filter(|power| *power > threshold)
            .fold((0.0, 0_u32), |(sum, count), power| (sum + power, count + 1));
        (count > 0).then(|| sum / f64::from(count))
    }

    /// Keeps the K-weighted mean square of another 100 ms.
    pub(super) fn keep(&mut self, hop: f64) {
        self.hops.push(hop);
    }

    fn blocks(&self) -> impl Iterator<Item = f64> {
        self.hops.windows(HOPS_A_BLOCK).map(|block| block.iter().sum::<f64>() / HOPS_A_BLOCK as f64)
    }
}

/// Returns the loudness in LUFS of a steady K-weighted mean square.
pub(super) fn level_of(power: f64) -> f64 {
    OFFSET + 10.0 * power.log10()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// A loudness whose tenths of a second have these levels in LUFS.
    fn of(levels: &[f64]) -> Loudness {
        Loudness { hops: levels.iter().map(|level| 10f64.powf((level - OFFSET) / 10.0)).collect() }
    }

    fn runs(runs: &[(f64, usize)]) -> Loudness {
        of(&runs.iter().flat_map(|(level, count)| vec![*level; *count]).collect::<Vec<_>>())
    }

    fn near(found: Option<Lufs>, expected: f64) -> bool {
        found.is_some_and(|found| (found.value() - expected).abs() < 1e-9)
    }

    #[test]
    fn a_steady_level_is_its_own_loudness() {
        assert!(near(of(&[-23.0; 4]).integrated(), -23.0));
        assert!(near(of(&[-69.9; 50]).integrated(), -69.9));
    }

    #[test]
    fn without_400_ms_or_above_no_gate_there_is_no_loudness() {
        for (none, is_too_short) in [
            (of(&[]), true),
            (of(&[-23.0; 3]), true),
            (of(&[-70.1; 4]), false),
            (Loudness { hops: vec![0.0; 50] }, false),
        ] {
            assert_eq!((none.integrated(), none.is_too_short()), (None, is_too_short));
        }
    }

    #[test]
    fn the_relative_gate_leaves_out_what_is_ten_units_below_the_mean() {
        // The mean of what passes the first gate is −20.2 LUFS, so that the second lies at −30.2. Of the quiet
        // part only the three blocks that still hold some of the loud one pass it.
        let loud = 997.0 + 3.0 / 4.0 + 2.0 / 4.0 + 1.0 / 4.0;
        let quiet = (1.0 + 2.0 + 3.0) / 4.0 * 10f64.powf(-1.1);
        let left_out = runs(&[(-20.0, 1000), (-31.0, 50)]).integrated();
        assert!(near(left_out, -20.0 + 10.0 * ((loud + quiet) / 1000.0).log10()), "{left_out:?}");
        let kept = runs(&[(-20.0, 1000), (-30.0, 50)]).integrated();
        let quiet = ((1.0 + 2.0 + 3.0) / 4.0 + 47.0) * 10f64.powf(-1.0);
        assert!(near(kept, -20.0 + 10.0 * ((loud + quiet) / 1047.0).log10()), "{kept:?}");
    }

    #[test]
    fn a_gain_that_lifts_a_quiet_part_over_the_absolute_gate_raises_loudness_by_less() {
        let sound = runs(&[(-62.0, 1000), (-71.0, 1000)]);
        let before = sound.integrated().unwrap().value();
        assert!((before + 62.0).abs() < 0.02, "{before}");
        let louder = sound.with_gain(Db::new(6.0)).unwrap().value();
        let half = -56.0 + 10.0 * f64::midpoint(1.0, 10f64.powf(-0.9)).log10();
        assert!((louder - half).abs() < 0.02, "{louder} for {half}");
        assert_eq!(sound.with_gain(Db::new(-9.0)), None);
    }

    #[test]
    fn no_gain_makes_silence_or_a_short_sound_loud_nor_reaches_below_the_gate() {
        assert_eq!(Loudness { hops: vec![0.0; 50] }.gain_for(Lufs::new(-23.0)), None);
        assert_eq!(of(&[-23.0; 3]).gain_for(Lufs::new(-23.0)), None);
        assert_eq!(of(&[-23.0; 50]).gain_for(Lufs::new(-70.0)), None);
        assert_eq!(of(&[-23.0; 50]).gain_for(Lufs::new(f64::NAN)), None);
    }

    proptest! {
        /// Levels near the absolute gate after the gain, where loudness is far from linear.
        #[test]
        fn the_gain_found_is_the_least_that_gives_the_target(
            levels in prop::collection::vec(-110.0..0.0_f64, 4..80),
            target in -69.9..0.0_f64,
            less in 0.001..60.0_f64,
        ) {
            let loudness = of(&levels);
            let gain = loudness.gain_for(Lufs::new(target)).unwrap();
            let reached = loudness.with_gain(gain);
            prop_assert!(near(reached, target), "{:?} for {}", reached, target);
            let below = loudness.with_gain(gain - Db::new(less));
            prop_assert!(below.is_none_or(|below| below.value() < target), "{:?} for {}", below, target);
        }
    }
}
