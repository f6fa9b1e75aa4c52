//! What was measured, worked out beside the pages.

use std::fs;
use std::path::PathBuf;
use std::sync::Arc;

use drywire::guitar::{Draft, Guitar};
use drywire::impedance::{Found, Refused, Subject};
use drywire::job::peaks_before_and_after;
use drywire::plot::{Followed, Theme, svg};
use drywire::report::{Column, TextTable, measured_lines, measured_remarks, measured_table};

use super::super::known::Known;
use super::super::works::{self, Kind, Stage};
use super::wanted::Wanted;
use crate::panel::guitars::{FolderName, Measurement, TakesFor};
use crate::panel::server::Panel;

/// Values that were measured, as they are told.
#[derive(Debug)]
pub(super) struct Values {
    /// The text of the guitar's file from which they were worked out, and the file that has them.
    before: String,
    pub(super) after: Draft,
    pub(super) pickup: String,
    pub(super) coils: Vec<String>,
    pub(super) table: TextTable,
    pub(super) peaks: Result<TextTable, String>,
    pub(super) remarks: Vec<String>,
    pub(super) lines: Vec<String>,
    /// Nothing where single readings told them.
    pub(super) picture: Option<String>,
    /// What that shows.
    pub(super) points: TextTable,
}

/// What a measurement came to.
#[derive(Debug)]
pub(super) enum Outcome {
    Values(Box<Values>),
    /// There are no values, since the recording is not as it must be.
    Refused(Refused),
    /// It cannot be worked out; why.
    Failed(String),
}

/// What the last measurements came to, by what they are worked out from.
#[derive(Debug, Default)]
pub(crate) struct KnownMeasured(Known<Key, Outcome>);

/// What a measurement is worked out from: what is told of it, with its recording as it is on the disk, and the guitar's file.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Key {
    told: String,
    file: String,
}

impl KnownMeasured {
    fn find(&self, key: &Key) -> Option<Arc<Outcome>> {
        self.0.find(|own, outcome| {
            let is_in = matches!(outcome, Outcome::Values(values) if values.are_in(&key.file));
            own.told == key.told && (own.file == key.file || is_in)
        })
    }
}

/// How a measurement stands.
pub(super) enum Standing {
    /// Nothing was measured yet.
    Nothing,
    /// It is worked out.
    Works(String),
    Done(Arc<Outcome>),
}

/// A guitar and how it is measured.
pub(super) struct Bench<'b> {
    pub(super) own: &'b FolderName,
    pub(super) draft: &'b Draft,
    pub(super) measurement: &'b Measurement,
}

impl Bench<'_> {
    /// Returns where the recording lies that is chosen.
    pub(super) fn take(&self, panel: &Panel) -> Result<Option<PathBuf>, String> {
        let name = self.measurement.at("take");
        if name.is_empty() {
            return Ok(None);
        }
        let path = panel.guitars.take(self.own, TakesFor::Measuring, name);
        path.map(Some).map_err(|error| format!("{error}: {}", error.hint()))
    }

    fn key(&self, take: Option<&PathBuf>) -> Key {
        let there = take.and_then(|path| fs::metadata(path).ok());
        let of_take = there.map(|there| (there.modified().ok(), there.len()));
        Key {
            told: format!("{} {:?} {of_take:?}", self.own, self.measurement),
            file: self.draft.text().to_owned(),
        }
    }

    /// Returns what is known of it.
    pub(super) fn known(&self, panel: &Panel) -> Option<Arc<Outcome>> {
        let take = self.take(panel).ok()?;
        panel.measured.find(&self.key(take.as_ref()))
    }

    /// Returns how it stands; what is not known of the guitar yet begins to be worked out, and its windows are told once it is.
    pub(super) fn standing(&self, panel: &Arc<Panel>, guitar: &Guitar) -> Standing {
        let failed = |words: String| Standing::Done(Arc::new(Outcome::Failed(words)));
        let take = match self.take(panel) {
            Ok(take) => take,
            Err(words) => return failed(words),
        };
        let key = self.key(take.as_ref());
        if let Some(Stage::Works(words)) = panel.works.stage(self.own, Kind::Measure) {
            return Standing::Works(words);
        }
        if let Some(outcome) = panel.measured.find(&key) {
            return Standing::Done(outcome);
        }
        let wanted = match Wanted::of(self.draft, guitar, self.measurement, take) {
            Ok(Some(wanted)) => wanted,
            Ok(None) => return Standing::Nothing,
            Err(words) => return failed(words),
        };
        // Work that breaks off leaves that behind, and is not begun anew.
        panel
            .measured
            .0
            .keep(key.clone(), Outcome::Failed("this broke off by a fault of the program".to_owned()));
        let words = "The values are being worked out …";
        works::begin(panel, self.own, Kind::Measure, words, move |panel, _| {
            let before = key.file.clone();
            let outcome = worked_out(&wanted, before).unwrap_or_else(Outcome::Failed);
            panel.measured.0.keep(key, outcome);
            Ok(String::new())
        });
        Standing::Works(words.to_owned())
    }
}

fn worked_out(wanted: &Wanted, before: String) -> Result<Outcome, String> {
    let evidence = match wanted.evidence()? {
        Ok(evidence) => evidence,
        Err(refused) => return Ok(Outcome::Refused(refused)),
    };
    let told = |error: drywire::impedance::SubjectError| format!("{error}: {}", error.hint());
    match wanted.subject.measure(&evidence, wanted.ohms()).map_err(told)? {
        Err(refused) => Ok(Outcome::Refused(refused)),
        Ok(found) => {
            let (after, guitar) = found.put_into(&wanted.subject).map_err(told)?;
            Ok(Outcome::Values(Box::new(values(wanted, &found, before, after, &guitar))))
        }
    }
}

fn values(wanted: &Wanted, found: &Found, before: String, after: Draft, guitar: &Guitar) -> Values {
    let subject: &Subject = &wanted.subject;
    let pickup = subject.pickup().name().to_string();
    let title = format!("{}, {pickup}", subject.guitar().name());
    let has_points = !found.points.is_empty();
    Values {
        coils: found.coils.iter().map(|coil| format!("{}: {}", coil.name, coil.health.words())).collect(),
        table: measured_table(found, subject),
        peaks: peaks_before_and_after(subject, guitar).map_err(|error| error.to_string()),
        remarks: measured_remarks(found, subject, wanted.series),
        lines: measured_lines(subject, &after).into_iter().map(str::to_owned).collect(),
        picture: has_points.then(|| svg(&Followed::new(&title, found), Theme::Adaptive)),
        points: points(found),
        before,
        after,
        pickup,
    }
}

/// Returns the impedance as it was measured and as the circuit has it.
fn points(found: &Found) -> TextTable {
    let mut table = TextTable::new([
        Column::numbers(["frequency", "Hz"]),
        Column::numbers(["measured", "kΩ"]),
        Column::numbers(["the circuit", "kΩ"]),
    ]);
    for (point, follows) in &found.points {
        let kilohms = [point.impedance, *follows].map(|ohms| format!("{:.2}", ohms.norm() / 1e3));
        table.row([vec![format!("{:.0}", point.frequency.value())], kilohms.to_vec()].concat());
    }
    table
}

impl Values {
    /// Returns whether the guitar's file, whose text this is, has them.
    pub(super) fn are_in(&self, text: &str) -> bool {
        self.after.text() == text
    }

    /// Returns whether they were worked out from the guitar's file as this text has it.
    pub(super) fn are_of(&self, text: &str) -> bool {
        self.before == text
    }
}
