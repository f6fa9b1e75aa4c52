//! Where in a document a value stands: the keys that lead to it.

use std::fmt;
use std::str::FromStr;

/// A key, and of a list of tables the entry of this number, from zero.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlaceStep {
    /// The key.
    pub key: String,
    /// The entry of the list of tables at it.
    pub entry: Option<usize>,
}

/// The way to a value or table, such as `pickup[0].coil_a.resistance`; it has at least one step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place(Vec<PlaceStep>);

/// A text that is no [`Place`].
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{given}` is no place in a file, such as scale or pickup[0].coil_a.resistance")]
pub struct PlaceError {
    /// The text as given.
    pub given: String,
}

impl Place {
    /// Returns the steps, of which there is at least one.
    pub fn steps(&self) -> &[PlaceStep] {
        &self.0
    }

    /// Returns the place of `key` in the table at this one.
    #[must_use]
    pub fn then(&self, key: &str) -> Self {
        let mut steps = self.0.clone();
        steps.push(PlaceStep { key: key.to_owned(), entry: None });
        Self(steps)
    }

    /// Returns the last step, and the place of the table in which it is; none for the document's top.
    pub(super) fn split(&self) -> (Option<Self>, &PlaceStep) {
        let (last, before) = self.0.split_last().expect("a place has at least one step");
        ((!before.is_empty()).then(|| Self(before.to_vec())), last)
    }
}

impl FromStr for Place {
    type Err = PlaceError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let is_bare = |key: &str| {
            !key.is_empty() && key.bytes().all(|b| b.is_ascii_alphanumeric() || matches!(b, b'_' | b'-'))
        };
        let step = |step: &str| {
            let (key, entry) = match step.strip_suffix(']').map(|step| step.split_once('[')) {
                None => (step, None),
                Some(numbered) => {
                    let (key, entry) = numbered?;
                    (key, Some(entry.parse().ok()?))
                }
            };
            is_bare(key).then(|| PlaceStep { key: key.to_owned(), entry })
        };
        let steps: Option<Vec<PlaceStep>> = text.split('.').map(step).collect();
        steps.map(Self).ok_or_else(|| PlaceError { given: text.to_owned() })
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, step) in self.0.iter().enumerate() {
            let dot = if i == 0 { "" } else { "." };
            write!(f, "{dot}{}", step.key)?;
            if let Some(entry) = step.entry {
                write!(f, "[{entry}]")?;
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::Place;

    #[test]
    fn a_place_is_read_and_shown_alike_and_what_is_none_is_refused() {
        for text in ["scale", "pickup[0].coil_a.resistance", "controls.tone.pot", "pickup[3]"] {
            assert_eq!(text.parse::<Place>().map(|place| place.to_string()).as_deref(), Ok(text));
        }
        for text in ["", ".", "a..b", "a[", "a]", "a[x]", "a[-1]", "a b", "a[0]b"] {
            assert!(text.parse::<Place>().is_err(), "{text}");
        }
    }
}
