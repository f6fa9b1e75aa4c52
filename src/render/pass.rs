//! A pass of a source through all takes, block by block, a thread for each group of takes.

use super::{RenderError, Take};
use crate::filter::{Convolver, Frame, Precision, SectionFilter};
use crate::sound::Sound;
use crate::workers::share_out;

/// Where a take's samples go.
pub trait Sink: Send {
    /// Takes the next samples: one slice a channel, all of one length.
    ///
    /// # Errors
    /// [`RenderError`] where they cannot be measured or written.
    fn take(&mut self, block: &[&[f64]]) -> Result<(), RenderError>;

    /// Learns that no more samples come, for sinks that hold some back.
    ///
    /// # Errors
    /// As [`Sink::take`].
    fn end(&mut self) -> Result<(), RenderError> {
        Ok(())
    }
}

/// Frames read from the source at once.
const BLOCK: usize = 8192;
/// Frames handed to a sink at once: few enough to stay in the processor's first cache from one measure to the next.
const PIECE: usize = 2048;

/// Renders `sound` through `takes` into `sinks`, one for each take, and returns the sinks.
///
/// The takes are shared out over up to `workers` threads, each of which reads the source for itself: no
/// take's samples depend on how many there are. `watch` is shown each of the source's blocks once, by the first of them.
///
/// # Errors
/// [`RenderError`] of the reader or of a sink; other threads then stop at their next block's end or go on to theirs.
pub fn pass<S: Sink>(
    sound: &Sound,
    takes: &[Take],
    sinks: Vec<S>,
    workers: usize,
    watch: &(dyn Fn(&[Vec<f64>]) + Sync),
) -> Result<Vec<S>, RenderError> {
    pass_in::<f64, S>(sound, takes, sinks, workers, watch)
}

/// Does the same in single precision, which is quicker and good enough for measures.
///
/// # Errors
/// As [`pass`].
pub fn measuring_pass<S: Sink>(
    sound: &Sound,
    takes: &[Take],
    sinks: Vec<S>,
    workers: usize,
    watch: &(dyn Fn(&[Vec<f64>]) + Sync),
) -> Result<Vec<S>, RenderError> {
    pass_in::<f32, S>(sound, takes, sinks, workers, watch)
}

fn pass_in<T: Precision, S: Sink>(
    sound: &Sound,
    takes: &[Take],
    sinks: Vec<S>,
    workers: usize,
    watch: &(dyn Fn(&[Vec<f64>]) + Sync),
) -> Result<Vec<S>, RenderError> {
    let frame = Frame::of(takes.iter().flat_map(|t| &t.outputs));
    let group = takes.len().div_ceil(workers.max(1)).max(1);
    let mut sinks = sinks.into_iter();
    let groups = takes.chunks(group).enumerate().map(|(i, takes)| {
        let sinks: Vec<S> = sinks.by_ref().take(takes.len()).collect();
        (i == 0, takes, sinks)
    });
    let groups: Vec<_> = groups.collect();
    let done = share_out(groups, workers, |(is_first, takes, sinks)| {
        Worker::<T, S>::new(sound, takes, sinks, frame).run(sound, |block| {
            if is_first {
                watch(block);
            }
        })
    });
    let mut all = Vec::with_capacity(takes.len());
    for sinks in done {
        all.extend(sinks?);
    }
    Ok(all)
}

/// A group of takes on their way through one bank.
struct Worker<T, S> {
    bank: Convolver<T>,
    stages: Vec<Stage<S>>,
    /// For each output of the bank the stage that it belongs to.
    stage_of: Vec<usize>,
}

/// What a take's samples pass after the bank.
struct Stage<S> {
    sections: Option<Vec<SectionFilter>>,
    hum: Vec<f64>,
    /// The place in the hum of the next sample.
    hum_at: usize,
    channels: usize,
    /// The channels that have their block's samples while others still wait for theirs.
    ready: Vec<Vec<f64>>,
    planes: Vec<Vec<f64>>,
    sink: S,
}

impl<T: Precision, S: Sink> Worker<T, S> {
    fn new(sound: &Sound, takes: &[Take], sinks: Vec<S>, frame: Frame) -> Self {
        let outputs: Vec<_> = takes.iter().flat_map(|t| t.outputs.iter().cloned()).collect();
        let stage_of = takes.iter().enumerate().flat_map(|(i, t)| vec![i; t.outputs.len()]).collect();
        let stages = takes.iter().zip(sinks).map(|(take, sink)| Stage {
            sections: take.section.as_ref().map(|section| vec![section.clone(); take.outputs.len()]),
            hum: take.hum.clone(),
            hum_at: 0,
            channels: take.outputs.len(),
            ready: Vec::new(),
            planes: vec![Vec::with_capacity(PIECE); take.outputs.len()],
            sink,
        });
        Self { bank: Convolver::new(sound.channels(), &outputs, frame), stages: stages.collect(), stage_of }
    }

    fn run(self, sound: &Sound, watch: impl Fn(&[Vec<f64>])) -> Result<Vec<S>, RenderError> {
        let Self { mut bank, mut stages, stage_of } = self;
        let mut failure = None;
        let mut blocks = sound.blocks(BLOCK);
        while let Some(planes) = blocks.next_block()? {
            watch(planes);
            let planes: Vec<&[f64]> = planes.iter().map(Vec::as_slice).collect();
            bank.push(&planes, |output, samples| {
                let result = stages[stage_of[output]].add(samples);
                failure = failure.take().or(result.err());
            });
            if let Some(failure) = failure {
                return Err(failure);
            }
        }
        bank.finish(|output, samples| {
            let result = stages[stage_of[output]].add(samples);
            failure = failure.take().or(result.err());
        });
        if let Some(failure) = failure {
            return Err(failure);
        }
        stages.iter_mut().try_for_each(|stage| stage.sink.end())?;
        Ok(stages.into_iter().map(|s| s.sink).collect())
    }
}

impl<S: Sink> Stage<S> {
    /// Adds a channel's next samples, and hands all on when every channel has them.
    fn add(&mut self, samples: &[f64]) -> Result<(), RenderError> {
        if self.channels == 1 {
            return self.hand_on(&[samples]);
        }
        self.ready.push(samples.to_vec());
        if self.ready.len() < self.channels {
            return Ok(());
        }
        let ready = std::mem::take(&mut self.ready);
        let block: Vec<&[f64]> = ready.iter().map(Vec::as_slice).collect();
        self.hand_on(&block)
    }

    fn hand_on(&mut self, block: &[&[f64]]) -> Result<(), RenderError> {
        let frames = block[0].len();
        for start in (0..frames).step_by(PIECE) {
            let piece = start..frames.min(start + PIECE);
            let samples = block.iter().map(|samples| &samples[piece.clone()]);
            if self.sections.is_none() && self.hum.is_empty() {
                self.sink.take(&samples.collect::<Vec<_>>())?;
                continue;
            }
            for (plane, samples) in self.planes.iter_mut().zip(samples) {
                plane.clear();
                plane.extend_from_slice(samples);
            }
            for (section, plane) in self.sections.iter_mut().flatten().zip(&mut self.planes) {
                section.run(plane);
            }
            self.add_hum();
            let piece: Vec<&[f64]> = self.planes.iter().map(Vec::as_slice).collect();
            self.sink.take(&piece)?;
        }
        Ok(())
    }

    /// Adds the hum to every channel alike.
    fn add_hum(&mut self) {
        if self.hum.is_empty() {
            return;
        }
        for plane in &mut self.planes {
            for (sample, hum) in plane.iter_mut().zip(self.hum.iter().cycle().skip(self.hum_at)) {
                *sample += hum;
            }
        }
        self.hum_at = (self.hum_at + self.planes[0].len()) % self.hum.len();
    }
}
