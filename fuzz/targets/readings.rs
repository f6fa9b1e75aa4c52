//! A readings file: read, identified, and written back as a file that says the same.

use drywire::document::Document;
use drywire::leads::{Readings, Verdict, identify};

use super::{check_refusal, document};

/// Reads the bytes and identifies the leads.
pub fn run(bytes: &[u8]) {
    let Some(document) = document(bytes) else { return };
    let readings = match Readings::read(&document) {
        Ok(readings) => readings,
        Err(refusal) => return check_refusal(&refusal),
    };
    let report = identify(&readings);
    assert_eq!(report.verdict == Verdict::Contradictory, !report.conflicts.is_empty());
    let again = Readings::read(&Document::new("again.toml", readings.to_toml()));
    let again = again.unwrap_or_else(|refusal| panic!("{refusal}"));
    assert_eq!(again.leads(), readings.leads());
    assert_eq!(again.entries().len(), readings.entries().len());
    assert_eq!(identify(&again).verdict, report.verdict);
}
