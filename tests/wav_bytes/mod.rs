//! WAV files put together byte by byte, and the signal of the files in `tests/data/sound`.

#![allow(dead_code, reason = "each test uses its part of it")]
#![allow(clippy::cast_possible_truncation, reason = "the files made here are small")]

use std::path::{Path, PathBuf};

/// The bytes of a chunk with its pad byte.
pub(crate) fn chunk(id: [u8; 4], body: &[u8]) -> Vec<u8> {
    let mut bytes = chunk_stating(id, body.len() as u32, body);
    bytes.resize(bytes.len().next_multiple_of(2), 0);
    bytes
}

/// The bytes of a chunk that states some other size than its own, and has no pad byte.
pub(crate) fn chunk_stating(id: [u8; 4], size: u32, body: &[u8]) -> Vec<u8> {
    [&id[..], &size.to_le_bytes(), body].concat()
}

pub(crate) fn form(id: [u8; 4], size: u32, chunks: &[Vec<u8>]) -> Vec<u8> {
    [&id[..], &size.to_le_bytes(), b"WAVE", &chunks.concat()].concat()
}

pub(crate) fn wav(chunks: &[Vec<u8>]) -> Vec<u8> {
    let size = 4 + chunks.iter().map(Vec::len).sum::<usize>() as u32;
    form(*b"RIFF", size, chunks)
}

/// A `fmt ` chunk of 16 bytes with all its fields.
pub(crate) fn fmt_of(code: u16, channels: u16, rate: u32, byte_rate: u32, align: u16, bits: u16) -> Vec<u8> {
    let mut body = [code.to_le_bytes(), channels.to_le_bytes()].concat();
    body.extend([rate.to_le_bytes(), byte_rate.to_le_bytes()].concat());
    body.extend([align.to_le_bytes(), bits.to_le_bytes()].concat());
    chunk(*b"fmt ", &body)
}

/// A `fmt ` chunk whose fields agree with each other.
pub(crate) fn fmt(code: u16, channels: u16, rate: u32, bits: u16) -> Vec<u8> {
    let align = channels.wrapping_mul(bits.div_ceil(8));
    fmt_of(code, channels, rate, rate.wrapping_mul(align.into()), align, bits)
}

/// A `fmt ` chunk of the extensible kind, with the sub-format's identifier.
pub(crate) fn extensible(identifier: &[u8; 16], bits: u16, valid: u16) -> Vec<u8> {
    let mut body = fmt(0xFFFE, 1, 48_000, bits)[8..].to_vec();
    body.extend([22u16.to_le_bytes(), valid.to_le_bytes()].concat());
    body.extend(4u32.to_le_bytes());
    body.extend(identifier);
    chunk(*b"fmt ", &body)
}

pub(crate) fn identifier(code: u8) -> [u8; 16] {
    [code, 0, 0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xAA, 0, 0x38, 0x9B, 0x71]
}

pub(crate) fn data16(samples: &[i16]) -> Vec<u8> {
    chunk(*b"data", &samples.iter().flat_map(|s| s.to_le_bytes()).collect::<Vec<_>>())
}

pub(crate) fn float32(samples: &[f32]) -> Vec<u8> {
    chunk(*b"data", &samples.iter().flat_map(|s| s.to_le_bytes()).collect::<Vec<_>>())
}

/// A plain 16-bit file of one channel around the given `data` chunk.
pub(crate) fn mono16(data: Vec<u8>) -> Vec<u8> {
    wav(&[fmt(1, 1, 48_000, 16), data])
}

/// A `ds64` chunk that states the size of the audio and of one other chunk.
pub(crate) fn ds64(data: u64, other: Option<(&[u8; 4], u64)>) -> Vec<u8> {
    let mut body = [0u64.to_le_bytes(), data.to_le_bytes(), 0u64.to_le_bytes()].concat();
    body.extend(u32::from(other.is_some()).to_le_bytes());
    if let Some((id, size)) = other {
        body.extend([&id[..], &size.to_le_bytes()].concat());
    }
    chunk(*b"ds64", &body)
}

/// The path of a file in `tests/data/sound`.
pub(crate) fn data_file(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/sound").join(name)
}

/// The signal of the 16-bit files in `tests/data/sound`, drawn anew.
pub(crate) fn drawn16(frames: i64, step: i64) -> Vec<f64> {
    (0..frames).map(|n| parabola(n * step).div_euclid(64) as f64 / 32768.0).collect()
}

/// The signal of the 24-bit files in `tests/data/sound`, drawn anew.
pub(crate) fn drawn24(frames: i64, step: i64) -> Vec<f64> {
    (0..frames).map(|n| (parabola(n * step) * 7) as f64 / 8388608.0).collect()
}

fn parabola(phase: i64) -> i64 {
    let x = phase.rem_euclid(4096) - 2048;
    x * (2048 - x.abs())
}
