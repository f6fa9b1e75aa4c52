//! Part tolerances read from their table.

use super::keyed::Keyed;
use crate::document::{Fault, Located};
use crate::guitar::{Tolerances, Value};

/// Returns the tolerances of `[tolerances]`, each that is not stated as usual.
pub(super) fn tolerances(top: &mut Keyed<'_, '_>) -> Tolerances {
    let usual = Tolerances::default();
    top.table("tolerances", |section| {
        let mut of_coil = |key: &str, usual: Value<f64>| Value::or_usual(section.percent(key), usual.value);
        let [resistance, inductance, capacitance, loss] = [
            of_coil("resistance", usual.resistance),
            of_coil("inductance", usual.inductance),
            of_coil("capacitance", usual.capacitance),
            of_coil("loss", usual.loss),
        ];
        let mut share = |key: &str, usual: f64| section.percent(key).unwrap_or(usual);
        Tolerances {
            pots: share("pots", usual.pots),
            resistance,
            inductance,
            capacitance,
            loss,
            capacitors: share("capacitors", usual.capacitors),
            resistors: share("resistors", usual.resistors),
            cable: share("cable", usual.cable),
            input_resistance: share("input_resistance", usual.input_resistance),
            input_capacitance: share("input_capacitance", usual.input_capacitance),
            coupling: Value::or_usual(range(section, "coupling", [0.0, 1.0]), usual.coupling.value),
            taper: range(section, "taper", [0.01, 0.99]).unwrap_or(usual.taper),
        }
    })
    .unwrap_or(usual)
}

/// Returns the range at `key`, which lies from `least` to below `most`.
fn range(section: &mut Keyed<'_, '_>, key: &str, [least, most]: [f64; 2]) -> Option<[f64; 2]> {
    let ends = section.numbers(key)?;
    if let [Located { value: low, .. }, Located { value: high, .. }] = ends[..]
        && least <= low
        && low <= high
        && high < most
    {
        return Some([low, high]);
    }
    let told: Vec<String> = ends.iter().map(|end| end.value.to_string()).collect();
    let message =
        format!("`{key}` is [{}]; allowed are two numbers from {least} to below {most}", told.join(", "));
    let place = ends.first().map_or_else(|| section.span(), |end| end.span.clone());
    section.note(Fault::new(place, message).hint("state the least and the most, as in [0.05, 0.2]"));
    None
}
