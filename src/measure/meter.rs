//! Levels and brightness of a sound together.

use crate::quantity::Hertz;

use super::{CentroidMeter, LevelMeter, Levels, Unmeasurable};

/// What a sound measures.
#[derive(Debug, Clone, PartialEq)]
pub struct Measures {
    /// Its levels.
    pub levels: Levels,
    /// Its spectral centroid by [`CENTROID_DEFINITION`](super::CENTROID_DEFINITION), `None` for silence and
    /// for a sound shorter than a frame.
    pub centroid: Option<Hertz>,
}

/// Measures levels and spectral centroid of a sound as its blocks go by.
#[derive(Debug, Clone)]
pub struct Meter {
    levels: LevelMeter,
    centroid: CentroidMeter,
}

impl Meter {
    /// Returns a meter for a sound of `rate_hz` samples a second and `channels` channels.
    ///
    /// # Errors
    /// [`Unmeasurable::Rate`] and [`Unmeasurable::Channels`] where they are out of range.
    pub fn new(rate_hz: u32, channels: usize) -> Result<Self, Unmeasurable> {
        Ok(Self {
            levels: LevelMeter::new(rate_hz, channels)?,
            centroid: CentroidMeter::new(rate_hz, channels)?,
        })
    }

    /// Measures the next samples: one slice a channel, all of one length, 1 being full scale.
    ///
    /// # Errors
    /// [`Unmeasurable::Shape`] for a block of another shape and [`Unmeasurable::Sample`] for the first sample
    /// that is not finite; nothing of such a block is measured.
    pub fn push(&mut self, block: &[&[f64]]) -> Result<(), Unmeasurable> {
        self.levels.push(block)?;
        self.centroid.add(block);
        Ok(())
    }

    /// Returns the figures of all that was pushed.
    pub fn finish(self) -> Measures {
        Measures { levels: self.levels.finish(), centroid: self.centroid.finish() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::{LARGEST_SAMPLE, ThirdOctave, ThirdOctaveMeter};
    use crate::quantity::{Db, Lufs};
    use proptest::prelude::*;

    /// Measures a sound in blocks that end at `cuts`, with every meter.
    fn measured(rate_hz: u32, sound: &[Vec<f64>], cuts: &[usize]) -> (Measures, Vec<ThirdOctave>) {
        let length = sound[0].len();
        let mut cuts: Vec<usize> = cuts.iter().map(|cut| cut % (length + 1)).chain([0, length]).collect();
        cuts.sort_unstable();
        let mut meter = Meter::new(rate_hz, sound.len()).unwrap();
        let mut bands = ThirdOctaveMeter::new(rate_hz, sound.len()).unwrap();
        for cut in cuts.windows(2) {
            let block: Vec<&[f64]> = sound.iter().map(|channel| &channel[cut[0]..cut[1]]).collect();
            meter.push(&block).unwrap();
            bands.push(&block).unwrap();
        }
        (meter.finish(), bands.finish())
    }

    /// Noise of one or two channels, louder and softer by turns.
    fn sounds() -> impl Strategy<Value = Vec<Vec<f64>>> {
        (1_usize..=2, 1_usize..6).prop_flat_map(|(channels, bursts)| {
            let burst = (1e-4..1.0_f64, prop::collection::vec(-1.0..1.0_f64, 0..2000))
                .prop_map(|(level, noise)| noise.into_iter().map(|x| x * level).collect::<Vec<_>>());
            prop::collection::vec(prop::collection::vec(burst, bursts), channels).prop_map(|channels| {
                let channels: Vec<Vec<f64>> = channels.into_iter().map(|bursts| bursts.concat()).collect();
                let length = channels.iter().map(Vec::len).min().unwrap_or(0);
                channels.into_iter().map(|channel| channel[..length].to_vec()).collect()
            })
        })
    }

    #[test]
    fn the_largest_and_the_smallest_samples_have_finite_levels() {
        for amplitude in [LARGEST_SAMPLE, 1e-150] {
            let square: Vec<f64> =
                (0..8000).map(|n| if n % 16 < 8 { amplitude } else { -amplitude }).collect();
            let (Measures { levels, centroid }, bands) = measured(8_000, &[square], &[]);
            let expected = 20.0 * amplitude.log10();
            assert!((levels.rms().value() - expected).abs() < 1e-6);
            assert!((levels.sample_peak().value() - expected).abs() < 1e-6);
            assert!((levels.true_peak().value() - expected - 2.0).abs() < 2.0);
            assert!(levels.loudness().gain_for(Lufs::new(-23.0)).unwrap().value().is_finite());
            assert!((500.0..4000.0).contains(&centroid.unwrap().value()));
            let total: f64 =
                bands.iter().map(|band| 10f64.powf((band.level().value() - expected) / 10.0)).sum();
            assert!((0.9..1.0).contains(&total), "the edges leak below the lowest band: {total}");
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(48))]

        #[test]
        fn no_figure_depends_on_how_the_sound_is_cut_into_blocks(
            sound in sounds(),
            cuts in prop::collection::vec(0_usize..10_000, 0..40),
        ) {
            prop_assert_eq!(measured(8_000, &sound, &cuts), measured(8_000, &sound, &[]));
        }

        #[test]
        fn a_gain_moves_every_level_by_itself_and_the_centroid_not_at_all(
            sound in sounds(),
            gain in -60.0..20.0_f64,
        ) {
            let gain = Db::new(gain);
            let louder: Vec<Vec<f64>> =
                sound.iter().map(|c| c.iter().map(|x| x * gain.amplitude()).collect()).collect();
            let (Measures { levels, centroid }, _) = measured(8_000, &sound, &[]);
            let (Measures { levels: after, centroid: centroid_after }, _) = measured(8_000, &louder, &[]);
            prop_assume!(levels.sample_peak().value().is_finite());

            prop_assert!(((levels.rms() + gain) - after.rms()).value().abs() < 1e-9);
            prop_assert!(((levels.sample_peak() + gain) - after.sample_peak()).value().abs() < 1e-9);
            prop_assert!(((levels.true_peak() + gain) - after.true_peak()).value().abs() < 1e-9);
            let (told, found) = (levels.loudness().with_gain(gain), after.loudness().integrated());
            prop_assert_eq!(told.is_some(), found.is_some());
            if let (Some(told), Some(found)) = (told, found) {
                prop_assert!((told - found).value().abs() < 1e-9);
            }
            prop_assert_eq!(centroid.is_some(), centroid_after.is_some());
            if let (Some(before), Some(after)) = (centroid, centroid_after) {
                // A millionth of the rate: the rounding of single precision.
                prop_assert!((before.value() - after.value()).abs() < 0.008);
            }
        }
    }
}
