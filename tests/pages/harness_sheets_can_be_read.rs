//! A sheet of a whole cavity can be read: at a desk, on a phone, in the dark, in grey, and on at most two pages of paper.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use std::fs;

use crate::common::browser::Browser;
use crate::common::cavities::{cases, guitars, read};
use crate::common::program::{drywire, succeeds};
use drywire::harness::{Harness, sheet};

#[test]
fn every_sheet_can_be_read_and_prints_to_two_pages() {
    if !Browser::can_be_driven() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in guitars() {
        let harness = Harness::of(&read(&text)).unwrap();
        let page = sheet(&harness, &harness.plan().unwrap(), None).unwrap();
        fs::write(folder.path().join(format!("{name}.html")), page).unwrap();
    }
    let faulty = cases().into_iter().find(|case| case.id == "a-set-neck-010").unwrap();
    fs::write(folder.path().join("mine.toml"), faulty.text).unwrap();
    succeeds(folder.path(), &["harness", "--guitar", "mine.toml", "--sheet", "as-it-is.html"]);
    Browser::drive("harness.js", folder.path());
}

#[test]
fn the_wiring_as_it_is_stands_beside_the_plan_with_what_comes_off_and_what_is_soldered() {
    let folder = tempfile::tempdir().unwrap();
    let faulty = cases().into_iter().find(|case| case.id == "a-set-neck-010").unwrap();
    fs::write(folder.path().join("mine.toml"), &faulty.text).unwrap();
    let command = ["harness", "--guitar", "mine.toml", "--sheet", "sheet.html"];
    succeeds(folder.path(), &command);
    let page = fs::read_to_string(folder.path().join("sheet.html")).unwrap();
    for said in
        ["As it is", "As planned", "Unsolder these", "Solder those", "Unplug the guitar", "toward the bridge"]
    {
        assert!(page.contains(said), "{said}");
    }
    assert!(!page.contains("none of this is needed"));
    assert!(!page.contains("<script") && page.contains("default-src 'none'; style-src 'sha256-"));
    // What comes off and goes on leads from the one wiring to the other.
    let rows = |heading: &str| {
        page.split(heading).nth(1).unwrap().split("</table>").next().unwrap().matches("<tr>").count()
    };
    let (as_it_is, _) = page.split_once("As planned").unwrap();
    let wires = as_it_is.matches("data-wire").count();
    let planned = page.split("Order of work").nth(1).unwrap().matches("class=\"number\"").count();
    assert_eq!(wires - rows("Unsolder these") + rows("Solder those"), planned);
    // A sheet of its own is replaced, another's file is not.
    succeeds(folder.path(), &command);
    fs::write(folder.path().join("sheet.html"), "mine").unwrap();
    let refused = drywire(folder.path(), &command);
    assert_eq!(refused.status.code(), Some(2));
    assert_eq!(fs::read_to_string(folder.path().join("sheet.html")).unwrap(), "mine");
    let over =
        drywire(folder.path(), &["harness", "--guitar", "mine.toml", "--sheet", "mine.toml", "--replace"]);
    assert_eq!(over.status.code(), Some(2));
    assert_eq!(fs::read_to_string(folder.path().join("mine.toml")).unwrap(), faulty.text);
    let right = cases().into_iter().find(|case| case.id == "a-set-neck-001").unwrap();
    fs::write(folder.path().join("mine.toml"), right.text).unwrap();
    succeeds(folder.path(), &["harness", "--guitar", "mine.toml", "--sheet", "right.html"]);
    let page = fs::read_to_string(folder.path().join("right.html")).unwrap();
    assert!(page.contains("none of this is needed") || !page.contains("As it is"));
}
