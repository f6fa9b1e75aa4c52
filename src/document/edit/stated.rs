//! What a document states, place by place, its text parsed once.

use std::ops::Range;

use serde_spanned::Spanned;
use toml::de::{DeTable, DeValue};

use super::locate::find;
use crate::document::{Document, Place};

/// What a document states: nothing where its text does not parse.
#[derive(Debug)]
pub struct Stated<'d> {
    text: &'d str,
    root: Option<Spanned<DeTable<'d>>>,
}

impl Document {
    /// Returns what the document states, for whoever looks at many places of it.
    pub fn stated(&self) -> Stated<'_> {
        Stated { text: &self.text, root: self.root().ok() }
    }
}

impl<'d> Stated<'d> {
    fn find(&self, place: &Place) -> Option<&Spanned<DeValue<'d>>> {
        find(self.root.as_ref()?, place)
    }

    /// Returns the bytes of the value at `place`, or of the heading of the table there.
    pub fn span_of(&self, place: &Place) -> Option<Range<usize>> {
        self.find(place).map(Spanned::span)
    }

    /// Returns the value at `place` as a text that can be read: a text without its quotes, all else as it is written.
    pub fn written_at(&self, place: &Place) -> Option<String> {
        let value = self.find(place)?;
        Some(match value.get_ref() {
            DeValue::String(text) => text.clone().into_owned(),
            _ => self.text[value.span()].to_owned(),
        })
    }

    /// Returns the list of lists of texts at `place`, where there is one.
    pub fn lists_at(&self, place: &Place) -> Option<Vec<Vec<String>>> {
        let lists = self.find(place)?.get_ref().as_array()?;
        let texts = |list: &Spanned<DeValue<'_>>| {
            let texts =
                list.get_ref().as_array()?.iter().map(|text| Some(text.get_ref().as_str()?.to_owned()));
            texts.collect()
        };
        lists.iter().map(texts).collect()
    }

    /// Returns how many tables stand in the list of tables at `place`.
    pub fn count_at(&self, place: &Place) -> usize {
        self.find(place).and_then(|value| value.get_ref().as_array()).map_or(0, |list| list.len())
    }
}
