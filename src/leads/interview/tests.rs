use super::super::reading::{Bobbin, Reading, Swing};
use super::*;
use crate::leads::{Conductor, identify};

fn told(answers: &[&str]) -> Interview {
    let mut interview = Interview::new();
    for answer in answers {
        let question = interview.question();
        assert_eq!(interview.answer(answer), Reply::Taken, "{question:?} {answer}");
    }
    interview
}

fn asked(interview: &mut Interview) -> String {
    interview.question().and_then(|q| q.lines().last().map(str::to_owned)).unwrap_or_default()
}

const BEGIN: [&str; 3] = ["white, grey, red, blue", "", "upper, lower"];

#[test]
fn a_wrong_answer_is_asked_again_and_changes_nothing() {
    let mut interview = told(&BEGIN);
    let question = asked(&mut interview);
    for wrong in ["", "apples", "+", "-5k", "white"] {
        assert!(matches!(interview.answer(wrong), Reply::Refused(_)), "{wrong}");
        assert_eq!(asked(&mut interview), question);
    }
    assert!(interview.readings().is_some_and(|r| r.entries().is_empty()));
    for wrong in ["", ",", "white, White", "a, b, c, d, e, f, g, h, i"] {
        assert!(matches!(Interview::new().answer(wrong), Reply::Refused(_)), "{wrong}");
    }
}

#[test]
fn colours_without_commas_are_not_taken_for_one_lead() {
    let answer = |leads: &str| Interview::new().answer(leads);
    assert!(matches!(answer("white grey red blue"), Reply::Refused(why) if why.contains("has no comma")));
    assert_eq!(answer("light blue"), Reply::Taken);
    assert_eq!(answer("light blue, dark green"), Reply::Taken);
}

#[test]
fn two_coils_want_more_than_two_wires() {
    let mut interview = told(&["white", "bare"]);
    assert!(
        matches!(interview.answer("near, far"), Reply::Refused(why) if why.contains("three ends or more"))
    );
    assert_eq!(interview.answer("only"), Reply::Taken);
    assert_eq!(told(&["white, grey", "bare"]).answer("near, far"), Reply::Taken);
}

#[test]
fn the_last_reading_can_be_taken_back_and_a_reading_left_out() {
    let mut interview = told(&BEGIN);
    let first = asked(&mut interview);
    interview.answer("open");
    assert_ne!(asked(&mut interview), first);
    interview.answer("back");
    assert_eq!(asked(&mut interview), first);
    interview.answer("skip");
    assert_ne!(asked(&mut interview), first);
    assert!(interview.readings().is_some_and(|r| r.entries().is_empty()));
    interview.answer("back");
    assert!(asked(&mut interview).starts_with("Leads"));
}

#[test]
fn an_unclear_reading_is_asked_back_and_one_word_answers() {
    let mut interview = told(&BEGIN);
    let first = asked(&mut interview);
    assert_eq!(interview.answer("5.9"), Reply::Taken);
    assert_eq!(asked(&mut interview), "Is that 5.9 Ω or 5.9 kΩ? (ohm or k, or the reading with its unit)");
    assert!(matches!(interview.answer("perhaps"), Reply::Refused(_)));
    assert_eq!(interview.answer("back"), Reply::Taken);
    assert_eq!(asked(&mut interview), first);
    interview.answer("5.9");
    assert_eq!(interview.answer("1"), Reply::Taken, "the reading anew, and unclear again");
    assert!(asked(&mut interview).starts_with("Is that open, 1 Ω or 1 kΩ?"));
    assert!(interview.readings().is_some_and(|r| r.entries().is_empty()));
    assert_eq!(interview.answer("open"), Reply::Taken);
    interview.answer("4,1");
    assert_eq!(interview.answer("kΩ"), Reply::Taken);
    let read: Vec<Option<f64>> = interview
        .readings
        .entries()
        .iter()
        .map(|entry| match &entry.reading {
            Reading::Ohms { reads, .. } => reads.closed().map(crate::quantity::Ohms::value),
            other => panic!("{other:?}"),
        })
        .collect();
    assert_eq!(read, [None, Some(4100.0)]);
}

#[test]
fn a_joint_is_to_be_undone_and_what_was_read_across_it_is_dropped() {
    let mut interview = told(&BEGIN);
    // White and grey are one coil, red and blue the other, and grey is still on red.
    let ohms =
        [("white", "grey", "4k"), ("white", "red", "4k"), ("grey", "red", "0.2"), ("red", "blue", "4.1k")];
    for _ in 0..20 {
        let question = asked(&mut interview);
        if question.starts_with("Undo the joint of grey and red") {
            assert!(matches!(interview.answer("later"), Reply::Refused(_)));
            assert_eq!(interview.answer("done"), Reply::Taken);
            assert!(interview.readings().is_some_and(|r| r.entries().is_empty()));
            assert!(asked(&mut interview).contains(": read the ohms"));
            return;
        }
        let names = |one: &str, other: &str| {
            question.contains(&format!("on the {one} wire, black probe on the {other} wire"))
        };
        let answer = if question.contains(": read the ohms") {
            let known = ohms.iter().find(|(one, other, _)| names(one, other));
            known.map_or("8.1k", |(_, _, reads)| reads)
        } else if names("grey", "red") {
            "none"
        } else if question.contains("upper") {
            if names("red", "blue") || names("grey", "blue") { "none" } else { "+" }
        } else if names("white", "grey") || names("white", "red") {
            "none"
        } else {
            "+"
        };
        assert_eq!(interview.answer(answer), Reply::Taken, "{question} {answer}");
    }
    panic!("never told to undo the joint");
}

#[test]
fn a_false_reading_is_named_and_can_be_taken_again() {
    let mut interview = told(&BEGIN);
    let [white, grey] = [Conductor(0), Conductor(1)];
    for probes in [[white, grey], [grey, white]] {
        assert_eq!(interview.readings.add_tap(Bobbin::First, probes, Swing::Plus, None), Ok(()));
    }
    interview.go_on();
    assert!(interview.question().is_some_and(|q| q.contains("cannot all be true")));
    let before = interview.readings().map(|r| r.entries().len());
    assert!(matches!(interview.answer("0"), Reply::Refused(_)));
    assert!(matches!(interview.answer("99"), Reply::Refused(_)));
    assert_eq!(interview.answer("1"), Reply::Taken);
    assert_eq!(interview.readings().map(|r| r.entries().len() + 1), before);
}

#[test]
fn once_certain_it_goes_on_only_if_asked_to() {
    let begin = ["white, grey", "bare", "only"];
    let mut interview = told(&begin);
    let answer = |question: &str| match question {
        q if q.starts_with("Hold") => "south",
        q if q.contains("bare") => {
            if q.contains(": read the ohms") {
                "open"
            } else {
                "none"
            }
        }
        q if q.contains(": read the ohms") => "4k",
        _ => "+",
    };
    for _ in 0..10 {
        let question = asked(&mut interview);
        if question.starts_with("Go on") {
            break;
        }
        assert_eq!(interview.answer(answer(&question)), Reply::Taken, "{question}");
    }
    let mut further = Interview {
        stage: interview.stage.clone(),
        readings: interview.readings.clone(),
        ..Interview::new()
    };
    assert_eq!(interview.answer(""), Reply::Over);
    assert!(matches!(further.answer("perhaps"), Reply::Refused(_)));
    assert_eq!(further.answer("yes"), Reply::Taken);
    for _ in 0..10 {
        let question = asked(&mut further);
        let reply = further.answer(answer(&question));
        if reply == Reply::Over {
            let report = identify(&further.readings);
            assert_eq!(
                (report.verdict, report.coils[0].sense),
                (Verdict::Certain, Some("counter-clockwise"))
            );
            assert_eq!(report.coils[0].ohms, Some(4000.0));
            return;
        }
        assert_eq!(reply, Reply::Taken, "{question}");
    }
    panic!("never over");
}
