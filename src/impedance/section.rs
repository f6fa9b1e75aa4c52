//! One section of a recording: its frames, and how much of it is not the sweep but its overtones.

use std::f64::consts::PI;

use num_complex::Complex64;
use realfft::RealFftPlanner;

use super::signal::{Signal, frames};

/// Frames before a section's beginning and after its end that are kept too, in seconds: clocks may run apart.
pub(super) const MARGIN: f64 = 0.03;

/// A section's window: from before the sweep to after it, its ends faded where the sweep is below or above what is measured.
const WINDOW: [f64; 2] = [0.25, 8.75];
/// How long the fades are, in seconds.
const FADES: [f64; 2] = [1.6, 0.9];

/// The frames of a section.
#[derive(Debug, Clone)]
pub(super) struct Record {
    /// The frame of the recording at which the samples begin; before the recording there is silence.
    first: i64,
    samples: Vec<f64>,
    rate: f64,
}

/// The spectrum of a section's window.
#[derive(Debug)]
pub(super) struct Spectrum {
    pub(super) bins: Vec<Complex64>,
    /// The distance of the bins in hertz.
    pub(super) step: f64,
}

impl Record {
    /// Returns the place for a section that begins at the frame `begins`.
    pub(super) fn at(begins: f64, rate_hz: u32) -> Self {
        let rate = f64::from(rate_hz);
        #[expect(
            clippy::cast_possible_truncation,
            reason = "a frame's number, far below what a float holds exactly"
        )]
        let first = (begins - MARGIN * rate).round() as i64;
        Self { first, samples: vec![0.0; frames((Signal::SECTION + 2.0 * MARGIN) * rate)], rate }
    }

    /// Takes what is its own of a plane of samples whose first is the frame `start`.
    pub(super) fn take(&mut self, start: u64, plane: &[f64]) {
        let start = i64::try_from(start).unwrap_or(i64::MAX);
        let offset = start - self.first;
        let skipped = usize::try_from(-offset).unwrap_or(0);
        let to = usize::try_from(offset).unwrap_or(0);
        if let (Some(own), Some(given)) = (self.samples.get_mut(to..), plane.get(skipped..)) {
            for (own, given) in own.iter_mut().zip(given) {
                *own = *given;
            }
        }
    }

    /// Returns the samples from `seconds` after the frame `begins` on for `length` frames, and how far the first one lies
    /// before that moment, as a part of a frame.
    pub(super) fn part(&self, begins: f64, seconds: f64, length: usize) -> (&[f64], f64) {
        let at = begins + seconds * self.rate - self.first as f64;
        let whole = at.floor();
        let from = frames(whole).min(self.samples.len());
        (&self.samples[from..(from + length).min(self.samples.len())], at - whole)
    }

    /// Returns how often several samples in a row stand at the end of the range.
    pub(super) fn runs_at_full_scale(&self) -> usize {
        const FULL: f64 = 0.9999;
        self.samples.windows(3).filter(|run| run.iter().all(|sample| sample.abs() >= FULL)).count()
    }

    /// Returns the spectrum of the sweep and what the device made of it, as if the section began at `begins`, a part of a frame
    /// included; `stretch` is how much longer a second is in the recording.
    pub(super) fn spectrum(&self, begins: f64, stretch: f64) -> Spectrum {
        let length = frames((WINDOW[1] - WINDOW[0]) * self.rate);
        let (part, ahead) = self.part(begins, WINDOW[0] * stretch, length);
        let mut windowed: Vec<f64> =
            part.iter().enumerate().map(|(i, x)| x * window(i, length, self.rate)).collect();
        windowed.resize(length, 0.0);
        let forward = RealFftPlanner::new().plan_fft_forward(length);
        let mut bins = forward.make_output_vec();
        let done = forward.process(&mut windowed, &mut bins);
        debug_assert!(done.is_ok(), "both are of the length that was planned");
        let step = self.rate / length as f64;
        for (k, bin) in bins.iter_mut().enumerate() {
            let turn = 2.0 * PI * k as f64 * ahead / length as f64;
            *bin *= Complex64::cis(turn);
        }
        Spectrum { bins, step }
    }

    /// Returns how much its two lowest overtones have of a tone, as a share of it, while the sweep passes the middle of its range,
    /// and nothing where that does not stand out of the noise. What is cut off, or bent, makes overtones; what hangs across the input
    /// makes none.
    pub(super) fn overtones(&self, begins: f64, stretch: f64) -> f64 {
        const LENGTH: f64 = 0.1;
        const OUT_OF_NOISE: f64 = 10.0;
        const AT: [f64; 6] = [750.0, 1100.0, 1600.0, 2300.0, 3400.0, 5000.0];
        let length = frames(LENGTH * self.rate);
        // The powers of the tone, of its overtones, and half way between, where there is noise alone.
        let [mut tones, mut overtones, mut noise] = [0.0; 3];
        for hz in AT {
            let middle = Signal::SWEEP_AT + Signal::passes(hz);
            let (part, ahead) = self.part(begins, (middle - 0.5 * LENGTH) * stretch, length);
            let mut sums = [Complex64::ZERO; 5];
            for (i, sample) in part.iter().enumerate() {
                let time =
                    (i as f64 - ahead) / self.rate / stretch + middle - 0.5 * LENGTH - Signal::SWEEP_AT;
                let faded = 0.5 - 0.5 * (2.0 * PI * i as f64 / length as f64).cos();
                let half = Complex64::cis(-0.5 * Signal::phase(time));
                let mut turned = half * half;
                for sum in &mut sums {
                    *sum += sample * faded * turned;
                    turned *= half;
                }
            }
            let [tone, below, second, above, third] = sums.map(|sum| sum.norm_sqr());
            tones += tone;
            noise += below + above;
            overtones += second + third;
        }
        if overtones > OUT_OF_NOISE * noise { (overtones / tones.max(f64::MIN_POSITIVE)).sqrt() } else { 0.0 }
    }
}

/// Returns the window at a frame: whole while what is measured passes, smooth at its ends, so that hum stays where it is.
fn window(frame: usize, length: usize, rate: f64) -> f64 {
    let eased = |from_end: usize, fade: f64| {
        let place = (from_end as f64 / (fade * rate)).min(1.0);
        (0.5 * PI * (0.5 * PI * place).sin().powi(2)).sin().powi(2)
    };
    eased(frame, FADES[0]) * eased(length - frame, FADES[1])
}
