//! A pickup's leads and all that was read on them.

use super::reading::{Bobbin, Conductor, OhmmeterReading, Reading, Swing};
use super::word::{Word, WordError};
use crate::document::nearest;
use crate::guitar::Pole;

/// The leads of a pickup on the bench, its coils' names and the readings taken, none of which is impossible in
/// itself; whether they agree is for [`identify`](super::identify) to say.
#[derive(Debug, Clone, Default)]
pub struct Readings {
    pub(super) leads: Vec<Word>,
    pub(super) shield: Option<Word>,
    pub(super) bobbins: Vec<Word>,
    pub(super) one_coil: bool,
    pub(super) entries: Vec<Entry>,
    pub(super) charts: Vec<ChartNames>,
}

/// A reading, and the line of the file that states it where there is a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// The reading.
    pub reading: Reading,
    /// The line, counted from one.
    pub line: Option<usize>,
}

/// What a maker's chart calls one coil's leads, by the order of winding.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChartNames {
    /// The lead at which the winder began.
    pub start: String,
    /// The lead at which the winder ended.
    pub finish: String,
}

/// Why a lead, a coil or a reading is not possible.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ReadingError {
    /// A name cannot be shown.
    #[error(transparent)]
    Word(#[from] WordError),
    /// Two leads have one name, or a lead the shield's.
    #[error("a second lead is called `{given}`")]
    NamedTwice {
        /// The name.
        given: String,
    },
    /// There are more leads than a pickup has.
    #[error("`{given}` is lead number {}; allowed are 1 to {}", Readings::MAX_LEADS + 1, Readings::MAX_LEADS)]
    TooManyLeads {
        /// The first lead too many.
        given: String,
    },
    /// A reading names a lead that the pickup does not have.
    #[error("there is no lead `{}`; the leads are {leads}", given.escape_debug())]
    UnknownLead {
        /// The name.
        given: String,
        /// The leads that there are.
        leads: String,
        /// The one that may have been meant.
        nearest: Option<String>,
    },
    /// A reading is between a lead and itself.
    #[error("both probes are on `{given}`")]
    SameLead {
        /// The lead.
        given: String,
    },
    /// A coil has a name that neither coil has.
    #[error("`{given}` would be one coil more than there are: {known}")]
    OneCoilTooMany {
        /// The name.
        given: String,
        /// The coils that there are.
        known: String,
    },
    /// There are too few wires for two coils.
    #[error("two coils have three ends or more to tell apart, and {given} are named")]
    TooFewForTwo {
        /// How many wires there are.
        given: usize,
    },
    /// There are more readings than anyone takes.
    #[error("more than {} readings", Readings::MAX_READINGS)]
    TooManyReadings,
}

impl ReadingError {
    /// Returns what to do about it.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::Word(_) => Some("shorten it, or write it in plain letters".to_owned()),
            Self::NamedTwice { .. } => {
                Some("tell the two apart, such as \"black\" and \"black, thin\"".to_owned())
            }
            Self::TooManyLeads { .. } => Some("identify one pickup at a time".to_owned()),
            Self::UnknownLead { nearest, .. } => nearest.as_ref().map(|n| format!("did you mean `{n}`?")),
            Self::SameLead { .. } => Some("a reading needs two different leads".to_owned()),
            Self::OneCoilTooMany { .. } => Some("call each coil by one name throughout".to_owned()),
            Self::TooFewForTwo { .. } => Some(
                "name every lead, also those that end under the cover; or name one coil, and both are taken as the one that \
                 they are as they are soldered"
                    .to_owned(),
            ),
            Self::TooManyReadings => Some("leave out repeated readings".to_owned()),
        }
    }
}

impl Readings {
    /// The most leads that one pickup's cable has.
    pub const MAX_LEADS: usize = 8;
    /// The most readings; eight leads and a shield have 36 pairs and 112 taps.
    pub const MAX_READINGS: usize = 200;

    /// Adds a lead.
    ///
    /// # Errors
    /// [`ReadingError`] where its name is taken or it is one too many.
    pub fn add_lead(&mut self, name: Word) -> Result<Conductor, ReadingError> {
        if self.conductors().any(|known| known.is_like(name.as_str())) {
            return Err(ReadingError::NamedTwice { given: name.to_string() });
        }
        if self.leads.len() == Self::MAX_LEADS {
            return Err(ReadingError::TooManyLeads { given: name.to_string() });
        }
        self.leads.push(name);
        Ok(Conductor(index_u8(self.leads.len() - 1)))
    }

    /// Sets what the shield is called; the leads must all have been added before.
    ///
    /// # Errors
    /// [`ReadingError::NamedTwice`] where a lead has that name.
    pub fn set_shield(&mut self, name: Word) -> Result<(), ReadingError> {
        if self.leads.iter().any(|known| known.is_like(name.as_str())) {
            return Err(ReadingError::NamedTwice { given: name.to_string() });
        }
        self.shield = Some(name);
        Ok(())
    }

    /// States that the pickup has one coil only.
    ///
    /// # Errors
    /// [`ReadingError::OneCoilTooMany`] where two coils have been named.
    pub fn set_one_coil(&mut self) -> Result<(), ReadingError> {
        if let [first, second, ..] = self.bobbins.as_slice() {
            return Err(ReadingError::OneCoilTooMany {
                given: second.to_string(),
                known: format!("`{first}`"),
            });
        }
        self.one_coil = true;
        Ok(())
    }

    /// Returns the coil of that name, which is a new one where fewer than two have been named.
    ///
    /// # Errors
    /// [`ReadingError`] where the name cannot be shown or would be one coil too many.
    pub fn bobbin(&mut self, name: &str) -> Result<Bobbin, ReadingError> {
        if let Some(at) = self.bobbins.iter().position(|known| known.is_like(name)) {
            return Ok(Bobbin::BOTH[at]);
        }
        let name = Word::new(name)?;
        if self.bobbins.len() == self.coil_count() {
            let known: Vec<String> = self.bobbins.iter().map(|b| format!("`{b}`")).collect();
            return Err(ReadingError::OneCoilTooMany { given: name.to_string(), known: known.join(", ") });
        }
        self.bobbins.push(name);
        Ok(Bobbin::BOTH[self.bobbins.len() - 1])
    }

    /// Returns the lead, or the shield, of that name.
    ///
    /// # Errors
    /// [`ReadingError::UnknownLead`] with the nearest known one.
    pub fn conductor(&self, name: &str) -> Result<Conductor, ReadingError> {
        if let Some(at) = self.conductors().position(|known| known.is_like(name)) {
            return Ok(Conductor(index_u8(at)));
        }
        let names: Vec<&str> = self.conductors().map(Word::as_str).collect();
        Err(ReadingError::UnknownLead {
            given: name.chars().take(2 * Word::LONGEST).collect(),
            leads: names.join(", "),
            nearest: nearest(name, names).map(str::to_owned),
        })
    }

    /// Adds a resistance reading.
    ///
    /// # Errors
    /// [`ReadingError`] where both conductors are one, or there are too many readings.
    pub fn add_ohms(
        &mut self,
        between: [Conductor; 2],
        reads: OhmmeterReading,
        line: Option<usize>,
    ) -> Result<(), ReadingError> {
        self.differ(between)?;
        self.push(Reading::Ohms { between, reads }, line)
    }

    /// Adds a tap reading.
    ///
    /// # Errors
    /// [`ReadingError`] where both conductors are one, or there are too many readings.
    pub fn add_tap(
        &mut self,
        coil: Bobbin,
        [red, black]: [Conductor; 2],
        swing: Swing,
        line: Option<usize>,
    ) -> Result<(), ReadingError> {
        self.differ([red, black])?;
        self.push(Reading::Tap { coil, red, black, swing }, line)
    }

    /// Adds a compass reading.
    ///
    /// # Errors
    /// [`ReadingError::TooManyReadings`].
    pub fn add_compass(
        &mut self,
        coil: Bobbin,
        top_pole: Pole,
        line: Option<usize>,
    ) -> Result<(), ReadingError> {
        self.push(Reading::Compass { coil, top_pole }, line)
    }

    /// Adds what a maker's chart calls one coil's leads.
    ///
    /// # Errors
    /// [`ReadingError`] where a lead is unknown, or both are one.
    pub fn add_chart(&mut self, start: &str, finish: &str) -> Result<(), ReadingError> {
        let ends = [self.conductor(start)?, self.conductor(finish)?];
        self.differ(ends)?;
        let [start, finish] = ends.map(|end| self.name(end).to_owned());
        self.charts.push(ChartNames { start, finish });
        Ok(())
    }

    /// Returns the readings, where there are wires enough to tell its coils apart.
    ///
    /// # Errors
    /// [`ReadingError::TooFewForTwo`].
    pub fn enough(self) -> Result<Self, ReadingError> {
        let given = self.conductors().count();
        if self.coil_count() > 1 && given < 3 { Err(ReadingError::TooFewForTwo { given }) } else { Ok(self) }
    }

    /// Returns whether the last reading says what one before it says already, between the same wires. A compass is not meant,
    /// which is read twice to be sure of it.
    pub fn last_is_repeated(&self) -> bool {
        self.entries
            .split_last()
            .is_some_and(|(last, before)| before.iter().any(|entry| entry.reading.repeats(&last.reading)))
    }

    /// Takes back the reading at `index`, where there is one.
    pub fn take_back(&mut self, index: usize) {
        if index < self.entries.len() {
            self.entries.remove(index);
        }
    }

    /// Forgets which lines of a file state the readings, for those who do not see the file.
    pub fn forget_lines(&mut self) {
        self.entries.iter_mut().for_each(|entry| entry.line = None);
    }

    /// Takes back every resistance and tap, as after something was unsoldered; what a compass said stays.
    pub(super) fn take_back_all_but_the_compass(&mut self) {
        self.entries.retain(|e| matches!(e.reading, Reading::Compass { .. }));
    }

    /// Returns the readings in the order in which they were added.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// Returns the leads, without the shield.
    pub fn leads(&self) -> &[Word] {
        &self.leads
    }

    /// Returns the shield's name, where there is one.
    pub fn shield(&self) -> Option<&Word> {
        self.shield.as_ref()
    }

    /// Returns the name of `conductor`.
    pub fn name(&self, conductor: Conductor) -> &str {
        self.leads.get(conductor.index()).or(self.shield.as_ref()).map_or("", Word::as_str)
    }

    /// Returns the name of `bobbin`, where it has been named.
    pub fn bobbin_name(&self, bobbin: Bobbin) -> Option<&str> {
        self.bobbins.get(bobbin.index()).map(Word::as_str)
    }

    /// Returns the number of coils that the pickup may have.
    pub fn coil_count(&self) -> usize {
        if self.one_coil { 1 } else { 2 }
    }

    /// Returns the leads, then the shield where there is one.
    pub(super) fn conductors(&self) -> impl Iterator<Item = &Word> {
        self.leads.iter().chain(&self.shield)
    }

    pub(super) fn differ(&self, [one, other]: [Conductor; 2]) -> Result<(), ReadingError> {
        if one == other { Err(ReadingError::SameLead { given: self.name(one).to_owned() }) } else { Ok(()) }
    }

    fn push(&mut self, reading: Reading, line: Option<usize>) -> Result<(), ReadingError> {
        if self.entries.len() == Self::MAX_READINGS {
            return Err(ReadingError::TooManyReadings);
        }
        self.entries.push(Entry { reading, line });
        Ok(())
    }
}

/// The number of conductors is bounded by [`Readings::MAX_LEADS`] and one shield.
fn index_u8(index: usize) -> u8 {
    u8::try_from(index).unwrap_or(u8::MAX)
}
