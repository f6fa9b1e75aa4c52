//! The precision that sound is filtered in.

use realfft::FftNum;

/// A number that samples are filtered as: `f64` for what is written, `f32` for what is only measured.
///
/// Every 24-bit sample is exact in single precision, and what its transforms round lies some 120 dB below the sound: far
/// below what any measure tells, but by a few steps of 24 bits not the same on machines whose transforms differ.
pub trait Precision: FftNum + PartialOrd + Into<f64> {
    /// Returns the number of this precision that is nearest to `x`.
    fn rounded(x: f64) -> Self;
}

impl Precision for f32 {
    #[expect(clippy::cast_possible_truncation, reason = "it is to be rounded to single precision")]
    #[inline(always)]
    fn rounded(x: f64) -> Self {
        x as Self
    }
}

impl Precision for f64 {
    #[inline(always)]
    fn rounded(x: f64) -> Self {
        x
    }
}
