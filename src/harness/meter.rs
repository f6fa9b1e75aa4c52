//! Readings of a meter on a wired cavity: what they must be, with the band, and which single mistake explains others.

use serde::Serialize;

use super::figures::{Settings, Without};
use super::reading::{MeterReading, ReadWhere, Shown};
use super::wiring::Wiring;
use super::{Change, Harness, HarnessError, PartKind, Terminal, Wire, coils};
use crate::guitar::Taper;
use crate::jack::{AtJack, Expected, Tolerance};
use crate::quantity::Ohms;

/// What is left of a track at a knob's end, as a share of it. Common practice, no source.
const END: f64 = 0.002;
/// What a meter on continuity beeps at, at most.
const BEEP: f64 = 50.0;

/// What readings of a wired cavity tell.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MeterReport {
    /// Each reading with what it must be.
    pub readings: Vec<JudgedReading>,
    /// Every single mistake that gives all readings, where some are not as they must be; where the wires as they are stated
    /// give them already, that alone.
    pub explained_by: Vec<String>,
    /// The test of each of these mistakes; none where the wires as they are stated give the readings.
    pub settle_by: Vec<String>,
    /// Whether the wires as they are stated give readings that are not as they must be.
    pub as_stated: bool,
}

/// A reading and what it must be.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct JudgedReading {
    /// Where it was taken, such as `selector:2+volume@0` or `tone.case`.
    pub place: String,
    /// What a meter reads with every part at its stated value; null where it is open.
    pub expected_ohm: Option<f64>,
    /// The least within the tolerances.
    pub low_ohm: Option<f64>,
    /// The most.
    pub high_ohm: Option<f64>,
    /// What was read, as it was given.
    pub read: String,
    /// Whether that is as it must be.
    pub fits: bool,
}

/// A cavity at the meter: with every part at its stated value, and at either end of its tolerance.
#[derive(Debug, Clone)]
pub struct Meter {
    nominal: Harness,
    ends: [Harness; 2],
}

/// What is not as it should be, at most one thing.
#[derive(Debug, Clone, Copy)]
pub(super) enum Mistake {
    Change(Change),
    CoilOpen(usize),
    CoilShorted(usize),
    TrackBroken(usize),
}

impl Meter {
    /// Returns the cavity of `harness` at the meter.
    ///
    /// # Errors
    /// [`HarnessError`] where none follows from the guitar with its parts at an end: never where one follows from the guitar.
    pub fn of(harness: &Harness) -> Result<Self, HarnessError> {
        let as_set = AtJack::as_set(harness.parts.guitar());
        let [low, high] = as_set.ends();
        Ok(Self { ends: [Harness::of(low)?, Harness::of(high)?], nominal: harness.clone() })
    }

    /// Returns what a meter must read in the wanted cavity.
    pub fn expected(&self, at: ReadWhere) -> Expected {
        self.band(at, &self.nominal.as_wanted, None)
    }

    /// Returns what `readings` tell of a cavity with these wires.
    pub fn judge(&self, wires: &[Wire], readings: &[MeterReading]) -> MeterReport {
        let judged = |reading: &MeterReading| {
            let expected = self.expected(reading.place);
            let [low, high] = expected.band().map_or([None, None], |band| band.map(Some));
            JudgedReading {
                place: reading.name.clone(),
                expected_ohm: expected.nominal().map(Ohms::value),
                low_ohm: low.map(Ohms::value),
                high_ohm: high.map(Ohms::value),
                read: reading.shown.to_string(),
                fits: fits(expected, reading),
            }
        };
        let judged: Vec<JudgedReading> = readings.iter().map(judged).collect();
        let is_right = judged.iter().all(|reading| reading.fits);
        let as_stated = !is_right && self.are_given(wires, readings);
        let mistakes = if is_right || as_stated { Vec::new() } else { self.explanations(wires, readings) };
        let harness = &self.nominal;
        let explained_by = if as_stated {
            vec!["the wires are as the file states them: a check of these tells what is wrong".to_owned()]
        } else {
            mistakes.iter().map(|mistake| harness.told(*mistake)).collect()
        };
        let settle_by = mistakes.iter().map(|mistake| harness.test_of(*mistake)).collect();
        MeterReport { readings: judged, explained_by, settle_by, as_stated }
    }

    /// Returns whether these wires give the readings.
    fn are_given(&self, wires: &[Wire], readings: &[MeterReading]) -> bool {
        let wiring = Wiring::of(&self.nominal.parts, &self.nominal.branches, wires);
        readings.iter().all(|reading| fits(self.band(reading.place, &wiring, None), reading))
    }

    /// Returns every single mistake in a cavity with these wires that gives the readings.
    fn explanations(&self, wires: &[Wire], readings: &[MeterReading]) -> Vec<Mistake> {
        let harness = &self.nominal;
        let explains = |mistake: &Mistake| {
            let (wiring, broken) = harness.with_mistake(wires, *mistake);
            readings.iter().all(|reading| fits(self.band(reading.place, &wiring, broken), reading))
        };
        harness.mistakes(wires).into_iter().filter(explains).collect()
    }

    /// Returns what a meter reads within the tolerances: no network's resistance falls when a resistor rises (Rayleigh), so
    /// that the band lies between all parts at their low and all at their high ends; where a wiper stands between, both
    /// ends of its place are looked at too.
    fn band(&self, at: ReadWhere, wiring: &Wiring, broken: Option<Mistake>) -> Expected {
        let [nominal, least, most] = self.fractions(at);
        let Some(ohms) = self.nominal.ohms_at(at, wiring, broken, nominal) else { return Expected::Open };
        let end = |end: usize| {
            [nominal, least, most]
                .map(|fraction| self.ends[end].ohms_at(at, wiring, broken, fraction).unwrap_or(ohms))
        };
        let (low, high) = (end(0).into_iter().fold(ohms, f64::min), end(1).into_iter().fold(ohms, f64::max));
        let digit = Tolerance::METER_DIGIT.value();
        Expected::Ohms {
            nominal: Ohms::new(ohms),
            low: Ohms::new((low * (1.0 - Tolerance::METER) - digit).max(0.0)),
            high: Ohms::new(high * (1.0 + Tolerance::METER) + digit),
        }
    }

    /// Returns the cavity with every part at its stated value.
    pub(super) fn nominal(&self) -> &Harness {
        &self.nominal
    }

    /// Returns whether a meter reads what it must not there, with these wires.
    pub(super) fn reads_otherwise(
        &self,
        at: ReadWhere,
        expected: Expected,
        wiring: &Wiring,
        broken: Option<Mistake>,
    ) -> bool {
        let ohms = self.nominal.ohms_at(at, wiring, broken, self.fractions(at)[0]);
        match (at, expected.band(), ohms) {
            (ReadWhere::Metal(_), _, ohms) => ohms.is_none_or(|ohms| ohms > BEEP),
            (ReadWhere::Jack { .. }, None, None) => false,
            (ReadWhere::Jack { .. }, Some([low, high]), Some(ohms)) => {
                !(low.value()..=high.value()).contains(&ohms)
            }
            (ReadWhere::Jack { .. }, None, Some(_)) | (ReadWhere::Jack { .. }, Some(_), None) => true,
        }
    }

    /// Returns where the wiper of the turned knob is, and between what it may be: the fraction of its track below it.
    fn fractions(&self, at: ReadWhere) -> [f64; 3] {
        let ReadWhere::Jack { knob: Some((track, turned)), .. } = at else { return [1.0; 3] };
        let harness = &self.nominal;
        let pot = harness.branches.tracks[track].pot.at(turned);
        let nominal = pot.fraction();
        let mids = match pot.taper() {
            Taper::Linear => [nominal; 2],
            Taper::Audio { .. } => {
                harness.parts.guitar().tolerances().taper().map(|mid| pot.with_mid(mid).fraction())
            }
        };
        let within = |fraction: f64| fraction.clamp(END, 1.0 - END);
        if nominal <= 0.0 || nominal >= 1.0 {
            [nominal, nominal, within(nominal)]
        } else {
            [nominal, mids[0], mids[1]]
        }
    }
}

/// Returns whether what was read is what must be.
fn fits(expected: Expected, reading: &MeterReading) -> bool {
    match &reading.shown {
        Shown::Ohms(shown) => expected.fits(shown),
        Shown::Beep => expected.nominal().is_some_and(|ohms| ohms.value() <= BEEP),
        Shown::NoBeep => expected.nominal().is_none_or(|ohms| ohms.value() > BEEP),
    }
}

impl Harness {
    /// Returns what a meter reads there with the wiper of the knob that is turned at this fraction of its track.
    fn ohms_at(&self, at: ReadWhere, wiring: &Wiring, broken: Option<Mistake>, fraction: f64) -> Option<f64> {
        let full = Settings::full(&self.branches);
        // Metal is joined by solder, wherever levers stand.
        let (state, settings, between) = match at {
            ReadWhere::Jack { state, knob: Some((track, _)) } => {
                (state, full.with(track, fraction), wiring.jack)
            }
            ReadWhere::Jack { state, knob: None } => (state, full, wiring.jack),
            ReadWhere::Metal(terminal) => (0, full, [terminal, wiring.jack[1]]),
        };
        let without = match broken {
            Some(Mistake::CoilOpen(coil)) => Some(Without::Coil(coil)),
            Some(Mistake::TrackBroken(track)) => Some(Without::Track(track)),
            Some(Mistake::Change(_) | Mistake::CoilShorted(_)) | None => None,
        };
        self.ohms_between(wiring, state, &settings, between, without)
    }

    /// Returns the cavity of these wires with a mistake in it, and what of that is no matter of wires.
    pub(super) fn with_mistake(&self, wires: &[Wire], mistake: Mistake) -> (Wiring, Option<Mistake>) {
        let (wires, broken) = match mistake {
            Mistake::Change(change) => (change.applied(wires), None),
            Mistake::CoilShorted(coil) => (Change::Add(self.branches.coils[coil].ends).applied(wires), None),
            Mistake::CoilOpen(_) | Mistake::TrackBroken(_) => (wires.to_vec(), Some(mistake)),
        };
        (Wiring::of(&self.parts, &self.branches, &wires), broken)
    }

    /// Returns every single mistake in a cavity with these wires: a joint off, neighbours touching, two lugs or leads
    /// exchanged, a coil open or shorted, a track broken.
    pub(super) fn mistakes(&self, wires: &[Wire]) -> Vec<Mistake> {
        let mut all: Vec<Mistake> = wires.iter().map(|wire| Mistake::Change(Change::Remove(*wire))).collect();
        all.extend(self.touching().into_iter().map(|pair| Mistake::Change(Change::Add(pair))));
        all.extend(self.exchanges(wires).into_iter().map(Mistake::Change));
        for coil in 0..self.branches.coils.len() {
            all.extend([Mistake::CoilOpen(coil), Mistake::CoilShorted(coil)]);
        }
        all.extend((0..self.branches.tracks.len()).map(Mistake::TrackBroken));
        all
    }

    /// Returns the pairs of neighbouring lugs of each part, and each outer lug of a pot with its case.
    fn touching(&self) -> Vec<[Terminal; 2]> {
        let mut pairs = Vec::new();
        for part in self.parts.all() {
            let all: Vec<Terminal> = part.terminals().collect();
            match part.kind() {
                PartKind::Pot(..) | PartKind::Lever(_) | PartKind::Jack | PartKind::Buffer => {
                    pairs.extend(all.windows(2).map(|pair| [pair[0], pair[1]]));
                    if let (PartKind::Pot(..), Some([first, last])) =
                        (part.kind(), all.first().zip(all.last()).map(|(first, last)| [*first, *last]))
                    {
                        pairs.push([first, last]);
                    }
                }
                PartKind::TwoLegs(..) | PartKind::Battery => pairs.push([all[0], all[1]]),
                PartKind::Pickup(_) | PartKind::Strings | PartKind::Cavity => {}
            }
        }
        pairs
    }

    /// Returns a mistake in the trade's words, its terminals with their names.
    pub(super) fn told(&self, mistake: Mistake) -> String {
        let told = |terminal: Terminal| self.parts.told(terminal);
        match mistake {
            Mistake::Change(Change::Remove([one, other])) => {
                format!("{} and {} are not joined", told(one), told(other))
            }
            Mistake::Change(Change::Add([one, other])) => format!("{} and {} touch", told(one), told(other)),
            Mistake::Change(Change::Exchange([one, other])) => {
                format!("what is on {} and on {} is exchanged", told(one), told(other))
            }
            Mistake::Change(change @ Change::Move { .. }) => change.told(&self.parts),
            Mistake::CoilOpen(own) => format!("{} is open: its wire is broken", coils::called(self, own)),
            Mistake::CoilShorted(own) => format!("{} is shorted inside", coils::called(self, own)),
            Mistake::TrackBroken(track) => {
                let pot = &self.parts.all()[self.branches.tracks[track].part];
                format!("the track of {} is broken", self.parts.the_part(pot))
            }
        }
    }
}
