//! The wires that a guitar's file states, each from one terminal to another.

use super::{Part, PartKind, Parts, Terminal};
use crate::document::{Document, Fault, Located, Refusal, nearest};
use crate::guitar::NamedWire;

/// A wire, lead or leg from one terminal to another.
pub type Wire = [Terminal; 2];

/// Returns the wires that the file of `document`, of which `parts` are, states as `named`.
///
/// # Errors
/// [`Refusal`] with every fault: a terminal that is not there, a wire from a terminal to itself, a lead on two points.
pub fn read_wires(document: &Document, parts: &Parts, named: &[NamedWire]) -> Result<Vec<Wire>, Refusal> {
    let mut faults = strangers(parts);
    let (mut wires, mut stated): (Vec<Wire>, Vec<&NamedWire>) = (Vec::new(), Vec::new());
    for wire in named {
        let found = wire.value.each_ref().map(|name| terminal(parts, name));
        match found {
            [Ok(one), Ok(other)] if one == other => {
                let message = format!("a wire from `{}` to itself", wire.value[0].value);
                faults
                    .push(Fault::new(wire.span.clone(), message).hint("name the terminal at its other end"));
            }
            [Ok(one), Ok(other)] => {
                wires.push([one, other]);
                stated.push(wire);
            }
            found => faults.extend(found.into_iter().filter_map(Result::err)),
        }
    }
    faults.extend(leads_on_two_points(parts, &stated, &wires));
    if faults.is_empty() {
        return Ok(wires);
    }
    Err(Refusal::of(document, faults))
}

/// Looks whether the file of `document`, of which `parts` are, names nothing as a part of its cavity that is none.
///
/// # Errors
/// [`Refusal`] with every place and every push-pull pot of a part that is not there.
pub fn refuse_strangers(document: &Document, parts: &Parts) -> Result<(), Refusal> {
    let faults = strangers(parts);
    if faults.is_empty() { Ok(()) } else { Err(Refusal::of(document, faults)) }
}

fn strangers(parts: &Parts) -> Vec<Fault> {
    let cavity = parts.guitar().cavity();
    let named = |name: &Located<String>, what: &str, is: &dyn Fn(PartKind) -> bool| {
        let fits = |part: &&Part| is(part.kind());
        let known: Vec<&str> = parts.all().iter().filter(fits).map(Part::name).collect();
        if known.contains(&name.value.as_str()) {
            return None;
        }
        let fault = Fault::new(name.span.clone(), format!("the guitar has no {what} `{}`", name.value));
        Some(fault.hint(match nearest(&name.value, known.iter().copied()) {
            Some(near) => format!("did you mean `{near}`?"),
            None if known.is_empty() => format!("it has no {what} at all"),
            None => format!("it has {}", known.join(", ")),
        }))
    };
    let is_lever = |kind: PartKind| matches!(kind, PartKind::Lever(_));
    let is_pot = |kind: PartKind| matches!(kind, PartKind::Pot(..));
    let under = cavity.under().iter().flat_map(|(switch, pot)| {
        [named(switch, "selector or switch", &is_lever), named(pot, "pot", &is_pot)]
    });
    let places = cavity.places().iter().map(|(part, _)| named(part, "part", &|_| true));
    under.chain(places).flatten().collect()
}

fn terminal(parts: &Parts, name: &Located<String>) -> Result<Terminal, Fault> {
    let given = name.value.as_str();
    if let Some(terminal) = parts.terminal(given) {
        return Ok(terminal);
    }
    let part = given.split_once('.').map_or(given, |(part, _)| part);
    if let Some(part) = parts.named(part) {
        let known: Vec<String> = part.lugs().iter().map(|lug| format!("{}.{lug}", part.name())).collect();
        let message = format!("`{}` has no terminal `{given}`", part.name());
        return Err(Fault::new(name.span.clone(), message).hint(format!("it has {}", known.join(", "))));
    }
    let message = format!("the guitar has no part `{part}`, of which `{given}` would be a terminal");
    let all: Vec<String> = parts.terminals().map(|terminal| parts.name_of(terminal)).collect();
    let near = nearest(given, all.iter().map(String::as_str));
    let hint = near.map_or_else(
        || {
            let names: Vec<&str> = parts.all().iter().map(Part::name).collect();
            format!("its parts are {}", names.join(", "))
        },
        |near| format!("did you mean `{near}`?"),
    );
    Err(Fault::new(name.span.clone(), message).hint(hint))
}

/// Returns a fault for each lead or leg that leads to a lug and to something else as well.
fn leads_on_two_points(parts: &Parts, named: &[&NamedWire], wires: &[Wire]) -> Vec<Fault> {
    let mut faults = Vec::new();
    for (place, (wire, name)) in wires.iter().zip(named).enumerate() {
        for (end, first) in points_of_leads(parts, &wires[..place], *wire) {
            let other = wire[1 - end];
            if first == other {
                let [from, to] = name.value.each_ref().map(|own| &own.value);
                let message = format!("the wire from `{from}` to `{to}` is stated twice");
                faults.push(Fault::new(name.span.clone(), message).hint("state each wire once"));
                break;
            }
            let message = format!(
                "`{}` is a lead, and is named on `{}` and on `{}`",
                parts.name_of(wire[end]),
                parts.name_of(first),
                parts.name_of(other)
            );
            let hint = "a lead or a leg ends at one point; a wire leads on from there";
            faults.push(Fault::new(name.value[end].span.clone(), message).hint(hint));
        }
    }
    faults
}

/// Returns which ends of `wire` are leads or legs that the wires before it lead to another point already, each with that point.
/// Leads that are spliced to one another may meet as they like, and what joins the two ends of one part bridges it.
pub(super) fn points_of_leads(parts: &Parts, before: &[Wire], wire: Wire) -> Vec<(usize, Terminal)> {
    let bridges = |[one, other]: &Wire| parts.part_of(*one) == parts.part_of(*other);
    if bridges(&wire) {
        return Vec::new();
    }
    let point = |(end, other): (usize, usize)| {
        let lead = wire[end];
        let earlier = |before: &Wire| match *before {
            [one, at] if one == lead => Some(at),
            [at, one] if one == lead => Some(at),
            _ => None,
        };
        let first = before.iter().filter(|before| !bridges(before)).find_map(earlier)?;
        let is_spliced = parts.is_lead(first) && parts.is_lead(wire[other]) && first != wire[other];
        (parts.is_lead(lead) && !is_spliced).then_some((end, first))
    };
    [(0, 1), (1, 0)].into_iter().filter_map(point).collect()
}
