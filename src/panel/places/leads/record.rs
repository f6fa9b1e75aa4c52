//! A pickup's readings where they are kept, and what is done with them there.

use drywire::document::{Document, Fault, nearest};
use drywire::leads::{OhmmeterReading, ReadingError, Readings, Swing, Word, pole_called};
use serde::Deserialize;

use super::super::guitar::Trouble;
use super::super::prove::asked_of_ohms;
use crate::panel::guitars::{FolderName, Guitars, Shelf};
use crate::panel::view::Doubted;

/// What the coils are called unless they have names: as the pickup lies before one.
pub(super) const COILS: &str = "near, far";

/// What a pickup's readings begin with.
#[derive(Debug, Deserialize)]
pub(in super::super) struct Begun {
    leads: String,
    shield: String,
    coils: String,
}

/// A reading as it was typed; what its kind does not have is empty.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(in super::super) struct Read {
    kind: String,
    one: String,
    other: String,
    coil: String,
    reads: String,
    /// Said where the meter shows no resistance at all, whatever was typed.
    open: String,
    /// What was meant by what was typed, where that was asked.
    meant: String,
    /// The identifier of the field where it was typed.
    field: String,
}

/// Where a pickup's readings stand.
pub(super) struct Record<'r> {
    pub(super) guitars: &'r Guitars,
    pub(super) shelf: Shelf<'r>,
    /// The pickup's name.
    pub(super) pickup: &'r str,
}

impl Record<'_> {
    /// Returns the name of the readings' file.
    pub(super) fn name(&self) -> String {
        format!("leads-{}.toml", self.pickup)
    }

    /// Returns the path of the file as it is shown.
    pub(super) fn shown_path(&self) -> String {
        let path = self.guitars.record_path(self.shelf, &self.name());
        path.map_or_else(|_| self.name(), |path| path.display().to_string())
    }

    /// Returns the readings, where any were begun.
    pub(super) fn readings(&self) -> Result<Option<(Document, Readings)>, Trouble> {
        if FolderName::new(self.pickup).is_none() {
            return Err(Trouble::new("the pickup has no name", "name it first"));
        }
        let Some(document) = self.guitars.record(self.shelf, &self.name())? else { return Ok(None) };
        let mut readings = Readings::read(&document).map_err(|refusal| {
            let faults = refusal.faults().iter().map(Fault::told);
            let faults = faults.collect::<Vec<_>>().join("; ");
            Trouble::new(
                format!("`{}` has faults: {faults}", self.shown_path()),
                "mend the file, or begin anew",
            )
        })?;
        readings.forget_lines();
        Ok(Some((document, readings)))
    }

    pub(super) fn begun(&self) -> Result<(Document, Readings), Trouble> {
        self.readings()?.ok_or_else(|| Trouble::new("no lead is named yet", "name the leads first"))
    }

    /// Names the leads and coils.
    pub(super) fn begin(&self, begun: &Begun) -> Result<(), Trouble> {
        if self.readings()?.is_some() {
            return Err(Trouble::new("the leads are named already", "begin anew to name others"));
        }
        self.keep(&named(begun)?.to_toml())
    }

    /// Adds a reading.
    pub(super) fn add(&self, read: &Read) -> Result<(), Trouble> {
        let (document, mut readings) = self.begun()?;
        add(&mut readings, read)?;
        if readings.last_is_repeated() {
            return Err(Trouble::new(
                "that reading is in the list already",
                "where you doubt it, take that one back and take it again",
            ));
        }
        let mut text = document.text().to_owned();
        if !text.is_empty() && !text.ends_with('\n') {
            text.push('\n');
        }
        text += "\n";
        text += &readings.block(readings.entries().len() - 1);
        self.keep(&text)
    }

    /// Takes a reading back.
    pub(super) fn take_back(&self, index: usize) -> Result<(), Trouble> {
        let (mut document, readings) = self.begun()?;
        let place = readings.place(index).and_then(|place| place.parse().ok());
        let place =
            place.ok_or_else(|| Trouble::new("that reading was taken back already", "look at the list"))?;
        document.remove(&place).map_err(|error| Trouble::new(error.to_string(), error.hint()))?;
        self.keep(document.text())
    }

    /// Puts the readings into the system's bin.
    pub(super) fn begin_anew(&self) -> Result<(), Trouble> {
        Ok(self.guitars.remove_record(self.shelf, &self.name())?)
    }

    fn keep(&self, text: &str) -> Result<(), Trouble> {
        Ok(self.guitars.keep_record(self.shelf, &self.name(), text)?)
    }
}

impl From<ReadingError> for Trouble {
    fn from(error: ReadingError) -> Self {
        Self::new(error.to_string(), error.hint().unwrap_or_default())
    }
}

/// Returns readings of a pickup of which nothing is known but what its leads and coils are called.
fn named(Begun { leads, shield, coils }: &Begun) -> Result<Readings, Trouble> {
    let mut readings = Readings::default();
    let word =
        |text: &str| Word::new(text).map_err(|error| Trouble::new(error.to_string(), "call it otherwise"));
    for lead in leads.split(',').map(str::trim).filter(|lead| !lead.is_empty()) {
        readings.add_lead(word(lead)?)?;
    }
    if !shield.trim().is_empty() {
        readings.set_shield(word(shield.trim())?)?;
    }
    if readings.leads().len() + usize::from(readings.shield().is_some()) < 2 {
        return Err(Trouble::new(
            "there is nothing to measure between",
            "name two leads or more, with commas between them, such as white, grey, red, blue",
        ));
    }
    let coils = if coils.trim().is_empty() { COILS } else { coils };
    let coils: Vec<&str> = coils.split(',').map(str::trim).filter(|coil| !coil.is_empty()).collect();
    for coil in &coils {
        readings.bobbin(coil)?;
    }
    if coils.len() == 1 {
        readings.set_one_coil()?;
    }
    Ok(readings.enough()?)
}

/// Returns what is asked of ohms that are not clear.
fn doubted(read: &Read, shown: &str) -> Trouble {
    match asked_of_ohms(&read.field, shown) {
        Some(asked) => {
            Trouble::Reading(Box::new(Doubted { asked, between: [read.one.clone(), read.other.clone()] }))
        }
        None => Trouble::new(format!("`{shown}` is no reading"), "write it with its unit, or open"),
    }
}

/// Adds what was typed to the readings.
fn add(readings: &mut Readings, read: &Read) -> Result<(), Trouble> {
    let lead = |name: &str| readings.conductor(name);
    match read.kind.as_str() {
        "ohms" => {
            let between = [lead(&read.one)?, lead(&read.other)?];
            let shown = match (read.open.is_empty(), read.meant.is_empty()) {
                (false, _) => "open",
                (true, false) => &read.meant,
                (true, true) => &read.reads,
            };
            let reads = OhmmeterReading::parse(shown).map_err(|_| doubted(read, shown))?;
            Ok(readings.add_ohms(between, reads, None)?)
        }
        "tap" => {
            let probes = [lead(&read.one)?, lead(&read.other)?];
            let swing = Swing::called(&read.reads).ok_or_else(|| {
                Trouble::new(format!("`{}` is no swing", read.reads), "choose +, − or none")
            })?;
            let coil = readings.bobbin(&read.coil)?;
            Ok(readings.add_tap(coil, probes, swing, None)?)
        }
        "compass" => {
            let pole = pole_called(&read.reads).ok_or_else(|| {
                Trouble::new(format!("`{}` is no pole", read.reads), "choose north or south")
            })?;
            let coil = readings.bobbin(&read.coil)?;
            Ok(readings.add_compass(coil, pole, None)?)
        }
        other => {
            let known = nearest(other, ["ohms", "tap", "compass"]).unwrap_or("ohms");
            Err(Trouble::new(format!("`{other}` is no reading"), format!("did you mean `{known}`?")))
        }
    }
}
