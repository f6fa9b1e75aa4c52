//! What was changed, to be taken back and done again.

use std::time::{Duration, Instant};

use drywire::document::{Document, Literal};

/// The most changes kept.
const MOST: usize = 500;
/// Changes of one value that follow each other faster than this are one: a knob being turned, a value being typed.
const ONE_GESTURE: Duration = Duration::from_millis(1500);

/// One value as it was before a change and after it, as the file has it; nothing where it is left out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct OneValue {
    pub(crate) place: String,
    pub(crate) before: Option<String>,
    pub(crate) after: Option<String>,
}

#[derive(Debug, Clone)]
struct Change {
    called: String,
    before: String,
    after: String,
    value: Option<OneValue>,
    at: Instant,
}

/// The changes of one guitar's file, of which some may be taken back.
#[derive(Debug, Default)]
pub(crate) struct History {
    changes: Vec<Change>,
    /// How many of them stand.
    done: usize,
}

/// Which way through the changes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Way {
    Undo,
    Redo,
}

impl History {
    /// Adds a change from one text to another.
    pub(crate) fn add(&mut self, called: String, [before, after]: [&str; 2], value: Option<OneValue>) {
        self.changes.truncate(self.done);
        let now = Instant::now();
        if let (Some(last), Some(value)) = (self.changes.last_mut(), &value)
            && let Some(same) = &mut last.value
            && same.place == value.place
            && last.after == before
            && now.duration_since(last.at) < ONE_GESTURE
        {
            same.after.clone_from(&value.after);
            after.clone_into(&mut last.after);
            last.at = now;
            return;
        }
        let [before, after] = [before, after].map(str::to_owned);
        self.changes.push(Change { called, before, after, value, at: now });
        if self.changes.len() > MOST {
            self.changes.remove(0);
        }
        self.done = self.changes.len();
    }

    /// Returns what would be taken back or done again, in words.
    pub(crate) fn next(&self, way: Way) -> Option<&str> {
        self.change(way).map(|change| change.called.as_str())
    }

    fn change(&self, way: Way) -> Option<&Change> {
        match way {
            Way::Undo => self.changes.get(self.done.checked_sub(1)?),
            Way::Redo => self.changes.get(self.done),
        }
    }

    /// Returns `text` with the next change taken back or done again; where the file was changed otherwise meanwhile, all
    /// of that stays. Nothing where there is none; where both changed the same, the change is passed over, which is said.
    pub(crate) fn go(&mut self, way: Way, text: &str) -> Option<Result<String, String>> {
        let change = self.change(way)?;
        let [from, to] = match way {
            Way::Undo => [&change.after, &change.before],
            Way::Redo => [&change.before, &change.after],
        };
        let value = change.value.as_ref().map(|value| match way {
            Way::Undo => (&value.place, &value.after, &value.before),
            Way::Redo => (&value.place, &value.before, &value.after),
        });
        let by_value = || {
            let (place, from, to) = value?;
            with_value(text, place, from.as_deref(), to.as_deref())
        };
        let by_lines = || merged([from, text, to]);
        let gone = if text == from {
            Some(to.clone())
        } else if value.is_some_and(|(_, from, to)| from.is_none() || to.is_none()) {
            // With the value came or went, maybe, its table.
            by_lines().or_else(by_value)
        } else {
            by_value().or_else(by_lines)
        };
        let called = change.called.clone();
        match way {
            Way::Undo => self.done -= 1,
            Way::Redo => self.done += 1,
        }
        let Some(gone) = gone else {
            return Some(Err(format!("{called} was changed in the file since, and stays as it is")));
        };
        Some(Ok(gone))
    }
}

/// Returns `text` with `to` at `place`, where `from` stands there now.
fn with_value(text: &str, place: &str, from: Option<&str>, to: Option<&str>) -> Option<String> {
    let place = place.parse().ok()?;
    let mut document = Document::new("", text);
    let now = document.span_of(&place).map(|span| text[span].to_owned());
    if now.as_deref() != from {
        return None;
    }
    match to {
        Some(to) => document.set(&place, &Literal::AsWritten(to.to_owned())).ok()?,
        None => document.remove(&place).ok()?,
    }
    Some(document.text().to_owned())
}

/// Returns a text with the changes of two others that both come of `base`, where they do not touch the same lines.
pub(crate) fn merged([base, one, other]: [&str; 3]) -> Option<String> {
    diffy::merge(base, one, other).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "format = 1\n[[pickup]]\nname = \"bridge\" # mine\nlike = \"mini\"\n";

    fn value(place: &str, before: Option<&str>, after: Option<&str>) -> OneValue {
        let [before, after] = [before, after].map(|text| text.map(str::to_owned));
        OneValue { place: place.to_owned(), before, after }
    }

    /// A history of one change, of the pickup's name, and the text after it.
    fn renamed() -> (History, String) {
        let after = TEXT.replace("bridge", "neck");
        let mut history = History::default();
        let name = value("pickup[0].name", Some("\"bridge\""), Some("\"neck\""));
        history.add("name".into(), [TEXT, &after], Some(name));
        (history, after)
    }

    #[test]
    fn what_is_taken_back_is_byte_for_byte_what_was_before() {
        let (mut history, after) = renamed();
        assert_eq!(history.next(Way::Undo), Some("name"));
        assert_eq!(history.go(Way::Undo, &after), Some(Ok(TEXT.to_owned())));
        assert_eq!(history.next(Way::Undo), None);
        assert_eq!(history.go(Way::Undo, TEXT), None);
        assert_eq!(history.go(Way::Redo, TEXT), Some(Ok(after)));
    }

    #[test]
    fn what_was_put_in_by_hand_meanwhile_is_kept() {
        let (mut history, after) = renamed();
        let by_hand = after.replace("# mine", "# mine, and old").replace("format", "# since 1990\nformat");
        let back = by_hand.replace("neck", "bridge");
        assert_eq!(history.go(Way::Undo, &by_hand), Some(Ok(back)));
        // What was changed otherwise stays so, and is not in the way of what was changed before it.
        let other = by_hand.replace("neck", "middle");
        let mut history = History::default();
        history.add("first".into(), ["a\n", TEXT], None);
        history.add(
            "name".into(),
            [TEXT, &after],
            Some(value("pickup[0].name", Some("\"bridge\""), Some("\"neck\""))),
        );
        assert!(history.go(Way::Undo, &other).is_some_and(|gone| gone.is_err()));
        assert_eq!(history.next(Way::Undo), Some("first"));
    }

    #[test]
    fn tables_that_were_added_are_merged_out_again() {
        let mut history = History::default();
        let after = format!("{TEXT}\n[cable]\nlength = \"6 m\"\n");
        history.add("cable".into(), [TEXT, &after], None);
        let by_hand = after.replace("format", "# since 1990\nformat");
        let back = TEXT.replace("format", "# since 1990\nformat");
        assert_eq!(history.go(Way::Undo, &by_hand), Some(Ok(back)));
    }

    #[test]
    fn a_value_that_is_being_turned_is_one_change() {
        let mut history = History::default();
        let texts = [10, 9, 8].map(|n| format!("turned = {n}\n"));
        for pair in texts.windows(2) {
            let of = |text: &str| text.trim_start_matches("turned = ").trim().to_owned();
            history.add(
                "volume".into(),
                [&pair[0], &pair[1]],
                Some(value("turned", Some(&of(&pair[0])), Some(&of(&pair[1])))),
            );
        }
        assert_eq!(history.go(Way::Undo, &texts[2]), Some(Ok(texts[0].clone())));
    }
}
