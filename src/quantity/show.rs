//! Quantities written for people: three significant digits and an SI prefix.

/// Returns `value` in engineering notation, such as `4.70 kΩ`, with `digits` significant digits (1 to 15).
///
/// Zero is written without a prefix, and values that are not finite by their name.
pub fn engineering(value: f64, symbol: &str, digits: usize) -> String {
    /// The largest power of ten that a prefix is put to; beyond it the number would be longer than its sense.
    const FARTHEST: i32 = 14;
    const PREFIXES: [&str; 9] = ["p", "n", "µ", "m", "", "k", "M", "G", "T"];
    if value == 0.0 || !value.is_finite() {
        return format!("{value} {symbol}");
    }
    // The decimal exponent is taken after rounding, so that 999.96 shows as 1.00 k and not as 1000.
    let rounded = format!("{value:.*e}", digits - 1);
    let (mantissa, exponent) = rounded.split_once('e').unwrap_or((&rounded, "0"));
    let exponent: i32 = exponent.parse().unwrap_or(0);
    if exponent.abs() > FARTHEST {
        return format!("{rounded} {symbol}");
    }
    let group = exponent.div_euclid(3).clamp(-4, 4);
    let mantissa: f64 = mantissa.parse().unwrap_or(value);
    let shown = mantissa * 10f64.powi(exponent - 3 * group);
    let whole_digits = usize::try_from(exponent - 3 * group + 1).unwrap_or(1);
    let index = usize::try_from(group + 4).unwrap_or(4);
    format!("{shown:.*} {}{symbol}", digits.saturating_sub(whole_digits), PREFIXES[index])
}

/// Returns a number with a true minus sign and without a negative zero.
pub fn signed(value: f64, digits: usize) -> String {
    let text = format!("{value:.digits$}");
    let zero = text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.');
    if zero { text.trim_start_matches('-').to_owned() } else { text.replace('-', "−") }
}

/// Returns `value` as plain digits where those are few, else in exponent notation, such as `1e300`.
pub fn brief(value: f64) -> String {
    const FEW: std::ops::Range<f64> = 1e-6..1e9;
    if value == 0.0 || !value.is_finite() || FEW.contains(&value.abs()) {
        value.to_string()
    } else {
        format!("{value:e}")
    }
}

/// Returns `count` with what it counts, `1 run` but `2 runs`; `one` is the word for a single one, to which an s is added.
pub fn counted(count: impl TryInto<u64>, one: &str) -> String {
    // What does not fit is more than one in any case.
    let count = count.try_into().unwrap_or(u64::MAX);
    if count == 1 { format!("1 {one}") } else { format!("{count} {one}s") }
}

/// Returns names as a list in words: `bridge, middle and neck`.
pub(crate) fn listed(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::{brief, counted, engineering, signed};

    #[test]
    fn one_thing_is_told_in_the_singular_and_none_in_the_plural() {
        assert_eq!([0, 1, 2].map(|n| counted(n, "run")), ["0 runs", "1 run", "2 runs"]);
    }

    #[test]
    fn a_number_is_written_in_few_characters_however_large_it_is() {
        for (value, expected) in [
            (0.25, "0.25"),
            (-48_000.0, "-48000"),
            (1e300, "1e300"),
            (-1.5e-300, "-1.5e-300"),
            (f64::NAN, "NaN"),
            (f64::NEG_INFINITY, "-inf"),
            (0.0, "0"),
        ] {
            assert_eq!(brief(value), expected);
        }
        assert_eq!(engineering(1e300, "Ω", 3), "1.00e300 Ω");
        assert_eq!(engineering(-2.5e-40, "F", 3), "-2.50e-40 F");
        assert_eq!(engineering(1e14, "Ω", 3), "100 TΩ");
    }

    #[test]
    fn three_significant_digits_and_a_prefix() {
        for (value, expected) in [
            (4700.0, "4.70 kΩ"),
            (999.96, "1.00 kΩ"),
            (22e-9, "22.0 nΩ"),
            (1e6, "1.00 MΩ"),
            (0.0, "0 Ω"),
            (1.95, "1.95 Ω"),
            (-3900.0, "-3.90 kΩ"),
            (f64::INFINITY, "inf Ω"),
        ] {
            assert_eq!(engineering(value, "Ω", 3), expected);
        }
    }
    #[test]
    fn a_negative_zero_is_zero() {
        assert_eq!((signed(-0.01, 1).as_str(), signed(-0.06, 1).as_str()), ("0.0", "−0.1"));
    }
}
