//! A document changed value by value: the bytes of one value are replaced, all others stay as they are.
//!
//! The text itself is edited, at the places that its parser tells, and not a tree that is written out again: so line
//! ends, the order of dotted keys and a missing last line end stay too.

mod insert;
mod locate;
mod stated;

use std::ops::Range;

use serde_spanned::Spanned;
use toml::de::DeTable;

use self::locate::{count, extent, find, is_headed};
pub use self::stated::Stated;
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

    /// Returns whether the text parses, so that values have their places in it.
    pub fn is_toml(&self) -> bool {
        self.root().is_ok()
    }

    /// Returns the bytes of the value at `place`, or of the heading of the table there.
    pub fn span_of(&self, place: &Place) -> Option<Range<usize>> {
        self.stated().span_of(place)
    }

    /// Returns the value at `place` as a text that can be read: a text without its quotes, all else as it is written.
    pub fn written_at(&self, place: &Place) -> Option<String> {
        self.stated().written_at(place)
    }

    /// Returns the list of lists of texts at `place`, where there is one.
    pub fn lists_at(&self, place: &Place) -> Option<Vec<Vec<String>>> {
        self.stated().lists_at(place)
    }

    /// Returns how many tables stand in the list of tables at `place`.
    pub fn count_at(&self, place: &Place) -> usize {
        self.stated().count_at(place)
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

    /// Adds the top table at `place`, with nothing in it, where it is not there.
    ///
    /// # Errors
    /// [`EditError`], and the text is as before.
    pub fn add_table(&mut self, place: &Place) -> Result<(), EditError> {
        let (parent, last) = place.split();
        if parent.is_some() || last.entry.is_some() {
            return Err(EditError::NotInPlace { place: place.to_string() });
        }
        if self.span_of(place).is_some() {
            return Ok(());
        }
        let end = self.line_end();
        let edited = self.with_inserted(self.text.len(), &format!("{end}[{}]{end}", last.key));
        let is_there = edited.span_of(place).is_some();
        self.accept(edited, place, is_there)
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
}

fn missing(place: &Place) -> EditError {
    EditError::Missing { place: place.to_string() }
}

/// Returns the names of the tables on the way to `place`, as its heading has them.
fn headings(place: &Place) -> String {
    place.steps().iter().map(|step| step.key.as_str()).collect::<Vec<_>>().join(".")
}
