//! How a guitar is measured: what is told beside a recording, kept in the guitar's folder.

use std::collections::BTreeMap;
use std::sync::PoisonError;

use drywire::document::{Document, EditError, Place, quoted};

use super::{FolderName, Guitars, GuitarsError};

/// The record.
const FILE: &str = "measure.toml";
/// What a new one begins with.
const HEAD: &str =
    "# How this guitar is measured; each is what the option of `drywire measure` of this name takes.\n";

/// What is told beside a recording, each as it was typed.
#[derive(Debug, Clone, Default)]
pub(crate) struct Measurement(BTreeMap<&'static str, String>);

impl Measurement {
    /// What can be told: the pickup; where it is measured, and which coil there; how levers stand; what the meter read, and with
    /// the volume where it reads most; the known resistor and the one in series; from what values are told; the recording or the
    /// table of another instrument; what other meters read.
    pub(crate) const KEYS: [&str; 11] = [
        "pickup",
        "at",
        "state",
        "ohms",
        "volume_reads",
        "known",
        "series",
        "from",
        "take",
        "lcr",
        "resonance",
    ];

    fn read(document: &Document) -> Result<Self, GuitarsError> {
        Ok(document.interpret(|top| {
            let of = |key: &'static str| Some((key, top.text(key)?.value));
            Some(Self(Self::KEYS.into_iter().filter_map(of).collect()))
        })?)
    }

    /// Returns what is told at `key`, or nothing.
    pub(crate) fn at(&self, key: &str) -> &str {
        self.0.get(key).map_or("", String::as_str)
    }
}

impl Guitars {
    /// Returns how a guitar is measured.
    pub(crate) fn measurement(&self, guitar: &FolderName) -> Result<Measurement, GuitarsError> {
        match self.record(guitar, FILE)? {
            Some(document) => Measurement::read(&document),
            None => Ok(Measurement::default()),
        }
    }

    /// Keeps what is told at `key`, one of [`Measurement::KEYS`]; nothing takes it out.
    pub(crate) fn keep_measurement(
        &self,
        guitar: &FolderName,
        key: &str,
        told: &str,
    ) -> Result<(), GuitarsError> {
        let _one = self.measuring.lock().unwrap_or_else(PoisonError::into_inner);
        let Some(mut document) = self.record(guitar, FILE)? else {
            let begun = || self.keep_record(guitar, FILE, &format!("{HEAD}{key} = {}\n", quoted(told)));
            return if told.is_empty() { Ok(()) } else { begun() };
        };
        if Measurement::read(&document)?.at(key) == told {
            return Ok(());
        }
        let place: Place = key.parse().map_err(|_| EditError::Missing { place: key.to_owned() })?;
        if told.is_empty() { document.remove(&place) } else { document.set(&place, &told.into()) }?;
        self.keep_record(guitar, FILE, document.text())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_told_is_kept_value_by_value_and_a_key_that_is_none_is_refused() {
        let root = tempfile::tempdir().unwrap();
        let guitars = Guitars::open(root.path().to_owned());
        let own = guitars.make("mine", "format = 1\n").unwrap();
        guitars.keep_measurement(&own, "known", "10k 1%").unwrap();
        guitars.keep_measurement(&own, "ohms", "7.7k").unwrap();
        let path = root.path().join("mine/readings/measure.toml");
        assert!(std::fs::read_to_string(&path).unwrap().starts_with(HEAD));
        let by_hand = std::fs::read_to_string(&path).unwrap().replace("\"7.7k\"", "\"7.7k\" # warm");
        std::fs::write(&path, &by_hand).unwrap();
        guitars.keep_measurement(&own, "known", "9.98k").unwrap();
        assert_eq!(std::fs::read_to_string(&path).unwrap(), by_hand.replace("10k 1%", "9.98k"));
        guitars.keep_measurement(&own, "ohms", "").unwrap();
        let kept = guitars.measurement(&own).unwrap();
        assert_eq!((kept.at("known"), kept.at("ohms"), kept.at("at")), ("9.98k", "", ""));
        std::fs::write(&path, "knwon = \"10k\"\n").unwrap();
        let refused = guitars.measurement(&own).unwrap_err();
        assert!(refused.to_string().contains("knwon"), "{refused}");
    }
}
