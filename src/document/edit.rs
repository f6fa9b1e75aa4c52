//! A document changed value by value: the bytes of one value are replaced, all others stay as they are.
//!
//! The text itself is edited, at the places that its parser tells, and not a tree that is written out again: so line
//! ends, the order of dotted keys and a missing last line end stay too.

use std::ops::Range;

use serde_spanned::Spanned;
use toml::de::{DeTable, DeValue};

use super::{Document, Literal, Place};

/// Why a document was not changed; its text is as before.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum EditError {
    /// The text does not parse, so nothing in it has a place.
    #[error("line {line} is no TOML, so no value can be changed")]
    NotToml {
        /// The first line that does not parse.
        line: usize,
    },
    /// There is no such table or entry, or what stands on the way is no table.
    #[error("the file has no `{place}`")]
    Missing {
        /// The place asked for.
        place: String,
    },
    /// A table stands where a value is to be written.
    #[error("`{place}` is a table")]
    Table {
        /// The place asked for.
        place: String,
    },
    /// The table is written by dotted keys, to which none is added.
    #[error("`{place}` stands in a table that is written by dotted keys")]
    Dotted {
        /// The place asked for.
        place: String,
    },
    /// The change would have made another document than was asked for.
    #[error("`{place}` can not be changed in place")]
    NotInPlace {
        /// The place asked for.
        place: String,
    },
}

impl EditError {
    /// Returns what to do about it.
    pub const fn hint(&self) -> &'static str {
        match self {
            Self::NotToml { .. } => "mend that line first",
            Self::Missing { .. } => "add the table that it belongs to",
            Self::Table { .. } => "name one of its values",
            Self::Dotted { .. } | Self::NotInPlace { .. } => "change it by hand",
        }
    }
}

impl Document {
    /// Returns the text.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Returns the bytes of the value at `place`, or of the heading of the table there.
    pub fn span_of(&self, place: &Place) -> Option<Range<usize>> {
        let root = self.root().ok()?;
        find(&root, place).map(Spanned::span)
    }

    /// Returns the value at `place` as a text that can be read: a text without its quotes, all else as it is written.
    pub fn written_at(&self, place: &Place) -> Option<String> {
        let root = self.root().ok()?;
        let value = find(&root, place)?;
        Some(match value.get_ref() {
            DeValue::String(text) => text.clone().into_owned(),
            _ => self.text[value.span()].to_owned(),
        })
    }

    /// Returns how many tables stand in the list of tables at `place`.
    pub fn count_at(&self, place: &Place) -> usize {
        let root = self.root().ok();
        let list =
            root.as_ref().and_then(|root| find(root, place)).and_then(|value| value.get_ref().as_array());
        list.map_or(0, |list| list.len())
    }

    /// Gives the value at `place` this `literal`; a value that is not there is added to its table, and a table that is not
    /// there to the table that it belongs to.
    ///
    /// # Errors
    /// [`EditError`], and the text is as before.
    pub fn set(&mut self, place: &Place, literal: &Literal) -> Result<(), EditError> {
        let edited = self.with_value(place, literal)?;
        let reads_back = edited.root().is_ok_and(|root| {
            find(&root, place).is_some_and(|value| edited.text[value.span()] == literal.to_string())
        });
        self.accept(edited, place, reads_back)
    }

    /// Takes the value at `place`, or the table with all that is in it, out of the document; what is not there stays so.
    ///
    /// # Errors
    /// [`EditError`], and the text is as before.
    pub fn remove(&mut self, place: &Place) -> Result<(), EditError> {
        let root = self.root()?;
        let Some(value) = find(&root, place) else { return Ok(()) };
        let mut cuts = Vec::new();
        if is_headed(&self.text, value) {
            self.blocks(value, &mut cuts);
        } else if value.get_ref().is_table() && !self.text[value.span()].starts_with('{') {
            return Err(EditError::Dotted { place: place.to_string() });
        } else {
            cuts.push(self.entry_of(&root, place)?);
        }
        cuts.sort_by_key(|cut| cut.start);
        let mut text = self.text.clone();
        for cut in cuts.into_iter().rev() {
            text.replace_range(cut, "");
        }
        let was = count(&root, place);
        let edited = Self { name: self.name.clone(), text };
        let is_gone = edited.root().is_ok_and(|root| count(&root, place) + 1 == was);
        self.accept(edited, place, is_gone)
    }

    /// Adds a table to the list of tables at `place` and returns its place.
    ///
    /// # Errors
    /// [`EditError`], and the text is as before.
    pub fn push(&mut self, place: &Place) -> Result<Place, EditError> {
        let root = self.root()?;
        let (parent, last) = place.split();
        let end = match find(&root, place) {
            Some(list) if is_headed(&self.text, list) => extent(list),
            Some(_) => return Err(EditError::NotInPlace { place: place.to_string() }),
            None => match &parent {
                None => self.text.len(),
                Some(parent) => extent(find(&root, parent).ok_or_else(|| missing(parent))?),
            },
        };
        let at = self.end_of_line(end);
        let entry = self.count_at(place);
        let heading = format!("{}[[{}]]{}", self.line_end(), headings(place), self.line_end());
        let edited = self.with_inserted(at, &heading);
        let numbered =
            format!("{}[{entry}]", parent.map_or(last.key.clone(), |p| format!("{p}.{}", last.key)));
        let pushed: Place = numbered.parse().map_err(|_| missing(place))?;
        let is_there = edited.count_at(place) == entry + 1 && edited.span_of(&pushed).is_some();
        self.accept(edited, place, is_there)?;
        Ok(pushed)
    }

    fn accept(&mut self, edited: Self, place: &Place, is_as_asked: bool) -> Result<(), EditError> {
        if !is_as_asked {
            return Err(EditError::NotInPlace { place: place.to_string() });
        }
        *self = edited;
        Ok(())
    }

    fn root(&self) -> Result<Spanned<DeTable<'_>>, EditError> {
        let (root, errors) = DeTable::parse_recoverable(&self.text);
        let places = errors.iter().map(|error| error.span().map_or(0, |span| span.start));
        match places.min() {
            None => Ok(root),
            Some(first) => Err(EditError::NotToml { line: self.line_at(first) }),
        }
    }

    fn with_value(&self, place: &Place, literal: &Literal) -> Result<Self, EditError> {
        let root = self.root()?;
        if let Some(value) = find(&root, place) {
            if value.get_ref().is_table() || is_headed(&self.text, value) {
                return Err(EditError::Table { place: place.to_string() });
            }
            let mut text = self.text.clone();
            text.replace_range(value.span(), &literal.to_string());
            return Ok(Self { name: self.name.clone(), text });
        }
        let (parent, last) = place.split();
        let line = format!("{} = {literal}", last.key);
        let Some(parent) = parent else {
            return Ok(self.with_line_after(self.body_end(root.get_ref()), 0, &line));
        };
        let Some(table) = find(&root, &parent) else {
            return self.with_table(&root, &parent, &line);
        };
        let Some(entries) = table.get_ref().as_table() else {
            return Err(missing(place));
        };
        if self.text[table.span()].starts_with('{') {
            Ok(self.with_entry(entries, table.span(), &line))
        } else if is_headed(&self.text, table) {
            Ok(self.with_line_after(self.body_end(entries), table.span().end, &line))
        } else if self.body_end(entries).is_some() {
            Err(EditError::Dotted { place: place.to_string() })
        } else {
            // A table that only tables below it tell of.
            let end = self.line_end();
            let lines = format!("[{}]{end}{line}{end}", headings(&parent));
            Ok(self.with_inserted(self.start_of_line(table.span().start), &lines))
        }
    }

    /// Returns the document with the table `place`, which is not there, and in it the entry `line`.
    fn with_table(&self, root: &Spanned<DeTable<'_>>, place: &Place, line: &str) -> Result<Self, EditError> {
        let (parent, last) = place.split();
        let above = parent.as_ref().and_then(|parent| find(root, parent));
        let end = self.line_end();
        match (&parent, above) {
            _ if last.entry.is_some() => Err(missing(place)),
            (None, _) => {
                let text = format!("{end}[{}]{end}{line}{end}", last.key);
                Ok(self.with_inserted(self.text.len(), &text))
            }
            // Below an entry of a list of tables a table has a heading, below any other it stands in braces.
            (Some(parent), Some(table)) if self.text[table.span()].starts_with("[[") => {
                let text = format!("[{}.{}]{end}{line}{end}", headings(parent), last.key);
                Ok(self.with_inserted(self.end_of_line(extent(table)), &text))
            }
            (Some(_), Some(table)) => {
                let Some(entries) = table.get_ref().as_table() else { return Err(missing(place)) };
                let line = format!("{} = {{ {line} }}", last.key);
                if self.text[table.span()].starts_with('{') {
                    Ok(self.with_entry(entries, table.span(), &line))
                } else if is_headed(&self.text, table) {
                    Ok(self.with_line_after(self.body_end(entries), table.span().end, &line))
                } else {
                    Err(EditError::Dotted { place: place.to_string() })
                }
            }
            (Some(parent), None) => self.with_table(root, parent, &format!("{} = {{ {line} }}", last.key)),
        }
    }

    /// Returns the document with `line` on a line of its own after the one on which a table's last entry ends, or where it
    /// has none, after its heading.
    fn with_line_after(&self, last_entry: Option<usize>, heading: usize, line: &str) -> Self {
        match last_entry {
            None if heading == 0 => self.with_inserted(0, &format!("{line}{}", self.line_end())),
            None => self.with_inserted(self.end_of_line(heading), &format!("{line}{}", self.line_end())),
            Some(end) => {
                let from = self.start_of_line(end - 1);
                let before = &self.text[from..end];
                let indent = &before[..before.len() - before.trim_start_matches([' ', '\t']).len()];
                // The last lines of a value of several lines say nothing of how far its key stands in.
                let indent = if before.contains('=') { indent } else { "" };
                self.with_inserted(self.end_of_line(end), &format!("{indent}{line}{}", self.line_end()))
            }
        }
    }

    /// Returns the document with `line` as the last entry of the table in braces at `span`.
    fn with_entry(&self, entries: &DeTable<'_>, span: Range<usize>, line: &str) -> Self {
        let last = self.body_end(entries);
        let mut text = self.text.clone();
        match last {
            None => text.replace_range(span, &format!("{{ {line} }}")),
            Some(end) => {
                let rest = self.text[end..].trim_start();
                if rest.starts_with(',') {
                    text.insert_str(self.text.len() - rest.len() + 1, &format!(" {line}"));
                } else {
                    text.insert_str(end, &format!(", {line}"));
                }
            }
        }
        Self { name: self.name.clone(), text }
    }

    /// Returns the document with `lines` inserted at `at`, the beginning of a line or the end of the text.
    fn with_inserted(&self, at: usize, lines: &str) -> Self {
        let mut text = self.text.clone();
        let is_open = at > 0 && !self.text[..at].ends_with('\n');
        text.insert_str(at, &format!("{}{lines}", if is_open { self.line_end() } else { "" }));
        Self { name: self.name.clone(), text }
    }

    /// Returns where the last entry among `entries` ends that stands in the same body, below no heading of its own.
    fn body_end(&self, entries: &DeTable<'_>) -> Option<usize> {
        let end = |value: &Spanned<DeValue<'_>>| {
            if is_headed(&self.text, value) {
                return None;
            }
            match value.get_ref() {
                DeValue::Table(table) if !self.text[value.span()].starts_with('{') => self.body_end(table),
                _ => Some(value.span().end),
            }
        };
        entries.iter().filter_map(|(_, value)| end(value)).max()
    }

    /// Adds to `cuts` the lines of the headed table or list of tables `value`, and of those below it.
    fn blocks(&self, value: &Spanned<DeValue<'_>>, cuts: &mut Vec<Range<usize>>) {
        match value.get_ref() {
            DeValue::Table(table) => {
                let end = self.body_end(table).unwrap_or(0).max(value.span().end);
                cuts.push(self.start_of_line(value.span().start)..self.end_of_line(end));
                for (_, below) in table.iter().filter(|(_, below)| is_headed(&self.text, below)) {
                    self.blocks(below, cuts);
                }
            }
            DeValue::Array(list) => list.iter().for_each(|entry| self.blocks(entry, cuts)),
            _ => {}
        }
    }

    /// Returns the bytes of the entry at `place`, which has no heading: its lines, or in braces all up to the next entry.
    fn entry_of(&self, root: &Spanned<DeTable<'_>>, place: &Place) -> Result<Range<usize>, EditError> {
        let (parent, last) = place.split();
        let table = parent.as_ref().map(|parent| find(root, parent).ok_or_else(|| missing(parent)));
        let table = table.transpose()?;
        let entries = table.map_or(Some(root.get_ref()), |table| table.get_ref().as_table());
        let entries = entries.ok_or_else(|| missing(place))?;
        let of = |(key, value): (&Spanned<_>, &Spanned<DeValue<'_>>)| key.span().start..extent(value);
        let own = entries.iter().find(|(key, _)| *key.get_ref() == last.key).map(of);
        let own = own.ok_or_else(|| missing(place))?;
        if !table.is_some_and(|table| self.text[table.span()].starts_with('{')) {
            return Ok(self.start_of_line(own.start)..self.end_of_line(own.end));
        }
        let mut all: Vec<Range<usize>> = entries.iter().map(of).collect();
        all.sort_by_key(|entry| entry.start);
        let at = all.iter().position(|entry| *entry == own).unwrap_or(0);
        Ok(match (at.checked_sub(1).map(|before| &all[before]), all.get(at + 1)) {
            (_, Some(next)) => own.start..next.start,
            (Some(before), None) => before.end..own.end,
            (None, None) => own,
        })
    }

    fn start_of_line(&self, at: usize) -> usize {
        self.text[..at].rfind('\n').map_or(0, |end| end + 1)
    }

    fn end_of_line(&self, at: usize) -> usize {
        self.text[at..].find('\n').map_or(self.text.len(), |end| at + end + 1)
    }

    fn line_end(&self) -> &'static str {
        if self.text.contains("\r\n") { "\r\n" } else { "\n" }
    }
}

fn missing(place: &Place) -> EditError {
    EditError::Missing { place: place.to_string() }
}

/// Returns the names of the tables on the way to `place`, as its heading has them.
fn headings(place: &Place) -> String {
    place.steps().iter().map(|step| step.key.as_str()).collect::<Vec<_>>().join(".")
}

/// Returns whether `value` is a table, or a list of tables, with a heading of its own.
fn is_headed(text: &str, value: &Spanned<DeValue<'_>>) -> bool {
    let heading = text[value.span()].starts_with('[');
    match value.get_ref() {
        DeValue::Table(_) => heading,
        DeValue::Array(list) => list.iter().next().is_some_and(|first| {
            first.get_ref().is_table() && text[first.span()].starts_with("[[") && heading
        }),
        _ => false,
    }
}

/// Returns what stands at `place`.
fn find<'v, 't>(root: &'v Spanned<DeTable<'t>>, place: &Place) -> Option<&'v Spanned<DeValue<'t>>> {
    let mut table = Some(root.get_ref());
    let mut found = None;
    for step in place.steps() {
        let value = table?.get(step.key.as_str())?;
        let value = match step.entry {
            None => value,
            Some(entry) => value.get_ref().as_array()?.get(entry)?,
        };
        table = value.get_ref().as_table();
        found = Some(value);
    }
    found
}

/// Returns how many values stand at `place`: one or none, or of an entry of a list, as many as the list has.
fn count(root: &Spanned<DeTable<'_>>, place: &Place) -> usize {
    let (_, last) = place.split();
    if last.entry.is_none() {
        return usize::from(find(root, place).is_some());
    }
    let mut list = place.to_string();
    list.truncate(list.rfind('[').unwrap_or(0));
    let list = list.parse().ok().and_then(|list| find(root, &list));
    list.and_then(|list| list.get_ref().as_array()).map_or(0, |list| list.len())
}
/// Returns where all that belongs to a value ends, the tables below it included.
fn extent(value: &Spanned<DeValue<'_>>) -> usize {
    let below = match value.get_ref() {
        DeValue::Table(table) => table.iter().map(|(_, value)| extent(value)).max(),
        DeValue::Array(list) => list.iter().map(extent).max(),
        _ => None,
    };
    below.unwrap_or(0).max(value.span().end)
}
