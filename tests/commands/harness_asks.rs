//! `drywire harness --ask` takes the wires that are there lug by lug, checks them and puts them into the guitar's file.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use std::path::Path;
use std::process::Output;

use crate::common::cavities::FOUR_KNOBS;
use assert_cmd::Command;
use drywire::document::Document;
use drywire::guitar::Guitar;
use drywire::harness::{Harness, Terminal, Wire};
use serde_json::Value;

fn ask(folder: &Path, arguments: &[&str], answers: &str) -> Output {
    let mut command = Command::cargo_bin("drywire").unwrap();
    command
        .current_dir(folder)
        .arg("harness")
        .arg("--ask")
        .args(arguments)
        .write_stdin(answers)
        .output()
        .unwrap()
}

fn told(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr)
}

/// Returns what a person with these wires before them answers, lug by lug, and then for the leads that are on no lug.
fn answers(harness: &Harness, wires: &[Wire]) -> String {
    let parts = harness.parts();
    let line = |asked: Terminal| {
        let on = wires.iter().filter_map(|[one, other]| match asked {
            own if own == *one => Some(*other),
            own if own == *other => Some(*one),
            _ => None,
        });
        let names: Vec<String> = on.map(|own| parts.name_of(own)).collect();
        if names.is_empty() { "nothing\n".to_owned() } else { names.join(", ") + "\n" }
    };
    let is_on_a_lug = |own: &Terminal| {
        wires.iter().any(|wire| wire.contains(own) && !wire.iter().all(|end| parts.is_lead(*end)))
    };
    let lugs = parts.terminals().filter(|own| !parts.is_lead(*own)).map(line);
    let mut spliced: Vec<Terminal> = Vec::new();
    let leads = parts.terminals().filter(|own| parts.is_lead(*own) && !is_on_a_lug(own)).filter(|own| {
        let is_told =
            wires.iter().any(|wire| wire.contains(own) && wire.iter().any(|end| spliced.contains(end)));
        spliced.push(*own);
        !is_told
    });
    lugs.chain(leads.map(line)).collect()
}

fn harness(text: &str) -> Harness {
    Harness::of(&Guitar::read(&Document::new("mine.toml", text)).unwrap()).unwrap()
}

#[test]
fn wires_told_through_a_pipe_are_checked_and_put_into_the_file_and_nothing_else_is_changed() {
    let set_neck =
        std::fs::read_to_string(crate::common::program::repository("presets/guitars/set-neck.toml")).unwrap();
    for text in [set_neck.as_str(), FOUR_KNOBS] {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("mine.toml");
        std::fs::write(&path, text).unwrap();
        let harness = harness(text);
        let wires = harness.plan().unwrap().ends();
        let output = ask(folder.path(), &["--save", "mine.toml"], &answers(&harness, &wires));
        let said = told(&output);
        assert_eq!(output.status.code(), Some(0), "{said}");
        assert!(said.contains("Unplug the guitar") && said.contains("as wanted"), "{said}");
        assert!(said.contains(&format!("put into mine.toml: {} wires\n", wires.len())), "{said}");
        let after = std::fs::read_to_string(&path).unwrap();
        let stated = after.find("wires = [\n").unwrap();
        let end = stated + after[stated..].find("\n]").unwrap() + 2;
        let without = after[..stated].to_owned() + &after[end..];
        // A heading and the empty line before it are new where there was none.
        let lines = |text: &str| -> Vec<String> {
            text.lines().filter(|line| !line.is_empty() && *line != "[harness]").map(str::to_owned).collect()
        };
        assert_eq!(lines(&without), lines(text));
        let check =
            crate::common::program::drywire(folder.path(), &["harness", "--check", "mine.toml", "--json"]);
        let json: Value = serde_json::from_slice(&check.stdout).unwrap();
        assert_eq!(json["verdict"], "as wanted");
        let again = ask(folder.path(), &["--save", "mine.toml"], &answers(&harness, &wires));
        let instead =
            format!("{} wires, in place of the {} wires that stood there", wires.len(), wires.len());
        assert!(told(&again).contains(&instead), "{}", told(&again));
        assert_eq!(std::fs::read_to_string(&path).unwrap(), after, "told again the file has the same bytes");
    }
}

#[test]
fn what_is_told_wrong_is_found_and_what_was_not_told_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let harness = Harness::of(&Guitar::built_in("set-neck").unwrap()).unwrap();
    let wires = harness.plan().unwrap().ends();
    // The volume's outer lugs taken for each other: each is told where the other should be.
    let right = answers(&harness, &wires);
    let lines: Vec<&str> = right.lines().collect();
    let first = harness.parts().terminals().filter(|own| !harness.parts().is_lead(*own));
    let names: Vec<String> = first.map(|own| harness.parts().name_of(own)).collect();
    let at = |name: &str| names.iter().position(|own| own == name).unwrap();
    let swap = |line: &str| {
        line.replace("volume.1", "volume.x").replace("volume.3", "volume.1").replace("volume.x", "volume.3")
    };
    let mut wrong: Vec<String> = lines.iter().map(|line| swap(line)).collect();
    wrong.swap(at("volume.1"), at("volume.3"));
    let output = ask(folder.path(), &["--guitar", "set-neck", "--json"], &wrong.join("\n"));
    assert_eq!(output.status.code(), Some(1), "{}", told(&output));
    let json: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(json["faults"][0]["kind"], "volume-backwards", "{json}");
    let kept = String::from_utf8_lossy(&output.stderr);
    assert!(kept.contains("[harness]\nwires = [\n"), "{kept}");
    let part = ask(folder.path(), &["--guitar", "set-neck"], "bridge.a+\nskip\nstop\n");
    let said = told(&part);
    assert!(part.status.code() == Some(1) && said.contains("nothing was told of selector.0, "), "{said}");
}

#[test]
fn a_conversation_that_cannot_be_held_is_refused_and_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let text =
        std::fs::read_to_string(crate::common::program::repository("presets/guitars/set-neck.toml")).unwrap();
    std::fs::write(folder.path().join("mine.toml"), &text).unwrap();
    for (arguments, answers, said) in [
        (&["--save", "mine.toml"][..], "", "the answers ended before any wire was told"),
        (&["--save", "mine.toml"], "stop\n", "the answers ended before any wire was told"),
        (&["--save", "none.toml"], "2\n", "the answers ended before the guitar was told"),
        (&["--save", "none/mine.toml"], "2\n", "cannot write"),
        (&["--guitar", "set-nek"], "volume.1\n", "did you mean `set-neck`?"),
        (&["--guitar", "short-scale-blade"], "volume.1\n", "does not say how its 2 pickups are joined"),
        (&[], "2\nmini\nstop\n", "the answers ended before the guitar was told"),
    ] {
        let output = ask(folder.path(), arguments, answers);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {}", told(&output));
        assert!(told(&output).contains(said), "{arguments:?}: {}", told(&output));
    }
    assert_eq!(std::fs::read_to_string(folder.path().join("mine.toml")).unwrap(), text);
    assert!(!folder.path().join("none.toml").exists());
}

#[test]
fn where_there_is_no_file_the_guitar_is_asked_for_first() {
    let folder = tempfile::tempdir().unwrap();
    let guitar = "2\nmini\nsoapbar\nall\n500k\n250k\nclockwise\nfoil\n";
    let lugs = "bridge.a+\nstop\n";
    let made = ask(folder.path(), &["--save", "new.toml"], &format!("{guitar}{lugs}"));
    assert_eq!(made.status.code(), Some(1), "{}", told(&made));
    let text = std::fs::read_to_string(folder.path().join("new.toml")).unwrap();
    let harness = harness(&text);
    let guitar_read = harness.parts().guitar();
    assert_eq!(guitar_read.pickups().len(), 2);
    assert_eq!(guitar_read.controls().volume().unwrap().track().to_string(), "500 kΩ");
    assert_eq!(guitar_read.cavity().wires().unwrap().len(), 1, "{text}");
    // From what is shown without --save the same file can be made.
    let wires = harness.plan().unwrap().ends();
    let shown = ask(folder.path(), &[], &format!("{guitar}{}", answers(&harness, &wires)));
    assert_eq!(shown.status.code(), Some(0), "{}", told(&shown));
    let said = String::from_utf8_lossy(&shown.stderr).into_owned();
    let file = said.split_once("to be kept in the guitar's file:\n\n").unwrap().1;
    std::fs::write(folder.path().join("kept.toml"), file).unwrap();
    let check = crate::common::program::drywire(folder.path(), &["harness", "--check", "kept.toml"]);
    assert_eq!(check.status.code(), Some(0), "{}\n{file}", told(&check));
    // The guitar is kept where its wires are not told.
    let half = ask(folder.path(), &["--save", "half.toml"], guitar);
    assert_eq!(half.status.code(), Some(2), "{}", told(&half));
    assert!(std::fs::read_to_string(folder.path().join("half.toml")).unwrap().contains("like = \"soapbar\""));
}
