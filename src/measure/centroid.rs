//! The spectral centroid: how bright a sound is.

use std::array;

use crate::quantity::Hertz;
use crate::vectors::in_wide_vectors;

use super::guard::{Guard, Unmeasurable};
use super::transform::HannPair;
use super::true_peak::largest;

/// The spectral centroid's definition in words, for reports.
///
/// Weighting by magnitude and by power give very different figures; this is by magnitude.
pub const CENTROID_DEFINITION: &str = "magnitude-weighted mean of the bin frequencies 0 to half the rate \
    (DC bin included), of frames of 2048 samples under a periodic Hann window, hop 1024, no padding, whole \
    frames only; frames weighted by their energy, the sum of |X|^2 over the same bins; mean of the channels \
    that are not silent";

const FRAME: usize = 2048;
const HOP: usize = 1024;
/// The samples under two frames that follow each other.
const TWO_FRAMES: usize = FRAME + HOP;
/// Numbers added side by side, in the shape of a processor's vectors.
const LANES: usize = 16;

/// Measures the spectral centroid of a sound as its blocks go by, by [`CENTROID_DEFINITION`].
///
/// The result is the same, to the last bit, however the sound is cut into blocks; the memory is constant.
#[derive(Debug, Clone)]
pub struct CentroidMeter {
    guard: Guard,
    rate_hz: u32,
    /// In single precision, whose rounding moves a centroid by less than a millionth of the rate.
    transform: HannPair,
    channels: Vec<Channel>,
}

impl CentroidMeter {
    /// Returns a meter for a sound of `rate_hz` samples a second and `channels` channels.
    ///
    /// # Errors
    /// [`Unmeasurable::Rate`] and [`Unmeasurable::Channels`] where they are out of range.
    pub fn new(rate_hz: u32, channels: usize) -> Result<Self, Unmeasurable> {
        Ok(Self {
            guard: Guard::new(rate_hz, channels)?,
            rate_hz,
            transform: HannPair::new(FRAME),
            channels: vec![Channel::default(); channels],
        })
    }

    /// Measures the next samples: one slice a channel, all of one length.
    ///
    /// # Errors
    /// [`Unmeasurable::Shape`] for a block of another shape and [`Unmeasurable::Sample`] for the first sample
    /// that is not finite; nothing of such a block is measured.
    pub fn push(&mut self, block: &[&[f64]]) -> Result<(), Unmeasurable> {
        self.guard.admit(block)?;
        self.add(block);
        Ok(())
    }

    /// Measures samples that another guard has let in.
    pub(super) fn add(&mut self, block: &[&[f64]]) {
        for (channel, samples) in self.channels.iter_mut().zip(block) {
            channel.push(samples, &mut self.transform);
        }
    }

    /// Returns the centroid, `None` for silence and for a sound shorter than a frame.
    pub fn finish(mut self) -> Option<Hertz> {
        for channel in &mut self.channels {
            channel.finish(&mut self.transform);
        }
        let sounding = self.channels.iter().map(|channel| channel.sums).filter(|sums| sums.energy > 0.0);
        let (sum, count) =
            sounding.fold((0.0, 0.0), |(sum, count), sums| (sum + sums.weighted / sums.energy, count + 1.0));
        let bin_width = f64::from(self.rate_hz) / FRAME as f64;
        (count > 0.0).then(|| Hertz::new(sum / count * bin_width))
    }
}

/// One channel's frames in the making and its sums over the frames that are whole.
#[derive(Debug, Clone, Default)]
struct Channel {
    /// The samples of the next two frames so far, fewer than [`TWO_FRAMES`].
    line: Vec<f64>,
    sums: Sums,
}

#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    /// Σ E·c over the frames, c in bins.
    weighted: f64,
    /// Σ E over the frames.
    energy: f64,
}

impl Channel {
    fn push(&mut self, mut samples: &[f64], transform: &mut HannPair) {
        while self.line.len() + samples.len() >= TWO_FRAMES {
            let (ahead, rest) = samples.split_at(TWO_FRAMES - self.line.len());
            self.line.extend_from_slice(ahead);
            samples = rest;
            let [first, middle, last] = array::from_fn(|hop| largest(&self.line[hop * HOP..][..HOP]));
            let peaks = [first.max(middle), middle.max(last)];
            self.sums.add([&self.line[..FRAME], &self.line[HOP..]], peaks, transform);
            self.line.copy_within(2 * HOP.., 0);
            self.line.truncate(HOP);
        }
        self.line.extend_from_slice(samples);
    }

    /// Takes in the last frame where it has no other to go with.
    fn finish(&mut self, transform: &mut HannPair) {
        if let Some(last) = self.line.get(..FRAME) {
            self.sums.add([last, &[0.0; FRAME]], [largest(last), 0.0], transform);
        }
    }
}

impl Sums {
    /// Adds two frames, whose largest magnitudes are `peaks`.
    fn add(&mut self, frames: [&[f64]; 2], peaks: [f64; 2], transform: &mut HannPair) {
        // Single precision has room for any sound only once its frames are brought to full scale.
        let gains = peaks.map(|peak| if peak > 0.0 { 1.0 / peak } else { 0.0 });
        for (powers, peak) in
            transform.of(frames, gains).into_iter().zip(peaks).filter(|(_, peak)| *peak > 0.0)
        {
            let (centroid, energy) = in_wide_vectors!(centroid_and_energy(powers));
            let energy = energy * peak * peak;
            self.weighted += energy * centroid;
            self.energy += energy;
        }
    }
}

/// Returns the centroid in bins of a spectrum of these powers that is not silent, and its energy.
#[inline(always)]
fn centroid_and_energy(powers: &[f32]) -> (f64, f64) {
    let (groups, rest) = powers.as_chunks::<LANES>();
    let (mut moment, mut magnitudes, mut energy) = ([0.0f32; LANES], [0.0f32; LANES], [0.0f32; LANES]);
    let mut bins: [f32; LANES] = array::from_fn(|lane| lane as f32);
    for group in groups {
        for lane in 0..LANES {
            let magnitude = group[lane].sqrt();
            moment[lane] += bins[lane] * magnitude;
            magnitudes[lane] += magnitude;
            energy[lane] += group[lane];
            bins[lane] += LANES as f32;
        }
    }
    let sum = |lanes: [f32; LANES]| lanes.into_iter().map(f64::from).sum::<f64>();
    let (mut moment, mut magnitudes, mut energy) = (sum(moment), sum(magnitudes), sum(energy));
    for (bin, power) in (LANES * groups.len()..).zip(rest) {
        let power = f64::from(*power);
        moment += bin as f64 * power.sqrt();
        magnitudes += power.sqrt();
        energy += power;
    }
    (moment / magnitudes, energy)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    const RATE: u32 = 48_000;
    /// What single precision may move a centroid by, in hertz and in bins.
    const ROUNDING: f64 = 1e-6 * RATE as f64;
    const ROUNDING_BINS: f64 = 1e-6 * FRAME as f64;

    fn centroid(channels: &[&[f64]]) -> Option<f64> {
        let mut meter = CentroidMeter::new(RATE, channels.len()).unwrap();
        meter.push(channels).unwrap();
        meter.finish().map(Hertz::value)
    }

    fn tone(bin: u32, amplitude: f64, length: u32) -> Vec<f64> {
        (0..length).map(|n| amplitude * (2.0 * PI * f64::from(bin * n) / FRAME as f64).sin()).collect()
    }

    #[test]
    fn a_tone_on_a_bin_has_its_own_frequency() {
        // The Hann window spreads it over three bins, evenly to both sides.
        let found = centroid(&[&tone(100, 0.3, 10_000)]).unwrap();
        assert!((found - 100.0 * 48_000.0 / 2048.0).abs() < ROUNDING, "{found}");
    }

    #[test]
    fn an_impulse_has_the_middle_of_the_band() {
        let mut impulse = vec![0.0; FRAME];
        impulse[700] = -0.5;
        assert!((centroid(&[&impulse]).unwrap() - 12_000.0).abs() < ROUNDING);
    }

    #[test]
    fn a_constant_has_the_dc_bin_and_half_its_neighbour() {
        // Magnitudes 1 and 1/2 in bins 0 and 1: the mean is a third of a bin.
        assert!((centroid(&[&vec![0.1; 4096]]).unwrap() - 48_000.0 / 2048.0 / 3.0).abs() < ROUNDING);
    }

    #[test]
    fn frames_count_by_their_energy() {
        // The first and the last frame hold one tone each, those between parts of both.
        let sound = [tone(50, 1.0, 2048), tone(200, 0.5, 3072)].concat();
        let mut transform = HannPair::new(FRAME);
        let frames: Vec<_> = (0..4)
            .map(|at| centroid_and_energy(transform.of([&sound[at * HOP..][..FRAME]; 2], [1.0, 0.0])[0]))
            .collect();
        assert!((frames[0].0 - 50.0).abs() < ROUNDING_BINS && (frames[3].0 - 200.0).abs() < ROUNDING_BINS);
        assert!((frames[0].1 / frames[3].1 - 4.0).abs() < 1e-5);
        let expected =
            frames.iter().map(|(c, e)| c * e).sum::<f64>() / frames.iter().map(|f| f.1).sum::<f64>();
        let found = centroid(&[&sound]).unwrap() * 2048.0 / 48_000.0;
        assert!((found - expected).abs() < ROUNDING_BINS);
    }

    #[test]
    fn channels_count_alike_and_a_silent_one_not_at_all() {
        let (low, high, silent) = (tone(50, 1.0, 4096), tone(150, 0.01, 4096), vec![0.0; 4096]);
        let in_bins = |channels: &[&[f64]]| centroid(channels).map(|c| c * 2048.0 / 48_000.0);
        assert!((in_bins(&[&low, &high]).unwrap() - 100.0).abs() < ROUNDING_BINS);
        assert_eq!(in_bins(&[&low, &silent]), in_bins(&[&low]));
        assert_eq!(in_bins(&[&silent, &silent]), None);
    }

    #[test]
    fn less_than_a_frame_has_no_centroid_and_what_fills_no_frame_is_left_out() {
        let sound = tone(100, 0.5, 3071);
        assert_eq!(centroid(&[&sound[..2047]]), None);
        assert_eq!(centroid(&[&[]]), None);
        assert_eq!(centroid(&[&sound]), centroid(&[&sound[..2048]]));
    }
}
