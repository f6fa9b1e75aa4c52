//! What the meter reads, and what the tests at the bench meet, where one mistake or none is the matter.

use super::bench::Bench;
use super::check::vantages;
use super::suspect::Suspect;
use crate::circuit::Nets;
use crate::jack::{AtJack, Expected, JackReadings, State};
use crate::response::VoiceError;
use crate::wiring::Sense;

/// A case that the readings leave open, with all that the tests can meet in it.
#[derive(Debug, Clone)]
pub(super) struct Case<'s> {
    /// The mistake, or nothing where all is as drawn.
    pub(super) suspect: Option<&'s Suspect>,
    /// What the meter reads, by position.
    pub(super) reads: Vec<Expected>,
    /// What is one node where leads and lugs can be touched, by vantage.
    pub(super) touched: Vec<Nets>,
    /// How each coil swings at the jack, by vantage.
    pub(super) swings: Vec<Vec<Option<Sense>>>,
}

/// All cases of one bench.
#[derive(Debug)]
pub(super) struct Cases<'b> {
    bench: &'b Bench,
    vantages: Vec<State>,
    readings: JackReadings<'b>,
}

impl<'b> Cases<'b> {
    pub(super) fn new(bench: &'b Bench) -> Self {
        Self { bench, vantages: vantages(bench), readings: JackReadings::new(&bench.full) }
    }

    /// Returns what the meter reads in the position at this place where `suspect` is the matter.
    pub(super) fn reads(&mut self, suspect: Option<&Suspect>, place: usize) -> Result<Expected, VoiceError> {
        let Bench { guitar, solder, .. } = self.bench;
        let position = &self.bench.positions[place];
        match suspect {
            None => self.readings.expected(&self.bench.drawn(position)),
            Some(Suspect::Knob(knob, turned)) => {
                AtJack::full_but(guitar, *knob, *turned).expected(&self.bench.drawn(position))
            }
            Some(elsewhere @ Suspect::Elsewhere(..)) => {
                let stood = elsewhere.stood(guitar, &position.state);
                self.readings.expected(&stood.nets(guitar, solder))
            }
            Some(Suspect::Mistake(mistake)) => {
                let touched = position.state.nets(guitar, &mistake.soldered);
                self.readings.expected(&mistake.heard(touched))
            }
        }
    }

    /// Returns the whole case.
    pub(super) fn case<'s>(&mut self, suspect: Option<&'s Suspect>) -> Result<Case<'s>, VoiceError> {
        let Bench { guitar, solder, positions, .. } = self.bench;
        let reads = (0..positions.len()).map(|place| self.reads(suspect, place)).collect::<Result<_, _>>()?;
        let mistake = match suspect {
            Some(Suspect::Mistake(mistake)) => Some(mistake),
            Some(Suspect::Knob(..) | Suspect::Elsewhere(..)) | None => None,
        };
        let soldered = mistake.map_or(solder, |mistake| &mistake.soldered);
        let touched: Vec<Nets> = self.vantages.iter().map(|state| state.nets(guitar, soldered)).collect();
        let heard = |nets: &Nets| mistake.map_or_else(|| nets.clone(), |mistake| mistake.heard(nets.clone()));
        let swings =
            touched.iter().map(|nets| self.readings.swings(&heard(nets))).collect::<Result<_, _>>()?;
        Ok(Case { suspect, reads, touched, swings })
    }
}
