//! What of a guitar is shown and heard, as an address says it.

use std::collections::BTreeMap;

use drywire::amp::{Amplification, Cabinet, Drive, Setting};
use drywire::guitar::Guitar;
use drywire::jack::State;
use drywire::job::RecordedRequest;
use drywire::render::Channels;
use drywire::response::{Scope, Selection, SelectionError, Voice, VoiceResponse};
use drywire::words;
use serde::Deserialize;

/// The most voices shown at once.
const MOST_VOICES: usize = 24;
/// What is heard where it is the whole guitar in every position.
pub(super) const POSITIONS: &str = "positions";
/// What precedes the name of one of the guitar's own takes.
pub(super) const OWN: &str = "own/";
/// What is stated in place of a voice where a take's channels are those of the coils.
pub(super) const COILS: &str = "its-channels";

/// What of a guitar is shown.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Shown {
    /// A pickup's name, or `positions` of the whole guitar.
    pub(super) heard: String,
    /// The name of the voice in front.
    pub(super) voice: String,
    /// The folder of a guitar to be shown beside it.
    pub(super) beside: String,
    /// What is played: a file among the guitar's takes behind [`OWN`], a built-in source, or nothing for a chord plucked for the
    /// guitar.
    pub(super) take: String,
    /// The voice that the take was recorded through, or [`COILS`].
    pub(super) through: String,
    /// Where a part of a long take begins, in seconds.
    pub(super) from: String,
    /// How hard the amplifier is driven that it is heard through, or nothing where it is heard at the jack.
    pub(super) amp: String,
    /// The kind of switch that is planned, and what its throws are to do.
    pub(super) kind: String,
    pub(super) throw1: String,
    pub(super) throw2: String,
    pub(super) throw3: String,
    pub(super) throw4: String,
    /// The kind of switch for which that was chosen, where it may be another by now.
    pub(super) throws_of: String,
    /// Which ways to join the coils a survey goes through, see [`super::survey`].
    pub(super) ways: String,
    /// What is looked for in a survey.
    pub(super) find: String,
}

/// The voices that are shown.
#[derive(Debug)]
pub(super) struct Voices<'g> {
    pub(super) selection: Selection<'g>,
    /// What each does, in words.
    pub(super) titles: Vec<String>,
    /// The place of the one in front.
    pub(super) chosen: usize,
}

impl Shown {
    /// Returns the voices that are shown of `guitar`, each with what it does in words.
    pub(super) fn voices<'g>(&self, guitar: &'g Guitar) -> Result<Voices<'g>, String> {
        let selection = self.selection(guitar)?;
        let throws: BTreeMap<String, String> = match selection.scope() {
            Scope::Pickup(pickup) => throws(guitar, pickup.name().as_str()).collect(),
            Scope::Guitar => BTreeMap::new(),
        };
        let titled = selection.responses().iter().map(|own| {
            let title = words::voice(own, guitar, selection.scope());
            throws.get(own.voice().name()).map_or(title.clone(), |stands| format!("{stands}: {title}"))
        });
        Ok(Voices { titles: titled.collect(), chosen: self.chosen(&selection), selection })
    }

    /// Returns the voices that are shown of `guitar`.
    pub(super) fn selection<'g>(&self, guitar: &'g Guitar) -> Result<Selection<'g>, String> {
        let told = |error: SelectionError| format!("{error}: {}", error.hint());
        if self.heard == POSITIONS && !guitar.joined().is_empty() {
            let mut names = positions(guitar);
            // One that a survey has found need be none of them.
            if !names.contains(&self.voice) && Voice::at_position(guitar, &self.voice).is_ok() {
                names.push(self.voice.clone());
            }
            return Selection::of_names(guitar, None, &names, None).map_err(told);
        }
        let pickup =
            guitar.pickups().iter().map(|pickup| pickup.name().as_str()).find(|name| *name == self.heard);
        let usual = Selection::of_names(guitar, pickup, &[""; 0], None).map_err(told)?;
        let own = match usual.scope() {
            Scope::Pickup(pickup) => pickup.name().as_str(),
            Scope::Guitar => return Ok(usual),
        };
        let arrangements = usual.responses().iter().map(|own| own.voice().name().to_owned());
        let thrown: Vec<String> = throws(guitar, own).map(|(name, _)| name).collect();
        let mut names: Vec<String> = thrown.iter().cloned().chain(arrangements).collect();
        let is_more = !self.voice.is_empty() && !names.contains(&self.voice);
        if is_more {
            names.push(self.voice.clone());
        }
        if thrown.is_empty() && !is_more {
            return Ok(usual);
        }
        // A throw that is a position of the whole guitar is heard there.
        let Ok(all) = Selection::of_names(guitar, Some(own), &names, None) else { return Ok(usual) };
        // What a throw makes is heard once, as that throw, unless it is asked for by its own name.
        let voices = || all.responses().iter().map(VoiceResponse::voice);
        let made_by = |voice: &Voice| {
            let arrangement = voice.arrangement().filter(|own| voice.name() == own.name())?;
            voices().take(thrown.len()).find(|own| own.arrangement() == Some(arrangement))
        };
        let heard = voices().filter(|voice| made_by(voice).is_none() || voice.name() == self.voice);
        let heard: Vec<&str> = heard.map(Voice::name).collect();
        if heard.len() == names.len() {
            return Ok(all);
        }
        let baseline = all.responses()[all.baseline()].voice();
        let baseline = made_by(baseline).unwrap_or(baseline).name();
        Selection::of_names(guitar, Some(own), &heard, Some(baseline)).map_err(told)
    }

    /// Returns the place of the voice in front, the baseline where none is stated.
    pub(super) fn chosen(&self, selection: &Selection<'_>) -> usize {
        let stated = selection.responses().iter().position(|own| own.voice().name() == self.voice);
        stated.unwrap_or(selection.baseline())
    }

    /// Returns the place of the voice that is asked for by its name.
    pub(super) fn asked(&self, selection: &Selection<'_>) -> Result<usize, String> {
        let voices = selection.responses();
        let place = voices.iter().position(|own| own.voice().name() == self.voice);
        place.ok_or_else(|| {
            let names: Vec<&str> = voices.iter().map(|own| own.voice().name()).collect();
            format!("there is no `{}` here: choose among {}", self.voice, names.join(", "))
        })
    }

    /// Returns the name of the guitar's own take that is played, where it is one.
    pub(super) fn own_take(&self) -> Option<&str> {
        self.take.strip_prefix(OWN)
    }

    /// Returns what the take's channels are stated to stand for.
    pub(super) fn channels(&self) -> Option<Channels> {
        (self.through == COILS).then_some(Channels::Coils)
    }

    /// Returns how hard the amplifier is driven, where it is heard through one.
    pub(super) fn setting(&self) -> Option<Setting> {
        Setting::ALL.into_iter().find(|setting| setting.name() == self.amp)
    }

    /// Returns the amplifier that it is heard through, if any.
    pub(super) fn amplification(&self) -> Option<Amplification> {
        let driven = |setting| Amplification { drive: Drive::Set(setting), cabinet: Cabinet::Closed };
        self.setting().map(driven)
    }

    /// Returns the voice that the take is stated to be recorded through.
    pub(super) fn recorded(&self) -> Option<RecordedRequest<'_>> {
        let is_stated = !self.take.is_empty() && !self.through.is_empty() && self.channels().is_none();
        is_stated.then_some(RecordedRequest { through: &self.through, guitar: None })
    }
}

/// Returns the throws of the switches on a pickup, each with how the switch then stands, in words.
fn throws<'g>(guitar: &'g Guitar, pickup: &'g str) -> impl Iterator<Item = (String, String)> + 'g {
    let own = guitar.switches().iter().filter(move |own| guitar.switched_by(own).name().as_str() == pickup);
    own.flat_map(|own| {
        own.switch().throws().iter().map(move |throw| {
            let stands = format!("{}, {}", own.name().value, throw.position());
            (format!("{}:{}", own.name().value, throw.number()), stands)
        })
    })
}

/// Returns the names of the positions of the whole guitar: all in which its selectors and switches can stand, or where these are
/// too many, how it stands and each lever moved by itself.
pub(super) fn positions(guitar: &Guitar) -> Vec<String> {
    let standing = State::standing(guitar, 0);
    let states = if standing.ways(guitar) <= MOST_VOICES as u64 {
        standing.every(guitar, &guitar.levers())
    } else {
        standing.with_one_moved(guitar)
    };
    states.iter().take(MOST_VOICES).map(|state| state.name(guitar)).collect()
}

#[cfg(test)]
mod tests {
    use drywire::document::Document;
    use drywire::guitar::guitar_presets;

    use super::*;

    /// A guitar of two pickups on a selector of three throws, with so many on-on switches on its pickups.
    fn with_switches(number: usize) -> Guitar {
        let built_in = guitar_presets().iter().find(|own| own.name == "set-neck").unwrap();
        let switch = |i: usize| {
            let on = ["bridge", "neck"][i % 2];
            format!(
                "\n[[switch]]\nname = \"way-{i}\"\non = \"{on}\"\ntable = \"on-on\"\njoints = [[\"a+\", \"hot\"], [\"a-\", \"b+\"], [\"b-\", \"ground\"]]\n"
            )
        };
        let text = built_in.document().text().to_owned() + &(0..number).map(switch).collect::<String>();
        Guitar::read(&Document::new("guitar.toml", text)).unwrap()
    }

    #[test]
    fn the_throws_of_a_pickups_switches_are_heard_beside_its_arrangements() {
        let text = "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\"\n[[switch]]\nname = \"mode\"\ntable = \"on-on\"\n\
                    joints = [[\"a+\", \"hot\", \"L3\"], [\"a-\", \"L1\", \"R2\"], [\"b+\", \"L2\"], [\"b-\", \"ground\", \"R3\"]]\n";
        let guitar = Guitar::read(&Document::new("guitar.toml", text)).unwrap();
        let names = |voice: &str| {
            let shown = Shown { voice: voice.to_owned(), ..Shown::default() };
            let selection = shown.selection(&guitar).unwrap();
            selection.responses().iter().map(|own| own.voice().name().to_owned()).collect::<Vec<_>>()
        };
        // Series and parallel are heard once, as the throws that make them.
        let single = ["split-a", "split-b", "series-reversed", "parallel-reversed"];
        assert_eq!(names(""), [&["mode:1", "mode:3"][..], &single].concat());
        assert_eq!(names("mode:3"), names(""));
        let Voices { titles, selection, .. } = Shown::default().voices(&guitar).unwrap();
        assert_eq!(titles[1], "mode, lever toward lugs 1: both coils in parallel");
        assert_eq!(selection.responses()[selection.baseline()].voice().name(), "mode:1");
        assert_eq!(names("split-a-open"), [&names("")[..], &["split-a-open".to_owned()]].concat());
        // One that is asked for by its own name, as a survey has it, is there by it.
        assert_eq!(names("series"), [&["mode:1", "mode:3", "series"][..], &single].concat());
        assert_eq!(
            names("nothing"),
            [&["series", "parallel"][..], &single].concat(),
            "what is none is left out"
        );
        // Where a selector joins the pickups each has the throws of its own switch.
        let joined = with_switches(1);
        for (heard, has) in [("bridge", true), ("neck", false)] {
            let selection = Shown { heard: heard.to_owned(), ..Shown::default() }.selection(&joined).unwrap();
            let is_there = selection.responses().iter().any(|own| own.voice().name().starts_with("way-0:"));
            assert_eq!(is_there, has, "{heard}");
        }
    }

    #[test]
    fn every_position_is_heard_up_to_24_and_of_more_those_one_lever_off() {
        let shown = Shown { heard: POSITIONS.to_owned(), ..Shown::default() };
        for (switches, voices) in [(0, 3), (1, 6), (2, 12), (3, 24), (4, 7)] {
            let guitar = with_switches(switches);
            let selection = shown.selection(&guitar).unwrap();
            let names: Vec<_> = selection.responses().iter().map(|own| own.voice().name()).collect();
            assert_eq!(names.len(), voices, "{names:?}");
        }
    }
}
