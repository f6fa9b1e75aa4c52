//! Text broken into lines for a terminal.

/// No line is longer.
const WIDTH: usize = 80;

/// Returns `text` broken into lines between its words, the first after `first` and the others after `rest`.
pub(crate) fn wrapped(text: &str, first: &str, rest: &str) -> String {
    wrapped_to(WIDTH, text, first, rest)
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
    text.push_str(&format!("\n{title}\n"));
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
