//! The ways in which a sample is written.

use std::fmt;

/// How a written sample is stored.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Depth {
    /// Integers of 16 bits, dithered.
    Pcm16,
    /// Integers of 24 bits.
    Pcm24,
    /// Floating point of 32 bits.
    Float32,
}

impl Depth {
    /// Every depth, by size.
    pub const ALL: [Self; 3] = [Self::Pcm16, Self::Pcm24, Self::Float32];

    /// Returns the depth's name in options and reports.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Pcm16 => "16",
            Self::Pcm24 => "24",
            Self::Float32 => "32f",
        }
    }

    /// Returns the bytes that one sample takes.
    pub const fn bytes(self) -> u16 {
        match self {
            Self::Pcm16 => 2,
            Self::Pcm24 => 3,
            Self::Float32 => 4,
        }
    }

    /// Returns the integer that stands for full scale, 2ⁿ⁻¹ for n bits; the largest that is stored is one less.
    pub(super) const fn full_scale(self) -> Option<f64> {
        match self {
            Self::Pcm16 => Some(32768.0),
            Self::Pcm24 => Some(8388608.0),
            Self::Float32 => None,
        }
    }
}

impl fmt::Display for Depth {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}
