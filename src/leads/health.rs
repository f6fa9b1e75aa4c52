//! The coils' and leads' health, and what the readings do not tell, in plain words.

use super::fit::{NEAR_ZERO_UP_TO, Passage};
use super::hypothesis::Hypothesis;
use super::known::{Known, KnownCoil};
use super::network::{Bond, Condition, Point};
use super::next::Step;
use super::reading::{Bobbin, Conductor, Reading};
use super::report::Verdict;
use crate::quantity::Ohms;

/// What one coil of a passive pickup usually has, in ohms; the range over the types of pickup that this program
/// knows, widened to whole numbers.
const USUAL: [f64; 2] = [3e3, 9e3];
/// Readings closer than this mean nothing: 3 % is the meter and the copper's temperature.
const ALIKE: f64 = 0.03;
/// Coils further apart than this were not wound alike, or one has lost turns (common practice, no source).
const UNLIKE: f64 = 0.10;

/// Returns what is known about the coils' and leads' health.
pub(super) fn of(known: &Known<'_>, coils: &[KnownCoil]) -> Vec<String> {
    let mut said = Vec::new();
    said.extend(isolated_leads(known, coils));
    said.extend(joined_leads(known));
    said.extend(touching_the_shield(known));
    if known.always(|h| h.bond == Bond::Touching) {
        said.push(
            "the two coils touch inside the pickup: their insulation has failed, and no switch can part them"
                .to_owned(),
        );
    }
    // Of a shorted coil all is said.
    let whole = coils.iter().filter(|coil| !known.is_shorted(coil));
    let read: Vec<(String, Ohms)> =
        whole.filter_map(|coil| Some((called(known, coil), known.ohms(coil)?))).collect();
    said.extend(read.iter().filter_map(|(coil, ohms)| unusual(coil, *ohms)));
    if let [(one, a), (other, b)] = read.as_slice() {
        said.push(compared(one, *a, other, *b));
    }
    for entry in known.readings.entries() {
        if let Reading::Ohms { between: [one, other], reads } = &entry.reading
            && reads.leakage().is_some()
        {
            said.push(format!(
                "{} to {} at {reads} counts as open; if it stays with no finger on the probes, damp or bad insulation leaks",
                known.readings.name(*one),
                known.readings.name(*other)
            ));
        }
    }
    said
}

/// Returns what kind of pickup this is, where it is not two coils with four leads.
pub(super) fn kind_of_pickup(known: &Known<'_>) -> Vec<String> {
    let name = |conductor: Conductor| known.readings.name(conductor);
    let mut said = Vec::new();
    if known.readings.coil_count() == 2
        && known.always(|h| has_both_coils(h) && ends_brought_out(known, h) == 2)
    {
        said.push(
            "only two leads come out: the coils are joined inside, and no switch can choose between series, \
             parallel and one coil without opening the pickup"
                .to_owned(),
        );
    }
    for lead in known.leads().chain(known.shield()) {
        if known.always(|h| ends_brought_out(known, h) == 3 && in_both_coils(known, h, lead)) {
            said.push(format!(
                "{} is the joint of both coils, brought out: series and one coil alone can be wired, parallel \
                 needs the joint undone inside the pickup",
                name(lead)
            ));
        }
        let taps = |b: Bobbin| known.always(|h| h.seat(lead) == Some(Point::Middle(b)));
        if known.shield() != Some(lead) && Bobbin::BOTH.into_iter().any(taps) {
            said.push(format!("{} is a tap inside one coil, not a coil's end", name(lead)));
        }
        if known.shield() != Some(lead) && known.always(|h| h.seat(lead).is_none()) {
            said.push(format!("{} leads to neither coil", name(lead)));
        }
    }
    said
}

/// Returns what the readings do not tell.
pub(super) fn not_told(
    known: &Known<'_>,
    coils: &[KnownCoil],
    verdict: Verdict,
    step: Option<Step>,
) -> Vec<String> {
    let mut said = Vec::new();
    match verdict {
        Verdict::Contradictory => return said,
        Verdict::Ambiguous if step.is_none() => {
            said.push(if a_coil_is_known_dead(known) {
                "which end of a coil that does not swing is +: no reading can tell".to_owned()
            } else {
                "the rest: no further reading of ohms or taps would settle it".to_owned()
            });
        }
        Verdict::Certain | Verdict::Ambiguous => {}
    }
    for coil in coils.iter().filter(|coil| verdict == Verdict::Certain && known.ohms(coil).is_none()) {
        said.push(format!("the resistance of {} by itself", called(known, coil)));
    }
    let poles = coils.iter().filter_map(|coil| coil.bobbin).filter(|b| known.top_pole(*b).is_none());
    let missing: Vec<String> = poles.map(|b| known.readings.called(b)).collect();
    if verdict == Verdict::Certain && !missing.is_empty() {
        said.push(format!(
            "the top pole of {}: without it neither the winding's sense nor whether hum cancels is known",
            missing.join(" and ")
        ));
    }
    if verdict == Verdict::Certain
        && let Some(shield) = known.shield()
    {
        let unread = known.leads().any(|lead| known.passage([lead, shield]).is_none());
        if unread {
            said.push(format!(
                "whether every lead is clear of the shield: each to {} must read open",
                known.readings.name(shield)
            ));
        }
    }
    if verdict == Verdict::Certain {
        said.push("at which end the winder began: a meter cannot tell start from finish".to_owned());
    }
    said
}

/// Returns what messages call a coil: its name where it has one, and its leads where they are known.
fn called(known: &Known<'_>, coil: &KnownCoil) -> String {
    let leads: Vec<&str> = coil.conductors.iter().map(|c| known.readings.name(*c)).collect();
    match coil.bobbin {
        Some(bobbin) => known.readings.called(bobbin),
        None => format!("the coil of {}", leads.join(" and ")),
    }
}

fn a_coil_is_known_dead(known: &Known<'_>) -> bool {
    let dead = |c: &Condition| matches!(c, Condition::Open | Condition::Shorted);
    known.always(|h| h.conditions.iter().any(dead))
}

fn has_both_coils(h: &Hypothesis) -> bool {
    h.conditions.iter().all(|c| *c != Condition::Absent)
}

/// Returns the number of different conductors on the coils' ends.
fn ends_brought_out(known: &Known<'_>, h: &Hypothesis) -> usize {
    known
        .leads()
        .chain(known.shield())
        .filter(|c| h.assignment.0.iter().flatten().any(|end| *end == Some(*c)))
        .count()
}

fn in_both_coils(known: &Known<'_>, h: &Hypothesis, conductor: Conductor) -> bool {
    Bobbin::BOTH.into_iter().all(|b| known.belonging_to(h, b).contains(&conductor))
}

/// Leads from which no current passes to any other.
fn isolated_leads(known: &Known<'_>, coils: &[KnownCoil]) -> Option<String> {
    let isolated: Vec<&str> = known
        .leads()
        .filter(|lead| {
            known.leads().all(|other| *lead == other || known.passage([*lead, other]) == Some(Passage::Open))
                && !known.always(|h| h.seat(*lead).is_none())
        })
        .map(|lead| known.readings.name(lead))
        .collect();
    if isolated.is_empty() || known.readings.leads.len() < 2 {
        return None;
    }
    let unseen: Vec<String> =
        coils.iter().filter(|coil| coil.conductors.is_empty()).map(|coil| called(known, coil)).collect();
    let why = match (unseen.as_slice(), isolated.len()) {
        ([coil], 2) if coils.len() == 2 => {
            format!("{coil} is open (a broken wire), or these are not its leads")
        }
        _ => "a broken coil or lead, or one that goes nowhere".to_owned(),
    };
    Some(format!("no current passes from {} to any other lead: {why}", isolated.join(" or ")))
}

fn joined_leads(known: &Known<'_>) -> Vec<String> {
    let mut said = Vec::new();
    for one in known.leads() {
        for other in known.leads().filter(|other| *other > one) {
            if known.passage([one, other]) != Some(Passage::Joined) {
                continue;
            }
            let [a, b] = [one, other].map(|c| known.readings.name(c));
            said.push(if known.always(|h| h.joins(one, other)) {
                format!(
                    "{a} and {b} are joined to each other, as many pickups leave the factory: undo the joint \
                     before wiring a switch"
                )
            } else if known.always(|h| !h.joins(one, other)) {
                format!("the coil of {a} and {b} is shorted within itself: it gives no sound")
            } else {
                format!(
                    "{a} and {b} read near zero (at most {}): joined to each other, or their coil is shorted",
                    Ohms::new(NEAR_ZERO_UP_TO)
                )
            });
        }
    }
    said
}

fn touching_the_shield(known: &Known<'_>) -> Vec<String> {
    let Some(shield) = known.shield() else { return Vec::new() };
    let on_shield = |lead: &Conductor| known.always(|h| h.joins(*lead, shield));
    let direct: Vec<&str> = known.leads().filter(on_shield).map(|lead| known.readings.name(lead)).collect();
    let shield_is_a_lead = known.always(|h| h.assignment.0.iter().flatten().any(|end| *end == Some(shield)));
    let wired = known
        .leads()
        .any(|lead| known.always(|h| Passage::Open != known.hypotheses.passage(h, [lead, shield])));
    let name = known.readings.name(shield);
    if !direct.is_empty() {
        vec![format!(
            "{} is joined to the shield ({name}): part them and leave the shield on ground; every lead to the shield must \
             read open",
            direct.join(" and ")
        )]
    } else if shield_is_a_lead {
        vec![format!("the shield ({name}) is a coil's end here, as in a cable of fewer cores")]
    } else if wired {
        vec![format!(
            "a coil touches the shield ({name}): its insulation has failed, or a lead is soldered to the shield"
        )]
    } else {
        Vec::new()
    }
}

fn unusual(coil: &str, ohms: Ohms) -> Option<String> {
    let r = ohms.value();
    if r < USUAL[0] {
        Some(format!(
            "{coil} reads {ohms}, less than one coil usually has (3 to 9 kΩ): shorted turns, or few of them"
        ))
    } else if r > USUAL[1] {
        Some(format!(
            "{coil} reads {ohms}, more than one coil usually has (3 to 9 kΩ): thin wire, or a bad joint"
        ))
    } else {
        None
    }
}

fn compared(one: &str, a: Ohms, other: &str, b: Ohms) -> String {
    let difference = a.value().max(b.value()) / a.value().min(b.value()) - 1.0;
    let both = format!("{one} ({a}) and {other} ({b})");
    if difference <= ALIKE {
        format!("{both} are alike: under 3 % means nothing")
    } else if difference <= UNLIKE {
        format!("{both} differ by {:.0} %, which is common and harmless", 100.0 * difference)
    } else {
        format!(
            "{both} differ by {:.0} %: wound unlike on purpose, or the lower one has shorted turns",
            100.0 * difference
        )
    }
}
