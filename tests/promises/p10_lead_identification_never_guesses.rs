//! P10. Lead identification never guesses: the answer is certain, or ambiguous (with the next reading to take), or
//! contradictory (with the readings that clash).

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use crate::bench::{Chance, Fault, Line, Make, Pickup};
use drywire::document::Document;
use drywire::leads::{Fields, Readings, Report, Told, Verdict, identify};

/// What the report says of each of the pickup's coils: + and −.
fn found(pickup: &Pickup, report: &Report) -> [[Option<String>; 2]; 2] {
    pickup.coils.map(|name| {
        let coil = report.coils.iter().find(|c| c.name.as_deref() == Some(name));
        coil.map_or([None, None], |c| [c.plus.clone(), c.minus.clone()])
    })
}

fn is_right(pickup: &Pickup, report: &Report) -> bool {
    found(pickup, report) == pickup.plus_minus.map(|ends| ends.map(|lead| Some(lead.to_owned())))
}

#[test]
fn random_honest_readings_are_never_certain_and_wrong_nor_contradictory() {
    let (mut certain, mut ambiguous, mut partly_wrong) = (0, 0, 0);
    for seed in 0..400 {
        let mut chance = Chance(seed);
        let pickup = Pickup::random(&mut chance);
        let mut lines = pickup.every_reading(&mut chance);
        lines.extend(pickup.coils.iter().zip(pickup.north).map(|(c, north)| Line::compass(c, north)));
        chance.shuffle(&mut lines);
        lines.truncate(chance.below(lines.len() + 1));
        if chance.one_in(2) {
            let few = chance.below(9);
            lines.truncate(few);
        }
        let report = identify(&pickup.readings(&lines));
        let told = || format!("seed {seed}: {pickup:#?}\n{}\n{report:#?}", pickup.file(&lines));
        match report.verdict {
            Verdict::Certain => {
                assert!(is_right(&pickup, &report), "certain and wrong, {}", told());
                certain += 1;
            }
            Verdict::Ambiguous => ambiguous += 1,
            Verdict::Contradictory => panic!("honest readings called contradictory, {}", told()),
        }
        let truth = pickup.plus_minus.map(|ends| ends.map(|lead| Some(lead.to_owned())));
        for (said, truth) in found(&pickup, &report).iter().flatten().zip(truth.iter().flatten()) {
            if said.is_some() && said != truth {
                partly_wrong += 1;
                println!("partly wrong: {}", told());
            }
        }
    }
    println!("{certain} certain, {ambiguous} ambiguous, {partly_wrong} leads wrong");
    assert_eq!(partly_wrong, 0, "a lead told although not certain was wrong");
    assert!(certain > 50 && ambiguous > 50, "{certain} certain, {ambiguous} ambiguous");
}

#[test]
fn full_readings_of_a_sound_pickup_are_always_certain() {
    for seed in 0..200 {
        let mut chance = Chance(seed);
        let pickup = Pickup::sound(&mut chance, seed % 2 == 0);
        let mut lines = pickup.full(&mut chance);
        chance.shuffle(&mut lines);
        let report = identify(&pickup.readings(&lines));
        assert_eq!(report.verdict, Verdict::Certain, "seed {seed}: {report:#?}");
        assert!(is_right(&pickup, &report), "seed {seed}: {report:#?}");
        assert!(report.next.is_none() && report.conflicts.is_empty(), "seed {seed}: {report:#?}");
        for coil in &report.coils {
            let (plus, minus) = (coil.plus.as_deref().unwrap(), coil.minus.as_deref().unwrap());
            let truth = pickup.true_ohms(plus, minus).unwrap();
            assert!((coil.ohms.unwrap() / truth - 1.0).abs() < 0.04, "seed {seed}: {coil:?}, {truth}");
        }
    }
}

#[test]
fn every_reading_of_a_sound_pickup_of_three_or_two_leads_is_certain_too() {
    for seed in 0..60 {
        let mut chance = Chance(seed);
        let (a, b) = (chance.below(2), chance.below(2));
        let make = [Make::JointOut(a, b), Make::SeriesInside(a, b)][chance.below(2)];
        let pickup = Pickup::new(make, Fault::Sound, false, &mut chance);
        let report = identify(&pickup.readings(&pickup.every_reading(&mut chance)));
        assert_eq!(report.verdict, Verdict::Certain, "seed {seed}: {pickup:#?} {report:#?}");
        assert!(is_right(&pickup, &report), "seed {seed}: {pickup:#?} {report:#?}");
        let kind = if make == Make::JointOut(a, b) { "joint of both coils" } else { "only two leads" };
        assert!(report.remarks.iter().any(|r| r.contains(kind)), "{:?}", report.remarks);
    }
}

/// Returns the line made false: another swing, or open where it is not and the reverse.
fn falsified(line: &Line, chance: &mut Chance) -> Line {
    match line {
        Line::Ohms { between: [one, other], reads } => {
            let reads = match (reads == "open", chance.one_in(2)) {
                (true, true) => format!("{:.2}k", chance.between(3.0, 9.0)),
                (true, false) => "0.4".to_owned(),
                (false, _) => "open".to_owned(),
            };
            Line::ohms([one, other], &reads)
        }
        Line::Tap { coil, red, black, swing } => {
            let others: Vec<&str> = ["+", "-", "none"].into_iter().filter(|s| s != swing).collect();
            Line::tap(coil, [red, black], others[chance.below(2)])
        }
        Line::Compass { coil, top_pole } => Line::compass(coil, top_pole == "south"),
    }
}

fn is_told(line: &Line, told: &Told) -> bool {
    match (line, &told.fields) {
        (Line::Ohms { between, reads }, Fields::Ohms { between: b, reads: r }) => {
            between == b && Some(reads) == r.as_ref()
        }
        (Line::Tap { coil, red, black, swing }, Fields::Tap { coil: c, red: r, black: b, swing: s }) => {
            Some(coil) == c.as_ref() && red == r && black == b && Some(swing.as_str()) == *s
        }
        _ => false,
    }
}

#[test]
fn one_false_reading_among_full_ones_is_contradictory_and_in_every_clash() {
    let (mut cases, mut largest) = (0, 0);
    for seed in 0..40 {
        let mut chance = Chance(seed);
        let pickup = Pickup::sound(&mut chance, seed % 2 == 0);
        let honest = pickup.full(&mut chance);
        for (i, line) in honest.iter().enumerate() {
            let mut lines = honest.clone();
            lines[i] = falsified(line, &mut chance);
            let report = identify(&pickup.readings(&lines));
            let told = || format!("seed {seed}, false: {:?}\n{report:#?}", lines[i]);
            assert_eq!(report.verdict, Verdict::Contradictory, "{}", told());
            assert!(!report.conflicts.is_empty(), "{}", told());
            for clash in &report.conflicts {
                assert!(clash.iter().any(|t| is_told(&lines[i], t)), "{}", told());
                largest = largest.max(clash.len());
            }
            assert!(report.suspects.iter().any(|t| is_told(&lines[i], t)), "{}", told());
            assert!(report.next.is_none() && report.hum_cancels_in_phase.is_none(), "{}", told());
            cases += 1;
        }
    }
    println!("{cases} false readings, the largest clash has {largest} readings");
}

#[test]
fn a_clash_agrees_as_soon_as_any_one_of_its_readings_is_left_out() {
    for seed in 0..40 {
        let mut chance = Chance(1000 + seed);
        let pickup = Pickup::random(&mut chance);
        let mut lines = pickup.every_reading(&mut chance);
        for _ in 0..2 {
            let i = chance.below(lines.len());
            lines[i] = falsified(&lines[i].clone(), &mut chance);
        }
        let report = identify(&pickup.readings(&lines));
        for clash in &report.conflicts {
            let members: Vec<&Line> =
                lines.iter().filter(|line| clash.iter().any(|told| is_told(line, told))).collect();
            assert!(members.len() >= clash.len());
            let alone: Vec<Line> = members.iter().map(|l| (*l).clone()).collect();
            assert_eq!(identify(&pickup.readings(&alone)).verdict, Verdict::Contradictory);
            for left_out in 0..alone.len() {
                let mut rest = alone.clone();
                rest.remove(left_out);
                let verdict = identify(&pickup.readings(&rest)).verdict;
                assert_ne!(verdict, Verdict::Contradictory, "seed {seed}: {clash:#?}");
            }
        }
    }
}

#[test]
fn the_braid_as_a_lead_and_a_wire_that_goes_nowhere_are_told() {
    let read = |text: &str| identify(&Readings::read(&Document::new("x", text)).unwrap());
    let tap = |coil: &str, red: &str, black: &str, swing: &str| Line::tap(coil, [red, black], swing).text();
    let one = read(&format!(
        "leads = [\"white\"]\nshield = \"braid\"\n{}{}",
        tap("upper", "white", "braid", "+"),
        tap("lower", "braid", "white", "-")
    ));
    assert_eq!(one.verdict, Verdict::Certain, "{one:#?}");
    for coil in &one.coils {
        assert_eq!((coil.plus.as_deref(), coil.minus.as_deref()), (Some("white"), Some("braid")));
    }
    assert!(one.remarks[0].contains("only two leads"), "{:?}", one.remarks);
    let ohms = |one: &str, other: &str, reads: &str| Line::ohms([one, other], reads).text();
    let five = read(&format!(
        "leads = [\"white\", \"bare\", \"grey\", \"red\", \"blue\"]\n{}{}{}{}{}",
        tap("upper", "white", "red", "+"),
        tap("lower", "grey", "blue", "+"),
        ohms("white", "grey", "open"),
        ohms("white", "bare", "open"),
        ohms("grey", "bare", "open"),
    ));
    assert_eq!(five.verdict, Verdict::Certain, "{five:#?}");
    assert!(five.remarks.contains(&"bare leads to neither coil".to_owned()), "{:?}", five.remarks);
}

#[test]
fn faults_are_said_in_plain_words() {
    for seed in 0..20 {
        for (fault, verdict, words) in [
            (Fault::Open(0), Verdict::Ambiguous, "is open (a broken wire)"),
            (Fault::Shorted(1), Verdict::Ambiguous, "is shorted within itself"),
            (Fault::BothOpen, Verdict::Ambiguous, "no current passes from"),
            (Fault::Joined(1, 0), Verdict::Ambiguous, "are joined to each other"),
            (Fault::Joined(0, 0), Verdict::Ambiguous, "are joined to each other"),
            (Fault::Beside(0), Verdict::Ambiguous, "are joined to each other"),
            (Fault::LeadOnShield(0, 1), Verdict::Certain, "is joined to the shield (bare)"),
            (Fault::CoilOnShield(1), Verdict::Certain, "a coil touches the shield (bare)"),
            (Fault::Touching, Verdict::Certain, "the two coils touch inside"),
            (Fault::Sound, Verdict::Certain, " and "),
        ] {
            let mut chance = Chance(seed);
            let pickup = Pickup::new(Make::FourLeads, fault, true, &mut chance);
            let report = identify(&pickup.readings(&pickup.every_reading(&mut chance)));
            let told = || format!("seed {seed}, {fault:?}: {report:#?}");
            assert!(report.health.iter().any(|said| said.contains(words)), "{}", told());
            assert_ne!(report.verdict, Verdict::Contradictory, "{}", told());
            if fault != Fault::Touching {
                assert_eq!(report.verdict, verdict, "{}", told());
            }
            let undo = matches!(report.next.as_ref().map(|n| &n.fields), Some(Fields::Undo { .. }));
            assert_eq!(undo, matches!(fault, Fault::Joined(..) | Fault::Beside(_)), "{}", told());
        }
    }
}

#[test]
fn an_ambiguous_answer_about_a_sound_pickup_names_a_reading_that_is_new() {
    for seed in 0..200 {
        let mut chance = Chance(seed);
        let pickup = Pickup::sound(&mut chance, seed % 2 == 0);
        let mut lines = pickup.every_reading(&mut chance);
        chance.shuffle(&mut lines);
        lines.truncate(chance.below(10));
        let report = identify(&pickup.readings(&lines));
        if report.verdict == Verdict::Ambiguous {
            let next = report.next.as_ref().unwrap_or_else(|| panic!("seed {seed}: {report:#?}"));
            assert!(!lines.iter().any(|line| asks_for(line, &next.fields)), "{next:?} in {lines:?}");
            assert!(report.assignments_left > 1);
        }
    }
}

fn asks_for(line: &Line, fields: &Fields) -> bool {
    match (line, fields) {
        (Line::Ohms { between, .. }, Fields::Ohms { between: b, .. }) => {
            between == b || (between[0] == b[1] && between[1] == b[0])
        }
        (Line::Tap { coil, red, black, .. }, Fields::Tap { coil: c, red: r, black: b, .. }) => {
            Some(coil) == c.as_ref() && red == r && black == b
        }
        _ => false,
    }
}
