//! What the program is built from: libraries of allowed licences, from one registry, each once, and those that it names
//! itself told in the contributor's guide. `deny.toml` says what is allowed, for this test and for `cargo deny`, which
//! also looks for advisories where the net is reached.

#![allow(clippy::unwrap_used, reason = "a test stops where the tree is not as expected")]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::process::Command;

use serde_json::Value;

/// Returns what cargo, which does not ask the net, answers.
fn cargo(arguments: &[&str]) -> String {
    let program = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let output = Command::new(program).args(arguments).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// Returns what cargo knows of the program and of what it may be built from on this machine.
fn metadata() -> Value {
    let version = cargo(&["-vV"]);
    let host = version.lines().find_map(|line| line.strip_prefix("host: ")).unwrap();
    let known = ["metadata", "--format-version", "1", "--locked", "--offline", "--filter-platform", host];
    serde_json::from_str(&cargo(&known)).unwrap()
}

fn packages(metadata: &Value) -> BTreeMap<&str, &Value> {
    let all = metadata["packages"].as_array().unwrap();
    all.iter().map(|package| (package["id"].as_str().unwrap(), package)).collect()
}

fn deny() -> String {
    fs::read_to_string("deny.toml").unwrap()
}

/// Returns the texts in quotes in `text`.
fn quoted(text: &str) -> Vec<&str> {
    text.split('"').skip(1).step_by(2).collect()
}

#[test]
fn every_dependency_has_a_licence_that_is_allowed() {
    let deny = deny();
    let allowed = deny.lines().find_map(|line| line.strip_prefix("allow = ")).map(quoted).unwrap();
    let metadata = metadata();
    for (id, package) in packages(&metadata) {
        let licence = package["license"].as_str().unwrap_or_else(|| panic!("{id} states no licence"));
        let plain = licence.replace(['(', ')'], "").replace('/', " OR ");
        let is_free =
            plain.split(" AND ").all(|part| part.split(" OR ").any(|one| allowed.contains(&one.trim())));
        assert!(is_free, "{id} is under `{licence}`; allowed are {allowed:?}");
    }
}

#[test]
fn every_dependency_comes_from_the_one_registry_with_its_checksum() {
    let lock = fs::read_to_string("Cargo.lock").unwrap();
    let mut known = 0;
    let mut registries = BTreeSet::new();
    for entry in lock.split("[[package]]").skip(1) {
        let field = |name: &str| entry.lines().find_map(|line| line.strip_prefix(name)).map(quoted);
        if field("name = ").unwrap() == ["drywire"] {
            continue;
        }
        let source = field("source = ").unwrap_or_else(|| panic!("no source:{entry}"));
        assert!(source[0].starts_with("registry+"), "{entry}");
        registries.insert(source[0]);
        assert_eq!(field("checksum = ").map_or(0, |sum| sum[0].len()), 64, "{entry}");
        known += 1;
    }
    assert!(known > 50, "{known} entries");
    assert_eq!(registries.len(), 1, "{registries:?}");
}

#[test]
fn a_dependency_is_built_in_two_versions_only_where_that_is_justified() {
    let deny = deny();
    let skipped = deny.lines().filter_map(|line| line.trim().strip_prefix("{ crate = "));
    let justified: BTreeSet<&str> =
        skipped.map(|line| quoted(line)[0].split('@').next().unwrap_or_default()).collect();
    // What goes into the program; what only tests need does not.
    let tree = cargo(&["tree", "--locked", "--offline", "-e", "normal,build", "--prefix", "none"]);
    let mut versions: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for line in tree.lines() {
        let mut words = line.split(' ');
        let (name, version) = (words.next().unwrap(), words.next().unwrap());
        versions.entry(name).or_default().insert(version);
    }
    assert!(versions.len() > 20, "{} in the tree", versions.len());
    for (name, versions) in versions.iter().filter(|(_, versions)| versions.len() > 1) {
        assert!(justified.contains(name), "`{name}` is there in {versions:?}; deny.toml does not say why");
    }
    // What is justified is still needed; some of it on other machines than this.
    let lock = fs::read_to_string("Cargo.lock").unwrap();
    for name in justified {
        assert!(lock.matches(&format!("\nname = \"{name}\"\n")).count() > 1, "`{name}` is there once");
    }
}

/// Returns the names of the packages that the library and the program are built from with these options.
fn built_from(options: &[&str]) -> BTreeSet<String> {
    let tree =
        ["tree", "--locked", "--offline", "--edges", "normal", "--prefix", "none", "--format", "{lib}"];
    cargo(&[&tree[..], options].concat()).lines().map(str::to_owned).collect()
}

#[test]
fn the_library_alone_is_built_without_what_the_command_line_needs() {
    let alone = built_from(&["--no-default-features"]);
    let whole = built_from(&[]);
    for library in ["clap", "clap_complete", "clap_mangen", "indicatif", "terminal_size"] {
        assert!(whole.contains(library), "{library} is not in the program: {whole:?}");
        assert!(!alone.contains(library), "{library} is in the library alone");
    }
    assert!(alone.len() > 20 && alone.is_subset(&whole), "{alone:?}");
}

#[test]
fn the_contributors_guide_names_exactly_the_dependencies_with_what_each_is_for() {
    let guide = fs::read_to_string("DEVELOPERS.md").unwrap();
    let section = guide.split("\n## Dependencies\n").nth(1).unwrap().split("\n## ").next().unwrap();
    let mut told = BTreeSet::new();
    for row in section.lines().filter_map(|line| line.strip_prefix("| ")).skip(1) {
        let (names, purpose) = row.split_once(" | ").unwrap();
        assert!(purpose.trim_end_matches(" |").len() > 3, "{row}");
        let names = names.split('(').next().unwrap();
        told.extend(names.split(',').map(|name| (name.trim().to_owned(), false)));
    }
    let tests = section.split("For tests alone: ").nth(1).unwrap();
    told.extend(tests.split('`').skip(1).step_by(2).map(|name| (name.to_owned(), true)));
    let metadata = metadata();
    let own = packages(&metadata)[metadata["resolve"]["root"].as_str().unwrap()];
    let named: BTreeSet<(String, bool)> = own["dependencies"]
        .as_array()
        .unwrap()
        .iter()
        .map(|d| (d["name"].as_str().unwrap().to_owned(), d["kind"] == "dev"))
        .collect();
    let untold: Vec<_> = named.difference(&told).collect();
    let unknown: Vec<_> = told.difference(&named).collect();
    assert!(untold.is_empty() && unknown.is_empty(), "not told: {untold:?}; told and not there: {unknown:?}");
}
