//! The single mistakes that a plan can be soldered with.

use super::bench::{Bench, Mount};
use crate::wiring::{CoilName, Lug, Plan, Switch, Terminal, Thing};

/// A single mistake.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Suspect {
    /// The volume knob is not full but here, 0 to 10.
    Volume(f64),
    /// A switch is not soldered as drawn, or a coil is not sound.
    Mistake(Mistake),
}

/// A single mistake at one switch and what it makes of its plan.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Mistake {
    /// The switch by its place.
    pub(super) mount: usize,
    pub(super) cause: Cause,
    /// What is joined to what where leads and lugs can be touched.
    pub(super) soldered: Plan,
    /// The same with a broken coil as one that leads nowhere: what the circuit sees.
    pub(super) heard: Plan,
}

/// What is wrong at a switch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Cause {
    /// A thing is not joined to the rest of its group.
    Off(Thing),
    /// Two wires are in each other's place.
    Swapped([Terminal; 2]),
    /// Two neighbouring lugs touch.
    Bridged([Lug; 2]),
    /// A coil's wire is broken.
    Open(CoilName),
    /// A coil's ends are joined inside.
    Shorted(CoilName),
}

/// Returns every single mistake at the switches on `bench` that changes what some throw connects.
pub(super) fn mistakes(bench: &Bench) -> Vec<Mistake> {
    let mut all = Vec::new();
    for (mount, Mount { plan, .. }) in bench.mounts.iter().enumerate() {
        let mut found: Vec<Mistake> = Vec::new();
        for (cause, soldered, heard) in of_plan(plan) {
            // In a group of two it is the same whether one is off the other or the other off the one.
            let is_known =
                matches!(cause, Cause::Off(_)) && found.iter().any(|other| other.soldered == soldered);
            if heard.throws() != plan.throws() && !is_known {
                found.push(Mistake { mount, cause, soldered, heard });
            }
        }
        all.extend(found);
    }
    all
}

fn of_plan(plan: &Plan) -> Vec<(Cause, Plan, Plan)> {
    let mut found = Vec::new();
    for thing in plan.groups().iter().flatten() {
        let off = without(plan, *thing);
        found.push((Cause::Off(*thing), off.clone(), off));
    }
    for (i, one) in Terminal::ALL.into_iter().enumerate() {
        for other in Terminal::ALL.into_iter().skip(i + 1) {
            let swapped = swapped(plan, [one, other]);
            found.push((Cause::Swapped([one, other]), swapped.clone(), swapped));
        }
    }
    for pair in neighbours(plan.switch()) {
        let bridged = joined(plan, pair.map(Thing::Lug));
        found.push((Cause::Bridged(pair), bridged.clone(), bridged));
    }
    for coil in CoilName::BOTH {
        let ends = [coil.plus(), coil.minus()].map(Thing::Terminal);
        found.push((Cause::Open(coil), plan.clone(), without(plan, ends[0])));
        let shorted = joined(plan, ends);
        found.push((Cause::Shorted(coil), shorted.clone(), shorted));
    }
    found
}

/// Returns the pairs of lugs that a drop of solder can bridge: one below the other, or side by side.
pub(super) fn neighbours(switch: &Switch) -> Vec<[Lug; 2]> {
    let below = switch.poles().iter().flat_map(|pole| pole.lugs().windows(2).map(|pair| [pair[0], pair[1]]));
    let beside = switch
        .poles()
        .windows(2)
        .flat_map(|poles| poles[0].lugs().iter().zip(poles[1].lugs()).map(|(one, other)| [*one, *other]));
    below.chain(beside).collect()
}

/// Returns the plan with `thing` joined to nothing.
pub(super) fn without(plan: &Plan, thing: Thing) -> Plan {
    let rest = |group: &Vec<Thing>| group.iter().copied().filter(|other| *other != thing).collect();
    Plan::new(plan.switch(), plan.groups().iter().map(rest))
}

fn swapped(plan: &Plan, [one, other]: [Terminal; 2]) -> Plan {
    let swap = |thing: &Thing| match *thing {
        Thing::Terminal(end) if end == one => Thing::Terminal(other),
        Thing::Terminal(end) if end == other => Thing::Terminal(one),
        thing => thing,
    };
    Plan::new(plan.switch(), plan.groups().iter().map(|group| group.iter().map(swap).collect()))
}

/// Returns the plan with two things, and all that is joined to either, joined.
pub(super) fn joined(plan: &Plan, pair: [Thing; 2]) -> Plan {
    let (mut one, mut groups): (Vec<Thing>, Vec<Vec<Thing>>) = (pair.to_vec(), Vec::new());
    for group in plan.groups() {
        if pair.iter().any(|thing| group.contains(thing)) {
            one.extend(group.iter().filter(|thing| !pair.contains(thing)));
        } else {
            groups.push(group.clone());
        }
    }
    groups.push(one);
    Plan::new(plan.switch(), groups)
}

impl Suspect {
    /// Returns the kind of mistake, as a word for programs.
    pub(super) const fn kind(&self) -> &'static str {
        match self {
            Self::Volume(_) => "volume",
            Self::Mistake(mistake) => match mistake.cause {
                Cause::Off(_) => "off",
                Cause::Swapped(_) => "swapped",
                Cause::Bridged(_) => "bridged",
                Cause::Open(_) => "coil-open",
                Cause::Shorted(_) => "coil-shorted",
            },
        }
    }

    /// Returns the names of the things concerned, as the guitar's file has them.
    pub(super) fn things(&self, bench: &Bench) -> Vec<String> {
        let Self::Mistake(mistake) = self else { return Vec::new() };
        let Mount { plan, labels, .. } = &bench.mounts[mistake.mount];
        mistake.concerned().iter().map(|thing| labels.name(*thing, plan.switch()).to_owned()).collect()
    }

    /// Returns the mistake in words, such as `b+ is off L2`.
    pub(super) fn words(&self, bench: &Bench) -> String {
        match self {
            Self::Volume(turned) => format!("the volume is not full but at about {turned:.1} of 10"),
            Self::Mistake(mistake) => mistake.words(&bench.mounts[mistake.mount]),
        }
    }
}

impl Mistake {
    /// Returns the things that the mistake is about.
    pub(super) fn concerned(&self) -> Vec<Thing> {
        match self.cause {
            Cause::Off(thing) => vec![thing],
            Cause::Swapped(pair) => pair.map(Thing::Terminal).to_vec(),
            Cause::Bridged(pair) => pair.map(Thing::Lug).to_vec(),
            Cause::Open(coil) | Cause::Shorted(coil) => {
                [coil.plus(), coil.minus()].map(Thing::Terminal).to_vec()
            }
        }
    }

    fn words(&self, Mount { plan, labels, .. }: &Mount) -> String {
        let wire = |thing: Thing| labels.wire(thing, plan.switch());
        match self.cause {
            Cause::Off(thing) => {
                let group = plan.groups().iter().find(|group| group.contains(&thing));
                let rest = group.into_iter().flatten().filter(|other| **other != thing);
                let rest: Vec<String> = rest.map(|other| wire(*other)).collect();
                format!("{} is off {}", wire(thing), rest.join(" and "))
            }
            Cause::Swapped(pair) => {
                let [one, other] = pair.map(|end| wire(Thing::Terminal(end)));
                match pair.map(Terminal::coil) {
                    [Some(coil), Some(same)] if coil == same => {
                        format!("{coil} is turned round: {one} and {other} are swapped")
                    }
                    _ => format!("{one} and {other} are swapped"),
                }
            }
            Cause::Bridged(pair) => {
                let [one, other] = pair.map(|lug| wire(Thing::Lug(lug)));
                format!("lugs {one} and {other} are bridged")
            }
            Cause::Open(coil) => format!("{coil} is open: its wire is broken inside"),
            Cause::Shorted(coil) => format!("{coil} is shorted inside"),
        }
    }
}
