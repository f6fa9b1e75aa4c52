//! The faults of a plan that a person drew.

use super::{Asked, Labels, ThrowFacts};
use crate::wiring::{Arrangement, CoilName, Connection, Contact, EndNames, Function, Lug, Plan, Thing};

/// A fault of a plan, or something about it that is worth knowing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// The throw it is about, or nothing where it is about the plan as a whole.
    pub throw: Option<u8>,
    /// Where the pickup's other switches then stand, such as `phase:1`; nothing where there is none.
    pub with: Option<String>,
    /// What kind it is.
    pub kind: FindingKind,
    /// What is the matter and what to do, in a sentence without its full stop.
    pub what: String,
}

/// The kinds of findings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum FindingKind {
    /// Two coils whose strings are out of phase.
    OutOfPhase,
    /// Two coils whose hum does not cancel.
    Hum,
    /// Hot is joined to ground.
    Short,
    /// An unused coil hangs from hot by one end.
    Hanging,
    /// Nothing lies between hot and ground.
    Dead,
    /// Two throws do the same.
    Alike,
    /// A joint does what the switch's own contact is there for.
    Bridged,
    /// A lug has a wire, and no contact makes anything of it.
    UnusedLug,
    /// A throw does not do what was asked of it.
    NotAsked,
    /// An unused coil is shorted, and held on hot; no fault, but on ground it would be quieter.
    ShortedOnHot,
    /// A lug has no wire; no fault.
    FreeLug,
    /// The pickup as a whole is turned round; no fault on its own.
    TurnedRound,
    /// How names of the wrong kind may have led to strings out of phase; no fault, but its explanation.
    Trap,
    /// The joints name the ends by one kind and the leads by the other; no fault, but the first thing to ask.
    OtherNames,
}

impl FindingKind {
    /// Returns the kind's name in reports.
    pub const fn name(self) -> &'static str {
        match self {
            Self::OutOfPhase => "out-of-phase",
            Self::Hum => "hum",
            Self::Short => "short",
            Self::Hanging => "hanging",
            Self::Dead => "dead",
            Self::Alike => "alike",
            Self::Bridged => "bridged",
            Self::UnusedLug => "unused-lug",
            Self::NotAsked => "not-asked",
            Self::ShortedOnHot => "shorted-on-hot",
            Self::FreeLug => "free-lug",
            Self::TurnedRound => "turned-round",
            Self::Trap => "names-trap",
            Self::OtherNames => "other-names",
        }
    }

    /// Returns whether the plan is faulty for it.
    pub const fn is_fault(self) -> bool {
        match self {
            Self::OutOfPhase
            | Self::Hum
            | Self::Short
            | Self::Hanging
            | Self::Dead
            | Self::Alike
            | Self::Bridged
            | Self::UnusedLug
            | Self::NotAsked => true,
            Self::ShortedOnHot | Self::FreeLug | Self::TurnedRound | Self::Trap | Self::OtherNames => false,
        }
    }
}

/// What a plan is checked against.
#[derive(Debug, Clone, Copy)]
pub struct Drawn<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// What each of its throws is.
    pub facts: &'a [ThrowFacts],
    /// How the coils' ends are named.
    pub labels: &'a Labels,
    /// What was asked of each throw, where anything was.
    pub asked: Option<&'a [Asked]>,
    /// What the pickup's other switches join, for each way in which they can stand; one that joins nothing where there
    /// are none.
    pub beside: &'a [Connection],
}

impl Finding {
    /// Returns a finding about the plan as a whole.
    fn of_plan(kind: FindingKind, what: String) -> Self {
        Self { throw: None, with: None, kind, what }
    }

    /// Returns what it is about, such as `throw 1` or `throw 1 with phase:3`; nothing where it is about the whole plan.
    pub fn place(&self) -> Option<String> {
        let throw = self.throw?;
        let with = self.with.as_ref().map(|with| format!(" with {with}")).unwrap_or_default();
        Some(format!("throw {throw}{with}"))
    }
}

/// Returns everything that is to be found about a plan, throw by throw and then as a whole.
pub fn findings(drawn: &Drawn<'_>) -> Vec<Finding> {
    let mut found: Vec<Finding> = other_names(drawn.labels).into_iter().collect();
    for (i, facts) in drawn.facts.iter().enumerate() {
        let asked = drawn.asked.map(|asked| asked[i % asked.len()]);
        found.extend(of_throw(drawn, facts, asked));
    }
    if found.iter().any(|finding| finding.kind == FindingKind::OutOfPhase) {
        found.extend(trap(drawn.labels));
    }
    found.extend(alike(drawn));
    found.extend(of_lugs(drawn));
    found
}

fn other_names(labels: &Labels) -> Option<Finding> {
    let (joints, leads) = match labels.names() {
        EndNames::PlusMinus => ("the tap test (+ and −)", "the winding (start and finish)"),
        EndNames::StartFinish => ("the winding (start and finish)", "the tap test (+ and −)"),
    };
    let what = format!(
        "which kind of name is it? the joints name the ends by {joints}, the leads are named by {leads}; one is \
         translated into the other by winding sense and top pole, so make sure that these are right"
    );
    let kind = FindingKind::OtherNames;
    labels.have_leads_of_the_other_kind().then(|| Finding::of_plan(kind, what))
}

fn of_throw(drawn: &Drawn<'_>, facts: &ThrowFacts, asked: Option<Asked>) -> Vec<Finding> {
    let mut found = Vec::new();
    if asked == Some(Asked::Any) {
        return found;
    }
    let mut find = |kind, what: String| {
        found.push(Finding { throw: Some(facts.throw), with: facts.with.clone(), kind, what });
    };
    let connection = &facts.connection;
    let meant_reversed =
        matches!(asked, Some(Asked::Named(Arrangement::SeriesReversed | Arrangement::ParallelReversed)));
    let meant_off = asked == Some(Asked::Off);
    if let Some(asked) = asked.filter(|asked| !asked.accepts(connection)) {
        find(FindingKind::NotAsked, format!("asked for {asked}, and is {}", connection.words()));
    }
    match Function::of(connection) {
        Function::Muted if !meant_off => {
            find(FindingKind::Short, "hot is shorted to ground: nothing is heard".to_owned());
        }
        Function::Dead if !meant_off => find(FindingKind::Dead, format!("dead: {}", connection.words())),
        Function::TwoCoils { .. } if !meant_reversed => {
            if facts.in_phase == Some(false) {
                let swap = "swap the two leads of one coil wherever they are soldered";
                find(FindingKind::OutOfPhase, format!("out of phase: {}; {swap}", connection.words()));
            }
            if facts.hum_cancels == Some(false) {
                let what = "hums: both coils are heard, and their hum adds instead of cancelling";
                find(FindingKind::Hum, what.to_owned());
            }
        }
        Function::Muted | Function::Dead | Function::OneCoil { .. } | Function::TwoCoils { .. } => {}
    }
    for coil in CoilName::BOTH {
        let hanging = connection.hanging_from_hot().into_iter().filter(|end| end.coil() == Some(coil));
        match hanging.collect::<Vec<_>>().as_slice() {
            [] => {}
            [end] => {
                let end = drawn.labels.end(*end);
                let what = format!(
                    "{end} hangs from hot, its coil's other end leading nowhere: that picks up noise; let an unused \
                     coil hang from ground"
                );
                find(FindingKind::Hanging, what);
            }
            _ => {
                let what =
                    format!("{coil} is shorted and held on hot; held on ground it would pick up less noise");
                find(FindingKind::ShortedOnHot, what);
            }
        }
    }
    if Function::of(connection).is_turned() {
        let what = "the whole pickup is turned round (its − ends toward hot): alone it sounds the same, beside \
                    another pickup it is out of phase";
        find(FindingKind::TurnedRound, what.to_owned());
    }
    found
}

/// Returns the sentence that explains how names of the wrong kind put two coils out of phase, where the kinds
/// differ between the coils.
fn trap(labels: &Labels) -> Option<Finding> {
    let [a, b] = labels.finish_is_plus();
    if a == b {
        return None;
    }
    let (own, other) = match labels.names() {
        EndNames::PlusMinus => ("tap-found + and −", "start and finish"),
        EndNames::StartFinish => ("start and finish", "tap-found + and −"),
    };
    let (finish_of, start_of) = if a { (CoilName::A, CoilName::B) } else { (CoilName::B, CoilName::A) };
    let what = format!(
        "a plan drawn for {other} gets out of phase when it is soldered by {own}: in this pickup the + end is the \
         finish of {finish_of} and the start of {start_of}, because one magnet serves both coils"
    );
    Some(Finding::of_plan(FindingKind::Trap, what))
}

fn alike(drawn: &Drawn<'_>) -> Vec<Finding> {
    let mut found = Vec::new();
    for (i, one) in drawn.facts.iter().enumerate() {
        for (j, other) in drawn.facts.iter().enumerate().skip(i + 1).filter(|(_, o)| o.with == one.with) {
            let function = Function::of(&one.connection);
            let sounds = !matches!(function, Function::Muted | Function::Dead);
            // Whoever asks for `split` twice means one coil and the other.
            let asked_alike = drawn.asked.is_some_and(|asked| {
                let [one, other] = [i, j].map(|place| asked[place % asked.len()]);
                one == Asked::Any || other == Asked::Any || one == other && one != Asked::Split
            });
            if sounds && function == Function::of(&other.connection) && !asked_alike {
                let what =
                    format!("throws {} and {} are alike: {}", one.throw, other.throw, one.connection.label());
                found.push(Finding { with: one.with.clone(), ..Finding::of_plan(FindingKind::Alike, what) });
            }
        }
    }
    found
}

fn of_lugs(Drawn { plan, beside, .. }: &Drawn<'_>) -> Vec<Finding> {
    let switch = plan.switch();
    let mut found = Vec::new();
    let mut find = |kind, what| found.push(Finding::of_plan(kind, what));
    let mut bridged: Vec<Lug> = Vec::new();
    for pole in switch.poles() {
        for lug in pole.lugs().iter().filter(|lug| **lug != pole.common()) {
            if plan.joins(Thing::Lug(*lug), Thing::Lug(pole.common())) {
                bridged.extend([*lug, pole.common()]);
                let (one, other) = (switch.name_of(pole.common()), switch.name_of(*lug));
                let what =
                    format!("lugs {one} and {other} are bridged: the contact between them never opens");
                find(FindingKind::Bridged, what);
            }
        }
    }
    let has_wire = |lug: Lug| plan.groups().iter().any(|group| group.contains(&Thing::Lug(lug)));
    for lug in switch.lugs().filter(|lug| has_wire(*lug)) {
        let idle = !matters(plan, beside, lug);
        let is_bridged = bridged.contains(&lug);
        if idle && !is_bridged {
            let name = switch.name_of(lug);
            let what = format!("lug {name} is unused: it has a wire, and no throw makes anything of it");
            find(FindingKind::UnusedLug, what);
        }
    }
    let free: Vec<&str> =
        switch.lugs().filter(|lug| !has_wire(*lug)).map(|lug| switch.name_of(lug)).collect();
    if let Some((last, before)) = free.split_last() {
        let what = match before {
            [] => format!("lug {last} is unused: nothing is soldered to it"),
            before => {
                format!("lugs {} and {last} are unused: nothing is soldered to them", before.join(", "))
            }
        };
        find(FindingKind::FreeLug, what);
    }
    found
}

/// Returns whether the contacts of `lug` change anything in any state of the lever's travel, wherever the pickup's other
/// switches stand.
fn matters(plan: &Plan, beside: &[Connection], lug: Lug) -> bool {
    plan.travel().iter().any(|state| {
        let closed = state.poles.iter().flat_map(|pole| pole.contacts.iter().copied());
        let without: Vec<Contact> = closed.filter(|contact| !contact.contains(&lug)).collect();
        let left: Connection = plan.connection(&without);
        beside.iter().any(|others| left.and(*others) != state.connection.and(*others))
    })
}
