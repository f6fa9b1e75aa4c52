//! Names that are written from right to left, beside words that are not.
//!
//! # Source
//! Unicode Standard Annex 9, *Unicode Bidirectional Algorithm*: a figure or a bracket beside letters that run from right
//! to left is drawn in with them, unless they are isolated.

use std::ops::Range;

use super::Escaped;

/// Begins and ends a stretch of text that has a direction of its own.
const ISOLATE: [char; 2] = ['\u{2068}', '\u{2069}'];

/// Returns whether a character does nothing but turn the direction of what stands after it.
pub(super) fn is_control(c: char) -> bool {
    matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// Returns `name` escaped for a text that has no markup, such as a document's title: where any of it runs from right to
/// left, it is set apart from what stands beside it.
pub(super) fn isolated(name: &str) -> String {
    let written = Escaped(name).to_string();
    match right_to_left(name) {
        Some(_) => format!("{}{written}{}", ISOLATE[0], ISOLATE[1]),
        None => written,
    }
}

/// Returns the first stretch of `text` that runs from right to left, with what stands between its words.
pub(super) fn right_to_left(text: &str) -> Option<Range<usize>> {
    let start = text.find(runs_leftward)?;
    let rest = &text[start..];
    let end = rest.find(|c: char| c.is_alphabetic() && !runs_leftward(c)).unwrap_or(rest.len());
    let last = rest[..end].rfind(runs_leftward)?;
    let length = last + rest[last..].chars().next().map_or(0, char::len_utf8);
    Some(start..start + length)
}

/// The blocks of letters of the bidirectional classes R and AL, and the marks of these classes.
fn runs_leftward(c: char) -> bool {
    matches!(
        c,
        '\u{590}'..='\u{8ff}'
            | '\u{200f}'
            | '\u{fb1d}'..='\u{fdff}'
            | '\u{fe70}'..='\u{fefe}'
            | '\u{10800}'..='\u{10fff}'
            | '\u{1e800}'..='\u{1efff}'
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stretch_ends_with_its_last_letter_and_holds_what_is_between() {
        let of = |text: &'static str| right_to_left(text).map(|run| &text[run]);
        assert_eq!(of("green (a+)"), None);
        assert_eq!(of("ירוק (a+)"), Some("ירוק"));
        assert_eq!(of("x ירוק 5 לבן, 7 kΩ"), Some("ירוק 5 לבן"));
    }

    #[test]
    fn a_name_is_set_apart_only_where_it_runs_from_right_to_left() {
        assert_eq!(isolated("A <guitar>"), "A &lt;guitar&gt;");
        assert_eq!(isolated("גיטרה\u{202e}"), "\u{2068}גיטרה\u{2069}");
    }
}
