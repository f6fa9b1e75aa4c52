//! How a sample is stored, and its bytes turned into numbers.

use crate::vectors::in_wide_vectors;

/// The encoding of one sample; integers are little-endian.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Coding {
    /// Offset by half the range, as WAVE stores 8 bits and fewer.
    Unsigned8,
    Signed16,
    Signed24,
    Signed32,
    Float32,
    Float64,
}

impl Coding {
    /// Returns the bytes that one sample takes.
    pub(super) fn bytes(self) -> u16 {
        match self {
            Self::Unsigned8 => 1,
            Self::Signed16 => 2,
            Self::Signed24 => 3,
            Self::Signed32 | Self::Float32 => 4,
            Self::Float64 => 8,
        }
    }

    pub(super) fn is_float(self) -> bool {
        match self {
            Self::Float32 | Self::Float64 => true,
            Self::Unsigned8 | Self::Signed16 | Self::Signed24 | Self::Signed32 => false,
        }
    }

    /// Appends the samples of the whole frames in `bytes` to one plane a channel.
    ///
    /// An integer of n bits is divided by 2ⁿ⁻¹, so that its most negative value reads −1. Every integer and every
    /// `f32` is an `f64` exactly.
    pub(super) fn decode(self, bytes: &[u8], planes: &mut [Vec<f64>]) {
        in_wide_vectors!(self.append_to(bytes, planes));
    }

    #[inline(always)]
    fn append_to(self, bytes: &[u8], planes: &mut [Vec<f64>]) {
        match self {
            Self::Unsigned8 => append(bytes, planes, |[b]| (f64::from(b) - 128.0) / 128.0),
            Self::Signed16 => append(bytes, planes, |b| f64::from(i16::from_le_bytes(b)) / 32768.0),
            Self::Signed24 => append(bytes, planes, |[a, b, c]| {
                // The sample is put in the upper three bytes, so that its sign is the word's.
                f64::from(i32::from_le_bytes([0, a, b, c])) / 2147483648.0
            }),
            Self::Signed32 => append(bytes, planes, |b| f64::from(i32::from_le_bytes(b)) / 2147483648.0),
            Self::Float32 => append(bytes, planes, |b| f64::from(f32::from_le_bytes(b))),
            Self::Float64 => append(bytes, planes, f64::from_le_bytes),
        }
    }
}

#[inline(always)]
fn append<const N: usize>(bytes: &[u8], planes: &mut [Vec<f64>], value: impl Fn([u8; N]) -> f64) {
    let (samples, _) = bytes.as_chunks::<N>();
    if let [plane] = planes {
        plane.extend(samples.iter().map(|&b| value(b)));
        return;
    }
    let channels = planes.len();
    for (channel, plane) in planes.iter_mut().enumerate() {
        plane.extend(samples.chunks_exact(channels).map(|frame| value(frame[channel])));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(coding: Coding, bytes: &[u8]) -> f64 {
        let mut planes = [Vec::new()];
        coding.decode(bytes, &mut planes);
        assert_eq!(planes[0].len(), 1);
        planes[0][0]
    }

    #[test]
    fn the_ends_and_the_middle_of_every_integer_range_are_read() {
        assert_eq!([0u8, 128, 255].map(|b| one(Coding::Unsigned8, &[b])), [-1.0, 0.0, 127.0 / 128.0]);
        assert_eq!(one(Coding::Signed16, &[0x00, 0x80]), -1.0);
        assert_eq!(one(Coding::Signed16, &[0xFF, 0x7F]), 32767.0 / 32768.0);
        assert_eq!(one(Coding::Signed24, &[0, 0, 0x80]), -1.0);
        assert_eq!(one(Coding::Signed24, &[0xFF, 0xFF, 0x7F]), 8388607.0 / 8388608.0);
        assert_eq!(one(Coding::Signed24, &[0xFF, 0xFF, 0xFF]), -1.0 / 8388608.0);
        assert_eq!(one(Coding::Signed32, &[0, 0, 0, 0x80]), -1.0);
        assert_eq!(one(Coding::Float32, &0.1f32.to_le_bytes()), f64::from(0.1f32));
        assert_eq!(one(Coding::Float64, &0.1f64.to_le_bytes()), 0.1);
    }

    #[test]
    fn frames_are_parted_into_channels_and_a_part_of_one_is_left() {
        let mut planes = vec![Vec::new(); 3];
        Coding::Signed16.decode(&[1, 0, 2, 0, 3, 0, 4, 0, 5, 0, 6, 0, 7, 0], &mut planes);
        let counted: Vec<Vec<f64>> = planes.iter().map(|p| p.iter().map(|x| x * 32768.0).collect()).collect();
        assert_eq!(counted, [[1.0, 4.0], [2.0, 5.0], [3.0, 6.0]]);
    }
}
