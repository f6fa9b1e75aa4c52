//! What a person types for a key, in the ways in which people write values.

use super::stamped::stamped;
use super::{Key, Kind, Unit};
use crate::document::{Literal, Name};
use crate::quantity::{
    Farads, Henries, Hertz, Metres, NotationError, Ohms, Quantity, doubt, parse_decibels, parse_plain,
    parse_quantity,
};

/// What a text means that is typed for a key.
#[derive(Debug, Clone, PartialEq)]
pub enum Typed {
    /// Nothing: the key is left out.
    Nothing,
    /// A value.
    Value {
        /// As it is written into a file.
        literal: Literal,
        /// As it is understood, such as `3.61 kΩ`.
        shown: String,
    },
    /// One of several values.
    Doubtful {
        /// What is asked.
        question: String,
        /// The values that it may be.
        readings: Vec<Reading>,
    },
    /// None that may stand there.
    Refused {
        /// What was given and what is wanted; lower case, no full stop.
        message: String,
    },
}

/// One of the values that a text may mean.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reading {
    /// As it is written without doubt, such as `3610`.
    pub write: String,
    /// As it is understood, such as `3.61 kΩ`.
    pub shown: String,
}

/// What people type where they know no value.
const UNKNOWN: [&str; 5] = ["don't know", "dont know", "unknown", "not known", "?"];

impl Key {
    /// Returns what `text` means that is typed for this key, whose prefix or unit people leave out: 3.61 and 3,61 for a coil
    /// of 3.61 kΩ. What lies outside the allowed range is a value all the same, which the file's reader refuses.
    pub fn typed(&self, text: &str) -> Typed {
        let text = text.trim();
        let is_unknown = UNKNOWN.contains(&text.to_lowercase().replace('’', "'").as_str());
        if text.is_empty() || (is_unknown && matches!(self.kind, Kind::Quantity(..))) {
            return Typed::Nothing;
        }
        match self.kind {
            Kind::Quantity(unit, bounds) => of_unit(unit, text, &bounds.typical()),
            Kind::Quantities(unit, bounds) => {
                let mut literals = Vec::new();
                let mut told = Vec::new();
                for item in items(text) {
                    match of_unit(unit, &item, &bounds.typical()) {
                        Typed::Value { literal: Literal::Text(write), shown } => {
                            literals.push(write);
                            told.push(shown);
                        }
                        other => return other,
                    }
                }
                value(Literal::Texts(literals), told.join(", "))
            }
            Kind::Number { .. } => match parse_plain(text) {
                Ok(number) => value(Literal::Number(number), number.to_string()),
                Err(error) => refused(&error),
            },
            Kind::Percent => match parse_plain(text.trim_end_matches('%')) {
                Ok(number) => value(Literal::Text(format!("{number} %")), format!("{number} %")),
                Err(error) => refused(&error),
            },
            Kind::Level { .. } => match parse_decibels(text) {
                Ok(level) => {
                    value(Literal::Text(format!("{} dB", level.value())), format!("{} dB", level.value()))
                }
                Err(error) => refused(&error),
            },
            Kind::Range => {
                let numbers: Vec<Option<f64>> =
                    items(text.trim_matches(['[', ']'])).map(|item| parse_plain(&item).ok()).collect();
                match numbers.as_slice() {
                    [Some(low), Some(high)] => {
                        value(Literal::Numbers(vec![*low, *high]), format!("{low} to {high}"))
                    }
                    _ => Typed::Refused { message: format!("`{text}` is not two numbers such as 0, 0.2") },
                }
            }
            Kind::Choice(words) => match words.iter().find(|word| word.eq_ignore_ascii_case(text)) {
                Some(word) => value((*word).into(), (*word).to_owned()),
                None => Typed::Refused { message: format!("`{text}` is none of {}", words.join(", ")) },
            },
            Kind::Name => {
                let name = text.to_lowercase().replace([' ', '_'], "-");
                match Name::new(&name) {
                    Ok(_) => value(name.as_str().into(), name),
                    Err(error) => Typed::Refused { message: error.to_string() },
                }
            }
            Kind::Label
            | Kind::Preset
            | Kind::PickupName
            | Kind::Arrangement
            | Kind::Switch
            | Kind::Selector => value(text.into(), text.to_owned()),
            Kind::Texts => {
                let items: Vec<String> = items(text).collect();
                let shown = items.join(", ");
                value(Literal::Texts(items), shown)
            }
            Kind::Joints | Kind::Wires => {
                let joints: Vec<Vec<String>> = text
                    .lines()
                    .map(|line| points(line).collect())
                    .filter(|joint: &Vec<_>| !joint.is_empty())
                    .collect();
                let shown: Vec<String> = joints.iter().map(|joint| joint.join(" · ")).collect();
                value(Literal::TextLists(joints), shown.join("\n"))
            }
            Kind::Correlations
            | Kind::TextsByName
            | Kind::NumbersByName
            | Kind::Table(_)
            | Kind::Tables(..) => {
                Typed::Refused { message: format!("`{}` is not typed as one value", self.name) }
            }
        }
    }
}

fn value(literal: Literal, shown: String) -> Typed {
    Typed::Value { literal, shown }
}

fn refused(error: &NotationError) -> Typed {
    Typed::Refused { message: error.to_string() }
}

/// Returns the items of a list that is typed with commas or line ends between them.
fn items(text: &str) -> impl Iterator<Item = String> {
    text.split(['\n', ';']).flat_map(|line| line.split(", ")).map(trimmed).filter(|item| !item.is_empty())
}

/// Returns what meets at one joint, typed on one line with commas, dots in the middle or `=` between.
fn points(line: &str) -> impl Iterator<Item = String> {
    line.split([',', '·', '=']).map(trimmed).filter(|point| !point.is_empty())
}

fn trimmed(item: &str) -> String {
    item.trim().trim_end_matches(',').trim().to_owned()
}

fn of_unit(unit: Unit, text: &str, typical: &std::ops::RangeInclusive<f64>) -> Typed {
    match unit {
        Unit::Ohms => quantity::<Ohms>(unit, text, typical),
        Unit::Henries => quantity::<Henries>(unit, text, typical),
        Unit::Farads => quantity::<Farads>(unit, text, typical),
        Unit::Hertz => quantity::<Hertz>(unit, text, typical),
        Unit::Metres => quantity::<Metres>(unit, text, typical),
    }
}

fn quantity<Q: Quantity>(unit: Unit, text: &str, typical: &std::ops::RangeInclusive<f64>) -> Typed {
    let mut stamps = stamped::<Q>(unit, text);
    if stamps.len() > 1 {
        return doubtful(text, stamps);
    }
    if let Some(Reading { write, shown }) = stamps.pop() {
        return value(Literal::Text(write), shown);
    }
    if let Some(doubt) = doubt::<Q>(text, typical) {
        let mut readings: Vec<Reading> = doubt
            .write
            .into_iter()
            .filter_map(|write| Some(Reading { shown: parse_quantity::<Q>(&write).ok()?.to_string(), write }))
            .collect();
        if readings.len() > 1 {
            return doubtful(text, readings);
        }
        if let Some(Reading { write, shown }) = readings.pop() {
            return value(Literal::Text(write), shown);
        }
    }
    match parse_quantity::<Q>(text) {
        Ok(read) => value(text.into(), read.to_string()),
        Err(NotationError::Doubtful { readings, write, given: _ }) => {
            let readings = readings.into_iter().zip(write);
            doubtful(text, readings.map(|(shown, write)| Reading { write, shown }).collect())
        }
        Err(error @ NotationError::NoQuantity { .. }) => refused(&error),
    }
}

fn doubtful(text: &str, readings: Vec<Reading>) -> Typed {
    let shown: Vec<&str> = readings.iter().map(|reading| reading.shown.as_str()).collect();
    let question = match shown.as_slice() {
        [only] => format!("is `{text}` {only}?"),
        _ => format!("is `{text}` {}?", shown.join(" or ")),
    };
    Typed::Doubtful { question, readings }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::guitar::keys::{BLEND, COIL, GUITAR, PICKUP, TOLERANCES};

    fn written(key: &Key, text: &str) -> String {
        match key.typed(text) {
            Typed::Value { literal, shown } => format!("{literal} = {shown}"),
            Typed::Nothing => "nothing".to_owned(),
            Typed::Doubtful { question, .. } => question,
            Typed::Refused { message } => message,
        }
    }

    #[test]
    fn a_coils_resistance_is_read_in_each_way_in_which_people_write_it() {
        let key = COIL.key("resistance").expect("a key");
        for (text, literal) in
            [("3.61", "3.61k"), ("3,61", "3.61k"), ("3k61", "3k61"), ("3.61k", "3.61k"), ("3610", "3610")]
        {
            assert_eq!(written(key, text), format!("\"{literal}\" = 3.61 kΩ"));
        }
        assert_eq!(written(key, "3,610"), "is `3,610` 3.61 Ω or 3.61 kΩ?");
        for text in ["  ", "don’t know", "Unknown", "?"] {
            assert_eq!(written(key, text), "nothing");
        }
        assert!(written(key, "three").starts_with("`three` is not a resistance"));
    }

    #[test]
    fn lengths_names_shares_and_joints_are_read_as_people_write_them() {
        let of = |table: &'static super::super::Table, name| table.key(name).expect("a key");
        assert_eq!(written(of(&GUITAR, "scale"), "648"), "\"648 mm\" = 648 mm");
        assert_eq!(written(of(&PICKUP, "from_bridge"), "4.5"), "is `4.5` 45.0 mm or 114 mm?");
        assert_eq!(written(of(&PICKUP, "name"), "Neck Pickup"), "\"neck-pickup\" = neck-pickup");
        assert_eq!(written(of(&TOLERANCES, "pots"), "10"), "\"10 %\" = 10 %");
        for text in ["-3", "\u{2212}3 dB", "-3,0dB"] {
            assert_eq!(written(of(&PICKUP, "level"), text), "\"-3 dB\" = -3 dB");
        }
        assert!(written(of(&PICKUP, "level"), "3 mm").contains("such as -3 dB"));
        assert_eq!(written(of(&TOLERANCES, "coupling"), "0, 0.2"), "[0, 0.2] = 0 to 0.2");
        assert_eq!(written(of(&COIL, "winding"), "Clockwise"), "\"clockwise\" = clockwise");
        assert_eq!(written(of(&BLEND, "ends"), "bridge, neck"), "[\"bridge\", \"neck\"] = bridge, neck");
        assert_eq!(
            written(of(&GUITAR, "joints"), "a+ · hot, L3\n\nb- = ground"),
            "[[\"a+\", \"hot\", \"L3\"], [\"b-\", \"ground\"]] = a+ · hot · L3\nb- · ground"
        );
        assert_eq!(written(of(&COIL, "winding"), "left"), "`left` is none of clockwise, counter-clockwise");
    }
}
