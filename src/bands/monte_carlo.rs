//! The bands of a set of voices.

use std::ops::RangeInclusive;
use std::sync::LazyLock;

use num_complex::Complex64;

use super::quantile::quantile;
use super::{Band, Draws};
use crate::circuit::{Circuit, SolveError, Sweep};
use crate::guitar::{Coil, Guitar};
use crate::measure::{CrossSpectrum, Listening};
use crate::quantity::{Db, Hertz};
use crate::response::{LOW, Peak, Resonance, Scope, VoiceError, VoiceResponse};
use crate::workers::share_out;

/// What bands are worked out for.
#[derive(Debug, Clone, Copy)]
pub struct BandsInput<'s> {
    /// The guitar as its file has it.
    pub guitar: &'s Guitar,
    /// What of it is heard.
    pub scope: Scope<'s>,
    /// The voices, with every part as the file has it.
    pub voices: &'s [VoiceResponse],
    /// The place of the baseline among them.
    pub baseline: usize,
    /// A neutral source with a channel for each coil, by which loudness is told.
    pub source: &'s CrossSpectrum,
}

/// The bands of all voices.
#[derive(Debug, Clone, PartialEq)]
pub struct Bands {
    /// How many guitars were drawn.
    pub draws: usize,
    /// One a voice, in their order.
    pub voices: Vec<VoiceBands>,
}

/// The bands of one voice.
#[derive(Debug, Clone, PartialEq)]
pub struct VoiceBands {
    /// Of its resonance in hertz.
    pub resonance: Option<Band>,
    /// Of its Q.
    pub q: Option<Band>,
    /// Of the frequency in hertz at which its response is highest, where that is a peak.
    pub peak: Option<Band>,
    /// Of its level at low frequency against the baseline's in dB, where its coils sound in phase.
    pub drop: Option<Band>,
    /// Of its loudness with the source, without gates, against the baseline's in LU.
    pub drop_loudness: Option<Band>,
    /// Of its response, in dB against the baseline's at low frequency.
    pub response: Vec<CurveBand>,
    /// Of its difference to the baseline in dB.
    pub difference: Vec<CurveBand>,
    /// The voices, by their places, that it can not be told from for sure: the same coils sound in the same phase, and
    /// in more than one draw of twenty the responses differ by less than [`Bands::TOLD_APART`].
    pub alike: Vec<usize>,
}

/// A band at one frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurveBand {
    /// The frequency.
    pub frequency: Hertz,
    /// The levels.
    pub band: Band,
}

impl Bands {
    /// Two voices whose responses differ by less, by the rule of [`Listening`], are not called different. A convention, no
    /// source.
    pub const TOLD_APART: Db = Db::new(1.0);
    /// The draws that are usual: the band's ends are then good to a few hundredths of its width.
    pub const USUAL_DRAWS: u32 = 1000;
    /// The draws that may be asked for: fewer leave the band's ends uncertain, more change nothing that is told.
    pub const DRAWS: RangeInclusive<u32> = 100..=10_000;
}

/// The frequencies of the curves: 200 from 50 Hz to 20 kHz.
static GRID: LazyLock<Vec<Hertz>> =
    LazyLock::new(|| (0..200).map(|i| Hertz::new(50.0 * 400f64.powf(f64::from(i) / 199.0))).collect());

/// How two responses are compared.
static RULE: LazyLock<Listening> = LazyLock::new(|| Listening::along(GRID.iter().copied()));

/// What stands for silence in a curve.
const SILENCE: f64 = -200.0;

/// Draws that a thread takes at once.
const SHARE: usize = 25;

/// What one draw makes of one voice.
struct Told {
    curve: Vec<f64>,
    low: f64,
    loudness: f64,
    resonance: Option<(f64, f64)>,
    peak: Option<f64>,
}

/// Returns the levels in dB of the path of `circuit`, that of a voice which is told by `weights`, in which the voice's
/// character shows, along the grid and at last at the low frequency.
pub(super) fn curve(weights: &[f64], circuit: &Circuit, sweep: &Sweep) -> Result<Vec<f64>, SolveError> {
    let frequencies: Vec<Hertz> = GRID.iter().copied().chain([LOW]).collect();
    let told =
        |paths: &Vec<Complex64>| paths.iter().zip(weights).map(|(p, w)| p * w).sum::<Complex64>().norm();
    let paths = swept(circuit, sweep, &frequencies)?;
    Ok(paths.iter().map(|paths| (20.0 * told(paths).log10()).max(SILENCE)).collect())
}

/// Returns the outputs of what is heard of `guitar`, in the order of the coils.
pub(super) fn outputs(guitar: &Guitar, scope: Scope<'_>) -> Vec<f64> {
    scope.on(guitar).coils(guitar).map(Coil::output).collect()
}

/// Returns the weights by which `voice` is told with the coils at these `outputs`.
pub(super) fn telling(voice: &VoiceResponse, outputs: &[f64]) -> Vec<f64> {
    let is_told = voice.telling_weights().iter().map(|weight| *weight != 0.0);
    is_told.zip(outputs).map(|(is_told, output)| if is_told { *output } else { 0.0 }).collect()
}

/// Returns each coil's path in `circuit` at `frequencies`. `sweep` fits most circuits of a voice.
fn swept(circuit: &Circuit, sweep: &Sweep, frequencies: &[Hertz]) -> Result<Vec<Vec<Complex64>>, SolveError> {
    // A drawn pot may leave a resistance that is a short, or is none any more.
    if sweep.fits(circuit) {
        sweep.responses(circuit, frequencies)
    } else {
        Sweep::of(circuit).responses(circuit, frequencies)
    }
}

/// Returns where the `curve` along the grid is highest, by the parabola through the three highest neighbours; nothing where
/// it rises too little above `low` to be a peak, or highest at an end.
fn peak(curve: &[f64], low: f64) -> Option<f64> {
    let (at, _) = curve.iter().enumerate().max_by(|(_, one), (_, other)| one.total_cmp(other))?;
    let (left, highest, right) = (*curve.get(at.checked_sub(1)?)?, curve[at], *curve.get(at + 1)?);
    let bend = left - 2.0 * highest + right;
    let off = if bend < 0.0 { 0.5 * (left - right) / bend } else { 0.0 };
    let step = (GRID[at + 1].value() / GRID[at].value()).ln();
    (highest - low >= Peak::LEAST.value()).then(|| GRID[at].value() * (off * step).exp())
}

/// Returns how far two curves along the grid are from each other, in dB, by the rule of [`Listening`].
pub(super) fn unlike(one: &[f64], other: &[f64]) -> f64 {
    Listening::distance(&RULE.point(one), &RULE.point(other)).value()
}

/// Returns the bands of `setting` from so many `draws`, worked out on up to so many `workers`; the result does
/// not depend on their number.
///
/// # Errors
/// [`VoiceError`] where a circuit has no solution.
pub fn bands(setting: &BandsInput<'_>, draws: usize, workers: usize) -> Result<Bands, VoiceError> {
    let shares: Vec<std::ops::Range<usize>> =
        (0..draws).step_by(SHARE).map(|from| from..(from + SHARE).min(draws)).collect();
    let told: Result<Vec<Vec<Vec<Told>>>, VoiceError> =
        share_out(shares, workers, |share| told_in(setting, share)).into_iter().collect();
    let told: Vec<Vec<Told>> = told?.into_iter().flatten().collect();
    let voices = 0..setting.voices.len();
    Ok(Bands { draws, voices: voices.map(|voice| of_voice(setting, &told, voice)).collect() })
}

/// Returns, for each draw of `numbers`, what it makes of each voice.
fn told_in(setting: &BandsInput<'_>, numbers: std::ops::Range<usize>) -> Result<Vec<Vec<Told>>, VoiceError> {
    let draws = Draws::of(setting.guitar);
    let source: Vec<Hertz> = setting.source.frequencies().collect();
    let sweeps: Vec<Sweep> = setting.voices.iter().map(|voice| Sweep::of(voice.circuit())).collect();
    let tell = |guitar: &Guitar, outputs: &[f64], voice: &VoiceResponse, sweep: &Sweep| {
        let circuit = voice.voice().circuit(guitar, setting.scope.on(guitar))?;
        let weights = telling(voice, outputs);
        let mut curve = curve(&weights, &circuit, sweep)?;
        let low = curve.pop().unwrap_or(SILENCE);
        let resonance = Resonance::of(&circuit, &weights);
        let mut heard = swept(&circuit, sweep, &source)?;
        for (path, output) in heard.iter_mut().flat_map(|paths| paths.iter_mut().zip(outputs)) {
            *path *= output;
        }
        let loudness = setting.source.levels(&heard).k_weighted.value();
        let resonance = resonance.map(|r| (r.frequency.value(), r.q));
        Ok(Told { peak: peak(&curve, low), curve, low, loudness, resonance })
    };
    numbers
        .map(|number| {
            let guitar = draws.draw(number as u64);
            let outputs = outputs(&guitar, setting.scope);
            let voices = setting.voices.iter().zip(&sweeps);
            voices.map(|(voice, sweep)| tell(&guitar, &outputs, voice, sweep)).collect()
        })
        .collect()
}

fn of_voice(setting: &BandsInput<'_>, told: &[Vec<Told>], voice: usize) -> VoiceBands {
    let baseline = setting.baseline;
    let each = |of: &dyn Fn(&Told, &Told) -> f64| -> Vec<f64> {
        told.iter().map(|draw| of(&draw[voice], &draw[baseline])).collect()
    };
    let of = |values: Vec<f64>| Band::of(values, told.len());
    let along = |of_one: &dyn Fn(&Told, &Told, usize) -> f64| -> Vec<CurveBand> {
        let bands = GRID.iter().enumerate().filter_map(|(k, frequency)| {
            of(each(&|own, base| of_one(own, base, k))).map(|band| CurveBand { frequency: *frequency, band })
        });
        bands.collect()
    };
    let told_apart = |other: usize| {
        let mut apart: Vec<f64> =
            told.iter().map(|draw| unlike(&draw[voice].curve, &draw[other].curve)).collect();
        apart.sort_by(f64::total_cmp);
        !apart.is_empty() && quantile(&apart, 0.05) >= Bands::TOLD_APART.value()
    };
    // Other coils, or the same against each other, are told apart by the strings and not by the circuit.
    let heard = |voice: &VoiceResponse| (voice.sounding().to_vec(), voice.in_phase());
    let own = heard(&setting.voices[voice]);
    let others = (0..setting.voices.len()).filter(|other| *other != voice);
    let others = others.filter(|other| heard(&setting.voices[*other]) == own);
    VoiceBands {
        resonance: of(each(&|own, _| own.resonance.map_or(f64::NAN, |(f, _)| f))),
        q: of(each(&|own, _| own.resonance.map_or(f64::NAN, |(_, q)| q))),
        peak: of(each(&|own, _| own.peak.unwrap_or(f64::NAN))),
        drop: of(each(&|own, base| own.low - base.low))
            .filter(|_| voice != baseline && setting.voices[voice].in_phase()),
        drop_loudness: of(each(&|own, base| own.loudness - base.loudness)).filter(|_| voice != baseline),
        response: along(&|own, base, k| own.curve[k] - base.low),
        difference: along(&|own, base, k| own.curve[k] - base.curve[k]),
        alike: others.filter(|other| !told_apart(*other)).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_peak_is_found_between_the_points_of_the_grid_and_none_where_nothing_rises() {
        let hump = |top: f64, height: f64| -> Vec<f64> {
            GRID.iter().map(|f| height - 8.0 * (f.value() / top).ln().powi(2)).collect()
        };
        for top in [812.0, 3210.0, 9100.0] {
            let found = peak(&hump(top, 4.0), 0.0).unwrap();
            assert!((found / top - 1.0).abs() < 1e-9, "{found} for {top}");
        }
        assert_eq!(peak(&hump(3000.0, 0.9), 0.0), None);
        assert_eq!(peak(&hump(60e3, 40.0), 0.0), None, "highest at the end");
    }

    #[test]
    fn curves_are_unlike_by_what_is_heard_of_them_at_equal_levels() {
        let flat = vec![0.0; GRID.len()];
        let with = |level: &dyn Fn(f64) -> f64| GRID.iter().map(|f| level(f.value())).collect::<Vec<f64>>();
        assert!(unlike(&flat, &with(&|_| -7.5)) < 1e-12, "a change of level alone");
        let beyond = with(&|f| if f < 18_500.0 { 0.0 } else { -20.0 });
        assert!(unlike(&flat, &beyond) < 0.1, "what the loudspeaker does not give");
        let treble = with(&|f| if f < 2000.0 { 0.0 } else { 4.0 });
        assert!(unlike(&flat, &treble) > 1.5, "{}", unlike(&flat, &treble));
    }
}
