//! Text from files made harmless in markup.

use std::fmt::{self, Write};

use base64::Engine;
use base64::engine::general_purpose::STANDARD;

use super::direction::{is_control, right_to_left};

/// A text for an attribute's quoted value or an SVG's text element: the characters that mean something in HTML and SVG
/// replaced, control characters and those that turn the direction of writing left out.
#[derive(Debug, Clone, Copy)]
pub struct Escaped<'t>(pub &'t str);

impl fmt::Display for Escaped<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for character in self.0.chars() {
            match character {
                '&' => f.write_str("&amp;")?,
                '<' => f.write_str("&lt;")?,
                '>' => f.write_str("&gt;")?,
                '"' => f.write_str("&quot;")?,
                '\'' => f.write_str("&#39;")?,
                control if control.is_control() || is_control(control) => {}
                other => f.write_char(other)?,
            }
        }
        Ok(())
    }
}

/// Returns `text` as [`Escaped`] writes it.
pub fn escaped(text: &str) -> String {
    Escaped(text).to_string()
}

/// Returns `text` for an HTML element's content: a position's name may break after its `+` and `=`, and what is written from
/// right to left keeps its order to itself.
pub fn content(text: &str) -> String {
    let mut written = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(run) = right_to_left(rest) {
        written += &breakable(&rest[..run.start]);
        written += &format!("<bdi>{}</bdi>", Escaped(&rest[run.clone()]));
        rest = &rest[run.end..];
    }
    written + &breakable(rest)
}

fn breakable(text: &str) -> String {
    let escaped = escaped(text);
    let mut broken = String::with_capacity(escaped.len());
    let mut letters = escaped.chars().peekable();
    let mut before = ' ';
    while let Some(letter) = letters.next() {
        broken.push(letter);
        let joins = matches!(letter, '+' | '=') && before.is_alphanumeric();
        if joins && letters.peek().is_some_and(|next| next.is_alphanumeric()) {
            broken.push_str("<wbr>");
        }
        before = letter;
    }
    broken
}

/// Returns JSON text for a script element: no `<` is left that could end the element or begin a comment.
pub fn json_in_script(json: &str) -> String {
    json.replace('<', "\\u003c")
}

/// Returns `bytes` as base64.
pub fn base64(bytes: &[u8]) -> String {
    STANDARD.encode(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn markup_in_a_text_stays_text() {
        let shown = Escaped("<img src=x onerror='alert(\"&\")'>\u{7}").to_string();
        assert_eq!(shown, "&lt;img src=x onerror=&#39;alert(&quot;&amp;&quot;)&#39;&gt;");
    }

    #[test]
    fn what_turns_the_direction_of_writing_is_left_out() {
        let shown = Escaped("a\u{202e}b\u{2066}c\u{2069}d\u{202c}").to_string();
        assert_eq!(shown, "abcd");
        assert_eq!(content("\u{202e}neerg"), "neerg");
    }

    #[test]
    fn what_is_written_from_right_to_left_stands_by_itself() {
        for (text, written) in [
            ("שחור (a+), 7.6 kΩ", "<bdi>שחור</bdi> (a+), 7.6 kΩ"),
            ("the lead שחור לבן 5", "the lead <bdi>שחור לבן</bdi> 5"),
            ("أسود & <b>", "<bdi>أسود</bdi> &amp; &lt;b&gt;"),
            ("black", "black"),
        ] {
            assert_eq!(content(text), written);
        }
    }

    #[test]
    fn json_in_a_script_cannot_end_it_and_stays_the_same_json() {
        let json = serde_json::to_string("</script><!--").unwrap();
        let safe = json_in_script(&json);
        assert!(!safe.contains('<'));
        assert_eq!(serde_json::from_str::<String>(&safe).unwrap(), "</script><!--");
    }

    #[test]
    fn a_name_breaks_between_its_parts_and_a_number_does_not() {
        assert_eq!(
            content("selector:2+add-neck:1+bridge=split-b"),
            "selector:2+<wbr>add-neck:1+<wbr>bridge=<wbr>split-b"
        );
        assert_eq!(content("−1 to +2.5 dB"), "−1 to +2.5 dB");
        assert_eq!(content("a+<b>=+"), "a+&lt;b&gt;=+");
    }
}
