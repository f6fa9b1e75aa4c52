//! The plan of a cavity, beside the wires that are there, and how it stands to the plan of a switch.

use drywire::harness::{Harness, HarnessPlan, Parts, Terminal, Wire};
use drywire::lugs::Labels;
use drywire::quantity::counted;
use drywire::wiring::Thing;
use maud::{Markup, html};

use super::page::{drawn, ends};

/// Returns the plan, drawn where `wires`, those that are there, are others.
pub(super) fn planned(at: &str, harness: &Harness, wires: Option<&[Wire]>) -> Markup {
    let parts = harness.parts();
    html! {
        section data-part="planned" {
            h2 { "As planned" }
            @match harness.plan() {
                None => p { "No plan exists: more has to meet at some lug than it has room for. Lead the cases from one to the next (bus), or leave out what need not be wired." },
                Some(plan) => {
                    p { b { (counted(plan.wires.len(), "joint")) } ", the fewest there can be." }
                    @let others = otherwise(parts, &plan);
                    @if !others.is_empty() {
                        p { "Plan draws each switch by itself. Here the whole cavity is wired with as few joints, and " (others.join(", and ")) ". These lugs are joined, so that every throw does the same: solder either." }
                    }
                    @if wires.is_some_and(|wires| is_same(wires, &plan.ends())) {
                        p { "The wires that are there are these." }
                    } @else {
                        form method="post" action={ (at) "take-plan" } { button.strong #take-plan { "These are soldered" } }
                        (drawn(harness, &plan.ends(), "The control cavity from behind as planned"))
                        ol { @for wire in plan.ends() { li { (ends(parts, wire)) } } }
                    }
                }
            }
        }
    }
}

fn is_same(wires: &[Wire], planned: &[Wire]) -> bool {
    let is_there = |wire: &Wire| wires.iter().any(|own| own == wire || [own[1], own[0]] == *wire);
    wires.len() == planned.len() && planned.iter().all(is_there)
}

/// Returns in words which leads the plan puts on other lugs than the drawing of their switch by itself does; both are joined.
fn otherwise(parts: &Parts, plan: &HarnessPlan) -> Vec<String> {
    let guitar = parts.guitar();
    let mut told = Vec::new();
    for own in guitar.switches() {
        let pickup = guitar.switched_by(own);
        let switch = own.switch();
        let soldering = own.plan(Labels::of(pickup, own.names()).finish_is_plus()).soldering();
        for (lug, things) in switch.lugs().zip(&soldering.at_lug) {
            let there = format!("{}.{}", own.name().value, switch.name_of(lug));
            for thing in things {
                let Thing::Terminal(end) = thing else { continue };
                let lead = parts.terminal(&format!("{}.{}", pickup.name(), end.name()));
                let on = lead.and_then(|lead| plan.wires.iter().find_map(|wire| other_end(wire.ends, lead)));
                let (Some(lead), Some(on)) = (lead, on) else { continue };
                if parts.name_of(on) != there {
                    let [lead, on] = [lead, on].map(|own| parts.the(own));
                    told.push(format!("{lead} is on {on} and not on lug {}", switch.name_of(lug)));
                }
            }
        }
    }
    told
}

fn other_end([one, other]: Wire, end: Terminal) -> Option<Terminal> {
    match end {
        end if end == one => Some(other),
        end if end == other => Some(one),
        _ => None,
    }
}
