//! The two files of a take, written and measured in one go.

use std::io::Write;

use crate::digest::{Digest, Digests};
use crate::measure::{Measures, Meter};
use crate::quantity::{Db, DbTp, Dbfs, Hertz, Lufs};
use crate::render::{RenderError, Sink};
use crate::sound::{Depth, Quantiser, WaveShape, WaveWriter, WriteError};

/// A file on its way to the disk: scaled, rounded, packed, and measured on the values that it holds where those measure
/// otherwise than before.
pub(super) struct Recording<W: Write> {
    gain: f64,
    writer: WaveWriter<W>,
    rounding: Option<Rounding>,
}

/// What makes the values that a file holds and measures them.
struct Rounding {
    quantisers: Vec<Quantiser>,
    planes: Vec<Vec<f64>>,
    meter: Meter,
}

/// What is told of a file as it is written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Written {
    pub(super) rms: Dbfs,
    pub(super) loudness: Option<Lufs>,
    pub(super) true_peak: DbTp,
    pub(super) centroid: Option<Hertz>,
}

/// Below this level the rounding to 24 bits, at −146 dBFS, begins to show in a figure: it moves a centroid by a tenth
/// of a percent, and levels by far less.
const ROUNDING_SHOWS: Dbfs = Dbfs::new(-50.0);

impl Written {
    /// Returns what a file will measure that holds what measured `before` after a `gain`, rounding apart.
    pub(super) fn scaled(before: &Measures, gain: Db) -> Self {
        Self {
            rms: before.levels.rms() + gain,
            loudness: before.levels.loudness().with_gain(gain),
            true_peak: before.levels.true_peak() + gain,
            centroid: before.centroid,
        }
    }
}

/// The recordings of a take, both of the same samples at different gains, and their digests as they are written.
pub(super) struct Recordings<W: Write> {
    files: [Recording<W>; 2],
    digests: Digests,
}

/// A file that is written whole.
pub(super) struct Finished<W> {
    pub(super) file: W,
    pub(super) digest: Digest,
    /// What was measured on the values as written, where that was needed.
    pub(super) measured: Option<Written>,
}

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
    /// Returns a recording into `file` of what measured `before`, at `gain`.
    pub(super) fn new(tape: &Tape, before: &Measures, gain: Db, file: W) -> Result<Self, RenderError> {
        let rounding_shows = match tape.depth {
            Depth::Pcm16 => true,
            Depth::Pcm24 => before.levels.rms() + gain < ROUNDING_SHOWS,
            Depth::Float32 => false,
        };
        Ok(Self {
            gain: gain.amplitude(),
            writer: WaveWriter::new(file, tape.shape()?),
            rounding: rounding_shows.then(|| Rounding::new(tape)).transpose()?,
        })
    }

    /// Packs the next samples.
    fn add(&mut self, block: &[&[f64]]) -> Result<(), RenderError> {
        match &mut self.rounding {
            None => Ok(self.writer.pack_rounded(block, self.gain)?),
            Some(rounding) => {
                let planes = rounding.round(block, self.gain)?;
                Ok(self.writer.pack(&planes)?)
            }
        }
    }

    fn finished(self, digest: Digest) -> Result<Finished<W>, RenderError> {
        let measured = self.rounding.map(|rounding| Written::scaled(&rounding.meter.finish(), Db::new(0.0)));
        Ok(Finished { file: self.writer.finish()?, digest, measured })
    }
}

impl Rounding {
    fn new(tape: &Tape) -> Result<Self, RenderError> {
        Ok(Self {
            quantisers: (0..tape.channels).map(|channel| Quantiser::new(tape.depth, channel)).collect(),
            planes: vec![Vec::new(); tape.channels],
            meter: Meter::new(tape.rate_hz, tape.channels)?,
        })
    }

    /// Returns the values that stand for `block` times `gain` in the file.
    fn round(&mut self, block: &[&[f64]], gain: f64) -> Result<Vec<&[f64]>, RenderError> {
        for ((plane, samples), quantiser) in self.planes.iter_mut().zip(block).zip(&mut self.quantisers) {
            plane.clear();
            plane.extend(samples.iter().map(|x| x * gain));
            quantiser.quantise(plane);
        }
        let planes: Vec<&[f64]> = self.planes.iter().map(Vec::as_slice).collect();
        self.meter.push(&planes)?;
        Ok(planes)
    }
}

impl<W: Write> Recordings<W> {
    pub(super) fn new(files: [Recording<W>; 2]) -> Self {
        Self { files, digests: Digests::new() }
    }

    /// Adds what waits in both files to their digests while it is in the processor's cache, and hands it on.
    fn hand_on(&mut self) -> Result<(), RenderError> {
        self.digests.add(self.files.each_ref().map(|recording| recording.writer.waiting()));
        for recording in &mut self.files {
            recording.writer.hand_on().map_err(WriteError::from)?;
        }
        Ok(())
    }

    /// Ends both files and returns them.
    pub(super) fn finish(mut self) -> Result<[Finished<W>; 2], RenderError> {
        for recording in &mut self.files {
            recording.writer.end()?;
        }
        self.hand_on()?;
        let [one, other] = self.files;
        let [of_one, of_other] = self.digests.finish();
        Ok([one.finished(of_one)?, other.finished(of_other)?])
    }
}

impl<W: Write + Send> Sink for Recordings<W> {
    fn take(&mut self, block: &[&[f64]]) -> Result<(), RenderError> {
        self.files.iter_mut().try_for_each(|recording| recording.add(block))?;
        self.hand_on()
    }
}
