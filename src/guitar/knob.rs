//! The knobs of a guitar through which direct current finds its way, each by what it does and whose it is.

use super::{BassCut, Controls, Guitar, Pot};

/// A knob of one guitar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Knob {
    /// A volume: the guitar's own, or that of the pickup at this place.
    Volume(Option<usize>),
    /// A bass cut, likewise.
    BassCut(Option<usize>),
    /// The blend of two pickups.
    Blend,
}

impl Guitar {
    /// Returns its knobs with the position of each, 0 to 10, but for its tone controls: in their capacitors no direct
    /// current flows.
    pub fn knobs(&self) -> Vec<(Knob, f64)> {
        let mut knobs = Vec::new();
        let own = std::iter::once((None, &self.controls));
        let all = own.chain(self.pickups.iter().enumerate().map(|(place, p)| (Some(place), p.controls())));
        for (whose, controls) in all {
            knobs.extend(controls.volume().map(|pot| (Knob::Volume(whose), pot.turned())));
            knobs.extend(controls.bass_cut().map(|cut| (Knob::BassCut(whose), cut.pot().turned())));
        }
        knobs.extend(self.joined.blend().map(|blend| (Knob::Blend, blend.pot().turned())));
        knobs
    }

    /// Returns the guitar with `knob`, where it has it, at `turned`, held within 0 to 10.
    #[must_use]
    pub fn with_knob_at(&self, knob: Knob, turned: f64) -> Self {
        let mut guitar = self.clone();
        match knob {
            Knob::Volume(whose) => {
                if let Some(controls) = guitar.controls_of(whose) {
                    controls.volume = controls.volume.map(|pot| pot.at(turned));
                }
            }
            Knob::BassCut(whose) => {
                if let Some(controls) = guitar.controls_of(whose) {
                    let at = |cut: BassCut| BassCut { pot: cut.pot.at(turned), ..cut };
                    controls.bass_cut = controls.bass_cut.map(at);
                }
            }
            Knob::Blend => {
                if let Some(blend) = &mut guitar.joined.blend {
                    blend.pot = blend.pot.at(turned);
                }
            }
        }
        guitar
    }

    /// Returns the guitar with all its [`Guitar::knobs`] at 10.
    #[must_use]
    pub fn with_knobs_full(&self) -> Self {
        self.knobs().into_iter().fold(self.clone(), |guitar, (knob, _)| guitar.with_knob_at(knob, Pot::FULL))
    }

    /// Returns the guitar with all its knobs at 10, the tone controls' too.
    #[must_use]
    pub fn with_everything_full(&self) -> Self {
        let mut guitar = self.with_knobs_full();
        let of_pickups = guitar.pickups.iter_mut().map(|pickup| &mut pickup.controls);
        for controls in of_pickups.chain([&mut guitar.controls]) {
            controls.tone = controls.tone.map(|tone| tone.at(Pot::FULL));
        }
        guitar
    }

    /// Returns the guitar with nothing behind its pickups: no controls and no buffer.
    #[must_use]
    pub fn without_controls(&self) -> Self {
        let mut guitar = self.clone();
        for pickup in &mut guitar.pickups {
            pickup.controls = Controls::default();
        }
        Self { controls: Controls::default(), buffer: None, ..guitar }
    }

    fn controls_of(&mut self, whose: Option<usize>) -> Option<&mut Controls> {
        match whose {
            None => Some(&mut self.controls),
            Some(place) => self.pickups.get_mut(place).map(|pickup| &mut pickup.controls),
        }
    }
}

impl Knob {
    /// Returns what it is called in sentences, such as `the volume` or `bridge's volume`.
    pub fn words(self, guitar: &Guitar) -> String {
        let of = |whose: Option<usize>, what: &str| match whose.and_then(|place| guitar.pickups.get(place)) {
            None => format!("the {what}"),
            Some(pickup) => format!("{}'s {what}", pickup.name()),
        };
        match self {
            Self::Volume(whose) => of(whose, "volume"),
            Self::BassCut(whose) => of(whose, "bass cut"),
            Self::Blend => of(None, "blend"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::Document;

    fn guitar() -> Guitar {
        let text = "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\"\n[pickup.controls]\n\
            volume = { pot = \"250k\", turned = 4 }\n[[pickup]]\nname = \"neck\"\nlike = \"mini\"\n\
            [blend]\npot = \"500k\"\nturned = 5\nends = [\"bridge\", \"neck\"]\n\
            [controls]\nvolume = { pot = \"500k\", turned = 7 }\ntone = { pot = \"500k\", turned = 2 }\n\
            bass_cut = { pot = \"1M\", turned = 3, capacitor = \"2.2n\" }\n";
        Guitar::read(&Document::new("mine.toml", text)).unwrap()
    }

    #[test]
    fn every_knob_but_the_tone_is_listed_turned_and_named() {
        let guitar = guitar();
        let told: Vec<(String, f64)> =
            guitar.knobs().into_iter().map(|(knob, turned)| (knob.words(&guitar), turned)).collect();
        let expected =
            [("the volume", 7.0), ("the bass cut", 3.0), ("bridge's volume", 4.0), ("the blend", 5.0)];
        assert_eq!(told, expected.map(|(words, turned)| (words.to_owned(), turned)));
        let full = guitar.with_knobs_full();
        assert!(full.knobs().iter().all(|(_, turned)| *turned == 10.0));
        assert_eq!(full.controls().tone().unwrap().pot().turned(), 2.0);
        let back = guitar.knobs().into_iter().fold(full, |g, (knob, turned)| g.with_knob_at(knob, turned));
        assert_eq!(back, guitar);
        assert_eq!(guitar.with_knob_at(Knob::Volume(Some(1)), 3.0), guitar, "a knob that is not there");
    }
}
