//! What a voice makes of a recording that does not tell the coils apart.
//!
//! A one-channel source stands for the sum of both coils' signals. Where both sound alike that is all that is needed; for
//! one coil alone, or two against each other, it is split by where on the strings the coils lie. On a string of wave
//! speed c a standing wave of frequency f is heard at the distance x from the bridge in proportion to sin(2πf x/c). A coil's
//! share of the source has the magnitude
//! `√⟨sin²(2πf x/c)⟩ / √⟨(sin(2πf x_A/c) + sin(2πf x_B/c))²⟩`,
//! the means being over the open strings of the guitar, and the phase of the time that a wave takes from the coil to the
//! middle of both, at the geometric mean of the strings' speeds. That is an approximation, nearest where several strings
//! sound; [`OneChannel::BOUND`] says how near. For a whole guitar the divisor is the mean over its pickups of what each
//! one's coils hear together, and the time is that to the middle of the coils that are heard: where strings stand still over
//! one pickup and not over another, a recording made elsewhere does not tell.
//!
//! A recording that was made through one pickup and is heard through the whole guitar, or the other way round, is
//! taken for one of the strings: then every coil has the whole guitar's share, those of a pickup by itself too.

use std::f64::consts::TAU;

use num_complex::Complex64;

use super::{Paths, Scope, VoiceResponse};
use crate::circuit::SolveError;
use crate::guitar::Guitar;
use crate::pluck::STANDARD;
use crate::quantity::{Hertz, Metres};

/// Below this frequency the strings' standing waves rise in proportion to the distance from the bridge, and a share no longer
/// changes.
const LOWEST: f64 = 1.0;

/// The places on the strings that a one-channel source is split among.
#[derive(Debug, Clone, PartialEq)]
pub struct Split {
    /// Each coil's distance to the bridge, in metres.
    places: Vec<f64>,
    /// How much earlier than the source each coil hears a wave, in seconds.
    leads: Vec<f64>,
    /// The distances to the bridge of the coils that the source is the sum of, pickup by pickup, in metres.
    pickups: Vec<Vec<f64>>,
    /// The wave speed of each string, in m/s.
    speeds: Vec<f64>,
}

/// What a one-channel source stands for where it was recorded through one voice and is heard through others.
#[derive(Debug, Clone, PartialEq)]
pub enum StandsFor {
    /// What each voice takes it for by itself: the signals of a pickup's coils together, or the strings of a guitar.
    Own,
    /// The strings of a guitar with these pickups.
    Strings {
        /// The distances of each pickup's coils to the bridge.
        pickups: Vec<Vec<Metres>>,
    },
}

impl StandsFor {
    /// Returns what a source stands for that was recorded through a voice of `recorded` and is heard through voices of
    /// `heard`, a part of `guitar` or all of it.
    pub fn between(recorded: Scope<'_>, heard: Scope<'_>, guitar: &Guitar) -> Self {
        match (recorded, heard) {
            (Scope::Pickup(_), Scope::Pickup(_)) => Self::Own,
            (Scope::Guitar, _) | (_, Scope::Guitar) => {
                Self::Strings { pickups: Scope::Guitar.places_by_pickup(guitar) }
            }
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
    /// A share by place on the strings, for one coil alone, coils against each other or coils that lie far apart.
    /// Approximate.
    Split(Split),
}

impl OneChannel {
    /// How near the split comes to what the coils hear, in words: rms over third octaves, on the built-in chord and phrase and
    /// on single notes at bridge and neck. The first figure is of a coil by itself, the second of coils against each other.
    pub const BOUND: &str = "1.5 and 6 dB for chords and phrases, 8 and 15 dB for single notes, in third octaves (a coil by \
                             itself, and coils against each other)";

    /// Returns how a one-channel source that stands for this is given to the coils of `response`.
    pub fn of(source: &StandsFor, response: &VoiceResponse) -> Self {
        match source {
            StandsFor::Strings { pickups } if pickups.len() > 1 || response.places().len() > 1 => {
                Self::Split(Split::new(response, response.sounding(), pickups))
            }
            StandsFor::Own | StandsFor::Strings { .. } => Self::rule(response),
        }
    }

    /// Returns how a one-channel source is given to the coils of `response`.
    pub fn rule(response: &VoiceResponse) -> Self {
        let own = |heard: &[bool]| Self::Split(Split::new(response, heard, response.places_by_pickup()));
        let bypassed = response.voice().arrangement() == Some(crate::wiring::Arrangement::SeriesBypassed);
        match response.places() {
            [_] => Self::Whole,
            _ if response.voice().is_of_a_guitar() => own(response.sounding()),
            _ if response.sounding() == [true, true] && response.in_phase() && !bypassed => Self::Halves,
            _ => own(&[true, true]),
        }
    }

    /// Returns whether what is heard from a one-channel source is approximate.
    pub fn is_approximate(&self) -> bool {
        match self {
            Self::Whole | Self::Halves => false,
            Self::Split(_) => true,
        }
    }

    /// Returns the source's share for each coil at `frequency`.
    pub fn shares(&self, frequency: Hertz) -> Vec<Complex64> {
        match self {
            Self::Whole => vec![Complex64::ONE],
            Self::Halves => vec![Complex64::from(0.5); 2],
            Self::Split(split) => split.shares(frequency),
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
        let heard = paths.0.iter().zip(outputs).map(|(path, output)| path * output);
        match self {
            Self::Whole => heard.sum(),
            Self::Halves => heard.sum::<Complex64>() * 0.5,
            Self::Split(split) => {
                split.shares(frequency).into_iter().zip(heard).map(|(share, heard)| share * heard).sum()
            }
        }
    }
}

impl Split {
    /// Returns the split of a source that is the sum of the coils of each of `pickups` among the coils of `response`, the
    /// times being those from the middle of the coils that are `heard`.
    fn new(response: &VoiceResponse, heard: &[bool], pickups: &[Vec<Metres>]) -> Self {
        let metres = |places: &[Metres]| places.iter().map(|place| place.value()).collect::<Vec<f64>>();
        let places = metres(response.places());
        let is_heard = |i: &usize| heard[*i] || !heard.contains(&true);
        let (count, sum) =
            (0..places.len()).filter(is_heard).fold((0, 0.0), |(count, sum), i| (count + 1, sum + places[i]));
        let middle = sum / f64::from(count);
        let speeds = wave_speeds(response.scale());
        let mean_speed = (speeds.iter().map(|speed| speed.ln()).sum::<f64>() / speeds.len() as f64).exp();
        Self {
            leads: places.iter().map(|place| (middle - place) / mean_speed).collect(),
            places,
            pickups: pickups.iter().map(|own| metres(own)).collect(),
            speeds,
        }
    }

    /// Returns each coil's distance to the bridge in metres and how much earlier than the source it hears a wave in seconds.
    pub fn coils(&self) -> impl Iterator<Item = (f64, f64)> {
        self.places.iter().copied().zip(self.leads.iter().copied())
    }

    /// Returns the distances to the bridge of the coils that the source is the sum of, pickup by pickup, in metres.
    pub fn pickups(&self) -> &[Vec<f64>] {
        &self.pickups
    }

    /// Returns the wave speed of each string in m/s.
    pub fn speeds(&self) -> &[f64] {
        &self.speeds
    }

    fn shares(&self, frequency: Hertz) -> Vec<Complex64> {
        let turn = TAU * frequency.value();
        let heard = |place: f64, speed: f64| (TAU * frequency.value().max(LOWEST) * place / speed).sin();
        let together = self.pickups.iter().map(|coils| {
            self.over_strings(|speed| coils.iter().map(|place| heard(*place, speed)).sum::<f64>().powi(2))
        });
        let together = together.sum::<f64>() / self.pickups.len() as f64;
        self.coils()
            .map(|(place, lead)| {
                let own = self.over_strings(|speed| heard(place, speed).powi(2));
                Complex64::from_polar((own / together).sqrt(), turn * lead)
            })
            .collect()
    }

    /// Returns the mean over the strings of what is `heard` at each one's wave speed.
    fn over_strings(&self, heard: impl Fn(f64) -> f64) -> f64 {
        self.speeds.iter().map(|speed| heard(*speed)).sum::<f64>() / self.speeds.len() as f64
    }
}

/// Returns the speeds of waves on the open strings of a guitar of that `scale`, in m/s: twice the scale a period.
pub fn wave_speeds(scale: Metres) -> Vec<f64> {
    STANDARD.iter().map(|string| 2.0 * scale.value() * string.frequency(0).value()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Db;
    use crate::response::Voice;
    use crate::wiring::Arrangement;

    fn split(arrangement: Arrangement) -> OneChannel {
        let guitar = Guitar::built_in("set-neck").expect("it is built in");
        let response = Voice::of(arrangement).response(&guitar, &guitar.pickups()[0]).expect("a response");
        OneChannel::rule(&response)
    }

    #[test]
    fn what_is_heard_is_every_coils_share_through_its_own_path() {
        let (paths, outputs) =
            (Paths(vec![Complex64::new(0.9, -0.2), Complex64::new(-0.3, 0.5)]), [1.0, 0.9]);
        for rule in [OneChannel::Halves, split(Arrangement::SplitB)] {
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

    /// Far below the strings' first nulls a coil hears in proportion to its distance to the bridge; far above, where no place
    /// is like another, a coil hears half of the power of two.
    #[test]
    fn a_share_is_that_of_the_distances_in_the_bass_and_of_the_power_in_the_treble() {
        let rule = split(Arrangement::SplitB);
        let (near, far) = (0.045 - 0.00925, 0.045 + 0.00925);
        for frequency in [0.0, 5.0] {
            let shares = rule.shares(Hertz::new(frequency));
            for (share, place) in shares.iter().zip([near, far]) {
                assert!((share.norm() - place / (near + far)).abs() < 1e-3, "{shares:?}");
            }
        }
        let treble = (0..200).map(|i| rule.shares(Hertz::new(4000.0 + 60.0 * f64::from(i))));
        let mut powers: Vec<f64> = treble.map(|shares| shares[1].norm_sqr()).collect();
        powers.sort_by(f64::total_cmp);
        assert!(Db::of_power(2.0 * powers[100]).value().abs() < 1.0, "{}", powers[100]);
    }
}
