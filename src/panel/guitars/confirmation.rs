//! What was recorded of a guitar after soldering: which voice each take is of, in the order in which they were played.

use std::fs;
use std::io;
use std::sync::PoisonError;

use drywire::confirm::{Confirmation as Told, KeptConfirmation};
use drywire::document::{Document, EditError, Place, Section};
use drywire::report::to_json;

use super::proofs::today;
use super::records::FOLDER;
use super::{FolderName, Guitars, GuitarsError, called, free_in};

/// The record, and what its takes told.
const FILE: &str = "confirm.toml";
const ANSWER: &str = "confirm.json";
/// What a new one begins with.
const HEAD: &str = "# What was recorded after soldering, in the order in which it was played; `drywire confirm` takes each as NAME=FILE.\n";

/// A take of a voice.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct TakeOf {
    /// The voice, such as `mode:1`.
    pub(crate) voice: String,
    /// Its file in the guitar's folder.
    pub(crate) file: String,
    /// How many strums were heard in it, where the record tells that.
    pub(crate) strums: Option<usize>,
}

/// What was recorded of a guitar.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Confirmation {
    /// The two voices that are set against each other.
    pub(crate) between: [String; 2],
    /// In the order in which they were played.
    pub(crate) takes: Vec<TakeOf>,
}

impl Confirmation {
    /// The keys of the two voices.
    pub(crate) const BETWEEN: [&str; 2] = ["first", "later"];
    /// The most takes of one session.
    const MOST: usize = 100;

    fn read(document: &Document) -> Result<Self, GuitarsError> {
        Ok(document.interpret(|top| {
            let between = Self::BETWEEN.map(|key| top.text(key).map(|text| text.value).unwrap_or_default());
            let takes = top.tables("take", Self::MOST, take).into_iter().flatten().collect();
            Some(Self { between, takes })
        })?)
    }
}

fn take(section: &mut Section<'_>) -> Option<TakeOf> {
    let mut text = |key: &str| {
        let text = section.text(key).map(|text| text.value);
        if text.is_none() && !section.has(key) {
            section.note_missing(key, "a take has a voice, such as mode:1, and a file");
        }
        text
    };
    let (voice, file) = (text("voice"), text("file"));
    let strums = section.text("strums").and_then(|text| text.value.parse().ok());
    // The day is for the person who reads the record.
    let _ = section.text("date");
    Some(TakeOf { voice: voice?, file: file?, strums })
}

impl Guitars {
    /// Returns what was recorded of a guitar.
    pub(crate) fn confirmation(&self, guitar: &FolderName) -> Result<Confirmation, GuitarsError> {
        match self.record(guitar, FILE)? {
            Some(document) => Confirmation::read(&document),
            None => Ok(Confirmation::default()),
        }
    }

    /// Keeps which voice is the first or the later one: `key` is one of [`Confirmation::BETWEEN`].
    pub(crate) fn keep_voice(&self, guitar: &FolderName, key: &str, voice: &str) -> Result<(), GuitarsError> {
        self.change_confirmation(guitar, |document| {
            let place = of(key)?;
            if voice.is_empty() { document.remove(&place) } else { document.set(&place, &voice.into()) }
        })
    }

    /// Adds a take of a voice that lies in the guitar's folder.
    pub(crate) fn add_take_of(
        &self,
        guitar: &FolderName,
        voice: &str,
        file: &str,
        strums: usize,
    ) -> Result<(), GuitarsError> {
        self.change_confirmation(guitar, |document| {
            let at = document.push(&of("take")?)?;
            let (strums, date) = (strums.to_string(), today());
            let values = [("voice", voice), ("file", file), ("strums", &strums), ("date", &date)];
            values.into_iter().try_for_each(|(key, value)| document.set(&at.then(key), &value.into()))
        })
    }

    /// Takes the take of this number out of the record; its file stays.
    pub(crate) fn take_out_take(&self, guitar: &FolderName, number: usize) -> Result<(), GuitarsError> {
        self.change_confirmation(guitar, |document| document.remove(&of(&format!("take[{number}]"))?))
    }

    /// Lays the record beside those of before, so that a new one begins.
    pub(crate) fn begin_confirmation_anew(&self, guitar: &FolderName) -> Result<(), GuitarsError> {
        let _one = self.recording.lock().unwrap_or_else(PoisonError::into_inner);
        if self.confirmation(guitar)?.takes.is_empty() {
            return Ok(());
        }
        let folder = self.within(guitar, FOLDER)?;
        for (file, ending) in [(FILE, "toml"), (ANSWER, "json")] {
            let free = free_in(&folder, &format!("confirm-{}", today()), ending);
            match fs::rename(folder.join(file), &free) {
                Err(cause) if file == FILE || cause.kind() != io::ErrorKind::NotFound => {
                    let what = format!("what was recorded could not be laid aside as `{}`", free.display());
                    return Err(GuitarsError::System { what, cause });
                }
                Ok(()) | Err(_) => {}
            }
        }
        self.tell_of(guitar);
        Ok(())
    }

    /// Keeps what the takes told, with its day, beside the record.
    pub(crate) fn keep_answer(&self, guitar: &FolderName, told: &Told) -> Result<(), GuitarsError> {
        let called = self.with(guitar, |open| called(open.draft(), guitar))?;
        let kept = KeptConfirmation { date: today(), guitar: called, told: told.clone() };
        self.keep_record(guitar, ANSWER, &to_json(&kept))
    }

    fn change_confirmation(
        &self,
        guitar: &FolderName,
        change: impl FnOnce(&mut Document) -> Result<(), EditError>,
    ) -> Result<(), GuitarsError> {
        let _one = self.recording.lock().unwrap_or_else(PoisonError::into_inner);
        let mut document = self.record(guitar, FILE)?.unwrap_or_else(|| Document::new(FILE, HEAD));
        // What cannot be read is not written over.
        Confirmation::read(&document)?;
        let before = document.text().to_owned();
        change(&mut document)?;
        if document.text() == before { Ok(()) } else { self.keep_record(guitar, FILE, document.text()) }
    }
}

fn of(place: &str) -> Result<Place, EditError> {
    place.parse().map_err(|_| EditError::Missing { place: place.to_owned() })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn takes_are_added_in_their_order_and_taken_out_and_what_a_person_wrote_stays() {
        let root = tempfile::tempdir().unwrap();
        let guitars = Guitars::open(root.path().to_owned());
        let own = guitars.make("mine", "format = 1\n").unwrap();
        guitars.keep_voice(&own, "first", "mode:1").unwrap();
        for (voice, file) in [("mode:1", "a.wav"), ("mode:3", "b.wav"), ("mode:1", "c.wav")] {
            guitars.add_take_of(&own, voice, file, 4).unwrap();
        }
        let path = root.path().join("mine/readings/confirm.toml");
        let by_hand = fs::read_to_string(&path).unwrap().replace("\"c.wav\"", "\"c.wav\" # softer");
        fs::write(&path, by_hand).unwrap();
        guitars.take_out_take(&own, 1).unwrap();
        let kept = guitars.confirmation(&own).unwrap();
        let files: Vec<(&str, &str)> =
            kept.takes.iter().map(|take| (take.voice.as_str(), take.file.as_str())).collect();
        assert_eq!(files, [("mode:1", "a.wav"), ("mode:1", "c.wav")]);
        assert_eq!(kept.between, ["mode:1", ""]);
        assert!(fs::read_to_string(&path).unwrap().contains("# softer"));
        guitars.begin_confirmation_anew(&own).unwrap();
        assert_eq!(guitars.confirmation(&own).unwrap(), Confirmation::default());
        let names = fs::read_dir(root.path().join("mine/readings")).unwrap().count();
        assert_eq!(names, 1, "what was before is laid aside");
        fs::write(&path, "[[take]]\nvoice = \"mode:1\"\n").unwrap();
        assert!(guitars.confirmation(&own).unwrap_err().to_string().contains("`file`"));
        assert!(
            guitars.add_take_of(&own, "mode:1", "d.wav", 4).is_err(),
            "what cannot be read stays as it is"
        );
    }
}
