//! `drywire leads` takes readings from a file, from options or by asking, and reports them in words or as JSON.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use crate::bench::{Chance, Line, Pickup};
use assert_cmd::Command;
use drywire::document::Document;
use drywire::leads::{Readings, identify};
use serde_json::Value;

/// What a run of the program came to.
struct Run {
    code: i32,
    out: String,
    err: String,
}

fn leads(arguments: &[&str], input: &str) -> Run {
    let mut command = Command::cargo_bin("drywire").expect("a run of the program");
    let output =
        command.arg("leads").args(arguments).write_stdin(input).output().expect("a run of the program");
    Run {
        code: output.status.code().expect("a run of the program"),
        out: String::from_utf8(output.stdout).expect("a run of the program"),
        err: String::from_utf8(output.stderr).expect("a run of the program"),
    }
}

fn written(folder: &tempfile::TempDir, text: &str) -> String {
    let path = folder.path().join("bench.toml");
    std::fs::write(&path, text).expect("a run of the program");
    path.display().to_string()
}

fn fits(text: &str) {
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "{} columns: {line}", line.chars().count());
    }
}

const DRAWER: &str = r#"
leads = ["white", "grey", "red", "blue"]
shield = "bare"
[[ohms]]
between = ["white", "red"]
reads = "open"
[[ohms]]
between = ["white", "blue"]
reads = "4k1"
[[ohms]]
between = ["grey", "red"]
reads = 4150
[[tap]]
coil = "upper"
red = "white"
black = "blue"
swing = "+"
[[tap]]
coil = "lower"
red = "grey"
black = "red"
swing = "-"
"#;

#[test]
fn a_file_is_answered_as_json_with_the_documented_fields() {
    let folder = tempfile::tempdir().unwrap();
    let run = leads(&[&written(&folder, DRAWER), "--json"], "");
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    let json: Value = serde_json::from_str(&run.out).unwrap();
    assert_eq!(json["verdict"], "certain");
    assert_eq!(json["coils"].as_array().unwrap().len(), 2);
    assert_eq!(json["coils"][0]["name"], "upper");
    assert_eq!(json["coils"][0]["plus"], "white");
    assert_eq!(json["coils"][0]["minus"], "blue");
    assert_eq!(json["coils"][0]["ohms"], 4100.0);
    assert_eq!(json["coils"][1]["plus"], "red");
    assert_eq!(json["coils"][1]["minus"], "grey");
    for key in ["top_pole", "sense"] {
        assert_eq!(json["coils"][0].get(key), Some(&Value::Null));
    }
    assert_eq!(json.get("hum_cancels_in_phase"), Some(&Value::Null));
    assert_eq!(json.get("next"), Some(&Value::Null));
    assert_eq!(json["conflicts"], Value::Array(Vec::new()));
    assert!(json["health"][0].as_str().unwrap().contains("alike"), "{json}");
}

#[test]
fn the_next_reading_is_told_in_words_and_as_the_fields_of_a_readings_file() {
    let folder = tempfile::tempdir().unwrap();
    let run = leads(&[&written(&folder, "leads = [\"white\", \"grey\", \"red\", \"blue\"]\n"), "--json"], "");
    let json: Value = serde_json::from_str(&run.out).unwrap();
    assert_eq!((run.code, &json["verdict"]), (0, &Value::from("ambiguous")));
    assert_eq!(json["next"]["kind"], "ohms");
    assert_eq!(json["next"]["between"], serde_json::json!(["white", "grey"]));
    assert_eq!(
        json["next"]["words"],
        "red probe on the white wire, black probe on the grey wire: read the ohms"
    );
}

#[test]
fn contradictory_readings_exit_with_one_and_name_the_clash_by_its_lines() {
    let folder = tempfile::tempdir().unwrap();
    let false_tap = "[[tap]]\ncoil = \"upper\"\nred = \"blue\"\nblack = \"white\"\nswing = \"+\"\n";
    let file = written(&folder, &format!("{DRAWER}{false_tap}"));
    let run = leads(&[&file], "");
    assert_eq!(run.code, 1);
    assert!(run.out.contains("Contradictory"), "{}", run.out);
    assert!(run.out.contains("line 13: tapping upper, red on white, black on blue: +"), "{}", run.out);
    assert!(run.out.contains("line 23: tapping upper, red on blue, black on white: +"), "{}", run.out);
    fits(&run.out);
    let json: Value = serde_json::from_str(&leads(&[&file, "--json"], "").out).unwrap();
    assert_eq!(json["verdict"], "contradictory");
    assert_eq!(json["conflicts"][0][1]["line"], 23);
}

#[test]
fn options_and_a_file_of_the_same_readings_give_the_same_report() {
    let folder = tempfile::tempdir().unwrap();
    let from_file = leads(&[&written(&folder, DRAWER), "--json"], "");
    let from_options = leads(
        &[
            "--json",
            "--leads=white,grey,red,blue",
            "--shield=bare",
            "--ohms=white,red=open",
            "--ohms=white,blue=4k1",
            "--ohms=grey,red=4150",
            "--tap=upper,red=white,black=blue,swing=+",
            "--tap=lower,red=grey,black=red,swing=-",
        ],
        "",
    );
    assert_eq!(from_options.out, from_file.out);
    assert_eq!(from_options.code, 0, "{}", from_options.err);
}

#[test]
fn every_table_fits_eighty_columns_even_with_the_longest_names() {
    let long = |letter: &str| letter.repeat(20);
    let (a, b, c, d, x, y) = (long("a"), long("b"), long("c"), long("d"), long("x"), long("y"));
    let list = format!("--leads={a},{b},{c},{d}");
    let tap = |coil: &str, red: &str, black: &str| format!("--tap={coil},red={red},black={black},swing=+");
    let readings = [
        format!("--ohms={a},{b}=5.9k"),
        format!("--ohms={a},{c}=open"),
        tap(&x, &a, &b),
        tap(&y, &c, &d),
        format!("--compass={x}=north"),
        format!("--chart=start={a},finish={b}"),
        tap(&x, &b, &a),
    ];
    for count in 0..=readings.len() {
        let mut arguments = vec![list.as_str(), "--shield=eeeeeeeeeeeeeeeeeeee"];
        arguments.extend(readings[..count].iter().map(String::as_str));
        let run = leads(&arguments, "");
        assert_eq!(run.code, i32::from(count == readings.len()), "{}", run.err);
        fits(&run.out);
        assert!(run.out.contains("Unplug the guitar from the amplifier"), "{}", run.out);
    }
}

#[test]
fn all_faults_of_a_file_are_refused_in_one_report_with_their_lines() {
    let folder = tempfile::tempdir().unwrap();
    let file = written(
        &folder,
        r#"leads = ["white", "grey", "red", "white"]
shield = "grey"
lead = "blue"
[[ohms]]
between = ["white", "white"]
reads = "5k"
[[ohms]]
between = ["white", "gray"]
reads = "12 apples"
[[ohms]]
between = ["white"]
[[tap]]
coil = "one"
red = "white"
black = "grey"
swing = "up"
[[compass]]
coil = "two"
top_pole = "west"
[[compass]]
coil = "three"
top_pole = "north"
[[tap]]
coil = "one"
red = "red"
swing = "+"
[[ohms]]
between = ["white", "red"]
reads = "-3k"
"#,
    );
    let run = leads(&[&file], "");
    assert_eq!((run.code, run.out.as_str()), (2, ""));
    for (line, message) in [
        (1, "a second lead is called `white`"),
        (2, "a second lead is called `grey`"),
        (3, "unknown key `lead`"),
        (5, "both probes are on `white`"),
        (8, "there is no lead `gray`"),
        (9, "`12 apples` is not a resistance"),
        (10, "has no `reads`"),
        (10, "`between` does not name two leads"),
        (16, "`swing` is `up`"),
        (19, "`top_pole` is `west`"),
        (21, "`three` would be one coil more"),
        (23, "has no `black`"),
        (29, "`-3k` is below zero"),
    ] {
        let at = run.err.find(message).unwrap_or_else(|| panic!("no {message:?} in {}", run.err));
        let place = format!("bench.toml:{line}:");
        let after = &run.err[at..];
        let next = after.find("error:").unwrap_or(after.len());
        assert!(after[..next].contains(&place), "{message} not at line {line}: {}", &after[..next]);
    }
    assert_eq!(run.err.matches("error:").count(), 13, "{}", run.err);
}

#[test]
fn limits_hold_and_absurd_files_are_refused_not_obeyed() {
    let folder = tempfile::tempdir().unwrap();
    let many_leads: Vec<String> = (0..9).map(|i| format!("\"l{i}\"")).collect();
    let many_readings = "[[ohms]]\nbetween = [\"a\", \"b\"]\nreads = \"5k\"\n".repeat(201);
    for (text, message) in [
        (String::new(), "the file has no `leads`"),
        ("leads = []".to_owned(), "`leads` is empty"),
        ("leads = [\"white\"]".to_owned(), "nothing to measure between"),
        (format!("leads = [{}]", many_leads.join(", ")), "lead number 9"),
        (
            format!("leads = [\"a\", \"b\"]\n{many_readings}"),
            "201 tables headed [[ohms]]; allowed are up to 200",
        ),
        ("leads = [\"a\\u001b[31m\", \"b\"]".to_owned(), "none of them control characters"),
        (format!("leads = [\"{}\", \"b\"]", "a".repeat(21)), "1 to 20 characters"),
        ("leads = [\"a\", \"b\"]\ncoils = [\"x\", \"y\", \"z\"]".to_owned(), "`z` would be one coil more"),
    ] {
        let run = leads(&[&written(&folder, &text)], "");
        assert_eq!((run.code, run.out.as_str()), (2, ""), "{text}");
        assert!(run.err.contains(message), "{message}: {}", run.err);
        assert_eq!(run.err.matches("error:").count(), 1, "{}", run.err);
        assert!(!run.err.contains('\u{1b}'), "a terminal's command came through: {:?}", run.err);
    }
    for missing in ["none.toml", "."] {
        assert_eq!(leads(&[missing], "").code, 2);
    }
}

#[test]
fn faulty_options_are_refused_all_at_once() {
    let run = leads(
        &[
            "--leads=white,grey,White",
            "--ohms=white,white=5k",
            "--ohms=white,grey=apples",
            "--ohms=white",
            "--tap=x,red=white,swing=+",
            "--tap=x,red=white,black=green,swing=+",
            "--compass=x=west",
            "--chart=white,grey",
        ],
        "",
    );
    assert_eq!((run.code, run.out.as_str()), (2, ""));
    assert_eq!(run.err.matches("error: --").count(), 8, "{}", run.err);
    assert_eq!(leads(&["--ohms=white,grey=5k"], "").code, 2, "readings without leads");
    assert_eq!(leads(&["bench.toml", "--leads=white,grey"], "").code, 2, "a file and options");
}

/// A bench drawer's pickup, its answers given in whatever order the questions come.
fn conversation(answer: impl Fn(&str) -> String) -> Vec<String> {
    let mut answers = vec!["white, grey, red, blue".to_owned(), "bare".to_owned(), "upper, lower".to_owned()];
    loop {
        let run = leads(&[], &(answers.join("\n") + "\n"));
        let question = run.err.trim_end().lines().last().expect("a run of the program").to_owned();
        if question.starts_with("Go on") {
            return answers;
        }
        answers.push(answer(&question));
        assert!(answers.len() < 20, "{}", run.err);
    }
}

#[test]
fn without_a_file_it_asks_and_a_pipe_can_answer_err_and_save() {
    let mut chance = Chance(11);
    let pickup = loop {
        let pickup = Pickup::sound(&mut chance, true);
        if pickup.leads.contains(&"white") {
            break pickup;
        }
    };
    let coil = |name: &str| usize::from(name.starts_with("lower"));
    let answers = conversation(|question| {
        let (probes, rest) =
            question.strip_prefix("Red probe on the ").unwrap().split_once(" wire: ").unwrap();
        let (red, black) = probes.split_once(" wire, black probe on the ").unwrap();
        let Some(rest) = rest.strip_prefix("tap ") else {
            return pickup.true_ohms(red, black).map_or("open".to_owned(), |r| format!("{r:.0}"));
        };
        pickup.tap(coil(rest), red, black).to_owned()
    });
    let folder = tempfile::tempdir().unwrap();
    let saved = folder.path().join("drawer.toml").display().to_string();
    // Mistakes are asked again, and change nothing.
    let mut lines = vec!["white, white".to_owned()];
    lines.extend_from_slice(&answers[..3]);
    for answer in &answers[3..] {
        lines.extend(["apples".to_owned(), answer.clone()]);
    }
    let run = leads(&["--json", "--save", &saved], &(lines.join("\n") + "\n\n"));
    assert_eq!(run.code, 0, "{}", run.err);
    assert!(run.err.contains("not understood: `apples`"), "{}", run.err);
    let json: Value = serde_json::from_str(&run.out).unwrap();
    assert_eq!(json["verdict"], "certain");
    for (i, [plus, minus]) in pickup.plus_minus.iter().enumerate() {
        let name = ["upper", "lower"][i];
        let coils = json["coils"].as_array().unwrap();
        let found = coils.iter().find(|c| c["name"] == name).unwrap();
        assert_eq!((found["plus"].as_str(), found["minus"].as_str()), (Some(*plus), Some(*minus)));
    }
    // The saved file says the same, and is not overwritten.
    let again: Value = serde_json::from_str(&leads(&[&saved, "--json"], "").out).unwrap();
    assert_eq!(again, json);
    let before = std::fs::read(&saved).unwrap();
    let refused = leads(&["--leads=a,b", "--save", &saved], "");
    assert_eq!(refused.code, 2);
    assert!(
        refused.err.contains(
            "exists already, and is no guitar's file to put the leads into\nhint: choose a new name"
        ),
        "{}",
        refused.err
    );
    assert_eq!(std::fs::read(&saved).unwrap(), before);
}

#[test]
fn the_dialogue_asks_an_unclear_reading_back_and_a_file_with_one_is_refused_with_both_readings() {
    let begin = "white, grey, red, blue\n\n\n";
    let run = leads(&["--json"], &format!("{begin}1\ny\n5.9\nk\n"));
    assert!(run.err.contains("Is that 5.9 Ω or 5.9 kΩ? (ohm or k"), "{}", run.err);
    assert!(run.err.contains("A lone 1 is what many meters show for an open circuit"), "{}", run.err);
    assert!(run.err.contains("Is that open, 1 Ω or 1 kΩ?"), "{}", run.err);
    assert!(run.err.contains("Red probe on the white wire, black probe on the grey wire: read the ohms"));
    let folder = tempfile::tempdir().unwrap();
    let file = |reads: &str| {
        written(
            &folder,
            &format!("leads = [\"a\", \"b\"]\n[[ohms]]\nbetween = [\"a\", \"b\"]\nreads = {reads}\n"),
        )
    };
    for (reads, said) in [
        ("\"5.9\"", "`5.9` may be 5.9 Ω or 5.9 kΩ: write 5.9 ohm or 5.9k"),
        ("5.9", "`5.9` may be 5.9 Ω or 5.9 kΩ: write 5.9 ohm or 5.9k"),
        ("1", "`1` may be open, 1 Ω or 1 kΩ: write open, 1 ohm or 1k"),
    ] {
        let run = leads(&[&file(reads)], "");
        assert_eq!((run.code, run.out.as_str()), (2, ""), "{reads}");
        assert!(run.err.contains(said), "{}", run.err);
    }
    for reads in ["\"5,9k\"", "\"0L\"", "\".OL\"", "\"\u{221e}\"", "\"5k9\"", "5900", "\"5.9 ohm\""] {
        assert_eq!(leads(&[&file(reads)], "").code, 0, "{reads}");
    }
    let run = leads(&["--leads=a,b", "--ohms=a,b=5.9"], "");
    assert!(run.code == 2 && run.err.contains("5.9 Ω or 5.9 kΩ"), "{}", run.err);
}

#[test]
fn the_dialogue_can_be_left_at_any_time_with_what_is_known() {
    let answers = ["white, grey, red, blue", "", "", "open", "open", "none"];
    for given in 1..=answers.len() {
        for ending in ["", "stop\n"] {
            let input = format!("{}\n{ending}", answers[..given].join("\n"));
            let run = leads(&["--json"], &input);
            assert_eq!(run.code, 0, "{input:?}: {}", run.err);
            let json: Value = serde_json::from_str(&run.out).unwrap();
            assert_eq!(json["verdict"], "ambiguous", "{input:?}");
        }
    }
    for input in ["", "stop\n", "?\n\n"] {
        let run = leads(&[], input);
        assert_eq!((run.code, run.out.as_str()), (2, ""));
        assert!(run.err.contains("before the leads were named"), "{}", run.err);
    }
    let endless = "x".repeat(1 << 20);
    assert_eq!(leads(&[], &endless).code, 2);
}

#[test]
fn the_dialogue_shows_the_cautions_and_how_each_test_is_done() {
    let run = leads(&[], "white, grey, red, blue\n\n\nopen\n4k\nskip\n?\n");
    let said: Vec<&str> = run.err.split_whitespace().collect();
    let said = said.join(" ");
    for needed in [
        "Unplug the guitar from the amplifier",
        "DC millivolts, lowest range",
        "not magnetised",
        "first swing",
        "20 kΩ",
        "stop ends",
    ] {
        assert!(said.contains(needed), "{needed}: {said}");
    }
}

#[test]
fn a_line_of_options_may_hold_any_honest_reading() {
    let mut chance = Chance(5);
    let pickup = Pickup::sound(&mut chance, true);
    let leads_option = format!("--leads={}", pickup.leads.join(","));
    let mut options = vec![leads_option, "--shield=bare".to_owned()];
    for line in pickup.every_reading(&mut chance) {
        options.push(match line {
            Line::Ohms { between, reads } => format!("--ohms={}={reads}", between.join(",")),
            Line::Tap { coil, red, black, swing } => {
                format!("--tap={coil},red={red},black={black},swing={swing}")
            }
            Line::Compass { coil, top_pole } => format!("--compass={coil}={top_pole}"),
        });
    }
    let options: Vec<&str> = options.iter().map(String::as_str).collect();
    let run = leads(&options, "");
    assert_eq!(run.code, 0, "{}", run.err);
    assert!(run.out.starts_with("Certain"), "{}", run.out);
}

#[test]
fn a_mangled_file_is_read_or_refused_and_never_a_panic() {
    let pieces = [
        "",
        " ",
        "7",
        "k",
        "#",
        "\n",
        "\"",
        "[[tap]]\n",
        "=",
        "open",
        "-",
        "1e999",
        "\u{202e}",
        "[",
        "white",
        "é",
    ];
    let (mut read, mut refused) = (0, 0);
    for seed in 0..600 {
        let mut chance = Chance(seed);
        let mut text: Vec<char> = DRAWER.chars().collect();
        let at = chance.below(text.len());
        let end = (at + chance.below(30)).min(text.len());
        let piece = pieces[chance.below(pieces.len())];
        text.splice(at..if chance.one_in(2) { end } else { at }, piece.chars());
        let text: String = text.into_iter().collect();
        match Readings::read(&Document::new("mangled", text)) {
            Ok(readings) => {
                let _ = identify(&readings);
                read += 1;
            }
            Err(refusal) => {
                assert!(!refusal.faults().is_empty());
                refused += 1;
            }
        }
    }
    assert!(read > 20 && refused > 20, "{read} read, {refused} refused");
}
