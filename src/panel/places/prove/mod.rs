//! The place where what was soldered is proven: what the meter must read in every position, and what it does read.

mod judged;
mod page;
mod verdict;

use std::sync::{Arc, Mutex, PoisonError};

use axum::extract::State;
use axum::response::Response;
use drywire::guitar::keys::Reading;
use drywire::harness::{AtMeter, Unseen};
use drywire::leads::{MeterError, OhmmeterReading};
use tokio::task::block_in_place;

use super::guitar::{Change, OfGuitar, Trouble, work};
use super::reply::folder;
use super::sent::{Form, Path, Query};
use crate::panel::view::Asked;

pub(super) use page::proof;

/// What no reading at the jack shows of the last guitars' cavities, by the texts of their files.
#[derive(Debug, Default)]
pub(crate) struct KnownUnseen(Mutex<Vec<(String, Arc<Vec<Unseen>>)>>);

impl KnownUnseen {
    /// The most guitars' files of which it is kept.
    const MOST: usize = 8;

    fn of(&self, text: &str, at: &AtMeter) -> Arc<Vec<Unseen>> {
        let known = || self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, unseen)) = known().iter().find(|(own, _)| own == text) {
            return Arc::clone(unseen);
        }
        let unseen = Arc::new(at.unseen());
        let mut all = known();
        if all.len() >= Self::MOST {
            all.remove(0);
        }
        all.push((text.to_owned(), Arc::clone(&unseen)));
        unseen
    }
}

/// Keeps what was read.
pub(super) async fn set(of: OfGuitar, Form(change): Form<Change>) -> Response {
    let trouble = block_in_place(|| {
        let (_, State(panel), Path(given), Query(_)) = &of;
        let reads = change.value.trim();
        if let Some(asked) = asked(&change.place, reads) {
            return Some(Trouble::Value(asked));
        }
        let kept = folder(given).and_then(|own| panel.guitars.keep_reading(&own, &change.place, reads));
        kept.err().map(Trouble::from)
    });
    work(&of, |_| trouble)
}

/// Lays the readings aside and begins new ones.
pub(super) async fn begin_anew(of: OfGuitar) -> Response {
    let trouble = block_in_place(|| {
        let (_, State(panel), Path(given), Query(_)) = &of;
        let begun = folder(given).and_then(|own| panel.guitars.begin_readings_anew(&own));
        begun.err().map(Trouble::from)
    });
    work(&of, |_| trouble)
}

/// Returns whether the reading at `place` is of metal against the sleeve.
fn is_of_metal(place: &str) -> bool {
    place.contains('.') && !place.contains('@')
}

/// Returns what is asked about a text that is not clearly a reading.
fn asked(place: &str, reads: &str) -> Option<Asked> {
    if reads.is_empty() || is_of_metal(place) && matches!(reads, "beep" | "open") {
        return None;
    }
    asked_of_ohms(place, reads)
}

/// Returns what is asked about a text that is not clearly what a meter shows of ohms.
pub(super) fn asked_of_ohms(place: &str, reads: &str) -> Option<Asked> {
    let error = OhmmeterReading::parse(reads).err()?;
    let readings = match &error {
        MeterError::Unclear(unclear) => unclear.ways(),
        MeterError::NoResistance { .. } | MeterError::Negative { .. } => Vec::new(),
    };
    let message = match &error {
        MeterError::Unclear(_) => format!("what does the meter say by {reads}?"),
        MeterError::NoResistance { .. } | MeterError::Negative { .. } => error.to_string(),
    };
    Some(Asked {
        place: place.to_owned(),
        text: reads.to_owned(),
        message,
        readings: readings.into_iter().map(|[write, shown]| Reading { write, shown }).collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_that_may_be_ohms_or_kilohms_is_asked_about_and_all_else_is_taken_or_refused() {
        for reads in ["7.9k", "7,9k", "7k9", "7900", "OL", "open", "0.4", ""] {
            assert!(asked("selector:1", reads).is_none(), "{reads}");
        }
        for (reads, ways) in [
            ("7.9", &["7.9 ohm", "7.9k"][..]),
            ("7,9", &["7.9 ohm", "7.9k"]),
            ("1", &["open", "1 ohm", "1k"]),
        ] {
            let asked = asked("selector:1", reads).unwrap();
            let written: Vec<&str> = asked.readings.iter().map(|way| way.write.as_str()).collect();
            assert_eq!(written, ways, "{reads}");
        }
        assert!(asked("selector:1", "much").unwrap().readings.is_empty());
        assert!(asked("tone.case", "beep").is_none() && asked("selector:1", "beep").is_some());
    }
}
