//! A take's energy in cells so narrow that a circuit's response is one figure in each.

use super::REACH;
use crate::measure::padded_spectrum;
use crate::quantity::Hertz;

/// Cells in a third octave.
const PARTS: usize = 16;

/// The energy of a take, cell by cell, whatever its rate.
pub(super) struct Spectrum(Vec<f64>);

impl Spectrum {
    /// Returns the spectrum of `samples`.
    pub(super) fn of(samples: &[f64], rate_hz: u32) -> Self {
        let length = samples.len().max(rate_hz as usize).next_power_of_two();
        let mut cells = vec![0.0; Self::count()];
        let width = f64::from(rate_hz) / length as f64;
        for (k, bin) in padded_spectrum(samples, length).iter().enumerate().skip(1) {
            let place = (k as f64 * width / REACH[0].value()).log10() * 10.0 * PARTS as f64;
            if let Some(cell) = cell_at(place).and_then(|cell| cells.get_mut(cell)) {
                // An energy: that of a sample is its square for as long as it lasts.
                *cell += bin.norm_sqr() / (length as f64 * f64::from(rate_hz));
            }
        }
        Self(cells)
    }

    /// Returns the middle of each cell.
    pub(super) fn cells() -> Vec<Hertz> {
        let middle = |cell: usize| at((cell as f64 + 0.5) / PARTS as f64);
        (0..Self::count()).map(middle).collect()
    }

    /// Returns the middle of a third octave.
    pub(super) fn centre(band: usize) -> Hertz {
        at(band as f64 + 0.5)
    }

    /// Returns the spectrum with the power of each cell times its ratio.
    pub(super) fn times(&self, ratios: &[f64]) -> Self {
        Self(self.0.iter().zip(ratios).map(|(energy, ratio)| energy * ratio).collect())
    }

    /// Returns the energy in each third octave.
    pub(super) fn bands(&self) -> Vec<f64> {
        self.0.chunks_exact(PARTS).map(|cells| cells.iter().sum()).collect()
    }

    fn count() -> usize {
        let bands = (0..).take_while(|band| at(f64::from(*band) + 1.0).value() <= REACH[1].value() * 1.01);
        bands.count() * PARTS
    }
}

/// Returns the frequency so many third octaves, ten of which are a decade, above the lowest.
fn at(thirds: f64) -> Hertz {
    Hertz::new(REACH[0].value() * 10f64.powf(thirds / 10.0))
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a place that is not negative, rounded down"
)]
fn cell_at(place: f64) -> Option<usize> {
    (place >= 0.0).then_some(place as usize)
}
