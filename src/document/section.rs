//! A table of a document, read key by key.

mod values;

use std::cell::RefCell;
use std::ops::Range;

use serde_spanned::Spanned;
use toml::de::{DeTable, DeValue};

use self::values::number_text;
use super::Fault;

/// A value and the bytes of the text it was read from.
#[derive(Debug, Clone, PartialEq)]
pub struct Located<T> {
    /// The value.
    pub value: T,
    /// The bytes of the text that state it.
    pub span: Range<usize>,
}

/// A key that a table may have, and how what stands at it is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KnownKey {
    /// The key.
    pub name: &'static str,
    /// How it is written.
    pub form: KeyForm,
    /// The keys of the table that stands there, where one does.
    pub within: Vec<&'static str>,
}

/// How what stands at a key is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum KeyForm {
    /// As a value after `=`.
    Value,
    /// As a table, headed by its name in single brackets or in braces.
    Table,
    /// As one of several tables, each headed by its name in double brackets.
    Tables,
}

/// A table being read: each key is asked for once, faults are noted on the way, and keys that are neither known nor
/// asked for are refused at the end with the nearest one that is.
pub struct Section<'d> {
    table: &'d DeTable<'d>,
    span: Range<usize>,
    path: String,
    faults: &'d RefCell<Vec<Fault>>,
    known: Vec<KnownKey>,
    asked: Vec<String>,
    is_passed_over: bool,
}

impl<'d> Section<'d> {
    pub(super) fn new(
        table: &'d DeTable<'d>,
        span: Range<usize>,
        path: String,
        faults: &'d RefCell<Vec<Fault>>,
    ) -> Self {
        Self { table, span, path, faults, known: Vec::new(), asked: Vec::new(), is_passed_over: false }
    }

    /// Takes `keys` as known here, whether they will be asked for or not.
    pub fn knows(&mut self, keys: impl IntoIterator<Item = KnownKey>) {
        self.known.extend(keys);
    }

    /// Takes all that stands here as read, for where the table is not what it was taken for.
    pub fn pass_over_all(&mut self) {
        self.is_passed_over = true;
    }

    /// Returns the bytes of the text that state the table, or its heading.
    pub fn span(&self) -> Range<usize> {
        self.span.clone()
    }

    /// Returns the bytes of the name `key`, or of the table where it is not there.
    pub fn span_of(&self, key: &str) -> Range<usize> {
        let named = self.table.iter().find(|(name, _)| name.get_ref() == key);
        named.map_or_else(|| self.span(), |(name, _)| name.span())
    }

    /// Returns `key` with the names of the tables it stands in, such as `pickup.coil_a.resistance`.
    pub fn path_to(&self, key: &str) -> String {
        if self.path.is_empty() { key.to_owned() } else { format!("{}.{key}", self.path) }
    }

    /// Returns the names of all keys that the table has, in their order.
    pub fn names(&self) -> Vec<Located<String>> {
        let mut names: Vec<Located<String>> = self
            .table
            .iter()
            .map(|(name, _)| Located { value: name.get_ref().to_string(), span: name.span() })
            .collect();
        names.sort_by_key(|name| name.span.start);
        names
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

    /// Returns whether the table has a key that is not known and was probably meant to be `key`.
    pub fn has_like(&self, key: &str) -> bool {
        let unknown =
            self.table.iter().map(|(name, _)| name.get_ref().as_ref()).filter(|name| !self.is_known(name));
        unknown.into_iter().any(|name| self.nearest_known(name) == Some(key))
    }

    /// Takes `key` as read, for where something else that is wrong leaves no meaning to it.
    pub fn pass_over(&mut self, key: &str) {
        self.value(key);
    }

    /// Returns what `interpret` makes of the table at `key`.
    pub fn table<T>(&mut self, key: &str, interpret: impl FnOnce(&mut Section<'d>) -> T) -> Option<T> {
        let value = self.value(key)?;
        if let Some(table) = value.get_ref().as_table() {
            return Some(self.enter(key, table, value.span(), interpret));
        }
        let list = value.get_ref().as_array().and_then(|list| list.iter().next());
        let Some((first, table)) = list.and_then(|first| Some((first, first.get_ref().as_table()?))) else {
            let message = wrong_type(key, value.get_ref(), "a table");
            self.note(Fault::new(value.span(), message).hint(self.as_table(key, value.get_ref())));
            return None;
        };
        let path = self.path_to(key);
        let message = format!("`{path}` is headed [[{path}]], and there is one of it");
        self.note(Fault::new(first.span(), message).hint(format!("head it [{path}], in single brackets")));
        Some(self.enter(key, table, first.span(), interpret))
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
        if let Some(table) = value.get_ref().as_table() {
            let path = self.path_to(key);
            let message = format!("`{path}` is one table where there may be several");
            let hint = format!("head each [[{path}]], in double brackets");
            self.note(Fault::new(value.span(), message).hint(hint));
            return vec![self.enter(key, table, value.span(), interpret)];
        }
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
            self.note(Fault::new(beyond.span(), message).hint("take out those that are too many"));
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
        if self.is_passed_over {
            return;
        }
        for (key, value) in self.table {
            let name: &str = key.get_ref();
            if self.is_known(name) {
                continue;
            }
            let place = if self.path.is_empty() { String::new() } else { format!(" in `{}`", self.path) };
            let hint = match self.nearest_known(name) {
                Some(nearest) => format!("did you mean {}?", self.heading(nearest, value.get_ref())),
                None => format!("known here: {}", self.known_names().collect::<Vec<_>>().join(", ")),
            };
            self.note(Fault::new(key.span(), format!("unknown key `{name}`{place}")).hint(hint));
        }
    }

    fn is_known(&self, name: &str) -> bool {
        self.known_names().any(|known| known == name)
    }

    /// Returns the keys that are known or were asked for, each once.
    fn known_names(&self) -> impl Iterator<Item = &str> {
        let asked = self.asked.iter().filter(|asked| self.known.iter().all(|key| key.name != asked.as_str()));
        self.known.iter().map(|key| key.name).chain(asked.map(String::as_str))
    }

    fn nearest_known(&self, name: &str) -> Option<&str> {
        nearest(name, self.known_names())
    }

    /// Returns the known key `name` as a file writes it where `given` stands instead.
    fn heading(&self, name: &str, given: &DeValue<'_>) -> String {
        let form = self.known.iter().find(|key| key.name == name).map_or(KeyForm::Value, |key| key.form);
        let path = self.path_to(name);
        match (form, given) {
            (KeyForm::Tables, DeValue::Table(_) | DeValue::Array(_)) => format!("[[{path}]]"),
            (KeyForm::Table, DeValue::Array(_)) => format!("[{path}]"),
            _ => format!("`{name}`"),
        }
    }

    /// Returns how `key`, whose table `given` stands in place of, is written.
    fn as_table(&self, key: &str, given: &DeValue<'_>) -> String {
        let within = self.known.iter().find(|known| known.name == key).map_or(&[][..], |known| &known.within);
        let values = match given {
            DeValue::Array(list) => list.iter().map(Spanned::get_ref).collect(),
            other => vec![other],
        };
        let texts: Option<Vec<String>> = values
            .iter()
            .map(|value| match value {
                DeValue::String(text) => Some(format!("\"{text}\"")),
                other => number_text(other),
            })
            .collect();
        match texts.filter(|texts| (1..=within.len()).contains(&texts.len())) {
            Some(texts) => {
                let entries = within.iter().zip(texts).map(|(name, text)| format!("{name} = {text}"));
                format!("such as {key} = {{ {} }}", entries.collect::<Vec<_>>().join(", "))
            }
            None => format!("head it [{}], with its keys on the lines below", self.path_to(key)),
        }
    }

    fn value(&mut self, key: &str) -> Option<&'d Spanned<DeValue<'d>>> {
        if !self.asked.iter().any(|asked| asked == key) {
            self.asked.push(key.to_owned());
        }
        self.table.get(key)
    }

    fn wrong_type<T>(
        &self,
        key: &str,
        place: &Spanned<DeValue<'_>>,
        found: &DeValue<'_>,
        wanted: &str,
    ) -> Option<T> {
        self.note(Fault::new(place.span(), wrong_type(key, found, wanted)));
        None
    }
}

fn wrong_type(key: &str, found: &DeValue<'_>, wanted: &str) -> String {
    format!("`{key}` is {} where {wanted} is wanted", article(found.type_str()))
}

fn article(type_name: &str) -> String {
    let article = if type_name.starts_with(['a', 'i', 'o']) { "an" } else { "a" };
    format!("{article} {type_name}")
}

/// Returns the one of `known` that is most like `name`, the first of several, where any is alike enough to have been meant.
pub fn nearest<'k>(name: &str, known: impl IntoIterator<Item = &'k str>) -> Option<&'k str> {
    const ALIKE: f64 = 0.75;
    known
        .into_iter()
        .map(|candidate| (strsim::jaro_winkler(name, candidate), candidate))
        .filter(|(likeness, _)| *likeness >= ALIKE)
        .reduce(|best, other| if other.0 > best.0 { other } else { best })
        .map(|(_, candidate)| candidate)
}
