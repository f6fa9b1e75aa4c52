//! What is kept of readings, judged by what the guitar must read.

use std::sync::Arc;

use drywire::guitar::{Draft, Guitar};
use drywire::harness::{AtMeter, CavityCheck, JudgedReading, MeterReading, MeterReport, Unseen};
use drywire::probe::{Bench, KeptReading, ProbeReport, ReadingOf, prove};

use super::KnownUnseen;

/// What is told of a guitar's readings.
pub(super) struct Judged {
    /// What must be read at the jack; nothing where a buffer stands before it.
    pub(super) report: Option<ProbeReport>,
    /// Whether what is read there can be judged.
    pub(super) is_readable: bool,
    /// What is read of the cavity, where the file states one; or why nothing is.
    pub(super) cavity: Option<Result<JudgedCavity, String>>,
    /// Readings that are not, or no longer, of this guitar, each with why.
    pub(super) strays: Vec<(KeptReading, String)>,
}

/// What is told of readings with a knob turned, and of metal against the sleeve.
pub(super) struct JudgedCavity {
    pub(super) checks: Vec<CavityCheck>,
    pub(super) report: MeterReport,
    pub(super) unseen: Arc<Vec<Unseen>>,
}

impl JudgedCavity {
    /// Returns what is told of the reading at this place.
    pub(super) fn at(&self, place: &str) -> Option<&JudgedReading> {
        self.report.readings.iter().find(|reading| reading.place == place)
    }
}

impl Judged {
    pub(super) fn of(
        guitar: &Guitar,
        draft: &Draft,
        kept: &[KeptReading],
        known: &KnownUnseen,
    ) -> Result<Self, String> {
        let mut strays: Vec<(KeptReading, String)> = Vec::new();
        let given = |reading: &KeptReading| format!("{}={}", reading.place, reading.reads);
        let (of_cavity, plain): (Vec<&KeptReading>, Vec<&KeptReading>) =
            kept.iter().partition(|reading| MeterReading::is_of_a_cavity(&given(reading)));
        let mut at_jack: Vec<String> = Vec::new();
        let (mut report, mut is_readable) = (None, false);
        if guitar.buffer().is_none() {
            let bench = Bench::new(guitar, None).map_err(|error| error.to_string())?;
            is_readable = bench.is_readable();
            for reading in &plain {
                let text = given(reading);
                // One by one, so that what is wrong is told of its own reading.
                let with_it = [at_jack.as_slice(), std::slice::from_ref(&text)].concat();
                match ReadingOf::parse_all(&with_it, &bench) {
                    Ok(_) if is_readable => at_jack.push(text),
                    Ok(_) => {
                        strays.push(((*reading).clone(), "no switch or selector is soldered in".to_owned()));
                    }
                    Err(errors) => {
                        let told = errors.first().map(|error| format!("{error}: {}", error.hint()));
                        strays.push(((*reading).clone(), told.unwrap_or_default()));
                    }
                }
            }
            let read = ReadingOf::parse_all(&at_jack, &bench).unwrap_or_default();
            report = Some(prove(&bench, &read).map_err(|error| error.to_string())?);
        } else {
            let why = "through the buffer nothing of the coils is read";
            strays.extend(plain.iter().map(|reading| ((*reading).clone(), why.to_owned())));
        }
        let cavity = if guitar.cavity().is_stated() {
            Some(cavity(guitar, draft, &of_cavity, &at_jack, known, &mut strays))
        } else {
            let why = "the file has no table [harness], of which this would be read";
            strays.extend(of_cavity.iter().map(|reading| ((*reading).clone(), why.to_owned())));
            None
        };
        Ok(Self { report, is_readable, cavity, strays })
    }
}

fn cavity(
    guitar: &Guitar,
    draft: &Draft,
    kept: &[&KeptReading],
    at_jack: &[String],
    known: &KnownUnseen,
    strays: &mut Vec<(KeptReading, String)>,
) -> Result<JudgedCavity, String> {
    let at = AtMeter::of(guitar, Some(draft.document())).map_err(|error| error.to_string())?;
    let mut read: Vec<String> = Vec::new();
    for reading in kept {
        let text = format!("{}={}", reading.place, reading.reads);
        match at.judge(std::slice::from_ref(&text), &[]) {
            Ok(_) => read.push(text),
            Err(error) => strays.push(((*reading).clone(), format!("{error}: {}", error.hint()))),
        }
    }
    let report = at.judge(&read, at_jack).map_err(|error| error.to_string())?;
    Ok(JudgedCavity { checks: at.checks(), report, unseen: known.of(draft.text(), &at) })
}
