//! What comes to the jack, through an amplifier and its loudspeaker.

use super::{RenderError, Sink};
use crate::amp::{Cabinet, Chain, LinearChain, Stages};
use crate::filter::{Convolver, Frame, Output};

/// An amplifier for each channel of a take, all with one gain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Amplifier {
    /// Samples a second.
    pub rate_hz: u32,
    /// The gain before the stages, the same for every take of a set.
    pub gain: f64,
    /// What follows the stages.
    pub cabinet: Cabinet,
}

/// Hands to a sink what its amplifier makes of a take: each channel, and where that is wanted after them each channel as the
/// amplifier would have it if it were linear.
///
/// What is handed on is as long as the take and aligned with it.
pub struct Amplified<S> {
    chains: Vec<Chain>,
    linear: Vec<LinearChain>,
    bank: Option<Convolver<f64>>,
    /// How many frames ahead the loudspeaker is heard by, which is more than the chains are late by.
    ahead: usize,
    planes: Vec<Vec<f64>>,
    hands: Hands<S>,
}

/// Gathers the channels of a block.
struct Hands<S> {
    ready: Vec<Vec<f64>>,
    /// The frames that came and were not handed on yet.
    due: usize,
    sink: S,
}

/// Frames handed to a sink at once.
const PIECE: usize = 2048;

impl Amplifier {
    /// Returns `sink` behind this amplifier, for takes of so many `channels`.
    pub fn before<S: Sink>(&self, sink: S, channels: usize, with_linear: bool) -> Amplified<S> {
        let chains = vec![Chain::new(self.rate_hz, Stages::generic(), self.gain); channels];
        let linear = if with_linear { channels } else { 0 };
        let kernel = self.cabinet.kernel(self.rate_hz, chains.first().map_or(0.0, Chain::delay));
        let of_linear = self.cabinet.kernel(self.rate_hz, 0.0);
        let kernels = std::iter::repeat_n(kernel, channels).chain(std::iter::repeat_n(of_linear, linear));
        let outputs: Vec<Output> = kernels.enumerate().map(|path| Output { paths: vec![path] }).collect();
        let (all, frame) = (outputs.len(), Frame::of(outputs.iter()));
        Amplified {
            chains,
            linear: vec![LinearChain::new(self.rate_hz, self.gain); linear],
            bank: Some(Convolver::new(all, &outputs, frame)),
            ahead: frame.before(),
            planes: vec![Vec::new(); all],
            hands: Hands { ready: vec![Vec::new(); all], due: 0, sink },
        }
    }
}

impl<S> Amplified<S> {
    /// Returns the sink.
    pub fn into_inner(self) -> S {
        self.hands.sink
    }
}

impl<S: Sink> Amplified<S> {
    fn pass(&mut self, block: &[&[f64]]) -> Result<(), RenderError> {
        self.planes.iter_mut().for_each(Vec::clear);
        let (amplified, linear) = self.planes.split_at_mut(self.chains.len());
        for ((chain, samples), plane) in self.chains.iter_mut().zip(block).zip(amplified) {
            chain.run(samples, plane);
        }
        for ((chain, samples), plane) in self.linear.iter_mut().zip(block).zip(linear) {
            chain.run(samples, plane);
        }
        let Some(bank) = &mut self.bank else { return Ok(()) };
        let planes: Vec<&[f64]> = self.planes.iter().map(Vec::as_slice).collect();
        let mut result = Ok(());
        bank.push(&planes, |output, samples| {
            if result.is_ok() {
                result = self.hands.take(output, samples);
            }
        });
        result
    }
}

impl<S: Sink> Sink for Amplified<S> {
    fn take(&mut self, block: &[&[f64]]) -> Result<(), RenderError> {
        self.hands.due += block.first().map_or(0, |samples| samples.len());
        self.pass(block)
    }

    fn end(&mut self) -> Result<(), RenderError> {
        // What is late in the chains comes out by the silence that follows a take.
        let silence = vec![0.0; self.ahead];
        self.pass(&vec![silence.as_slice(); self.chains.len()])?;
        let mut result = Ok(());
        if let Some(bank) = self.bank.take() {
            bank.finish(|output, samples| {
                if result.is_ok() {
                    result = self.hands.take(output, samples);
                }
            });
        }
        result.and_then(|()| self.hands.sink.end())
    }
}

impl<S: Sink> Hands<S> {
    /// Takes one channel's samples, and hands all that are due on with those of the last.
    fn take(&mut self, channel: usize, samples: &[f64]) -> Result<(), RenderError> {
        self.ready[channel].clear();
        self.ready[channel].extend_from_slice(samples);
        if channel + 1 < self.ready.len() {
            return Ok(());
        }
        let count = samples.len().min(self.due);
        self.due -= count;
        for start in (0..count).step_by(PIECE) {
            let piece = start..count.min(start + PIECE);
            let block: Vec<&[f64]> = self.ready.iter().map(|plane| &plane[piece.clone()]).collect();
            self.sink.take(&block)?;
        }
        Ok(())
    }
}
