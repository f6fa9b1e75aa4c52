//! Values as they are stamped on parts, or read off a tape measure.

use super::{Reading, Unit};
use crate::quantity::{Quantity, parse_quantity};

/// Returns what `text` may mean as a stamp; without any, it is none.
pub(super) fn stamped<Q: Quantity>(unit: Unit, text: &str) -> Vec<Reading> {
    let written = match unit {
        Unit::Ohms => track(text).into_iter().collect(),
        Unit::Farads => capacitor(text),
        Unit::Metres => tape(text).into_iter().collect(),
        Unit::Henries | Unit::Hertz => Vec::new(),
    };
    let shown = |write: &str| parse_quantity::<Q>(write).ok().map(|read| read.to_string());
    written.into_iter().filter_map(|write| Some(Reading { shown: shown(&write)?, write })).collect()
}

/// A pot's track with the letter of its taper before or behind it: A250K, B500K, 250KA. Common practice, no source.
fn track(text: &str) -> Option<String> {
    let text = text.trim().to_lowercase();
    let own = text.strip_prefix(['a', 'b', 'c']).or_else(|| text.strip_suffix(['a', 'b', 'c']))?;
    own.ends_with('k')
        .then(|| own.to_owned())
        .or_else(|| own.ends_with("meg").then(|| own.replace("meg", "M")))
}

/// Two digits and the number of zeros behind them, in picofarads, and perhaps the letter of the tolerance: 223, 473J. Without
/// the letter it may be a plain number of picofarads as well.
///
/// # Source
/// IEC 60062, *Marking codes for resistors and capacitors*.
fn capacitor(text: &str) -> Vec<String> {
    const TOLERANCES: [char; 6] = ['F', 'G', 'J', 'K', 'M', 'Z'];
    let text = text.trim().to_uppercase();
    let digits = text.strip_suffix(TOLERANCES).unwrap_or(&text);
    let has_letter = digits.len() < text.len();
    let Ok([tens @ b'1'..=b'9', ones @ b'0'..=b'9', zeros @ b'0'..=b'6']) =
        <[u8; 3]>::try_from(digits.as_bytes())
    else {
        return Vec::new();
    };
    let [tens, ones, zeros] = [tens, ones, zeros].map(|digit| digit - b'0');
    let picofarads = f64::from(tens * 10 + ones) * 10f64.powi(i32::from(zeros));
    let code = match picofarads {
        under if under < 1e3 => format!("{under}p"),
        under if under < 1e6 => format!("{}n", under / 1e3),
        more => format!("{}u", more / 1e6),
    };
    if has_letter { vec![code] } else { vec![code, format!("{digits}p")] }
}

/// Feet and inches, with fractions of an inch: 10 ft, 6' 3", 5 7/8 in.
fn tape(text: &str) -> Option<String> {
    const INCHES_A_FOOT: f64 = 12.0;
    const MM_AN_INCH: f64 = 25.4;
    let text =
        text.trim().to_lowercase().replace(['’', '′'], "'").replace(['”', '″'], "\"").replace("''", "\"");
    let [feet, inches] = ["feet", "foot", "ft", "'"]
        .iter()
        .find_map(|unit| text.split_once(unit))
        .map_or([None, Some(text.as_str())], |(feet, inches)| [Some(feet), Some(inches)]);
    let inches = inches.map(str::trim).filter(|inches| !inches.is_empty());
    let inches = match inches {
        None => 0.0,
        Some(inches) => {
            let number = ["inches", "inch", "in", "\""].iter().find_map(|unit| inches.strip_suffix(unit))?;
            fraction(number)?
        }
    };
    let feet = feet.map_or(Some(0.0), fraction)?;
    let mm = (feet * INCHES_A_FOOT + inches) * MM_AN_INCH;
    Some(if mm < 1e3 { format!("{} mm", rounded(mm)) } else { format!("{} m", rounded(mm) / 1e3) })
}

/// Returns a length in millimetres to a tenth of one.
fn rounded(mm: f64) -> f64 {
    (mm * 10.0).round() / 10.0
}

/// Returns a number such as 5, 5.5, 7/8, 5 7/8 or 5-7/8.
fn fraction(text: &str) -> Option<f64> {
    let plain =
        |text: &str| text.trim().parse::<f64>().ok().filter(|number| number.is_finite() && *number >= 0.0);
    let text = text.trim();
    let Some((above, below)) = text.split_once('/') else { return plain(text) };
    let (whole, above) = above.rsplit_once([' ', '-']).unwrap_or(("0", above));
    let below = plain(below).filter(|below| *below > 0.0)?;
    Some(plain(whole)? + plain(above)? / below)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Farads, Metres, Ohms};

    fn read<Q: Quantity>(unit: Unit, text: &str) -> String {
        stamped::<Q>(unit, text).iter().map(|reading| reading.shown.as_str()).collect::<Vec<_>>().join(" or ")
    }

    #[test]
    fn stamps_are_read_as_makers_stamp_them() {
        for (text, ohms) in
            [("A250K", "250 kΩ"), ("b500k", "500 kΩ"), ("250KA", "250 kΩ"), ("250k", ""), ("A", "")]
        {
            assert_eq!(read::<Ohms>(Unit::Ohms, text), ohms, "{text}");
        }
        for (text, farads) in [
            ("223", "22.0 nF or 223 pF"),
            ("473J", "47.0 nF"),
            ("104k", "100 nF"),
            ("102", "1.00 nF or 102 pF"),
            ("1000", ""),
            ("022", ""),
        ] {
            assert_eq!(read::<Farads>(Unit::Farads, text), farads, "{text}");
        }
    }

    #[test]
    fn feet_and_fractions_of_an_inch_are_lengths() {
        for (text, metres) in [
            ("10 ft", "3.05 m"),
            ("10'", "3.05 m"),
            ("5 7/8 in", "149 mm"),
            ("5-7/8\"", "149 mm"),
            ("1' 6\"", "457 mm"),
            ("7/0 in", ""),
            ("7/8", ""),
            ("long", ""),
        ] {
            assert_eq!(read::<Metres>(Unit::Metres, text), metres, "{text}");
        }
    }
}
