//! Readings at the jack, each worked out once.

use std::collections::HashMap;

use super::{AtJack, Expected};
use crate::circuit::{Nets, NetsKey};
use crate::quantity::Ohms;
use crate::response::VoiceError;
use crate::wiring::Sense;

/// What the meter reads on one guitar, whatever is soldered: equal circuits are solved once.
#[derive(Debug)]
pub struct JackReadings<'j> {
    at: &'j AtJack,
    nominal: HashMap<NetsKey, Option<Ohms>>,
    expected: HashMap<NetsKey, Expected>,
    swings: HashMap<NetsKey, Vec<Option<Sense>>>,
}

impl<'j> JackReadings<'j> {
    /// Returns the readings on the guitar `at` whose jack they are taken, none of them known so far.
    pub fn new(at: &'j AtJack) -> Self {
        Self { at, nominal: HashMap::new(), expected: HashMap::new(), swings: HashMap::new() }
    }

    /// Returns what [`AtJack::nominal`] does.
    ///
    /// # Errors
    /// [`VoiceError`] where the circuit has no solution.
    pub fn nominal(&mut self, nets: &Nets) -> Result<Option<Ohms>, VoiceError> {
        known(&mut self.nominal, nets, || self.at.nominal(nets))
    }

    /// Returns what [`AtJack::expected`] does.
    ///
    /// # Errors
    /// [`VoiceError`] where the circuit has no solution.
    pub fn expected(&mut self, nets: &Nets) -> Result<Expected, VoiceError> {
        known(&mut self.expected, nets, || self.at.expected(nets))
    }

    /// Returns what [`AtJack::swings`] does.
    ///
    /// # Errors
    /// [`VoiceError`] where the circuit has no solution.
    pub fn swings(&mut self, nets: &Nets) -> Result<Vec<Option<Sense>>, VoiceError> {
        known(&mut self.swings, nets, || self.at.swings(nets))
    }
}

fn known<T: Clone>(
    known: &mut HashMap<NetsKey, T>,
    nets: &Nets,
    worked_out: impl FnOnce() -> Result<T, VoiceError>,
) -> Result<T, VoiceError> {
    let key = nets.key();
    if let Some(answer) = known.get(&key) {
        return Ok(answer.clone());
    }
    let answer = worked_out()?;
    known.insert(key, answer.clone());
    Ok(answer)
}
