//! Levels of sound, each with its own reference, and the difference between two of one kind.

use std::fmt;
use std::ops::{Add, Neg, Sub};

/// A ratio in decibels; also a difference in loudness units, of which one is one decibel.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Db(f64);

impl Db {
    /// Returns a ratio of `value` dB.
    pub const fn new(value: f64) -> Self {
        Self(value)
    }
    /// Returns the ratio of two amplitudes, −∞ dB for an amplitude of zero.
    pub fn of_amplitude(ratio: f64) -> Self {
        Self(20.0 * ratio.log10())
    }
    /// Returns the ratio of two powers, −∞ dB for a power of zero.
    pub fn of_power(ratio: f64) -> Self {
        Self(10.0 * ratio.log10())
    }
    /// Returns the number of decibels.
    pub const fn value(self) -> f64 {
        self.0
    }
    /// Returns the factor on an amplitude.
    pub fn amplitude(self) -> f64 {
        10f64.powf(self.0 / 20.0)
    }
}

impl Add for Db {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sub for Db {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl Neg for Db {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl fmt::Display for Db {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.*} dB", f.precision().unwrap_or(1), self.0)
    }
}

macro_rules! level {
    ($(#[$doc:meta])* $name:ident, $symbol:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            /// Returns the level of `value` on this scale.
            pub const fn new(value: f64) -> Self {
                Self(value)
            }
            /// Returns the number on this scale.
            pub const fn value(self) -> f64 {
                self.0
            }
        }

        impl Sub for $name {
            type Output = Db;
            fn sub(self, other: Self) -> Db {
                Db(self.0 - other.0)
            }
        }

        impl Add<Db> for $name {
            type Output = Self;
            fn add(self, difference: Db) -> Self {
                Self(self.0 + difference.0)
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, concat!("{:.*} ", $symbol), f.precision().unwrap_or(1), self.0)
            }
        }
    };
}

level!(
    /// A level against digital full scale by the plain convention: a full-scale sine's RMS reads −3.01.
    Dbfs, "dBFS"
);
level!(
    /// A true-peak level: the peak of the signal between its samples, against full scale (ITU-R BS.1770).
    DbTp, "dBTP"
);
level!(
    /// A loudness by ITU-R BS.1770 and EBU R 128.
    Lufs, "LUFS"
);
level!(
    /// A voltage's RMS level, against 1 V.
    Dbv, "dBV"
);
level!(
    /// A sound pressure level, against 20 µPa.
    DbSpl, "dB SPL"
);

/// A loudness as a listener would tell it: twice the number is twice as loud, and 1 is that of a tone of 1 kHz at 40 dB.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Sones(f64);

impl Sones {
    /// Returns the loudness of `value` sones.
    pub const fn new(value: f64) -> Self {
        Self(value)
    }
    /// Returns the number of sones.
    pub const fn value(self) -> f64 {
        self.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_level_moves_by_the_difference_between_two_levels() {
        let (quiet, loud) = (Lufs::new(-29.5), Lufs::new(-23.0));
        assert_eq!(quiet + (loud - quiet), loud);
    }

    #[test]
    fn half_an_amplitude_is_six_decibels_down_and_silence_is_minus_infinity() {
        assert!((Db::of_amplitude(0.5).value() + 6.0206).abs() < 1e-4);
        assert!((Db::of_power(0.5).value() + 3.0103).abs() < 1e-4);
        assert!(Db::of_amplitude(0.0).value() < f64::MIN);
        assert!((Db::new(-6.0206).amplitude() - 0.5).abs() < 1e-6);
    }
}
