//! What was found, put into a guitar's file.

use super::report::{CoilReport, Report, Verdict};
use crate::guitar::{Draft, DraftError};
use crate::wiring::EndNames;

/// Why the leads were not put into a guitar's file.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SaveError {
    /// Not every lead is known.
    #[error("the leads are not certain, so nothing of them is put into the guitar's file")]
    Uncertain,
    /// The guitar has no such pickup.
    #[error("the guitar has no pickup `{given}`; it has {known}")]
    NoPickup {
        /// The name as given.
        given: String,
        /// The names there are.
        known: String,
    },
    /// The guitar has several pickups, and none is named.
    #[error("the guitar has the pickups {known}, and it is not said which one was measured")]
    WhichPickup {
        /// The names there are.
        known: String,
    },
    /// The file cannot be changed there.
    #[error(transparent)]
    Draft(#[from] DraftError),
}

impl Report {
    /// Puts each coil's leads, resistance, top pole and, where the file states none, its winding, as far as they are known, into the pickup called `pickup`, or the
    /// only one, of the guitar `draft`; the coil found first is coil A, the one nearer the bridge.
    ///
    /// Returns the name of the pickup.
    ///
    /// # Errors
    /// [`SaveError`]; the draft may have changed in part.
    pub fn put_into(&self, draft: &mut Draft, pickup: Option<&str>) -> Result<String, SaveError> {
        if self.verdict != Verdict::Certain {
            return Err(SaveError::Uncertain);
        }
        let names = draft.pickup_names();
        let known = names.join(", ");
        let (place, name) = match (pickup, names.as_slice()) {
            (None, [only]) => (0, only.clone()),
            (None, _) => return Err(SaveError::WhichPickup { known }),
            (Some(given), names) => match names.iter().position(|name| name == given) {
                Some(place) => (place, given.to_owned()),
                None => return Err(SaveError::NoPickup { given: given.to_owned(), known }),
            },
        };
        // Joints that name starts and finishes mean by them what the windings were taken for.
        let by_starts = draft.check().is_ok_and(|guitar| {
            guitar.switches().iter().any(|switch| switch.names() == Some(EndNames::StartFinish))
        });
        for (coil, table) in self.coils.iter().zip(["coil_a", "coil_b"]) {
            put_coil(coil, draft, &format!("pickup[{place}].{table}"), !by_starts)?;
        }
        Ok(name)
    }
}

fn put_coil(coil: &CoilReport, draft: &mut Draft, place: &str, with_winding: bool) -> Result<(), DraftError> {
    if let Some(ohms) = coil.ohms {
        draft.set(&format!("{place}.resistance"), ohms_text(ohms).as_str())?;
    }
    if let Some(pole) = coil.top_pole {
        draft.set(&format!("{place}.top_pole"), pole)?;
    }
    let winding = format!("{place}.winding");
    // Which end is the start no reading tells: it is taken for the minus end, from which the winding's sense is told.
    if let Some(sense) = coil.sense.filter(|_| with_winding)
        && draft.get(&winding)?.is_none()
    {
        draft.set(&winding, sense)?;
    }
    for (end, lead) in [("plus", &coil.plus), ("minus", &coil.minus)] {
        if let Some(lead) = lead {
            draft.set(&format!("{place}.leads.{end}"), lead.as_str())?;
        }
    }
    // What a chart called them says of the winding what the tap does not.
    for end in ["start", "finish"] {
        draft.remove(&format!("{place}.leads.{end}"))?;
    }
    Ok(())
}

/// Returns a resistance as people write it, to a tenth of an ohm.
fn ohms_text(ohms: f64) -> String {
    let (number, unit) = if ohms >= 1e3 { (ohms / 1e3, "k") } else { (ohms, " Ω") };
    let digits = if ohms >= 1e3 { 4 } else { 1 };
    let shown = format!("{number:.digits$}");
    format!("{}{unit}", shown.trim_end_matches('0').trim_end_matches('.'))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::Document;
    use crate::leads::{Readings, identify};

    fn drawer() -> Report {
        let text = include_str!("../../presets/example/drawer.toml");
        identify(&Readings::read(&Document::new("drawer.toml", text)).expect("readings"))
    }

    fn draft(text: &str) -> Draft {
        Draft::of(Document::new("mine.toml", text))
    }

    #[test]
    fn what_was_found_stands_in_the_guitars_file_and_all_else_stays() {
        let text = "format = 1 # mine\n[[pickup]]\nname = \"middle\" # here\nlike = \"mini\"\n[pickup.coil_a]\n\
            resistance = \"9k\" # guessed\nleads = { start = \"x\", finish = \"y\" } # by a chart\n[cable]\nlength = \"6 m\"\n";
        let mut saved = draft(text);
        assert_eq!(drawer().put_into(&mut saved, None).as_deref(), Ok("middle"));
        assert_eq!(
            saved.text(),
            "format = 1 # mine\n[[pickup]]\nname = \"middle\" # here\nlike = \"mini\"\n[pickup.coil_a]\n\
             resistance = \"3.4k\" # guessed\nleads = { plus = \"white\", minus = \"blue\" } # by a chart\n\
             top_pole = \"north\"\nwinding = \"clockwise\"\n[pickup.coil_b]\nresistance = \"3.3k\"\ntop_pole = \"south\"\nwinding = \"counter-clockwise\"\n\
             leads = { plus = \"red\", minus = \"grey\" }\n[cable]\nlength = \"6 m\"\n"
        );
        assert_eq!(saved.faults(), []);
        let again = saved.text().to_owned();
        drawer().put_into(&mut saved, Some("middle")).expect("the same once more");
        assert_eq!(saved.text(), again);
    }

    #[test]
    fn a_pickup_must_be_known_and_the_leads_certain() {
        let two = "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\"\n[[pickup]]\nname = \"neck\"\nlike = \"mini\"\n";
        let known = || "bridge, neck".to_owned();
        let mut saved = draft(two);
        assert_eq!(drawer().put_into(&mut saved, None), Err(SaveError::WhichPickup { known: known() }));
        let refused = drawer().put_into(&mut saved, Some("middle"));
        assert_eq!(refused, Err(SaveError::NoPickup { given: "middle".to_owned(), known: known() }));
        let unsure = Report { verdict: Verdict::Ambiguous, ..drawer() };
        assert_eq!(unsure.put_into(&mut saved, Some("neck")), Err(SaveError::Uncertain));
        assert_eq!(saved.text(), two);
        assert_eq!(drawer().put_into(&mut saved, Some("neck")).as_deref(), Ok("neck"));
        assert!(saved.text().starts_with(two) && saved.faults().is_empty(), "{}", saved.text());
    }

    #[test]
    fn a_resistance_is_written_as_people_write_it() {
        for (ohms, text) in [(3400.0, "3.4k"), (3349.96, "3.35k"), (12_000.0, "12k"), (820.0, "820 Ω")] {
            assert_eq!(ohms_text(ohms), text);
        }
    }
}
