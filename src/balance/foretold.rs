//! What two pickups of one level are foretold to differ by.

use std::f64::consts::TAU;

use num_complex::Complex64;
use serde::Serialize;

use crate::guitar::{Guitar, Pickup};
use crate::quantity::{Db, Hertz, Metres};
use crate::response::{OneChannel, Paths, Voice, VoiceError, wave_speeds};

/// A band reaches that far above its middle.
const NEARLY: f64 = 1.12;

/// What two takes were taken for: whichever leaves the smaller spread.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum TakenFor {
    /// One signal through either pickup's circuit, as a recording rendered through both is.
    OneSignal,
    /// The same strings, played for each take: each pickup hears them at its own place. At each frequency that is averaged over the
    /// open strings that sound there, each in proportion to its fundamental: its n-th partial has 1/n of the first's amplitude,
    /// and so many more partials are there the lower it is.
    Strings,
}

impl TakenFor {
    /// Both.
    pub(super) const BOTH: [Self; 2] = [Self::OneSignal, Self::Strings];

    /// Returns the standard deviation of what is foretold: a string that is picked near a pickup has just those partials that the
    /// pickup hears best. On four plucked chords the level came out 0.5 to 1.2 dB in favour of the pickup nearer to the pick; of one
    /// signal it comes back within 0.1 dB.
    pub(super) fn deviation(self) -> Db {
        match self {
            Self::OneSignal => Db::new(0.05),
            Self::Strings => Db::new(1.0),
        }
    }

    /// Returns it in words.
    pub fn words(self) -> &'static str {
        match self {
            Self::OneSignal => "one signal through either pickup",
            Self::Strings => "the same strings, heard at each pickup's place",
        }
    }

    /// Returns the power of the second pickup's take over the first's at each of `frequencies`.
    pub(super) fn ratios(
        self,
        guitar: &Guitar,
        pickups: [&Pickup; 2],
        frequencies: &[Hertz],
    ) -> Result<Vec<f64>, VoiceError> {
        let [first, second] = pickups.map(|pickup| self.powers(guitar, pickup, frequencies));
        Ok(second?.into_iter().zip(first?).map(|(second, first)| second / first).collect())
    }

    fn powers(self, guitar: &Guitar, pickup: &Pickup, frequencies: &[Hertz]) -> Result<Vec<f64>, VoiceError> {
        let response = Voice::of(pickup.arrangement()).response(guitar, pickup)?;
        let paths = response.along(frequencies)?;
        // The level that the file has is among what is asked for.
        let level = pickup.level().amplitude();
        let outputs: Vec<f64> = response.outputs().iter().map(|output| output / level).collect();
        let power = |(frequency, paths): (&Hertz, &Paths)| match self {
            Self::OneSignal => OneChannel::rule(&response).transfer(*frequency, paths, &outputs).norm_sqr(),
            Self::Strings => {
                let speeds = wave_speeds(guitar.scale());
                let heard = |speed: f64| {
                    let coils = paths.0.iter().zip(&outputs).zip(response.places());
                    let coil = |((path, output), place): ((&Complex64, &f64), &Metres)| {
                        path * output * (TAU * frequency.value() * place.value() / speed).sin()
                    };
                    coils.map(coil).sum::<Complex64>().norm_sqr()
                };
                let sounding = |speed: &f64| {
                    let fundamental = speed / (2.0 * guitar.scale().value());
                    (fundamental <= frequency.value() * NEARLY).then_some((fundamental, *speed))
                };
                let lowest = speeds.iter().copied().fold(f64::INFINITY, f64::min);
                let (mut power, mut weights) = (0.0, 0.0);
                for (weight, speed) in speeds.iter().filter_map(sounding) {
                    power += weight * heard(speed);
                    weights += weight;
                }
                if weights > 0.0 { power / weights } else { heard(lowest) }
            }
        };
        Ok(frequencies.iter().zip(&paths).map(power).collect())
    }
}
