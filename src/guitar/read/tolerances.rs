//! Part tolerances read from their table.

use super::keyed::Keyed;
use crate::document::{Fault, Located};
use crate::guitar::Tolerances;

/// Returns the tolerances of `[tolerances]`, each that is not stated as usual.
pub(super) fn tolerances(top: &mut Keyed<'_, '_>) -> Tolerances {
    let usual = Tolerances::default();
    top.table("tolerances", |section| {
        let mut share = |key: &str, usual: f64| section.percent(key).unwrap_or(usual);
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

/// Returns the range of couplings.
fn coupling(section: &mut Keyed<'_, '_>) -> Option<[f64; 2]> {
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
