//! Which lead of a pickup is which, one reading after the other.
//!
//! The readings stand in the guitar's folder as a readings file, one a pickup, which `drywire leads` reads as well: what is
//! added goes to its end, what is taken back is taken out of it, and all else in it stays as it is.

mod page;

use axum::Form;
use axum::extract::{Path, Query, State};
use axum::response::Response;
use drywire::document::{Document, Fault, nearest};
use drywire::guitar::Draft;
use drywire::leads::{OhmmeterReading, Readings, SaveError, Swing, Word, identify, pole_called};
use serde::Deserialize;
use tokio::task::block_in_place;

use super::guitar::{OfGuitar, Trouble, change_with, work};
use super::reply::folder;
use super::shown::Shown;
use crate::panel::guitars::{FolderName, Guitars};

pub(super) use page::leads_views;

/// What the coils are called unless they have names: as the pickup lies before one.
const COILS: &str = "near, far";

/// What a pickup's readings begin with.
#[derive(Debug, Deserialize)]
pub(super) struct Begun {
    leads: String,
    shield: String,
    coils: String,
}

/// A reading as it was typed; what its kind does not have is empty.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Read {
    kind: String,
    one: String,
    other: String,
    coil: String,
    reads: String,
    /// Said where the meter shows no resistance at all, whatever was typed.
    open: String,
}

/// Which reading.
#[derive(Debug, Deserialize)]
pub(super) struct Which {
    index: usize,
}

/// Names a pickup's leads and coils.
pub(super) async fn begin(of: OfGuitar, Form(begun): Form<Begun>) -> Response {
    at_record(&of, |record| {
        if record.readings()?.is_some() {
            return Err(Trouble::new("the leads are named already", "begin anew to name others"));
        }
        record.keep(&named(&begun)?.to_toml())
    })
}

/// Adds a reading.
pub(super) async fn read(of: OfGuitar, Form(read): Form<Read>) -> Response {
    at_record(&of, |record| {
        let (document, mut readings) = record.begun()?;
        add(&mut readings, &read)?;
        let mut text = document.text().to_owned();
        if !text.is_empty() && !text.ends_with('\n') {
            text.push('\n');
        }
        text += "\n";
        text += &readings.block(readings.entries().len() - 1);
        record.keep(&text)
    })
}

/// Takes a reading back.
pub(super) async fn take_back(of: OfGuitar, Form(Which { index }): Form<Which>) -> Response {
    at_record(&of, |record| {
        let (mut document, readings) = record.begun()?;
        let place = readings.place(index).and_then(|place| place.parse().ok());
        let place =
            place.ok_or_else(|| Trouble::new("that reading was taken back already", "look at the list"))?;
        document.remove(&place).map_err(|error| Trouble::new(error.to_string(), error.hint()))?;
        record.keep(document.text())
    })
}

/// Begins a pickup anew; what was read goes into the system's bin.
pub(super) async fn begin_anew(of: OfGuitar) -> Response {
    at_record(&of, |record| Ok(record.guitars.remove_record(record.guitar, &record.name())?))
}

/// Puts what was found into the guitar's file.
pub(super) async fn put(of: OfGuitar) -> Response {
    let (_, State(panel), Path(given), Query(shown)) = &of;
    change_with(&of, |_, mut draft| {
        let pickup = pickup_of(&draft, shown);
        let guitar = folder(given)?;
        let record = Record { guitars: &panel.guitars, guitar: &guitar, pickup: &pickup };
        let (_, readings) = record.begun()?;
        identify(&readings)
            .put_into(&mut draft, Some(&pickup))
            .map_err(|error| Trouble::new(error.to_string(), hint_of(&error)))?;
        Ok((format!("the leads of {pickup}"), draft))
    })
}

fn hint_of(error: &SaveError) -> String {
    match error {
        SaveError::Uncertain => "take the readings that are asked for first".to_owned(),
        SaveError::NoPickup { .. } | SaveError::WhichPickup { .. } => {
            "choose the pickup that was measured".to_owned()
        }
        SaveError::Draft(error) => error.hint(),
    }
}

/// Does something with a pickup's readings and answers with the page.
fn at_record(of: &OfGuitar, change: impl FnOnce(&Record<'_>) -> Result<(), Trouble>) -> Response {
    let (_, State(panel), Path(given), Query(shown)) = of;
    let done = block_in_place(|| {
        let guitar = folder(given)?;
        let pickup = panel.guitars.with(&guitar, |open| pickup_of(open.draft(), shown))?;
        change(&Record { guitars: &panel.guitars, guitar: &guitar, pickup: &pickup })
    });
    work(of, |_| done.err())
}

/// Returns the pickup that is meant: the one that is shown, or the first.
fn pickup_of(draft: &Draft, shown: &Shown) -> String {
    let mut names = draft.pickup_names();
    let at = names.iter().position(|name| *name == shown.heard).unwrap_or(0);
    if names.is_empty() { String::new() } else { names.swap_remove(at) }
}

/// Where a pickup's readings stand.
struct Record<'r> {
    guitars: &'r Guitars,
    guitar: &'r FolderName,
    pickup: &'r str,
}

impl Record<'_> {
    fn name(&self) -> String {
        format!("leads-{}.toml", self.pickup)
    }

    /// Returns the readings, where any were begun.
    fn readings(&self) -> Result<Option<(Document, Readings)>, Trouble> {
        if FolderName::new(self.pickup).is_none() {
            return Err(Trouble::new("the pickup has no name", "name it first"));
        }
        let Some(document) = self.guitars.record(self.guitar, &self.name())? else { return Ok(None) };
        let mut readings = Readings::read(&document).map_err(|refusal| {
            let faults = refusal.faults().iter().map(Fault::told);
            let faults = faults.collect::<Vec<_>>().join("; ");
            let path = self.guitars.record_path(self.guitar, &self.name());
            let path = path.map_or_else(|_| self.name(), |path| path.display().to_string());
            Trouble::new(format!("`{path}` has faults: {faults}"), "mend the file, or begin anew")
        })?;
        readings.forget_lines();
        Ok(Some((document, readings)))
    }

    fn begun(&self) -> Result<(Document, Readings), Trouble> {
        self.readings()?.ok_or_else(|| Trouble::new("no lead is named yet", "name the leads first"))
    }

    fn keep(&self, text: &str) -> Result<(), Trouble> {
        Ok(self.guitars.keep_record(self.guitar, &self.name(), text)?)
    }
}

/// Returns readings of a pickup of which nothing is known but what its leads and coils are called.
fn named(Begun { leads, shield, coils }: &Begun) -> Result<Readings, Trouble> {
    let mut readings = Readings::default();
    let word =
        |text: &str| Word::new(text).map_err(|error| Trouble::new(error.to_string(), "call it otherwise"));
    for lead in leads.split(',').map(str::trim).filter(|lead| !lead.is_empty()) {
        readings.add_lead(word(lead)?).map_err(|error| of_reading(&error))?;
    }
    if !shield.trim().is_empty() {
        readings.set_shield(word(shield.trim())?).map_err(|error| of_reading(&error))?;
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
        readings.bobbin(coil).map_err(|error| of_reading(&error))?;
    }
    if coils.len() == 1 {
        readings.set_one_coil().map_err(|error| of_reading(&error))?;
    }
    Ok(readings)
}

/// Adds what was typed to the readings.
fn add(readings: &mut Readings, read: &Read) -> Result<(), Trouble> {
    let lead = |name: &str| readings.conductor(name).map_err(|error| of_reading(&error));
    match read.kind.as_str() {
        "ohms" => {
            let between = [lead(&read.one)?, lead(&read.other)?];
            let shown = if read.open.is_empty() { &read.reads } else { "open" };
            let reads = OhmmeterReading::parse(shown)
                .map_err(|error| Trouble::new(error.to_string(), "write it with its unit, or open"))?;
            readings.add_ohms(between, reads, None).map_err(|error| of_reading(&error))
        }
        "tap" => {
            let probes = [lead(&read.one)?, lead(&read.other)?];
            let swing = Swing::called(&read.reads).ok_or_else(|| {
                Trouble::new(format!("`{}` is no swing", read.reads), "choose +, − or none")
            })?;
            let coil = readings.bobbin(&read.coil).map_err(|error| of_reading(&error))?;
            readings.add_tap(coil, probes, swing, None).map_err(|error| of_reading(&error))
        }
        "compass" => {
            let pole = pole_called(&read.reads).ok_or_else(|| {
                Trouble::new(format!("`{}` is no pole", read.reads), "choose north or south")
            })?;
            let coil = readings.bobbin(&read.coil).map_err(|error| of_reading(&error))?;
            readings.add_compass(coil, pole, None).map_err(|error| of_reading(&error))
        }
        other => {
            let known = nearest(other, ["ohms", "tap", "compass"]).unwrap_or("ohms");
            Err(Trouble::new(format!("`{other}` is no reading"), format!("did you mean `{known}`?")))
        }
    }
}

fn of_reading(error: &drywire::leads::ReadingError) -> Trouble {
    Trouble::new(error.to_string(), error.hint().unwrap_or_default())
}
