//! Quantities read from text.
//!
//! # Source
//! SI prefixes; IEC 60062:2016, *Marking codes for resistors and capacitors*, for a prefix or `R` in the place
//! of the decimal point (`4k7`, `4n7`, `4R7`). `K` is read as kilo. ISO 80000-1:2022, 7.2, for the comma as the decimal
//! sign.

use std::borrow::Cow;

use super::{Db, Quantity};

/// A text that is not the quantity asked for.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotationError {
    /// It is no number with an optional prefix and unit.
    #[error("`{given}` is not {expected}")]
    NoQuantity {
        /// The text as it was given.
        given: String,
        /// What would have been read, with an example.
        expected: &'static str,
    },
    /// Its comma may be the decimal sign or stand between thousands.
    #[error("`{given}` may be {}: write {}", readings.join(", or "), write.join(" or "))]
    Doubtful {
        /// The text as it was given.
        given: String,
        /// What it may mean.
        readings: Vec<String>,
        /// How to write each of them without doubt.
        write: Vec<String>,
    },
}

impl NotationError {
    /// Returns the text as it was given.
    pub fn given(&self) -> &str {
        match self {
            Self::NoQuantity { given, .. } | Self::Doubtful { given, .. } => given,
        }
    }
}

/// Returns the quantity that `text` states in plain, exponent, prefixed or IEC 60062 notation, with a point or a comma
/// as the decimal sign.
///
/// The sign is kept: whether a negative value is allowed is for the caller to say.
///
/// # Errors
/// [`NotationError`] where the text is no number with an optional prefix and unit, is not finite, lacks the unit that a
/// length needs, or has a comma that may stand between thousands.
pub fn parse_quantity<Q: Quantity>(text: &str) -> Result<Q, NotationError> {
    let read = |text: &str| {
        let trimmed = text.trim();
        let value = if Q::NEEDS_UNIT { with_unit(trimmed) } else { with_optional_unit::<Q>(trimmed) };
        value.filter(|v| v.is_finite()).map(Q::new)
    };
    parse(text, Q::EXAMPLE, read)
}

/// Returns the finite number that `text` states without any unit or prefix, with a point or a comma as the decimal sign.
///
/// # Errors
/// [`NotationError`] where it is no finite number, or has a comma that may stand between thousands.
pub fn parse_plain(text: &str) -> Result<f64, NotationError> {
    parse(text, "a number such as 0.13 or 10", |text| decimal(text.trim(), 0).filter(|v| v.is_finite()))
}

/// Returns the level that `text` states in decibels, the unit written or not, the minus sign typed or printed.
///
/// # Errors
/// [`NotationError`] where it is no finite number of decibels, or has a comma that may stand between thousands.
pub fn parse_decibels(text: &str) -> Result<Db, NotationError> {
    let text = text.trim().replace('\u{2212}', "-");
    let read = |text: &str| {
        let unit = text.len().checked_sub(2).filter(|at| text.is_char_boundary(*at));
        let (number, _) = unit
            .map(|at| text.split_at(at))
            .filter(|(_, unit)| unit.eq_ignore_ascii_case("db"))
            .unwrap_or((text, ""));
        decimal(number.trim_end(), 0).filter(|level| level.is_finite()).map(Db::new)
    };
    parse(&text, "a level such as -3 dB", read)
}

/// Returns the number that `text` is where it has neither prefix nor unit nor exponent, which would say how large it is
/// meant to be; its decimal sign is a point.
pub(super) fn bare_number(text: &str) -> Option<String> {
    let Separators::None(number) = separators(text.trim()) else { return None };
    (decimal(&number, 0).is_some() && !number.contains(['e', 'E'])).then(|| number.into_owned())
}

fn parse<T: std::fmt::Display>(
    text: &str,
    expected: &'static str,
    read: impl Fn(&str) -> Option<T>,
) -> Result<T, NotationError> {
    let refused = || NotationError::NoQuantity { given: text.to_owned(), expected };
    match separators(text.trim()) {
        Separators::None(number) => read(&number).ok_or_else(refused),
        Separators::Doubtful(write) => {
            let readings: Option<Vec<String>> =
                write.iter().map(|number| read(number).map(|value| value.to_string())).collect();
            let readings = readings.ok_or_else(refused)?;
            Err(NotationError::Doubtful { given: text.to_owned(), readings, write })
        }
    }
}

/// A number's commas, looked at before it is read.
enum Separators<'t> {
    /// There is none that might stand between thousands: the text with a point as its decimal sign.
    None(Cow<'t, str>),
    /// The ways to write what it may mean.
    Doubtful(Vec<String>),
}

fn separators(text: &str) -> Separators<'_> {
    let places: Vec<usize> = text.match_indices([',', '.']).map(|(at, _)| at).collect();
    let is_comma = |at: &usize| text.as_bytes()[*at] == b',';
    if !places.iter().any(is_comma) {
        return Separators::None(Cow::Borrowed(text));
    }
    let with_point_at = |kept: Option<usize>| -> String {
        let marks = text.char_indices().filter_map(|(at, c)| match c {
            ',' | '.' => (Some(at) == kept).then_some('.'),
            other => Some(other),
        });
        marks.collect()
    };
    match *places.as_slice() {
        [only] => {
            let before = text[..only].trim_start_matches(['+', '-']);
            let after = text[only + 1..].bytes().take_while(u8::is_ascii_digit).count();
            let groups_thousands = (1..=3).contains(&before.len()) && !before.starts_with('0') && after == 3;
            let decimal = with_point_at(Some(only));
            if groups_thousands {
                Separators::Doubtful(vec![decimal, with_point_at(None)])
            } else {
                Separators::None(Cow::Owned(decimal))
            }
        }
        [first, last] if is_comma(&first) != is_comma(&last) => {
            Separators::Doubtful(vec![with_point_at(Some(last)), with_point_at(Some(first))])
        }
        _ if places.iter().all(is_comma) => Separators::Doubtful(vec![with_point_at(None)]),
        _ => Separators::Doubtful(vec![with_point_at(places.last().copied())]),
    }
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
            ("3,61k", 3610.0),
            ("0,500 M", 500e3),
            ("3k61", 3610.0),
            ("500 kOhm", 500e3),
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
            ("0,022u", 22e-9),
            (".022 µF", 22e-9),
            ("22nF", 22e-9),
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
            assert_eq!(refusal.map_err(|e| e.given().to_owned()), Err(text.to_owned()));
        }
    }

    #[test]
    fn a_comma_that_may_stand_between_thousands_is_refused_with_every_reading() {
        for (text, said) in [
            ("3,610", "`3,610` may be 3.61 Ω, or 3.61 kΩ: write 3.610 or 3610"),
            ("3,610k", "`3,610k` may be 3.61 kΩ, or 3.61 MΩ: write 3.610k or 3610k"),
            ("3.610,5", "`3.610,5` may be 3.61 kΩ, or 3.61 Ω: write 3610.5 or 3.6105"),
            ("3,610.5", "`3,610.5` may be 3.61 kΩ, or 3.61 Ω: write 3610.5 or 3.6105"),
            ("1,000,000", "`1,000,000` may be 1.00 MΩ: write 1000000"),
        ] {
            assert_eq!(parse_quantity::<Ohms>(text).map_err(|e| e.to_string()), Err(said.to_owned()));
        }
        assert_eq!(parse_plain("0,13"), Ok(0.13));
        assert_eq!(parse_plain("1,5"), Ok(1.5));
        assert!(parse_plain("1,500").is_err());
    }
}
