//! Values as they are written into a document.

use std::fmt;

/// A value to be written.
#[derive(Debug, Clone, PartialEq)]
pub enum Literal {
    /// A text, in quotes.
    Text(String),
    /// A finite number, without quotes.
    Number(f64),
    /// A list of texts.
    Texts(Vec<String>),
    /// A list of finite numbers.
    Numbers(Vec<f64>),
    /// A list of lists of texts.
    TextLists(Vec<Vec<String>>),
    /// A value as a document has it already, quotes and all.
    AsWritten(String),
}

impl From<&str> for Literal {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

impl fmt::Display for Literal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let quoted_list = |texts: &[String]| list(texts.iter().map(|text| quoted(text)));
        match self {
            Self::Text(text) => f.write_str(&quoted(text)),
            Self::Number(number) => write!(f, "{number}"),
            Self::Texts(texts) => f.write_str(&quoted_list(texts)),
            Self::Numbers(numbers) => f.write_str(&list(numbers.iter().map(f64::to_string))),
            Self::AsWritten(text) => f.write_str(text),
            Self::TextLists(lists) => f.write_str(&list(lists.iter().map(|texts| quoted_list(texts)))),
        }
    }
}

fn list(items: impl Iterator<Item = String>) -> String {
    format!("[{}]", items.collect::<Vec<_>>().join(", "))
}

/// Returns `text` as a basic string of TOML, in quotes.
pub fn quoted(text: &str) -> String {
    let mut quoted = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => quoted.extend(['\\', c]),
            control if control.is_control() => quoted += &format!("\\u{:04x}", u32::from(control)),
            other => quoted.push(other),
        }
    }
    quoted + "\""
}
