//! What a voice makes of a recording that does not tell the coils apart.
//!
//! A one-channel source stands for the sum of both coils' signals. Where both sound alike that is all that is
//! needed; for one coil alone, or two against each other, it is split by where on the string the coils lie:
//! `F_A = w_A e^{+jωτ/2}`, `F_B = w_B e^{−jωτ/2}`, with `w` as a coil's distance to the bridge over the sum of
//! both and τ the time a wave takes from one coil to the other. That is an approximation of 2 to 3 dB in
//! third-octaves. For a whole guitar every coil's weight is its distance to the bridge over the mean distance of a
//! pickup's coils together, and its time is that from the middle of the coils that are heard: where strings stand
//! still over one pickup and not over another, a recording made elsewhere does not tell.
//!
//! A recording that was made through one pickup and is heard through the whole guitar, or the other way round, is
//! taken for one of the strings: then every coil has the whole guitar's weight and time, those of a pickup by itself too.

use num_complex::Complex64;

use super::{Paths, Scope, VoiceResponse};
use crate::circuit::SolveError;
use crate::guitar::Guitar;
use crate::quantity::{Hertz, Metres};

/// The geometric mean of the wave speeds of six strings in the usual tuning at 648 mm, in m/s.
const WAVE_SPEED: f64 = 216.0;

/// A coil's part of a split source.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Share {
    /// The coil's weight.
    pub weight: f64,
    /// How much earlier than the source the coil hears a wave, in seconds.
    pub lead: f64,
}

/// What a one-channel source stands for where it was recorded through one voice and is heard through others.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum StandsFor {
    /// What each voice takes it for by itself: the signals of a pickup's coils together, or the strings of a guitar.
    Own,
    /// The strings of a guitar.
    Strings {
        /// The distances of all its coils to the bridge, added.
        reach: Metres,
        /// The number of its pickups.
        pickups: usize,
    },
}

impl StandsFor {
    /// Returns what a source stands for that was recorded through a voice of `recorded` and is heard through voices of
    /// `heard`, a part of `guitar` or all of it.
    pub fn between(recorded: Scope<'_>, heard: Scope<'_>, guitar: &Guitar) -> Self {
        match (recorded, heard) {
            (Scope::Pickup(_), Scope::Pickup(_)) => Self::Own,
            (Scope::Guitar, _) | (_, Scope::Guitar) => Self::Strings {
                reach: Metres::new(Scope::Guitar.places(guitar).iter().map(|place| place.value()).sum()),
                pickups: guitar.pickups().len(),
            },
        }
    }
}

/// How a one-channel source is given to the coils.
#[derive(Debug, Clone, PartialEq)]
pub enum OneChannel {
    /// The source is the one coil's signal. Exact.
    Whole,
    /// Half of the source to each coil. Exact for a source that is the sum of both.
    Halves,
    /// The split divided by its sum, for one coil or where something parts the coils. Approximate.
    Divided(Vec<Share>),
    /// The split as it is, for coils that sound against each other or lie far apart. Approximate.
    Undivided(Vec<Share>),
}

impl OneChannel {
    /// The least divisor of a split: nearer to its first null a division would only amplify what is not there.
    pub const LEAST_SUM: f64 = 0.35;

    /// Returns how a one-channel source that stands for this is given to the coils of `response`.
    pub fn of(source: StandsFor, response: &VoiceResponse) -> Self {
        match (source, response.places()) {
            (StandsFor::Own, _) | (StandsFor::Strings { pickups: 1, .. }, [_]) => Self::rule(response),
            (StandsFor::Strings { reach, pickups }, places) => {
                Self::Undivided(spread(places, response.sounding(), reach, pickups))
            }
        }
    }

    /// Returns how a one-channel source is given to the coils of `response`.
    pub fn rule(response: &VoiceResponse) -> Self {
        let own = |heard: &[bool]| {
            let reach = response.places().iter().map(|place| place.value()).sum();
            spread(response.places(), heard, Metres::new(reach), response.pickups())
        };
        let bypassed = response.voice().arrangement() == Some(crate::wiring::Arrangement::SeriesBypassed);
        match response.places() {
            [_] => Self::Whole,
            _ if response.voice().is_of_a_guitar() => Self::Undivided(own(response.sounding())),
            _ if response.sounding() != [true, true] || bypassed => Self::Divided(own(&[true, true])),
            _ if response.in_phase() => Self::Halves,
            _ => Self::Undivided(own(&[true, true])),
        }
    }

    /// Returns whether what is heard from a one-channel source is approximate.
    pub fn is_approximate(&self) -> bool {
        match self {
            Self::Whole | Self::Halves => false,
            Self::Divided(_) | Self::Undivided(_) => true,
        }
    }

    /// Returns the source's share for each coil at `frequency`.
    pub fn shares(&self, frequency: Hertz) -> Vec<Complex64> {
        match self {
            Self::Whole => vec![Complex64::ONE],
            Self::Halves => vec![Complex64::from(0.5); 2],
            Self::Undivided(shares) => shares.iter().map(|share| share.at(frequency)).collect(),
            Self::Divided(shares) => {
                let split = shares.iter().map(|share| share.at(frequency));
                let divisor = divisor(split.clone().sum());
                split.map(|share| share / divisor).collect()
            }
        }
    }

    /// Returns what a voice with this rule makes of a one-channel source at each of `frequencies`.
    ///
    /// # Errors
    /// [`SolveError`] where the voice's circuit has no solution at one of them.
    pub fn along(
        &self,
        response: &VoiceResponse,
        frequencies: &[Hertz],
    ) -> Result<Vec<Complex64>, SolveError> {
        let paths = response.along(frequencies)?;
        let heard = frequencies.iter().zip(&paths);
        Ok(heard.map(|(f, paths)| self.transfer(*f, paths, response.outputs())).collect())
    }

    /// Returns the response to a one-channel source at `frequency`, from the coils' paths there and their
    /// outputs.
    pub fn transfer(&self, frequency: Hertz, paths: &Paths, outputs: &[f64]) -> Complex64 {
        let heard = || paths.0.iter().zip(outputs).map(|(path, output)| path * output);
        let split = |shares: &[Share]| {
            shares.iter().zip(heard()).fold(
                (Complex64::ZERO, Complex64::ZERO),
                |(sum, all), (share, heard)| {
                    let share = share.at(frequency);
                    (sum + share * heard, all + share)
                },
            )
        };
        match self {
            Self::Whole => heard().sum(),
            Self::Halves => heard().sum::<Complex64>() * 0.5,
            Self::Undivided(shares) => split(shares).0,
            Self::Divided(shares) => {
                let (sum, all) = split(shares);
                sum / divisor(all)
            }
        }
    }
}

impl Share {
    fn at(&self, frequency: Hertz) -> Complex64 {
        Complex64::from_polar(self.weight, std::f64::consts::TAU * frequency.value() * self.lead)
    }
}

/// Returns what a split is divided by whose parts add up to `all`.
fn divisor(all: Complex64) -> f64 {
    all.norm().max(OneChannel::LEAST_SUM)
}

/// Returns the shares of coils at `places` on a guitar of so many `pickups` whose coils' distances add up to `reach`, the
/// times being those from the middle of the coils that are `heard`.
fn spread(places: &[Metres], heard: &[bool], reach: Metres, pickups: usize) -> Vec<Share> {
    let is_heard = |i: &usize| heard[*i] || !heard.contains(&true);
    let (count, sum) = (0..places.len())
        .filter(is_heard)
        .fold((0, 0.0), |(count, sum), i| (count + 1, sum + places[i].value()));
    let middle = sum / f64::from(count);
    let share = |place: &Metres| Share {
        weight: place.value() / reach.value() * pickups as f64,
        lead: (middle - place.value()) / WAVE_SPEED,
    };
    places.iter().map(share).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_heard_is_every_coils_share_through_its_own_path() {
        let shares = vec![Share { weight: 0.8, lead: 60e-6 }, Share { weight: 1.2, lead: -40e-6 }];
        let (paths, outputs) =
            (Paths(vec![Complex64::new(0.9, -0.2), Complex64::new(-0.3, 0.5)]), [1.0, 0.9]);
        let rules = [OneChannel::Halves, OneChannel::Divided(shares.clone()), OneChannel::Undivided(shares)];
        for rule in rules {
            // At 5 kHz the split's parts cancel to less than the least divisor.
            for frequency in [100.0, 1000.0, 5000.0].map(Hertz::new) {
                let parts = rule.shares(frequency).into_iter().zip(&paths.0).zip(outputs);
                let expected: Complex64 = parts.map(|((share, path), output)| share * path * output).sum();
                let found = rule.transfer(frequency, &paths, &outputs);
                assert!((found - expected).norm() < 1e-12, "{rule:?} at {frequency}: {found} {expected}");
            }
        }
        let one = Paths(vec![Complex64::new(0.9, -0.2)]);
        assert_eq!(OneChannel::Whole.transfer(Hertz::new(100.0), &one, &[0.5]), one.0[0] * 0.5);
    }

    #[test]
    fn near_its_nulls_a_split_is_divided_by_the_least_sum() {
        let shares = vec![Share { weight: 1.0, lead: 50e-6 }, Share { weight: 1.0, lead: -50e-6 }];
        let rule = OneChannel::Divided(shares);
        let sum = |f: f64| rule.shares(Hertz::new(f)).iter().sum::<Complex64>();
        assert!((sum(1000.0) - 1.0).norm() < 1e-12 && sum(5000.0).norm() < 1e-9);
    }
}
