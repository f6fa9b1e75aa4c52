//! Why a command could not be carried out, and how that is told.

use std::io;

use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use drywire::document::{OpenError, Refusal};

use super::console::visible;

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

    /// Returns whether the reader of standard output has gone, which is no error.
    pub(crate) fn is_closed_pipe(&self) -> bool {
        matches!(self, Self::Output(cause) if cause.kind() == io::ErrorKind::BrokenPipe)
    }

    /// Returns the failure as it is shown, with colours where `styled`.
    pub(crate) fn render(&self, styled: bool) -> String {
        let renderer = if styled { Renderer::styled() } else { Renderer::plain() };
        match self {
            Self::Input { message, hint } => {
                let hint = hint.as_ref().map(|h| format!("\nhint: {h}")).unwrap_or_default();
                visible(&format!("error: {message}{hint}"))
            }
            Self::Output(cause) => format!("error: cannot write to standard output: {cause}"),
            Self::Document(refusal) => {
                let groups: Vec<Group<'_>> = refusal
                    .faults()
                    .iter()
                    .map(|fault| {
                        let end = refusal.text().len();
                        let span = fault.span.start.min(end)..fault.span.end.min(end);
                        let snippet = Snippet::source(refusal.text())
                            .path(refusal.name())
                            .annotation(AnnotationKind::Primary.span(span));
                        let group = Level::ERROR.primary_title(fault.message.as_str()).element(snippet);
                        match &fault.hint {
                            Some(hint) => group.element(Level::HELP.with_name("hint").message(hint.as_str())),
                            None => group,
                        }
                    })
                    .collect();
                renderer.render(&groups)
            }
        }
    }
}

impl From<Refusal> for Failure {
    fn from(refusal: Refusal) -> Self {
        Self::Document(Box::new(refusal))
    }
}

impl From<OpenError> for Failure {
    fn from(error: OpenError) -> Self {
        Self::input(
            error.to_string(),
            "give the path of a text file in TOML; `drywire presets` copies out examples",
        )
    }
}
