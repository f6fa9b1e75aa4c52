//! What the readings come to.

use serde::Serialize;

use super::hypothesis::{Assignment, Hypotheses, Hypothesis};
use super::known::{Known, KnownCoil};
use super::next::{Step, next_step};
use super::reading::{Bobbin, Conductor, pole_name};
use super::readings::Readings;
use super::strikes::Strikes;
use super::words::Told;
use super::{chart, health};
use crate::guitar::{Pole, Winding};
use crate::quantity::Ohms;

/// Whether the readings settle which lead is which.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// Every lead is assigned to coil and sign, and no other assignment agrees with the readings.
    Certain,
    /// More than one assignment agrees with the readings.
    Ambiguous,
    /// The readings cannot all be true.
    Contradictory,
}

/// A coil as far as the readings tell; what they do not tell is `None`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CoilReport {
    /// The bobbin's name, where a tap ties the leads to it.
    pub name: Option<String>,
    /// The lead on the tap-positive end.
    pub plus: Option<String>,
    /// The lead on the other end.
    pub minus: Option<String>,
    /// The resistance in ohms, mean of the readings across this coil alone.
    pub ohms: Option<f64>,
    /// The pole that faces the strings, `north` or `south`.
    pub top_pole: Option<&'static str>,
    /// The sense of the winding from minus to plus, seen from the strings: `clockwise` or `counter-clockwise`.
    pub sense: Option<&'static str>,
    /// The leads known to belong to the coil, in the pickup's order.
    pub leads: Vec<String>,
}

/// What the readings come to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Report {
    /// Whether they settle which lead is which.
    pub verdict: Verdict,
    /// The coils.
    pub coils: Vec<CoilReport>,
    /// Whether hum cancels when the + ends are used alike, as it does where the top poles are opposite; `None`
    /// where a pole is not known.
    pub hum_cancels_in_phase: Option<bool>,
    /// The step that settles most; `None` where it is settled, contradictory, or no reading settles more.
    pub next: Option<Told>,
    /// Sets of readings that cannot all be true, each without any that could be left out of it; at most six.
    pub conflicts: Vec<Vec<Told>>,
    /// The readings of which each, left out alone, makes the others agree: to be repeated first.
    pub suspects: Vec<Told>,
    /// Compass readings that no other reading bears out.
    pub unconfirmed: Vec<Told>,
    /// The coils' and leads' health.
    pub health: Vec<String>,
    /// What kind of pickup this is, and what a chart's names mean on it.
    pub remarks: Vec<String>,
    /// What the readings do not tell.
    pub not_told: Vec<String>,
    /// The number of assignments of leads to coils and signs that agree with the readings.
    pub assignments_left: usize,
}

/// A report, with the next step and the readings that clash as such.
pub(super) struct Analysis {
    pub(super) report: Report,
    pub(super) step: Option<Step>,
    pub(super) clashes: Vec<Vec<usize>>,
}

/// As many clashes as one cares to read.
const CLASHES: usize = 6;

/// Returns what `readings` come to.
pub fn identify(readings: &Readings) -> Report {
    analyse(readings, &[]).report
}

/// Returns how many ways to assign the leads each reading has left, together with those before it.
pub fn ways_left(readings: &Readings) -> Vec<usize> {
    let after = |count: usize| {
        let mut part = readings.clone();
        part.entries.truncate(count);
        let hypotheses = Hypotheses::about(&part);
        let strikes = Strikes::of(&part, &hypotheses);
        if strikes.poles_agree_throughout() { assignments(&strikes.survivors()) } else { 0 }
    };
    (1..=readings.entries.len()).map(after).collect()
}

/// Returns what `readings` come to, where none of `skipped` is to be the next step.
pub(super) fn analyse(readings: &Readings, skipped: &[Step]) -> Analysis {
    let hypotheses = Hypotheses::about(readings);
    let strikes = Strikes::of(readings, &hypotheses);
    let survivors = if strikes.poles_agree_throughout() { strikes.survivors() } else { Vec::new() };
    let known = Known { readings, hypotheses: &hypotheses, survivors: &survivors };
    // Without two leads there is nothing to contradict.
    let nothing_to_read = hypotheses.list.is_empty();
    let verdict = if nothing_to_read { Verdict::Ambiguous } else { verdict(&survivors) };
    let step = match verdict {
        Verdict::Ambiguous => next_step(readings, &hypotheses, &survivors, skipped),
        Verdict::Certain | Verdict::Contradictory => None,
    };
    let tell = |indices: &[usize]| -> Vec<Told> {
        indices.iter().map(|i| readings.tell(&readings.entries()[*i])).collect()
    };
    let (clashes, suspects) = match verdict {
        Verdict::Contradictory => (strikes.clashes(CLASHES), strikes.suspects()),
        Verdict::Certain | Verdict::Ambiguous => (Vec::new(), Vec::new()),
    };
    let coils = known.coils();
    let report = Report {
        verdict,
        hum_cancels_in_phase: hum_cancels(&known, verdict),
        next: step.map(|step| readings.tell_step(step)),
        conflicts: clashes.iter().map(|clash| tell(clash)).collect(),
        suspects: tell(&suspects),
        unconfirmed: tell(&known.unconfirmed()),
        health: health::of(&known, &coils),
        remarks: health::kind_of_pickup(&known),
        not_told: health::not_told(&known, &coils, verdict, step),
        assignments_left: assignments(&survivors),
        coils: coils.iter().map(|coil| coil_report(&known, coil)).collect(),
    };
    let remarks = [report.remarks.clone(), chart::explain(&report, &readings.charts)].concat();
    Analysis { report: Report { remarks, ..report }, step, clashes }
}

fn verdict(survivors: &[&Hypothesis]) -> Verdict {
    let Some((first, rest)) = survivors.split_first() else { return Verdict::Contradictory };
    let one = rest.iter().all(|h| h.assignment == first.assignment);
    if one && survivors.iter().all(|h| h.assignment.is_complete(h)) {
        Verdict::Certain
    } else {
        Verdict::Ambiguous
    }
}

fn assignments(survivors: &[&Hypothesis]) -> usize {
    let mut assignments: Vec<Assignment> = survivors.iter().map(|h| h.assignment).collect();
    assignments.sort_unstable();
    assignments.dedup();
    assignments.len()
}

/// Tap-aligned coils cancel hum exactly when their top poles are opposite.
fn hum_cancels(known: &Known<'_>, verdict: Verdict) -> Option<bool> {
    if verdict == Verdict::Contradictory || known.readings.coil_count() < 2 {
        return None;
    }
    let [first, second] = Bobbin::BOTH.map(|b| known.top_pole(b));
    Some(first? != second?)
}

fn coil_report(known: &Known<'_>, coil: &KnownCoil) -> CoilReport {
    let name = |conductor: Conductor| known.readings.name(conductor).to_owned();
    let top_pole = coil.bobbin.and_then(|b| known.top_pole(b));
    let polarity = coil.plus.zip(coil.minus);
    CoilReport {
        name: coil.bobbin.and_then(|b| known.readings.bobbin_name(b)).map(str::to_owned),
        plus: coil.plus.map(name),
        minus: coil.minus.map(name),
        ohms: known.ohms(coil).map(Ohms::value),
        top_pole: top_pole.map(pole_name),
        sense: polarity.and(top_pole).map(|pole| match sense(pole) {
            Winding::Clockwise => "clockwise",
            Winding::CounterClockwise => "counter-clockwise",
        }),
        leads: coil.conductors.iter().copied().map(name).collect(),
    }
}

/// Returns the winding's sense from a coil's tap-negative to its tap-positive end: approaching steel strengthens
/// the field through the coil, and the voltage rises clockwise round a north pole, counter-clockwise round a south
/// one (the table of taps by pole and winding in `tests/data`).
fn sense(top_pole: Pole) -> Winding {
    match top_pole {
        Pole::North => Winding::Clockwise,
        Pole::South => Winding::CounterClockwise,
    }
}
