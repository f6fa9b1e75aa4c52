//! Text from files made harmless in markup.

use std::fmt::{self, Write};

/// A text written with the characters that mean something in HTML and SVG replaced, and control characters left
/// out.
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
                control if control.is_control() => {}
                other => f.write_char(other)?,
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::Escaped;

    #[test]
    fn markup_in_a_text_stays_text() {
        let shown = Escaped("<img src=x onerror='alert(\"&\")'>\u{7}").to_string();
        assert_eq!(shown, "&lt;img src=x onerror=&#39;alert(&quot;&amp;&quot;)&#39;&gt;");
    }
}
