//! A guitar's file while it is being written: whatever it says, right or wrong.

mod pickup;
#[cfg(test)]
mod tests;

use super::keys::{GUITAR, Kind};
use super::{Guitar, Preset};
use crate::document::{Document, EditError, Fault, Literal, Place, PlaceError, Refusal, nearest};

/// A guitar's file that is edited value by value.
///
/// It is the text itself: a change replaces the bytes of one value, and comments, order and formatting of all else stay
/// as they are, unknown keys of later versions among them. A draft may be wrong, even no TOML; [`Draft::faults`] tells
/// all that is, and [`Draft::check`] makes a guitar of one without faults.
///
/// ```
/// use drywire::document::Document;
/// use drywire::guitar::Draft;
///
/// let text = "format = 1 # always\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\"\n";
/// let mut draft = Draft::of(Document::new("mine.toml", text));
/// draft.set("pickup[0].coil_a.resistance", "3,61k")?;
/// let guitar = draft.check().expect("nothing is wrong with it");
/// assert_eq!(guitar.pickups()[0].coil_a().resistance().value(), 3610.0);
/// assert_eq!(draft.text(), format!("{text}[pickup.coil_a]\nresistance = \"3,61k\"\n"));
/// # Ok::<(), drywire::guitar::DraftError>(())
/// ```
#[derive(Debug, Clone)]
pub struct Draft {
    document: Document,
}

/// Why a draft was not changed; it is as before.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum DraftError {
    /// The text is no place.
    #[error(transparent)]
    Place(#[from] PlaceError),
    /// A guitar's file has no such key.
    #[error("a guitar's file has no `{given}`")]
    Unknown {
        /// The place as given.
        given: String,
        /// What was probably meant, of the keys of that table.
        nearest: Option<&'static str>,
    },
    /// A number is not finite, which no file can state.
    #[error("`{place}` is to be a number that is not finite")]
    NotFinite {
        /// The place asked for.
        place: String,
    },
    /// The text cannot be changed there.
    #[error(transparent)]
    Edit(#[from] EditError),
}

impl DraftError {
    /// Returns what to do about it.
    pub fn hint(&self) -> String {
        match self {
            Self::Place(_) => "name the tables on the way, with a list's entries numbered from 0".to_owned(),
            Self::Unknown { nearest: Some(near), .. } => format!("did you mean `{near}`?"),
            Self::Unknown { nearest: None, .. } => "`drywire presets` copies out examples".to_owned(),
            Self::NotFinite { .. } => "state a number".to_owned(),
            Self::Edit(error) => error.hint().to_owned(),
        }
    }
}

impl Draft {
    /// Returns the draft that `document` is, right or wrong.
    pub const fn of(document: Document) -> Self {
        Self { document }
    }

    /// Returns a draft of the built-in guitar `preset`.
    pub fn copy_of(preset: &Preset) -> Self {
        Self::of(preset.document())
    }

    /// Returns the text as it stands.
    pub fn text(&self) -> &str {
        self.document.text()
    }

    /// Returns the document as it stands.
    pub const fn document(&self) -> &Document {
        &self.document
    }

    /// Returns the guitar that the draft describes.
    ///
    /// # Errors
    /// [`Refusal`] with every fault.
    pub fn check(&self) -> Result<Guitar, Refusal> {
        Guitar::read(&self.document)
    }

    /// Returns all that is wrong, each with its place in the text.
    pub fn faults(&self) -> Vec<Fault> {
        self.check().err().map_or_else(Vec::new, |refusal| refusal.faults().to_vec())
    }

    /// Returns what the file states at `place`: a text without its quotes, all else as it is written.
    ///
    /// # Errors
    /// [`DraftError`] where no guitar's file has such a place.
    pub fn get(&self, place: &str) -> Result<Option<String>, DraftError> {
        Ok(self.document.written_at(&known(place)?))
    }

    /// Returns how many tables stand in the list of tables at `place`, such as `pickup`.
    ///
    /// # Errors
    /// [`DraftError`] where no guitar's file has such a place.
    pub fn count(&self, place: &str) -> Result<usize, DraftError> {
        Ok(self.document.count_at(&known(place)?))
    }

    /// Returns the names of the pickups as they are stated, empty where one is not.
    pub fn pickup_names(&self) -> Vec<String> {
        let stated = self.document.stated();
        let count = known("pickup").map_or(0, |list| stated.count_at(&list));
        let name =
            |i: usize| known(&format!("pickup[{i}].name")).ok().and_then(|place| stated.written_at(&place));
        (0..count).map(|i| name(i).unwrap_or_default()).collect()
    }

    /// States `value` at `place`, such as `pickup[0].coil_a.resistance`, whether it is right or wrong; a table that is not
    /// there yet is added.
    ///
    /// # Errors
    /// [`DraftError`], and the draft is as before.
    pub fn set(&mut self, place: &str, value: impl Into<Literal>) -> Result<(), DraftError> {
        let (place, value) = (known(place)?, value.into());
        let is_finite = match &value {
            Literal::Number(number) => number.is_finite(),
            Literal::Numbers(numbers) => numbers.iter().all(|number| number.is_finite()),
            Literal::Text(_) | Literal::Texts(_) | Literal::TextLists(_) | Literal::AsWritten(_) => true,
        };
        if !is_finite {
            return Err(DraftError::NotFinite { place: place.to_string() });
        }
        let is_table = |kind| matches!(kind, Kind::Table(_) | Kind::Tables(..));
        if GUITAR.key_at(&place).is_some_and(|key| is_table(key.kind)) {
            return Err(EditError::Table { place: place.to_string() }.into());
        }
        Ok(self.document.set(&place, &value)?)
    }

    /// States that the table at `place`, one without values in it, is there.
    ///
    /// # Errors
    /// [`DraftError`], and the draft is as before.
    pub fn set_empty(&mut self, place: &str) -> Result<(), DraftError> {
        let place = known(place)?;
        match GUITAR.key_at(&place).map(|key| key.kind) {
            Some(Kind::Table(_)) => Ok(self.document.add_table(&place)?),
            Some(_) | None => Err(EditError::NotInPlace { place: place.to_string() }.into()),
        }
    }

    /// Takes what stands at `place` out of the file: a value, a table, or an entry of a list of tables.
    ///
    /// # Errors
    /// [`DraftError`], and the draft is as before.
    pub fn remove(&mut self, place: &str) -> Result<(), DraftError> {
        Ok(self.document.remove(&known(place)?)?)
    }

    /// Adds a table to the list of tables at `place`, such as `switch`, and returns its place.
    ///
    /// # Errors
    /// [`DraftError`], and the draft is as before.
    pub fn add(&mut self, place: &str) -> Result<Place, DraftError> {
        let place = known(place)?;
        match GUITAR.key_at(&place).map(|key| key.kind) {
            Some(Kind::Tables(..)) => Ok(self.document.push(&place)?),
            Some(_) | None => Err(EditError::NotInPlace { place: place.to_string() }.into()),
        }
    }
}

/// Returns `text` as a place that a guitar's file may have.
fn known(text: &str) -> Result<Place, DraftError> {
    let place: Place = text.parse()?;
    if GUITAR.key_at(&place).is_some() {
        return Ok(place);
    }
    let wrong = place.steps().last().map_or("", |step| step.key.as_str());
    let table = text.rsplit_once('.').and_then(|(table, _)| GUITAR.key_at(&table.parse().ok()?));
    let keys = match table.map(|key| key.kind) {
        None => GUITAR.keys,
        Some(Kind::Table(table) | Kind::Tables(table, _)) => table.keys,
        Some(_) => &[],
    };
    let nearest = nearest(wrong, keys.iter().map(|key| key.name));
    let nearest = nearest.and_then(|near| keys.iter().find(|key| key.name == near)).map(|key| key.name);
    Err(DraftError::Unknown { given: text.to_owned(), nearest })
}
