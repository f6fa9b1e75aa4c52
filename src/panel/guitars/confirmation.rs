//! What was recorded of a guitar after soldering: which voice each take of strums is of, in the order in which they were played, and
//! the take of single notes that ring while the switch is thrown.

use std::fs;
use std::io;
use std::sync::PoisonError;

use drywire::confirm::{Confirmation as Told, KeptConfirmation};
use drywire::document::{Document, EditError, Fault, Place, Section};
use drywire::report::to_json;

use super::proofs::today;
use super::records::FOLDER;
use super::{FolderName, Guitars, GuitarsError, called, free_in};

/// The record.
const FILE: &str = "confirm.toml";
/// What a new one begins with.
const HEAD: &str = "# What was recorded after soldering, in the order in which it was played; `drywire confirm` takes each as NAME=FILE.\n";
/// The key of the way to record, and what stands there where it is not strums.
const WAY: &str = "way";
const FLIPS: &str = "flips";

/// A way to record.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) enum Played {
    /// The same chord in both voices, by turns.
    #[default]
    Strums,
    /// Single notes that ring while the switch is thrown.
    Flips,
}

impl Played {
    /// Both of them.
    pub(crate) const ALL: [Self; 2] = [Self::Strums, Self::Flips];

    /// Returns what is kept of it.
    pub(crate) fn kept(self) -> &'static str {
        match self {
            Self::Strums => "",
            Self::Flips => FLIPS,
        }
    }

    /// Returns where what it told lies.
    fn answer(self) -> &'static str {
        match self {
            Self::Strums => "confirm.json",
            Self::Flips => "confirm-flips.json",
        }
    }
}

/// A take of single notes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct TakeOfFlips {
    /// Between which voices the switch was thrown, the first note beginning in the first.
    pub(crate) between: [String; 2],
    /// Its file in the guitar's folder.
    pub(crate) file: String,
    /// How many notes were heard in it, and how often the switch was thrown, where the record tells that.
    pub(crate) heard: Option<[usize; 2]>,
}

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
    /// How it is recorded.
    pub(crate) played: Played,
    /// In the order in which they were played.
    pub(crate) takes: Vec<TakeOf>,
    /// The one of single notes.
    pub(crate) flips: Option<TakeOfFlips>,
}

impl Confirmation {
    /// The keys of the two voices.
    pub(crate) const BETWEEN: [&str; 2] = ["first", "later"];
    /// The most takes of one session.
    const MOST: usize = 100;

    fn read(document: &Document) -> Result<Self, GuitarsError> {
        Ok(document.interpret(|top| {
            let between = Self::BETWEEN.map(|key| top.text(key).map(|text| text.value).unwrap_or_default());
            let played = match top.text(WAY) {
                None => Played::Strums,
                Some(text) if text.value == FLIPS => Played::Flips,
                Some(text) => {
                    let fault = Fault::new(
                        text.span,
                        format!("`{WAY}` is `{}`, which is no way to record", text.value),
                    );
                    top.note(fault.hint(format!("write {FLIPS}, or leave it out for strums")));
                    return None;
                }
            };
            let takes = top.tables("take", Self::MOST, take).into_iter().flatten().collect();
            Some(Self { between, played, takes, flips: top.table(FLIPS, flips).flatten() })
        })?)
    }
}

fn take(section: &mut Section<'_>) -> Option<TakeOf> {
    let [voice, file] =
        ["voice", "file"].map(|key| text(section, key, "a take has a voice, such as mode:1, and a file"));
    let strums = count(section, "strums");
    day(section);
    Some(TakeOf { voice: voice?, file: file?, strums })
}

fn flips(section: &mut Section<'_>) -> Option<TakeOfFlips> {
    let hint = "a take of single notes has a first and a later voice, such as mode:1 and mode:3, and a file";
    let [first, later, file] = ["first", "later", "file"].map(|key| text(section, key, hint));
    let [notes, throws] = ["notes", "throws"].map(|key| count(section, key));
    day(section);
    Some(TakeOfFlips { between: [first?, later?], file: file?, heard: notes.zip(throws).map(Into::into) })
}

fn text(section: &mut Section<'_>, key: &str, hint: &str) -> Option<String> {
    let text = section.text(key).map(|text| text.value);
    if text.is_none() && !section.has(key) {
        section.note_missing(key, hint);
    }
    text
}

fn count(section: &mut Section<'_>, key: &str) -> Option<usize> {
    section.text(key).and_then(|text| text.value.parse().ok())
}

/// Takes the day as read, which is for the person who reads the record.
fn day(section: &mut Section<'_>) {
    let _ = section.text("date");
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

    /// Keeps in which way it is recorded.
    pub(crate) fn keep_way(&self, guitar: &FolderName, way: Played) -> Result<(), GuitarsError> {
        self.change_confirmation(guitar, |document| match way {
            Played::Strums => document.remove(&of(WAY)?),
            Played::Flips => document.set(&of(WAY)?, &way.kept().into()),
        })
    }

    /// Keeps a take of single notes that lies in the guitar's folder, in the place of the one before, whose file stays.
    pub(crate) fn keep_flips(&self, guitar: &FolderName, take: &TakeOfFlips) -> Result<(), GuitarsError> {
        self.change_confirmation(guitar, |document| {
            document.remove(&of(FLIPS)?)?;
            let ([first, later], [notes, throws]) =
                (&take.between, take.heard.unwrap_or_default().map(|n| n.to_string()));
            let date = today();
            let values = [
                ("first", first),
                ("later", later),
                ("file", &take.file),
                ("notes", &notes),
                ("throws", &throws),
                ("date", &date),
            ];
            values
                .into_iter()
                .try_for_each(|(key, value)| document.set(&of(FLIPS)?.then(key), &value.as_str().into()))
        })
    }

    /// Takes the take of single notes out of the record; its file stays.
    pub(crate) fn take_out_flips(&self, guitar: &FolderName) -> Result<(), GuitarsError> {
        self.change_confirmation(guitar, |document| document.remove(&of(FLIPS)?))
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

    /// Lays the record beside those of before, so that a new one begins, which is recorded in the same way.
    pub(crate) fn begin_confirmation_anew(&self, guitar: &FolderName) -> Result<(), GuitarsError> {
        let played = {
            let _one = self.recording.lock().unwrap_or_else(PoisonError::into_inner);
            let kept = self.confirmation(guitar)?;
            if kept.takes.is_empty() && kept.flips.is_none() {
                return Ok(());
            }
            self.lay_confirmation_aside(guitar)?;
            kept.played
        };
        match played {
            Played::Strums => Ok(()),
            Played::Flips => self.keep_way(guitar, played),
        }
    }

    fn lay_confirmation_aside(&self, guitar: &FolderName) -> Result<(), GuitarsError> {
        let folder = self.within(guitar, FOLDER)?;
        let answers = Played::ALL.map(|played| (played.answer(), "json"));
        for (file, ending) in [(FILE, "toml")].into_iter().chain(answers) {
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

    /// Keeps what takes of this kind told, with its day, beside the record.
    pub(crate) fn keep_answer(
        &self,
        guitar: &FolderName,
        played: Played,
        told: &Told,
    ) -> Result<(), GuitarsError> {
        let called = self.with(guitar, |open| called(open.draft(), guitar))?;
        let kept = KeptConfirmation { date: today(), guitar: called, told: told.clone() };
        self.keep_record(guitar, played.answer(), &to_json(&kept))
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
    fn the_take_of_notes_stands_beside_those_of_strums_and_a_later_one_takes_its_place() {
        let root = tempfile::tempdir().unwrap();
        let guitars = Guitars::open(root.path().to_owned());
        let own = guitars.make("mine", "format = 1\n").unwrap();
        guitars.add_take_of(&own, "mode:1", "a.wav", 4).unwrap();
        let take = |file: &str| TakeOfFlips {
            between: ["mode:1", "mode:3"].map(str::to_owned),
            file: file.to_owned(),
            heard: Some([16, 79]),
        };
        guitars.keep_way(&own, Played::Flips).unwrap();
        for file in ["notes.wav", "again.wav"] {
            guitars.keep_flips(&own, &take(file)).unwrap();
        }
        let kept = guitars.confirmation(&own).unwrap();
        assert_eq!((kept.played, kept.takes.len(), kept.flips), (Played::Flips, 1, Some(take("again.wav"))));
        guitars.take_out_flips(&own).unwrap();
        guitars.keep_way(&own, Played::Strums).unwrap();
        let kept = guitars.confirmation(&own).unwrap();
        assert_eq!((kept.played, kept.takes.len(), kept.flips), (Played::Strums, 1, None));
        guitars.keep_flips(&own, &take("notes.wav")).unwrap();
        guitars.keep_way(&own, Played::Flips).unwrap();
        guitars.begin_confirmation_anew(&own).unwrap();
        let begun = Confirmation { played: Played::Flips, ..Confirmation::default() };
        assert_eq!(guitars.confirmation(&own).unwrap(), begun);
        for (text, words) in
            [("way = \"flip\"\n", "`way` is `flip`"), ("[flips]\nfile = \"a.wav\"\n", "`first`")]
        {
            fs::write(root.path().join("mine/readings/confirm.toml"), text).unwrap();
            let refused = guitars.confirmation(&own).unwrap_err().to_string();
            assert!(refused.contains(words), "{refused}");
        }
    }

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
