//! Text from files made harmless on a terminal.

/// Returns `text` with what could drive a terminal or turn the direction of writing made visible; names of files and
/// texts in them may come from strangers. It is shown as JSON writes it, so that a JSON text stays one.
pub fn visible(text: &str) -> String {
    let drives = |c: char| {
        (c.is_control() && c != '\n') || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    };
    let shown = |c: char| if drives(c) { format!("\\u{:04x}", u32::from(c)) } else { c.to_string() };
    if text.contains(drives) { text.chars().map(shown).collect() } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::visible;

    #[test]
    fn what_could_drive_a_terminal_is_shown_and_not_obeyed() {
        let shown = visible("a\u{1b}[2Jb\r\u{202e}c\nd \u{3a9}\u{9b}");
        assert_eq!(shown, "a\\u001b[2Jb\\u000d\\u202ec\nd \u{3a9}\\u009b");
        let json = serde_json::to_string("turned \u{202e} round").unwrap();
        assert_eq!(serde_json::from_str::<String>(&visible(&json)).unwrap(), "turned \u{202e} round");
    }
}
