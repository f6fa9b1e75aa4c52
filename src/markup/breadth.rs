//! About how wide words are drawn, in a typeface that only the viewer knows.

/// Returns `text` cut to `room` ems of bold letters, with dots where it was cut.
pub fn shortened(text: &str, room: f64) -> String {
    if breadth(text) <= room {
        return text.to_owned();
    }
    let mut taken = of_letter('…');
    let fits = |letter: &char| {
        taken += of_letter(*letter);
        taken <= room
    };
    text.chars().take_while(fits).chain(['…']).collect()
}

/// Returns about how wide `text` is in bold letters, in ems, rather more than less.
pub fn breadth(text: &str) -> f64 {
    text.chars().map(of_letter).sum()
}

fn of_letter(letter: char) -> f64 {
    match letter {
        'i' | 'j' | 'l' | 'I' | '.' | ',' | ':' | '|' | '\'' => 0.36,
        'f' | 'r' | 't' | ' ' | '-' | '/' | '(' | ')' => 0.46,
        'w' => 0.93,
        'm' | 'M' | 'W' | '…' => 1.05,
        'A'..='Z' => 0.8,
        '\u{1100}'..='\u{11ff}' | '\u{2e80}'.. => 1.1,
        _ => 0.7,
    }
}

#[cfg(test)]
mod tests {
    use super::shortened;

    #[test]
    fn a_label_is_cut_where_its_letters_are_too_broad_for_it() {
        for (text, label) in [
            ("white", "white"),
            ("black/white", "black/white"),
            ("turquoise with a stripe", "turquoise…"),
            ("WWWWWWWWWWW", "WWWWW…"),
            ("黒と白の縞の線", "黒と白の縞…"),
        ] {
            assert_eq!(shortened(text, 6.8), label);
        }
    }
}
