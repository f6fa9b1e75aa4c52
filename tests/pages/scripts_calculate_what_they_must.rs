//! What the page's script calculates is what closed forms and standards say: transforms, kernels, circuits, K-weighting,
//! energies. `tests/browser/script` has the tests, which node's own runner runs.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use std::process::Command;

use crate::common::browser::node_is_installed;

#[test]
fn the_scripts_numerics_are_their_closed_forms() {
    if !node_is_installed() {
        return;
    }
    let files = std::fs::read_dir("tests/browser/script").unwrap().map(|entry| entry.unwrap().path());
    let tests: Vec<_> = files.filter(|path| path.to_str().unwrap().ends_with(".test.js")).collect();
    assert!(tests.len() >= 3, "{tests:?}");
    let run = Command::new("node").arg("--test").args(&tests).output().unwrap();
    let told = String::from_utf8_lossy(&run.stdout);
    assert!(run.status.success(), "{told}");
    let passed = told.lines().find_map(|line| line.split_once("pass ")?.1.parse::<usize>().ok());
    assert!(passed.is_some_and(|passed| passed >= 40), "{told}");
}
