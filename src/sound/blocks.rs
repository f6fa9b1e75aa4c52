//! A pass through a sound, block by block.

use std::sync::Arc;

use super::coded::Stream;
use super::source::{Body, first_bad_sample, is_sound};
use super::{Problem, SoundError, Warning};

/// The bytes read from a file at once.
const CHUNK_BYTES: usize = 64 * 1024;

/// A pass through a sound from its beginning, in planar blocks; memory does not grow with the sound's length.
pub struct Blocks {
    name: Arc<str>,
    frames: u64,
    frames_per_block: usize,
    reader: Reader,
    planes: Vec<Vec<f64>>,
    next: u64,
    repaired: u64,
    first_repair: u64,
}

impl Blocks {
    pub(super) fn new(
        name: Arc<str>,
        channels: usize,
        frames: u64,
        frames_per_block: usize,
        reader: Reader,
    ) -> Self {
        let planes = vec![Vec::new(); channels];
        Self { name, frames, frames_per_block, reader, planes, next: 0, repaired: 0, first_repair: 0 }
    }

    /// Returns the next block, one plane of samples in full scales for each channel, all equally long; `None` when
    /// the sound has ended.
    ///
    /// # Errors
    /// [`SoundError`] where a sample is no number of a sound and is not to be repaired, and where the file cannot be
    /// read or changed since it was opened. Only [`Blocks::restart`] makes sense after an error.
    pub fn next_block(&mut self) -> Result<Option<&[Vec<f64>]>, SoundError> {
        match self.read_block() {
            Ok(0) => Ok(None),
            Ok(_) => Ok(Some(&self.planes)),
            Err(problem) => Err(SoundError::new(&*self.name, problem)),
        }
    }

    /// Goes back to the beginning; the next pass gives the same samples again.
    pub fn restart(&mut self) {
        self.reader.restart();
        (self.next, self.repaired) = (0, 0);
    }

    /// Returns the number of frames read in this pass.
    pub fn position(&self) -> u64 {
        self.next
    }

    /// Returns what was done about the samples of this pass so far.
    pub fn warnings(&self) -> Vec<Warning> {
        let repaired = Warning::Repaired { samples: self.repaired, first: self.first_repair };
        if self.repaired > 0 { vec![repaired] } else { Vec::new() }
    }

    fn read_block(&mut self) -> Result<usize, Problem> {
        let left = usize::try_from(self.frames - self.next).unwrap_or(usize::MAX);
        let wanted = left.min(self.frames_per_block);
        self.planes.iter_mut().for_each(Vec::clear);
        if wanted > 0 {
            let read = self.reader.fill(&mut self.planes, self.next, wanted)?;
            if read < wanted {
                return Err(Problem::Changed);
            }
            self.check_samples()?;
            self.next += read as u64;
        }
        if self.next == self.frames && !self.reader.is_unchanged() {
            return Err(Problem::Changed);
        }
        Ok(wanted)
    }

    fn check_samples(&mut self) -> Result<(), Problem> {
        if !self.reader.may_hold_bad_samples() || self.planes.iter().all(|p| p.iter().all(|x| is_sound(*x))) {
            return Ok(());
        }
        if !self.reader.repairs {
            return first_bad_sample(&self.planes, self.next).map_or(Ok(()), Err);
        }
        for plane in &mut self.planes {
            for (frame, sample) in (self.next..).zip(plane.iter_mut()).filter(|(_, x)| !is_sound(**x)) {
                *sample = 0.0;
                self.first_repair = if self.repaired == 0 { frame } else { self.first_repair.min(frame) };
                self.repaired += 1;
            }
        }
        Ok(())
    }
}

/// What turns a sound's body into samples.
pub(super) struct Reader {
    body: Body,
    repairs: bool,
    /// The pass through a compressed stream, once begun.
    stream: Option<Stream>,
    bytes: Vec<u8>,
}

impl Reader {
    pub(super) fn new(body: Body, repairs: bool) -> Self {
        Self { body, repairs, stream: None, bytes: Vec::new() }
    }

    fn restart(&mut self) {
        // A fresh decoder is the one way to be sure that nothing of the first pass is left in it.
        self.stream = None;
    }

    /// Appends the `frames` frames from `at` on and returns how many there were.
    fn fill(&mut self, planes: &mut [Vec<f64>], at: u64, frames: usize) -> Result<usize, Problem> {
        match &self.body {
            Body::Samples(samples) => {
                // Samples in memory are fewer than an address can count.
                let from = usize::try_from(at).unwrap_or(usize::MAX);
                for (plane, source) in planes.iter_mut().zip(samples.iter()) {
                    plane.extend_from_slice(&source[from..from + frames]);
                }
                Ok(frames)
            }
            Body::Coded(medium, kind) => {
                let stream = match &mut self.stream {
                    Some(stream) => stream,
                    begun => begun.insert(Stream::open(*kind, medium, false)?),
                };
                stream.fill(planes, frames)
            }
            Body::Wave(medium, layout) => {
                let frame_bytes = usize::from(layout.format.frame_bytes());
                let mut done = 0;
                while done < frames {
                    let now = (frames - done).min(CHUNK_BYTES / frame_bytes);
                    self.bytes.resize(now * frame_bytes, 0);
                    let place = layout.start + (at + done as u64) * frame_bytes as u64;
                    let read = medium.read_at(place, &mut self.bytes).map_err(Problem::Unreadable)?;
                    layout.format.coding.decode(&self.bytes[..read], planes);
                    done += read / frame_bytes;
                    if read < self.bytes.len() {
                        break;
                    }
                }
                Ok(done)
            }
        }
    }

    fn may_hold_bad_samples(&self) -> bool {
        match &self.body {
            Body::Wave(_, layout) => layout.format.coding.is_float(),
            Body::Coded(..) => true,
            Body::Samples(_) => false,
        }
    }

    fn is_unchanged(&self) -> bool {
        match &self.body {
            Body::Wave(medium, _) | Body::Coded(medium, _) => medium.is_unchanged(),
            Body::Samples(_) => true,
        }
    }
}
