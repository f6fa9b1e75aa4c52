//! Values that lack their quotes, such as `resistance = 3.61k`, told as such in place of what a parser of TOML makes of
//! them.

use std::ops::Range;

use toml::de::DeTable;

use super::Fault;

/// The most characters of a value that lacks its quotes.
const LONGEST: usize = 80;

/// Returns `errors`, the faults of a text that is no TOML, with one in place of those on a line where a value lacks its
/// quotes.
pub(super) fn told(text: &str, errors: Vec<Fault>) -> Vec<Fault> {
    let breaks: Vec<usize> = text.match_indices('\n').map(|(at, _)| at).collect();
    let line_of = |at: usize| breaks.partition_point(|end| *end < at);
    let values = unquoted(text);
    let lines: Vec<usize> = values.iter().map(|value| line_of(value.start)).collect();
    let is_elsewhere = |error: &Fault| lines.binary_search(&line_of(error.span.start)).is_err();
    let mut faults: Vec<Fault> = errors.into_iter().filter(is_elsewhere).collect();
    faults.extend(values.into_iter().map(|value| {
        let given = &text[value.clone()];
        let bare = given.trim_end_matches([',', ';']);
        if is_toml(bare) {
            let beyond = &given[bare.len()..];
            let message = format!("`{given}` ends with a `{beyond}`, and a value ends with its line");
            return Fault::new(value, message).hint(format!("leave out the `{beyond}`"));
        }
        let inner = bare.trim_matches(is_typographic_quote);
        let wanted = if inner == bare { "quotes" } else { "straight quotes" };
        Fault::new(value, format!("`{given}` wants {wanted}")).hint(format!("write \"{inner}\""))
    }));
    faults
}

fn is_typographic_quote(c: char) -> bool {
    matches!(c, '\u{2018}'..='\u{201f}' | '\u{ab}' | '\u{bb}')
}

/// Returns the bytes of each value that begins as a word or number does and is neither a number, a date nor a truth
/// value, in the order of the text.
fn unquoted(text: &str) -> Vec<Range<usize>> {
    let mut found = Vec::new();
    let mut containers: Vec<u8> = Vec::new();
    let mut at = 0;
    let mut line_is_blank = true;
    while let Some(byte) = text.as_bytes().get(at) {
        let begins_a_line = line_is_blank;
        line_is_blank = *byte == b'\n' || begins_a_line && matches!(byte, b' ' | b'\t' | b'\r');
        let is_followed_by_a_value = match byte {
            b'#' => {
                at = end_of_line(text, at);
                continue;
            }
            b'"' | b'\'' => {
                at = end_of_string(text, at);
                continue;
            }
            // A heading is no list.
            b'[' if containers.is_empty() && begins_a_line => {
                at = end_of_line(text, at);
                continue;
            }
            b'[' | b'{' => {
                containers.push(*byte);
                *byte == b'['
            }
            b']' | b'}' => {
                containers.pop();
                false
            }
            b',' => containers.last() == Some(&b'['),
            b'=' => true,
            _ => false,
        };
        at += 1;
        if is_followed_by_a_value {
            let rest = &text[at..];
            let blanks = if containers.is_empty() { &[' ', '\t'][..] } else { &[' ', '\t', '\r', '\n'] };
            let from = at + rest.len() - rest.trim_start_matches(blanks).len();
            if let Some(value) = unquoted_value(text, from, !containers.is_empty()) {
                at = value.end;
                found.push(value);
            }
        }
    }
    found
}

fn end_of_line(text: &str, at: usize) -> usize {
    text[at..].find('\n').map_or(text.len(), |to| at + to)
}

/// Returns where the string that opens at `at` has closed.
fn end_of_string(text: &str, at: usize) -> usize {
    let quote = &text[at..=at];
    let triple = quote.repeat(3);
    if text[at..].starts_with(&triple) {
        return text[at + 3..].find(&triple).map_or(text.len(), |closes| at + 3 + closes + 3);
    }
    let mut escaped = false;
    for (i, c) in text[at + 1..].char_indices() {
        match c {
            '\n' => return at + 1 + i,
            '\\' if quote == "\"" && !escaped => escaped = true,
            c if quote.starts_with(c) && !escaped => return at + 1 + i + 1,
            _ => escaped = false,
        }
    }
    text.len()
}

/// Returns the bytes of the value that begins at `at`, in a list or in braces where `contained`, if it lacks its quotes.
fn unquoted_value(text: &str, at: usize, contained: bool) -> Option<Range<usize>> {
    let begins = |c: char| c.is_alphanumeric() || matches!(c, '.' | '+' | '-') || is_typographic_quote(c);
    if !text[at..].starts_with(begins) {
        return None;
    }
    let ends = |c: char| matches!(c, '\n' | '#') || contained && matches!(c, ',' | ']' | '}');
    let mut characters = text[at..].char_indices().take(LONGEST);
    let length = characters.find(|(_, c)| ends(*c)).map(|(length, _)| length);
    let length = length.or_else(|| (text[at..].chars().nth(LONGEST).is_none()).then_some(text.len() - at))?;
    let value = text[at..at + length].trim_end();
    let lacks_quotes = !value.contains(['=', '"', '\'', '[', '{']) && !is_toml(value);
    lacks_quotes.then_some(at..at + value.len())
}

fn is_toml(value: &str) -> bool {
    DeTable::parse(&format!("value = {value}")).is_ok()
}

#[cfg(test)]
mod tests {
    use crate::document::Document;

    fn faults(text: &str) -> Vec<(usize, String, String)> {
        let refusal = Document::new("mine.toml", text).interpret(|_| Some(())).expect_err("no TOML");
        let told = |fault: &crate::document::Fault| {
            (refusal.line_of(fault), fault.message.clone(), fault.hint.clone().unwrap_or_default())
        };
        refusal.faults().iter().map(told).collect()
    }

    #[test]
    fn a_value_that_lacks_its_quotes_is_told_so_and_nothing_else_is() {
        let text = "format = 1\nscale = 648 mm # a length\n[pickup.coil_a]\nresistance = 3.61k\ncapacitance = .1n\n\
            loss = 220,5k\nwinding = clockwise\n[controls]\nvolume = { pot = 500k, taper = audio, turned = 10 }\n\
            joints = [[\"a = b\", a+],\n  [R3, \"x # y\"]]\nname = \u{201c}mine\u{201d}\n";
        let told = faults(text);
        let wants = |line: usize, value: &str| {
            (line, format!("`{value}` wants quotes"), format!("write \"{value}\""))
        };
        let curly = "`\u{201c}mine\u{201d}` wants straight quotes".to_owned();
        assert_eq!(
            told,
            [
                wants(2, "648 mm"),
                wants(4, "3.61k"),
                wants(5, ".1n"),
                wants(6, "220,5k"),
                wants(7, "clockwise"),
                wants(9, "500k"),
                wants(9, "audio"),
                wants(10, "a+"),
                wants(11, "R3"),
                (12, curly, "write \"mine\"".to_owned()),
            ]
        );
    }

    #[test]
    fn other_faults_of_such_a_text_stay() {
        let told = faults("format = = 1\nscale = 648 mm\nname = \"open\n");
        assert_eq!(told.iter().map(|(line, ..)| *line).collect::<Vec<_>>(), [1, 1, 2, 3], "{told:?}");
        assert!(told[2].1.contains("wants quotes") && !told[0].1.contains("quotes"), "{told:?}");
    }

    #[test]
    fn json_and_a_sets_figures_are_told_as_what_they_are() {
        let told = faults("{\n  \"schema\": 1,\n  \"arrangements\": []\n}\n");
        assert_eq!(told.len(), 1, "{told:?}");
        assert!(told[0].1.contains("a set's figures"), "{told:?}");
        assert!(faults("{ \"a\": [1, 2] }")[0].1.contains("this is JSON"));
    }

    #[test]
    fn a_page_for_a_browser_is_one_fault() {
        let told = faults("\n<!DOCTYPE html>\n<p>a = b</p>\n");
        assert_eq!(told.len(), 1, "{told:?}");
        assert!(told[0].1.contains("HTML") && told[0].0 == 2, "{told:?}");
    }

    #[test]
    fn a_value_with_a_sign_too_many_behind_it_is_told_to_lose_it() {
        let told = faults("format = 1;\nname = mine;\nscale = 648 mm,\n");
        let hints: Vec<&str> = told.iter().map(|(_, _, hint)| hint.as_str()).collect();
        assert_eq!(hints, ["leave out the `;`", "write \"mine\"", "write \"648 mm\""]);
    }
}
