//! Text made safe for a page, and templates filled with it.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use sha2::{Digest, Sha256};

use crate::document::Escaped;
use crate::report::{Column, Table};

/// Returns `text` for an element's content or an attribute's quoted value.
pub(super) fn escaped(text: &str) -> String {
    Escaped(text).to_string()
}

/// Returns `text` for an element's content, where a position's name may break after its `+` and `=`.
pub(super) fn content(text: &str) -> String {
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
pub(super) fn json_in_script(json: &str) -> String {
    json.replace('<', "\\u003c")
}

/// Returns `template` with each `{{key}}` replaced by its value, once: what stands in a value is left as it is.
///
/// # Panics
/// Where a key has no value, or a value no place, which a test rules out.
pub(super) fn filled(template: &str, values: &[(&str, &str)]) -> String {
    let length = template.len() + values.iter().map(|(_, v)| v.len()).sum::<usize>();
    let mut text = String::with_capacity(length);
    let mut used = 0;
    let mut rest = template;
    while let Some((before, after)) = rest.split_once("{{") {
        let (key, after) = after.split_once("}}").expect("a key ends");
        let (_, value) =
            values.iter().find(|(k, _)| *k == key).unwrap_or_else(|| panic!("no value for {key}"));
        text.push_str(before);
        text.push_str(value);
        used += 1;
        rest = after;
    }
    assert_eq!(used, values.len(), "every value has its place");
    text + rest
}

/// Returns `text` as base64.
pub(super) fn base64(bytes: &[u8]) -> String {
    STANDARD.encode(bytes)
}

/// Returns the content security policy of a page that holds exactly this script and this style sheet and asks nothing
/// of any network.
pub(super) fn policy(script: &str, style: &str) -> String {
    format!(
        "default-src 'none'; script-src {}; style-src {}; img-src data:; base-uri 'none'; form-action 'none'",
        allowed(script),
        allowed(style)
    )
}

/// Returns the source expression by which a content security policy allows exactly this inline text.
fn allowed(text: &str) -> String {
    format!("'sha256-{}'", base64(&Sha256::digest(text.as_bytes())))
}

/// Returns a table called `name` with a heading of one row, the first column being the rows' names.
pub(super) fn table(name: &str, table: &Table) -> String {
    let cell = |tag: &str, scope: &str, number: bool, text: &str| {
        let class = if number { " class=\"n\"" } else { "" };
        format!("<{tag}{scope}{class}>{}</{tag}>", content(text))
    };
    let numbers: Vec<bool> = table.columns().iter().map(Column::is_numbers).collect();
    let heads = table.columns().iter().map(|c| cell("th", " scope=\"col\"", c.is_numbers(), &c.title()));
    let row = |cells: &Vec<String>| -> String {
        let cells = cells.iter().zip(&numbers).enumerate().map(|(i, (text, number))| match i {
            0 => cell("th", " scope=\"row\"", *number, text),
            _ => cell("td", "", *number, text),
        });
        format!("<tr>{}</tr>\n", cells.collect::<String>())
    };
    let rows: String = table.rows().iter().map(row).collect();
    format!(
        "<div class=\"scroll\" role=\"region\" aria-label=\"{name}\" tabindex=\"0\"><table>\n<thead><tr>{}</tr></thead>\n<tbody>\n{rows}</tbody>\n</table></div>\n",
        heads.collect::<String>()
    )
}

/// Returns a list, or nothing where there are no `items`.
pub(super) fn list<S: AsRef<str>>(items: &[S]) -> String {
    if items.is_empty() {
        return String::new();
    }
    let items: Vec<String> =
        items.iter().map(|item| format!("<li>{}</li>\n", content(item.as_ref()))).collect();
    format!("<ul>\n{}</ul>\n", items.concat())
}

#[cfg(test)]
mod tests {
    use super::*;

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

    #[test]
    fn a_value_is_not_looked_through_for_keys() {
        assert_eq!(filled("{{a}}-{{b}}.", &[("a", "{{b}}"), ("b", "2")]), "{{b}}-2.");
    }

    /// The digest of the empty text: FIPS 180-4's, as base64.
    #[test]
    fn a_policy_allows_a_text_by_its_digest() {
        assert_eq!(allowed(""), "'sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU='");
    }
}
