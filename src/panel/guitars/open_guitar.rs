//! A guitar that is worked on: its file as it stands in the panel.

use std::sync::Arc;

use drywire::document::{Document, Fault, Refusal};
use drywire::guitar::{Draft, DraftError, Guitar};

use super::history::{History, OneValue, Way, merged};

/// The guitar that a draft describes, or all that is wrong with it.
pub(crate) type Checked = Arc<Result<Guitar, Refusal>>;

/// A guitar's file that is open, with what was changed and whether the disk has it.
#[derive(Debug)]
pub(crate) struct OpenGuitar {
    draft: Draft,
    checked: Checked,
    /// What stands in the file on the disk, as far as is known.
    on_disk: String,
    /// What another program wrote while something here was not saved, and both changed the same lines.
    clash: Option<String>,
    /// Why it could not be saved.
    pub(crate) trouble: Option<String>,
    history: History,
    number: u64,
}

/// Why a change was not made; all is as before.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Refused {
    /// The text cannot be changed there.
    Draft(DraftError),
    /// The file would have faults that it had not.
    Faults(Vec<Fault>),
    /// The same was changed otherwise meanwhile.
    Meanwhile(String),
}

impl OpenGuitar {
    /// Opens the text that stands on the disk.
    pub(crate) fn new(called: &str, text: String) -> Self {
        let draft = Draft::of(Document::new(called, text.clone()));
        let checked = Arc::new(draft.check());
        Self {
            draft,
            checked,
            on_disk: text,
            clash: None,
            trouble: None,
            history: History::default(),
            number: 1,
        }
    }

    pub(crate) fn draft(&self) -> &Draft {
        &self.draft
    }

    /// Returns the guitar, or the faults of its file.
    pub(crate) fn checked(&self) -> &Checked {
        &self.checked
    }

    pub(crate) fn text(&self) -> &str {
        self.draft.text()
    }

    /// Returns a number that grows with every change.
    pub(crate) fn number(&self) -> u64 {
        self.number
    }

    pub(crate) fn is_saved(&self) -> bool {
        self.clash.is_none() && self.on_disk == self.text()
    }

    pub(crate) fn clash(&self) -> Option<&str> {
        self.clash.as_deref()
    }

    /// Returns what would be taken back or done again.
    pub(crate) fn next(&self, way: Way) -> Option<&str> {
        self.history.next(way)
    }

    /// Changes the file by `change`, called so, unless it would gain faults by it; `place` is that of the only value changed.
    pub(crate) fn change(
        &mut self,
        called: String,
        place: Option<&str>,
        change: impl FnOnce(&mut Draft) -> Result<(), DraftError>,
    ) -> Result<(), Refused> {
        let mut next = self.draft.clone();
        change(&mut next).map_err(Refused::Draft)?;
        if next.text() == self.text() {
            return Ok(());
        }
        let checked = next.check();
        let faults = |checked: &Result<Guitar, Refusal>| -> Vec<Fault> {
            checked.as_ref().err().map_or_else(Vec::new, |refusal| refusal.faults().to_vec())
        };
        let (faults, had) = (faults(&checked), faults(&self.checked));
        if faults.len() > had.len() {
            let gained =
                faults.into_iter().filter(|fault| !had.iter().any(|own| own.message == fault.message));
            return Err(Refused::Faults(gained.collect()));
        }
        let raw = |draft: &Draft, place: &str| {
            let span = draft.document().span_of(&place.parse().ok()?)?;
            Some(draft.text()[span].to_owned())
        };
        let value = place.map(|place| OneValue {
            place: place.to_owned(),
            before: raw(&self.draft, place),
            after: raw(&next, place),
        });
        self.history.add(called, [self.draft.text(), next.text()], value);
        self.take(next, checked);
        Ok(())
    }

    /// Puts a whole text in the file's place, right or wrong.
    pub(crate) fn write(&mut self, text: &str) {
        if text != self.text() {
            self.history.add("the text of the file".to_owned(), [self.draft.text(), text], None);
            self.take_text(text);
        }
    }

    /// Takes the last change back, or does the one that was taken back again; returns whether there was one.
    pub(crate) fn go(&mut self, way: Way) -> Result<bool, Refused> {
        match self.history.go(way, self.draft.text()) {
            None => Ok(false),
            Some(Ok(text)) => {
                self.take_text(&text);
                Ok(true)
            }
            Some(Err(words)) => Err(Refused::Meanwhile(words)),
        }
    }

    fn take_text(&mut self, text: &str) {
        let called = self.draft.document().name().to_owned();
        let draft = Draft::of(Document::new(called, text));
        let checked = draft.check();
        self.take(draft, checked);
    }

    fn take(&mut self, draft: Draft, checked: Result<Guitar, Refusal>) {
        (self.draft, self.checked) = (draft, Arc::new(checked));
        self.number += 1;
    }

    /// Takes in what stands on the disk now; returns whether anything here changed by it.
    pub(crate) fn look_at_disk(&mut self, text: &str) -> bool {
        if text == self.on_disk || self.clash.as_deref() == Some(text) {
            return false;
        }
        if text == self.text() {
            self.saved(text.to_owned());
            self.clash = None;
        } else if self.on_disk == self.text() {
            text.clone_into(&mut self.on_disk);
            self.take_text(text);
            return true;
        } else if let Some(both) = merged([&self.on_disk, self.text(), text]) {
            text.clone_into(&mut self.on_disk);
            self.clash = None;
            self.take_text(&both);
            return true;
        } else {
            self.clash = Some(text.to_owned());
        }
        self.number += 1;
        true
    }

    /// Ends a clash: keeps what stands here, or takes what stands on the disk; the other is one step of undo away.
    pub(crate) fn settle(&mut self, keeps_own: bool) {
        let Some(theirs) = self.clash.take() else { return };
        let own = self.text().to_owned();
        self.on_disk.clone_from(&theirs);
        if keeps_own {
            self.history.add("what the file had".to_owned(), [&theirs, &own], None);
            self.number += 1;
        } else {
            self.write(&theirs);
        }
    }

    /// Says that the disk has what stands here.
    pub(crate) fn saved(&mut self, text: String) {
        self.on_disk = text;
        self.trouble = None;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "format = 1\n# my guitar\nname = \"old\"\nscale = \"648 mm\"\n\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\"\n";

    fn open() -> OpenGuitar {
        OpenGuitar::new("guitar.toml", TEXT.to_owned())
    }

    fn name(guitar: &mut OpenGuitar, to: &str) {
        guitar.change("name".into(), Some("name"), |draft| draft.set("name", to)).unwrap();
    }

    #[test]
    fn a_change_that_makes_faults_is_refused_and_told() {
        let mut guitar = open();
        let refused = guitar.change("scale".into(), Some("scale"), |draft| draft.set("scale", "9 m"));
        let Err(Refused::Faults(faults)) = refused else { panic!("{refused:?}") };
        assert!(faults[0].message.contains("allowed is from"), "{faults:?}");
        assert_eq!(guitar.text(), TEXT);
    }

    #[test]
    fn three_changes_two_taken_back_and_a_comment_by_hand_meanwhile() {
        let mut guitar = open();
        name(&mut guitar, "new");
        guitar.change("scale".into(), Some("scale"), |draft| draft.set("scale", "628 mm")).unwrap();
        guitar
            .change("cable".into(), Some("cable.length"), |draft| draft.set("cable.length", "6 m"))
            .unwrap();
        guitar.saved(guitar.text().to_owned());
        let by_hand = guitar.text().replace("# my guitar", "# my guitar\n# with a comment");
        assert!(guitar.look_at_disk(&by_hand));
        assert!(guitar.go(Way::Undo).unwrap() && guitar.go(Way::Undo).unwrap());
        let expected = TEXT.replace("# my guitar", "# my guitar\n# with a comment").replace("old", "new");
        assert_eq!(guitar.text(), expected);
        assert!(guitar.go(Way::Redo).unwrap());
        assert!(guitar.text().contains("628 mm"));
    }

    #[test]
    fn what_another_wrote_meanwhile_is_merged_or_asked_about() {
        let mut guitar = open();
        name(&mut guitar, "mine");
        assert!(guitar.look_at_disk(&TEXT.replace("\"mini\"", "\"soapbar\"")));
        assert!(
            guitar.text().contains("mine") && guitar.text().contains("soapbar") && guitar.clash().is_none()
        );
        guitar.saved(guitar.text().to_owned());
        name(&mut guitar, "mine again");
        let theirs = guitar.text().replace("mine again", "theirs");
        assert!(guitar.look_at_disk(&theirs));
        assert_eq!(guitar.clash(), Some(theirs.as_str()));
        assert!(guitar.text().contains("mine again") && !guitar.is_saved());
        guitar.settle(false);
        assert_eq!(guitar.text(), theirs);
        assert!(guitar.go(Way::Undo).unwrap() && guitar.text().contains("mine again"));
    }
}
