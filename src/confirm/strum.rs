//! What a strum measures: its level in third octaves, and which pitches are in it.

use super::onsets::{frames_in, median, part};
use crate::measure::{ThirdOctaveMeter, Unmeasurable, padded_spectrum};
use crate::quantity::{Hertz, Seconds};

/// Third octaves from 80 Hz to 8 kHz, by their exact mid-frequencies 1000 Hz · 10^(x/10), x from −11.
pub const BANDS: usize = 21;
const FIRST: i32 = -11;
/// What stands for silence, in dB.
pub(super) const SILENCE: f64 = -160.0;
/// How a part of a take begins and ends, so that neither is a click: in seconds.
const FADES: [f64; 2] = [0.004, 0.03];
/// Part of a strum lies before the moment at which the spectrum rises most.
const AHEAD: f64 = 0.02;

/// Cells in which pitches are looked for: from 80 Hz to 1.28 kHz, 24 an octave.
const CELLS: usize = 96;
const CELLS_FROM: f64 = 80.0;
const CELLS_IN_OCTAVE: f64 = 24.0;
/// A cell is told against those around it, so far to either side.
const AROUND: usize = 8;

/// One strum.
#[derive(Debug, Clone, PartialEq)]
pub struct Strum {
    /// When it begins in its take.
    pub at: Seconds,
    /// The level in each third octave, in dB against full scale.
    pub bands: [f64; BANDS],
    /// By how much each quarter tone stands out, in dB; nothing where that is not known.
    pub pitches: Vec<f64>,
}

/// Returns the exact mid-frequency of a third octave.
pub fn centre(band: usize) -> Hertz {
    Hertz::new(1000.0 * 10f64.powf((band as f64 + f64::from(FIRST)) / 10.0))
}

/// Returns the third octave that a frequency is in.
pub(super) fn band_of(hz: f64) -> Option<usize> {
    (0..BANDS).find(|band| (10.0 * (hz / centre(*band).value()).log10()).abs() <= 0.5)
}

impl Strum {
    /// Returns the strum that begins at `at` in `samples`, by so much of it.
    ///
    /// # Errors
    /// [`Unmeasurable`] where the rate is out of range or a sample is not finite.
    pub(super) fn measured(
        samples: &[f64],
        rate_hz: u32,
        at: Seconds,
        length: Seconds,
    ) -> Result<Self, Unmeasurable> {
        let rate = f64::from(rate_hz);
        let within = [-AHEAD, length.value() - AHEAD];
        let faded = faded(part(samples, rate, at.value(), within), rate);
        Ok(Self { at, bands: levels(&faded, rate_hz)?, pitches: pitches(&faded, rate) })
    }

    /// Returns the level of all its bands together that `counts` says, in dB.
    pub(super) fn level(&self, counts: impl Fn(usize) -> bool) -> f64 {
        together(&self.bands, counts)
    }
}

/// Returns the level of all those bands together that `counts` says, in dB.
pub(super) fn together(bands: &[f64], counts: impl Fn(usize) -> bool) -> f64 {
    let powers = bands.iter().enumerate().filter(|(band, _)| counts(*band));
    let power: f64 = powers.map(|(_, level)| 10f64.powf(level / 10.0)).sum();
    (10.0 * power.log10()).max(SILENCE)
}

/// Returns the levels of the bands of `samples`; those that the rate does not reach are silent.
pub(super) fn levels(samples: &[f64], rate_hz: u32) -> Result<[f64; BANDS], Unmeasurable> {
    let mut meter = ThirdOctaveMeter::new(rate_hz, 1)?;
    meter.push(&[samples])?;
    let mut levels = [SILENCE; BANDS];
    for band in meter.finish() {
        let hz = band.centre().value();
        // The last band below half the rate may be cut off.
        let is_whole = hz * 1.13 < 0.5 * f64::from(rate_hz);
        if let Some(own) = band_of(hz).filter(|_| is_whole) {
            levels[own] = band.level().value().max(SILENCE);
        }
    }
    Ok(levels)
}

fn faded(samples: &[f64], rate: f64) -> Vec<f64> {
    let [rise, fall] = FADES.map(|fade| frames_in(fade, 1.0 / rate).max(1));
    let count = samples.len();
    let gain = |n: usize| {
        let begins = ((n as f64 + 0.5) / rise as f64).min(1.0);
        let ends = ((count - n) as f64 / fall as f64).min(1.0);
        begins * ends
    };
    samples.iter().enumerate().map(|(n, sample)| sample * gain(n)).collect()
}

/// Returns by how much each quarter tone stands out of those around it, in dB.
pub(super) fn pitches(samples: &[f64], rate: f64) -> Vec<f64> {
    let length = (2 * samples.len()).next_power_of_two().max(2);
    let mut cells = vec![0.0_f64; CELLS];
    for (k, bin) in padded_spectrum(samples, length).iter().enumerate().skip(1) {
        let octaves = (k as f64 * rate / length as f64 / CELLS_FROM).log2();
        let place = octaves * CELLS_IN_OCTAVE;
        if (0.0..CELLS as f64).contains(&place) {
            cells[frames_in(place.floor(), 1.0)] += bin.norm_sqr();
        }
    }
    let strongest = cells.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
    // What is 50 dB below the strongest does not stand out.
    let levels: Vec<f64> = cells.iter().map(|power| 10.0 * (power / strongest + 1e-5).log10()).collect();
    let around = |cell: usize| median(&levels[cell.saturating_sub(AROUND)..(cell + AROUND + 1).min(CELLS)]);
    (0..CELLS).map(|cell| (levels[cell] - around(cell)).max(0.0)).collect()
}

/// Returns how alike the pitches of two sounds are: their correlation, nothing where one is not known.
pub(super) fn alike(one: &[f64], other: &[f64]) -> Option<f64> {
    let count = one.len() as f64;
    if one.is_empty() || one.len() != other.len() {
        return None;
    }
    let means = [one, other].map(|own| own.iter().sum::<f64>() / count);
    let product = |x: &[f64], a: usize, y: &[f64], b: usize| -> f64 {
        x.iter().zip(y).map(|(x, y)| (x - means[a]) * (y - means[b])).sum()
    };
    let size = (product(one, 0, one, 0) * product(other, 1, other, 1)).sqrt();
    (size > 0.0).then(|| product(one, 0, other, 1) / size)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::guitar::Guitar;
    use crate::pluck::{CoilPlace, Layout, Phrase, Recipe, Settings};

    fn chord(text: &str, seed: u64) -> Strum {
        let guitar = Guitar::built_in("set-neck").unwrap();
        let layout = Layout::of(&guitar, guitar.pickup(None), CoilPlace::APERTURE).unwrap();
        let phrase = Phrase::parse("chord", text).unwrap();
        let settings = Settings { length: Some(Seconds::new(1.5)), seed, ..Settings::default() };
        let take = Recipe::new(&phrase, layout, settings).unwrap().render();
        Strum::measured(take.sum(), 48_000, Seconds::new(0.0), Seconds::new(1.0)).unwrap()
    }

    #[test]
    fn a_strum_has_its_levels_where_it_sounds() {
        let samples: Vec<f64> =
            (0..48_000).map(|n| (f64::from(n) * std::f64::consts::TAU * 1000.0 / 48_000.0).sin()).collect();
        let strum = Strum::measured(&samples, 48_000, Seconds::new(0.1), Seconds::new(0.8)).unwrap();
        assert!((strum.bands[11] + 3.01).abs() < 0.2, "{:?}", strum.bands);
        assert!((strum.level(|_| true) + 3.01).abs() < 0.2);
        assert!(strum.bands[..9].iter().all(|level| *level < -50.0), "{:?}", strum.bands);
        let low = levels(&samples[..8000], 8000).unwrap();
        assert!(low[18..].iter().all(|level| *level <= SILENCE), "beyond the rate: {low:?}");
    }

    #[test]
    fn the_same_chord_has_the_same_pitches_and_another_has_not() {
        let (first, again, other) = (chord("022100", 1), chord("022100", 2), chord("320003", 1));
        let same = alike(&first.pitches, &again.pitches).unwrap();
        let apart = alike(&first.pitches, &other.pitches).unwrap();
        assert!(same > 0.85 && apart < 0.5, "{same} {apart}");
        assert_eq!(alike(&first.pitches, &[]), None);
    }
}
