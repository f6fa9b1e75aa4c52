//! What a maker's chart and the tap test make of the same leads, and the trap between them.
//!
//! A chart names leads by the order of winding: start and finish. A tap names them by the string's voltage: plus
//! and minus. The finish is + where the winding's sense from start to finish and the top pole have equal signs;
//! in an ordinary two-coil pickup one magnet gives the coils opposite poles, so that, wound alike, one coil's
//! finish is its + and the other's is its −.

use super::readings::ChartNames;
use super::report::{CoilReport, Report};
use crate::guitar::{LeadNames, Pickup};

/// Returns what a chart's names mean on the pickup that `report` identifies: a sentence for each of its coils,
/// and one for the two together where they do not agree.
pub fn explain(report: &Report, charts: &[ChartNames]) -> Vec<String> {
    let compared: Vec<(String, Option<bool>)> = charts.iter().map(|chart| compare(report, chart)).collect();
    let mut said: Vec<String> = compared.iter().map(|(sentence, _)| sentence.clone()).collect();
    let finish_is_plus: Vec<bool> = compared.iter().filter_map(|(_, agrees)| *agrees).collect();
    match finish_is_plus.as_slice() {
        [one, other] if one != other => said.push(
            "so finish and + are not the same on this pickup: solder a plan drawn for start and finish by the \
             chart's names, one drawn for + and - by the tap's; mixed, the coils end up out of phase"
                .to_owned(),
        ),
        [false, false] => said.push(
            "so every start is a + here: a plan soldered by the other kind of names turns both coils round, \
             which keeps them in phase with each other but not with the guitar's other pickups"
                .to_owned(),
        ),
        _ => {}
    }
    said
}

/// Returns the chart names in a guitar file's pickup: none where its leads are named by taps or not at all.
pub fn of_pickup(pickup: &Pickup) -> Vec<ChartNames> {
    [Some(pickup.coil_a()), pickup.coil_b()]
        .into_iter()
        .flatten()
        .filter_map(|coil| match coil.leads()? {
            LeadNames::Chart { start, finish } => {
                Some(ChartNames { start: start.clone(), finish: finish.clone() })
            }
            LeadNames::Tap { .. } => None,
        })
        .collect()
}

/// Returns a sentence about one coil of the chart, and whether its finish is the + end where that is known.
fn compare(report: &Report, chart: &ChartNames) -> (String, Option<bool>) {
    let ChartNames { start, finish } = chart;
    let is = |name: &Option<String>, lead: &str| name.as_deref().is_some_and(|n| alike(n, lead));
    let on = |coil: &CoilReport| coil.name.as_ref().map_or_else(String::new, |name| format!("on {name}, "));
    if let Some(coil) = report.coils.iter().find(|c| is(&c.plus, finish) && is(&c.minus, start)) {
        let sentence =
            format!("{}the chart's finish ({finish}) is the tap's +: the two kinds of name agree", on(coil));
        return (sentence, Some(true));
    }
    if let Some(coil) = report.coils.iter().find(|c| is(&c.plus, start) && is(&c.minus, finish)) {
        let sentence = format!(
            "{}the chart's start ({start}) is the tap's + and its finish ({finish}) the tap's -: the two kinds of \
             name disagree",
            on(coil)
        );
        return (sentence, Some(false));
    }
    let holds = |coil: &CoilReport, lead: &str| coil.leads.iter().any(|l| alike(l, lead));
    let apart = report.coils.iter().any(|c| holds(c, start) != holds(c, finish) && !c.leads.is_empty());
    let sentence = if apart {
        format!(
            "the chart puts {start} and {finish} on one coil, the readings do not: the chart is not this pickup's"
        )
    } else {
        format!(
            "whether the chart's start ({start}) or its finish ({finish}) is the tap's + is not known yet"
        )
    };
    (sentence, None)
}

fn alike(one: &str, other: &str) -> bool {
    one.trim().to_lowercase() == other.trim().to_lowercase()
}
