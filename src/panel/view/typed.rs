//! What was typed and could not be taken as it was.

use drywire::guitar::keys::Reading;

/// A text typed for a value, and what became of it.
#[derive(Debug, Clone)]
pub(crate) struct Asked {
    /// The place of the value.
    pub(crate) place: String,
    /// The text.
    pub(crate) text: String,
    /// What is wrong with it, or asked about it.
    pub(crate) message: String,
    /// What it may mean.
    pub(crate) readings: Vec<Reading>,
}

/// A reading that could not be taken as it was typed.
#[derive(Debug, Clone)]
pub(crate) struct Doubted {
    /// What was typed, at the identifier of its field.
    pub(crate) asked: Asked,
    /// What it was read between.
    pub(crate) between: [String; 2],
}
