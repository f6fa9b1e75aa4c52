//! Quantities written for people: three significant digits and an SI prefix.

/// Returns `value` in engineering notation, such as `4.70 kΩ`, with `digits` significant digits (1 to 15).
///
/// Zero is written without a prefix, and values that are not finite by their name.
pub fn engineering(value: f64, symbol: &str, digits: usize) -> String {
    const PREFIXES: [&str; 9] = ["p", "n", "µ", "m", "", "k", "M", "G", "T"];
    if value == 0.0 || !value.is_finite() {
        return format!("{value} {symbol}");
    }
    // The decimal exponent is taken after rounding, so that 999.96 shows as 1.00 k and not as 1000.
    let rounded = format!("{value:.*e}", digits - 1);
    let (mantissa, exponent) = rounded.split_once('e').unwrap_or((&rounded, "0"));
    let exponent: i32 = exponent.parse().unwrap_or(0);
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

#[cfg(test)]
mod tests {
    use super::{engineering, signed};

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
