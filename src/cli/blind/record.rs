//! The result of a blind comparison, and the file that it is kept in.

use std::io::Write;
use std::path::{Path, PathBuf};

use drywire::abx::LEVEL;
use drywire::folder::{Existing, FolderError, Inputs, NewFile, Obstacle};
use drywire::report::{AmplifierFigures, MatchedBy, ScopeName};
use drywire::set::StoredSet;
use serde::Serialize;

use super::trials::Trials;
use crate::cli::Failure;
use crate::cli::hints::folder_failure;

/// The number of the form of a result file.
const SCHEMA: u32 = 1;
/// How another place for the result is named.
const ELSEWHERE: &str = "for a copy of the set";
/// More results than anyone makes of one set.
const MOST_RESULTS: u32 = 10_000;

/// What came of a run.
#[derive(Debug, Serialize)]
pub(super) struct Finding {
    schema: u32,
    program: &'static str,
    guitar: String,
    pickup: ScopeName,
    source: Option<String>,
    matched_by: Option<MatchedBy>,
    /// The amplifier that both are heard through, where there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    amplifier: Option<AmplifierFigures>,
    a: String,
    b: String,
    trials: u32,
    right: u32,
    /// What X was in each trial.
    x: String,
    /// What it was said to be.
    answers: String,
    p_value: f64,
    /// Right answers from which a difference counts as heard; absent where not even all of them do.
    needed: Option<u32>,
    level: f64,
    difference_heard: bool,
    statistics: &'static str,
}

impl Finding {
    /// Returns what came of all `trials` with the takes `pair` of `set`.
    pub(super) fn of(set: &StoredSet, pair: [usize; 2], trials: &Trials) -> Self {
        let (figures, run, right) = (set.figures(), trials.run(), trials.right());
        let name = |side: usize| set.takes()[pair[side]].name.clone();
        let [x, answers] = trials.letters();
        Self {
            schema: SCHEMA,
            program: concat!("drywire ", env!("CARGO_PKG_VERSION")),
            guitar: figures.guitar.clone(),
            pickup: figures.pickup.clone(),
            source: figures.source.as_ref().map(|source| source.file.clone()),
            matched_by: figures.source.as_ref().map(|source| source.matched_by),
            amplifier: figures.amplifier.clone(),
            a: name(0),
            b: name(1),
            trials: run.trials(),
            right,
            x,
            answers,
            p_value: run.p_value(right),
            needed: run.needed(),
            level: LEVEL,
            difference_heard: run.is_heard(right),
            statistics: "one-sided exact binomial, trials fixed beforehand, files at matched level",
        }
    }

    /// Returns it as JSON.
    pub(super) fn json(&self) -> String {
        serde_json::to_string_pretty(self).expect("a result holds nothing that JSON cannot")
    }

    /// Returns it in words.
    pub(super) fn told(&self) -> String {
        let verdict = if self.difference_heard {
            "You heard a difference."
        } else {
            "No difference was shown. That is not proof that there is none."
        };
        format!(
            "A is {}, B is {}: {} of {} right, p = {:.4}.\n{verdict}\nGuessing alone is right at least that often in \
             {:.2} % of runs (exact one-sided binomial).",
            self.a,
            self.b,
            self.right,
            self.trials,
            self.p_value,
            100.0 * self.p_value
        )
    }
}

/// The place that a result is kept in, found to be writable.
pub(super) struct Record {
    folder: PathBuf,
    number: u32,
    file: NewFile,
}

impl Record {
    /// Begins a result in `folder` under a name that no other has.
    pub(super) fn begin(folder: &Path) -> Result<Self, Failure> {
        Self::begin_at(folder, 1)
    }

    fn begin_at(folder: &Path, first: u32) -> Result<Self, Failure> {
        for number in first..=MOST_RESULTS {
            match NewFile::begin(&place(folder, number), Existing::Keep, &Inputs::new()) {
                Ok(file) => return Ok(Self { folder: folder.to_owned(), number, file }),
                Err(e) if is_taken(&e) => {}
                Err(e) => return Err(folder_failure(&e, ELSEWHERE)),
            }
        }
        let message = format!("`{}` holds {MOST_RESULTS} results of blind comparisons", folder.display());
        Err(Failure::input(message, "move them elsewhere"))
    }

    /// Writes the result, under a later name where another run took this one meanwhile, and returns where it is.
    pub(super) fn keep(mut self, finding: &Finding) -> Result<PathBuf, Failure> {
        loop {
            let Self { folder, number, mut file } = self;
            let written = file.file().write_all(format!("{}\n", finding.json()).as_bytes());
            written.map_err(|e| folder_failure(&file.failed(e), ELSEWHERE))?;
            match file.commit() {
                Ok(()) => return Ok(place(&folder, number)),
                Err(e) if is_taken(&e) => self = Self::begin_at(&folder, number + 1)?,
                Err(e) => return Err(folder_failure(&e, ELSEWHERE)),
            }
        }
    }
}

fn place(folder: &Path, number: u32) -> PathBuf {
    folder.join(format!("blind-{number}.json"))
}

/// Returns whether something stands at that name already.
fn is_taken(error: &FolderError) -> bool {
    matches!(
        error.obstacle(),
        Obstacle::Exists | Obstacle::IsFolder | Obstacle::IsSpecial { .. } | Obstacle::DanglingLink
    )
}
