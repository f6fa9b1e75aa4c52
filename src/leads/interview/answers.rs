//! An answer to each question taken, or why it is not understood.

use super::{Interview, Stage};
use crate::guitar::Pole;
use crate::leads::next::Step;
use crate::leads::reading::{Conductor, MeterError, OhmmeterReading, Reading, Swing, pole_called};
use crate::leads::readings::{ReadingError, Readings};
use crate::leads::word::Word;

impl Interview {
    pub(super) fn take_leads(&mut self, answer: &str) -> Result<(), String> {
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

    pub(super) fn take_shield(&mut self, answer: &str) -> Result<(), String> {
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

    pub(super) fn take_coils(&mut self, answer: &str) -> Result<(), String> {
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
        self.readings = readings.enough().map_err(|e| explained(&e))?;
        self.go_on();
        Ok(())
    }

    pub(super) fn take_reading(&mut self, step: Step, answer: &str) -> Result<(), String> {
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
    pub(super) fn take_ohms(&mut self, between: [Conductor; 2], answer: &str) -> Result<(), String> {
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

    pub(super) fn take_again(&mut self, clash: &[usize], answer: &str) -> Result<(), String> {
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
