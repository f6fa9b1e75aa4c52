//! Where in a document's text values, entries and tables stand.

use std::ops::Range;

use serde_spanned::Spanned;
use toml::de::{DeTable, DeValue};

use super::{EditError, missing};
use crate::document::{Document, Place};

impl Document {
    /// Returns where the last entry among `entries` ends that stands in the same body, below no heading of its own.
    pub(super) fn body_end(&self, entries: &DeTable<'_>) -> Option<usize> {
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
    pub(super) fn blocks(&self, value: &Spanned<DeValue<'_>>, cuts: &mut Vec<Range<usize>>) {
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
    pub(super) fn entry_of(
        &self,
        root: &Spanned<DeTable<'_>>,
        place: &Place,
    ) -> Result<Range<usize>, EditError> {
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

    pub(super) fn start_of_line(&self, at: usize) -> usize {
        self.text[..at].rfind('\n').map_or(0, |end| end + 1)
    }

    pub(super) fn end_of_line(&self, at: usize) -> usize {
        self.text[at..].find('\n').map_or(self.text.len(), |end| at + end + 1)
    }

    pub(super) fn line_end(&self) -> &'static str {
        if self.text.contains("\r\n") { "\r\n" } else { "\n" }
    }
}

/// Returns whether `value` is a table, or a list of tables, with a heading of its own.
pub(super) fn is_headed(text: &str, value: &Spanned<DeValue<'_>>) -> bool {
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
pub(super) fn find<'v, 't>(
    root: &'v Spanned<DeTable<'t>>,
    place: &Place,
) -> Option<&'v Spanned<DeValue<'t>>> {
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
pub(super) fn count(root: &Spanned<DeTable<'_>>, place: &Place) -> usize {
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
pub(super) fn extent(value: &Spanned<DeValue<'_>>) -> usize {
    let below = match value.get_ref() {
        DeValue::Table(table) => table.iter().map(|(_, value)| extent(value)).max(),
        DeValue::Array(list) => list.iter().map(extent).max(),
        _ => None,
    };
    below.unwrap_or(0).max(value.span().end)
}
