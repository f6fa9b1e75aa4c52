//! The values of a table: texts, words, numbers and quantities, and lists of them.

use std::ops::{Range, RangeInclusive};

use serde_spanned::Spanned;
use toml::de::DeValue;

use super::{Located, Section};
use crate::document::{Fault, Name};
use crate::quantity::{Quantity, doubt, parse_plain, parse_quantity};

impl<'d> Section<'d> {
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
        self.as_written(key, value, "a text in quotes")
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
    /// may be left out; where a number without either would be `typical`, a range in base units, only with one, it is
    /// refused with what it may mean.
    pub fn quantity<Q: Quantity>(&mut self, key: &str, typical: &RangeInclusive<f64>) -> Option<Located<Q>> {
        let value = self.value(key)?;
        let written = self.as_written(key, value, Q::EXAMPLE)?;
        self.quantity_of(key, &written, typical)
    }

    /// Returns the quantities of the list at `key`, each as [`Section::quantity`] returns it.
    pub fn quantities<Q: Quantity>(
        &mut self,
        key: &str,
        typical: &RangeInclusive<f64>,
    ) -> Option<Vec<Located<Q>>> {
        let value = self.value(key)?;
        let Some(list) = value.get_ref().as_array() else {
            return self.wrong_type(key, value, value.get_ref(), "a list of quantities");
        };
        let quantities = list.iter().map(|entry| {
            let written = self.as_written(key, entry, Q::EXAMPLE)?;
            self.quantity_of(key, &written, typical)
        });
        // Every fault is noted before any of them is the answer.
        quantities.collect::<Vec<_>>().into_iter().collect()
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

    /// Returns the text that `value`, at or within `key`, is, or the number as it is written.
    fn as_written(&self, key: &str, value: &Spanned<DeValue<'_>>, wanted: &str) -> Option<Located<String>> {
        let text = match value.get_ref() {
            DeValue::String(text) => text.clone().into_owned(),
            other => match number_text(other) {
                Some(number) => number,
                None => return self.wrong_type(key, value, other, wanted),
            },
        };
        Some(Located { value: text, span: value.span() })
    }

    fn quantity_of<Q: Quantity>(
        &self,
        key: &str,
        written: &Located<String>,
        typical: &RangeInclusive<f64>,
    ) -> Option<Located<Q>> {
        if let Some(doubt) = doubt::<Q>(&written.value, typical) {
            let write = doubt.write.iter().map(|write| format!("{key} = \"{write}\"")).collect::<Vec<_>>();
            let (message, hint) = match &doubt.as_it_stands {
                Some(bare) => (
                    format!("`{key}` may be {doubt}"),
                    format!("in quotes: {}; if {bare} is meant, write \"{bare}\"", write.join(" or ")),
                ),
                None => (
                    format!("`{key}` is {} without its unit, which may be {doubt}", written.value),
                    format!("in quotes: {}", write.join(" or ")),
                ),
            };
            self.note(Fault::new(written.span.clone(), message).hint(hint));
            return None;
        }
        let parsed = parse_quantity(&written.value).map_err(|e| e.to_string());
        self.located(key, written.span.clone(), parsed)
    }

    /// Returns the plain number that `value`, at or within `key`, states.
    fn plain(&self, key: &str, value: &Spanned<DeValue<'_>>) -> Option<Located<f64>> {
        let written = self.as_written(key, value, "a number")?;
        self.located(key, written.span, parse_plain(&written.value).map_err(|e| e.to_string()))
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

    fn located<T>(&self, key: &str, span: Range<usize>, parsed: Result<T, String>) -> Option<Located<T>> {
        match parsed {
            Ok(parsed) => Some(Located { value: parsed, span }),
            Err(refusal) => {
                self.note(Fault::new(span, format!("`{key}`: {refusal}")));
                None
            }
        }
    }
}

pub(super) fn number_text(value: &DeValue<'_>) -> Option<String> {
    match value {
        DeValue::Integer(integer) => {
            i64::from_str_radix(integer.as_str(), integer.radix()).ok().map(|i| i.to_string())
        }
        DeValue::Float(float) => Some(float.as_str().to_owned()),
        _ => None,
    }
}
