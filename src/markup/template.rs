//! Templates filled with values, and lists.

use super::content;

/// Returns `template` with each `{{key}}` replaced by its value, once: what stands in a value is left as it is.
///
/// # Panics
/// Where a key has no value, or a value no place: a fault of the template, which its own test rules out.
pub fn filled(template: &str, values: &[(&str, &str)]) -> String {
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

/// Returns a list of `items`, or nothing where there are none.
pub fn list<S: AsRef<str>>(items: &[S]) -> String {
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
    fn a_value_is_not_looked_through_for_keys() {
        assert_eq!(filled("{{a}}-{{b}}.", &[("a", "{{b}}"), ("b", "2")]), "{{b}}-2.");
    }

    #[test]
    fn a_list_of_nothing_is_nothing() {
        assert_eq!(list::<&str>(&[]), "");
        assert_eq!(list(&["<"]), "<ul>\n<li>&lt;</li>\n</ul>\n");
    }
}
