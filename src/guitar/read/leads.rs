//! The names of a coil's leads, read from `leads`.

use super::keyed::Keyed;
use crate::document::{Fault, Located, Section};
use crate::guitar::{LeadNames, Pickup};
use crate::wiring::lead::{is_same_word, lug_called};
use crate::wiring::soldered::is_word_of_joints;
use crate::wiring::{CoilName, FinishIsPlus, Lead, Soldered};

/// A lead as the file names it, whether the coil that it is of could be read or not.
pub(super) struct NamedLead {
    called: Located<String>,
    coil: CoilName,
    end: End,
}

/// The end of a coil, as the key that names its lead says.
#[derive(Clone, Copy, PartialEq, Eq)]
enum End {
    Start,
    Finish,
    Plus,
    Minus,
}

impl End {
    fn is_plus(self, finish_is_plus: bool) -> bool {
        match self {
            Self::Start => !finish_is_plus,
            Self::Finish => finish_is_plus,
            Self::Plus => true,
            Self::Minus => false,
        }
    }
}

/// Returns what the leads of the coil `coil` are called, and adds them to those of its pickup met before.
pub(super) fn lead_names(section: &mut Keyed<'_, '_>, coil: CoilName) -> Option<LeadNames> {
    section.table("leads", |leads| {
        let mut label = |key, end| {
            let called = leads.label(key)?;
            let value = called.value.clone();
            let fault = if is_word_of_joints(&value) {
                let message = format!("no lead can be called `{value}`, which means something else in joints");
                Some(Fault::new(called.span.clone(), message).hint("call it by its colour"))
            } else if leads.remarks.leads.iter().any(|lead| is_same_word(&lead.called.value, &value)) {
                let message = format!("a second coil end has a lead called `{value}`");
                Some(Fault::new(called.span.clone(), message).hint("give each coil end the colour of its own lead"))
            } else {
                None
            };
            match fault {
                Some(fault) => leads.note(fault),
                None => leads.remarks.leads.push(NamedLead { called, coil, end }),
            }
            Some(value)
        };
        let (start, finish) = (label("start", End::Start), label("finish", End::Finish));
        let (plus, minus) = (label("plus", End::Plus), label("minus", End::Minus));
        match (start, finish, plus, minus) {
            (Some(start), Some(finish), None, None) => Some(LeadNames::Chart { start, finish }),
            (None, None, Some(plus), Some(minus)) => Some(LeadNames::Tap { plus, minus }),
            _ => {
                let message = "`leads` needs either `start` and `finish` (from a maker's chart) or `plus` and `minus` (from the tap test)";
                leads.note(Fault::new(leads.span(), message).hint("the two kinds are not the same: see `drywire leads --help`"));
                None
            }
        }
    })?
}

/// Returns the ends that the named leads are, where of each coil the finish is its + end or not.
pub(super) fn by_sign(named: &[NamedLead], finish_is_plus: FinishIsPlus) -> Vec<Lead> {
    let lead = |NamedLead { called, coil, end }: &NamedLead| {
        let is_plus = end.is_plus(finish_is_plus[coil.index()]);
        Lead { called: called.value.clone(), end: if is_plus { coil.plus() } else { coil.minus() } }
    };
    named.iter().map(lead).collect()
}

/// Notes the leads of `pickup` that are called as a lug of a switch that is on it.
pub(super) fn refuse_lugs(top: &Section<'_>, named: &[NamedLead], pickup: &Pickup, switch: &Soldered) {
    for NamedLead { called, .. } in named {
        if let Some(lug) = lug_called(switch.switch(), &called.value) {
            let message = format!(
                "a lead of pickup `{}` is called `{}`, as is lug {} of its switch `{}`",
                pickup.name(),
                called.value,
                switch.switch().name_of(lug),
                switch.name().value
            );
            top.note(Fault::new(called.span.clone(), message).hint("call the lead by its colour"));
        }
    }
}
