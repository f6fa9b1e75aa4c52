//! What a guitar's file may say: every table, every key of it, what may stand there and what it means.
//!
//! The reader knows the keys from here, an editor which there are to change, and a form what to ask for.

mod stamped;
mod tables;
mod typed;

pub use tables::{
    BASS_CUT, BLEED, BLEND, BUFFER, CABLE, COIL, CONTROLS, GUITAR, HARNESS, INPUT, LEADS, MEASURED, PICKUP,
    PRESET, PRESET_COIL, SELECTOR, SWITCH, TOLERANCES, TONE, VOLUME,
};

pub use typed::{Reading, Typed};

use super::bounds::Bounds;
use crate::document::{self, KeyForm, Place};
use crate::quantity::{Db, Quantity, parse_decibels, parse_plain, parse_quantity};

/// A table and the keys that it may have.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Table {
    /// What the table is of, in one sentence.
    pub doc: &'static str,
    /// Its keys, in the order in which a person would be asked for them.
    pub keys: &'static [Key],
}

/// A key of a table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Key {
    /// The key.
    pub name: &'static str,
    /// What may stand at it.
    pub kind: Kind,
    /// What is taken where it is left out, as a file would state it; nothing where it is needed, where nothing is there
    /// without it, or where it depends on other values.
    pub default: Option<&'static str>,
    /// What it means, in one sentence.
    pub doc: &'static str,
}

/// What may stand at a key.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// A quantity of this unit within these bounds.
    Quantity(Unit, &'static Bounds),
    /// A list of such quantities.
    Quantities(Unit, &'static Bounds),
    /// A plain number.
    Number {
        /// The least.
        from: f64,
        /// The most.
        to: f64,
        /// Whether the most is allowed itself.
        end_is_allowed: bool,
    },
    /// A share in percent, 0 % to 90 %.
    Percent,
    /// A level in decibels.
    Level {
        /// The least.
        from: f64,
        /// The most.
        to: f64,
    },
    /// The least and the most of a plain number.
    Range,
    /// One of these words.
    Choice(&'static [&'static str]),
    /// A text of one line, 1 to 80 characters.
    Label,
    /// A name: 1 to 32 of a-z, 0-9 and -.
    Name,
    /// The name of a built-in pickup.
    Preset,
    /// The name of one of the guitar's pickups.
    PickupName,
    /// An arrangement that the pickup has.
    Arrangement,
    /// The name of a built-in switch.
    Switch,
    /// The name of a built-in selector or switch.
    Selector,
    /// A list of texts.
    Texts,
    /// A list of joints, each the list of what meets at one point.
    Joints,
    /// A list of wires, each from one terminal to another.
    Wires,
    /// A table of texts, each at a name that the guitar's own parts give it.
    TextsByName,
    /// A table of lists of numbers, likewise.
    NumbersByName,
    /// A list of correlations, each of two values' names and a number above -1 and below 1.
    Correlations,
    /// A table.
    Table(&'static Table),
    /// So many tables at most.
    Tables(&'static Table, usize),
}

/// The unit of a quantity.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// Ohms.
    Ohms,
    /// Henries.
    Henries,
    /// Farads.
    Farads,
    /// Hertz.
    Hertz,
    /// Metres, which are always written with a unit.
    Metres,
}

/// An enumeration whose values a guitar's file states as words.
pub trait Worded: Copy + 'static {
    /// Each word with what it means.
    const WORDS: &'static [(&'static str, Self)];
}

impl Unit {
    /// Returns the unit's symbol.
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Ohms => "Ω",
            Self::Henries => "H",
            Self::Farads => "F",
            Self::Hertz => "Hz",
            Self::Metres => "m",
        }
    }
}

impl Table {
    /// Returns the key called `name`.
    pub fn key(&self, name: &str) -> Option<&'static Key> {
        self.keys.iter().find(|key| key.name == name)
    }

    /// Returns the key of a guitar's file at `place`.
    pub fn key_at(&self, place: &Place) -> Option<&'static Key> {
        let mut table = Some(self);
        let mut found = None;
        for step in place.steps() {
            let key = table?.key(&step.key)?;
            table = match (key.kind, step.entry) {
                (Kind::Table(below), None) | (Kind::Tables(below, _), Some(_)) => Some(below),
                (_, Some(_)) => return None,
                (_, None) => None,
            };
            found = Some(key);
        }
        found
    }

    /// Returns the quantity that is taken where `key` is left out.
    ///
    /// # Panics
    /// Where the table has no such key or nothing is taken then; so do the others.
    pub(super) fn usual_quantity<Q: Quantity>(&self, key: &str) -> Q {
        parse_quantity(self.usual(key)).expect("a default is checked by a test")
    }

    /// Returns the plain number that is taken where `key` is left out.
    pub(super) fn usual_number(&self, key: &str) -> f64 {
        parse_plain(self.usual(key)).expect("a default is checked by a test")
    }

    /// Returns the level that is taken where `key` is left out.
    pub(super) fn usual_level(&self, key: &str) -> Db {
        parse_decibels(self.usual(key)).expect("a default is checked by a test")
    }

    /// Returns what the word means that is taken where `key` is left out.
    pub(super) fn usual_choice<T: Worded>(&self, key: &str) -> T {
        let usual = self.usual(key);
        let meant = T::WORDS.iter().find(|(word, _)| *word == usual).map(|(_, meant)| *meant);
        meant.expect("a default is checked by a test")
    }

    /// Returns the text that is taken where `key` is left out.
    pub(super) fn usual(&self, key: &str) -> &'static str {
        self.key(key).and_then(|key| key.default).unwrap_or_else(|| panic!("nothing is usual at `{key}`"))
    }

    /// Returns the keys with the form in which each is written.
    pub(super) fn known(&self) -> impl Iterator<Item = document::KnownKey> {
        self.keys.iter().map(|key| {
            let (form, within) = match key.kind {
                Kind::Table(table) => (KeyForm::Table, table.keys),
                Kind::Tables(table, _) => (KeyForm::Tables, table.keys),
                Kind::TextsByName | Kind::NumbersByName => (KeyForm::Table, &[][..]),
                _ => (KeyForm::Value, &[][..]),
            };
            document::KnownKey { name: key.name, form, within: within.iter().map(|key| key.name).collect() }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::Document;
    use crate::guitar::{Draft, Guitar, Origin, PartKind, Tolerances};
    use crate::quantity::{Farads, Henries, Hertz, Metres, Ohms};

    fn each_key(table: &'static Table, look: &mut impl FnMut(&'static Key)) {
        for key in table.keys {
            look(key);
            match key.kind {
                Kind::Table(below) | Kind::Tables(below, _) => each_key(below, look),
                _ => {}
            }
        }
    }

    #[test]
    fn what_is_usual_at_a_key_may_stand_there() {
        let mut looked_at = 0;
        let mut look = |key: &'static Key| {
            let Some(usual) = key.default else { return };
            let base = |unit| match unit {
                Unit::Ohms => parse_quantity::<Ohms>(usual).map(Quantity::value),
                Unit::Henries => parse_quantity::<Henries>(usual).map(Quantity::value),
                Unit::Farads => parse_quantity::<Farads>(usual).map(Quantity::value),
                Unit::Hertz => parse_quantity::<Hertz>(usual).map(Quantity::value),
                Unit::Metres => parse_quantity::<Metres>(usual).map(Quantity::value),
            };
            let may_stand = match key.kind {
                Kind::Quantity(unit, bounds) => base(unit).is_ok_and(|value| bounds.allows(value)),
                Kind::Number { from, to, .. } => {
                    parse_plain(usual).is_ok_and(|value| (from..=to).contains(&value))
                }
                Kind::Choice(words) => words.contains(&usual),
                Kind::Level { from, to } => {
                    parse_decibels(usual).is_ok_and(|level| (from..=to).contains(&level.value()))
                }
                _ => return,
            };
            assert!(may_stand, "{}: {usual}", key.name);
            looked_at += 1;
        };
        for table in [&GUITAR, &PRESET] {
            each_key(table, &mut look);
        }
        assert!(looked_at > 30, "{looked_at}");
    }

    #[test]
    fn tolerances_that_are_stated_as_usual_are_the_usual_ones() {
        let mut draft =
            Draft::of(Document::new("mine.toml", "format = 1\n[[pickup]]\nname = \"p\"\nlike = \"mini\"\n"));
        for key in TOLERANCES.keys {
            let place = format!("tolerances.{}", key.name);
            let usual = key.default.expect("each has one");
            match key.kind {
                Kind::Range => {
                    let ends =
                        usual.trim_matches(['[', ']']).split(", ").map(|end| end.parse().expect("a number"));
                    draft.set(&place, document::Literal::Numbers(ends.collect()))
                }
                _ => draft.set(&place, usual),
            }
            .expect("a key");
        }
        let guitar: Guitar = draft.check().expect("complete");
        for kind in [
            PartKind::Resistance,
            PartKind::Inductance,
            PartKind::Capacitance,
            PartKind::Loss,
            PartKind::Coupling,
            PartKind::Pot,
            PartKind::Taper,
            PartKind::Capacitor,
            PartKind::Resistor,
            PartKind::Cable,
            PartKind::InputResistance,
            PartKind::InputCapacitance,
        ] {
            let of = |tolerances: Tolerances| tolerances.range(kind, Origin::Default, 0.13);
            assert_eq!(of(guitar.tolerances()), of(Tolerances::default()), "{kind:?}");
        }
    }
}
