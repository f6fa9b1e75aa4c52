//! What a terminal is called in the trade's words: by its place and its part, a lead by its colour.

use super::called::lead_called;
use super::parts::{BRAID, COLD, FRAME, HOT, SHIELD};
use super::{Part, PartKind, Parts, Role, Terminal, TwoLegs};
use crate::guitar::Lever;

impl Parts {
    /// Returns what a terminal is called in the trade's words, such as `middle lug of the volume control` or `bridge pickup's
    /// white lead`: a pot's lugs as seen from behind with the lugs up.
    pub fn in_words(&self, terminal: Terminal) -> String {
        let (part, lug) = (self.part_of(terminal), self.lug_of(terminal));
        match part.kind() {
            PartKind::Pot(role, whose) => {
                let lug = match lug {
                    "1" => "left lug",
                    "2" => "middle lug",
                    "3" => "right lug",
                    other => other,
                };
                format!("{lug} of the {}", self.of_pickup(whose, control(role)))
            }
            PartKind::TwoLegs(what, whose) => {
                let leg = if lug == "1" { "first" } else { "second" };
                format!("{leg} leg of the {}", self.of_pickup(whose, component(what)))
            }
            PartKind::Lever(_) if lug == FRAME => format!("frame of the {}", self.lever_in_words(terminal)),
            PartKind::Lever(_) => format!("lug {lug} of the {}", self.lever_in_words(terminal)),
            PartKind::Jack => format!("jack's {lug}"),
            PartKind::Pickup(_) => {
                let name = part.name();
                match (lead_called(self, terminal), lug) {
                    (_, SHIELD | BRAID) => format!("{name} pickup's {lug}"),
                    (Some(colour), _) => format!("{name} pickup's {colour} lead"),
                    (None, HOT | COLD) => format!("{name} pickup's {lug} lead"),
                    (None, end) => format!("{name} pickup's lead {end}"),
                }
            }
            PartKind::Strings => "strings' wire".to_owned(),
            PartKind::Cavity => "cavity's shield".to_owned(),
            PartKind::Buffer => format!("buffer's {lug}"),
            PartKind::Battery => format!("battery's {lug} lead"),
        }
    }

    /// Returns the same as it stands in a sentence, with the article where it takes one.
    pub fn the(&self, terminal: Terminal) -> String {
        let words = self.in_words(terminal);
        match self.part_of(terminal).kind() {
            PartKind::Lever(_) if self.lug_of(terminal) != FRAME => words,
            _ => format!("the {words}"),
        }
    }

    /// Returns what a part is called in the trade's words as it stands in a sentence, such as `the volume control` or `the neck
    /// pickup`.
    pub(super) fn the_part(&self, part: &Part) -> String {
        let name = part.name();
        match part.kind() {
            PartKind::Pot(role, whose) => format!("the {}", self.of_pickup(whose, control(role))),
            PartKind::TwoLegs(what, whose) => format!("the {}", self.of_pickup(whose, component(what))),
            PartKind::Lever(Lever::Switch(_)) => format!("switch {name}"),
            PartKind::Lever(_) if name == "selector" => "the selector".to_owned(),
            PartKind::Lever(_) => format!("selector {name}"),
            PartKind::Pickup(_) => format!("the {name} pickup"),
            PartKind::Jack => "the jack".to_owned(),
            PartKind::Strings => "the strings".to_owned(),
            PartKind::Cavity => "the cavity's shield".to_owned(),
            PartKind::Buffer => "the buffer".to_owned(),
            PartKind::Battery => "the battery".to_owned(),
        }
    }

    /// Returns what a terminal is called with the file's name after it: `the middle lug of the volume control (volume.2)`.
    pub fn told(&self, terminal: Terminal) -> String {
        format!("{} ({})", self.the(terminal), self.name_of(terminal))
    }

    /// Returns what a selector or switch is called; one that is named for what it is, by that alone.
    fn lever_in_words(&self, terminal: Terminal) -> String {
        let part = self.part_of(terminal);
        match part.kind() {
            PartKind::Lever(Lever::Switch(_)) => format!("switch {}", part.name()),
            _ if part.name() == "selector" => "selector".to_owned(),
            _ => format!("selector {}", part.name()),
        }
    }

    fn of_pickup(&self, whose: Option<usize>, what: &str) -> String {
        whose.map_or_else(
            || what.to_owned(),
            |place| format!("{} pickup's {what}", self.guitar().pickups()[place].name()),
        )
    }
}

fn control(role: Role) -> &'static str {
    match role {
        Role::Volume => "volume control",
        Role::Tone => "tone control",
        Role::BassCut => "bass cut control",
        Role::Blend => "blend control",
    }
}

fn component(what: TwoLegs) -> &'static str {
    match what {
        TwoLegs::ToneCapacitor => "tone capacitor",
        TwoLegs::BleedCapacitor => "treble bleed's capacitor",
        TwoLegs::BleedResistor => "treble bleed's resistor",
        TwoLegs::BassCapacitor => "bass cut's capacitor",
        TwoLegs::BypassCapacitor => "bypass capacitor",
        TwoLegs::BypassResistor => "bypass resistor",
        TwoLegs::Load => "load resistor",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::Document;
    use crate::guitar::Guitar;

    fn travel() -> Guitar {
        let text = include_str!("../../presets/example/travel.toml");
        Guitar::read(&Document::new("travel.toml", text)).unwrap()
    }

    /// Returns every terminal of a guitar by its name, in words.
    fn all(guitar: &Guitar) -> Vec<(String, String)> {
        let parts = Parts::of(guitar).unwrap();
        parts.terminals().map(|own| (parts.name_of(own), parts.in_words(own))).collect()
    }

    fn words<'w>(all: &'w [(String, String)], name: &str) -> &'w str {
        all.iter().find(|(own, _)| own == name).map_or("", |(_, words)| words)
    }

    #[test]
    fn terminals_are_called_by_place_and_colour() {
        let own = all(&travel());
        for (name, expected) in [
            ("volume.1", "left lug of the volume control"),
            ("volume.2", "middle lug of the volume control"),
            ("volume.3", "right lug of the volume control"),
            ("volume.case", "case of the volume control"),
            ("middle.a+", "middle pickup's white lead"),
            ("mode.L2", "lug L2 of the switch mode"),
            ("jack.tip", "jack's tip"),
            ("strings.wire", "strings' wire"),
        ] {
            assert_eq!(words(&own, name), expected, "{own:#?}");
        }
        let own = all(&Guitar::built_in("set-neck").unwrap());
        assert_eq!(words(&own, "bridge.shield"), "bridge pickup's shield");
        assert_eq!(words(&own, "bridge.a+"), "bridge pickup's lead a+");
        assert_eq!(words(&own, "selector.0"), "lug 0 of the selector");
        assert_eq!(words(&own, "selector.frame"), "frame of the selector");
        assert_eq!(words(&own, "tone-cap.2"), "second leg of the tone capacitor");
    }

    #[test]
    fn no_two_terminals_are_called_alike() {
        let text = include_str!("../../tests/data/many-states.toml");
        let large = Guitar::read(&Document::new("many-states.toml", text)).unwrap();
        for guitar in [large, travel(), Guitar::built_in("set-neck").unwrap()] {
            let mut words: Vec<String> = all(&guitar).into_iter().map(|(_, words)| words).collect();
            let count = words.len();
            words.sort();
            words.dedup();
            assert_eq!(words.len(), count, "{}", guitar.name());
        }
    }
}
