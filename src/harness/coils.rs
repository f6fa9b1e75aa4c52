//! Which coils are heard that should not be, which are not, and which work against the others.

use num_complex::Complex64;

use super::Harness;
use super::fault::{FaultKind, WiringFault};
use super::judge::{Case, Heard};
use crate::quantity::listed;

/// A coil is heard that has at least this share of the loudest one's voltage. What is coupled into another has less.
const HEARD: f64 = 0.1;
/// A coil with less than this share of what it should have is missing, and one with more than its inverse is extra.
const LEFT: f64 = 0.25;

/// Returns the coils that are heard in both circuits.
pub(super) fn heard_in_both(heard: &Heard) -> Vec<usize> {
    let [wanted, there] = [&heard.wanted, &heard.there].map(|own| shares(own));
    (0..wanted.len()).filter(|coil| wanted[*coil] >= HEARD && there[*coil] >= HEARD).collect()
}

/// Returns of each coil whether it is heard.
pub(super) fn are_heard(own: &[Complex64]) -> Vec<bool> {
    shares(own).into_iter().map(|share| share >= HEARD).collect()
}

fn shares(own: &[Complex64]) -> Vec<f64> {
    let most = own.iter().map(|own| own.norm()).fold(0.0, f64::max);
    own.iter().map(|own| if most > 0.0 { own.norm() / most } else { 0.0 }).collect()
}

pub(super) fn judge(case: &Case<'_>, sounding: &[Heard]) -> Vec<WiringFault> {
    let count = case.harness.branches.coils.len();
    let (mut missing, mut extra) = (vec![Vec::new(); count], vec![Vec::new(); count]);
    for heard in sounding {
        let [wanted, there] = [&heard.wanted, &heard.there].map(|own| shares(own));
        for coil in 0..count {
            if wanted[coil] >= HEARD && there[coil] < LEFT * wanted[coil].min(1.0) && there[coil] < HEARD {
                missing[coil].push(heard.place);
            }
            if there[coil] >= HEARD && wanted[coil] < HEARD && wanted[coil] < LEFT * there[coil] {
                extra[coil].push(heard.place);
            }
        }
    }
    let mut faults = Vec::new();
    for (kind, all, [is, should]) in [
        (FaultKind::Missing, missing, ["is silent", "should be heard"]),
        (FaultKind::Extra, extra, ["is heard", "should be silent"]),
    ] {
        for (coil, places) in all.into_iter().enumerate().filter(|(_, places)| !places.is_empty()) {
            let (words, at) = (called(case.harness, coil), case.harness.at(&places));
            let words = format!("{words} {is} {at}, and {should}");
            faults.push(case.harness.fault(kind, &name(case, coil), &places, words));
        }
    }
    faults.extend(out_of_phase(case, sounding));
    faults
}

/// Returns what a coil is called in a sentence.
pub(super) fn called(harness: &Harness, coil: usize) -> String {
    let branch = &harness.branches.coils[coil];
    let pickup = &harness.parts.guitar().pickups()[branch.pickup];
    if pickup.coil_b().is_some() {
        format!("{} of the {} pickup", branch.coil, pickup.name())
    } else {
        format!("the {} pickup", pickup.name())
    }
}

/// Returns what the coils of `set` are called in a sentence, all coils of a pickup by that, and whether it is one thing.
fn all_called(harness: &Harness, set: u32) -> (String, bool) {
    let coils = &harness.branches.coils;
    let is_in = |coil: &usize| set >> coil & 1 == 1;
    let of_pickup = |pickup: usize| (0..coils.len()).filter(move |coil| coils[*coil].pickup == pickup);
    let mut words: Vec<String> = Vec::new();
    for coil in (0..coils.len()).filter(is_in) {
        let pickup = coils[coil].pickup;
        let own = if of_pickup(pickup).all(|own| is_in(&own)) {
            format!("the {} pickup", harness.parts.guitar().pickups()[pickup].name())
        } else {
            called(harness, coil)
        };
        if !words.contains(&own) {
            words.push(own);
        }
    }
    (listed(&words), words.len() == 1)
}

fn name(case: &Case<'_>, coil: usize) -> String {
    let branch = &case.harness.branches.coils[coil];
    let pickup = &case.harness.parts.guitar().pickups()[branch.pickup];
    if pickup.coil_b().is_some() {
        format!("{}, {}", pickup.name(), branch.coil)
    } else {
        pickup.name().to_string()
    }
}

/// Returns the least set of coils that work against the others, which explains every state.
fn out_of_phase(case: &Case<'_>, sounding: &[Heard]) -> Option<WiringFault> {
    // Of each state the coils heard in both, and which of them are turned against the first.
    let turned: Vec<(usize, Vec<usize>, Vec<bool>)> = sounding
        .iter()
        .filter_map(|heard| {
            let common = heard_in_both(heard);
            let first = *common.first()?;
            let sign = |own: &[Complex64], coil: usize| (own[coil] * own[first].conj()).re > 0.0;
            let is_turned =
                common.iter().map(|coil| sign(&heard.wanted, *coil) != sign(&heard.there, *coil)).collect();
            Some((heard.place, common, is_turned))
        })
        .collect();
    let against: Vec<usize> =
        turned.iter().filter(|(.., is_turned)| is_turned.contains(&true)).map(|(place, ..)| *place).collect();
    if against.is_empty() {
        return None;
    }
    let explains = |set: u32| {
        turned.iter().all(|(_, common, is_turned)| {
            let of_set: Vec<bool> = common.iter().map(|coil| set >> coil & 1 == 1).collect();
            // Which way round a whole state is does not matter.
            let first = of_set[0];
            of_set.iter().map(|own| own != &first).eq(is_turned.iter().copied())
        })
    };
    let count = case.harness.branches.coils.len();
    let sets = (1..1u32 << count).filter(|set| explains(*set));
    // Of sets equally large, the one without the first coils.
    let least = sets.min_by_key(|set| (set.count_ones(), u32::MAX - set));
    let names = |set: u32| {
        let coils = (0..count).filter(|coil| set >> coil & 1 == 1).map(|coil| name(case, coil));
        coils.collect::<Vec<_>>().join(" and ")
    };
    // Where no one set explains all states, those of the first state are told.
    let set = least.unwrap_or_else(|| {
        let (_, common, is_turned) =
            turned.iter().find(|(.., is_turned)| is_turned.contains(&true)).expect("one is");
        common.iter().zip(is_turned).filter(|(_, turned)| **turned).fold(0, |set, (coil, _)| set | 1 << coil)
    });
    let what = names(set);
    let (called, is_one) = all_called(case.harness, set);
    let work = if is_one { "works" } else { "work" };
    let words = format!("{called} {work} against the others {}", case.harness.at(&against));
    Some(case.harness.fault(FaultKind::OutOfPhase, &what, &against, words))
}
