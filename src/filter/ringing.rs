//! What rings on after a kernel's head: a decay that every sample sets off anew.

use super::Precision;
use super::parts::Decay;
use crate::vectors::in_wide_vectors;

/// Samples computed side by side: each goes back to the one so many before, not to the last, so that none waits.
const LANES: usize = 8;
/// A state below this is nothing: −600 dB.
const NOTHING: f64 = 1e-30;

/// A decay on its way through a stream: s[n] = p s[n−1] + x[n], of which a s[n] is added.
///
/// Over the samples at once, s[n] = p⁸ s[n−8] + v[n], with v[n] = Σ pᵏ x[n−k], k < 8, from three doublings.
#[derive(Debug, Clone)]
pub(super) struct Ringing<T> {
    amplitude: T,
    /// p, p², p⁴ and p⁸.
    ratios: [T; 4],
    /// The last inputs and states, the newest last.
    inputs: [T; LANES],
    states: [T; LANES],
    work: [Vec<T>; 2],
}

impl<T: Precision> Ringing<T> {
    pub(super) fn of(decay: &Decay) -> Self {
        let ratios = [1, 2, 4, 8].map(|power| T::rounded(decay.ratio.powi(power)));
        Self {
            amplitude: T::rounded(decay.amplitude),
            ratios,
            inputs: [T::zero(); LANES],
            states: [T::zero(); LANES],
            work: [Vec::new(), Vec::new()],
        }
    }

    /// Adds to `output` what the next samples of `input`, as many, set off.
    ///
    /// # Panics
    /// Where they are not a multiple of 8.
    pub(super) fn add_to(&mut self, output: &mut [f64], input: &[T]) {
        in_wide_vectors!(self.add_in_lanes(output, input));
    }

    #[inline(always)]
    fn add_in_lanes(&mut self, output: &mut [f64], input: &[T]) {
        let [one, two, four, eight] = self.ratios;
        let [now, next] = &mut self.work;
        now.clear();
        now.extend_from_slice(&self.inputs);
        now.extend_from_slice(input);
        for (back, ratio) in [(1, one), (2, two), (4, four)] {
            next.clear();
            next.extend_from_slice(&now[..back]);
            next.extend(now[back..].iter().zip(now.iter()).map(|(x, earlier)| *x + ratio * *earlier));
            std::mem::swap(now, next);
        }
        self.inputs.copy_from_slice(&input[input.len() - LANES..]);
        let (outputs, left) = output.as_chunks_mut::<LANES>();
        assert!(left.is_empty(), "blocks are whole");
        let (sums, _) = now[LANES..].as_chunks::<LANES>();
        for (output, sums) in outputs.iter_mut().zip(sums) {
            for lane in 0..LANES {
                self.states[lane] = eight * self.states[lane] + sums[lane];
                output[lane] += (self.amplitude * self.states[lane]).into();
            }
        }
        // What is far below any sound is forgotten, so that silence is not computed in slow subnormal numbers.
        if self.states.iter().all(|s| s.abs() < T::rounded(NOTHING)) {
            self.states = [T::zero(); LANES];
        }
    }
}
