//! A finite impulse response from an exact frequency response.
//!
//! The response is taken at the bins of a transform and transformed back. What lies before time zero is the
//! acausal side of a response cut off at half the rate; it is kept, so that the delay is the circuit's own and
//! none is added.

use std::f64::consts::PI;
use std::ops::RangeInclusive;

use num_complex::Complex64;
use realfft::RealFftPlanner;

use super::parts::Parts;
use crate::quantity::Hertz;

/// A finite impulse response with as many taps before time zero as it needs.
#[derive(Debug, Clone, PartialEq)]
pub struct Kernel {
    /// The taps, the first at time `−before`.
    taps: Vec<f64>,
    before: usize,
    /// The same for a bank of filters.
    parts: Parts,
}

/// A response that no kernel of a bounded length holds.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum KernelError<E: std::error::Error> {
    /// The response could not be had at some frequency.
    #[error(transparent)]
    Response(#[from] E),
    /// The response rings longer than the longest kernel.
    #[error("a response rings longer than {seconds:.1} s, more than this program renders")]
    TooLong {
        /// The longest kernel in seconds.
        seconds: f64,
    },
}

/// The kernel's length in samples at 44.1 and 48 kHz.
const BASE: usize = 8192;
/// Doublings of the length before a response is given up.
const MOST_DOUBLINGS: u32 = 5;
/// The share of the kernel kept before time zero, and the share of a fade at either end.
const BEFORE: usize = 16;
const FADE: usize = 32;

/// What is left at either end of a kernel, before its fade, is at most this share of its peak: −100 dB.
const REST: f64 = 1e-5;
/// What is this share of a kernel's peak, −180 dB, is nothing.
const NOTHING: f64 = 1e-9;

/// The shares of the rate between which a response is led to a real value at half the rate. What is not real there would
/// ring on and on, alternating in sign; ears hear none of it.
const LED: RangeInclusive<f64> = 0.455..=0.5;
/// How many times shorter than an exact kernel one of an approximation may be, and the shares of it as above.
const ROUGHLY: usize = 16;
const BEFORE_ROUGHLY: usize = 4;
const FADE_ROUGHLY: usize = 16;
/// The middles in hertz of the lowest third octaves that are heard, where a kernel that is too short is off, and the share
/// that it may be off by: 0.1 dB.
const BASS: [f64; 8] = [50.0, 63.0, 80.0, 100.0, 125.0, 160.0, 200.0, 250.0];
const BASS_OFF: f64 = 0.0116;

/// How much of a response a kernel must hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fidelity {
    /// The response itself.
    Exact,
    /// The response evened out, by a kernel of a sixteenth of the length over some 100 Hz, or a longer one where the bass
    /// wants it: enough for a response that is itself an approximation.
    Approximate,
}

/// Returns the length of a kernel at `rate_hz`: 8192 samples up to 48 kHz and doubled with the rate.
pub fn base_length(rate_hz: u32) -> usize {
    let mut length = BASE;
    let mut covered = 48_000;
    while covered < rate_hz {
        length *= 2;
        covered *= 2;
    }
    length
}

/// Returns how many taps a kernel at `rate_hz` has before time zero at most, however long its response rings.
pub fn most_before(rate_hz: u32) -> usize {
    (base_length(rate_hz) << MOST_DOUBLINGS) / BEFORE
}

impl Kernel {
    /// Returns the kernel whose spectrum at the rate `rate_hz` is `response`, in samples⁻¹.
    ///
    /// # Errors
    /// [`KernelError`] where `response` fails, or rings longer than 32 times the base length.
    pub fn of<E: std::error::Error>(
        rate_hz: u32,
        fidelity: Fidelity,
        mut response: impl FnMut(Hertz) -> Result<Complex64, E>,
    ) -> Result<Self, KernelError<E>> {
        Self::along(rate_hz, fidelity, |bins| bins.iter().map(|bin| response(*bin)).collect())
    }

    /// Returns the kernel of [`Kernel::of`] where `response` answers for all bins of a transform at once.
    ///
    /// # Errors
    /// As [`Kernel::of`].
    pub fn along<E: std::error::Error>(
        rate_hz: u32,
        fidelity: Fidelity,
        mut response: impl FnMut(&[Hertz]) -> Result<Vec<Complex64>, E>,
    ) -> Result<Self, KernelError<E>> {
        let mut length = base_length(rate_hz);
        if fidelity == Fidelity::Approximate {
            return Ok(Self::approximate(rate_hz, length, &mut response)?);
        }
        for _ in 0..=MOST_DOUBLINGS {
            let wrapped = impulse_response(rate_hz, length, &mut response)?;
            let before = length / BEFORE;
            let mut taps = unwrapped(&wrapped, length, before);
            if ends_have_died(&taps) {
                fade(&mut taps, length / FADE);
                let parts = Parts::of(&taps, before);
                return Ok(Self { taps, before, parts });
            }
            length *= 2;
        }
        Err(KernelError::TooLong { seconds: length as f64 / 2.0 / f64::from(rate_hz) })
    }

    /// Returns the shortest kernel that keeps the bass.
    fn approximate<E>(
        rate_hz: u32,
        length: usize,
        response: &mut impl FnMut(&[Hertz]) -> Result<Vec<Complex64>, E>,
    ) -> Result<Self, E> {
        let wrapped = impulse_response(rate_hz, length, response)?;
        let bin_width = f64::from(rate_hz) / length as f64;
        let bass = BASS.map(|f| Hertz::new((f / bin_width).round() * bin_width));
        let wanted = response(&bass)?;
        let mut cut = length / ROUGHLY;
        loop {
            let before = cut / BEFORE_ROUGHLY;
            let mut taps = unwrapped(&wrapped, cut, before);
            fade(&mut taps, cut / FADE_ROUGHLY);
            let keeps = |(frequency, wanted): (&Hertz, &Complex64)| {
                let found = response_of(&taps, before, frequency.value() / f64::from(rate_hz));
                (found - wanted).norm() <= BASS_OFF * wanted.norm()
            };
            if cut == length || bass.iter().zip(&wanted).all(keeps) {
                let parts = Parts::undivided(&taps, before);
                return Ok(Self { taps, before, parts });
            }
            cut *= 2;
        }
    }

    /// Returns the same kernel for a bank of filters to convolve with as it is, as short as what it holds: for a response that
    /// must be exact to the last step of a file.
    #[must_use]
    pub fn undivided(self) -> Self {
        let peak = self.taps.iter().fold(0.0f64, |m, t| m.max(t.abs()));
        let mut length = self.taps.len();
        // What is not heard at all keeps its time zero.
        let is_nothing = |rest: &[f64]| rest.iter().all(|t| t.abs() <= NOTHING * peak);
        while length / 2 > self.before && is_nothing(&self.taps[length / 2..]) {
            length /= 2;
        }
        let taps = self.taps[..length].to_vec();
        let parts = Parts::undivided(&taps, self.before);
        Self { taps, before: self.before, parts }
    }

    /// Returns the taps, the first of which lies [`Kernel::before`] samples before time zero.
    pub fn taps(&self) -> &[f64] {
        &self.taps
    }

    /// Returns the number of taps before time zero.
    pub fn before(&self) -> usize {
        self.before
    }

    /// Returns the same response in the parts that a bank of filters convolves with.
    pub(super) fn parts(&self) -> &Parts {
        &self.parts
    }
}

fn impulse_response<E>(
    rate_hz: u32,
    length: usize,
    response: &mut impl FnMut(&[Hertz]) -> Result<Vec<Complex64>, E>,
) -> Result<Vec<f64>, E> {
    let inverse = RealFftPlanner::<f64>::new().plan_fft_inverse(length);
    let mut spectrum = inverse.make_input_vec();
    let last = spectrum.len() - 1;
    let bins: Vec<Hertz> =
        (0..=last).map(|k| Hertz::new(k as f64 * f64::from(rate_hz) / length as f64)).collect();
    let values = response(&bins)?;
    let end = Complex64::from(values[last].re);
    for (k, (bin, value)) in spectrum.iter_mut().zip(values).enumerate() {
        *bin = (end + (value - end) * (1.0 - led(k as f64 / length as f64))) / length as f64;
    }
    // A real signal has no imaginary part at zero.
    spectrum[0].im = 0.0;
    let mut wrapped = inverse.make_output_vec();
    inverse.process(&mut spectrum, &mut wrapped).expect("lengths are the transform's own");
    Ok(wrapped)
}

/// Returns the response at `frequency`, a share of the rate, of `taps` of which `before` lie before time zero.
fn response_of(taps: &[f64], before: usize, frequency: f64) -> Complex64 {
    let turn = -2.0 * PI * frequency;
    let later = Complex64::cis(turn);
    taps.iter().rev().fold(Complex64::ZERO, |sum, tap| sum * later + tap)
        * Complex64::cis(-turn * before as f64)
}

/// Returns how far a response is led to its end at a `share` of the rate: 0 not at all, 1 all the way.
fn led(share: f64) -> f64 {
    let way = ((share - LED.start()) / (LED.end() - LED.start())).clamp(0.0, 1.0);
    way - (2.0 * PI * way).sin() / (2.0 * PI)
}

/// Returns the `length` taps of a response from `before` time zero on, where `wrapped` has what lies there at its end.
fn unwrapped(wrapped: &[f64], length: usize, before: usize) -> Vec<f64> {
    [&wrapped[wrapped.len() - before..], &wrapped[..length - before]].concat()
}

/// Returns whether what rings has died away at both ends.
fn ends_have_died(taps: &[f64]) -> bool {
    let peak = taps.iter().fold(0.0f64, |m, t| m.max(t.abs()));
    let length = taps.len() / FADE;
    let died = |end: &[f64]| end.iter().all(|t| t.abs() <= REST * peak);
    died(&taps[..length]) && died(&taps[taps.len() - length..])
}

pub(super) fn fade(taps: &mut [f64], length: usize) {
    let last = taps.len() - 1;
    for i in 0..length {
        let gain = 0.5 - 0.5 * (PI * (i as f64 + 0.5) / length as f64).cos();
        taps[i] *= gain;
        taps[last - i] *= gain;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::convert::Infallible;

    fn spectrum_of(kernel: &Kernel, frequency: f64, rate: f64) -> Complex64 {
        let turn = -std::f64::consts::TAU * frequency / rate;
        let taps = kernel.taps().iter().enumerate();
        taps.map(|(n, tap)| Complex64::cis(turn * (n as f64 - kernel.before() as f64)) * tap).sum()
    }

    #[test]
    fn what_is_not_heard_is_a_short_kernel_of_nothing_however_it_is_convolved_with() {
        let nothing = Kernel::of(48_000, Fidelity::Exact, |_| Ok::<_, Infallible>(Complex64::ZERO)).unwrap();
        let whole = nothing.clone().undivided();
        assert_eq!(whole.before(), nothing.before());
        assert!(whole.taps().len() > whole.before() && whole.taps().len() < nothing.taps().len());
        assert!(whole.taps().iter().all(|tap| *tap == 0.0));
    }

    #[test]
    fn a_kernels_spectrum_is_the_response_it_was_made_from() {
        let low_pass = |f: Hertz| {
            let x = f.value() / 3500.0;
            Ok::<_, Infallible>(Complex64::ONE / Complex64::new(1.0 - x * x, x / 2.5))
        };
        let kernel = Kernel::of(44_100, Fidelity::Exact, low_pass).expect("short enough");
        for f in [20.0, 77.0, 3500.0, 9001.0, 15_000.0, 19_845.0] {
            let ratio = spectrum_of(&kernel, f, 44_100.0) / low_pass(Hertz::new(f)).expect("infallible");
            assert!((20.0 * ratio.norm().log10()).abs() < 0.001, "{f} Hz: {ratio}");
            assert!(ratio.arg().to_degrees().abs() < 0.01, "{f} Hz: {ratio}");
        }
    }

    #[test]
    fn a_kernel_grows_until_it_holds_what_rings_and_refuses_what_never_ends() {
        let resonant = |q: f64| {
            move |f: Hertz| {
                let x = f.value() / 50.0;
                Ok::<_, Infallible>(Complex64::ONE / Complex64::new(1.0 - x * x, x / q))
            }
        };
        assert_eq!(Kernel::of(48_000, Fidelity::Exact, resonant(0.7)).expect("short").taps().len(), 8192);
        assert!(Kernel::of(48_000, Fidelity::Exact, resonant(6.0)).expect("longer").taps().len() > 8192);
        assert!(matches!(
            Kernel::of(48_000, Fidelity::Exact, resonant(1e4)),
            Err(KernelError::TooLong { .. })
        ));
    }

    #[test]
    fn an_approximate_kernel_is_short_unless_the_bass_wants_it_longer() {
        // A capacitor of 1 µF that discharges through 6 kΩ, against what passes at once.
        let slow = |share: f64| {
            move |f: Hertz| {
                let discharge = 1.0 / Complex64::new(1.0, f.value() / 26.0);
                Ok::<_, Infallible>(Complex64::new(0.3, 0.0) + share * discharge)
            }
        };
        for (share, length) in [(0.0, 512), (0.7, 2048)] {
            let response = slow(share);
            let kernel = Kernel::of(48_000, Fidelity::Approximate, response).expect("any length is taken");
            assert_eq!(kernel.taps().len(), length, "{share}");
            for f in BASS {
                let ratio = spectrum_of(&kernel, f, 48_000.0) / response(Hertz::new(f)).expect("infallible");
                assert!((20.0 * ratio.norm().log10()).abs() < 0.12, "{share} at {f} Hz: {ratio}");
            }
        }
    }

    #[test]
    fn the_length_goes_with_the_rate() {
        let lengths = [8_000, 44_100, 48_000, 88_200, 96_000, 192_000, 384_000].map(base_length);
        assert_eq!(lengths, [8192, 8192, 8192, 16_384, 16_384, 32_768, 65_536]);
    }
}
