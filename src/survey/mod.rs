//! Every combination that a guitar's switches can make, what each sounds like, and which of them sound alike.
//!
//! A [`Space`] names the combinations; those that are the same circuit are found before any is solved. Each circuit
//! is heard with a neutral source, an open chord, as [`Neutral`] has it by coils; what was [`Heard`] becomes a point in
//! a space in which distances follow hearing ([`Points`]); a [`Cover`] is a set of positions near which all others
//! lie.

mod answer;
mod cover;
mod distance;
mod figures;
mod hearing;
mod part;
mod rows;
mod space;

pub use cover::{Cover, Proof};
pub use distance::{DISTANCE, Points};
pub use figures::{CircuitFigures, CoverFigures, Radii, SurveyFigures};
pub use hearing::{Heard, Neutral, Solving};
pub use part::{NotAPart, SurveyPart};
pub use rows::survey_rows;
pub use space::{Combination, DistinctCircuit, MOST_CIRCUITS, MOST_COMBINATIONS, Space, SpaceError};
