//! The numbers that a network is solved in: exact ones, by which circuits are compared, and ordinary ones.

use std::ops::{Add, Mul, Sub};

use num_complex::Complex64;

/// A number with which a network of admittances can be solved.
pub(super) trait Field:
    Copy + PartialEq + Add<Output = Self> + Sub<Output = Self> + Mul<Output = Self>
{
    /// Nothing.
    const ZERO: Self;
    /// One.
    const ONE: Self;

    /// Returns one divided by it; of zero, whatever that gives.
    fn reciprocal(self) -> Self;
}

impl Field for f64 {
    const ZERO: Self = 0.0;
    const ONE: Self = 1.0;

    fn reciprocal(self) -> Self {
        self.recip()
    }
}

impl Field for Complex64 {
    const ZERO: Self = Self::ZERO;
    const ONE: Self = Self::ONE;

    fn reciprocal(self) -> Self {
        self.inv()
    }
}

/// A whole number modulo the prime 2⁶¹ − 1.
///
/// The transfers of a network are quotients of polynomials in its admittances. Two that differ agree at a point chosen at
/// random with a probability of at most their degree divided by the prime.
///
/// # Source
/// J. Schwartz, "Fast probabilistic algorithms for verification of polynomial identities", Journal of the ACM 27(4), 1980.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct Residue(u64);

impl Residue {
    const PRIME: u64 = (1 << 61) - 1;

    /// Returns the number that any 64 bits stand for.
    pub(super) fn new(bits: u64) -> Self {
        Self(bits % Self::PRIME)
    }

    /// Returns the two numbers of the same square, the lesser first.
    pub(super) fn either_sign(self) -> [Self; 2] {
        let other = Self::ZERO - self;
        [self.min(other), self.max(other)]
    }

    fn folded(value: u64) -> Self {
        Self(if value >= Self::PRIME { value - Self::PRIME } else { value })
    }
}

impl Add for Residue {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self::folded(self.0 + other.0)
    }
}

impl Sub for Residue {
    type Output = Self;

    fn sub(self, other: Self) -> Self {
        Self::folded(self.0 + Self::PRIME - other.0)
    }
}

impl Mul for Residue {
    type Output = Self;

    #[allow(clippy::cast_possible_truncation, reason = "both halves are masked to 61 bits")]
    fn mul(self, other: Self) -> Self {
        let product = u128::from(self.0) * u128::from(other.0);
        // 2⁶¹ is 1: the upper half counts as much as the lower one.
        let (low, high) = (product as u64 & Self::PRIME, (product >> 61) as u64);
        Self::folded(low + high)
    }
}

impl Field for Residue {
    const ZERO: Self = Self(0);
    const ONE: Self = Self(1);

    fn reciprocal(self) -> Self {
        // Fermat: a to the power of p − 1 is 1.
        let (mut power, mut left, mut result) = (self, Self::PRIME - 2, Self::ONE);
        while left > 0 {
            if left & 1 == 1 {
                result = result * power;
            }
            power = power * power;
            left >>= 1;
        }
        result
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn residues_reckon_as_whole_numbers_modulo_the_prime() {
        let prime = u128::from(Residue::PRIME);
        let values = [1, 2, 12_345_678_901_234_567, Residue::PRIME - 1, 1 << 60];
        for a in values {
            assert_eq!(Residue::new(a) * Residue::new(a).reciprocal(), Residue::ONE, "{a}");
            for b in values {
                let [x, y] = [a, b].map(u128::from);
                let of = |value: u128| Residue(u64::try_from(value % prime).unwrap());
                assert_eq!(Residue(a) + Residue(b), of(x + y));
                assert_eq!(Residue(a) - Residue(b), of(x + prime - y));
                assert_eq!(Residue(a) * Residue(b), of(x * y));
            }
        }
    }
}
