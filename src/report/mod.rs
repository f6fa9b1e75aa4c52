//! What is told of a set: figures as data, as a table for reading, and as rows for a spreadsheet.

mod amplified;
mod bands;
mod figures;
mod measured;
mod rows;
mod source;
mod stored;
mod table;

use serde::Serialize;

pub use amplified::{AMPLIFIER_DEFINITION, AmplifiedFigures, AmplifierFigures, AtJack};
pub use bands::{ArrangementBands, BandsFigures, SensitivityFigures};
pub(crate) use figures::finite;
pub use figures::{ArrangementFigures, FileFigures, ImpulseFigures, SCHEMA, SetFigures};
pub use measured::{measured_lines, measured_remarks, measured_table};
pub(crate) use rows::{cell, number, written};
pub use rows::{response_rows, set_rows};
pub use source::{MatchedBy, RecordedThrough, ScopeName, SourceFigures};
pub use stored::{FiguresError, MAX_FIGURES_BYTES};
pub use table::{Column, TextTable};

/// Returns figures as JSON text over several lines.
///
/// # Panics
/// Where `figures` holds what JSON cannot, which no figures of this program do.
pub fn to_json(figures: &impl Serialize) -> String {
    serde_json::to_string_pretty(figures).expect("figures hold nothing that JSON cannot")
}

/// What every report says of itself.
pub const HONESTY: &str = "an approximation before the iron: a linear lumped model, generic coil values unless \
                           measured, a neutral or synthetic source";
