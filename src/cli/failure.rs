//! Why a command could not be carried out, and how that is told.

use std::io;

use drywire::document::{Refusal, visible};

/// A reason to end with exit code 2.
#[derive(Debug)]
pub(crate) enum Failure {
    /// An option, a file or a folder is not usable: what was given and allowed, and what to do.
    Input { message: String, hint: Option<String> },
    /// A hand-written file has faults.
    Document(Box<Refusal>),
    /// A result could not be written to standard output.
    Output(io::Error),
}

impl Failure {
    /// Returns a failure with a hint about what to do.
    pub(crate) fn input(message: impl Into<String>, hint: impl Into<String>) -> Self {
        Self::Input { message: message.into(), hint: Some(hint.into()) }
    }

    /// Returns the failure with the option that it is about in front.
    pub(crate) fn about(self, option: &str) -> Self {
        match self {
            Self::Input { message, hint } => Self::Input { message: format!("{option}: {message}"), hint },
            other @ (Self::Document(_) | Self::Output(_)) => other,
        }
    }

    /// Returns the failure as it is shown, with colours where `styled`.
    pub(crate) fn render(&self, styled: bool) -> String {
        match self {
            Self::Input { message, hint } => {
                let hint = hint.as_ref().map(|h| format!("\nhint: {h}")).unwrap_or_default();
                visible(&format!("error: {message}{hint}"))
            }
            Self::Output(cause) => format!("error: cannot write to standard output: {cause}"),
            Self::Document(refusal) => refusal.shown(styled),
        }
    }
}

impl From<Refusal> for Failure {
    fn from(refusal: Refusal) -> Self {
        Self::Document(Box::new(refusal))
    }
}
