//! `drywire lugs --check` finds every fault of a plan that a person drew, throw by throw, and refuses a file that
//! cannot be read with all that is wrong with it.

use std::path::Path;
use std::process::{Command, Output};

use crate::wires::{Joint, contacts, solved, walk};
use drywire::document::Document;
use drywire::guitar::Guitar;
use drywire::lugs::{Described, FindingKind, Labels};
use proptest::prelude::*;
use serde_json::Value;

/// A guitar with a switch of the kind `table` and these joints.
fn guitar(table: &str, joints: &str) -> String {
    format!(
        "format = 1\nname = \"bench\"\n[[pickup]]\nname = \"bridge\"\nlike = \"vintage-full-size\"\n\
         [[switch]]\nname = \"mode\"\non = \"bridge\"\ntable = \"{table}\"\njoints = [{joints}]\n"
    )
}

/// The plan of the interface: series and parallel.
const KNOWN: &str =
    "[\"a+\", \"hot\", \"L3\"], [\"a-\", \"L1\", \"R2\"], [\"b+\", \"L2\"], [\"b-\", \"ground\", \"R3\"]";

fn check(text: &str, more: &[&str]) -> (Output, Value) {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("guitar.toml");
    std::fs::write(&file, text).expect("written");
    let arguments = [&["lugs", "--check", "guitar.toml"], more].concat();
    let output = run(folder.path(), &arguments);
    let json = run(folder.path(), &[arguments.as_slice(), &["--json"]].concat());
    assert_eq!(output.status.code(), json.status.code());
    let answer = serde_json::from_slice(&json.stdout).unwrap_or(Value::Null);
    (output, answer)
}

fn run(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_drywire")).args(arguments).current_dir(folder).output().expect("runs")
}

/// The faults as `throw:kind`, a fault of the whole plan with a dash for the throw.
fn faults(answer: &Value) -> Vec<String> {
    let fault = |fault: &Value| {
        let throw = fault["throw"].as_u64().map_or_else(|| "-".to_owned(), |throw| throw.to_string());
        format!("{throw}:{}", fault["kind"].as_str().expect("a kind"))
    };
    answer["plans"][0]["faults"].as_array().expect("faults").iter().map(fault).collect()
}

#[test]
fn joints_that_name_leads_are_said_to() {
    let mut text = include_str!("../../presets/example/travel.toml").to_owned();
    for (end, lead) in [("a+", "white"), ("a-", "blue"), ("b+", "red"), ("b-", "grey")] {
        text = text.replace(&format!("\"{end}\""), &format!("\"{lead}\""));
    }
    let (output, _) = check(&text, &[]);
    let told = String::from_utf8_lossy(&output.stdout);
    assert!(told.contains("No fault found; 7 joints; its ends go by their leads"), "{told}");
}

#[test]
fn a_plan_without_a_fault_is_said_to_have_none() {
    let (output, answer) = check(&guitar("on-on", KNOWN), &[]);
    assert_eq!(output.status.code(), Some(0));
    assert!(String::from_utf8_lossy(&output.stdout).contains("No fault found; 7 joints"));
    assert_eq!(faults(&answer), [""; 0]);
    let throws = &answer["plans"][0]["throws"];
    assert_eq!(throws[0]["arrangement"], "series");
    assert_eq!(throws[1]["arrangement"], "parallel");
    // R_read = R R_v / (R + R_v), two coils of 3.9 kΩ and a pot of 500 kΩ.
    for (throw, coils) in [(0, 7800.0), (1, 1950.0)] {
        let read = throws[throw]["dc_at_jack_ohm"].as_f64().expect("a reading");
        assert!((read - coils * 500e3 / (coils + 500e3)).abs() < 1e-3, "{read}");
    }
}

#[test]
fn each_fault_is_found_in_its_throw_and_none_hides_another() {
    for (table, joints, expected) in [
        // Coil B's leads swapped.
        (
            "on-on",
            KNOWN.replace("b+", "b?").replace("b-", "b+").replace("b?", "b-"),
            &["1:out-of-phase", "1:hum", "3:out-of-phase", "3:hum"][..],
        ),
        // Hot on ground in throw 3.
        (
            "on-on-single",
            r#"["a+", "hot", "L2"], ["a-", "b+"], ["b-", "ground", "L3"]"#.to_owned(),
            &["3:short"],
        ),
        // Nothing reaches ground.
        (
            "on-on-single",
            r#"["a+", "hot"], ["a-", "b+"]"#.to_owned(),
            &["1:dead", "1:hanging", "3:dead", "3:hanging"],
        ),
        // Coil B hangs from hot in throw 1.
        (
            "on-on-single",
            r#"["a+", "b+", "hot"], ["a-", "ground", "L3"], ["b-", "L2"]"#.to_owned(),
            &["1:hanging"],
        ),
        // The contact of throw 1 is bridged.
        (
            "on-on-single",
            r#"["a+", "hot"], ["a-", "b+", "L2", "L1"], ["b-", "ground", "L3"]"#.to_owned(),
            &["-:bridged"],
        ),
        // A lead is parked on a lug that no throw uses, and both throws are alike.
        (
            "on-on",
            r#"["a+", "hot"], ["a-", "b+", "R1"], ["b-", "ground"]"#.to_owned(),
            &["-:alike", "-:unused-lug"],
        ),
    ] {
        let (output, answer) = check(&guitar(table, &joints), &[]);
        assert_eq!(faults(&answer), expected, "{joints}");
        assert_eq!(output.status.code(), Some(1), "{joints}");
    }
}

#[test]
fn what_is_meant_is_no_fault_and_what_is_not_as_meant_is_one() {
    let swapped = KNOWN.replace("b+", "b?").replace("b-", "b+").replace("b?", "b-");
    let (output, answer) =
        check(&guitar("on-on", &swapped), &["--throws", "series-reversed,parallel-reversed"]);
    assert_eq!((output.status.code(), faults(&answer)), (Some(0), vec![]));
    let (output, answer) = check(&guitar("on-on", KNOWN), &["--throws", "parallel,series"]);
    assert_eq!(output.status.code(), Some(1));
    assert_eq!(faults(&answer), ["1:not-asked", "3:not-asked"]);
}

#[test]
fn a_plan_drawn_for_start_and_finish_and_soldered_by_tap_names_is_told_why_it_is_thin_and_hums() {
    // Drawn: hot to A's start, A's finish to B's finish, B's start to ground, right for two coils wound alike over
    // one magnet. Soldered with the tap's + taken for start.
    let soldered = r#"["a+", "hot", "L3"], ["a-", "L1", "R2"], ["b-", "L2"], ["b+", "ground", "R3"]"#;
    let drawn = soldered
        .replace("\"a+\"", "\"a-start\"")
        .replace("\"a-\"", "\"a-finish\"")
        .replace("\"b+\"", "\"b-start\"")
        .replace("\"b-\"", "\"b-finish\"");
    let (output, answer) = check(&guitar("on-on", soldered), &[]);
    assert_eq!(output.status.code(), Some(1));
    assert_eq!(faults(&answer), ["1:out-of-phase", "1:hum", "3:out-of-phase", "3:hum"]);
    let text = String::from_utf8_lossy(&output.stdout).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        text.contains(
            "a plan drawn for start and finish gets out of phase when it is soldered by tap-found + and −: in this \
             pickup the + end is the finish of coil A and the start of coil B"
        ),
        "{text}"
    );
    let (output, answer) = check(&guitar("on-on", &drawn), &[]);
    let text = String::from_utf8_lossy(&output.stdout).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("its ends go by winding names (start and finish)"), "{text}");
    // A's + is its finish and turned round, B's is its start: both coils are, so they agree.
    assert_eq!((output.status.code(), faults(&answer)), (Some(0), vec![]));
    assert_eq!(answer["plans"][0]["ends"], "start-finish");
}

#[test]
fn leads_named_by_the_other_kind_are_the_first_thing_asked_about() {
    let text = guitar("on-on", KNOWN).replace(
        "[[switch]]",
        "[pickup.coil_a]\nleads = { start = \"white\", finish = \"grey\" }\n\
         [pickup.coil_b]\nleads = { start = \"red\", finish = \"black\" }\n[[switch]]",
    );
    let (output, answer) = check(&text, &[]);
    assert_eq!(output.status.code(), Some(0));
    assert_eq!(answer["plans"][0]["remarks"][0]["kind"], "other-names");
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    // The + end of coil A is its finish, that of coil B its start.
    assert!(text.contains("L3   grey (a+), hot") && text.contains("L2   red (b+)"), "{text}");
}

#[test]
fn every_fault_of_the_file_is_in_one_report_with_its_line() {
    let text = "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"vintage-full-size\"\n\
        [[switch]]\nname = \"Mode 1\"\ntable = \"on-on\"\njoints = [[\"a+\", \"L4\"]]\n\
        [[switch]]\nname = \"one\"\ntable = \"on-on\"\njoints = [[\"a+\", \"a-start\"], [\"a+\", \"hot\"]]\n\
        [[switch]]\nname = \"one\"\ntable = \"onon\"\non = \"neck\"\njoints = []\n";
    let (output, answer) = check(text, &[]);
    assert_eq!((output.status.code(), answer), (Some(2), Value::Null));
    assert!(output.stdout.is_empty());
    let told = String::from_utf8_lossy(&output.stderr);
    for said in [
        "`Mode 1` is no name",
        "guitar.toml:6",
        "`L4` can not be joined around a switch `on-on`",
        "guitar.toml:8",
        "`a-start` and `a+` are of two kinds",
        "`a+` is joined twice",
        "guitar.toml:12",
        "`onon` is no switch",
        "did you mean `on-on`?",
        "guitar.toml:15",
    ] {
        assert!(told.contains(said), "{said}\n---\n{told}");
    }
}

#[test]
fn what_cannot_be_asked_is_refused_with_what_to_do() {
    for (arguments, said) in [
        (&["lugs"][..], "--switch"),
        (&["lugs", "--switch", "on-of-on", "--throws", "series,parallel"], "did you mean `on-off-on`?"),
        (&["lugs", "--switch", "on-on", "--throws", "series,paralel"], "did you mean `parallel`?"),
        (&["lugs", "--switch", "on-on", "--throws", "series"], "ask for throws 1 (lever toward lugs 3), 3"),
        (&["lugs", "--switch", "on-on", "--throws", "series,series-bypassed"], "takes a capacitor"),
        (
            &["lugs", "--switch", "on-on", "--throws", "series,parallel", "--pickup", "soapbar"],
            "has one coil",
        ),
        (
            &["lugs", "--switch", "on-on", "--throws", "series,parallel", "--best", "0"],
            "a whole number from 1 to 1000 is wanted",
        ),
        (&["lugs", "--check", "none.toml"], "cannot read `none.toml`"),
        (&["lugs", "--check", "."], "is not a regular file"),
        (
            &["lugs", "--switch", "on-on", "--throws", "series,parallel", "--sheet", "no/such/folder.html"],
            "no/such/folder.html",
        ),
    ] {
        let folder = tempfile::tempdir().expect("a folder");
        let output = run(folder.path(), arguments);
        let told = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {told}");
        assert!(told.contains(said), "{said}\n---\n{told}");
        assert_eq!(std::fs::read_dir(folder.path()).expect("a folder").count(), 0, "{arguments:?}");
    }
}

#[test]
fn no_line_of_a_table_is_wider_than_a_terminal() {
    let lead = "a lead of an uncommonly long name";
    let text = guitar("on-on", KNOWN).replace(
        "[[switch]]",
        &format!("[pickup.coil_a]\nleads = {{ plus = \"{lead} one\", minus = \"{lead} two\" }}\n[[switch]]"),
    );
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("guitar.toml"), text).expect("written");
    for arguments in [
        &["lugs", "--check", "guitar.toml"][..],
        &["lugs", "--switch", "on-on", "--throws", "series-reversed,parallel-reversed", "--fewest"],
        &[
            "lugs",
            "--switch",
            "on-on-on",
            "--throws",
            "series,split,parallel",
            "--guitar",
            "guitar.toml",
            "--best",
            "3",
        ],
        &["lugs", "--switch", "on-on-on", "--throws", "split,series,parallel"],
    ] {
        let output = run(folder.path(), arguments);
        let text = String::from_utf8(output.stdout).expect("text");
        let longest = text.lines().map(|line| line.chars().count()).max();
        assert!(
            longest.is_some_and(|longest| (40..=80).contains(&longest)),
            "{arguments:?}: {longest:?}\n{text}"
        );
    }
}

/// The things of a two-pole switch.
const THINGS: [&str; 12] = ["a+", "a-", "b+", "b-", "hot", "ground", "L1", "L2", "L3", "R1", "R2", "R3"];

/// Returns the kinds of faults that a throw's wires have by a walk and the circuit's solution: `short`, `dead`,
/// `out-of-phase`, `hanging`.
fn by_walk(wires: &[Joint]) -> Vec<FindingKind> {
    if walk("hot", wires).contains("ground") {
        return vec![FindingKind::Short];
    }
    let [a, b] = solved(wires);
    let sounding = |path: num_complex::Complex64| path.norm() > 0.2;
    let mut kinds = Vec::new();
    if !sounding(a) && !sounding(b) {
        kinds.push(FindingKind::Dead);
    }
    if sounding(a) && sounding(b) && (a * b.conj()).re < 0.0 {
        kinds.extend([FindingKind::OutOfPhase, FindingKind::Hum]);
    }
    let dangles = |path, plus: &str, minus: &str| {
        let on_hot = walk("hot", wires);
        !sounding(path) && on_hot.contains(plus) != on_hot.contains(minus)
    };
    if dangles(a, "a+", "a-") {
        kinds.push(FindingKind::Hanging);
    }
    if dangles(b, "b+", "b-") {
        kinds.push(FindingKind::Hanging);
    }
    kinds
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever a person solders, the faults of each throw are those that a walk along the wires and the circuit's
    /// solution find.
    #[test]
    fn the_faults_of_any_joints_are_those_that_a_walk_and_the_circuit_find(
        groups in proptest::collection::vec(0_usize..6, THINGS.len()),
    ) {
        let joints: Vec<Vec<&str>> = (0..6)
            .map(|group| THINGS.iter().zip(&groups).filter(|(_, own)| **own == group).map(|(t, _)| *t).collect())
            .filter(|joint: &Vec<&str>| joint.len() > 1)
            .collect();
        let written: Vec<String> = joints.iter().map(|joint| format!("{joint:?}")).collect();
        let document = Document::new("guitar.toml", guitar("on-on", &written.join(", ")));
        let guitar = Guitar::read(&document).expect("a guitar");
        let pickup = &guitar.pickups()[0];
        let switch = &guitar.switches()[0];
        let labels = Labels::of(pickup, switch.names());
        let plan = switch.plan(labels.finish_is_plus());
        let described = Described::new(plan, labels, &guitar, pickup, None).expect("solved");
        let links: Vec<Joint> = joints
            .iter()
            .flat_map(|joint| joint.windows(2).map(|pair| (pair[0].to_owned(), pair[1].to_owned())))
            .collect();
        for (number, closed) in [1, 3].into_iter().zip(contacts("on-on")) {
            let found: Vec<FindingKind> =
                described.faults().filter(|f| f.throw == Some(number)).map(|f| f.kind).collect();
            prop_assert_eq!(found, by_walk(&[links.as_slice(), &closed].concat()), "throw {} of {:?}", number, joints);
        }
    }
}
