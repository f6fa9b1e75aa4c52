//! Loops in the widest vectors that a processor has, found out as the program runs.
//!
//! Products and sums are never fused, and loops that add keep the order in which they are written: the result is the same to
//! the last bit on every processor.

/// Numbers computed side by side in our own loops, in the shape of a processor's widest vectors.
pub(crate) const LANES: usize = 8;

/// Evaluates `$work`, a call of a function that is `#[inline(always)]` with all that it calls, compiled for each kind of
/// vectors there is, with those that this processor has.
macro_rules! in_wide_vectors {
    ($work:expr) => {
        fearless_simd::dispatch!(fearless_simd::Level::new(), _ => $work)
    };
}

pub(crate) use in_wide_vectors;
