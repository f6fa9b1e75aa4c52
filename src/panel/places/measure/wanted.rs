//! What is to be measured, and from what: what was typed, read into what the library measures.

use std::fs;
use std::path::{Path, PathBuf};

use drywire::guitar::{Draft, Guitar};
use drywire::impedance::{
    self, Evidence, Known, Place, Reading, Refused, Subject, Take, Which, curve, state_volume_track,
};
use drywire::leads::OhmmeterReading;
use drywire::quantity::{Ohms, parse_quantity};
use drywire::sound::Sound;
use drywire::wiring::CoilName;

use super::super::hear::in_words;
use crate::panel::guitars::Measurement;

/// The known resistor unless another is told.
pub(super) const USUAL_KNOWN: &str = "10k 1%";

/// Where a guitar is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum At {
    Jack,
    Leads(Which),
}

impl At {
    /// All, as they are kept, of a pickup that has two coils or one.
    pub(super) fn all(has_two: bool) -> Vec<(&'static str, &'static str)> {
        let jack = ("", "the jack, nothing unsoldered");
        if has_two {
            vec![
                jack,
                ("a", "the leads of coil A"),
                ("b", "the leads of coil B"),
                ("both", "the leads of both coils in series"),
            ]
        } else {
            vec![jack, ("a", "the coil’s leads")]
        }
    }

    /// Returns what is kept as `told`.
    pub(super) fn of(told: &str) -> Option<Self> {
        Some(match told {
            "" => Self::Jack,
            "a" => Self::Leads(Which::One(CoilName::A)),
            "b" => Self::Leads(Which::One(CoilName::B)),
            "both" => Self::Leads(Which::Both),
            _ => return None,
        })
    }
}

/// Basis what values are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Basis {
    /// A recording, or another instrument's table.
    Recording,
    /// Single readings.
    Readings,
}

impl Basis {
    /// Returns what is kept as `told`.
    pub(super) fn of(told: &str) -> Option<Self> {
        match told {
            "" => Some(Self::Recording),
            "readings" => Some(Self::Readings),
            _ => None,
        }
    }
}

/// Returns which of the guitar's pickups is measured: the one that is told, or the first.
pub(super) fn pickup_of(guitar: &Guitar, told: &Measurement) -> usize {
    guitar.pickups().iter().position(|own| own.name().as_str() == told.at("pickup")).unwrap_or(0)
}

/// What is measured, and from what.
#[derive(Debug)]
pub(super) struct Wanted {
    pub(super) subject: Subject,
    ohms: Option<Ohms>,
    pub(super) series: Option<Ohms>,
    from: Source,
}

/// What values are told from.
#[derive(Debug)]
enum Source {
    Take(PathBuf, Known),
    Table(PathBuf),
    Readings(Vec<Reading>),
}

/// Returns the ohms that are told at `key`.
fn ohms(measurement: &Measurement, key: &str) -> Result<Option<Ohms>, String> {
    let text = measurement.at(key);
    if text.is_empty() {
        return Ok(None);
    }
    let reading = OhmmeterReading::parse(text).map_err(|error| error.to_string())?;
    let none = || {
        in_words(&format!("`{text}` is open"), "look whether the leads make contact; then a wire is broken")
    };
    reading.closed().ok_or_else(none).map(Some)
}

/// Returns the resistance that stands in series, as it is typed.
pub(super) fn series(text: &str) -> Result<Option<Ohms>, String> {
    const ALLOWED: std::ops::RangeInclusive<Ohms> = impedance::Source::SERIES;
    if text.is_empty() {
        return Ok(None);
    }
    let read = parse_quantity::<Ohms>(text).ok().filter(|ohms| ALLOWED.contains(ohms));
    let (least, most) = (ALLOWED.start(), ALLOWED.end());
    read.map(Some).ok_or_else(|| {
        in_words(
            &format!("`{text}` is no series resistor"),
            &format!("write one from {least} to {most}, such as 100k"),
        )
    })
}

/// Returns the resistor that is told to be known, or the usual one.
pub(super) fn known(measurement: &Measurement) -> Result<Known, String> {
    let text = Some(measurement.at("known")).filter(|text| !text.is_empty()).unwrap_or(USUAL_KNOWN);
    text.parse::<Known>().map_err(|error| in_words(&error.to_string(), error.hint()))
}

/// Returns whether the file at `path` is a table of another instrument.
pub(super) fn is_table(path: &Path) -> bool {
    path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("csv"))
}

impl Wanted {
    /// Returns what `measurement` wants of the guitar whose file is `draft`, its recording lying at `take`; nothing where nothing
    /// was measured yet.
    pub(super) fn of(
        draft: &Draft,
        guitar: &Guitar,
        measurement: &Measurement,
        take: Option<PathBuf>,
    ) -> Result<Option<Self>, String> {
        let from = Basis::of(measurement.at("from")).ok_or("choose from what values are told")?;
        let from = match from {
            Basis::Recording => match take {
                None => return Ok(None),
                Some(path) if is_table(&path) => Source::Table(path),
                Some(path) => Source::Take(path, known(measurement)?),
            },
            Basis::Readings => {
                let mut readings = Vec::new();
                if !measurement.at("lcr").is_empty() {
                    let reading = Reading::inductance(measurement.at("lcr"));
                    readings.push(reading.map_err(|error| in_words(&error.to_string(), error.hint()))?);
                }
                if !measurement.at("resonance").is_empty() {
                    let peaks = Reading::peaks(measurement.at("resonance"));
                    readings.extend(peaks.map_err(|error| in_words(&error.to_string(), error.hint()))?);
                }
                if readings.is_empty() {
                    return Ok(None);
                }
                Source::Readings(readings)
            }
        };
        let ohms_of = |key: &str| ohms(measurement, key);
        let (ohms, most) = (ohms_of("ohms")?, ohms_of("volume_reads")?);
        let at = At::of(measurement.at("at")).ok_or("choose where it is measured")?;
        let mut draft = draft.clone();
        let pickup = pickup_of(guitar, measurement);
        let place = match at {
            At::Leads(which) => Place::Leads(which),
            At::Jack => {
                if let (Some(most), Some(full)) = (most, ohms) {
                    state_volume_track(&mut draft, guitar, most, full)
                        .map_err(|error| in_words(&error.to_string(), &error.hint()))?;
                }
                Place::Jack(
                    Some(measurement.at("state")).filter(|state| !state.is_empty()).map(str::to_owned),
                )
            }
        };
        let guitar = draft.check().map_err(|_| "the guitar’s file has faults: mend them first".to_owned())?;
        let subject = Subject::new(draft, guitar, pickup, place)
            .map_err(|error| in_words(&error.to_string(), &error.hint()))?;
        Ok(Some(Self { subject, ohms, series: series(measurement.at("series"))?, from }))
    }

    /// Returns what the meter read where it was measured.
    pub(super) fn ohms(&self) -> Option<Ohms> {
        self.ohms
    }

    /// Reads what values are told from.
    pub(super) fn evidence(&self) -> Result<Result<Evidence, Refused>, String> {
        match &self.from {
            Source::Take(path, known) => {
                let sound = Sound::open(path).map_err(|error| in_words(&error.to_string(), error.hint()))?;
                let take = Take::read(&sound, *known)
                    .map_err(|error| in_words(&error.to_string(), &error.hint()))?;
                Ok(take.map(|take| Evidence::Take(take, *known)))
            }
            Source::Table(path) => {
                let table = fs::read(path).map_err(|error| error.to_string())?;
                Ok(Ok(Evidence::Curve(
                    curve(&table).map_err(|error| in_words(&error.to_string(), error.hint()))?,
                )))
            }
            Source::Readings(readings) => Ok(Ok(Evidence::Readings(readings.clone()))),
        }
    }
}
