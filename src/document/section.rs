//! A table of a document, read key by key.

use std::cell::RefCell;
use std::ops::Range;

use serde_spanned::Spanned;
use toml::de::{DeTable, DeValue};

use super::{Fault, Name};
use crate::quantity::{Quantity, parse_plain, parse_quantity};

/// A value and the bytes of the text it was read from.
#[derive(Debug, Clone, PartialEq)]
pub struct Located<T> {
    /// The value.
    pub value: T,
    /// The bytes of the text that state it.
    pub span: Range<usize>,
}

/// A table being read: each key is asked for once, faults are noted on the way, and keys never asked for are
/// refused at the end with the nearest one that was.
pub struct Section<'d> {
    table: &'d DeTable<'d>,
    span: Range<usize>,
    path: String,
    faults: &'d RefCell<Vec<Fault>>,
    asked: Vec<String>,
}

impl<'d> Section<'d> {
    pub(super) fn new(
        table: &'d DeTable<'d>,
        span: Range<usize>,
        path: String,
        faults: &'d RefCell<Vec<Fault>>,
    ) -> Self {
        Self { table, span, path, faults, asked: Vec::new() }
    }

    /// Returns the bytes of the text that state the table, or its heading.
    pub fn span(&self) -> Range<usize> {
        self.span.clone()
    }

    /// Returns `key` with the names of the tables it stands in, such as `pickup.coil_a.resistance`.
    pub fn path_to(&self, key: &str) -> String {
        if self.path.is_empty() { key.to_owned() } else { format!("{}.{key}", self.path) }
    }

    /// Notes a fault.
    pub fn note(&self, fault: Fault) {
        self.faults.borrow_mut().push(fault);
    }

    /// Notes that the table lacks `key`, which `hint` says how to give.
    pub fn note_missing(&self, key: &str, hint: impl Into<String>) {
        let whose = if self.path.is_empty() { "the file".to_owned() } else { format!("`{}`", self.path) };
        self.note(Fault::new(self.span(), format!("{whose} has no `{key}`")).hint(hint));
    }

    /// Returns whether the table has `key`, without reading it.
    pub fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    /// Takes `key` as read, for where something else that is wrong leaves no meaning to it.
    pub fn pass_over(&mut self, key: &str) {
        self.value(key);
    }

    /// Returns the text at `key`.
    pub fn text(&mut self, key: &str) -> Option<Located<String>> {
        let value = self.value(key)?;
        match value.get_ref() {
            DeValue::String(text) => Some(Located { value: text.clone().into_owned(), span: value.span() }),
            other => self.wrong_type(key, value, other, "a text in quotes"),
        }
    }

    /// Returns the text at `key`, or the number there as it is written.
    pub fn written(&mut self, key: &str) -> Option<Located<String>> {
        let value = self.value(key)?;
        match number_text(value.get_ref()) {
            Some(number) => Some(Located { value: number, span: value.span() }),
            None => self.text(key),
        }
    }

    /// Returns the text at `key` where it can be shown on one line: 1 to 80 characters, none of them control
    /// characters.
    pub fn label(&mut self, key: &str) -> Option<Located<String>> {
        let text = self.text(key)?;
        let count = text.value.chars().count();
        if (1..=80).contains(&count) && !text.value.chars().any(char::is_control) {
            return Some(text);
        }
        let message =
            format!("`{key}` has {count} characters; allowed are 1 to 80, none of them control characters");
        self.note(Fault::new(text.span, message));
        None
    }

    /// Returns the name at `key`.
    pub fn name(&mut self, key: &str) -> Option<Located<Name>> {
        let text = self.text(key)?;
        match Name::new(&text.value) {
            Ok(name) => Some(Located { value: name, span: text.span }),
            Err(refusal) => {
                self.note(Fault::new(text.span, format!("`{key}`: {refusal}")));
                None
            }
        }
    }

    /// Returns the one of `choices` whose text stands at `key`.
    pub fn choice<T: Copy>(&mut self, key: &str, choices: &[(&str, T)]) -> Option<Located<T>> {
        let text = self.text(key)?;
        if let Some((_, chosen)) = choices.iter().find(|(name, _)| *name == text.value) {
            return Some(Located { value: *chosen, span: text.span });
        }
        let allowed: Vec<&str> = choices.iter().map(|(name, _)| *name).collect();
        let message = format!("`{key}` is `{}` where one of {} is wanted", text.value, allowed.join(", "));
        self.note(Fault::new(text.span, message));
        None
    }

    /// Returns the quantity at `key`: a text with a unit or prefix, or a number in base units where the unit
    /// may be left out.
    pub fn quantity<Q: Quantity>(&mut self, key: &str) -> Option<Located<Q>> {
        let value = self.value(key)?;
        let parsed = match value.get_ref() {
            DeValue::String(text) => parse_quantity(text),
            other => match number_text(other) {
                Some(number) => parse_quantity(&number),
                None => return self.wrong_type(key, value, other, Q::EXAMPLE),
            },
        };
        self.located(key, value, parsed.map_err(|e| e.to_string()))
    }

    /// Returns the plain number at `key`.
    pub fn number(&mut self, key: &str) -> Option<Located<f64>> {
        let value = self.value(key)?;
        self.plain(key, value)
    }

    /// Returns the texts of the list at `key`.
    pub fn texts(&mut self, key: &str) -> Option<Vec<Located<String>>> {
        let value = self.value(key)?;
        self.text_list(key, value)
    }

    /// Returns the plain numbers of the list at `key`.
    pub fn numbers(&mut self, key: &str) -> Option<Vec<Located<f64>>> {
        let value = self.value(key)?;
        let Some(list) = value.get_ref().as_array() else {
            return self.wrong_type(key, value, value.get_ref(), "a list of numbers");
        };
        let numbers = list.iter().map(|entry| self.plain(key, entry));
        // Every fault is noted before any of them is the answer.
        numbers.collect::<Vec<_>>().into_iter().collect()
    }

    /// Returns the lists of texts in the list at `key`.
    pub fn text_lists(&mut self, key: &str) -> Option<Vec<Located<Vec<Located<String>>>>> {
        let value = self.value(key)?;
        let Some(list) = value.get_ref().as_array() else {
            return self.wrong_type(key, value, value.get_ref(), "a list of lists of texts");
        };
        let lists = list.iter().map(|inner| {
            self.text_list(key, inner).map(|texts| Located { value: texts, span: inner.span() })
        });
        // Every fault is noted before any of them is the answer.
        lists.collect::<Vec<_>>().into_iter().collect()
    }

    /// Returns what `interpret` makes of the table at `key`.
    pub fn table<T>(&mut self, key: &str, interpret: impl FnOnce(&mut Section<'d>) -> T) -> Option<T> {
        let value = self.value(key)?;
        let Some(table) = value.get_ref().as_table() else {
            return self.wrong_type(key, value, value.get_ref(), "a table");
        };
        Some(self.enter(key, table, value.span(), interpret))
    }

    /// Returns what `interpret` makes of each of the up to `most` tables in the list of tables at `key`, in the
    /// order of the text.
    pub fn tables<T>(
        &mut self,
        key: &str,
        most: usize,
        mut interpret: impl FnMut(&mut Section<'d>) -> T,
    ) -> Vec<T> {
        let Some(value) = self.value(key) else { return Vec::new() };
        let Some(list) = value.get_ref().as_array() else {
            let _: Option<()> = self.wrong_type(
                key,
                value,
                value.get_ref(),
                &format!("a list of tables, each headed [[{key}]]"),
            );
            return Vec::new();
        };
        if let Some(beyond) = list.get(most) {
            let message = format!("{} tables headed [[{key}]]; allowed are up to {most}", list.len());
            self.note(Fault::new(beyond.span(), message));
        }
        let mut results = Vec::new();
        for entry in list.iter().take(most) {
            match entry.get_ref().as_table() {
                Some(table) => results.push(self.enter(key, table, entry.span(), &mut interpret)),
                None => {
                    let _: Option<()> = self.wrong_type(key, entry, entry.get_ref(), "a table");
                }
            }
        }
        results
    }

    fn enter<T>(
        &self,
        key: &str,
        table: &'d DeTable<'d>,
        span: Range<usize>,
        interpret: impl FnOnce(&mut Section<'d>) -> T,
    ) -> T {
        let mut section = Section::new(table, span, self.path_to(key), self.faults);
        let result = interpret(&mut section);
        section.refuse_unknown_keys();
        result
    }

    pub(super) fn refuse_unknown_keys(&self) {
        for (key, _) in self.table {
            let name: &str = key.get_ref();
            if self.asked.iter().any(|asked| asked == name) {
                continue;
            }
            let place = if self.path.is_empty() { String::new() } else { format!(" in `{}`", self.path) };
            let hint = match nearest(name, self.asked.iter().map(String::as_str)) {
                Some(nearest) => format!("did you mean `{nearest}`?"),
                None => format!("known here: {}", self.asked.join(", ")),
            };
            self.note(Fault::new(key.span(), format!("unknown key `{name}`{place}")).hint(hint));
        }
    }

    fn value(&mut self, key: &str) -> Option<&'d Spanned<DeValue<'d>>> {
        if !self.asked.iter().any(|asked| asked == key) {
            self.asked.push(key.to_owned());
        }
        self.table.get(key)
    }

    /// Returns the plain number that `value`, at or within `key`, states.
    fn plain(&self, key: &str, value: &Spanned<DeValue<'_>>) -> Option<Located<f64>> {
        let parsed = match value.get_ref() {
            DeValue::String(text) => parse_plain(text),
            other => match number_text(other) {
                Some(number) => parse_plain(&number),
                None => return self.wrong_type(key, value, other, "a number"),
            },
        };
        self.located(key, value, parsed.map_err(|e| e.to_string()))
    }

    fn text_list(&self, key: &str, value: &Spanned<DeValue<'d>>) -> Option<Vec<Located<String>>> {
        let Some(list) = value.get_ref().as_array() else {
            return self.wrong_type(key, value, value.get_ref(), "a list of texts");
        };
        let texts = list.iter().map(|entry| match entry.get_ref() {
            DeValue::String(text) => Some(Located { value: text.clone().into_owned(), span: entry.span() }),
            other => self.wrong_type(key, entry, other, "a text in quotes"),
        });
        texts.collect::<Vec<_>>().into_iter().collect()
    }

    fn located<T>(
        &self,
        key: &str,
        value: &Spanned<DeValue<'_>>,
        parsed: Result<T, String>,
    ) -> Option<Located<T>> {
        match parsed {
            Ok(parsed) => Some(Located { value: parsed, span: value.span() }),
            Err(refusal) => {
                self.note(Fault::new(value.span(), format!("`{key}`: {refusal}")));
                None
            }
        }
    }

    fn wrong_type<T>(
        &self,
        key: &str,
        place: &Spanned<DeValue<'_>>,
        found: &DeValue<'_>,
        wanted: &str,
    ) -> Option<T> {
        let message = format!("`{key}` is {} where {wanted} is wanted", article(found.type_str()));
        self.note(Fault::new(place.span(), message));
        None
    }
}

fn article(type_name: &str) -> String {
    let article = if type_name.starts_with(['a', 'i', 'o']) { "an" } else { "a" };
    format!("{article} {type_name}")
}

fn number_text(value: &DeValue<'_>) -> Option<String> {
    match value {
        DeValue::Integer(integer) => {
            i64::from_str_radix(integer.as_str(), integer.radix()).ok().map(|i| i.to_string())
        }
        DeValue::Float(float) => Some(float.as_str().to_owned()),
        _ => None,
    }
}

/// Returns the one of `known` that is most like `name`, where any is alike enough to have been meant.
pub fn nearest<'k>(name: &str, known: impl IntoIterator<Item = &'k str>) -> Option<&'k str> {
    const ALIKE: f64 = 0.75;
    known
        .into_iter()
        .map(|candidate| (strsim::jaro_winkler(name, candidate), candidate))
        .filter(|(likeness, _)| *likeness >= ALIKE)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, candidate)| candidate)
}
