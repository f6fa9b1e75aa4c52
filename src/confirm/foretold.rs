//! What each voice of a guitar is foretold to sound like, in third octaves: many guitars drawn within the tolerances, each
//! playing what a person may have played.

use std::f64::consts::TAU;

use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;

use super::strum::{BANDS, SILENCE, band_of};
use crate::bands::Draws;
use crate::circuit::{SolveError, Sweep};
use crate::guitar::Guitar;
use crate::measure::CrossSpectrum;
use crate::pluck::{CoilPlace, Layout, Phrase, Recipe, Settings, Unplayable};
use crate::quantity::{Hertz, Metres, Seconds};
use crate::response::{Scope, Voice, VoiceError, VoiceResponse, wave_speeds};
use crate::workers::share_out;

/// The guitars that are drawn. A standard deviation is then good to 5 %.
const DRAWS: usize = 200;
/// Draws that a thread takes at once.
const SHARE: usize = 10;
/// How far each coil, and each pickup whose level nobody has measured, may be from what the file says: a pole piece's or a
/// pickup's height. The first is the design's figure for coils, the second a convention.
const COIL_DB: f64 = 0.8;
const PICKUP_DB: f64 = 2.5;
/// What the model itself may be off in a third octave, as a standard deviation: cores, covers, strings. A convention, from what
/// measured coils were off by.
const MODEL_DB: f64 = 0.25;
/// The same where coils sound against each other: what is left where they cancel goes by what no such model has.
const AGAINST_DB: f64 = 1.0;
/// The same of one circuit against itself.
const SAME_DB: f64 = 0.15;

/// What is played: chords over all strings or five, four and three of them, open and higher up, at places where people play.
const CHORDS: [(&str, f64); 12] = [
    ("022100", 0.14),
    ("320003", 0.11),
    ("x02220", 0.16),
    ("xx0232", 0.13),
    ("x32010", 0.10),
    ("133211", 0.15),
    ("022000", 0.18),
    ("x35553", 0.12),
    ("577655", 0.14),
    ("x02210", 0.17),
    ("xx0231", 0.12),
    ("355433", 0.10),
];
const CHORD_RATE: u32 = 24_000;
const CHORD_LENGTH: Seconds = Seconds::new(1.0);

/// A partial of a note, as it was found in a take.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Partial {
    /// Its frequency.
    pub(super) frequency: Hertz,
    /// Which note it is of.
    pub(super) note: usize,
    /// That note's fundamental.
    pub(super) fundamental: Hertz,
    /// The third octave that it is in.
    pub(super) band: usize,
    /// How much it counts there.
    pub(super) weight: f64,
}

/// What is played.
enum Played {
    Chords(Vec<CrossSpectrum>),
    Notes(Vec<Partial>),
}

/// The levels of every voice in each of many draws.
#[derive(Debug, Clone)]
pub(super) struct Foretold {
    /// By voice, then by draw.
    levels: Vec<Vec<[f64; BANDS]>>,
    /// For each voice the first that is the same circuit.
    same_as: Vec<usize>,
    /// Of each voice whether its coils sound against each other.
    is_reversed: Vec<bool>,
}

/// How two voices are foretold to differ in some third octaves.
#[derive(Debug, Clone)]
pub(super) struct Difference {
    pub(super) mean: DVector<f64>,
    pub(super) covariance: DMatrix<f64>,
}

/// Why nothing can be foretold.
#[derive(Debug, Clone, thiserror::Error)]
pub enum ForetoldError {
    /// A voice has no circuit or no response.
    #[error(transparent)]
    Voice(#[from] VoiceError),
    /// The guitar's coils lie where strings cannot be played over them.
    #[error("no chord can be played over those coils: {0}")]
    Unplayable(Unplayable),
}

impl From<SolveError> for ForetoldError {
    fn from(error: SolveError) -> Self {
        Self::Voice(error.into())
    }
}

impl Foretold {
    /// Returns what `voices` of `guitar` are foretold to sound like in chords, worked out by up to so many threads.
    pub(super) fn of_chords(
        guitar: &Guitar,
        scope: Scope<'_>,
        voices: &[Voice],
        workers: usize,
    ) -> Result<Self, ForetoldError> {
        let chord = |(text, place): (&str, f64)| {
            let unplayable = |faults: Vec<Unplayable>| match faults.into_iter().next() {
                Some(fault) => ForetoldError::Unplayable(fault),
                None => ForetoldError::Unplayable(Unplayable::CoilCount { given: 0 }),
            };
            let layout =
                Layout::of(guitar, scope.pickups(guitar), CoilPlace::APERTURE).map_err(unplayable)?;
            let settings = Settings {
                pluck_at: Metres::new(place),
                length: Some(CHORD_LENGTH),
                rate: CHORD_RATE,
                ..Settings::default()
            };
            let phrase = Phrase::parse("chord", text).expect("frets of a chord");
            let take = Recipe::new(&phrase, layout, settings).map_err(unplayable)?.render();
            Ok(CrossSpectrum::of(take.rate(), take.coils()))
        };
        let chords: Result<Vec<CrossSpectrum>, ForetoldError> =
            share_out(CHORDS, workers, chord).into_iter().collect();
        Self::of(guitar, scope, voices, &Played::Chords(chords?), workers)
    }

    /// Returns the same of single notes whose `partials` were found; on which strings is not known.
    pub(super) fn of_notes(
        guitar: &Guitar,
        scope: Scope<'_>,
        voices: &[Voice],
        partials: Vec<Partial>,
        workers: usize,
    ) -> Result<Self, ForetoldError> {
        Self::of(guitar, scope, voices, &Played::Notes(partials), workers)
    }

    fn of(
        guitar: &Guitar,
        scope: Scope<'_>,
        voices: &[Voice],
        played: &Played,
        workers: usize,
    ) -> Result<Self, ForetoldError> {
        let responses: Result<Vec<VoiceResponse>, VoiceError> =
            voices.iter().map(|voice| voice.response(guitar, scope)).collect();
        let responses = responses?;
        let sweeps: Vec<Sweep> = responses.iter().map(|response| Sweep::of(response.circuit())).collect();
        let shares = (0..DRAWS).step_by(SHARE).map(|from| from..(from + SHARE).min(DRAWS));
        let told = share_out(shares.collect::<Vec<_>>(), workers, |share| {
            share.map(|number| drawn(guitar, scope, &responses, &sweeps, played, number)).collect()
        });
        let told: Result<Vec<Vec<Vec<[f64; BANDS]>>>, ForetoldError> = told.into_iter().collect();
        let draws: Vec<Vec<[f64; BANDS]>> = told?.into_iter().flatten().collect();
        let likenesses: Result<Vec<_>, VoiceError> =
            voices.iter().map(|voice| voice.likeness(guitar, scope)).collect();
        let likenesses = likenesses?;
        let same =
            |voice: usize| likenesses.iter().position(|other| *other == likenesses[voice]).unwrap_or(voice);
        Ok(Self {
            levels: (0..voices.len()).map(|voice| draws.iter().map(|own| own[voice]).collect()).collect(),
            same_as: (0..voices.len()).map(same).collect(),
            is_reversed: responses.iter().map(|response| !response.in_phase()).collect(),
        })
    }

    /// Returns whether the coils of a voice sound against each other.
    pub(super) fn is_reversed(&self, voice: usize) -> bool {
        self.is_reversed[voice]
    }

    /// Returns how `later` differs from `first` in the third octaves `bands`.
    pub(super) fn difference(&self, first: usize, later: usize, bands: &[usize]) -> Difference {
        let count = bands.len();
        if self.same_as[first] == self.same_as[later] {
            return Difference {
                mean: DVector::zeros(count),
                covariance: DMatrix::from_diagonal_element(count, count, SAME_DB * SAME_DB),
            };
        }
        let pairs = self.levels[first].iter().zip(&self.levels[later]);
        let drawn: Vec<DVector<f64>> = pairs
            .map(|(first, later)| {
                DVector::from_iterator(count, bands.iter().map(|band| later[*band] - first[*band]))
            })
            .collect();
        let draws = drawn.len().max(2) as f64;
        let mean = drawn.iter().fold(DVector::zeros(count), |sum, own| sum + own) / draws;
        let is_reversed = self.is_reversed[first] || self.is_reversed[later];
        let of_model: f64 = if is_reversed { AGAINST_DB } else { MODEL_DB };
        let mut covariance = DMatrix::from_diagonal_element(count, count, of_model.powi(2));
        for own in &drawn {
            let off = own - &mean;
            covariance.ger(1.0 / (draws - 1.0), &off, &off, 1.0);
        }
        Difference { mean, covariance }
    }
}

/// Returns the levels of every voice of the guitar of this draw.
fn drawn(
    guitar: &Guitar,
    scope: Scope<'_>,
    responses: &[VoiceResponse],
    sweeps: &[Sweep],
    played: &Played,
    number: usize,
) -> Result<Vec<[f64; BANDS]>, ForetoldError> {
    let own = Draws::of(guitar).draw(number as u64);
    let heights = heights(&own, scope, number);
    let gains: Vec<f64> =
        outputs(&own, scope).into_iter().zip(heights).map(|(out, height)| out * height).collect();
    let frequencies: Vec<Hertz> = match played {
        Played::Chords(chords) => chords[number % chords.len()].frequencies().collect(),
        Played::Notes(partials) => partials.iter().map(|partial| partial.frequency).collect(),
    };
    let strings = match played {
        Played::Chords(_) => Vec::new(),
        Played::Notes(partials) => on_strings(&own, scope, partials, number),
    };
    let of_voice = |(response, sweep): (&VoiceResponse, &Sweep)| {
        let circuit = response.voice().circuit(&own, scope.on(&own))?;
        // A drawn pot may leave a resistance that is a short, or is none any more.
        let mut paths = if sweep.fits(&circuit) {
            sweep.responses(&circuit, &frequencies)?
        } else {
            Sweep::of(&circuit).responses(&circuit, &frequencies)?
        };
        for (path, gain) in paths.iter_mut().flat_map(|paths| paths.iter_mut().zip(&gains)) {
            *path *= gain;
        }
        Ok(match played {
            Played::Chords(chords) => in_bands(&chords[number % chords.len()], &paths),
            Played::Notes(partials) => of_partials(partials, &strings, &paths),
        })
    };
    responses.iter().zip(sweeps).map(of_voice).collect()
}

fn outputs(guitar: &Guitar, scope: Scope<'_>) -> Vec<f64> {
    scope
        .on(guitar)
        .pickups(guitar)
        .into_iter()
        .flat_map(|pickup| {
            let level = pickup.level().amplitude();
            std::iter::once(pickup.coil_a()).chain(pickup.coil_b()).map(move |coil| coil.output() * level)
        })
        .collect()
}

/// Returns by how much each coil is louder than its file says, evenly spread over the draws: multiples of irrational numbers,
/// which leave no gaps.
fn heights(guitar: &Guitar, scope: Scope<'_>, number: usize) -> Vec<f64> {
    /// Square roots of primes.
    const STEPS: [f64; 12] = [
        6.403_124_237,
        1.732_050_808,
        2.236_067_977,
        2.645_751_311,
        3.316_624_790,
        3.605_551_275,
        4.123_105_626,
        4.358_898_944,
        4.795_831_523,
        5.385_164_807,
        5.567_764_363,
        6.082_762_530,
    ];
    let spread = |which: usize| 2.0 * ((number as f64 + 0.5) * STEPS[which % STEPS.len()]).fract() - 1.0;
    let pickups = scope.on(guitar).pickups(guitar);
    let several = pickups.len() > 1;
    let mut coil = 0;
    let mut heights = Vec::new();
    for (place, pickup) in pickups.into_iter().enumerate() {
        let own = if several && !pickup.states_level() { PICKUP_DB * spread(8 + place) } else { 0.0 };
        for _ in pickup.coil_places() {
            heights.push(10f64.powf((own + COIL_DB * spread(coil)) / 20.0));
            coil += 1;
        }
    }
    heights
}

fn in_bands(chord: &CrossSpectrum, paths: &[Vec<Complex64>]) -> [f64; BANDS] {
    let told = chord.levels(paths).third_octaves;
    let mut levels = [SILENCE; BANDS];
    for (power, middle) in told.iter().zip(CrossSpectrum::third_octaves()) {
        if let Some(band) = band_of(middle.value()) {
            levels[band] = (10.0 * power.log10()).max(SILENCE);
        }
    }
    levels
}

/// Returns for each partial what each coil hears of it, on a string that its note can be played on, which goes by the draw.
fn on_strings(guitar: &Guitar, scope: Scope<'_>, partials: &[Partial], number: usize) -> Vec<Vec<f64>> {
    let speeds = wave_speeds(guitar.scale());
    let places = scope.on(guitar).places(guitar);
    let of = |partial: &Partial| {
        let open = |speed: f64| speed / (2.0 * guitar.scale().value());
        let can: Vec<f64> = speeds
            .iter()
            .copied()
            .filter(|speed| (0.98..4.1).contains(&(partial.fundamental.value() / open(*speed))))
            .collect();
        let strings = if can.is_empty() { &speeds } else { &can };
        let speed = strings[(number * 7 + partial.note * 3 + number / strings.len()) % strings.len()];
        places.iter().map(|place| (TAU * partial.frequency.value() * place.value() / speed).sin()).collect()
    };
    partials.iter().map(of).collect()
}

/// Returns the mean level of the partials in each third octave.
fn of_partials(partials: &[Partial], strings: &[Vec<f64>], paths: &[Vec<Complex64>]) -> [f64; BANDS] {
    /// What is left in the null of a string that is not ideal.
    const LEAST: f64 = 1e-3;
    let (mut sums, mut weights) = ([0.0; BANDS], [0.0; BANDS]);
    for ((partial, heard), paths) in partials.iter().zip(strings).zip(paths) {
        let sum: Complex64 = paths.iter().zip(heard).map(|(path, heard)| path * heard).sum();
        sums[partial.band] += partial.weight * 10.0 * (sum.norm_sqr() + LEAST * LEAST).log10();
        weights[partial.band] += partial.weight;
    }
    std::array::from_fn(|band| if weights[band] > 0.0 { sums[band] / weights[band] } else { SILENCE })
}
