//! Overlap-save convolution of a stream with several kernels at once.

use std::sync::Arc;

use num_complex::Complex;
use realfft::{ComplexToReal, RealFftPlanner, RealToComplex};

use super::{Kernel, Precision};

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
    /// New samples a block.
    step: usize,
    /// Samples of the transform: those of the block, and as many before them as a kernel reaches back.
    length: usize,
    before: usize,
}

/// How many times longer than the longest kernel a transform is, times the bytes of a sample. A block's cost grows with
/// its length and a little more, while the share of it that is new grows from a half (2) to three quarters (4) and ever
/// less; longer ones than these leave the processor's second cache.
const LENGTHS_BYTES: usize = 16;

impl Frame {
    /// Returns the frame that every kernel of `outputs` fits into, for a bank of the precision `T`.
    ///
    /// # Panics
    /// Where there is no kernel.
    pub fn of<'o, T: Precision>(outputs: impl Iterator<Item = &'o Output> + Clone) -> Self {
        let kernels = outputs.flat_map(|o| &o.paths).map(|(_, kernel)| kernel);
        let before = kernels.clone().map(Kernel::before).max().expect("a bank has a kernel");
        // A kernel that begins later than the earliest is moved, and must still fit.
        let longest = kernels.map(|k| before - k.before() + k.taps().len()).max().unwrap_or(1);
        let reach = longest.next_power_of_two();
        let lengths = LENGTHS_BYTES / size_of::<T>();
        Self { step: (lengths - 1) * reach, length: lengths * reach, before }
    }
}

/// A bank of filters over the same input channels, whose transforms all outputs share.
///
/// Every output is as long as the input and aligned with it: what kernels hold before time zero is taken from
/// the input ahead, not added as delay.
pub struct Convolver<T> {
    forward: Arc<dyn RealToComplex<T>>,
    inverse: Arc<dyn ComplexToReal<T>>,
    frame: Frame,
    /// For each input channel the samples of the next transform.
    windows: Vec<Vec<T>>,
    spectra: Vec<Vec<Complex<T>>>,
    /// For each output the input channels and the kernels' spectra.
    outputs: Vec<Vec<(usize, Vec<Complex<T>>)>>,
    filled: usize,
    skip: usize,
    sum: Vec<Complex<T>>,
    block: Vec<T>,
    scratch_forward: Vec<Complex<T>>,
    scratch_inverse: Vec<Complex<T>>,
}

impl<T: Precision> Convolver<T> {
    /// Returns a bank for `channels` input channels that works in blocks of `frame`.
    ///
    /// # Panics
    /// Where an output names an input channel that is not there, or a kernel is longer than the frame has room for.
    pub fn new(channels: usize, outputs: &[Output], frame: Frame) -> Self {
        let Frame { length, before, .. } = frame;
        let mut planner = RealFftPlanner::<T>::new();
        let (forward, inverse) = (planner.plan_fft_forward(length), planner.plan_fft_inverse(length));
        let spectrum_of = |kernel: &Kernel| {
            // Kernels that begin later than the earliest are moved, so that one block serves all.
            let mut padded = vec![T::zero(); length];
            let at = before - kernel.before();
            let scale = 1.0 / length as f64;
            for (to, tap) in padded[at..].iter_mut().zip(kernel.taps()) {
                *to = T::rounded(tap * scale);
            }
            let mut spectrum = forward.make_output_vec();
            forward.process(&mut padded, &mut spectrum).expect("lengths are the transform's own");
            spectrum
        };
        let outputs: Vec<Vec<(usize, Vec<Complex<T>>)>> = outputs
            .iter()
            .map(|o| o.paths.iter().map(|(channel, kernel)| (*channel, spectrum_of(kernel))).collect())
            .collect();
        assert!(outputs.iter().flatten().all(|(channel, _)| *channel < channels), "a path's channel exists");
        Self {
            frame,
            windows: vec![vec![T::zero(); length]; channels],
            spectra: vec![forward.make_output_vec(); channels],
            outputs,
            filled: 0,
            skip: before,
            sum: inverse.make_input_vec(),
            block: inverse.make_output_vec(),
            scratch_forward: forward.make_scratch_vec(),
            scratch_inverse: inverse.make_scratch_vec(),
            forward,
            inverse,
        }
    }

    /// Takes `input` (one slice a channel, all of one length) and calls `each` with an output's number and its
    /// next samples, for every output in turn, as often as a block is full.
    pub fn push(&mut self, input: &[&[f64]], mut each: impl FnMut(usize, &[T])) {
        let Frame { step, length, .. } = self.frame;
        let given = input.first().map_or(0, |channel| channel.len());
        let mut taken = 0;
        while taken < given {
            let now = (step - self.filled).min(given - taken);
            let to = length - step + self.filled;
            for (window, channel) in self.windows.iter_mut().zip(input) {
                for (sample, x) in window[to..to + now].iter_mut().zip(&channel[taken..taken + now]) {
                    *sample = T::rounded(*x);
                }
            }
            taken += now;
            self.filled += now;
            if self.filled == step {
                self.emit(step, &mut each);
            }
        }
    }

    /// Ends the stream: hands out what the input ahead was waited for.
    pub fn finish(mut self, mut each: impl FnMut(usize, &[T])) {
        let Frame { step, length, before } = self.frame;
        let mut due = self.filled + before;
        while due > 0 {
            for window in &mut self.windows {
                window[length - step + self.filled..].fill(T::zero());
            }
            let now = due.min(step);
            self.emit(now, &mut each);
            due -= now;
        }
    }

    /// Filters the full window and hands out the first `count` of its new samples, less those that lie before the
    /// input's beginning.
    fn emit(&mut self, count: usize, each: &mut impl FnMut(usize, &[T])) {
        let Frame { step, length, .. } = self.frame;
        for (window, spectrum) in self.windows.iter_mut().zip(&mut self.spectra) {
            // The transform overwrites its input, which the next block still needs.
            self.block.copy_from_slice(window);
            self.forward
                .process_with_scratch(&mut self.block, spectrum, &mut self.scratch_forward)
                .expect("lengths are the transform's own");
            window.copy_within(step.., 0);
        }
        let from = self.skip.min(count);
        self.skip -= from;
        for (number, paths) in self.outputs.iter().enumerate() {
            for (place, (channel, kernel)) in paths.iter().enumerate() {
                let products = self.sum.iter_mut().zip(&self.spectra[*channel]).zip(kernel);
                if place == 0 {
                    products.for_each(|((sum, x), h)| *sum = x * h);
                } else {
                    products.for_each(|((sum, x), h)| *sum = *sum + x * h);
                }
            }
            // Rounding leaves a trace of an imaginary part where a real signal has none.
            let last = self.sum.len() - 1;
            self.sum[0].im = T::zero();
            self.sum[last].im = T::zero();
            self.inverse
                .process_with_scratch(&mut self.sum, &mut self.block, &mut self.scratch_inverse)
                .expect("lengths are the transform's own");
            if from < count {
                each(number, &self.block[length - step + from..length - step + count]);
            }
        }
        self.filled = 0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Hertz;
    use num_complex::Complex64;
    use std::convert::Infallible;

    fn kernel(corner: f64, advance: f64) -> Kernel {
        Kernel::of(48_000, crate::filter::Fidelity::Exact, |f: Hertz| {
            let turn = Complex64::cis(std::f64::consts::TAU * f.value() * advance);
            Ok::<_, Infallible>(turn / Complex64::new(1.0, f.value() / corner))
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

    fn directly(input: &[f64], kernel: &Kernel, at: usize) -> f64 {
        let taps = kernel.taps().iter().enumerate();
        taps.filter_map(|(n, tap)| input.get((at + kernel.before()).checked_sub(n)?).map(|x| x * tap)).sum()
    }

    fn run<T: Precision>(channels: &[&[f64]], outputs: &[Output], blocks: &[usize]) -> Vec<Vec<T>> {
        let mut results = vec![Vec::new(); outputs.len()];
        let mut bank = Convolver::<T>::new(channels.len(), outputs, Frame::of::<T>(outputs.iter()));
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
        let outputs = [
            Output { paths: vec![(0, k1.clone())] },
            Output { paths: vec![(0, k2.clone()), (1, k1.clone())] },
        ];
        let results = run::<T>(&[&one, &other], &outputs, &[1000]);
        for at in [0, 1, 499, 8191, 8192, 15_000, 29_999, 30_010] {
            assert!((Into::<f64>::into(results[0][at]) - directly(&one, &k1, at)).abs() < tolerance);
            let both = directly(&one, &k2, at) + directly(&other, &k1, at);
            assert!((Into::<f64>::into(results[1][at]) - both).abs() < tolerance);
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
