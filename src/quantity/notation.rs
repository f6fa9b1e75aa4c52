//! Quantities read from text.
//!
//! # Source
//! SI prefixes; IEC 60062:2016, *Marking codes for resistors and capacitors*, for a prefix or `R` in the place
//! of the decimal point (`4k7`, `4n7`, `4R7`). `K` is read as kilo.

use super::Quantity;

/// A text that is not the quantity asked for.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{given}` is not {expected}")]
pub struct NotationError {
    /// The text as it was given.
    pub given: String,
    /// What would have been read, with an example.
    pub expected: &'static str,
}

/// Returns the quantity that `text` states in plain, exponent, prefixed or IEC 60062 notation.
///
/// The sign is kept: whether a negative value is allowed is for the caller to say.
///
/// # Errors
/// [`NotationError`] where the text is no number with an optional prefix and unit, is not finite, or lacks the
/// unit that a length needs.
pub fn parse_quantity<Q: Quantity>(text: &str) -> Result<Q, NotationError> {
    let refused = || NotationError { given: text.to_owned(), expected: Q::EXAMPLE };
    let trimmed = text.trim();
    let value = if Q::NEEDS_UNIT { with_unit(trimmed) } else { with_optional_unit::<Q>(trimmed) };
    value.filter(|v| v.is_finite()).map(Q::new).ok_or_else(refused)
}

/// Returns the finite number that `text` states without any unit or prefix.
///
/// # Errors
/// [`NotationError`] where it is no finite number.
pub fn parse_plain(text: &str) -> Result<f64, NotationError> {
    decimal(text.trim(), 0)
        .filter(|v| v.is_finite())
        .ok_or_else(|| NotationError { given: text.to_owned(), expected: "a number such as 0.13 or 10" })
}

fn with_unit(text: &str) -> Option<f64> {
    const INCH: f64 = 0.0254;
    if let Some(number) = text.strip_suffix("in").or_else(|| text.strip_suffix('"')) {
        return decimal(number.trim_end(), 0).map(|inches| inches * INCH);
    }
    [("mm", -3), ("cm", -2), ("m", 0)]
        .into_iter()
        .find_map(|(unit, exponent)| text.strip_suffix(unit).and_then(|n| decimal(n.trim_end(), exponent)))
}

fn with_optional_unit<Q: Quantity>(text: &str) -> Option<f64> {
    let bare = Q::SPELLINGS.iter().find_map(|unit| text.strip_suffix(unit)).unwrap_or(text).trim_end();
    if let Some(value) = decimal(bare, 0) {
        return Some(value);
    }
    let (at, letter) = bare.char_indices().find(|(_, c)| exponent_of(*c).is_some() || *c == 'R')?;
    let exponent = exponent_of(letter).unwrap_or(0);
    let (before, after) = (bare[..at].trim_end(), &bare[at + letter.len_utf8()..]);
    if after.is_empty() {
        return decimal(before, exponent);
    }
    let in_place_of_the_point = !before.contains('.') && after.bytes().all(|b| b.is_ascii_digit());
    in_place_of_the_point.then(|| decimal(&format!("{before}.{after}"), exponent))?
}

const fn exponent_of(prefix: char) -> Option<i32> {
    Some(match prefix {
        'p' => -12,
        'n' => -9,
        'u' | 'µ' | 'μ' => -6,
        'm' => -3,
        'k' | 'K' => 3,
        'M' => 6,
        'G' => 9,
        _ => return None,
    })
}

/// Moves the exponent into the decimal text before it is converted, so that `22n` is the double nearest to
/// 2.2e-8 and not the product of two rounded numbers.
fn decimal(number: &str, exponent: i32) -> Option<f64> {
    let unsigned = number.strip_prefix(['+', '-']).unwrap_or(number);
    let starts_as_a_number = unsigned.starts_with(|c: char| c.is_ascii_digit() || c == '.');
    if !starts_as_a_number || !unsigned.contains(|c: char| c.is_ascii_digit()) {
        return None;
    }
    match number.split_once(['e', 'E']) {
        Some((mantissa, own)) => format!("{mantissa}e{}", own.parse::<i32>().ok()?.checked_add(exponent)?),
        None => format!("{number}e{exponent}"),
    }
    .parse()
    .ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Farads, Henries, Hertz, Metres, Ohms};

    #[test]
    fn every_notation_of_the_trade_is_read_to_the_nearest_double() {
        for (text, expected) in [
            ("500k", 500e3),
            ("500K", 500e3),
            ("4k7", 4700.0),
            ("4K7", 4700.0),
            ("4R7", 4.7),
            ("1M", 1e6),
            ("8.2 kΩ", 8200.0),
            ("8.2kohm", 8200.0),
            ("8.2 k ohms", 8200.0),
            ("250000", 250e3),
            ("2.5e5", 250e3),
            (" 0.0 ", 0.0),
            ("-4k7", -4700.0),
        ] {
            assert_eq!(parse_quantity::<Ohms>(text).map(Ohms::value), Ok(expected), "{text}");
        }
        for (text, expected) in [
            ("22n", 22e-9),
            ("4n7", 4.7e-9),
            ("120pF", 120e-12),
            ("1.2e-10", 1.2e-10),
            ("0.022u", 22e-9),
            ("47 µF", 47e-6),
        ] {
            assert_eq!(parse_quantity::<Farads>(text).map(Farads::value), Ok(expected), "{text}");
        }
        assert_eq!(parse_quantity::<Henries>("1H95").ok(), None);
        assert_eq!(parse_quantity::<Henries>("850 mH").map(Henries::value), Ok(0.85));
        assert_eq!(parse_quantity::<Hertz>("5k").map(Hertz::value), Ok(5000.0));
    }

    #[test]
    fn a_length_needs_its_unit() {
        for (text, expected) in
            [("648 mm", 0.648), ("18.5mm", 0.0185), ("3 m", 3.0), ("4.5cm", 0.045), ("10in", 0.254)]
        {
            assert_eq!(parse_quantity::<Metres>(text).map(Metres::value), Ok(expected), "{text}");
        }
        assert!(parse_quantity::<Metres>("648").is_err());
    }

    #[test]
    fn what_is_no_quantity_is_refused_with_what_was_given() {
        for text in
            ["12 apples", "", "k", "4k7k", "1.2.3", "nan", "inf", "1e999", "4.7k5", "--3", "e5", "5f", "1k-2"]
        {
            let refusal = parse_quantity::<Ohms>(text);
            assert_eq!(refusal.map_err(|e| e.given), Err(text.to_owned()));
        }
    }
}
