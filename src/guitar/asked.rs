//! A guitar's file made of a few answers, as a person would write it.

use super::{Draft, DraftError, Guitar, Pot, Preset, pickup_presets};
use crate::document::{Document, Literal};
use crate::quantity::Ohms;

/// The most pickups.
const MOST: usize = Answers::PLACES.len();
/// The lugs of a rotary switch to which two pickups go, three, and four, and the one that leads out.
const ROTARY_LUGS: [&[&str]; MOST - 1] =
    [&["A1", "A2", "A0"], &["A1", "A2", "A3", "A0"], &["A1", "A2", "A3", "A4", "A0"]];

/// What is known of a guitar whose file is to be made. Each value is as the file states it, such as `3.61k`; what is not
/// known is left out, and is then assumed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Answers {
    /// What its owner calls it.
    pub name: String,
    /// Its pickups, one to four, the one at the bridge first.
    pub pickups: Vec<PickupAnswer>,
    /// What chooses among them, where there are several.
    pub selector: SelectorAnswer,
    /// The volume pot, where there is one; of unknown resistance where that is empty.
    pub volume: Option<String>,
    /// The tone pot, where there is one.
    pub tone: Option<String>,
    /// The cable's length.
    pub cable: Option<String>,
}

/// What chooses among pickups.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum SelectorAnswer {
    /// What is usual: a toggle of three positions with two pickups, a blade of five with three; with four nothing is.
    #[default]
    Usual,
    /// A rotary switch, which has each of them by itself.
    Rotary,
    /// Nothing: all are always heard together.
    Together,
    /// Something else, which the file does not state yet; each is heard by itself until then.
    Later,
}

impl SelectorAnswer {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Usual, Self::Rotary, Self::Together, Self::Later];
}

/// What is known of a pickup.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PickupAnswer {
    /// The built-in pickup that is most like it, or [`KIND_UNKNOWN`](super::KIND_UNKNOWN).
    pub like: String,
    /// The coils' resistances, coil A, the one nearer the bridge, first.
    pub ohms: [Option<String>; 2],
}

impl Answers {
    /// The usual names of one pickup, of two, and of so on to four, the one at the bridge first.
    pub const PLACES: [&'static [&'static str]; 4] = [
        &["bridge"],
        &["bridge", "neck"],
        &["bridge", "middle", "neck"],
        &["bridge", "middle", "neck", "front"],
    ];

    /// Returns the draft of the guitar.
    ///
    /// # Errors
    /// [`DraftError`] where a value cannot be stated.
    pub fn draft(&self) -> Result<Draft, DraftError> {
        let mut draft = Draft::of(Document::new("new guitar", "format = 1\n"));
        draft.set("name", self.name.as_str())?;
        let names = Self::PLACES[self.pickups.len().clamp(1, MOST) - 1];
        for (pickup, name) in self.pickups.iter().zip(names) {
            let at = draft.add("pickup")?.to_string();
            draft.set(&format!("{at}.name"), *name)?;
            draft.set(&format!("{at}.like"), pickup.like.as_str())?;
            if let Some(from_bridge) = place_of(name) {
                draft.set(&format!("{at}.from_bridge"), from_bridge)?;
            }
            for (coil, ohms) in ["coil_a", "coil_b"].into_iter().zip(&pickup.ohms) {
                if let Some(ohms) = ohms {
                    draft.set(&format!("{at}.{coil}.resistance"), ohms.as_str())?;
                }
            }
        }
        self.selector(&mut draft, names)?;
        let pots = [("volume", &self.volume), ("tone", &self.tone)];
        // Two pots of which nothing is known are those that are assumed anyhow.
        if pots.iter().any(|(_, pot)| pot.as_deref() != Some("")) {
            for (name, pot) in pots {
                match pot.as_deref() {
                    None => {}
                    // That it is there is known, and its track stays to be assumed.
                    Some("") => draft.set(&format!("controls.{name}.turned"), Literal::Number(Pot::FULL))?,
                    Some(track) => draft.set(&format!("controls.{name}.pot"), track)?,
                }
            }
            if self.volume.is_none() && self.tone.is_none() {
                draft.set_empty("controls")?;
            }
        }
        if let Some(length) = &self.cable {
            draft.set("cable.length", length.as_str())?;
        }
        Ok(draft)
    }

    /// Adds what chooses among so many pickups.
    fn selector(&self, draft: &mut Draft, names: &[&str]) -> Result<(), DraftError> {
        let (table, lugs) = match (self.selector, names.len()) {
            (_, 0 | 1) | (SelectorAnswer::Later, _) | (SelectorAnswer::Usual, 4..) => return Ok(()),
            (SelectorAnswer::Usual, 2) => ("three-way-toggle", &["1", "2", "0"][..]),
            (SelectorAnswer::Usual, _) => ("five-way-blade", &["A1", "A2", "A3", "A0"][..]),
            (SelectorAnswer::Rotary, count) => ("rotary-six", ROTARY_LUGS[count.min(MOST) - 2]),
            (SelectorAnswer::Together, _) => {
                let all = names.iter().copied().chain(["out"]).map(str::to_owned).collect();
                return draft.set("joints", Literal::TextLists(vec![all]));
            }
        };
        let at = draft.add("selector")?.to_string();
        draft.set(&format!("{at}.name"), "selector")?;
        draft.set(&format!("{at}.table"), table)?;
        let ends = names.iter().copied().chain(["out"]);
        let joints = ends.zip(lugs).map(|(end, lug)| vec![end.to_owned(), (*lug).to_owned()]).collect();
        draft.set(&format!("{at}.joints"), Literal::TextLists(joints))
    }
}

/// Returns how far from the bridge a pickup of that name usually lies, where that is not what is assumed anyhow. Common
/// practice, no source.
fn place_of(name: &str) -> Option<&'static str> {
    match name {
        "middle" => Some("98 mm"),
        "neck" => Some("150 mm"),
        "front" => Some("170 mm"),
        _ => None,
    }
}

/// Returns the built-in pickups with so many coils, or all, those whose coils' resistance is nearest to `ohms` first.
pub fn nearest_presets(coils: Option<usize>, ohms: Option<Ohms>) -> Vec<&'static Preset> {
    let mut all: Vec<(f64, &'static Preset)> = pickup_presets()
        .iter()
        .filter_map(|preset| {
            let guitar = Guitar::with_built_in_pickup(preset.name).ok()?;
            let pickup = &guitar.pickups()[0];
            let own = pickup.coil_names().count();
            let ratio =
                ohms.map_or(0.0, |ohms| (ohms.value() / pickup.coil_a().resistance().value()).ln().abs());
            coils.is_none_or(|coils| coils == own).then_some((ratio, preset))
        })
        .collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    all.into_iter().map(|(_, preset)| preset).collect()
}

#[cfg(test)]
mod tests {
    use super::super::KIND_UNKNOWN;
    use super::*;

    fn pickup(like: &str, a: Option<&str>, b: Option<&str>) -> PickupAnswer {
        PickupAnswer { like: like.to_owned(), ohms: [a, b].map(|ohms| ohms.map(str::to_owned)) }
    }

    #[test]
    fn the_file_is_what_a_person_would_have_written() {
        let answers = Answers {
            name: "Blue one".to_owned(),
            pickups: vec![pickup("vintage-full-size", Some("3.61k"), Some("4.05k"))],
            volume: Some("236k".to_owned()),
            tone: Some("262k".to_owned()),
            ..Answers::default()
        };
        let draft = answers.draft().unwrap();
        assert_eq!(
            draft.text(),
            "format = 1\nname = \"Blue one\"\n\n[[pickup]]\nname = \"bridge\"\nlike = \"vintage-full-size\"\n\
             [pickup.coil_a]\nresistance = \"3.61k\"\n[pickup.coil_b]\nresistance = \"4.05k\"\n\n[controls]\n\
             volume = { pot = \"236k\" }\ntone = { pot = \"262k\" }\n"
        );
        assert_eq!(draft.faults(), []);
    }

    #[test]
    fn every_combination_of_answers_makes_a_guitar_without_a_fault() {
        for count in 1..=4 {
            for like in pickup_presets() {
                for pot in [None, Some(String::new()), Some("300k".to_owned())] {
                    let answers = Answers {
                        name: "x".to_owned(),
                        pickups: vec![pickup(like.name, None, None); count],
                        volume: pot.clone(),
                        tone: Some(String::new()),
                        cable: Some("6 m".to_owned()),
                        ..Answers::default()
                    };
                    let guitar = answers.draft().unwrap().check().unwrap_or_else(|e| panic!("{e}"));
                    assert_eq!(guitar.controls().volume().is_some(), pot.is_some());
                    assert_eq!(guitar.pickups().len(), count);
                    assert!(guitar.controls().tone().is_some());
                }
            }
        }
        let bare =
            Answers { name: "x".to_owned(), pickups: vec![pickup("mini", None, None)], ..Answers::default() };
        let guitar = bare.draft().unwrap().check().unwrap();
        assert!(guitar.controls().volume().is_none() && guitar.controls().tone().is_none());
    }

    #[test]
    fn each_selector_makes_a_guitar_whose_positions_are_heard_but_one_that_is_told_later() {
        for (count, positions) in [(1, [1; 4]), (2, [3, 6, 1, 1]), (3, [5, 6, 1, 1]), (4, [1, 6, 1, 1])] {
            for (selector, ways) in SelectorAnswer::ALL.into_iter().zip(positions) {
                let pickups = vec![pickup(KIND_UNKNOWN, None, None); count];
                let answers = Answers { name: "x".to_owned(), pickups, selector, ..Answers::default() };
                let guitar = answers.draft().unwrap().check().unwrap_or_else(|e| panic!("{e}"));
                let throws = guitar.joined().selectors().iter().map(|own| own.switch().throws().len());
                assert_eq!(throws.product::<usize>(), ways, "{count}: {selector:?}");
                let is_joined = count > 1
                    && match selector {
                        SelectorAnswer::Usual => count < 4,
                        SelectorAnswer::Rotary | SelectorAnswer::Together => true,
                        SelectorAnswer::Later => false,
                    };
                assert_eq!(!guitar.joined().is_empty(), is_joined, "{count}: {selector:?}");
            }
        }
    }

    #[test]
    fn a_kind_that_is_not_known_is_assumed_and_told_so() {
        let pickups = vec![pickup(KIND_UNKNOWN, Some("3.61k"), None)];
        let answers = Answers { name: "x".to_owned(), pickups, ..Answers::default() };
        let guitar = answers.draft().unwrap().check().unwrap();
        let kind = guitar.values().into_iter().find(|value| value.place == "pickup[0].like").unwrap();
        assert_eq!((kind.shown.as_str(), kind.origin.is_stated()), ("vintage-full-size", false));
        let told = guitar.pickups()[0].assumed();
        assert!(told[0].contains("which is not known: vintage-full-size"), "{told:?}");
    }

    #[test]
    fn presets_are_told_by_how_near_their_ohms_are() {
        let nearest = |coils, ohms| nearest_presets(coils, Some(Ohms::new(ohms)))[0].name;
        assert_eq!(nearest(Some(2), 3900.0), "vintage-full-size");
        assert_ne!(nearest(Some(2), 8000.0), "vintage-full-size");
        assert!(
            nearest_presets(Some(1), None)
                .iter()
                .all(|preset| preset.name == "single-coil" || preset.name == "soapbar")
        );
    }
}
