//! What is wrong with a document, and where.

use std::fmt;
use std::ops::Range;

use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};

use super::visible;

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

    /// Returns the fault in one sentence: what is wrong, and what to do about it.
    pub fn told(&self) -> String {
        match &self.hint {
            Some(hint) => format!("{}: {hint}", self.message),
            None => self.message.clone(),
        }
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

    /// Returns the refusal of `document` for `faults` that were found later; there is at least one.
    pub(crate) fn of(document: &super::Document, mut faults: Vec<Fault>) -> Self {
        faults.sort_by_key(|fault| fault.span.start);
        Self::new(document.name(), document.text(), faults)
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

    /// Returns the faults as a person reads them, each below its lines with carets under what it is about, and with
    /// colours where `styled`.
    pub fn shown(&self, styled: bool) -> String {
        let renderer = if styled { Renderer::styled() } else { Renderer::plain() };
        let groups: Vec<Group<'_>> = self.faults.iter().map(|fault| self.group(fault)).collect();
        renderer.render(&groups)
    }

    fn group<'r>(&'r self, fault: &'r Fault) -> Group<'r> {
        let end = self.text.len();
        let (from, to) = (fault.span.start.min(end), fault.span.end.min(end));
        // Only the lines concerned are handed over: every one is looked at anew for each fault.
        let first = self.text[..from].rfind('\n').map_or(0, |at| at + 1);
        let last = self.text[to..].find('\n').map_or(end, |at| to + at);
        let snippet = Snippet::source(quiet_lines(&self.text[first..last]))
            .line_start(self.line_of(fault))
            .path(on_one_line(&self.name))
            .annotation(AnnotationKind::Primary.span(from - first..to - first));
        let group = Level::ERROR.primary_title(on_one_line(&fault.message)).element(snippet);
        match &fault.hint {
            Some(hint) => group.element(Level::HELP.with_name("hint").message(on_one_line(hint))),
            None => group,
        }
    }

    /// Returns the line, counted from one, on which `fault` begins.
    pub fn line_of(&self, fault: &Fault) -> usize {
        super::line_at(&self.text, fault.span.start)
    }
}

/// Returns lines with the control characters that the renderer would pass on (those of two bytes) each replaced by a
/// dot of two bytes, so that the carets stay where they belong.
fn quiet_lines(lines: &str) -> String {
    lines.replace(|c: char| c.is_control() && c.len_utf8() == 2, "\u{b7}")
}

/// Returns a text that may quote a file, with nothing in it that drives a terminal or begins a line of its own.
fn on_one_line(text: &str) -> String {
    visible(&text.replace('\n', "\\n"))
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

#[cfg(test)]
mod tests {
    use crate::document::{Document, MAX_FAULTS};

    fn refused(name: &str, text: &str) -> String {
        let refusal = Document::new(name, text).interpret(|_| Some(())).expect_err("a fault");
        refusal.shown(false)
    }

    #[test]
    fn a_fault_is_shown_below_its_line_with_a_caret() {
        let shown = refused("mine.toml", "# a remark\nscale = 1\n");
        assert!(shown.contains("--> mine.toml:2:1\n  |\n2 | scale = 1\n  | ^^^^^"), "{shown}");
    }

    #[test]
    fn text_of_a_file_neither_drives_the_terminal_nor_begins_a_line_of_its_own() {
        let shown = refused("a\u{1b}[2J.toml", "\"k\\u009b2J\\nerror: forged\" = 1 # \u{9b}2J\u{202e}\n");
        assert!(!shown.contains(|c: char| c.is_control() && c != '\n'), "{shown:?}");
        assert!(!shown.contains('\u{202e}') && !shown.contains("\nerror: forged"), "{shown}");
        assert!(shown.contains("a\\u001b[2J.toml"), "{shown}");
    }

    #[test]
    fn of_thousands_of_faults_the_first_are_told_and_how_many_more_there_are() {
        let keys = (0..20_000).map(|i| format!("k{i} = 1\n")).collect::<Vec<_>>().concat();
        for text in [keys, "= =\n".repeat(60_000)] {
            let refusal = Document::new("many.toml", text).interpret(|_| Some(())).expect_err("many faults");
            assert_eq!(refusal.faults().len(), MAX_FAULTS + 1);
            assert!(refusal.shown(false).contains("more faults from here on"));
        }
    }
}
