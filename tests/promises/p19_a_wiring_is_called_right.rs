//! P19. A wiring is called right exactly when it is the same circuit: no false alarm on 1,000 random wirings of the wanted
//! nets, every fault of the reference cases named.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use crate::common::cavities::{cases, guitars, read};
use drywire::document::Document;
use drywire::guitar::Guitar;
use drywire::harness::{Checked, Harness, Wire, WiringFault, read_wires};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use serde_json::Value;

/// Returns a random tree of every wanted net, and now and then an unused lug that is joined to a net.
fn random_wiring(harness: &Harness, random: &mut ChaCha8Rng) -> Vec<Wire> {
    let mut wires = Vec::new();
    let mut below = |count: usize| usize::try_from(random.next_u64() % count as u64).unwrap();
    for net in harness.wanted().nets() {
        for place in 1..net.len() {
            wires.push([net[below(place)], net[place]]);
        }
        let lone = below(net.len());
        if below(4) == 0 {
            // A loop joins nothing that is not joined.
            wires.push([net[lone], net[(lone + 1) % net.len()]]);
        }
    }
    wires
}

#[test]
fn a_thousand_random_wirings_of_the_wanted_nets_give_no_alarm() {
    let mut random = ChaCha8Rng::seed_from_u64(1);
    let guitars: Vec<Harness> = guitars().iter().map(|(_, text)| Harness::of(&read(text)).unwrap()).collect();
    let mut wirings = 0;
    while wirings < 1000 {
        for harness in &guitars {
            let wires = random_wiring(harness, &mut random);
            let found = harness.check(&wires);
            assert!(found.same_circuit && found.is_as_wanted(), "{found:#?}");
            wirings += 1;
        }
    }
}

/// A fault as the reference tells it: its kind, what it is about, where it shows.
type Told = (String, String, Vec<String>);

fn checked(text: &str) -> Checked {
    let document = Document::new("mine.toml", text);
    let guitar = Guitar::read(&document).unwrap();
    let harness = Harness::of(&guitar).unwrap();
    let wires = read_wires(&document, harness.parts(), guitar.cavity().wires().unwrap()).unwrap();
    harness.check(&wires)
}

fn texts(value: &Value) -> Vec<String> {
    value
        .as_array()
        .map(|own| own.iter().map(|text| text.as_str().unwrap().to_owned()).collect())
        .unwrap_or_default()
}

#[test]
fn every_fault_of_the_reference_cases_is_named_with_its_positions() {
    let cases = cases();
    assert_eq!(cases.len(), 40);
    let mut readings = 0;
    for case in &cases {
        let (id, expected) = (&case.id, &case.expected);
        let found = checked(&case.text);
        let told = format!("{id}: {found:#?}");
        assert_eq!(found.same_circuit, expected["same_circuit"].as_bool().unwrap(), "{told}");
        assert_eq!(found.is_as_wanted(), expected["verdict"] == "as wanted", "{told}");
        assert_eq!(found.silent, texts(&expected["silent"]), "{told}");
        let named = |fault: &WiringFault| -> Told {
            let kind = serde_json::to_value(fault.kind).unwrap().as_str().unwrap().to_owned();
            (kind, fault.what.clone(), fault.positions.clone())
        };
        let there: Vec<Told> = found.faults.iter().map(named).collect();
        for fault in expected["faults"].as_array().unwrap() {
            let (kind, what) = (fault["kind"].as_str().unwrap(), fault["what"].as_str().unwrap());
            let same = there.iter().find(|own| own.0 == kind && own.1 == what);
            let same = same.unwrap_or_else(|| panic!("{fault}\n{told}"));
            if !fault["positions"].is_null() {
                assert_eq!(same.2, texts(&fault["positions"]), "{told}");
            }
        }
        if case.kinds_complete {
            let others = there.iter().filter(|own| own.0 != "hanging").count();
            assert_eq!(others, expected["faults"].as_array().unwrap().len(), "{told}");
        }
        for (state, ohms) in &found.ohms_at_jack {
            let simulated = expected["ohms_at_jack_knobs_10"][state].as_f64();
            match (ohms, simulated) {
                (None, None) => {}
                (Some(own), Some(other)) => {
                    assert!((own - other).abs() <= 1e-3 * other + 0.05, "{state} {own} {other}\n{told}");
                }
                different => panic!("{state} {different:?}\n{told}"),
            }
            readings += 1;
        }
    }
    println!("{readings} readings");
}
