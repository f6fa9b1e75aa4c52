//! The trade's other words for what has a name here, so that a refusal can lead from the one to the other.

use crate::document::nearest;

/// Words that mean the same, each in small letters with hyphens between its parts, and the names that they may stand
/// for here.
type Meaning = (&'static [&'static str], &'static [&'static str]);

/// Words for arrangements, and for what a throw is asked for.
pub(crate) const ARRANGEMENT_WORDS: [Meaning; 9] = [
    (
        &[
            "one-coil",
            "1-coil",
            "single-coil",
            "singlecoil",
            "single",
            "one-coil-alone",
            "coil-split",
            "split-coil",
            "split",
            "splitted",
            "coil-cut",
            "coil-tap",
            "tap",
            "tapped",
            "half",
        ],
        &["split", "split-a", "split-b", "alone"],
    ),
    (
        &[
            "both",
            "both-coils",
            "two-coils",
            "humbucker",
            "humbucking",
            "hb",
            "full",
            "full-humbucker",
            "normal",
            "standard",
            "stock",
            "factory",
        ],
        &["series", "parallel"],
    ),
    (&["in-series", "series-humbucker"], &["series"]),
    (&["in-parallel", "parallel-humbucker"], &["parallel"]),
    (
        &[
            "out-of-phase",
            "oop",
            "phase",
            "out-phase",
            "anti-phase",
            "antiphase",
            "phase-reversed",
            "reversed",
            "reverse",
            "reverse-phase",
            "inverted",
        ],
        &["series-reversed", "parallel-reversed"],
    ),
    (
        &[
            "a",
            "b",
            "coil-a",
            "coil-b",
            "screw",
            "screws",
            "screw-coil",
            "slug",
            "slugs",
            "slug-coil",
            "inner",
            "inner-coil",
            "outer",
            "outer-coil",
            "north",
            "north-coil",
            "south",
            "south-coil",
        ],
        &["split-a", "split-b"],
    ),
    (&["partial-split", "partial", "bypass", "bypassed"], &["series-bypassed"]),
    (
        &["mute", "muted", "kill", "kill-switch", "killswitch", "silent", "silence", "nothing", "none"],
        &["off"],
    ),
    (&["anything", "whatever", "don-t-care"], &["any"]),
];

/// Words for switches and selectors.
pub(crate) const SWITCH_WORDS: [Meaning; 9] = [
    (
        &["dpdt", "mini-toggle", "mini-switch", "mini-dpdt", "dpdt-toggle", "dpdt-switch"],
        &["on-on", "on-on-on", "on-off-on"],
    ),
    (
        &[
            "push-pull",
            "pushpull",
            "push-push",
            "pushpush",
            "push-pull-pot",
            "push-push-pot",
            "pull-pot",
            "2-way",
            "two-way",
        ],
        &["on-on"],
    ),
    (&["spdt", "spdt-toggle", "spdt-switch"], &["on-on-single"]),
    (&["spst", "kill", "kill-switch", "killswitch", "on-off-switch"], &["on-off"]),
    (&["toggle", "toggle-switch"], &["three-way-toggle", "on-on", "on-on-on", "on-off-on"]),
    (&["3-way", "three-way"], &["three-way-toggle", "on-on-on", "on-off-on"]),
    (
        &["3-way-toggle", "three-way-selector", "3-way-selector", "pickup-selector", "selector"],
        &["three-way-toggle"],
    ),
    (&["5-way", "five-way", "blade", "5-way-blade", "5-way-switch"], &["five-way-blade"]),
    (&["rotary", "6-way", "six-way", "rotary-switch", "6-way-rotary"], &["rotary-six"]),
];

/// What a word that is no name here probably means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Meant<'k> {
    /// One of the names, misspelt or written in another way.
    Name(&'k str),
    /// A word of the trade for any of these names, of which there may be none among those known.
    Usual(&'static [&'static str]),
}

/// Returns what `given`, which is none of the names `known`, means among `words`, or what it is nearest to.
pub(crate) fn meant<'k>(given: &str, known: &[&'k str], words: &[Meaning]) -> Option<Meant<'k>> {
    let plain = hyphenated(given);
    if let Some(name) = known.iter().find(|name| **name == plain) {
        return Some(Meant::Name(name));
    }
    if let Some((_, names)) = words.iter().find(|(usual, _)| usual.contains(&plain.as_str())) {
        return Some(Meant::Usual(names));
    }
    // One slip of the pen is nearer than a shorter name within.
    if let Some(name) = known.iter().find(|name| strsim::osa_distance(name, &plain) == 1) {
        return Some(Meant::Name(name));
    }
    let Some(longest) = known.iter().filter(|name| is_within(name, &plain)).max_by_key(|name| name.len())
    else {
        return nearest(&plain, known.iter().copied()).map(Meant::Name);
    };
    // Of two names in one text neither is the one that is meant.
    let rest = plain.replacen(*longest, "", 1);
    (!known.iter().any(|name| is_within(name, &rest))).then_some(Meant::Name(longest))
}

impl Meant<'_> {
    /// Returns what to do about the word, where it means anything that is `known`.
    pub(crate) fn hint(self, known: &[&str]) -> Option<String> {
        match self {
            Self::Name(name) => Some(format!("did you mean `{name}`?")),
            Self::Usual(names) => {
                let names: Vec<String> = names
                    .iter()
                    .filter(|name| known.contains(name))
                    .map(|name| format!("`{name}`"))
                    .collect();
                let (last, others) = names.split_last()?;
                let listed =
                    if others.is_empty() { last.clone() } else { format!("{} or {last}", others.join(", ")) };
                Some(format!("that is {listed} here"))
            }
        }
    }
}

/// Returns `text` in small letters, its words and parts joined by hyphens.
fn hyphenated(text: &str) -> String {
    let parts = text.split(|c: char| !c.is_alphanumeric()).filter(|part| !part.is_empty());
    parts.collect::<Vec<_>>().join("-").to_lowercase()
}

/// Returns whether `name` stands in `plain` with nothing but whole parts around it.
fn is_within(name: &str, plain: &str) -> bool {
    format!("-{plain}-").contains(&format!("-{name}-"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_of_the_trade_leads_to_the_names_that_are_known() {
        let known = ["series", "parallel", "split", "series-reversed", "parallel-reversed"];
        let hint = |given: &str| meant(given, &known, &ARRANGEMENT_WORDS).and_then(|m| m.hint(&known));
        for (given, told) in [
            ("One Coil", "that is `split` here"),
            ("coil-tap", "that is `split` here"),
            ("humbucker", "that is `series` or `parallel` here"),
            ("out of phase", "that is `series-reversed` or `parallel-reversed` here"),
            ("Series", "did you mean `series`?"),
            ("series reversed", "did you mean `series-reversed`?"),
            ("paralel", "did you mean `parallel`?"),
        ] {
            assert_eq!(hint(given).as_deref(), Some(told), "{given}");
        }
        assert_eq!(hint("killswitch"), None, "no name for it is known here");
        assert_eq!((hint("xyz"), hint("series parallel split")), (None, None));
    }

    #[test]
    fn a_kind_of_switch_leads_to_its_tables_and_the_longest_name_within_counts() {
        let known = ["on-on", "on-on-on", "on-off-on", "on-on-single"];
        let hint = |given: &str| meant(given, &known, &SWITCH_WORDS).and_then(|m| m.hint(&known));
        for (given, told) in [
            ("DPDT", "that is `on-on`, `on-on-on` or `on-off-on` here"),
            ("push/pull", "that is `on-on` here"),
            ("ON/ON", "did you mean `on-on`?"),
            ("dpdt on-on-on", "did you mean `on-on-on`?"),
            ("onon", "did you mean `on-on`?"),
            ("on-on-onn", "did you mean `on-on-on`?"),
        ] {
            assert_eq!(hint(given).as_deref(), Some(told), "{given}");
        }
    }

    #[test]
    fn no_word_stands_for_two_meanings_and_none_is_a_name_itself() {
        for words in [&ARRANGEMENT_WORDS[..], &SWITCH_WORDS[..]] {
            let mut all: Vec<&str> = words.iter().flat_map(|(usual, _)| usual.iter().copied()).collect();
            assert!(all.iter().all(|word| hyphenated(word) == *word), "{all:?}");
            let count = all.len();
            all.sort_unstable();
            all.dedup();
            assert_eq!(all.len(), count);
        }
    }
}
