//! The sound that is played: three sweeps, each between two marks.

use std::f64::consts::{PI, TAU};
use std::ops::RangeInclusive;

use serde::Serialize;

/// How output and input are joined, in words.
pub const CONNECT: &str = "Connect the sound card's output through a series resistor (100 kΩ; 10 kΩ to 1 MΩ serve) to its instrument \
                           input, a cable's far end left free: what is measured hangs across that end, tip to sleeve.";

/// What hangs across the input while a section is played.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Device {
    /// Nothing but the cable.
    Open,
    /// The known resistor.
    Known,
    /// The guitar, or a coil of it.
    Guitar,
}

impl Device {
    /// All, in the order in which they are measured.
    pub const ALL: [Self; 3] = [Self::Open, Self::Known, Self::Guitar];

    /// Returns what is to be connected, in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Open => "nothing across the cable's end",
            Self::Known => "the known resistor there, such as 10 kΩ with 1 %",
            Self::Guitar => "the guitar there, by its jack with every knob at 10, or a coil by its leads",
        }
    }
}

/// A part of the signal, and what is connected meanwhile.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Section {
    /// What is connected.
    pub device: Device,
    /// From when on it is to be, in seconds from the beginning.
    pub from_s: f64,
    /// Until when.
    pub to_s: f64,
}

/// A signal that cannot be made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum SignalError {
    /// The rate is not one at which a sound card measures far enough.
    #[error("a rate of {given} Hz is asked for; allowed are {} to {} Hz", Signal::RATES.start(), Signal::RATES.end())]
    Rate {
        /// The rate given.
        given: u32,
    },
}

impl SignalError {
    /// Returns what to do about it.
    pub const fn hint(self) -> &'static str {
        match self {
            Self::Rate { .. } => "take the sound card's own rate, such as 48 kHz",
        }
    }
}

/// The signal at a rate.
///
/// Every section is a mark, a sweep and the same mark again, with silence between: the two marks pass the same device, so that
/// what they are apart tells the clocks and any sample that was lost.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Signal {
    rate_hz: u32,
}

/// Silence before the first section and after the last one.
const EDGE: f64 = 0.5;
/// A section's length.
const SECTION: f64 = 9.2;
/// Silence between sections, in which the next device is connected.
const PAUSE: f64 = 8.0;
/// Where in a section the marks begin.
const MARKS: [f64; 2] = [0.05, 9.0];
/// A mark's length.
const MARK: f64 = 0.1;
/// A mark's first and last frequency.
const MARK_HZ: [f64; 2] = [600.0, 9000.0];
/// The sweep's fades.
const FADES: [f64; 2] = [0.05, 0.01];
/// A mark's fades.
const MARK_FADES: [f64; 2] = [0.01, 0.01];

impl Signal {
    /// The rates at which there is one, in hertz.
    pub const RATES: RangeInclusive<u32> = 44_100..=192_000;
    /// The usual rate in hertz.
    pub const RATE: u32 = 48_000;
    /// The peak against full scale.
    pub const PEAK: f64 = 0.5;
    /// Where in a section its sweep begins, in seconds.
    pub(super) const SWEEP_AT: f64 = 0.5;
    /// How long a sweep lasts, in seconds.
    pub(super) const SWEEP: f64 = 8.0;
    /// A sweep's first and last frequency in hertz.
    pub(super) const SWEEP_HZ: [f64; 2] = [40.0, 21_000.0];
    /// Where in a section the marks begin, in seconds.
    pub(super) const MARKS: [f64; 2] = MARKS;
    /// How long a mark lasts, in seconds.
    pub(super) const MARK: f64 = MARK;
    /// How long a section lasts, in seconds.
    pub(super) const SECTION: f64 = SECTION;

    /// Returns the signal at `rate_hz`.
    ///
    /// # Errors
    /// [`SignalError::Rate`] where that is not among [`Signal::RATES`].
    pub fn new(rate_hz: u32) -> Result<Self, SignalError> {
        if Self::RATES.contains(&rate_hz) {
            Ok(Self { rate_hz })
        } else {
            Err(SignalError::Rate { given: rate_hz })
        }
    }

    /// Returns the rate in hertz.
    pub const fn rate_hz(self) -> u32 {
        self.rate_hz
    }

    /// Returns where each section begins, in seconds.
    pub(super) fn starts() -> [f64; 3] {
        [0.0, 1.0, 2.0].map(|before| EDGE + before * (SECTION + PAUSE))
    }

    /// Returns the sections, in their order.
    pub fn sections() -> [Section; 3] {
        let starts = Self::starts();
        std::array::from_fn(|i| Section {
            device: Device::ALL[i],
            from_s: starts[i],
            to_s: starts[i] + SECTION,
        })
    }

    /// Returns how long it lasts, in seconds.
    pub fn seconds() -> f64 {
        Self::starts()[2] + SECTION + EDGE
    }

    /// Returns its samples, in full scales.
    pub fn samples(self) -> Vec<f64> {
        let rate = f64::from(self.rate_hz);
        let starts = Self::starts();
        let value = |frame: usize| {
            let time = frame as f64 / rate;
            let begun = starts.iter().rev().find(|start| **start <= time);
            begun.map_or(0.0, |start| Self::in_section(time - start))
        };
        (0..frames(Self::seconds() * rate)).map(value).collect()
    }

    /// Returns the value at a time in seconds from the beginning of a section.
    fn in_section(time: f64) -> f64 {
        let marked = Self::MARKS.iter().map(|at| Self::mark(time - at)[0]).sum::<f64>();
        marked + Self::sweep(time - Self::SWEEP_AT)
    }

    /// Returns the sweep at a time in seconds from its beginning.
    pub(super) fn sweep(time: f64) -> f64 {
        chirp(time, Self::SWEEP, Self::SWEEP_HZ, FADES)[0]
    }

    /// Returns a mark at a time in seconds from its beginning, and the same a quarter of a turn ahead.
    pub(super) fn mark(time: f64) -> [f64; 2] {
        chirp(time, MARK, MARK_HZ, MARK_FADES)
    }

    /// Returns the sweep's phase in radians at a time in seconds from its beginning.
    pub(super) fn phase(time: f64) -> f64 {
        phase(time, Self::SWEEP, Self::SWEEP_HZ)
    }

    /// Returns when the sweep passes a frequency, in seconds from its beginning.
    pub(super) fn passes(hz: f64) -> f64 {
        let [first, last] = Self::SWEEP_HZ;
        Self::SWEEP * (hz / first).ln() / (last / first).ln()
    }
}

/// Returns a whole number of frames, `count` rounded.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a count of frames, which is not negative and far below what a float holds exactly"
)]
pub(super) fn frames(count: f64) -> usize {
    count.round().max(0.0) as usize
}

/// Returns a sweep whose frequency rises exponentially, at a time in seconds from its beginning, and the same a quarter of a turn
/// ahead; nothing outside of it.
fn chirp(time: f64, length: f64, hz: [f64; 2], [fade_in, fade_out]: [f64; 2]) -> [f64; 2] {
    if !(0.0..length).contains(&time) {
        return [0.0; 2];
    }
    let faded = |from_end: f64, fade: f64| 0.5 - 0.5 * (PI * (from_end / fade).min(1.0)).cos();
    let level = Signal::PEAK * (faded(time, fade_in) * faded(length - time, fade_out));
    let (sine, cosine) = phase(time, length, hz).sin_cos();
    [level * sine, level * cosine]
}

/// Returns a sweep's phase in radians.
///
/// # Source
/// A. Farina, "Simultaneous measurement of impulse response and distortion with a swept-sine technique", 108th AES Convention,
/// 2000: `φ(t) = 2π f₁ (T/ln(f₂/f₁)) (e^{t ln(f₂/f₁)/T} − 1)`.
fn phase(time: f64, length: f64, [first, last]: [f64; 2]) -> f64 {
    let pace = length / (last / first).ln();
    TAU * first * pace * (time / pace).exp_m1()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sections_follow_one_another_with_time_to_connect() {
        let sections = Signal::sections();
        for pair in sections.windows(2) {
            assert!(pair[1].from_s - pair[0].to_s >= 5.0, "{pair:?}");
        }
        assert!(sections[2].to_s < Signal::seconds());
        let samples = Signal::new(44_100).unwrap().samples();
        assert_eq!(samples.len(), frames(Signal::seconds() * 44_100.0));
        let peak = samples.iter().fold(0.0, |peak: f64, sample| peak.max(sample.abs()));
        assert!(peak <= Signal::PEAK && peak > 0.99 * Signal::PEAK, "{peak}");
        let silent = |from: f64, to: f64| {
            samples[frames(from * 44_100.0)..frames(to * 44_100.0)].iter().all(|s| *s == 0.0)
        };
        assert!(silent(sections[0].to_s, sections[1].from_s) && silent(0.0, sections[0].from_s));
        assert!(!silent(sections[0].from_s, sections[0].to_s));
    }

    #[test]
    fn the_sweep_passes_its_frequencies_when_it_is_said_to() {
        for hz in [100.0, 1e3, 12e3] {
            let at = Signal::passes(hz);
            let step = 1e-6;
            let slope = (Signal::phase(at + step) - Signal::phase(at - step)) / (2.0 * step) / TAU;
            assert!((slope / hz - 1.0).abs() < 1e-6, "{hz}: {slope}");
        }
    }

    #[test]
    fn rates_that_reach_too_low_are_refused_with_those_allowed() {
        let error = Signal::new(22_050).unwrap_err();
        assert!(error.to_string().contains("44100 to 192000 Hz"), "{error}");
        assert!(!error.hint().is_empty() && Signal::new(192_000).is_ok());
    }
}
