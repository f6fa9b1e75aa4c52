//! The two files of a take, written and measured in one go.

use std::io::Write;

use crate::measure::{Measures, Meter};
use crate::quantity::Db;
use crate::render::{RenderError, Sink};
use crate::sound::{Depth, Quantiser, WaveShape, WaveWriter};

/// A file on its way to the disk: scaled, quantised, packed, and measured on the values that it holds.
pub(super) struct Recording<W: Write> {
    gain: f64,
    quantisers: Vec<Quantiser>,
    planes: Vec<Vec<f64>>,
    writer: WaveWriter<W>,
    meter: Meter,
}

/// The recordings of a take, all of the same samples at different gains.
pub(super) struct Recordings<W: Write>(pub(super) Vec<Recording<W>>);

/// What all recordings of a set have in common.
#[derive(Debug, Clone, Copy)]
pub(super) struct Tape {
    pub(super) rate_hz: u32,
    pub(super) channels: usize,
    pub(super) depth: Depth,
    pub(super) frames: u64,
}

impl Tape {
    /// Returns the shape of every file.
    pub(super) fn shape(&self) -> Result<WaveShape, RenderError> {
        Ok(WaveShape::new(self.rate_hz, self.channels, self.depth, self.frames)?)
    }
}

impl<W: Write> Recording<W> {
    pub(super) fn new(tape: &Tape, gain: Db, file: W) -> Result<Self, RenderError> {
        Ok(Self {
            gain: gain.amplitude(),
            quantisers: (0..tape.channels).map(|channel| Quantiser::new(tape.depth, channel)).collect(),
            planes: vec![Vec::new(); tape.channels],
            writer: WaveWriter::new(file, tape.shape()?)?,
            meter: Meter::new(tape.rate_hz, tape.channels)?,
        })
    }

    fn add(&mut self, block: &[&[f64]]) -> Result<(), RenderError> {
        for ((plane, samples), quantiser) in self.planes.iter_mut().zip(block).zip(&mut self.quantisers) {
            plane.clear();
            plane.extend(samples.iter().map(|x| x * self.gain));
            quantiser.quantise(plane);
        }
        let planes: Vec<&[f64]> = self.planes.iter().map(Vec::as_slice).collect();
        self.writer.write(&planes)?;
        self.meter.push(&planes)?;
        Ok(())
    }

    /// Ends the file and returns it with what was measured.
    pub(super) fn finish(self) -> Result<(W, Measures), RenderError> {
        Ok((self.writer.finish()?, self.meter.finish()))
    }
}

impl<W: Write + Send> Sink for Recordings<W> {
    fn take(&mut self, block: &[&[f64]]) -> Result<(), RenderError> {
        self.0.iter_mut().try_for_each(|recording| recording.add(block))
    }
}
