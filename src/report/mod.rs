//! What is told of a set: figures as data, as a table for reading, and as rows for a spreadsheet.

mod bands;
mod figures;
mod rows;
mod stored;
mod table;

pub use bands::{ArrangementBands, BandsFigures, SensitivityFigures};
pub(crate) use figures::finite;
pub use figures::{ArrangementFigures, FileFigures, ImpulseFigures, SCHEMA, SetFigures, SourceFigures};
pub(crate) use rows::{cell, number, written};
pub use rows::{response_rows, set_rows};
pub use stored::{FiguresError, MAX_FIGURES_BYTES};
pub use table::{Column, TextTable};

/// What every report says of itself.
pub const HONESTY: &str = "an approximation before the iron: a linear lumped model, generic coil values unless \
                           measured, a neutral or synthetic source";
