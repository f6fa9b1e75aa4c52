//! P19. A wiring is called right exactly when it is the same circuit: no false alarm on 1,000 random wirings of the wanted
//! nets, every fault of the reference cases named.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use crate::common::cavities::{cases, guitars, read};
use drywire::document::Document;
use drywire::guitar::Guitar;
use drywire::harness::{Change, Checked, FaultKind, Harness, Wire, WiringFault, read_wires};
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

fn wired(text: &str) -> (Harness, Vec<Wire>) {
    let document = Document::new("mine.toml", text);
    let guitar = Guitar::read(&document).unwrap();
    let harness = Harness::of(&guitar).unwrap();
    let wires = read_wires(&document, harness.parts(), guitar.cavity().wires().unwrap()).unwrap();
    (harness, wires)
}

fn checked(text: &str) -> Checked {
    let (harness, wires) = wired(text);
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

#[test]
fn every_mend_offered_checks_clean_and_nearly_every_fault_has_a_single_one() {
    let (mut faulty, mut single, mut ways) = (0, 0, 0);
    for case in cases() {
        let (harness, wires) = wired(&case.text);
        let mends = harness.mends(&wires);
        if case.expected["verdict"] == "as wanted" {
            assert!(mends.ways.is_empty(), "{}", case.id);
            continue;
        }
        faulty += 1;
        assert!(!mends.ways.is_empty() && mends.tried > 60, "{}: {} tried", case.id, mends.tried);
        single += usize::from(mends.ways[0].len() == 1);
        for way in &mends.ways {
            let after = way.iter().fold(wires.clone(), |wires, change| change.applied(&wires));
            let found = harness.check(&after);
            assert!(found.is_as_wanted() && found.same_circuit, "{}: {way:?}", case.id);
            ways += 1;
        }
    }
    assert!(100 * single >= 98 * faulty, "{single} of {faulty}");
    println!("{single} of {faulty} by a single change, {ways} ways");
}

#[test]
fn volume_and_tone_backwards_are_mended_by_no_single_change_and_by_two() {
    let text = cases().into_iter().find(|case| case.id == "a-one-coil-055").unwrap().text;
    let (harness, _) = wired(&text);
    let parts = harness.parts();
    let right = harness.simple_wires();
    let exchange = |name: [&str; 2]| Change::Exchange(name.map(|name| parts.terminal(name).unwrap()));
    let both = [exchange(["volume.1", "volume.3"]), exchange(["tone.1", "tone.3"])];
    let wrong = both.iter().fold(right, |wires, change| change.applied(&wires));
    let kinds: Vec<FaultKind> = harness.check(&wrong).faults.iter().map(|fault| fault.kind).collect();
    assert_eq!(kinds, [FaultKind::VolumeBackwards, FaultKind::ToneBackwards]);
    let mends = harness.mends(&wrong);
    assert!(mends.tried > 60 && !mends.ways.is_empty(), "{mends:?}");
    for way in &mends.ways {
        assert!(way.len() == 2 && way.contains(&both[0]), "{way:?}");
        let after = way.iter().fold(wrong.clone(), |wires, change| change.applied(&wires));
        assert!(harness.check(&after).is_as_wanted(), "{way:?}");
    }
}

/// What the design worked out on paper first.
#[test]
fn what_was_worked_out_by_hand_is_found() {
    let one_coil = cases().into_iter().find(|case| case.id == "a-one-coil-055").unwrap().text;
    let (harness, _) = wired(&one_coil);
    let parts = harness.parts();
    let right = harness.simple_wires();
    assert_eq!(right.len(), 10, "ten joints");
    let at = |name: &str| parts.terminal(name).unwrap();
    let ohms = |wires: &[Wire]| harness.check(wires).ohms_at_jack[0].1.unwrap();
    assert!((ohms(&right) - 5859.0).abs() < 1.0);
    let backwards = Change::Exchange([at("volume.1"), at("volume.3")]).applied(&right);
    assert!(ohms(&backwards) < 1e-9);
    let kinds =
        |wires: &[Wire]| harness.check(wires).faults.iter().map(|fault| fault.kind).collect::<Vec<_>>();
    // A tone on 2 and 3 is backwards, on 1 and 3 it does nothing.
    let on_2_and_3 = Change::Exchange([at("tone.1"), at("tone.3")]).applied(&right);
    assert_eq!(kinds(&on_2_and_3), [FaultKind::ToneBackwards]);
    let on_1_and_3 = Change::Exchange([at("tone.2"), at("tone.3")]).applied(&right);
    assert_eq!(kinds(&on_1_and_3), [FaultKind::ToneNoEffect]);
    let bridged = Change::Add([at("tone-cap.1"), at("tone-cap.2")]).applied(&right);
    assert_eq!(kinds(&bridged), [FaultKind::ToneAsVolume]);
    let swapped = Change::Exchange(parts.jack()).applied(&right);
    assert_eq!(kinds(&swapped), [FaultKind::JackSwapped]);
    let lifted =
        Change::Remove(*right.iter().find(|wire| wire.contains(&at("bridge.a-"))).unwrap()).applied(&right);
    assert!(kinds(&lifted).contains(&FaultKind::Dead), "{:?}", kinds(&lifted));
}
