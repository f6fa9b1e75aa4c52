//! What is wrong with a document, and where.

use std::fmt;
use std::ops::Range;

/// One fault of a document: what is wrong, where, and what to do about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The bytes of the text that the fault is about.
    pub span: Range<usize>,
    /// What was given and what is allowed; lower case, no full stop.
    pub message: String,
    /// What to do about it.
    pub hint: Option<String>,
}

impl Fault {
    /// Returns a fault about the bytes `span` without a hint.
    pub fn new(span: Range<usize>, message: impl Into<String>) -> Self {
        Self { span, message: message.into(), hint: None }
    }

    /// Returns the fault with a hint about what to do.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }
}

/// A document refused, with all its faults in the order of the text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    name: String,
    text: String,
    faults: Vec<Fault>,
}

impl Refusal {
    /// Returns the refusal of `text`, which messages call `name`, for `faults` of which there is at least one.
    pub(crate) fn new(name: impl Into<String>, text: impl Into<String>, faults: Vec<Fault>) -> Self {
        Self { name: name.into(), text: text.into(), faults }
    }

    /// Returns the document's name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Returns the document's whole text.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Returns the faults, of which there is at least one.
    pub fn faults(&self) -> &[Fault] {
        &self.faults
    }

    /// Returns the line, counted from one, on which `fault` begins.
    pub fn line_of(&self, fault: &Fault) -> usize {
        super::line_at(&self.text, fault.span.start)
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, fault) in self.faults.iter().enumerate() {
            let separator = if i == 0 { "" } else { "\n" };
            write!(f, "{separator}{}, line {}: {}", self.name, self.line_of(fault), fault.message)?;
            if let Some(hint) = &fault.hint {
                write!(f, " (hint: {hint})")?;
            }
        }
        Ok(())
    }
}

impl std::error::Error for Refusal {}
