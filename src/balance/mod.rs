//! The level of one pickup against another, from two takes of the same playing, each through its own pickup alone.
//!
//! What the takes differ by is partly foretold: the two circuits, the coils' outputs and, where the strings were played for each
//! take, the pickups' places under them. What is left is the level, which goes mostly by the pickups' heights.

mod foretold;
mod overlap;
mod spectrum;

pub use foretold::TakenFor;

use serde::Serialize;

use crate::guitar::{Guitar, Pickup};
use crate::quantity::{Db, Hertz, Seconds};
use crate::response::VoiceError;
use crate::sound::{Sound, SoundError};
use overlap::Overlap;
use spectrum::Spectrum;

/// Bands so far below the highest are not compared, since noise is in them. A convention, as are those below.
const COUNTED: Db = Db::new(25.0);
/// Takes that have less in common are too short to be compared.
const SHORTEST: Seconds = Seconds::new(0.5);
/// What makes a level doubtful.
const SHORT: Seconds = Seconds::new(2.0);
const FEW_BANDS: usize = 5;
const UNLIKE: f64 = 0.8;
const SPREAD: Db = Db::new(2.5);
const UNUSUAL: Db = Db::new(12.0);

/// How loud two pickups are against each other.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Balance {
    /// The pickups, in the order of the takes.
    pub between: [String; 2],
    /// The level of the second against the first, beyond what is foretold.
    pub level_db: f64,
    /// The level's standard deviation, from how far the bands agree and, of strings, where they were picked; one band tells none.
    pub sd_db: Option<f64>,
    /// The standard deviation of the bands from the level.
    pub spread_db: f64,
    /// What the takes were taken for.
    pub taken_for: TakenFor,
    /// The levels that the guitar's file would state, as those of `between`: the first as it is, the second against it.
    pub levels_db: [f64; 2],
    /// How long the takes are alike.
    pub compared_s: f64,
    /// How much later the playing begins in the second take.
    pub offset_s: f64,
    /// The third octaves that were compared.
    pub bands: Vec<BalanceBand>,
    /// What makes the level doubtful; nothing where it is not.
    pub doubts: Vec<String>,
}

/// A third octave of two takes: the second against the first.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BalanceBand {
    /// The exact mid-frequency.
    pub hz: f64,
    /// As the takes have it.
    pub measured_db: f64,
    /// As it is foretold for pickups of the same level.
    pub foretold_db: f64,
}

/// Why two takes tell no level.
#[derive(Debug, thiserror::Error)]
pub enum BalanceError {
    /// A take cannot be read.
    #[error(transparent)]
    Sound(#[from] SoundError),
    /// A pickup's circuit has no solution.
    #[error(transparent)]
    Voice(#[from] VoiceError),
    /// A take is silent.
    #[error("`{take}` is silent, so there is no level to tell")]
    Silent {
        /// The take's file.
        take: String,
    },
    /// The takes have too little in common.
    #[error("the takes have {common} in common; wanted is {SHORTEST} or more")]
    TooShort {
        /// What they have in common.
        common: Seconds,
    },
    /// No third octave is loud enough in both takes.
    #[error("no third octave from {} to {} is loud enough in both takes", REACH[0], REACH[1])]
    NoBand,
    /// Both takes are of one pickup.
    #[error("both takes are said to be of pickup `{pickup}`")]
    OnePickup {
        /// Its name.
        pickup: String,
    },
}

impl BalanceError {
    /// Returns what to do about it.
    pub fn hint(&self) -> String {
        match self {
            Self::Sound(error) => error.hint().to_owned(),
            Self::Voice(error) => error.hint().to_owned(),
            Self::Silent { .. } => "look whether the right channel was recorded, and play again".to_owned(),
            Self::TooShort { .. } | Self::NoBand => {
                "play the same few chords for some seconds through each pickup alone".to_owned()
            }
            Self::OnePickup { .. } => "name the two pickups in the order of the takes".to_owned(),
        }
    }
}

impl Balance {
    /// Returns the level of the second of `pickups` of `guitar` against the first, from a take through each alone, its knobs and
    /// leads as the guitar's file has them.
    ///
    /// # Errors
    /// [`BalanceError`] where the takes cannot be read or compared, or a circuit has no solution.
    pub fn of(guitar: &Guitar, pickups: [&Pickup; 2], takes: [&Sound; 2]) -> Result<Self, BalanceError> {
        if pickups[0].name() == pickups[1].name() {
            return Err(BalanceError::OnePickup { pickup: pickups[0].name().to_string() });
        }
        let heard = [mono(takes[0])?, mono(takes[1])?];
        for (take, samples) in takes.iter().zip(&heard) {
            if samples.iter().all(|sample| *sample == 0.0) {
                return Err(BalanceError::Silent { take: take.file_name().to_owned() });
            }
        }
        let rates = takes.map(Sound::rate_hz);
        let overlap = Overlap::of([&heard[0], &heard[1]], rates);
        if overlap.length.value() < SHORTEST.value() {
            return Err(BalanceError::TooShort { common: overlap.length });
        }
        let parts = [0, 1].map(|i| overlap.part(i, &heard[i], rates[i]));
        let spectra = [0, 1].map(|i| Spectrum::of(parts[i], rates[i]));
        let fits = TakenFor::BOTH.map(|taken| {
            Ok((taken, Fit::of(&spectra, taken, &taken.ratios(guitar, pickups, &Spectrum::cells())?)))
        });
        let [signal, strings]: [Result<_, VoiceError>; 2] = fits;
        let (signal, strings) = (signal?, strings?);
        let (taken_for, fit) = if strings.1.spread < signal.1.spread { strings } else { signal };
        if fit.bands.is_empty() {
            return Err(BalanceError::NoBand);
        }
        let clipped = takes.iter().zip(&parts).filter(|(_, part)| is_clipped(part));
        let clipped = clipped.map(|(take, _)| {
            format!("{} reaches full scale again and again: it may be clipped", take.file_name())
        });
        let same = (parts[0] == parts[1]).then(|| {
            let [first, second] = takes.map(Sound::file_name);
            format!("{first} and {second} are the same recording, sample for sample: look whether one was given twice")
        });
        let doubts = same.into_iter().chain(fit.doubts(&overlap)).chain(clipped).collect();
        let first = pickups[0].level().value();
        Ok(Self {
            between: pickups.map(|pickup| pickup.name().to_string()),
            level_db: fit.level,
            sd_db: (fit.bands.len() > 1).then_some(fit.deviation),
            spread_db: fit.spread,
            taken_for,
            levels_db: [first, first + fit.level],
            compared_s: overlap.length.value(),
            offset_s: overlap.offset.value(),
            bands: fit.bands,
            doubts,
        })
    }
}

/// How far the bands of two takes agree on a level.
struct Fit {
    level: f64,
    deviation: f64,
    spread: f64,
    bands: Vec<BalanceBand>,
}

impl Fit {
    /// Returns what `spectra` tell where the second is foretold to be the first times `ratios`, of powers, cell by cell. Bands
    /// weigh by their amplitude, since the weakest have the most noise; of strings also by their frequency, since so many more
    /// partials are in a band and their places are averaged.
    fn of(spectra: &[Spectrum; 2], taken: TakenFor, ratios: &[f64]) -> Self {
        let own = [spectra[0].bands(), spectra[1].bands()];
        let foretold = spectra[0].times(ratios).bands();
        let strongest = own.each_ref().map(|bands| bands.iter().copied().fold(0.0, f64::max));
        let least = 10f64.powf(-COUNTED.value() / 10.0);
        let is_heard = |i: &usize| (0..2).all(|take| own[take][*i] > least * strongest[take]);
        let heard: Vec<usize> = (0..foretold.len()).filter(is_heard).filter(|i| foretold[*i] > 0.0).collect();
        let level = |ratio: f64| Db::of_power(ratio).value();
        let off = |i: usize| level(own[1][i] / foretold[i]);
        let weight = |i: usize| {
            let partials = match taken {
                TakenFor::OneSignal => 1.0,
                TakenFor::Strings => Spectrum::centre(i).value() / REACH[0].value(),
            };
            partials * (own[0][i] / strongest[0]).sqrt()
        };
        let weights: f64 = heard.iter().map(|i| weight(*i)).sum();
        let mean = heard.iter().map(|i| weight(*i) * off(*i)).sum::<f64>() / weights;
        let variance = heard.iter().map(|i| weight(*i) * (off(*i) - mean).powi(2)).sum::<f64>() / weights;
        let squares: f64 = heard.iter().map(|i| weight(*i).powi(2)).sum();
        let bands = heard.iter().map(|i| BalanceBand {
            hz: Spectrum::centre(*i).value(),
            measured_db: level(own[1][*i] / own[0][*i]),
            foretold_db: level(foretold[*i] / own[0][*i]),
        });
        Self {
            level: mean,
            deviation: f64::hypot((variance * squares).sqrt() / weights, taken.deviation().value()),
            spread: variance.sqrt(),
            bands: bands.collect(),
        }
    }

    fn doubts(&self, overlap: &Overlap) -> Vec<String> {
        let mut doubts = Vec::new();
        let mut doubt = |is_so: bool, told: String| {
            if is_so {
                doubts.push(told);
            }
        };
        doubt(
            overlap.length.value() < SHORT.value(),
            format!("only {} are compared: play for some seconds", overlap.length),
        );
        doubt(
            overlap.likeness < UNLIKE,
            "the takes do not get louder and softer alike: play the same on both, as evenly as can be"
                .to_owned(),
        );
        doubt(
            self.bands.len() < FEW_BANDS,
            match self.bands.len() {
                1 => "only 1 third octave is loud enough: play chords over all strings".to_owned(),
                count => format!("only {count} third octaves are loud enough: play chords over all strings"),
            },
        );
        doubt(
            self.spread > SPREAD.value(),
            format!(
                "the bands are off by {:.1} dB from one level: look whether each take is of its pickup alone, with the knobs as \
                 the file has them",
                self.spread
            ),
        );
        doubt(
            self.level.abs() > UNUSUAL.value(),
            "that is more than heights make: look whether the recording's gain was changed between the takes"
                .to_owned(),
        );
        doubts
    }
}

/// Returns the mean of a take's channels.
fn mono(take: &Sound) -> Result<Vec<f64>, SoundError> {
    let planes = take.planes()?;
    let count = planes.len() as f64;
    Ok((0..planes[0].len()).map(|i| planes.iter().map(|plane| plane[i]).sum::<f64>() / count).collect())
}

/// Returns whether samples in a row lie at full scale, again and again.
fn is_clipped(samples: &[f64]) -> bool {
    const FULL: f64 = 0.999;
    const TIMES: usize = 3;
    samples.windows(3).filter(|run| run.iter().all(|sample| sample.abs() >= FULL)).count() >= TIMES
}

/// The frequencies that takes are compared at.
const REACH: [Hertz; 2] = [Hertz::new(80.0), Hertz::new(5000.0)];
