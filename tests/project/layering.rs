//! A module looks only one way: each uses only those that stand before it in `src/lib.rs`, and the library neither
//! prints, nor reads arguments, nor exits.

#![allow(clippy::unwrap_used, reason = "a test stops where the tree is not as expected")]

use std::fs;
use std::path::{Path, PathBuf};

fn modules() -> Vec<String> {
    let lib = fs::read_to_string("src/lib.rs").unwrap();
    lib.lines().filter_map(|l| l.strip_prefix("pub mod ")?.strip_suffix(';')).map(str::to_owned).collect()
}

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
}

fn sources_of(module: &str) -> Vec<(PathBuf, String)> {
    let mut found = Vec::new();
    sources(&Path::new("src").join(module), &mut found);
    found.into_iter().map(|p| (p.clone(), fs::read_to_string(p).unwrap())).collect()
}

/// Returns the code of a file without what follows its inline test module.
fn without_tests(text: &str) -> &str {
    text.split("#[cfg(test)]\nmod tests {").next().unwrap()
}

#[test]
fn every_module_uses_only_those_before_it() {
    let modules = modules();
    assert!(modules.len() > 8, "{modules:?}");
    let mut looked_at = 0;
    for (place, module) in modules.iter().enumerate() {
        for (path, text) in sources_of(module) {
            if path.ends_with("tests.rs") {
                continue;
            }
            looked_at += 1;
            for later in &modules[place + 1..] {
                let uses = without_tests(&text).contains(&format!("crate::{later}"));
                assert!(!uses, "{} uses `{later}`, which comes after `{module}`", path.display());
            }
        }
    }
    assert!(looked_at > 40, "only {looked_at} files were looked at");
}

#[test]
fn the_library_neither_prints_nor_exits_nor_reads_arguments() {
    for module in modules() {
        for (path, text) in sources_of(&module) {
            let code = without_tests(&text);
            for forbidden in ["println!(", "eprintln!(", "process::exit", "env::args"] {
                assert!(!code.contains(forbidden), "{} has `{forbidden}`", path.display());
            }
        }
    }
}
