//! What an experienced builder prefers among plans that all do what is asked.

use super::Passing;
use crate::wiring::{Plan, Terminal, Thing};

/// The marks of a plan, compared in the order of the fields, less being better (common practice, no source).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Preference {
    /// The number of joints.
    pub joints: usize,
    /// In how many throws an unused coil hangs from hot by one end.
    pub dangling: usize,
    /// How many ends of unused coils are joined to hot, all throws together.
    pub hanging: usize,
    /// The worst that is heard while the lever travels.
    pub worst_passing: Passing,
    /// How bad all states of the lever's travel are together.
    pub passing: usize,
    /// Whether ground is on a common lug, where it is easily touched by hot's solder on either side.
    pub ground_on_common: bool,
    /// The most wires and jumper ends on one lug.
    pub crowd: usize,
    /// How unevenly wires and jumper ends are spread: the sum of their numbers' squares.
    pub unevenness: usize,
}

impl Preference {
    /// Returns the marks of `plan`.
    pub fn of(plan: &Plan) -> Self {
        let soldering = plan.soldering();
        let switch = plan.switch();
        let crowds: Vec<usize> = switch.lugs().map(|lug| soldering.crowd(lug)).collect();
        let passing: Vec<Passing> =
            plan.travel().iter().map(|state| Passing::of(&state.connection)).collect();
        let ground = Thing::Terminal(Terminal::Ground);
        Self {
            joints: plan.joints(),
            dangling: plan.throws().iter().filter(|throw| throw.dangles_from_hot()).count(),
            hanging: plan.throws().iter().map(|throw| throw.hanging_from_hot().len()).sum(),
            worst_passing: passing.iter().copied().max().unwrap_or(Passing::Sounds),
            passing: passing.iter().map(|passing| *passing as usize).sum(),
            ground_on_common: switch
                .lugs()
                .any(|lug| switch.is_common(lug) && soldering.at_lug[lug.index()].contains(&ground)),
            crowd: crowds.iter().copied().max().unwrap_or(0),
            unevenness: crowds.iter().map(|crowd| crowd * crowd).sum(),
        }
    }
}

/// Returns the plans with their marks, the most preferred first, in an order that depends on nothing else.
pub fn ranked(plans: Vec<Plan>) -> Vec<(Preference, Plan)> {
    let mut ranked: Vec<(Preference, Plan)> =
        plans.into_iter().map(|plan| (Preference::of(&plan), plan)).collect();
    ranked.sort_by(|(one, first), (other, second)| {
        one.cmp(other).then_with(|| first.groups().cmp(second.groups()))
    });
    ranked
}
