//! The leads identified question by question, one reading at a time.
//!
//! An [`Interview`] holds the question to be put; each answer moves it on, or is refused and the question stands.
//! It neither prints nor reads, so that a terminal, a pipe and a test can all hold one.

mod answers;
#[cfg(test)]
mod tests;

use super::further::further_step;
use super::howto::how_to;
use super::next::Step;
use super::reading::Unclear;
use super::readings::Readings;
use super::report::{Analysis, Verdict, analyse};

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
            (Verdict::Certain, _) if further_step(&self.readings, &self.skipped).is_some() => Stage::Further,
            (Verdict::Ambiguous, Some(step)) => Stage::Take { step, beyond_certain: false, unclear: None },
            (Verdict::Contradictory, _) => match clashes.into_iter().next() {
                Some(clash) => Stage::Again(clash),
                None => Stage::Over,
            },
            (Verdict::Certain, _) | (Verdict::Ambiguous, None) => Stage::Over,
        };
    }

    fn stage_beyond_certain(&self) -> Stage {
        further_step(&self.readings, &self.skipped).map_or(Stage::Over, |step| Stage::Take {
            step,
            beyond_certain: true,
            unclear: None,
        })
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
