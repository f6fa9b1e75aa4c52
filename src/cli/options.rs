//! What holds for the options of all commands, read from the command line's own definition and from the sources.

use std::fs;
use std::path::{Path, PathBuf};

use clap::error::ErrorKind;
use clap::{Arg, Command, CommandFactory};

use super::Arguments;

/// The commands that a person uses, those within others by all their words, with their definitions.
fn commands() -> Vec<(String, Command)> {
    let mut program = Arguments::command();
    program.build();
    let mut found = Vec::new();
    for command in program.get_subcommands().filter(|command| command.get_name() != "help") {
        found.push((command.get_name().to_owned(), command.clone()));
        let within = command.get_subcommands().filter(|within| within.get_name() != "help");
        found.extend(
            within.map(|within| (format!("{} {}", command.get_name(), within.get_name()), within.clone())),
        );
    }
    found
}

/// The words that stand for a value of an option in its help, where the value is a number.
const NUMBERS: [&str; 9] = ["DB", "dB", "DBFS", "dBFS", "TIME", "LENGTH", "HZ", "BPM", "FACTOR"];
const COUNTS: [&str; 2] = ["N", "NUMBER"];

fn takes_a_number(option: &Arg) -> bool {
    let name = option.get_value_names().and_then(|names| names.first()).map(clap::builder::Str::as_str);
    name.is_some_and(|name| NUMBERS.contains(&name) || COUNTS.contains(&name))
}

#[test]
fn every_number_may_have_a_minus_sign_and_is_refused_with_what_is_wanted() {
    let mut looked_at = 0;
    for (name, command) in commands() {
        for option in command.get_arguments().filter(|option| takes_a_number(option)) {
            let long = format!("--{}", option.get_long().expect("a long name"));
            looked_at += 1;
            for given in ["nan", "inf", "-inf", "-nan", "soon", "-1e999"] {
                let line = ["drywire"].into_iter().chain(name.split(' ')).chain([long.as_str(), given]);
                let error = Arguments::command().try_get_matches_from(line).expect_err(&long);
                let told = error.to_string();
                assert_eq!(error.kind(), ErrorKind::ValueValidation, "{name} {long} {given}: {told}");
                assert!(told.contains("wanted") || told.contains("such as"), "{name} {long} {given}: {told}");
                assert!(!told.contains("tip:"), "{name} {long} {given}: {told}");
            }
        }
    }
    assert!(looked_at > 20, "{looked_at}");
}

#[test]
fn every_choice_is_read_in_capitals_too() {
    for (name, command) in commands() {
        for option in command.get_opts().filter(|option| !option.get_possible_values().is_empty()) {
            assert!(option.is_ignore_case_set(), "{name} --{}", option.get_id());
        }
    }
}

/// Returns whether `command` takes `--word`.
fn has(command: &Command, word: &str) -> bool {
    command.get_arguments().filter_map(Arg::get_long).any(|long| long == word)
        || command.get_subcommands().any(|within| has(within, word))
        || ["help", "version", "quiet"].contains(&word)
}

/// The options that `text` names, each with the command that a `drywire COMMAND …` around it names, if one does.
fn named(text: &str) -> Vec<(Option<String>, String)> {
    let mut found = Vec::new();
    for line in text.split(['`', '\n', ';']) {
        let of = line.split_once("drywire ").and_then(|(_, rest)| rest.split_whitespace().next());
        for (at, _) in line.match_indices("--") {
            let is_begun =
                line[..at].chars().next_back().is_none_or(|c| c.is_whitespace() || "('\"[".contains(c));
            let word: String =
                line[at + 2..].chars().take_while(|c| c.is_ascii_lowercase() || *c == '-').collect();
            if is_begun && word.starts_with(|c: char| c.is_ascii_lowercase()) {
                found.push((of.map(str::to_owned), word.trim_end_matches('-').to_owned()));
            }
        }
    }
    found
}

/// Returns the string literals of Rust source, without those of its tests.
fn literals(source: &str) -> Vec<String> {
    let code = source.split("#[cfg(test)]\nmod tests {").next().unwrap_or(source);
    let mut found = Vec::new();
    for line in code.replace("\\\n", "\u{0}").lines() {
        if line.trim_start().starts_with("//") {
            continue;
        }
        let mut rest = line;
        while let Some(start) = rest.find('"') {
            let body = &rest[start + 1..];
            let mut end = body.len();
            let mut is_escaped = false;
            for (at, c) in body.char_indices() {
                match c {
                    '\\' if !is_escaped => is_escaped = true,
                    '"' if !is_escaped => {
                        end = at;
                        break;
                    }
                    _ => is_escaped = false,
                }
            }
            found.push(body[..end].replace('\u{0}', " ").replace("\\n", "\n"));
            rest = body.get(end + 1..).unwrap_or("");
        }
    }
    found
}

fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).expect("a folder of sources") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            found.extend(sources(&path));
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
    found
}

#[test]
fn what_the_program_says_names_only_options_that_the_command_has() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let commands = commands();
    let known = |name: &str| commands.iter().find(|(known, _)| known == name).map(|(_, command)| command);
    let mut looked_at = 0;
    for path in sources(&root) {
        let place = path.strip_prefix(&root).expect("a source").display().to_string().replace('\\', "/");
        let of_the_program = place.strip_prefix("cli/");
        // What writes pages' colours writes style, whose properties begin by two hyphens as well.
        if ["cli/options.rs", "plot/stroke.rs", "harness/sheet/marks.rs"].contains(&place.as_str()) {
            continue;
        }
        // A file that is a command's own names that command's options, one that several share options that some have.
        let own =
            of_the_program.map(|place| place.split(['/', '.']).next().unwrap_or_default()).and_then(known);
        let text = fs::read_to_string(&path).expect("a source");
        for literal in literals(&text) {
            for (of, word) in named(&literal) {
                looked_at += 1;
                let of = of.as_deref().and_then(known);
                let is_there = match (of, own, of_the_program) {
                    (Some(command), _, _) | (None, Some(command), _) => has(command, &word),
                    (None, None, Some(_)) => commands.iter().any(|(_, command)| has(command, &word)),
                    // The library knows no command line.
                    (None, None, None) => false,
                };
                assert!(is_there, "{place} names --{word}: {literal}");
            }
        }
    }
    assert!(looked_at > 60, "{looked_at}");
}

#[test]
fn the_reading_of_sources_finds_what_it_looks_for() {
    let source = "// \"--no\"\nlet a = \"say --out, or `drywire pluck --rate 48k`\";\nlet b = \"one \\\n    --two\";\n";
    let found: Vec<_> = literals(source).iter().flat_map(|literal| named(literal)).collect();
    let of = |command: Option<&str>, word: &str| (command.map(str::to_owned), word.to_owned());
    assert_eq!(found, [of(None, "out"), of(Some("pluck"), "rate"), of(None, "two")]);
}
