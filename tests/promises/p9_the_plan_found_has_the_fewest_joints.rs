//! P9: the plan found has the fewest joints, proven by exhaustive search, and said so.
//!
//! The oracle joins the things in every way there is, one after another and without any pruning, and looks at
//! each: the 21,147 ways for a switch of one pole and the 4,213,597 for one of two.

use std::process::Command;
use std::sync::Arc;

use drywire::lugs::{Asked, Wanted};
use drywire::wiring::{Switch, Thing};
use serde_json::Value;

/// The terminals' places in a partition of the things; lugs follow.
const A_PLUS: usize = 0;
const A_MINUS: usize = 1;
const B_PLUS: usize = 2;
const B_MINUS: usize = 3;
const HOT: usize = 4;
const GROUND: usize = 5;

/// What can be asked of a throw, in the order of the oracle's bits.
const WORDS: [&str; 9] = [
    "series",
    "parallel",
    "split-a",
    "split-b",
    "split-a-open",
    "split-b-open",
    "series-reversed",
    "parallel-reversed",
    "split",
];

/// Returns the words, as bits, that six terminals' node numbers answer to, by the definitions of the arrangements
/// spelled out.
fn answers(node: &[usize]) -> u16 {
    let same = |one: usize, other: usize| node[one] == node[other];
    let free = |end: usize| (0..6).all(|other| other == end || node[other] != node[end]);
    if same(HOT, GROUND) {
        return 0;
    }
    let across = |plus, minus| same(plus, HOT) && same(minus, GROUND);
    let shorted = |plus, minus| same(plus, minus);
    let turned = |plus, minus| same(plus, GROUND) && same(minus, HOT);
    // A coil that is neither shorted nor across, either way round, carries nothing beside one that is across.
    let idle = |plus, minus| !across(plus, minus) && !turned(plus, minus);
    let (a, b) = ((A_PLUS, A_MINUS), (B_PLUS, B_MINUS));
    let series = |middle: usize, last: usize| {
        same(HOT, A_PLUS)
            && same(A_MINUS, middle)
            && same(last, GROUND)
            && !same(A_PLUS, A_MINUS)
            && !same(middle, last)
    };
    let truths = [
        series(B_PLUS, B_MINUS),
        across(a.0, a.1) && across(b.0, b.1),
        across(a.0, a.1) && shorted(b.0, b.1),
        across(b.0, b.1) && shorted(a.0, a.1),
        across(a.0, a.1) && same(B_MINUS, GROUND) && free(B_PLUS),
        across(b.0, b.1) && same(A_MINUS, GROUND) && free(A_PLUS),
        series(B_MINUS, B_PLUS),
        across(a.0, a.1) && turned(b.0, b.1),
        across(a.0, a.1) && idle(b.0, b.1) || across(b.0, b.1) && idle(a.0, a.1),
    ];
    truths.iter().enumerate().map(|(bit, truth)| u16::from(*truth) << bit).sum()
}

/// Returns the groups' numbers with the groups of two lugs made one in each of `contacts`.
fn closed(group: &[usize], contacts: &[(usize, usize)]) -> Vec<usize> {
    let mut node = group.to_vec();
    for (one, other) in contacts {
        let (from, to) = (node[*one], node[*other]);
        node.iter_mut().filter(|n| **n == from).for_each(|n| *n = to);
    }
    node
}

/// The fewest joints of a pair of words and the number of partitions with so few.
type Best = [[Option<(usize, usize)>; 9]; 9];

/// Looks at every partition of six terminals and `lugs` lugs.
fn brute_force(lugs: usize, throws: &[Vec<(usize, usize)>; 2]) -> (u64, Best) {
    let things = 6 + lugs;
    let mut best = [[None; 9]; 9];
    let mut looked_at = 0;
    let mut group = vec![0; things];
    loop {
        looked_at += 1;
        let [first, second] = [0, 1].map(|throw| answers(&closed(&group, &throws[throw])));
        if first != 0 && second != 0 {
            let joints = things - 1 - group.iter().max().expect("there are things");
            let pairs = best.iter_mut().enumerate().filter(|(i, _)| first >> i & 1 == 1);
            for entry in pairs.flat_map(|(_, row)| {
                row.iter_mut().enumerate().filter(|(j, _)| second >> j & 1 == 1).map(|(_, entry)| entry)
            }) {
                *entry = match *entry {
                    Some((fewest, count)) if fewest == joints => Some((fewest, count + 1)),
                    Some((fewest, count)) if fewest < joints => Some((fewest, count)),
                    Some(_) | None => Some((joints, 1)),
                };
            }
        }
        // The next partition in the order of restricted growth strings: no group's number is more than one above
        // all before it.
        let Some(at) = (1..things).rev().find(|at| {
            let most = group[..*at].iter().max().expect("at least one before");
            group[*at] <= *most
        }) else {
            return (looked_at, best);
        };
        group[at] += 1;
        group[at + 1..].fill(0);
    }
}

fn found(switch: &str, first: &str, second: &str) -> Option<(usize, usize)> {
    let asked: Vec<Asked> = [first, second].iter().map(|word| word.parse().expect("a word")).collect();
    let switch = Switch::named(switch).expect("built in");
    let plans = Wanted::new(switch, asked).expect("two throws").fewest().plans;
    plans.first().map(|plan| (plan.joints(), plans.len()))
}

fn agrees(switch: &str, lugs: usize, throws: &[Vec<(usize, usize)>; 2], ways: u64) {
    let (looked_at, best) = brute_force(lugs, throws);
    assert_eq!(looked_at, ways);
    for (i, first) in WORDS.iter().enumerate() {
        for (j, second) in WORDS.iter().enumerate() {
            assert_eq!(found(switch, first, second), best[i][j], "{switch}: {first},{second}");
        }
    }
}

#[test]
fn the_pruned_search_finds_what_brute_force_finds_for_every_pair_on_one_pole() {
    agrees("on-on-single", 3, &[vec![(7, 6)], vec![(7, 8)]], 21_147);
}

#[test]
fn the_pruned_search_finds_what_brute_force_finds_for_every_pair_on_two_poles() {
    agrees("on-on", 6, &[vec![(7, 6), (10, 9)], vec![(7, 8), (10, 11)]], 4_213_597);
}

/// Common practice, no source: series and parallel on a two-pole on-on switch take four leads, hot, ground and one
/// jumper.
#[test]
fn series_and_parallel_take_seven_joints_one_of_them_a_jumper() {
    let asked = ["series", "parallel"].map(|word| word.parse().expect("a word"));
    let switch = Switch::named("on-on").expect("built in");
    let plans = Wanted::new(Arc::clone(&switch), asked.to_vec()).expect("two throws").fewest().plans;
    assert!(plans.iter().all(|plan| plan.joints() == 7 && plan.soldering().jumpers.len() == 1));
    let drawn = "a+·hot·L3 a-·L1·R2 b+·L2 b-·ground·R3";
    let names =
        |thing: &Thing| thing.name(&switch, drywire::wiring::EndNames::PlusMinus, [true; 2]).to_owned();
    let written = plans.iter().map(|plan| {
        let groups = plan.groups().iter().map(|group| group.iter().map(names).collect::<Vec<_>>().join("·"));
        groups.collect::<Vec<_>>().join(" ")
    });
    assert!(written.clone().any(|plan| plan == drawn), "{:?}", written.collect::<Vec<_>>());
}

fn lugs(arguments: &[&str]) -> (Option<i32>, String) {
    let output =
        Command::new(env!("CARGO_BIN_EXE_drywire")).arg("lugs").args(arguments).output().expect("runs");
    (output.status.code(), String::from_utf8(output.stdout).expect("text"))
}

#[test]
fn the_program_says_that_no_plan_has_fewer_and_how_it_knows() {
    let (code, text) = lugs(&["--switch", "on-on", "--throws", "series,parallel"]);
    assert_eq!(code, Some(0));
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("7 joints are the fewest possible, and 10 plans have as few. Proven:"), "{text}");
    assert!(text.contains("decide all 4,213,597 ways"), "{text}");
    let (_, text) = lugs(&["--switch", "on-on", "--throws", "series,parallel", "--fewest", "--json"]);
    let answer: Value = serde_json::from_str(&text).expect("JSON");
    assert_eq!(answer["exists"], true);
    assert_eq!(answer["joints"], 7);
    assert_eq!(answer["solutions_with_fewest"], 10);
    assert_eq!(answer["plans"].as_array().map(Vec::len), Some(10));
    assert!(answer["searched"].as_u64().is_some_and(|searched| searched > 1000));
}

#[test]
fn that_no_plan_exists_is_an_answer_with_its_proof_and_what_can_do_it() {
    let (code, text) = lugs(&["--switch", "on-on-single", "--throws", "series,parallel"]);
    assert_eq!(code, Some(1));
    assert!(text.contains("No plan does this. Proven:"), "{text}");
    assert!(text.contains("--switch on-on --throws series,parallel"), "{text}");
    let (code, text) = lugs(&["--switch", "on-on-on", "--throws", "split,series,parallel", "--json"]);
    assert_eq!(code, Some(1));
    let answer: Value = serde_json::from_str(&text).expect("JSON");
    assert_eq!(answer["exists"], false);
    assert_eq!(answer["joints"], Value::Null);
    assert_eq!(answer["plans"], Value::Array(Vec::new()));
    // Another order of the same throws on the same switch stands first.
    assert_eq!(answer["alternatives"][0]["switch"], "on-on-on");
    assert_eq!(answer["alternatives"][0]["throws"], serde_json::json!(["series", "split", "parallel"]));
}
