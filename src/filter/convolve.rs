//! Overlap-save convolution of a stream with several kernels at once.

use std::sync::Arc;

use num_complex::Complex;
use rustfft::{Fft, FftPlanner};

use super::parts::Parts;
use super::ringing::Ringing;
use super::{Kernel, Precision};
use crate::vectors::{Aligned, in_wide_vectors};

/// What one output channel is made of: the sum over input channels, each through its own kernel.
#[derive(Debug, Clone)]
pub struct Output {
    /// Pairs of an input channel and the kernel that it passes.
    pub paths: Vec<(usize, Kernel)>,
}

/// The blocks in which a bank works. Banks of the same frame give the same samples for the same output, whatever
/// their other outputs are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Frame {
    /// New samples a window.
    step: usize,
    /// Samples of a window: those that are new, and as many before them as a kernel reaches back.
    length: usize,
    before: usize,
}

/// How many times longer than the longest kernel a window is. A transform's cost grows with its length and a little
/// more, while the share of it that is new grows from a half (2) to three quarters (4) and ever less.
const LENGTHS: usize = 4;

/// A window and the next one are the real and the imaginary part of one transform: kernels are real, and keep them apart.
const WINDOWS: usize = 2;

impl Frame {
    /// Returns the frame that every kernel of `outputs` fits into.
    ///
    /// # Panics
    /// Where there is no kernel.
    pub fn of<'o>(outputs: impl Iterator<Item = &'o Output> + Clone) -> Self {
        let parts = outputs.flat_map(|o| &o.paths).map(|(_, kernel)| kernel.parts());
        let before = parts.clone().map(|p| p.before).max().expect("a bank has a kernel");
        // A kernel that begins later than the earliest is moved, and must still fit.
        let longest = parts.map(|p| before - p.before + p.head.len()).max().unwrap_or(1);
        let reach = longest.next_power_of_two();
        Self { step: (LENGTHS - 1) * reach, length: LENGTHS * reach, before }
    }

    /// Returns how many samples of the input ahead a sample of the output knows of.
    pub fn before(&self) -> usize {
        self.before
    }
}

/// A bank of filters over the same input channels, whose transforms all outputs share.
///
/// Every output is as long as the input and aligned with it: what kernels hold before time zero is taken from
/// the input ahead, not added as delay.
pub struct Convolver<T> {
    forward: Arc<dyn Fft<T>>,
    inverse: Arc<dyn Fft<T>>,
    frame: Frame,
    /// For each input channel the samples of the next two windows.
    lines: Vec<Aligned<T>>,
    spectra: Vec<Aligned<Complex<T>>>,
    outputs: Vec<Vec<Path<T>>>,
    filled: usize,
    skip: usize,
    sum: Aligned<Complex<T>>,
    block: Aligned<f64>,
    scratch: Aligned<Complex<T>>,
}

/// A kernel on an input channel.
struct Path<T> {
    channel: usize,
    spectrum: Aligned<Complex<T>>,
    ringing: Vec<Ringing>,
}

impl<T: Precision> Convolver<T> {
    /// Returns a bank for `channels` input channels that works in blocks of `frame`.
    ///
    /// # Panics
    /// Where an output names an input channel that is not there, or a kernel is longer than the frame has room for.
    pub fn new(channels: usize, outputs: &[Output], frame: Frame) -> Self {
        let Frame { step, length, before } = frame;
        let mut planner = FftPlanner::<T>::new();
        let silence = |length: usize| Aligned::filled(Complex::from(T::zero()), length);
        let (forward, inverse) = (planner.plan_fft_forward(length), planner.plan_fft_inverse(length));
        let spectrum_of = |parts: &Parts, ringing: &[Ringing]| {
            let mut taps = vec![0.0; length];
            // Kernels that begin later than the earliest are moved, so that one block serves all.
            taps[before - parts.before..][..parts.head.len()].copy_from_slice(&parts.head);
            for decay in ringing {
                let (early, late) = taps.split_at_mut(before);
                late.iter_mut().chain(early).zip(decay.ring(length)).for_each(|(to, tap)| *to += tap);
            }
            let scale = 1.0 / length as f64;
            let mut spectrum = silence(length);
            spectrum.iter_mut().zip(&taps).for_each(|(to, tap)| *to = Complex::from(T::rounded(tap * scale)));
            forward.process(&mut spectrum);
            spectrum
        };
        let path = |(channel, kernel): &(usize, Kernel)| {
            assert!(*channel < channels, "a path's channel exists");
            let parts = kernel.parts();
            let ringing: Vec<_> = parts.decays.iter().copied().map(Ringing::of).collect();
            Path { channel: *channel, spectrum: spectrum_of(parts, &ringing), ringing }
        };
        let scratch = forward.get_inplace_scratch_len().max(inverse.get_inplace_scratch_len());
        Self {
            frame,
            lines: (0..channels)
                .map(|_| Aligned::filled(T::zero(), length - step + WINDOWS * step))
                .collect(),
            spectra: (0..channels).map(|_| silence(length)).collect(),
            outputs: outputs.iter().map(|o| o.paths.iter().map(path).collect()).collect(),
            filled: 0,
            skip: before,
            sum: silence(length),
            block: Aligned::filled(0.0, WINDOWS * step),
            scratch: silence(scratch),
            forward,
            inverse,
        }
    }

    /// Takes `input` (one slice a channel, all of one length) and calls `each` with an output's number and its
    /// next samples, for every output in turn, as often as a block is full.
    pub fn push(&mut self, input: &[&[f64]], mut each: impl FnMut(usize, &[f64])) {
        let (reach, room) = (self.reach(), self.block.len());
        let given = input.first().map_or(0, |channel| channel.len());
        let mut taken = 0;
        while taken < given {
            let now = (room - self.filled).min(given - taken);
            let to = reach + self.filled;
            for (line, channel) in self.lines.iter_mut().zip(input) {
                in_wide_vectors!(round_into(&mut line[to..to + now], &channel[taken..taken + now]));
            }
            taken += now;
            self.filled += now;
            if self.filled == room {
                self.emit(room, &mut each);
            }
        }
    }

    /// Ends the stream: hands out what the input ahead was waited for.
    pub fn finish(mut self, mut each: impl FnMut(usize, &[f64])) {
        let (reach, room) = (self.reach(), self.block.len());
        let mut due = self.filled + self.frame.before;
        while due > 0 {
            for line in &mut self.lines {
                line[reach + self.filled..].fill(T::zero());
            }
            let now = due.min(room);
            self.emit(now, &mut each);
            due -= now;
        }
    }

    /// Returns how many samples before the new ones a window holds.
    fn reach(&self) -> usize {
        self.frame.length - self.frame.step
    }

    /// Filters the full windows and hands out the first `count` of their new samples, less those that lie before the
    /// input's beginning.
    fn emit(&mut self, count: usize, each: &mut impl FnMut(usize, &[f64])) {
        let (reach, Frame { step, length, before }) = (self.reach(), self.frame);
        for (line, spectrum) in self.lines.iter().zip(&mut self.spectra) {
            in_wide_vectors!(join(spectrum, line, &line[step..]));
            self.forward.process_with_scratch(spectrum, &mut self.scratch);
        }
        let from = self.skip.min(count);
        self.skip -= from;
        for (number, paths) in self.outputs.iter_mut().enumerate() {
            for (place, path) in paths.iter().enumerate() {
                let (spectrum, kernel) = (&self.spectra[path.channel], &path.spectrum);
                if place == 0 {
                    in_wide_vectors!(multiply(&mut self.sum, spectrum, kernel));
                } else {
                    in_wide_vectors!(multiply_and_add(&mut self.sum, spectrum, kernel));
                }
            }
            self.inverse.process_with_scratch(&mut self.sum, &mut self.scratch);
            let (first, second) = self.block.split_at_mut(step);
            in_wide_vectors!(part(first, second, &self.sum[reach..]));
            for Path { channel, ringing, .. } in paths {
                let new = self.lines[*channel][reach..].chunks_exact(step);
                for (block, new) in self.block.chunks_exact_mut(step).zip(new) {
                    for decay in &mut *ringing {
                        let lack = decay.window(new, step, length);
                        // The block is late by what kernels hold before time zero.
                        decay.complete(block, reach - before, lack);
                    }
                }
            }
            if from < count {
                each(number, &self.block[from..count]);
            }
        }
        for line in &mut self.lines {
            line.copy_within(WINDOWS * step.., 0);
        }
        self.filled = 0;
    }
}

#[inline(always)]
fn round_into<T: Precision>(to: &mut [T], samples: &[f64]) {
    for (to, x) in to.iter_mut().zip(samples) {
        *to = T::rounded(*x);
    }
}

#[inline(always)]
fn join<T: Precision>(both: &mut [Complex<T>], first: &[T], second: &[T]) {
    for ((both, first), second) in both.iter_mut().zip(first).zip(second) {
        *both = Complex::new(*first, *second);
    }
}

#[inline(always)]
fn part<T: Precision>(first: &mut [f64], second: &mut [f64], both: &[Complex<T>]) {
    for ((first, second), both) in first.iter_mut().zip(second).zip(both) {
        (*first, *second) = (both.re.into(), both.im.into());
    }
}

#[inline(always)]
fn multiply<T: Precision>(to: &mut [Complex<T>], spectrum: &[Complex<T>], kernel: &[Complex<T>]) {
    for ((to, x), h) in to.iter_mut().zip(spectrum).zip(kernel) {
        *to = x * h;
    }
}

#[inline(always)]
fn multiply_and_add<T: Precision>(to: &mut [Complex<T>], spectrum: &[Complex<T>], kernel: &[Complex<T>]) {
    for ((to, x), h) in to.iter_mut().zip(spectrum).zip(kernel) {
        *to = *to + x * h;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::filter::parts::Decay;
    use crate::quantity::Hertz;
    use num_complex::Complex64;
    use std::convert::Infallible;

    fn kernel(corner: f64, advance: f64) -> Kernel {
        Kernel::of(48_000, crate::filter::Fidelity::Exact, |f: Hertz| {
            let turn = Complex64::cis(std::f64::consts::TAU * f.value() * advance);
            let slow = 0.05 / Complex64::new(1.0, f.value() / 15.0);
            Ok::<_, Infallible>(turn / Complex64::new(1.0, f.value() / corner) + slow)
        })
        .expect("short")
    }

    fn noise(length: usize, mut seed: u64) -> Vec<f64> {
        let mut next = || {
            seed = seed.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
            (seed >> 33) as f64 / f64::from(1u32 << 30) - 1.0
        };
        (0..length).map(|_| next()).collect()
    }

    /// Returns a sample of what the parts of `kernel` make of `input`.
    fn directly(input: &[f64], kernel: &Kernel, at: usize) -> f64 {
        let Parts { head, before, decays } = kernel.parts();
        let head = head.iter().enumerate();
        let early: f64 =
            head.filter_map(|(n, tap)| input.get((at + before).checked_sub(n)?).map(|x| x * tap)).sum();
        let past = || input[..=at].iter().rev().enumerate();
        let tap = |d: &Decay, n: usize| d.amplitude * d.ratio.powf(n as f64);
        early + decays.iter().map(|d| past().map(|(n, x)| x * tap(d, n)).sum::<f64>()).sum::<f64>()
    }

    fn run<T: Precision>(channels: &[&[f64]], outputs: &[Output], blocks: &[usize]) -> Vec<Vec<f64>> {
        let mut results = vec![Vec::new(); outputs.len()];
        let mut bank = Convolver::<T>::new(channels.len(), outputs, Frame::of(outputs.iter()));
        let (mut at, mut turn) = (0, 0);
        while at < channels[0].len() {
            let to = (at + blocks[turn % blocks.len()]).min(channels[0].len());
            let block: Vec<&[f64]> = channels.iter().map(|c| &c[at..to]).collect();
            bank.push(&block, |number, samples| results[number].extend_from_slice(samples));
            (at, turn) = (to, turn + 1);
        }
        bank.finish(|number, samples| results[number].extend_from_slice(samples));
        results
    }

    #[test]
    fn the_bank_equals_direct_convolution_with_every_output_as_long_as_the_input_and_aligned() {
        assert_equals_direct::<f64>(1e-12);
        // −120 dB of the noise that goes in.
        assert_equals_direct::<f32>(1e-6);
    }

    fn assert_equals_direct<T: Precision>(tolerance: f64) {
        let (one, other) = (noise(30_011, 1), noise(30_011, 2));
        let (k1, k2) = (kernel(3000.0, 40e-6), kernel(900.0, -40e-6));
        assert!([&k1, &k2].map(|k| k.parts().decays.len()).iter().all(|count| *count > 0));
        let outputs = [
            Output { paths: vec![(0, k1.clone())] },
            Output { paths: vec![(0, k2.clone()), (1, k1.clone())] },
        ];
        let results = run::<T>(&[&one, &other], &outputs, &[1000]);
        for at in [0, 1, 499, 8191, 8192, 15_000, 29_999, 30_010] {
            assert!((results[0][at] - directly(&one, &k1, at)).abs() < tolerance);
            let both = directly(&one, &k2, at) + directly(&other, &k1, at);
            assert!((results[1][at] - both).abs() < tolerance);
        }
        assert_eq!((results[0].len(), results[1].len()), (30_011, 30_011));
    }

    #[test]
    fn the_result_does_not_depend_on_the_blocks_that_the_input_comes_in() {
        let input = noise(20_000, 3);
        let outputs = [Output { paths: vec![(0, kernel(3000.0, 0.0))] }];
        let whole = run::<f64>(&[&input], &outputs, &[20_000]);
        assert_eq!(whole, run::<f64>(&[&input], &outputs, &[1, 8191, 4096, 17]));
    }

    #[test]
    fn an_input_shorter_than_the_kernel_gives_as_many_samples_as_it_has() {
        let outputs = [Output { paths: vec![(0, kernel(3000.0, 0.0))] }];
        for length in [0, 1, 100, 511, 513, 8192] {
            let input = noise(length, 4);
            assert_eq!(run::<f64>(&[&input], &outputs, &[4096])[0].len(), length);
        }
    }
}
