//! Loops in the vectors that a processor has, found out as the program runs, and memory that suits them.
//!
//! Products and sums are never fused, and loops that add keep the order in which they are written: the result is the same to
//! the last bit on every processor.

use std::ops::{Deref, DerefMut};

use fearless_simd::Level;

/// Numbers computed side by side in our own loops, in the shape of a processor's widest vectors.
pub(crate) const LANES: usize = 8;

/// Evaluates `$work`, a call of a function that is `#[inline(always)]` with all that it calls, compiled for each kind of
/// vectors there is, with those that this processor has.
macro_rules! in_wide_vectors {
    ($work:expr) => {
        fearless_simd::dispatch!(fearless_simd::Level::new(), _ => $work)
    };
}

/// Does the same in vectors of at most four `f64`, for loops that wait for their own results: these come later from wider
/// vectors.
macro_rules! in_vectors_of_four {
    ($work:expr) => {
        fearless_simd::dispatch!($crate::vectors::level_of_four(), _ => $work)
    };
}

pub(crate) use {in_vectors_of_four, in_wide_vectors};

/// Returns the highest level of this processor whose vectors have no more than four `f64`.
pub(crate) fn level_of_four() -> Level {
    let level = Level::new();
    #[cfg(any(target_arch = "x86", target_arch = "x86_64"))]
    let level = level.as_avx2().map_or(level, Level::Avx2);
    level
}

/// The bytes of a line of the processor's cache.
const LINE: usize = 64;

/// Values that begin at a line of the cache, so that no vector of them lies across two.
pub(crate) struct Aligned<T> {
    values: Vec<T>,
    from: usize,
    length: usize,
}

impl<T: Clone> Aligned<T> {
    /// Returns `length` times `value`.
    pub(crate) fn filled(value: T, length: usize) -> Self {
        let room = LINE / size_of::<T>();
        let values = vec![value; length + room];
        let from = values.as_ptr().align_offset(LINE).min(room);
        Self { values, from, length }
    }
}

impl<T> Deref for Aligned<T> {
    type Target = [T];

    fn deref(&self) -> &[T] {
        &self.values[self.from..][..self.length]
    }
}

impl<T> DerefMut for Aligned<T> {
    fn deref_mut(&mut self) -> &mut [T] {
        &mut self.values[self.from..][..self.length]
    }
}

impl<T: Clone + Default> Clone for Aligned<T> {
    fn clone(&self) -> Self {
        let mut copy = Self::filled(T::default(), self.length);
        copy.clone_from_slice(self);
        copy
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_and_copies_of_them_begin_at_a_line_of_the_cache() {
        for length in [0, 1, 7, 1000] {
            let mut values = Aligned::filled(0.5, length);
            values.iter_mut().zip(0..).for_each(|(value, n)| *value += f64::from(n));
            let copy = values.clone();
            assert_eq!(*copy, *values);
            assert_eq!(copy.len(), length);
            for aligned in [&values, &copy] {
                assert!(aligned.as_ptr().addr().is_multiple_of(LINE) || length == 0, "{length}");
            }
        }
    }
}
