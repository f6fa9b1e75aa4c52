//! Readings at the jack as they are kept in a file, each with its date.

use crate::document::{Document, EditError, FileKind, Located, Place, Refusal, Section};

/// What a new file of readings begins with.
const HEAD: &str = "# What the meter read, tip to sleeve at the jack; each can be given as `drywire probe --read PLACE=READS`.\n";

/// A reading as it is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeptReading {
    /// Where it was taken, such as `selector:2+mode:1`, `selector:2+volume@0` or `tone.case`.
    pub place: String,
    /// What the meter showed, as it was typed.
    pub reads: String,
    /// The day, as YYYY-MM-DD; nothing where the file does not tell.
    pub date: Option<String>,
}

/// A file of readings: its text, in which one reading is changed at a time, and what it says.
#[derive(Debug, Clone)]
pub struct KeptReadings {
    document: Document,
    readings: Vec<KeptReading>,
}

impl KeptReadings {
    /// The most readings in a file.
    pub const MOST: usize = 1000;

    /// Returns a file without readings.
    pub fn new(name: &str) -> Self {
        Self { document: Document::new(name, HEAD), readings: Vec::new() }
    }

    /// Returns what `document` says.
    ///
    /// # Errors
    /// [`Refusal`] with every fault of it: a reading without its place or without what was read, unknown keys.
    pub fn read(document: &Document) -> Result<Self, Refusal> {
        let readings = document.interpret(|top| {
            (!top.is_of_another_kind(FileKind::Proof)).then(|| top.tables("reading", Self::MOST, reading))
        })?;
        Ok(Self { document: document.clone(), readings: readings.into_iter().flatten().collect() })
    }

    /// Returns the text.
    pub fn text(&self) -> &str {
        self.document.text()
    }

    /// Returns the readings, in the order of the file.
    pub fn readings(&self) -> &[KeptReading] {
        &self.readings
    }

    /// Returns what was read at `place`.
    pub fn at(&self, place: &str) -> Option<&KeptReading> {
        self.readings.iter().find(|reading| reading.place == place)
    }

    /// Keeps what was read at `place` on this day, in the place of what was read there before; nothing takes it out. All else in
    /// the file stays as it is.
    ///
    /// # Errors
    /// [`EditError`], and nothing is changed.
    pub fn keep(&mut self, place: &str, reads: &str, date: &str) -> Result<(), EditError> {
        let list: Place = "reading".parse().map_err(|_| missing())?;
        let entry = |entry: usize| format!("reading[{entry}]").parse::<Place>().map_err(|_| missing());
        let mut document = self.document.clone();
        let known = self.readings.iter().position(|reading| reading.place == place);
        match (known, reads) {
            (None, "") => return Ok(()),
            (Some(known), "") => document.remove(&entry(known)?)?,
            (known, reads) => {
                let at = match known {
                    Some(known) => entry(known)?,
                    None => document.push(&list)?,
                };
                for (key, value) in [("place", place), ("reads", reads), ("date", date)] {
                    document.set(&at.then(key), &value.into())?;
                }
            }
        }
        *self = Self::read(&document).map_err(|_| missing())?;
        Ok(())
    }
}

fn missing() -> EditError {
    EditError::Missing { place: "reading".to_owned() }
}

fn reading(section: &mut Section<'_>) -> Option<KeptReading> {
    let mut text = |key: &str, hint: &str| match section.text(key) {
        None if !section.has(key) => {
            section.note_missing(key, hint);
            None
        }
        text => text.map(|text| text.value),
    };
    let place = text("place", "say where it was read, as in place = \"selector:2\"");
    let reads = text("reads", "say what the meter showed, as in reads = \"7.9k\"");
    let date = section.text("date").map(|Located { value, .. }| value);
    Some(KeptReading { place: place?, reads: reads?, date })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> KeptReadings {
        KeptReadings::read(&Document::new("proof.toml", text)).unwrap()
    }

    #[test]
    fn a_reading_is_kept_changed_and_taken_out_and_all_else_stays() {
        let mut kept = KeptReadings::new("proof.toml");
        kept.keep("selector:1", "7.9k", "2026-11-27").unwrap();
        kept.keep("selector:2+volume@0", "0", "2026-11-27").unwrap();
        let by_hand = kept
            .text()
            .replace("[[reading]]\nplace = \"selector:2", "# warm\n[[reading]]\nplace = \"selector:2");
        let mut kept = read(&by_hand);
        kept.keep("selector:1", "8,1k", "2026-11-28").unwrap();
        assert_eq!(
            kept.text(),
            by_hand.replace("\"7.9k\"\ndate = \"2026-11-27\"", "\"8,1k\"\ndate = \"2026-11-28\"")
        );
        assert_eq!(kept.at("selector:1").unwrap().reads, "8,1k");
        kept.keep("selector:1", "", "2026-11-28").unwrap();
        kept.keep("never read", "", "2026-11-28").unwrap();
        assert_eq!(kept.readings().len(), 1);
        assert!(kept.text().contains("# warm") && kept.at("selector:1").is_none(), "{}", kept.text());
        // What is read back from the text is the same.
        assert_eq!(read(kept.text()).readings(), kept.readings());
    }

    #[test]
    fn a_file_with_faults_is_refused_with_all_of_them() {
        let text = "[[reading]]\nplace = \"selector:1\"\n[[reading]]\nreads = \"7k\"\nohms = 3\n";
        let refusal = KeptReadings::read(&Document::new("proof.toml", text)).unwrap_err();
        let told = refusal.shown(false);
        for part in ["`reads`", "`place`", "`ohms`"] {
            assert!(told.contains(part), "{part}: {told}");
        }
        let other =
            KeptReadings::read(&Document::new("proof.toml", "[cable]\nlength = \"3 m\"\n")).unwrap_err();
        assert!(other.shown(false).contains("a guitar's file"), "{}", other.shown(false));
    }
}
