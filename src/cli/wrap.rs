//! Text broken into lines for a terminal.

use std::io;
#[cfg(unix)]
use std::os::fd::AsFd as Stream;
#[cfg(windows)]
use std::os::windows::io::AsHandle as Stream;

use drywire::report::TextTable;

/// How wide a terminal is taken to be where that is not known; no sentence is wider, on any.
const WIDTH: usize = 80;
/// No terminal is taken to be narrower, for nothing could be read there.
const NARROWEST: usize = 20;

/// Returns how wide a table may be: as the terminal that standard output is, else as `COLUMNS` says, else 80.
pub(crate) fn table_width() -> usize {
    terminal_width(&io::stdout())
}

/// Returns how wide the terminal is that `stream` leads to, else what `COLUMNS` says, else 80.
pub(crate) fn terminal_width(stream: &impl Stream) -> usize {
    let terminal = terminal_size::terminal_size_of(stream).map(|(width, _)| usize::from(width.0));
    let said = || std::env::var("COLUMNS").ok()?.parse().ok();
    terminal.or_else(said).filter(|width| *width > 0).map_or(WIDTH, |width| width.max(NARROWEST))
}

/// Returns `text` broken into lines between its words, the first after `first` and the others after `rest`.
pub(crate) fn wrapped(text: &str, first: &str, rest: &str) -> String {
    wrapped_to(WIDTH.min(table_width()), text, first, rest)
}

/// Returns `text` broken as by [`wrapped`] into lines of at most `width` columns.
pub(crate) fn wrapped_to(width: usize, text: &str, first: &str, rest: &str) -> String {
    let mut lines = Vec::new();
    let mut line = first.to_owned();
    let mut is_begun = false;
    for word in text.split_whitespace() {
        if is_begun && line.chars().count() + 1 + word.chars().count() > width {
            lines.push(std::mem::replace(&mut line, rest.to_owned()));
            is_begun = false;
        }
        if is_begun {
            line.push(' ');
        }
        line.push_str(word);
        is_begun = true;
    }
    lines.push(line);
    lines.join("\n")
}

/// Adds a title with an empty line before it.
pub(crate) fn section(text: &mut String, title: &str) {
    text.push_str(&format!("\n{}\n", wrapped(title, "", "")));
}

/// Adds a paragraph.
pub(crate) fn paragraph(text: &mut String, words: &str) {
    wrap(text, words, "", "");
}

/// Adds an item of a list.
pub(crate) fn item(text: &mut String, words: &str) {
    wrap(text, words, "  - ", "    ");
}

/// Adds `words` broken into lines as [`wrapped`] does.
pub(crate) fn wrap(text: &mut String, words: &str, first: &str, rest: &str) {
    text.push_str(&wrapped(words, first, rest));
    text.push('\n');
}

/// Returns `words` after `name` where enough of the line is left for them, else below it and a little further in.
pub(crate) fn after_or_below(name: &str, words: &str, column: usize) -> String {
    const ENOUGH: usize = 24;
    const BELOW: &str = "    ";
    if table_width() >= column + ENOUGH {
        return wrapped(words, &format!("{name:<column$}"), &" ".repeat(column));
    }
    format!("{}\n{}", name.trim_end(), wrapped(words, BELOW, BELOW))
}

/// Adds a table, a little further in than the text round it.
pub(crate) fn indented(text: &mut String, table: &TextTable) {
    const INDENT: &str = "  ";
    let told = table.within(table_width() - INDENT.len());
    for line in told.lines().skip_while(|line| line.is_empty()) {
        text.push_str(&format!("{INDENT}{line}\n"));
    }
}

#[cfg(test)]
mod tests {
    use super::{WIDTH, wrapped};

    #[test]
    fn lines_break_between_words_and_are_never_too_long() {
        let text = "word ".repeat(40);
        let lines = wrapped(&text, "  - ", "    ");
        assert!(lines.lines().all(|line| line.chars().count() <= WIDTH && !line.ends_with(' ')), "{lines}");
        assert_eq!(lines.matches("word").count(), 40);
        assert!(lines.starts_with("  - word word") && lines.contains("\n    word"));
    }
}
