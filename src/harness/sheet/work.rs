//! What is checked first, every wire in the order of the work with a box to tick, and what comes off before.

use std::fmt::Write;

use super::is_same;
use super::worth::worth;
use crate::guitar::Turns;
use crate::harness::called::lead_called;
use crate::harness::{Harness, HarnessPlan, PartKind, Parts, PlannedWire, Terminal, Wire, WireKind};
use crate::lugs::beeps;
use crate::markup::content;

/// Returns a terminal by what a person calls it, its name after that.
fn told(parts: &Parts, terminal: Terminal) -> String {
    let name = content(&parts.name_of(terminal));
    lead_called(parts, terminal).map_or_else(
        || name.clone(),
        |called| format!("<b>{}</b> <span class=\"name-of\">{name}</span>", content(&called)),
    )
}

/// Returns the checks of the bare parts, before anything is soldered.
pub(super) fn checks(harness: &Harness) -> String {
    let parts = &harness.parts;
    let low = match parts.guitar().cavity().turns() {
        Turns::Clockwise => "1 and 2",
        Turns::CounterClockwise => "3 and 2",
    };
    let mut steps = vec![
        "Photograph the wiring as it is, and note which lead is where.".to_owned(),
        format!(
            "Each pot, lugs up, 1 2 3 from left to right from behind: with its knob at 0, {low} read near 0 Ω; 1 and 3 read \
             the whole track."
        ),
    ];
    for part in parts.all() {
        if let PartKind::Lever(lever) = part.kind() {
            let table = lever.table(parts.guitar());
            let joins: Vec<String> = table.throws().iter().map(|throw| beeps(table, throw)).collect();
            steps.push(format!("{}, on continuity: {}.", part.name(), joins.join("; ")));
        }
    }
    steps.push(
        "The jack, a plug in it: its tip beeps to the plug’s tip, its sleeve to the plug’s shaft.".to_owned(),
    );
    let steps: Vec<String> = steps.iter().map(|step| format!("<li>{}</li>\n", content(step))).collect();
    let steps = steps.concat();
    format!("<section class=\"work\">\n<h2>Check the bare parts first</h2>\n<ol>\n{steps}</ol>\n</section>\n")
}

/// Returns every planned wire with its number and a box to tick.
pub(super) fn list(harness: &Harness, plan: &HarnessPlan) -> String {
    let parts = &harness.parts;
    let mut groups = String::new();
    for (kind, heading) in WireKind::HEADED {
        let own = plan.wires.iter().enumerate().filter(|(_, wire)| wire.kind == kind);
        let mut rows = String::new();
        for (place, wire) in own {
            let [one, other] = wire.ends.map(|end| told(parts, end));
            let star = if wire.may_be_shielded() { "*\u{a0}" } else { "" };
            let mm = if wire.mm == 0 { String::new() } else { format!("{star}{}\u{a0}mm", wire.mm) };
            let _ = writeln!(
                rows,
                "<tr><td class=\"tick\"></td><td class=\"number\">{}</td><td>{one} – {other}</td><td class=\"mm\">{mm}</td></tr>",
                place + 1
            );
        }
        if !rows.is_empty() {
            let _ = writeln!(
                groups,
                "<div>\n<h3>{heading}</h3>\n<table>\n<tbody>\n{rows}</tbody>\n</table>\n</div>"
            );
        }
    }
    let shielded = if plan.wires.iter().any(PlannedWire::may_be_shielded) {
        " * Long: a shielded wire takes up less hum, its shield on ground at one end only."
    } else {
        ""
    };
    format!(
        "<section class=\"order\">\n<h2>Order of work</h2>\n<div class=\"wires\">\n{groups}</div>\n<p class=\"between\">Bent lugs, ground, legs and wires are \
         soldered on the bench. Lengths are as led; leave a little more. Tug every wire, and look for whiskers of solder.{shielded}</p>\n\
         </section>\n"
    )
}

/// Returns what comes off of the wiring as it is, and what is then soldered.
pub(super) fn changes(harness: &Harness, wires: &[Wire], labels: &[String], planned: &[Wire]) -> String {
    let parts = &harness.parts;
    let row = |label: &str, wire: &Wire| {
        let [one, other] = wire.map(|end| told(parts, end));
        format!(
            "<tr><td class=\"tick\"></td><td class=\"number\">{label}</td><td>{one} – {other}</td></tr>\n"
        )
    };
    let gone = wires.iter().zip(labels).filter(|(wire, _)| !planned.iter().any(|own| is_same(**wire, *own)));
    let gone: String = gone.map(|(wire, label)| row(label, wire)).collect();
    let new = planned.iter().enumerate().filter(|(_, wire)| !wires.iter().any(|own| is_same(**wire, *own)));
    let new: String = new.map(|(place, wire)| row(&(place + 1).to_string(), wire)).collect();
    let checked = harness.check(wires);
    let is_right = if checked.is_as_wanted() {
        "<p class=\"between\">The wiring as it is makes the same circuit already: none of this is needed for its sake.</p>\n"
    } else {
        ""
    };
    let table = |title: &str, rows: &str| {
        let rows = if rows.is_empty() { "<tr><td>nothing</td></tr>\n" } else { rows };
        format!(
            "<section class=\"wires-of\">\n<h2>{title}</h2>\n<table class=\"short\">\n<tbody>\n{rows}</tbody>\n</table>\n</section>\n"
        )
    };
    format!(
        "<div class=\"changes\">\n{}{}</div>\n{is_right}",
        table("Unsolder these", &gone),
        table("Solder those", &new)
    )
}

/// Returns the parts that are bought by their worth, each with it.
pub(super) fn worths(harness: &Harness) -> Vec<(String, String)> {
    let all = harness.parts.all().iter().enumerate();
    let is_bought = |kind: PartKind| matches!(kind, PartKind::Pot(..) | PartKind::TwoLegs(..));
    all.filter(|(_, part)| is_bought(part.kind()))
        .map(|(place, part)| (part.name().to_owned(), worth(harness, place)))
        .collect()
}
