//! P8: a plan does what it says: every accepted plan is derived again from its contacts, by the circuit solver and
//! by a plain walk along its wires, in every throw.

use std::collections::BTreeMap;
use std::process::Command;
use std::sync::Arc;

use crate::wires::{Joint, contacts, solved, walk};
use drywire::guitar::Guitar;
use drywire::lugs::{Asked, Wanted, is_as_asked};
use drywire::wiring::{Connection, EndNames, Plan, Switch};
use num_complex::Complex64;
use proptest::prelude::*;
use serde_json::Value;

/// The arrangements that joints alone can make.
const WORDS: [&str; 8] = [
    "series",
    "parallel",
    "split-a",
    "split-b",
    "split-a-open",
    "split-b-open",
    "series-reversed",
    "parallel-reversed",
];

/// What each arrangement joins, as its definition says it.
fn definition(word: &str) -> &'static str {
    match word {
        "series" => "hot=a+ a-=b+ b-=ground",
        "parallel" => "hot=a+ a+=b+ a-=b- b-=ground",
        "split-a" => "hot=a+ a-=ground b+=b-",
        "split-b" => "hot=b+ b-=ground a+=a-",
        "split-a-open" => "hot=a+ a-=ground b-=ground",
        "split-b-open" => "hot=b+ b-=ground a-=ground",
        "series-reversed" => "hot=a+ a-=b- b+=ground",
        "parallel-reversed" => "hot=a+ a+=b- a-=b+ b+=ground",
        other => panic!("no such arrangement: {other}"),
    }
}

fn definition_joints(word: &str) -> Vec<Joint> {
    let pairs = definition(word).split(' ').filter_map(|pair| pair.split_once('='));
    pairs.map(|(a, b)| (a.to_owned(), b.to_owned())).collect()
}

/// Returns whether walks along the wires meet what the definition joins, and nothing that makes it another.
fn walks_as(word: &str, wires: &[Joint]) -> bool {
    let from = |start: &str| walk(start, wires);
    let is_apart = |one: &str, other: &str| !from(one).contains(other);
    let joined = definition_joints(word).iter().all(|(one, other)| from(one).contains(other));
    let apart = match word {
        "split-a" => is_apart("a+", "a-"),
        "split-b" => is_apart("b+", "b-"),
        "split-a-open" => is_apart("a+", "a-") && is_apart("b+", "b-") && is_apart("b+", "hot"),
        "split-b-open" => is_apart("b+", "b-") && is_apart("a+", "a-") && is_apart("a+", "hot"),
        _ => is_apart("a+", "a-") && is_apart("b+", "b-"),
    };
    joined && apart && is_apart("hot", "ground")
}

/// Returns a plan's joints as wires from one thing of each group to the next, by the names it is printed with.
fn wires_of(plan: &Plan) -> Vec<Joint> {
    let name =
        |thing: &drywire::wiring::Thing| thing.name(plan.switch(), EndNames::PlusMinus, [true; 2]).to_owned();
    let links = |group: &Vec<drywire::wiring::Thing>| {
        group.windows(2).map(|pair| (name(&pair[0]), name(&pair[1]))).collect::<Vec<_>>()
    };
    plan.groups().iter().flat_map(links).collect()
}

/// Derives every plan with the fewest joints for every choice of arrangements again, and returns how many there were.
fn derive_all(switch: &str) -> usize {
    let table = Switch::named(switch).expect("built in");
    let throws = contacts(switch);
    let guitar = Guitar::built_in("set-neck").expect("built in");
    let pickup = &guitar.pickups()[0];
    let expected: BTreeMap<&str, [Complex64; 2]> =
        WORDS.map(|word| (word, solved(&definition_joints(word)))).into();
    // A throw's wires may be met in many plans; what they come to is the same each time.
    let mut known: BTreeMap<(&str, [bool; 15]), bool> = BTreeMap::new();
    let mut confirmed: BTreeMap<(String, Connection), bool> = BTreeMap::new();
    let mut plans = 0;
    let choices = WORDS.len().pow(u32::try_from(throws.len()).expect("few throws"));
    for choice in 0..choices {
        let words: Vec<&str> = (0..throws.len())
            .map(|throw| WORDS[choice / WORDS.len().pow(u32::try_from(throw).expect("few")) % WORDS.len()])
            .collect();
        let asked: Vec<Asked> = words.iter().map(|word| word.parse().expect("a word")).collect();
        let found = Wanted::new(Arc::clone(&table), asked.clone()).expect("as many throws").fewest();
        for plan in &found.plans {
            plans += 1;
            for (asked, connection) in asked.iter().zip(plan.throws()) {
                let confirmed = *confirmed
                    .entry((asked.to_string(), connection))
                    .or_insert_with(|| is_as_asked(pickup, &connection, *asked).expect("solved"));
                assert!(confirmed, "{switch} {words:?}: the program's own solution is not {asked}");
            }
            for (word, closed) in words.iter().zip(&throws) {
                let wires = [wires_of(plan).as_slice(), closed].concat();
                let sound = *known.entry((word, joined_pairs(&wires))).or_insert_with(|| {
                    let alike = |(p, q): (Complex64, Complex64)| (p - q).norm() < 1e-9;
                    walks_as(word, &wires) && solved(&wires).into_iter().zip(expected[word]).all(alike)
                });
                assert!(sound, "{switch} {words:?}: {word} is not what {wires:?} do");
            }
        }
    }
    plans
}

/// Returns which of the fifteen pairs of terminals a walk joins.
fn joined_pairs(wires: &[Joint]) -> [bool; 15] {
    const ENDS: [&str; 6] = ["a+", "a-", "b+", "b-", "hot", "ground"];
    let mut joined = [false; 15];
    let pairs = (0..6).flat_map(|i| (i + 1..6).map(move |j| (i, j)));
    let met = ENDS.map(|end| walk(end, wires));
    for (entry, (i, j)) in joined.iter_mut().zip(pairs) {
        *entry = met[i].contains(ENDS[j]);
    }
    joined
}

#[test]
fn every_plan_for_every_pair_of_arrangements_is_derived_again() {
    assert!(derive_all("on-on") > 300);
    assert!(derive_all("on-on-single") > 50);
}

/// The two kinds of middle throw are mirror images, so what one can do the other can too, in as many ways.
#[test]
fn every_plan_for_every_triple_of_arrangements_is_derived_again() {
    let plans = derive_all("on-on-on");
    assert!(plans > 500);
    assert_eq!(derive_all("on-on-on-mirrored"), plans);
}

#[test]
fn every_plan_for_every_triple_with_nothing_joined_in_the_middle_is_derived_again() {
    assert!(derive_all("on-off-on") > 50);
}

/// What the program prints is the plan, not only what the library holds.
#[test]
fn every_plan_that_is_printed_does_what_is_printed_beside_it() {
    for second in WORDS {
        let throws = format!("series,{second}");
        let output = Command::new(env!("CARGO_BIN_EXE_drywire"))
            .args(["lugs", "--switch", "on-on", "--throws", &throws, "--fewest", "--json"])
            .output()
            .expect("runs");
        let answer: Value = serde_json::from_slice(&output.stdout).expect("JSON");
        let plans = answer["plans"].as_array().expect("plans");
        assert!(!plans.is_empty(), "{throws}");
        for plan in plans {
            let mut joints = Vec::new();
            for group in plan["groups"].as_array().expect("groups") {
                let names: Vec<&str> =
                    group.as_array().expect("a group").iter().filter_map(Value::as_str).collect();
                joints.extend(names.windows(2).map(|pair| (pair[0].to_owned(), pair[1].to_owned())));
            }
            assert_eq!(plan["joints"], joints.len());
            let told = plan["throws"].as_array().expect("throws");
            for (told, closed) in told.iter().zip(contacts("on-on")) {
                let word = told["arrangement"].as_str().expect("a name");
                let wires = [joints.as_slice(), &closed].concat();
                assert!(walks_as(word, &wires), "{throws}: {word} is not what {wires:?} do");
                let two_coils = !word.starts_with("split");
                assert_eq!(told["in_phase"], !word.contains("reversed"), "{word}");
                assert_eq!(told["hum_cancels"], two_coils && !word.contains("reversed"), "{word}");
            }
            assert_eq!(plan["mid_travel"].as_array().map(Vec::len), Some(9));
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever is soldered, a throw's connection is what a walk along the wires finds.
    #[test]
    fn any_joints_on_any_switch_connect_what_a_walk_connects(
        which in 0_usize..5,
        groups in proptest::collection::vec(0_usize..7, 12),
    ) {
        let table = &Switch::built_in()[which];
        let things: Vec<drywire::wiring::Thing> = drywire::wiring::Terminal::ALL
            .into_iter()
            .map(drywire::wiring::Thing::Terminal)
            .chain(table.lugs().map(drywire::wiring::Thing::Lug))
            .collect();
        let joined = (0..7).map(|group| {
            things.iter().zip(&groups).filter(|(_, own)| **own == group).map(|(thing, _)| *thing).collect()
        });
        let plan = Plan::new(Arc::clone(table), joined);
        for (connection, closed) in plan.throws().iter().zip(contacts(table.name())) {
            let wires = [wires_of(&plan).as_slice(), &closed].concat();
            for one in drywire::wiring::Terminal::ALL {
                let met = walk(one.name(), &wires);
                for other in drywire::wiring::Terminal::ALL {
                    prop_assert_eq!(connection.joins(one, other), met.contains(other.name()));
                }
            }
        }
    }
}
