//! A page's head: its title, its style sheet, and the policy that holds it to what it carries.

use std::fmt;

use sha2::{Digest, Sha256};

use super::direction::isolated;
use super::{Escaped, base64};

/// Everything of a page before its body.
#[derive(Debug, Clone, Copy)]
pub struct Head<'h> {
    /// What the page is about, as plain text.
    pub about: &'h str,
    /// What kind of page it is, such as `survey`.
    pub kind: &'h str,
    /// The style sheet, in parts.
    pub style: &'h [&'h str],
    /// The scripts that may run.
    pub scripts: &'h [&'h str],
    /// Whether a script may have a thread made of its own text.
    pub has_worker: bool,
    /// Whether pictures stand in the page, as data.
    pub has_pictures: bool,
}

impl Head<'_> {
    /// Returns the content security policy: exactly these scripts and this style sheet, and nothing from any network.
    fn policy(&self, style: &str) -> String {
        let scripts =
            self.scripts.iter().flat_map(|script| [" ".to_owned(), allowed(script)]).collect::<String>();
        let script = if scripts.is_empty() { scripts } else { format!("; script-src{scripts}") };
        let worker = if self.has_worker { "; worker-src blob:" } else { "" };
        let pictures = if self.has_pictures { "; img-src data:" } else { "" };
        let style = allowed(style);
        format!(
            "default-src 'none'{script}{worker}; style-src {style}{pictures}; base-uri 'none'; form-action 'none'"
        )
    }
}

impl fmt::Display for Head<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let style = self.style.concat();
        // The policy's own quotes are single and it holds nothing from outside.
        write!(
            f,
            "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
             <meta http-equiv=\"Content-Security-Policy\" content=\"{}\">\n\
             <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
             <meta name=\"color-scheme\" content=\"light dark\">\n\
             <meta name=\"referrer\" content=\"no-referrer\">\n\
             <title>{}: {}</title>\n<style>{style}</style>\n</head>",
            self.policy(&style),
            isolated(self.about),
            Escaped(self.kind),
        )
    }
}

/// Returns the source expression by which a content security policy allows exactly this inline text.
fn allowed(text: &str) -> String {
    format!("'sha256-{}'", base64(&Sha256::digest(text.as_bytes())))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The digest of the empty text: FIPS 180-4's, as base64.
    #[test]
    fn a_policy_allows_a_text_by_its_digest() {
        assert_eq!(allowed(""), "'sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU='");
    }

    #[test]
    fn a_page_without_a_script_or_pictures_allows_none() {
        let head = Head {
            about: "a <b>",
            kind: "sheet",
            style: &["p {}", "q {}"],
            scripts: &[],
            has_worker: false,
            has_pictures: false,
        };
        let text = head.to_string();
        let style = allowed("p {}q {}");
        let policy =
            format!("\"default-src 'none'; style-src {style}; base-uri 'none'; form-action 'none'\"");
        assert!(text.contains(&policy) && text.contains("<title>a &lt;b&gt;: sheet</title>"), "{text}");
        assert!(text.contains("<style>p {}q {}</style>"), "{text}");
        let more = Head { scripts: &["", "a"], has_worker: true, has_pictures: true, ..head }.to_string();
        let scripts = format!("script-src {} {}; worker-src blob:;", allowed(""), allowed("a"));
        assert!(more.contains(&scripts) && more.contains("img-src data:"), "{more}");
    }
}
