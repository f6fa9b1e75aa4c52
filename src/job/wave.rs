//! The samples of a WAV file that stands by itself, with its mark.

use std::fs;

use crate::digest::{Form, MarkedWriter};
use crate::sound::{Depth, Quantiser, WaveShape, WaveWriter, WriteError};

/// Writes `channels` at `rate` in 24 bit into `file`, and at its end the mark by which it is known.
pub(super) fn pack(file: &mut fs::File, channels: &[&[f64]], rate: u32) -> Result<(), WriteError> {
    let frames = channels[0].len() as u64;
    let mark = u32::try_from(Form::Wave.bytes()).unwrap_or(u32::MAX);
    let shape = WaveShape::new(rate, channels.len(), Depth::Pcm24, frames)?.followed_by(mark)?;
    let mut planes: Vec<Vec<f64>> = channels.iter().map(|channel| channel.to_vec()).collect();
    for (channel, plane) in planes.iter_mut().enumerate() {
        Quantiser::new(Depth::Pcm24, channel).quantise(plane);
    }
    let mut writer = WaveWriter::new(MarkedWriter::new(file), shape);
    writer.write(&planes.iter().map(Vec::as_slice).collect::<Vec<_>>())?;
    writer.finish()?.finish(Form::Wave)?;
    Ok(())
}
