//! What rings on after a kernel's head: a decay that every sample sets off anew.
//!
//! A transform closes a window of sound to a ring. What a decay s[n] = p s[n−1] + x[n] makes of the window as a ring is had
//! with the head's own transform; it and the decay of the stream obey the same equation and so differ by c pⁿ alone, of
//! which the stream's states before and at the end of the window tell c.

use super::Precision;
use super::parts::Decay;
use crate::vectors::in_wide_vectors;

/// Samples computed side by side: as many as keep a processor's vectors busy while they wait for each other.
const ABREAST: usize = 32;
/// A state below this is nothing: −600 dB.
const NOTHING: f64 = 1e-30;

/// A decay on its way through a stream, window by window.
#[derive(Debug, Clone)]
pub(super) struct Ringing {
    decay: Decay,
    /// p to the power of [`ABREAST`].
    over_lanes: f64,
    /// The state at the sample before the next window.
    before: f64,
    /// The state at the last sample that was taken in.
    last: f64,
}

/// What a window's ring lacks of the stream's own decay: the first sample's, that of the others being p, p² and so on of it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Lack(f64);

impl Ringing {
    pub(super) fn of(decay: Decay) -> Self {
        let over_lanes = decay.ratio.powf(ABREAST as f64);
        Self { decay, over_lanes, before: 0.0, last: 0.0 }
    }

    /// Returns the decay as a ring of `length` samples, from time zero on.
    pub(super) fn ring(&self, length: usize) -> impl Iterator<Item = f64> {
        let Decay { amplitude, ratio } = self.decay;
        let around = amplitude / (1.0 - ratio.powf(length as f64));
        std::iter::successors(Some(around), move |now| Some(now * ratio))
    }

    /// Takes in the next window of `length` samples, of which `input` has the new ones. The window after it begins at its
    /// sample `step`.
    pub(super) fn window<T: Precision>(&mut self, input: &[T], step: usize, length: usize) -> Lack {
        let (until_next, rest) = input.split_at(2 * step - length);
        let next = in_wide_vectors!(self.state_after(self.last, until_next));
        self.last = in_wide_vectors!(self.state_after(next, rest));
        let Decay { amplitude, ratio } = self.decay;
        let lack = (self.before - self.last) / (1.0 - ratio.powf(length as f64));
        // What is far below any sound is forgotten, so that silence is not computed in slow subnormal numbers.
        let kept = |state: f64| if state.abs() < NOTHING { 0.0 } else { state };
        (self.before, self.last) = (kept(next), kept(self.last));
        Lack(amplitude * ratio * lack)
    }

    /// Returns the state after `samples` from the `state` before them.
    ///
    /// # Panics
    /// Where those are not a multiple of [`ABREAST`].
    #[inline(always)]
    fn state_after<T: Precision>(&self, state: f64, samples: &[T]) -> f64 {
        let (groups, left) = samples.as_chunks::<ABREAST>();
        assert!(left.is_empty(), "windows are whole");
        let mut sums = [0.0; ABREAST];
        for group in groups {
            for lane in 0..ABREAST {
                sums[lane] = self.over_lanes * sums[lane] + group[lane].into();
            }
        }
        let ratio = self.decay.ratio;
        let set_off = sums.iter().fold(0.0, |later, sum| ratio * later + sum);
        state * ratio.powf(samples.len() as f64) + set_off
    }

    /// Adds to `output`, of which the first sample is at place `at` of a window, what its ring lacks.
    ///
    /// # Panics
    /// Where its samples are not a multiple of [`ABREAST`].
    pub(super) fn complete(&self, output: &mut [f64], at: usize, lack: Lack) {
        in_wide_vectors!(self.add_abreast(output, at, lack));
    }

    #[inline(always)]
    fn add_abreast(&self, output: &mut [f64], at: usize, Lack(first): Lack) {
        let ratio = self.decay.ratio;
        let mut now = [first * ratio.powf(at as f64); ABREAST];
        for lane in 1..ABREAST {
            now[lane] = now[lane - 1] * ratio;
        }
        let (groups, left) = output.as_chunks_mut::<ABREAST>();
        assert!(left.is_empty(), "windows are whole");
        for group in groups {
            if now[0].abs() < NOTHING {
                break;
            }
            for lane in 0..ABREAST {
                group[lane] += now[lane];
                now[lane] *= self.over_lanes;
            }
        }
    }
}
