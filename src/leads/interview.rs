//! The leads identified question by question, one reading at a time.
//!
//! An [`Interview`] holds the question to be put; each answer moves it on, or is refused and the question stands.
//! It neither prints nor reads, so that a terminal, a pipe and a test can all hold one.

use super::howto::how_to;
use super::next::{Step, is_taken};
use super::reading::{Bobbin, Conductor, MeterError, OhmmeterReading, Reading, Swing, Unclear, pole_called};
use super::readings::{ReadingError, Readings};
use super::report::{Analysis, Verdict, analyse};
use super::word::Word;
use crate::guitar::Pole;

/// A conversation at the bench.
#[derive(Debug)]
pub struct Interview {
    readings: Readings,
    stage: Stage,
    /// Readings that the person cannot take.
    skipped: Vec<Step>,
    /// The kinds of reading that have been explained.
    explained: Vec<std::mem::Discriminant<Step>>,
}

/// What is being asked.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Stage {
    Leads,
    Shield,
    Coils,
    /// A reading that settles the leads, or after that one for health and hum.
    Take {
        step: Step,
        beyond_certain: bool,
        /// What the answer so far leaves unclear.
        unclear: Option<Unclear>,
    },
    /// Which of these clashing readings is to be taken again.
    Again(Vec<usize>),
    /// Whether to go on with health and hum.
    Further,
    Over,
}

/// What became of an answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reply {
    /// It was taken, and the next question is there.
    Taken,
    /// It was not understood, for this reason; the question stands.
    Refused(String),
    /// Help was asked for; the question stands.
    Help(String),
    /// The conversation is over.
    Over,
}

impl Default for Interview {
    fn default() -> Self {
        Self::new()
    }
}

impl Interview {
    /// What can be answered to any question.
    pub const ALWAYS: &'static str = "At any question: ? explains, back takes back, skip leaves a reading out, \
                                       stop ends with what is known.";

    /// Returns a conversation about a pickup of which nothing is known.
    pub fn new() -> Self {
        let (skipped, explained) = (Vec::new(), Vec::new());
        Self { readings: Readings::default(), stage: Stage::Leads, skipped, explained }
    }

    /// Returns the question to put, `None` where the conversation is over. Its last line is the question itself;
    /// lines before it explain, as how a reading is taken when the first of its kind is asked for.
    pub fn question(&mut self) -> Option<String> {
        let step = match &self.stage {
            Stage::Leads => return Some("Leads: their colours, with commas between them".to_owned()),
            Stage::Shield => {
                return Some("Shield or bare wire: its name, or nothing where there is none".to_owned());
            }
            Stage::Coils => {
                return Some(
                    "Name the coils as you tell them apart; nothing means near and far, as the pickup lies before \
                     you; one name means a pickup of one coil.\nCoils: their names, with a comma between them"
                        .to_owned(),
                );
            }
            Stage::Again(clash) => return Some(self.ask_again(clash)),
            Stage::Further => {
                return Some(
                    "Certain: every lead has its coil and sign.\nGo on, for the coils' health and the hum? (y, or \
                     nothing to end)"
                        .to_owned(),
                );
            }
            Stage::Over => return None,
            Stage::Take { unclear: Some(unclear), .. } => return Some(ask_back(unclear)),
            Stage::Take { step, unclear: None, .. } => *step,
        };
        let asked = self.ask(step);
        let kind = std::mem::discriminant(&step);
        if self.explained.contains(&kind) {
            return Some(asked);
        }
        self.explained.push(kind);
        Some(format!("{}\n{asked}", how_to(step)))
    }

    /// Takes one line as the answer to the question.
    pub fn answer(&mut self, line: &str) -> Reply {
        let answer = line.trim();
        match answer.to_lowercase().as_str() {
            "stop" | "quit" | "exit" => self.stage = Stage::Over,
            "?" | "help" => return Reply::Help(self.help()),
            "back" => self.take_back(),
            "skip" => {
                let Stage::Take { step, .. } = self.stage else {
                    return Reply::Refused("only a reading can be left out".to_owned());
                };
                self.skipped.push(step);
                self.go_on();
            }
            _ => {
                if let Err(why) = self.take(answer) {
                    return Reply::Refused(why);
                }
            }
        }
        if self.stage == Stage::Over { Reply::Over } else { Reply::Taken }
    }

    /// Returns the readings taken so far, `None` where the leads have not been named.
    pub fn readings(&self) -> Option<&Readings> {
        (!self.readings.leads.is_empty() && self.readings.conductors().count() > 1).then_some(&self.readings)
    }

    fn take(&mut self, answer: &str) -> Result<(), String> {
        match self.stage.clone() {
            Stage::Leads => self.take_leads(answer)?,
            Stage::Shield => self.take_shield(answer)?,
            Stage::Coils => self.take_coils(answer)?,
            Stage::Take { step, .. } => self.take_reading(step, answer)?,
            Stage::Again(clash) => self.take_again(&clash, answer)?,
            Stage::Further => {
                let yes = ["y", "yes"].contains(&answer.to_lowercase().as_str());
                if !yes && !["", "n", "no"].contains(&answer.to_lowercase().as_str()) {
                    return Err(format!("`{}` is neither y nor n", answer.escape_debug()));
                }
                self.stage = if yes { self.stage_beyond_certain() } else { Stage::Over };
            }
            Stage::Over => {}
        }
        Ok(())
    }

    fn take_leads(&mut self, answer: &str) -> Result<(), String> {
        let mut readings = Readings::default();
        // No single colour has three words, but three leads without commas have.
        if parts(answer).count() == 1 && answer.split_whitespace().count() > 2 {
            let given = answer.escape_debug();
            return Err(format!("`{given}` has no comma; write for instance: white, grey, red, blue"));
        }
        for name in parts(answer) {
            let word = Word::new(name).map_err(|e| explained(&e.into()))?;
            readings.add_lead(word).map_err(|e| explained(&e))?;
        }
        if readings.leads.is_empty() {
            return Err("no lead was named; write for instance: white, grey, red, blue".to_owned());
        }
        self.readings = readings;
        self.stage = Stage::Shield;
        Ok(())
    }

    fn take_shield(&mut self, answer: &str) -> Result<(), String> {
        if ["", "no", "none"].contains(&answer.to_lowercase().as_str()) {
            if self.readings.leads.len() == 1 {
                return Err("with one lead there is a shield to measure to: name it".to_owned());
            }
        } else {
            let word = Word::new(answer).map_err(|e| explained(&e.into()))?;
            self.readings.set_shield(word).map_err(|e| explained(&e))?;
        }
        self.stage = Stage::Coils;
        Ok(())
    }

    fn take_coils(&mut self, answer: &str) -> Result<(), String> {
        let mut readings = self.readings.clone();
        let names = if answer.is_empty() { vec!["near", "far"] } else { parts(answer).collect() };
        for name in &names {
            readings.bobbin(name).map_err(|e| explained(&e))?;
        }
        match (readings.bobbins.len(), names.len()) {
            (1, 1) => readings.set_one_coil().map_err(|e| explained(&e))?,
            (2, 2) => {}
            _ => return Err("write two different names, or one for a pickup of one coil".to_owned()),
        }
        self.readings = readings;
        self.go_on();
        Ok(())
    }

    fn take_reading(&mut self, step: Step, answer: &str) -> Result<(), String> {
        let readings = &mut self.readings;
        let added = match step {
            Step::Ohms { between } => return self.take_ohms(between, answer),
            Step::Tap { coil, red, black } => readings.add_tap(coil, [red, black], swing_of(answer)?, None),
            Step::Compass { coil } => readings.add_compass(coil, pole_of(answer)?, None),
            Step::Undo { .. } => {
                if answer.to_lowercase() != "done" {
                    return Err(format!(
                        "`{}` is not done; write done when they are apart",
                        answer.escape_debug()
                    ));
                }
                // What was read across the joint no longer holds.
                readings.take_back_all_but_the_compass();
                Ok(())
            }
        };
        added.map_err(|e| explained(&e))?;
        self.go_on();
        Ok(())
    }

    /// Takes what a meter showed, or what makes clear what it showed before; what is unclear is asked back.
    fn take_ohms(&mut self, between: [Conductor; 2], answer: &str) -> Result<(), String> {
        let Stage::Take { unclear, .. } = &mut self.stage else { return Ok(()) };
        let said = unclear.as_ref().and_then(|unclear| unclear.said_by(answer));
        let meter = match said.map_or_else(|| OhmmeterReading::parse(answer), Ok) {
            Ok(meter) => meter,
            Err(MeterError::Unclear(anew)) => {
                *unclear = Some(anew);
                return Ok(());
            }
            Err(e) => return Err(e.to_string()),
        };
        self.readings.add_ohms(between, meter, None).map_err(|e| explained(&e))?;
        self.go_on();
        Ok(())
    }

    fn take_again(&mut self, clash: &[usize], answer: &str) -> Result<(), String> {
        let chosen = answer.parse::<usize>().ok().and_then(|number| clash.get(number.checked_sub(1)?));
        let Some(index) = chosen else {
            return Err(format!("`{}` is not one of 1 to {}", answer.escape_debug(), clash.len()));
        };
        let step = match &self.readings.entries()[*index].reading {
            Reading::Ohms { between, .. } => Step::Ohms { between: *between },
            Reading::Tap { coil, red, black, .. } => Step::Tap { coil: *coil, red: *red, black: *black },
            Reading::Compass { coil, .. } => Step::Compass { coil: *coil },
        };
        self.readings.take_back(*index);
        self.stage = Stage::Take { step, beyond_certain: false, unclear: None };
        Ok(())
    }

    /// Takes back an unclear answer, else the last reading, or where there is none begins anew.
    fn take_back(&mut self) {
        if let Stage::Take { unclear: unclear @ Some(_), .. } = &mut self.stage {
            *unclear = None;
            return;
        }
        if self.readings.entries().is_empty() {
            *self = Self { explained: std::mem::take(&mut self.explained), ..Self::new() };
            return;
        }
        self.readings.take_back(self.readings.entries().len() - 1);
        self.skipped.clear();
        self.go_on();
    }

    /// Finds the next question from the readings.
    fn go_on(&mut self) {
        let beyond_certain = matches!(self.stage, Stage::Take { beyond_certain: true, .. });
        let Analysis { report, step, clashes } = analyse(&self.readings, &self.skipped);
        self.stage = match (report.verdict, step) {
            (Verdict::Certain, _) if beyond_certain => self.stage_beyond_certain(),
            (Verdict::Certain, _) if self.step_beyond_certain().is_some() => Stage::Further,
            (Verdict::Ambiguous, Some(step)) => Stage::Take { step, beyond_certain: false, unclear: None },
            (Verdict::Contradictory, _) => match clashes.into_iter().next() {
                Some(clash) => Stage::Again(clash),
                None => Stage::Over,
            },
            (Verdict::Certain, _) | (Verdict::Ambiguous, None) => Stage::Over,
        };
    }

    fn stage_beyond_certain(&self) -> Stage {
        self.step_beyond_certain().map_or(Stage::Over, |step| Stage::Take {
            step,
            beyond_certain: true,
            unclear: None,
        })
    }

    /// Returns a reading that the coils' health or the hum still wants: each coil's ohms, a lead of each coil
    /// against the shield, and the poles.
    fn step_beyond_certain(&self) -> Option<Step> {
        let report = analyse(&self.readings, &[]).report;
        let find = |name: &Option<String>| name.as_deref().and_then(|n| self.readings.conductor(n).ok());
        let shield = self.readings.shield().and_then(|s| self.readings.conductor(s.as_str()).ok());
        let mut steps: Vec<Step> = Vec::new();
        for coil in &report.coils {
            let Some(ends) = find(&coil.plus).zip(find(&coil.minus)) else { continue };
            steps.push(Step::Ohms { between: [ends.0, ends.1] });
            steps.extend(
                shield.filter(|s| ends.0 != *s && ends.1 != *s).map(|s| Step::Ohms { between: [ends.0, s] }),
            );
        }
        let named = |coil: &Step| matches!(coil, Step::Compass { coil } if self.readings.bobbin_name(*coil).is_some());
        let compass = Bobbin::BOTH.into_iter().map(|coil| Step::Compass { coil }).filter(named);
        steps.extend(compass);
        steps.into_iter().find(|step| !is_taken(&self.readings, *step) && !self.skipped.contains(step))
    }

    fn ask(&self, step: Step) -> String {
        let words = self.readings.tell_step(step).words;
        let mut words = words.chars();
        let first: String = words.next().into_iter().flat_map(char::to_uppercase).collect();
        let answers = match step {
            Step::Ohms { .. } => "a value such as 5.9k, or open",
            Step::Tap { .. } => "+, - or none",
            Step::Compass { .. } => "north or south",
            Step::Undo { .. } => "done, when they are apart",
        };
        format!("{first}{} ({answers})", words.as_str())
    }

    fn ask_again(&self, clash: &[usize]) -> String {
        let numbered = clash.iter().enumerate().map(|(i, index)| {
            let told = self.readings.tell(&self.readings.entries()[*index]);
            format!("  {}. {}\n", i + 1, told.words)
        });
        let list: String = numbered.collect();
        format!("These readings cannot all be true:\n{list}Which is to be taken again? (its number)")
    }

    fn help(&self) -> String {
        match &self.stage {
            Stage::Take { step, .. } => format!("{}\n{}", how_to(*step), Self::ALWAYS),
            Stage::Leads | Stage::Shield | Stage::Coils | Stage::Again(_) | Stage::Further | Stage::Over => {
                Self::ALWAYS.to_owned()
            }
        }
    }
}

/// Returns the question that asks an unclear answer back.
fn ask_back(unclear: &Unclear) -> String {
    let (why, answers) = if unclear.may_be_open() {
        (
            "A lone 1 is what many meters show for an open circuit.\n",
            "open, ohm or k, or the reading with its unit",
        )
    } else {
        ("", "ohm or k, or the reading with its unit")
    };
    format!("{why}Is that {unclear}? ({answers})")
}

fn parts(answer: &str) -> impl Iterator<Item = &str> {
    answer.split(',').map(str::trim).filter(|part| !part.is_empty())
}

fn explained(refusal: &ReadingError) -> String {
    match refusal.hint() {
        Some(hint) => format!("{refusal} ({hint})"),
        None => refusal.to_string(),
    }
}

fn swing_of(answer: &str) -> Result<Swing, String> {
    Swing::called(answer).ok_or_else(|| format!("`{}` is no swing: +, - or none", answer.escape_debug()))
}

fn pole_of(answer: &str) -> Result<Pole, String> {
    pole_called(answer).ok_or_else(|| format!("`{}` is no pole: north or south", answer.escape_debug()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::leads::{Conductor, identify};

    fn told(answers: &[&str]) -> Interview {
        let mut interview = Interview::new();
        for answer in answers {
            let question = interview.question();
            assert_eq!(interview.answer(answer), Reply::Taken, "{question:?} {answer}");
        }
        interview
    }

    fn asked(interview: &mut Interview) -> String {
        interview.question().and_then(|q| q.lines().last().map(str::to_owned)).unwrap_or_default()
    }

    const BEGIN: [&str; 3] = ["white, grey, red, blue", "", "upper, lower"];

    #[test]
    fn a_wrong_answer_is_asked_again_and_changes_nothing() {
        let mut interview = told(&BEGIN);
        let question = asked(&mut interview);
        for wrong in ["", "apples", "+", "-5k", "white"] {
            assert!(matches!(interview.answer(wrong), Reply::Refused(_)), "{wrong}");
            assert_eq!(asked(&mut interview), question);
        }
        assert!(interview.readings().is_some_and(|r| r.entries().is_empty()));
        for wrong in ["", ",", "white, White", "a, b, c, d, e, f, g, h, i"] {
            assert!(matches!(Interview::new().answer(wrong), Reply::Refused(_)), "{wrong}");
        }
    }

    #[test]
    fn colours_without_commas_are_not_taken_for_one_lead() {
        let answer = |leads: &str| Interview::new().answer(leads);
        assert!(matches!(answer("white grey red blue"), Reply::Refused(why) if why.contains("has no comma")));
        assert_eq!(answer("light blue"), Reply::Taken);
        assert_eq!(answer("light blue, dark green"), Reply::Taken);
    }

    #[test]
    fn the_last_reading_can_be_taken_back_and_a_reading_left_out() {
        let mut interview = told(&BEGIN);
        let first = asked(&mut interview);
        interview.answer("open");
        assert_ne!(asked(&mut interview), first);
        interview.answer("back");
        assert_eq!(asked(&mut interview), first);
        interview.answer("skip");
        assert_ne!(asked(&mut interview), first);
        assert!(interview.readings().is_some_and(|r| r.entries().is_empty()));
        interview.answer("back");
        assert!(asked(&mut interview).starts_with("Leads"));
    }

    #[test]
    fn an_unclear_reading_is_asked_back_and_one_word_answers() {
        let mut interview = told(&BEGIN);
        let first = asked(&mut interview);
        assert_eq!(interview.answer("5.9"), Reply::Taken);
        assert_eq!(
            asked(&mut interview),
            "Is that 5.9 Ω or 5.9 kΩ? (ohm or k, or the reading with its unit)"
        );
        assert!(matches!(interview.answer("perhaps"), Reply::Refused(_)));
        assert_eq!(interview.answer("back"), Reply::Taken);
        assert_eq!(asked(&mut interview), first);
        interview.answer("5.9");
        assert_eq!(interview.answer("1"), Reply::Taken, "the reading anew, and unclear again");
        assert!(asked(&mut interview).starts_with("Is that open, 1 Ω or 1 kΩ?"));
        assert!(interview.readings().is_some_and(|r| r.entries().is_empty()));
        assert_eq!(interview.answer("open"), Reply::Taken);
        interview.answer("4,1");
        assert_eq!(interview.answer("kΩ"), Reply::Taken);
        let read: Vec<Option<f64>> = interview
            .readings
            .entries()
            .iter()
            .map(|entry| match &entry.reading {
                Reading::Ohms { reads, .. } => reads.closed().map(crate::quantity::Ohms::value),
                other => panic!("{other:?}"),
            })
            .collect();
        assert_eq!(read, [None, Some(4100.0)]);
    }

    #[test]
    fn a_joint_is_to_be_undone_and_what_was_read_across_it_is_dropped() {
        let mut interview = told(&BEGIN);
        // White and grey are one coil, red and blue the other, and grey is still on red.
        let ohms = [
            ("white", "grey", "4k"),
            ("white", "red", "4k"),
            ("grey", "red", "0.2"),
            ("red", "blue", "4.1k"),
        ];
        for _ in 0..20 {
            let question = asked(&mut interview);
            if question.starts_with("Undo the joint of grey and red") {
                assert!(matches!(interview.answer("later"), Reply::Refused(_)));
                assert_eq!(interview.answer("done"), Reply::Taken);
                assert!(interview.readings().is_some_and(|r| r.entries().is_empty()));
                assert!(asked(&mut interview).contains(": read the ohms"));
                return;
            }
            let names = |one: &str, other: &str| {
                question.contains(&format!("on the {one} wire, black probe on the {other} wire"))
            };
            let answer = if question.contains(": read the ohms") {
                let known = ohms.iter().find(|(one, other, _)| names(one, other));
                known.map_or("8.1k", |(_, _, reads)| reads)
            } else if names("grey", "red") {
                "none"
            } else if question.contains("upper") {
                if names("red", "blue") || names("grey", "blue") { "none" } else { "+" }
            } else if names("white", "grey") || names("white", "red") {
                "none"
            } else {
                "+"
            };
            assert_eq!(interview.answer(answer), Reply::Taken, "{question} {answer}");
        }
        panic!("never told to undo the joint");
    }

    #[test]
    fn a_false_reading_is_named_and_can_be_taken_again() {
        let mut interview = told(&BEGIN);
        let [white, grey] = [Conductor(0), Conductor(1)];
        for probes in [[white, grey], [grey, white]] {
            assert_eq!(interview.readings.add_tap(Bobbin::First, probes, Swing::Plus, None), Ok(()));
        }
        interview.go_on();
        assert!(interview.question().is_some_and(|q| q.contains("cannot all be true")));
        let before = interview.readings().map(|r| r.entries().len());
        assert!(matches!(interview.answer("0"), Reply::Refused(_)));
        assert!(matches!(interview.answer("99"), Reply::Refused(_)));
        assert_eq!(interview.answer("1"), Reply::Taken);
        assert_eq!(interview.readings().map(|r| r.entries().len() + 1), before);
    }

    #[test]
    fn once_certain_it_goes_on_only_if_asked_to() {
        let begin = ["white, grey", "bare", "only"];
        let mut interview = told(&begin);
        let answer = |question: &str| match question {
            q if q.starts_with("Hold") => "south",
            q if q.contains("bare") => {
                if q.contains(": read the ohms") {
                    "open"
                } else {
                    "none"
                }
            }
            q if q.contains(": read the ohms") => "4k",
            _ => "+",
        };
        for _ in 0..10 {
            let question = asked(&mut interview);
            if question.starts_with("Go on") {
                break;
            }
            assert_eq!(interview.answer(answer(&question)), Reply::Taken, "{question}");
        }
        let mut further = Interview {
            stage: interview.stage.clone(),
            readings: interview.readings.clone(),
            ..Interview::new()
        };
        assert_eq!(interview.answer(""), Reply::Over);
        assert!(matches!(further.answer("perhaps"), Reply::Refused(_)));
        assert_eq!(further.answer("yes"), Reply::Taken);
        for _ in 0..10 {
            let question = asked(&mut further);
            let reply = further.answer(answer(&question));
            if reply == Reply::Over {
                let report = identify(&further.readings);
                assert_eq!(
                    (report.verdict, report.coils[0].sense),
                    (Verdict::Certain, Some("counter-clockwise"))
                );
                assert_eq!(report.coils[0].ohms, Some(4000.0));
                return;
            }
            assert_eq!(reply, Reply::Taken, "{question}");
        }
        panic!("never over");
    }
}
