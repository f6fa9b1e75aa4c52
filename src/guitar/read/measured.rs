//! How sure a coil's measured values are, read from `measured`.

use super::keyed::Keyed;
use crate::document::{Fault, Located, Section};
use crate::guitar::{MEASURANDS, Measurand, Measurement, Origin, Value};
use crate::quantity::parse_plain;

/// What the table of a coil says of how it was measured.
#[derive(Default)]
pub(super) struct Measured {
    deviations: [Option<f64>; MEASURANDS],
    pub(super) measurement: Option<Measurement>,
}

impl Measured {
    /// Returns what the coil's table states of a value with how sure it is.
    pub(super) fn stated<T>(&self, measurand: Measurand, stated: T) -> Value<T> {
        let origin = match self.deviations[measurand.index()] {
            Some(deviation) => Origin::Measured { deviation },
            None => Origin::Stated,
        };
        Value { value: stated, origin }
    }
}

/// Returns what the coil's table `section` says of how it was measured.
pub(super) fn measured(section: &mut Keyed<'_, '_>) -> Measured {
    let stated = Measurand::ALL.map(|measurand| section.has(measurand.key()));
    section.table("measured", |measured| table(measured, stated)).unwrap_or_default()
}

fn table(section: &mut Keyed<'_, '_>, stated: [bool; MEASURANDS]) -> Measured {
    let deviations = Measurand::ALL.map(|measurand| {
        let key = measurand.key();
        let deviation = section.percent(key);
        if section.has(key) && !stated[measurand.index()] {
            let message = format!("`measured` tells how sure `{key}` is, which the coil does not state");
            let place = section.span_of(key);
            section.note(
                Fault::new(place, message).hint(format!("state the coil's `{key}`, or leave it out here")),
            );
        }
        deviation
    });
    let with = section.choice_or_usual("with").value;
    if Measurand::ALL.iter().all(|measurand| !section.has(measurand.key())) {
        let message = "`measured` tells of no value how sure it is";
        section.note(Fault::new(section.span(), message).hint("as in measured = { inductance = \"1 %\" }"));
    }
    let lists = section.text_lists("correlation").unwrap_or_default();
    let correlations: Option<Vec<_>> =
        lists.iter().map(|list| correlation(section, list)).collect::<Vec<_>>().into_iter().collect();
    for (i, (list, (pair, _))) in lists.iter().zip(correlations.iter().flatten()).enumerate() {
        let is_same = |(other, _): &&([Measurand; 2], f64)| other.iter().all(|one| pair.contains(one));
        if correlations.iter().flatten().take(i).any(|earlier| is_same(&earlier)) {
            let message =
                format!("the correlation of `{}` and `{}` is stated twice", pair[0].key(), pair[1].key());
            section.note(Fault::new(list.span.clone(), message));
        }
    }
    let measurement = correlations.and_then(|correlations| {
        let measurement = Measurement::new(with, correlations);
        if measurement.is_none() {
            let message = "no errors can have all the correlations that are stated";
            let place = section.span_of("correlation");
            section.note(
                Fault::new(place, message).hint("the closer two are to 1 or -1, the more the third follows"),
            );
        }
        measurement
    });
    Measured { deviations, measurement }
}

/// Returns the pair of values that `list` names, and the correlation of their errors.
fn correlation(section: &Section<'_>, list: &Located<Vec<Located<String>>>) -> Option<([Measurand; 2], f64)> {
    let [one, other, correlation] = list.value.as_slice() else {
        let message = format!("a correlation is of two values, and {} texts are given", list.value.len());
        section.note(
            Fault::new(list.span.clone(), message).hint("as in [\"inductance\", \"capacitance\", \"-0.6\"]"),
        );
        return None;
    };
    let measurand = |name: &Located<String>| {
        let known = Measurand::ALL.into_iter().find(|measurand| measurand.key() == name.value);
        let message = match known {
            Some(known) if section.has(known.key()) => return Some(known),
            Some(_) => {
                format!("`correlation` names `{}`, and `measured` does not say how sure it is", name.value)
            }
            None => format!("`{}` is no value of a coil that is measured", name.value),
        };
        let known: Vec<&str> = Measurand::ALL.into_iter().map(Measurand::key).collect();
        section.note(Fault::new(name.span.clone(), message).hint(format!("there are {}", known.join(", "))));
        None
    };
    let (one, other) = (measurand(one), measurand(other));
    let number = parse_plain(&correlation.value).ok().filter(|number| number.abs() < 1.0);
    if number.is_none() {
        let message = format!("a correlation is `{}`; allowed is above -1 and below 1", correlation.value);
        section.note(Fault::new(correlation.span.clone(), message));
    }
    let pair = [one?, other?];
    if pair[0] == pair[1] {
        let message = format!("a correlation of `{}` with itself", pair[0].key());
        section.note(Fault::new(list.span.clone(), message).hint("name two values"));
        return None;
    }
    Some((pair, number?))
}
