//! The units of the circuit and of the guitar, one type each.

use std::fmt;

use super::engineering;

/// A physical quantity held in its SI base unit.
pub trait Quantity: Copy + PartialOrd + fmt::Display {
    /// The unit's symbol as printed, such as `Ω`.
    const SYMBOL: &'static str;
    /// The spellings of the unit that may follow a number, longest first.
    const SPELLINGS: &'static [&'static str];
    /// Whether a bare number without a unit is refused, as it is for lengths.
    const NEEDS_UNIT: bool = false;
    /// The quantity's name with an example, for messages.
    const EXAMPLE: &'static str;
    /// The prefixes, of a length the units, that people leave out where the circuit makes plain which is meant.
    const LEFT_OUT: &'static [&'static str];

    /// Returns the quantity of `value` base units.
    fn new(value: f64) -> Self;
    /// Returns the number of base units.
    fn value(self) -> f64;
}

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $symbol:literal, $spellings:expr, $needs_unit:literal, $example:literal, $left_out:expr) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $name(f64);

        impl $name {
            /// Returns the quantity of `value` base units.
            pub const fn new(value: f64) -> Self {
                Self(value)
            }
            /// Returns the number of base units.
            pub const fn value(self) -> f64 {
                self.0
            }
        }

        impl Quantity for $name {
            const SYMBOL: &'static str = $symbol;
            const SPELLINGS: &'static [&'static str] = $spellings;
            const NEEDS_UNIT: bool = $needs_unit;
            const EXAMPLE: &'static str = $example;
            const LEFT_OUT: &'static [&'static str] = $left_out;
            fn new(value: f64) -> Self {
                Self(value)
            }
            fn value(self) -> f64 {
                self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(&engineering(self.0, $symbol, 3))
            }
        }
    };
}

quantity!(
    /// Electrical resistance in ohms.
    Ohms, "Ω", &["ohms", "Ohms", "ohm", "Ohm", "Ω", "Ω"], false, "a resistance such as 500k, 4k7 or 8.2 kΩ",
    &["k", "M"]
);
quantity!(
    /// Inductance in henries.
    Henries, "H", &["H"], false, "an inductance such as 2.2H, 1.95 or 850 mH", &["m"]
);
quantity!(
    /// Capacitance in farads.
    Farads, "F", &["F"], false, "a capacitance such as 22n, 4n7 or 120 pF", &["p", "n", "u"]
);
quantity!(
    /// Frequency in hertz.
    Hertz, "Hz", &["Hz"], false, "a frequency such as 5k or 440 Hz", &["k"]
);
quantity!(
    /// Length in metres.
    Metres, "m", &["m"], true, "a length with its unit, such as 18.5 mm, 3 m or 25.5 in",
    &[" mm", " cm", " m", " in"]
);
quantity!(
    /// Time in seconds.
    Seconds, "s", &["s"], false, "a time such as 4 s or 20 ms", &["m"]
);
quantity!(
    /// Voltage in volts.
    Volts, "V", &["volts", "volt", "V"], false, "a voltage such as 200 mV or 0.2", &["m"]
);
