//! A value, and where needed its table, written into a document.

use std::ops::Range;

use serde_spanned::Spanned;
use toml::de::DeTable;

use super::locate::{extent, find, is_headed};
use super::{EditError, headings, missing};
use crate::document::{Document, Literal, Place};

impl Document {
    pub(super) fn with_value(&self, place: &Place, literal: &Literal) -> Result<Self, EditError> {
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
    pub(super) fn with_inserted(&self, at: usize, lines: &str) -> Self {
        let mut text = self.text.clone();
        let is_open = at > 0 && !self.text[..at].ends_with('\n');
        text.insert_str(at, &format!("{}{lines}", if is_open { self.line_end() } else { "" }));
        Self { name: self.name.clone(), text }
    }
}
