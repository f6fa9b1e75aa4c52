//! What rings on after a kernel's head: a decay that every sample sets off anew.

use std::array;

use super::Precision;
use super::parts::Decay;
use crate::vectors::in_wide_vectors;

/// Samples computed side by side: each goes back to the one so many before, not to the last, so that none waits.
const LANES: usize = 8;
/// A state below this is nothing: −600 dB.
const NOTHING: f64 = 1e-30;

/// A decay on its way through a stream: s[n] = p s[n−1] + x[n], of which a s[n] is added.
///
/// Over the samples at once, s[n] = p⁸ s[n−8] + Σ pᵏ x[n−k], k < 8.
#[derive(Debug, Clone)]
pub(super) struct Ringing<T> {
    amplitude: T,
    /// 1, p, p² and so on.
    powers: [T; LANES],
    /// p⁸.
    ratio: T,
    /// The last states, the newest last.
    states: [T; LANES],
}

impl<T: Precision> Ringing<T> {
    /// The samples before those that are added that [`Ringing::add_to`] needs.
    pub(super) const EARLIER: usize = LANES - 1;

    pub(super) fn of(decay: &Decay) -> Self {
        let (mut power, mut powers) = (1.0, [T::zero(); LANES]);
        for to in &mut powers {
            *to = T::rounded(power);
            power *= decay.ratio;
        }
        Self {
            amplitude: T::rounded(decay.amplitude),
            powers,
            ratio: T::rounded(power),
            states: [T::zero(); LANES],
        }
    }

    /// Adds to `output` what the next samples of `input` set off: those after its first [`Ringing::EARLIER`], which came
    /// before, as many as there are in `output`.
    ///
    /// # Panics
    /// Where those are not a multiple of 8.
    pub(super) fn add_to(&mut self, output: &mut [f64], input: &[T]) {
        in_wide_vectors!(self.add_in_lanes(output, input));
    }

    #[inline(always)]
    fn add_in_lanes(&mut self, output: &mut [f64], input: &[T]) {
        let (groups, left) = output.as_chunks_mut::<LANES>();
        assert!(left.is_empty(), "blocks are whole");
        let length = groups.len() * LANES;
        let late: [&[[T; LANES]]; LANES] =
            array::from_fn(|k| input[Self::EARLIER - k..][..length].as_chunks::<LANES>().0);
        let mut states = self.states;
        for (at, group) in groups.iter_mut().enumerate() {
            let mut sums = late[0][at];
            for (late, power) in late[1..].iter().zip(&self.powers[1..]) {
                for lane in 0..LANES {
                    sums[lane] = sums[lane] + *power * late[at][lane];
                }
            }
            for lane in 0..LANES {
                states[lane] = self.ratio * states[lane] + sums[lane];
                group[lane] += (self.amplitude * states[lane]).into();
            }
        }
        self.states = states;
        // What is far below any sound is forgotten, so that silence is not computed in slow subnormal numbers.
        if self.states.iter().all(|s| s.abs() < T::rounded(NOTHING)) {
            self.states = [T::zero(); LANES];
        }
    }
}
