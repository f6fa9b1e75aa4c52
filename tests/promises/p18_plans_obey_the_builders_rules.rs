//! P18. A plan has the fewest joints, and obeys the builder's rules: room on lugs and cases, metal by solder, ground leads on
//! cases alone, the bus from case to case, one wire to each shield, no loop.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use std::collections::BTreeMap;

use crate::common::cavities::{FOUR_KNOBS, guitars, read};
use drywire::harness::{Harness, HarnessPlan, WireKind};

fn planned(text: &str) -> (Harness, HarnessPlan) {
    let harness = Harness::of(&read(text)).unwrap();
    let plan = harness.plan().unwrap_or_else(|| panic!("no plan of {text}"));
    (harness, plan)
}

#[test]
fn every_plan_is_the_wanted_circuit_with_the_fewest_joints_and_within_the_rules() {
    let (mut joints, mut proven) = (0, 0);
    for (name, text) in guitars() {
        let (harness, plan) = planned(&text);
        let parts = harness.parts();
        let found = harness.check(&plan.ends());
        assert!(found.is_as_wanted() && found.notes.is_empty(), "{name}: {found:#?}");
        // A net of n terminals has n - 1 joints, in whatever order a tone control is.
        let fewest: usize = harness.wanted().nets().iter().map(|net| net.len() - 1).sum();
        assert_eq!(plan.wires.len(), fewest, "{name}");
        let mut met: BTreeMap<String, usize> = BTreeMap::new();
        for end in plan.wires.iter().flat_map(|wire| wire.ends) {
            *met.entry(parts.name_of(end)).or_default() += 1;
        }
        for terminal in parts.terminals() {
            let count = met.get(&parts.name_of(terminal)).copied().unwrap_or(0);
            let is_lead = parts.is_lead(terminal);
            let most = if is_lead {
                2
            } else if parts.is_metal(terminal) {
                8
            } else {
                3
            };
            assert!(count <= most, "{name}: {count} on {}", parts.name_of(terminal));
            if parts.is_metal(terminal) && is_lead {
                assert_eq!(count, 1, "{name}: one wire to {}", parts.name_of(terminal));
            }
        }
        for wire in plan.wires.iter().filter(|wire| wire.kind == WireKind::Ground) {
            // The bus leads from case to case; a lug on ground is an end.
            let cases = wire.ends.iter().filter(|end| parts.is_metal(**end)).count();
            assert!(cases >= 1, "{name}: {:?}", wire.ends.map(|end| parts.name_of(end)));
        }
        joints += plan.wires.len();
        proven += usize::from(plan.cost_mm <= plan.bound_mm);
        assert!(plan.cost_mm + 1e-9 >= plan.bound_mm, "{name}");
    }
    println!("{joints} joints, {proven} of {} plans as short as their bound", guitars().len());
}

#[test]
fn one_coil_volume_and_tone_take_ten_joints_and_a_star_leads_to_one_case() {
    let one = guitars().into_iter().find(|(name, _)| name == "one-coil").unwrap().1;
    assert_eq!(planned(&one).1.wires.len(), 10);
    let (harness, plan) = planned(FOUR_KNOBS);
    let parts = harness.parts();
    let cases = plan
        .wires
        .iter()
        .filter(|wire| wire.ends.iter().all(|end| parts.is_metal(*end) && !parts.is_lead(*end)));
    let mut common: Option<Vec<_>> = None;
    for wire in cases {
        let ends = wire.ends.to_vec();
        common = Some(match common {
            None => ends,
            Some(before) => before.into_iter().filter(|end| ends.contains(end)).collect(),
        });
    }
    assert_eq!(common.map(|centre| centre.len()), Some(1), "all cases are led to one");
}
