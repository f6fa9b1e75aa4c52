//! The colours in which wires are drawn.

use crate::wiring::{CoilName, Terminal, Thing};

/// A wire's colour, and that of its stripe where it has one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Colour {
    pub(crate) base: &'static str,
    pub(crate) stripe: Option<&'static str>,
}

/// The words that people use for the colours of insulation, and how each is drawn.
const KNOWN: [(&str, &str); 20] = [
    ("black", "#24272b"),
    ("white", "#ffffff"),
    ("red", "#c23b31"),
    ("green", "#3f8a4d"),
    ("blue", "#3568a8"),
    ("yellow", "#e9c53d"),
    ("orange", "#e0832f"),
    ("brown", "#7a5233"),
    ("grey", "#9a9fa6"),
    ("gray", "#9a9fa6"),
    ("silver", "#c3c8ce"),
    ("bare", "#c3c8ce"),
    ("clear", "#e6e3da"),
    ("pink", "#e3a1ad"),
    ("purple", "#7d569b"),
    ("violet", "#7d569b"),
    ("tan", "#c9a77a"),
    ("gold", "#c7a24a"),
    ("copper", "#b5622a"),
    ("turquoise", "#3fa3a0"),
];

impl Colour {
    /// Returns the colour of a wire: that which its lead's name names, or one of our own by what it leads to.
    pub(super) fn of(thing: Thing, lead: Option<&str>) -> Self {
        lead.and_then(Self::named).unwrap_or_else(|| Self { base: own(thing), stripe: None })
    }

    /// Returns the first two colours that are words of `name`.
    pub(crate) fn named(name: &str) -> Option<Self> {
        let lower = name.to_lowercase();
        let words = lower.split(|c: char| !c.is_alphabetic());
        let mut colours = words
            .filter_map(|word| KNOWN.iter().find(|(known, _)| *known == word))
            .map(|(_, colour)| *colour);
        let base = colours.next()?;
        Some(Self { base, stripe: colours.next().filter(|stripe| *stripe != base) })
    }
}

fn own(thing: Thing) -> &'static str {
    match thing {
        Thing::Terminal(Terminal::Hot) => "#1f2a37",
        Thing::Terminal(Terminal::Ground) | Thing::Shield => "#8a929c",
        Thing::Terminal(end) => match (end.coil(), end) {
            (Some(CoilName::A), Terminal::APlus) => "#2f6090",
            (Some(CoilName::A), _) => "#9cbad6",
            (Some(CoilName::B), Terminal::BPlus) => "#b5622a",
            (Some(CoilName::B), _) => "#e3b592",
            (None, _) => "#1f2a37",
        },
        Thing::Lug(_) => "#b5622a",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wiring::lead::COLOURS;

    #[test]
    fn a_word_that_is_drawn_in_its_colour_is_taken_for_one_in_joints() {
        assert_eq!(KNOWN.map(|(word, _)| word), COLOURS);
    }

    #[test]
    fn a_lead_is_drawn_in_the_colours_of_its_name() {
        let of = |name| Colour::of(Thing::Terminal(Terminal::APlus), Some(name));
        assert_eq!(of("White"), Colour { base: "#ffffff", stripe: None });
        assert_eq!(of("black/white stripe"), Colour { base: "#24272b", stripe: Some("#ffffff") });
        assert_eq!(of("the long one"), Colour { base: "#2f6090", stripe: None });
    }
}
