//! Numbers whose prefix or unit was left out: what they say, and what was probably meant.

use std::fmt;
use std::ops::RangeInclusive;

use super::notation::bare_number;
use super::{Quantity, parse_quantity};

/// A bare number that is not typical as it stands and would be with a prefix or unit: `3.61` for a coil of 3.61 kΩ.
///
/// It is shown as both readings and what to write: `3.61 Ω, or 3.61 kΩ: write 3.61k`. A length means nothing without
/// its unit: it is shown as the readings with one, which are what to write.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Doubt {
    /// What the number says as it stands, such as `3.61 Ω`; nothing where it says nothing without a unit.
    pub as_it_stands: Option<String>,
    /// What it may have been meant to say, such as `3.61 kΩ`; there is at least one.
    pub meant: Vec<String>,
    /// How to write each of these, such as `3.61k`.
    pub write: Vec<String>,
}

impl fmt::Display for Doubt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let readings: Vec<&str> = self.as_it_stands.iter().chain(&self.meant).map(String::as_str).collect();
        f.write_str(&readings.join(", or "))?;
        if self.as_it_stands.is_some() { write!(f, ": write {}", self.write.join(" or ")) } else { Ok(()) }
    }
}

/// Returns what `text` may have been meant to say where it is a number without prefix, unit or exponent that lies outside
/// `typical`, a range in base units, and inside it with a prefix or unit that people leave out.
pub fn doubt<Q: Quantity>(text: &str, typical: &RangeInclusive<f64>) -> Option<Doubt> {
    let number = bare_number(text)?;
    let fits = |text: &str| parse_quantity::<Q>(text).is_ok_and(|q| typical.contains(&q.value()));
    if fits(&number) {
        return None;
    }
    let left_out = Q::LEFT_OUT.iter().map(|left_out| (*left_out, format!("{number}{left_out}")));
    let (meant, write): (Vec<String>, Vec<String>) = left_out
        .filter(|(_, text)| fits(text))
        .map(|(left_out, write)| {
            let prefix = if left_out == "u" { "µ" } else { left_out };
            let shown = if Q::NEEDS_UNIT { write.clone() } else { format!("{number} {prefix}{}", Q::SYMBOL) };
            (shown, write)
        })
        .unzip();
    let as_it_stands = (!Q::NEEDS_UNIT).then(|| format!("{number} {}", Q::SYMBOL));
    (!meant.is_empty()).then_some(Doubt { as_it_stands, meant, write })
}

#[cfg(test)]
mod tests {
    use super::doubt;
    use crate::quantity::{Farads, Henries, Metres, Ohms};

    #[test]
    fn a_number_that_lacks_its_prefix_is_told_with_both_readings() {
        let coil = |text| doubt::<Ohms>(text, &(1e3..=20e3)).map(|doubt| doubt.to_string());
        for text in ["3.61", "3,61", " +3.61"] {
            let number = text.trim().replace(',', ".");
            assert_eq!(coil(text), Some(format!("{number} Ω, or {number} kΩ: write {number}k")));
        }
        let capacitor = doubt::<Farads>("0.022", &(1e-9..=100e-9)).map(|doubt| doubt.to_string());
        assert_eq!(capacitor.as_deref(), Some("0.022 F, or 0.022 µF: write 0.022u"));
        let coil_inductance = doubt::<Henries>("1950", &(0.5..=12.0)).map(|doubt| doubt.to_string());
        assert_eq!(coil_inductance.as_deref(), Some("1950 H, or 1950 mH: write 1950m"));
        let place = doubt::<Metres>("4.5", &(0.01..=0.25)).map(|doubt| doubt.to_string());
        assert_eq!(place.as_deref(), Some("4.5 cm, or 4.5 in"));
    }

    #[test]
    fn what_says_how_large_it_is_or_would_not_be_typical_anyhow_is_not_doubted() {
        for text in ["3610", "3.61k", "3.61 Ω", "3.61e0", "3R61", "900", "0", "3,610", "apples"] {
            assert_eq!(doubt::<Ohms>(text, &(1e3..=20e3)), None, "{text}");
        }
    }
}
