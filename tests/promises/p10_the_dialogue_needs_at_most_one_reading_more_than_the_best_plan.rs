//! P10. Lead identification never guesses: asked question by question, it reaches certainty in no more readings
//! than the best plan of readings needs, plus one.

use std::collections::HashMap;

use crate::bench::{Chance, Fault, Make, Pickup};
use drywire::leads::{Interview, Reply, Verdict, identify};

/// What a reading of a sound pickup may come to.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
enum Outcome {
    Open,
    Wire,
    Plus,
    Minus,
    None,
}

/// Returns the outcomes of every reading for every truth: a row a reading, a column a truth.
///
/// A truth is the pickup's two coils, each as its + and − place among the leads; coils that share a place are
/// joined there.
fn outcomes(truths: &[[[usize; 2]; 2]], leads: usize) -> Vec<Vec<Outcome>> {
    let mut rows = Vec::new();
    for one in 0..leads {
        for other in one + 1..leads {
            // The way between two leads is along one coil, or along both from the joint's one side to the other.
            let along = |truth: &[[usize; 2]; 2], coil: usize| -> Option<i32> {
                let [plus, minus] = truth[coil];
                let [p, m] = truth[1 - coil];
                let sign = |red: usize, black: usize| match (red, black) {
                    (r, b) if (r, b) == (plus, minus) => Some(1),
                    (r, b) if (r, b) == (minus, plus) => Some(-1),
                    _ => None,
                };
                let far = |at: usize| match at {
                    a if a == p => Some(m),
                    a if a == m => Some(p),
                    _ => None,
                };
                sign(one, other).or_else(|| sign(one, far(other)?)).or_else(|| sign(far(one)?, other))
            };
            rows.push(
                truths
                    .iter()
                    .map(|t| match (along(t, 0), along(t, 1)) {
                        (None, None) => Outcome::Open,
                        _ => Outcome::Wire,
                    })
                    .collect(),
            );
            for coil in 0..2 {
                rows.push(
                    truths
                        .iter()
                        .map(|t| match along(t, coil) {
                            Some(1) => Outcome::Plus,
                            Some(_) => Outcome::Minus,
                            None => Outcome::None,
                        })
                        .collect(),
                );
            }
        }
    }
    rows
}

/// Returns the fewest readings that tell all truths of `set` apart whatever they come to, by trying every plan.
fn fewest(set: u32, rows: &[Vec<Outcome>], known: &mut HashMap<u32, usize>) -> usize {
    if set.count_ones() <= 1 {
        return 0;
    }
    if let Some(depth) = known.get(&set) {
        return *depth;
    }
    let mut best = usize::MAX;
    for row in rows {
        let mut parts: HashMap<Outcome, u32> = HashMap::new();
        for (truth, outcome) in row.iter().enumerate() {
            if set & (1 << truth) != 0 {
                *parts.entry(*outcome).or_default() |= 1 << truth;
            }
        }
        if parts.len() > 1 {
            let mut worst = 0;
            for part in parts.into_values() {
                worst = worst.max(fewest(part, rows, known));
            }
            best = best.min(1 + worst);
        }
    }
    known.insert(set, best);
    best
}

fn fewest_of(truths: &[[[usize; 2]; 2]], leads: usize) -> usize {
    let all = u32::try_from((1u64 << truths.len()) - 1).expect("at most 32 truths");
    fewest(all, &outcomes(truths, leads), &mut HashMap::new())
}

/// Every way to put two coils' ends on four leads.
fn four_leads() -> Vec<[[usize; 2]; 2]> {
    let mut truths = Vec::new();
    for code in 0..256 {
        let [a, b, c, d] = [code & 3, (code >> 2) & 3, (code >> 4) & 3, code >> 6];
        if a != b && a != c && a != d && b != c && b != d && c != d {
            truths.push([[a, b], [c, d]]);
        }
    }
    truths
}

/// Every way to put two coils with a common joint on three leads.
fn three_leads() -> Vec<[[usize; 2]; 2]> {
    let mut truths = Vec::new();
    for joint in 0..3 {
        for first in (0..3).filter(|f| *f != joint) {
            let second = 3 - joint - first;
            for turned in 0..4 {
                let pair = |outer: usize, turned: bool| if turned { [joint, outer] } else { [outer, joint] };
                truths.push([pair(first, turned & 1 != 0), pair(second, turned & 2 != 0)]);
            }
        }
    }
    truths
}

/// What a conversation came to.
struct Held {
    readings: usize,
    refused: usize,
    verdict: Verdict,
    right: bool,
}

/// Holds a conversation about `pickup`, answering from the bench, until it is certain or over.
fn hold(pickup: &Pickup, chance: &mut Chance) -> Held {
    let mut interview = Interview::new();
    let (mut readings, mut refused) = (0, 0);
    while let Some(question) = interview.question() {
        let asked = question.lines().last().expect("a question");
        if asked.starts_with("Go on") {
            break;
        }
        let answer = if asked.starts_with("Leads") {
            pickup.leads.join(", ")
        } else if asked.starts_with("Shield") {
            pickup.shield.unwrap_or_default().to_owned()
        } else if asked.starts_with("Coils") {
            pickup.coils.join(",")
        } else {
            readings += 1;
            if chance.one_in(5) {
                let Reply::Refused(_) = interview.answer("a mistake") else { panic!("taken: {asked}") };
                refused += 1;
            }
            match answer(pickup, asked, chance) {
                Some(answer) => answer,
                None => break,
            }
        };
        match interview.answer(&answer) {
            Reply::Taken | Reply::Over => {}
            // Two coils whose joint is inside are one to a meter, and are to be named so.
            Reply::Refused(why) if asked.starts_with("Coils") => {
                assert!(pickup.leads.len() < 3, "{why}");
                break;
            }
            Reply::Refused(why) | Reply::Help(why) => panic!("{asked} {answer}: {why}"),
        }
        assert!(readings < 60, "{pickup:?}");
    }
    let report = identify(interview.readings().expect("named leads"));
    let right = pickup.coils.iter().zip(&pickup.plus_minus).all(|(name, [plus, minus])| {
        let coil = report.coils.iter().find(|c| c.name.as_deref() == Some(name));
        coil.is_some_and(|c| c.plus.as_deref() == Some(*plus) && c.minus.as_deref() == Some(*minus))
    });
    Held { readings, refused, verdict: report.verdict, right }
}

/// Returns the answer to a question for a reading, `None` where a joint is to be undone.
fn answer(pickup: &Pickup, asked: &str, chance: &mut Chance) -> Option<String> {
    let (probes, rest) =
        asked.strip_prefix("Red probe on the ")?.split_once(" wire: ").expect("the question's form");
    let (red, black) = probes.split_once(" wire, black probe on the ").expect("the question's form");
    let Some(rest) = rest.strip_prefix("tap ") else {
        assert!(rest.starts_with("read the ohms"), "{asked}");
        return Some(pickup.ohms(red, black, chance));
    };
    let coil = pickup.coils.iter().position(|c| rest.starts_with(c)).expect("the question's form");
    Some(pickup.tap(coil, red, black).to_owned())
}

/// Returns the most and the mean number of readings.
fn at_most_one_more(make: impl Fn(usize) -> Make, best: usize) -> (usize, f64) {
    let (mut most, mut all, mut count, mut refused) = (0, 0, 0, 0);
    for seed in 0..48 {
        for shield in [false, true] {
            let mut chance = Chance(seed);
            let pickup = Pickup::new(make(chance.below(4)), Fault::Sound, shield, &mut chance);
            let held = hold(&pickup, &mut chance);
            assert_eq!(held.verdict, Verdict::Certain, "seed {seed}: {pickup:#?}");
            assert!(held.right, "seed {seed}: {pickup:#?}");
            assert!(held.readings <= best + 1, "seed {seed}: {} readings, {pickup:#?}", held.readings);
            most = most.max(held.readings);
            all += held.readings;
            count += 1;
            refused += held.refused;
        }
    }
    assert!(refused > 0, "no mistake was tried");
    (most, all as f64 / f64::from(count))
}

#[test]
fn four_leads_are_certain_after_at_most_one_reading_more_than_the_best_plan_needs() {
    let truths = four_leads();
    assert_eq!(truths.len(), 24);
    let best = fewest_of(&truths, 4);
    assert_eq!(best, 5, "24 truths, each reading with at most three outcomes");
    let (most, mean) = at_most_one_more(|_| Make::FourLeads, best);
    println!("four leads: best plan {best}, most {most}, mean {mean:.2}");
}

#[test]
fn three_leads_are_certain_after_at_most_one_reading_more_than_the_best_plan_needs() {
    let truths = three_leads();
    assert_eq!(truths.len(), 24);
    let best = fewest_of(&truths, 3);
    let (most, mean) = at_most_one_more(|code| Make::JointOut(code & 1, code >> 1), best);
    println!("three leads: best plan {best}, most {most}, mean {mean:.2}");
}

#[test]
fn about_a_faulty_pickup_the_dialogue_ends_and_is_never_certain_and_wrong() {
    let mut most = 0;
    for seed in 0..80 {
        let mut chance = Chance(seed);
        let pickup = Pickup::random(&mut chance);
        let held = hold(&pickup, &mut chance);
        assert_ne!(held.verdict, Verdict::Contradictory, "seed {seed}: {pickup:#?}");
        assert!(held.verdict != Verdict::Certain || held.right, "seed {seed}: {pickup:#?}");
        if pickup.fault == Fault::Sound && pickup.make == Make::FourLeads {
            assert_eq!(held.verdict, Verdict::Certain, "seed {seed}: {pickup:#?}");
        }
        most = most.max(held.readings);
    }
    println!("at most {most} readings");
}
