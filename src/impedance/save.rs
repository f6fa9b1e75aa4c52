//! What was found, put into a guitar's file.

use super::found::{Found, Measured};
use super::subject::{Subject, SubjectError, checked, put};
use crate::document::Literal;
use crate::guitar::{Draft, Guitar, Measurand, MeasuredWith};

/// Correlations below this are not told.
const TOLD: f64 = 0.05;
/// Rounded correlations may contradict one another where they are close to one: then they are told a little weaker.
const WEAKER: [f64; 5] = [1.0, 0.99, 0.95, 0.85, 0.0];
/// The largest standard deviation that a file states, in percent.
const WIDEST: f64 = 90.0;

impl Found {
    /// Returns the file of `subject` with what was found, and the guitar that it then is; only what was found is changed.
    ///
    /// # Errors
    /// [`SubjectError`] where the file cannot hold it.
    pub fn put_into(&self, subject: &Subject) -> Result<(Draft, Guitar), SubjectError> {
        let mut draft = subject.draft().clone();
        if let Some(coupling) = self.coupling {
            let place = format!("pickup[{}].coupling", subject.pickup_place());
            draft.set(&place, Literal::Number((coupling.value * 1e3).round() / 1e3))?;
            let guitar = checked(&draft)?;
            return Ok((draft, guitar));
        }
        let mut last = None;
        for share in WEAKER {
            let mut tried = draft.clone();
            self.put_coils(subject, &mut tried, share)?;
            match checked(&tried) {
                Ok(guitar) => return Ok((tried, guitar)),
                Err(error) => last = Some(error),
            }
        }
        Err(last.unwrap_or_else(|| SubjectError::Refused("nothing was found".to_owned())))
    }

    fn put_coils(&self, subject: &Subject, draft: &mut Draft, share: f64) -> Result<(), SubjectError> {
        for coil in &self.coils {
            let table = subject.table(coil.name);
            let told = |measurand: &Measurand| coil.values[measurand.index()].filter(|own| own.value > 0.0);
            // A whole fit tells what the core does; a single reading leaves that as it is.
            if coil.values[Measurand::EddyShare.index()].is_some() {
                subject.clear(draft, coil.name)?;
            } else if subject.coil(coil.name).measurement().is_some() {
                draft.remove(&format!("{table}.measured"))?;
            }
            let all: Vec<(Measurand, Measured)> = Measurand::ALL
                .into_iter()
                .filter_map(|measurand| Some((measurand, told(&measurand)?)))
                .collect();
            for (measurand, own) in &all {
                put(draft, &table, *measurand, own.value)?;
            }
            for (measurand, own) in &all {
                let percent = (100.0 * own.deviation / own.value).clamp(0.1, WIDEST);
                let place = format!("{table}.measured.{}", measurand.key());
                draft.set(&place, format!("{percent:.1} %").as_str())?;
            }
            let with = match self.with {
                MeasuredWith::Alone => "alone",
                MeasuredWith::Pair => "pair",
            };
            draft.set(&format!("{table}.measured.with"), with)?;
            let is_told = |pair: &[Measurand; 2]| pair.iter().all(|one| told(one).is_some());
            let correlations: Vec<Vec<String>> = self
                .correlation
                .iter()
                .map(|(pair, together)| (pair, (share * together).clamp(-0.99, 0.99)))
                .filter(|(pair, together)| is_told(pair) && together.abs() >= TOLD)
                .map(|([one, other], together)| {
                    vec![one.key().to_owned(), other.key().to_owned(), format!("{together:.2}")]
                })
                .collect();
            if !correlations.is_empty() {
                draft.set(&format!("{table}.measured.correlation"), Literal::TextLists(correlations))?;
            }
        }
        Ok(())
    }
}
