//! What is planned and what is found of a wiring, as JSON tells it.

use std::collections::BTreeMap;

use serde::Serialize;

use super::{ChangeForm, Checked, HarnessPlan, Mends, Parts, WiringFault};

/// A checked wiring.
#[derive(Debug, Clone, Serialize)]
pub struct CheckForm {
    guitar: String,
    same_circuit: bool,
    /// `as wanted` or `faulty`.
    verdict: &'static str,
    /// The states without sound with every knob at 10.
    silent: Vec<String>,
    faults: Vec<WiringFault>,
    /// How many joints are missing where nothing that is there is wrong; null elsewhere.
    joints_missing: Option<usize>,
    notes: Vec<String>,
    /// Ways to mend it, each the changes to make one after the other.
    mends: Vec<Vec<ChangeForm>>,
    /// How many single changes were tried.
    changes_tried: usize,
    /// Each state with what a meter reads at the jack, in ohms; null where it is open or behind a buffer.
    ohms_at_jack: BTreeMap<String, Option<f64>>,
}

impl CheckForm {
    /// Returns the form of what was found of a wiring of `parts`, and of what mends it.
    pub fn new(parts: &Parts, checked: Checked, mends: &Mends) -> Self {
        let verdict = if checked.is_as_wanted() { "as wanted" } else { "faulty" };
        let Checked { same_circuit, faults, joints_missing, silent, notes, ohms_at_jack } = checked;
        let ohms_at_jack = ohms_at_jack.into_iter().collect();
        let form = |way: &Vec<super::Change>| way.iter().map(|change| change.form(parts)).collect();
        Self {
            guitar: parts.guitar().name().to_owned(),
            same_circuit,
            verdict,
            silent,
            faults,
            joints_missing,
            notes,
            mends: mends.ways.iter().map(form).collect(),
            changes_tried: mends.tried,
            ohms_at_jack,
        }
    }
}

/// A plan.
#[derive(Debug, Clone, Serialize)]
pub struct PlanForm {
    guitar: String,
    /// How many joints there are: none has fewer.
    joints: usize,
    /// From terminal to terminal, with the length in millimetres.
    wires: Vec<(String, String, u32)>,
    /// What the plan costs in millimetres, its joints reckoned as ways.
    cost: f64,
    /// What no plan is below: the cost where no lug's room were limited.
    bound: f64,
    /// Whether no plan costs less, each that could having been looked at.
    is_least: bool,
}

impl PlanForm {
    /// Returns the form of a plan of the cavity of `parts`.
    pub fn new(parts: &Parts, plan: &HarnessPlan) -> Self {
        let wire = |wire: &super::PlannedWire| {
            let [one, other] = wire.ends.map(|end| parts.name_of(end));
            (one, other, wire.mm)
        };
        Self {
            guitar: parts.guitar().name().to_owned(),
            joints: plan.wires.len(),
            wires: plan.wires.iter().map(wire).collect(),
            cost: plan.cost_mm,
            bound: plan.bound_mm,
            is_least: plan.is_least,
        }
    }
}
