//! The user's own words for leads and coils.

use std::fmt;

/// A lead's colour or a coil's name, as its owner calls it: 1 to 20 characters that can be shown on one line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Word(String);

/// A text that is no [`Word`].
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "`{}` is no name for a lead or coil: 1 to {} characters are allowed, none of them control characters",
    given.escape_debug(),
    Word::LONGEST
)]
pub struct WordError {
    /// The text as given.
    pub given: String,
}

impl Word {
    /// The most characters that a word has, so that a table of them fits a terminal.
    pub const LONGEST: usize = 20;

    /// Returns `text` without the blanks around it as a word.
    ///
    /// # Errors
    /// [`WordError`] where it is empty, too long, or holds characters that a terminal would obey or not show.
    pub fn new(text: &str) -> Result<Self, WordError> {
        let word = text.trim();
        let fits = (1..=Self::LONGEST).contains(&word.chars().count());
        if fits && !word.chars().any(is_obeyed_or_hidden) {
            return Ok(Self(word.to_owned()));
        }
        Err(WordError { given: text.chars().take(2 * Self::LONGEST).collect() })
    }

    /// Returns the word as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// Returns whether two words would be taken for the same: capitals make no difference on a bench.
    pub fn is_like(&self, other: &str) -> bool {
        self.0.to_lowercase() == other.trim().to_lowercase()
    }
}

impl fmt::Display for Word {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

/// Control characters, and the format characters that hide or turn round what stands beside them.
fn is_obeyed_or_hidden(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{00ad}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_colour_in_any_script_is_a_word_and_a_terminal_command_is_not() {
        for text in ["white", "red/white stripe", "weiß", "青", " bare "] {
            assert_eq!(Word::new(text).map(|w| w.to_string()), Ok(text.trim().to_owned()));
        }
        for text in ["", "  ", "a colour with more than twenty", "\u{1b}[31mred", "re\u{202e}d", "r\ned"] {
            let refusal = Word::new(text).map_err(|e| e.to_string()).expect_err(text);
            assert!(!refusal.chars().any(is_obeyed_or_hidden), "{refusal:?}");
        }
    }
}
