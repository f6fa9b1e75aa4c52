//! Part tolerances read from their table.

use crate::document::{Fault, Located, Section};
use crate::guitar::{Tolerances, keys};
use crate::quantity::parse_plain;

/// The widest tolerance allowed: a part that may be nothing is no part.
const WIDEST: f64 = 0.90;

/// Returns the tolerances of `[tolerances]`, each that is not stated as usual.
pub(super) fn tolerances(top: &mut Section<'_>) -> Tolerances {
    let usual = Tolerances::default();
    top.table("tolerances", |section| {
        section.knows(keys::TOLERANCES.known());
        let mut share = |key: &str, usual: f64| share(section, key).unwrap_or(usual);
        Tolerances {
            pots: share("pots", usual.pots),
            resistance: share("resistance", usual.resistance),
            inductance: share("inductance", usual.inductance),
            capacitance: share("capacitance", usual.capacitance),
            loss: share("loss", usual.loss),
            capacitors: share("capacitors", usual.capacitors),
            resistors: share("resistors", usual.resistors),
            cable: share("cable", usual.cable),
            coupling: coupling(section).unwrap_or(usual.coupling),
        }
    })
    .unwrap_or(usual)
}

/// Returns the share that a text such as `20 %` states.
pub(super) fn share(section: &mut Section<'_>, key: &str) -> Option<f64> {
    let Located { value: text, span } = section.written(key)?;
    let percent = text.trim().strip_suffix('%').and_then(|number| parse_plain(number).ok());
    let Some(percent) = percent else {
        let message = format!("`{key}` is `{text}`, which is no tolerance");
        section.note(Fault::new(span, message).hint("state it in percent, as in \"20 %\""));
        return None;
    };
    if (0.0..=100.0 * WIDEST).contains(&percent) {
        return Some(percent / 100.0);
    }
    let message = format!("`{key}` is {percent} %; allowed is from 0 % to {} %", 100.0 * WIDEST);
    section.note(Fault::new(span, message));
    None
}

/// Returns the range of couplings.
fn coupling(section: &mut Section<'_>) -> Option<[f64; 2]> {
    let ends = section.numbers("coupling")?;
    if let [Located { value: low, .. }, Located { value: high, .. }] = ends[..]
        && 0.0 <= low
        && low <= high
        && high < 1.0
    {
        return Some([low, high]);
    }
    let told: Vec<String> = ends.iter().map(|end| end.value.to_string()).collect();
    let message = format!("`coupling` is [{}]; allowed are two numbers from 0 to below 1", told.join(", "));
    let place = ends.first().map_or_else(|| section.span(), |end| end.span.clone());
    section.note(Fault::new(place, message).hint("state the least and the most, as in [0, 0.2]"));
    None
}
