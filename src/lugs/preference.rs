//! What an experienced builder prefers among plans that all do what is asked.

use super::Passing;
use crate::wiring::{Function, Plan, Terminal, Thing, Unused};

/// The marks of a plan, compared in the order of the fields, less being better (common practice, no source).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Preference {
    /// The number of joints.
    pub joints: usize,
    /// How many pairs of throws do the same, or differ only in what an unused coil does.
    pub alike: usize,
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
        let heard = |throw| match Function::of(throw) {
            Function::OneCoil { coil, sense, .. } => Function::OneCoil { coil, sense, other: Unused::Open },
            function => function,
        };
        let functions: Vec<Function> = plan.throws().iter().map(heard).collect();
        let pairs = functions
            .iter()
            .enumerate()
            .flat_map(|(i, one)| functions[i + 1..].iter().filter(move |other| *other == one));
        Self {
            joints: plan.joints(),
            alike: pairs.count(),
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

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::lugs::{Asked, Wanted};
    use crate::wiring::{EndNames, Switch};

    /// Returns the groups of the most preferred plan with the fewest joints.
    fn first(switch: &str, throws: &[&str]) -> String {
        let switch = Switch::named(switch).unwrap();
        let asked: Vec<Asked> = throws.iter().map(|word| word.parse().unwrap()).collect();
        let plans = ranked(Wanted::new(Arc::clone(&switch), asked).unwrap().fewest().plans);
        let name = |thing: &Thing| thing.name(&switch, EndNames::PlusMinus, [true; 2]).to_owned();
        let groups = plans[0].1.groups().iter();
        groups.map(|group| group.iter().map(name).collect::<Vec<_>>().join("·")).collect::<Vec<_>>().join(" ")
    }

    /// Common practice, no source: a split takes the coils' joint to ground, so that something always sounds.
    #[test]
    fn a_split_takes_the_joint_of_the_coils_to_ground() {
        assert_eq!(first("on-on", &["series", "split"]), "a+·hot a-·b+·L2 b-·ground·L3");
    }

    /// Common practice, no source: with off in the middle the joint goes to hot on one side, to ground on the other.
    #[test]
    fn two_splits_are_one_coil_and_the_other() {
        assert_eq!(first("on-off-on", &["split", "series", "split"]), "a+·hot·L1 a-·b+·L2 b-·ground·L3");
    }

    #[test]
    fn a_coil_that_dangles_from_hot_comes_last() {
        let switch = Switch::named("on-on").unwrap();
        let asked = ["parallel", "split"].map(|word| word.parse().unwrap());
        let plans = ranked(Wanted::new(switch, asked.to_vec()).unwrap().fewest().plans);
        let dangling: Vec<usize> = plans.iter().map(|(marks, _)| marks.dangling).collect();
        assert!(dangling.is_sorted() && dangling.contains(&0) && dangling.contains(&1), "{dangling:?}");
    }
}
