//! A table of a guitar's file, read by its keys.

use std::ops::{Deref, DerefMut};

use super::Remarks;
use crate::document::{Fault, Located, Section};
use crate::guitar::keys::{Key, Kind, Table, Worded};
use crate::guitar::{Value, bounds};
use crate::quantity::{Db, Quantity, parse_decibels, parse_plain};

/// The widest tolerance allowed: a part that may be nothing is no part.
const WIDEST: f64 = 0.90;

/// A table being read: what may stand at each key, and what is usual where it is left out, is what
/// [`crate::guitar::keys`] says.
///
/// # Panics
/// So do all that read a key, where the table has no such key, or another kind of value at it.
pub(super) struct Keyed<'s, 'd> {
    section: &'s mut Section<'d>,
    table: &'static Table,
    pub(super) remarks: &'s mut Remarks,
}

impl<'d> Deref for Keyed<'_, 'd> {
    type Target = Section<'d>;

    fn deref(&self) -> &Section<'d> {
        self.section
    }
}

impl DerefMut for Keyed<'_, '_> {
    fn deref_mut(&mut self) -> &mut Self::Target {
        self.section
    }
}

impl<'s, 'd> Keyed<'s, 'd> {
    /// Returns `section` to be read as a `table`, all of whose keys it then knows.
    pub(super) fn new(section: &'s mut Section<'d>, table: &'static Table, remarks: &'s mut Remarks) -> Self {
        section.knows(table.known());
        Self { section, table, remarks }
    }

    /// Returns the quantity at `key`.
    pub(super) fn quantity<Q: Quantity>(&mut self, key: &str) -> Option<Q> {
        let Key { kind: Kind::Quantity(unit, bounds), .. } = self.key(key) else { other_kind(key) };
        debug_assert_eq!(unit.symbol(), Q::SYMBOL, "{key}");
        bounds.quantity(self.section, key, &mut self.remarks.notes)
    }

    /// Returns the quantity at `key`, or what is usual.
    pub(super) fn quantity_or_usual<Q: Quantity>(&mut self, key: &str) -> Value<Q> {
        let stated = self.quantity(key);
        Value::or_usual(stated, self.usual_quantity(key))
    }

    /// Returns the quantity that is usual at `key`.
    pub(super) fn usual_quantity<Q: Quantity>(&self, key: &str) -> Q {
        self.table.usual_quantity(key)
    }

    /// Returns the quantities of the list at `key`.
    pub(super) fn quantities<Q: Quantity>(&mut self, key: &str) -> Option<Vec<Q>> {
        let Key { kind: Kind::Quantities(_, bounds), .. } = self.key(key) else { other_kind(key) };
        bounds.quantities(self.section, key, &mut self.remarks.notes)
    }

    /// Returns the least and the most quantity at `key`.
    pub(super) fn quantity_range<Q: Quantity>(&mut self, key: &str) -> Option<[f64; 2]> {
        let ends: Vec<Q> = self.quantities(key)?;
        self.two_ends(key, &ends.iter().map(|end| end.value()).collect::<Vec<f64>>())
    }

    /// Returns the least and the most plain number at `key`.
    pub(super) fn number_range(&mut self, key: &str) -> Option<[f64; 2]> {
        let ends = self.numbers(key)?;
        self.two_ends(key, &ends.iter().map(|end| end.value).collect::<Vec<f64>>())
    }

    fn two_ends(&mut self, key: &str, ends: &[f64]) -> Option<[f64; 2]> {
        let range = <[f64; 2]>::try_from(ends).ok();
        if range.is_none() {
            let message = format!("`{key}` has {} values; allowed are two", ends.len());
            self.note(Fault::new(self.span_of(key), message).hint("state the least and the most"));
        }
        range
    }

    /// Returns the plain number at `key`.
    pub(super) fn number(&mut self, key: &str) -> Option<f64> {
        let Kind::Number { from, to, end_is_allowed } = self.key(key).kind else { other_kind(key) };
        bounds::number(self.section, key, &(from..=to), !end_is_allowed)
    }

    /// Returns the plain number at `key`, or what is usual.
    pub(super) fn number_or_usual(&mut self, key: &str) -> Value<f64> {
        let stated = self.number(key);
        Value::or_usual(stated, self.usual_number(key))
    }

    /// Returns the plain number that is usual at `key`.
    pub(super) fn usual_number(&self, key: &str) -> f64 {
        self.table.usual_number(key)
    }

    /// Returns the plain number at `key` with its place, whatever it is.
    pub(super) fn any_number(&mut self, key: &str) -> Option<Located<f64>> {
        self.section.number(key)
    }

    /// Returns what the word at `key` means.
    pub(super) fn choice<T: Worded>(&mut self, key: &str) -> Option<T> {
        let Kind::Choice(words) = self.key(key).kind else { other_kind(key) };
        debug_assert!(words.iter().eq(T::WORDS.iter().map(|(word, _)| word)), "{key}");
        self.section.choice(key, T::WORDS).map(|chosen| chosen.value)
    }

    /// Returns what the word at `key` means, or that which is usual.
    pub(super) fn choice_or_usual<T: Worded>(&mut self, key: &str) -> Value<T> {
        let stated = self.choice(key);
        Value::or_usual(stated, self.usual_choice(key))
    }

    /// Returns what the word that is usual at `key` means.
    pub(super) fn usual_choice<T: Worded>(&self, key: &str) -> T {
        self.table.usual_choice(key)
    }

    /// Returns the share that a text at `key` such as `20 %` states.
    pub(super) fn percent(&mut self, key: &str) -> Option<f64> {
        let Kind::Percent = self.key(key).kind else { other_kind(key) };
        let Located { value: text, span } = self.section.written(key)?;
        let percent = text.trim().strip_suffix('%').and_then(|number| parse_plain(number).ok());
        let Some(percent) = percent else {
            let message = format!("`{key}` is `{text}`, which is no tolerance");
            self.note(Fault::new(span, message).hint("state it in percent, as in \"20 %\""));
            return None;
        };
        if (0.0..=100.0 * WIDEST).contains(&percent) {
            return Some(percent / 100.0);
        }
        let message = format!("`{key}` is {percent} %; allowed is from 0 % to {} %", 100.0 * WIDEST);
        self.note(Fault::new(span, message));
        None
    }

    /// Returns the level at `key`, or what is usual.
    pub(super) fn level_or_usual(&mut self, key: &str) -> Value<Db> {
        let stated = self.level(key);
        Value::or_usual(stated, self.table.usual_level(key))
    }

    fn level(&mut self, key: &str) -> Option<Db> {
        let Kind::Level { from, to } = self.key(key).kind else { other_kind(key) };
        let Located { value: text, span } = self.section.written(key)?;
        let (message, hint) = match parse_decibels(&text) {
            Ok(level) if (from..=to).contains(&level.value()) => return Some(level),
            Ok(level) => {
                (format!("`{key}` is {} dB; allowed is from {from} dB to {to} dB", level.value()), None)
            }
            Err(error) => (format!("`{key}`: {error}"), Some("state it in decibels, as in \"-3 dB\"")),
        };
        let fault = Fault::new(span, message);
        self.note(match hint {
            Some(hint) => fault.hint(hint),
            None => fault,
        });
        None
    }

    /// Returns what `interpret` makes of the table at `key`.
    pub(super) fn table<T>(
        &mut self,
        key: &str,
        interpret: impl FnOnce(&mut Keyed<'_, 'd>) -> T,
    ) -> Option<T> {
        let Kind::Table(below) = self.key(key).kind else { other_kind(key) };
        let remarks = &mut *self.remarks;
        self.section.table(key, |section| interpret(&mut Keyed::new(section, below, remarks)))
    }

    /// Returns what `interpret` makes of each of the tables in the list of tables at `key`.
    pub(super) fn tables<T>(
        &mut self,
        key: &str,
        mut interpret: impl FnMut(&mut Keyed<'_, 'd>) -> T,
    ) -> Vec<T> {
        let Kind::Tables(below, most) = self.key(key).kind else { other_kind(key) };
        let remarks = &mut *self.remarks;
        self.section.tables(key, most, |section| interpret(&mut Keyed::new(section, below, remarks)))
    }

    /// Returns the texts of the table at `key`, each with the name at which it stands.
    pub(super) fn texts_by_name(&mut self, key: &str) -> Vec<(Located<String>, Located<String>)> {
        let Kind::TextsByName = self.key(key).kind else { other_kind(key) };
        self.by_name(key, Section::text)
    }

    /// Returns the lists of numbers of the table at `key`, each with the name at which it stands.
    pub(super) fn numbers_by_name(&mut self, key: &str) -> Vec<(Located<String>, Vec<Located<f64>>)> {
        let Kind::NumbersByName = self.key(key).kind else { other_kind(key) };
        self.by_name(key, Section::numbers)
    }

    fn by_name<T>(
        &mut self,
        key: &str,
        read: impl Fn(&mut Section<'d>, &str) -> Option<T>,
    ) -> Vec<(Located<String>, T)> {
        let all = self.section.table(key, |section| {
            let names = section.names();
            let entry = |name: Located<String>| read(section, &name.value).map(|value| (name, value));
            names.into_iter().filter_map(entry).collect()
        });
        all.unwrap_or_default()
    }

    fn key(&self, key: &str) -> &'static Key {
        self.table.key(key).unwrap_or_else(|| panic!("`{key}` is read of a table that has no such key"))
    }
}

fn other_kind(key: &str) -> ! {
    panic!("another kind of value is read at `{key}` than its table says")
}
