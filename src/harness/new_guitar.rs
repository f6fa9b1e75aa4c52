//! A guitar told question by question, each with its usual answer, so far as its control cavity goes by it.
//!
//! A [`GuitarInterview`] holds the question to be put; each answer moves it on, or is refused and the question stands. It neither
//! prints nor reads.

use crate::document::nearest;
use crate::guitar::{Answers, Draft, DraftError, KIND_UNKNOWN, PickupAnswer, pickup_presets};
use crate::leads::Reply;

/// With more pickups no selector is usual.
const MOST: usize = 3;
/// What a pot is taken for where nothing is said.
const USUAL_POT: &str = "500k";

/// What is being asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stage {
    Count,
    /// Which built-in pickup the one at this place is like.
    Like(usize),
    /// Whether each pickup has its own volume and tone.
    Each,
    Volume,
    Tone,
    Turns,
    Shield,
    Over,
}

/// A conversation about a guitar that has no file yet.
#[derive(Debug, Clone)]
pub struct GuitarInterview {
    stage: Stage,
    answers: Answers,
    count: usize,
    has_own_controls: bool,
    turns: &'static str,
    shield: &'static str,
    /// The conversation before each answer.
    before: Vec<GuitarInterview>,
}

impl Default for GuitarInterview {
    fn default() -> Self {
        Self::new()
    }
}

impl GuitarInterview {
    /// What can be answered to any question.
    pub const ALWAYS: &'static str =
        "First the guitar. Nothing takes what is usual, back takes the last answer back, stop leaves.";

    /// Returns a conversation about a guitar of which nothing is known.
    pub fn new() -> Self {
        Self {
            stage: Stage::Count,
            answers: Answers { name: "my guitar".to_owned(), ..Answers::default() },
            count: 0,
            has_own_controls: false,
            turns: "clockwise",
            shield: "none",
            before: Vec::new(),
        }
    }

    /// Returns the question to put, `None` where the conversation is over. Its last line is the question itself; lines before it
    /// explain.
    pub fn question(&self) -> Option<String> {
        Some(match self.stage {
            Stage::Count => format!("How many pickups? (1 to {MOST}; nothing means 2)"),
            Stage::Like(0) => {
                let built_in = pickup_presets().iter().map(|preset| format!("  {}\n", preset.name));
                format!(
                    "The built-in pickups are\n{}The pickup nearest the bridge: which is it like? (nothing means {KIND_UNKNOWN}, and it is \
                     taken for {})",
                    built_in.collect::<String>(),
                    pickup_presets()[0].name
                )
            }
            Stage::Like(place) => {
                format!("Pickup {} from the bridge: which is it like? (nothing means the same)", place + 1)
            }
            Stage::Each => {
                let selector = if self.count == 2 { "toggle of three positions" } else { "blade of five positions" };
                format!(
                    "The selector is taken for a {selector}; change the file where it is another.\nOne volume and tone for all, or \
                     for each pickup? (all or each; nothing means all)"
                )
            }
            Stage::Volume => {
                format!("Volume: what is stamped on its pot? (none where there is none; nothing means {USUAL_POT})")
            }
            Stage::Tone => {
                format!("Tone: what is stamped on its pot? (none where there is none; nothing means {USUAL_POT})")
            }
            Stage::Turns => {
                "Which way do the knobs turn up, seen from the front? (clockwise or counter-clockwise; nothing means clockwise)"
                    .to_owned()
            }
            Stage::Shield => "What shields the cavity? (foil, paint or none; nothing means none)".to_owned(),
            Stage::Over => return None,
        })
    }

    /// Takes one line as the answer to the question.
    pub fn answer(&mut self, line: &str) -> Reply {
        let answer = line.trim().to_lowercase();
        match answer.as_str() {
            "stop" | "quit" | "exit" => return Reply::Over,
            "?" | "help" => return Reply::Help(Self::ALWAYS.to_owned()),
            "back" => {
                return match self.before.pop() {
                    Some(before) => {
                        let earlier = std::mem::take(&mut self.before);
                        *self = Self { before: earlier, ..before };
                        Reply::Taken
                    }
                    None => Reply::Refused("this is the first question".to_owned()),
                };
            }
            _ => {}
        }
        let mut next = Self { before: Vec::new(), ..self.clone() };
        if let Err(why) = next.take(&answer) {
            return Reply::Refused(why);
        }
        let mut before = std::mem::take(&mut self.before);
        before.push(self.clone());
        *self = Self { before, ..next };
        if self.stage == Stage::Over { Reply::Over } else { Reply::Taken }
    }

    /// Returns the guitar, nothing while anything is still to be asked.
    ///
    /// # Errors
    /// [`DraftError`] where a value cannot be stated.
    pub fn draft(&self) -> Result<Option<Draft>, DraftError> {
        if self.stage == Stage::Over { self.stated().map(Some) } else { Ok(None) }
    }

    fn take(&mut self, answer: &str) -> Result<(), String> {
        let unlike = |wanted: &str| format!("`{}` is not {wanted}", answer.escape_debug());
        match self.stage {
            Stage::Count => {
                let count = if answer.is_empty() { Some(2) } else { answer.parse().ok() };
                self.count = count.filter(|count| (1..=MOST).contains(count)).ok_or_else(|| {
                    unlike(&format!("from 1 to {MOST}; a guitar with more wants a file of its own"))
                })?;
                self.stage = Stage::Like(0);
            }
            Stage::Like(place) => {
                let usual = self.answers.pickups.last().map_or(KIND_UNKNOWN, |own| own.like.as_str());
                let given = if answer.is_empty() { usual } else { answer };
                let known = || pickup_presets().iter().map(|preset| preset.name).chain([KIND_UNKNOWN]);
                let like = known().find(|name| *name == given).ok_or_else(|| {
                    let near = nearest(given, known());
                    let hint = near.map_or_else(String::new, |near| format!("; did you mean {near}?"));
                    unlike(&format!("a built-in pickup{hint}"))
                })?;
                self.answers.pickups.push(PickupAnswer { like: like.to_owned(), ohms: [None, None] });
                self.stage = match place + 1 {
                    next if next < self.count => Stage::Like(next),
                    _ if self.count > 1 => Stage::Each,
                    _ => Stage::Volume,
                };
            }
            Stage::Each => {
                self.has_own_controls = match answer {
                    "" | "all" => false,
                    "each" => true,
                    _ => return Err(unlike("all or each")),
                };
                self.stage = Stage::Volume;
            }
            Stage::Volume => {
                self.answers.volume = pot(answer);
                self.stage = Stage::Tone;
                self.checked()?;
            }
            Stage::Tone => {
                self.answers.tone = pot(answer);
                self.stage = Stage::Turns;
                self.checked()?;
            }
            Stage::Turns => {
                self.turns = match answer {
                    "" | "clockwise" => "clockwise",
                    "counter-clockwise" => "counter-clockwise",
                    _ => return Err(unlike("clockwise or counter-clockwise")),
                };
                self.stage = Stage::Shield;
            }
            Stage::Shield => {
                self.shield = match answer {
                    "" | "none" => "none",
                    "foil" => "foil",
                    "paint" => "paint",
                    _ => return Err(unlike("foil, paint or none")),
                };
                self.stage = Stage::Over;
            }
            Stage::Over => {}
        }
        Ok(())
    }

    /// Looks whether what is told so far is a guitar.
    fn checked(&self) -> Result<(), String> {
        let draft = self.stated().map_err(|error| error.to_string())?;
        draft.faults().into_iter().next().map_or(Ok(()), |fault| Err(fault.message))
    }

    fn stated(&self) -> Result<Draft, DraftError> {
        let pots = [("volume", &self.answers.volume), ("tone", &self.answers.tone)];
        let own = || Answers { volume: None, tone: None, ..self.answers.clone() };
        let mut draft = if self.has_own_controls { own().draft()? } else { self.answers.draft()? };
        if self.has_own_controls {
            for pickup in 0..self.answers.pickups.len() {
                for (name, pot) in pots {
                    if let Some(pot) = pot {
                        draft.set(&format!("pickup[{pickup}].controls.{name}.pot"), pot.as_str())?;
                    }
                }
            }
        }
        draft.set("harness.turns", self.turns)?;
        draft.set("harness.shield", self.shield)?;
        Ok(draft)
    }
}

/// Returns what is stamped on a pot, nothing where there is none.
fn pot(answer: &str) -> Option<String> {
    match answer {
        "" => Some(USUAL_POT.to_owned()),
        "none" | "no" => None,
        stamped => Some(stamped.to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::harness::Harness;

    fn told(answers: &[&str]) -> GuitarInterview {
        let mut interview = GuitarInterview::new();
        for answer in answers {
            assert!(interview.question().is_some());
            let reply = interview.answer(answer);
            assert!(matches!(reply, Reply::Taken | Reply::Over), "{answer}: {reply:?}");
        }
        interview
    }

    #[test]
    fn every_count_of_pickups_and_controls_makes_a_cavity() {
        for (answers, parts) in [
            (&["1", "mini", "250k", "none", "", "foil"][..], "bridge, volume, jack, strings, cavity"),
            (
                &["", "", "", "", "", "", "", ""],
                "bridge, neck, selector, volume, tone, tone-cap, jack, strings",
            ),
            (
                &["2", "soapbar", "", "each", "", "", "counter-clockwise", "none"],
                "bridge, neck, selector, bridge-volume, bridge-tone, bridge-tone-cap, neck-volume, neck-tone, neck-tone-cap, \
                 jack, strings",
            ),
            (
                &["3", "single-coil", "", "mini", "all", "250k", "250k", "", ""],
                "bridge, middle, neck, selector, volume, tone, tone-cap, jack, strings",
            ),
        ] {
            let interview = told(answers);
            assert_eq!(interview.question(), None, "{answers:?}");
            let guitar =
                interview.draft().unwrap().unwrap().check().unwrap_or_else(|refusal| panic!("{refusal}"));
            let harness = Harness::of(&guitar).unwrap();
            let names: Vec<&str> = harness.parts().all().iter().map(super::super::Part::name).collect();
            assert_eq!(names.join(", "), parts);
        }
    }

    #[test]
    fn slips_are_refused_and_can_be_taken_back() {
        let mut interview = told(&["2", "mini"]);
        for (slip, said) in [("minni", "did you mean mini?"), ("xyz", "is not a built-in pickup")] {
            let reply = interview.answer(slip);
            assert!(matches!(&reply, Reply::Refused(why) if why.contains(said)), "{slip}: {reply:?}");
        }
        assert_eq!([interview.answer("back"), interview.answer("soapbar")], [Reply::Taken, Reply::Taken]);
        assert_eq!(
            [interview.answer(""), interview.answer("both")],
            [Reply::Taken, Reply::Refused("`both` is not all or each".to_owned())]
        );
        assert_eq!(interview.answer("all"), Reply::Taken);
        let doubt = interview.answer("500");
        assert!(matches!(&doubt, Reply::Refused(why) if why.contains("500 kΩ")), "{doubt:?}");
        assert_eq!(interview.answer("500k"), Reply::Taken);
        assert!(interview.draft().unwrap().is_none());
        assert_eq!(interview.answer("stop"), Reply::Over);
        assert!(matches!(GuitarInterview::new().answer("back"), Reply::Refused(_)));
        assert!(
            matches!(GuitarInterview::new().answer("4"), Reply::Refused(why) if why.contains("from 1 to 3"))
        );
    }
}
