//! `survey.html` sifts and sorts every circuit in a browser, by itself, under its own policy, and can be read on a desk
//! and on a phone; `tests/browser/survey.js` looks at it.

#![allow(clippy::unwrap_used, reason = "a test stops where the page is not as expected")]

use crate::common::browser::Browser;
use crate::common::program::succeeds;

/// The cells of the rows that the page shows, without markup.
fn rows(dom: &str) -> Vec<Vec<String>> {
    let (_, rows) = dom.split_once("<tbody id=\"rows\">").unwrap();
    let (rows, _) = rows.split_once("</tbody>").unwrap();
    let text = |cell: &str| {
        let inside = cell.split_once('>').unwrap().1.replace("<wbr>", "");
        let parts = inside.split('<').map(|part| part.split_once('>').map_or(part, |(_, text)| text));
        parts.collect::<String>()
    };
    let cells = |row: &str| row.split("<t").skip(1).map(text).collect();
    rows.split("<tr").skip(1).map(|row| cells(row.split_once('>').unwrap().1)).collect()
}

#[test]
fn the_page_sifts_and_sorts_all_circuits() {
    let Some(browser) = Browser::installed() else { return };
    let folder = tempfile::tempdir().unwrap();
    succeeds(folder.path(), &["survey", "--quiet"]);
    let text = std::fs::read_to_string(folder.path().join("drywire-survey/survey.json")).unwrap();
    let figures: serde_json::Value = serde_json::from_str(&text).unwrap();
    let circuits = figures["circuits"].as_array().unwrap();
    let page = folder.path().join("drywire-survey/survey.html");

    let all = rows(&browser.dom(&page, ""));
    assert_eq!(all.len(), circuits.len());
    for (row, circuit) in all.iter().zip(circuits) {
        assert!(row[0].starts_with(circuit["name"].as_str().unwrap()), "{row:?}");
        let level = format!("{:.1}", circuit["level_db"].as_f64().unwrap()).replace('-', "−");
        assert!(row[3] == level || level == "−0.0" && row[3] == "0.0", "{row:?} {circuit}");
    }

    let sifted = rows(&browser.dom(&page, "#words=neck%3Dparallel+SELECTOR%3A2&phase=in&sort=3&down=1"));
    let wanted = |c: &&serde_json::Value| {
        let name = c["name"].as_str().unwrap();
        name.contains("neck=parallel") && name.contains("selector:2") && c["in_phase"] == true
    };
    let mut levels: Vec<f64> =
        circuits.iter().filter(wanted).map(|c| c["level_db"].as_f64().unwrap()).collect();
    levels.sort_by(|a, b| b.total_cmp(a));
    let shown: Vec<f64> = sifted.iter().map(|row| row[3].replace('−', "-").parse().unwrap()).collect();
    assert!(levels.len() > 3 && levels.len() == shown.len(), "{sifted:?}");
    assert!(
        levels.iter().zip(&shown).all(|(own, shown)| (own - shown).abs() < 0.051),
        "{levels:?} {shown:?}"
    );

    let groups = rows(&browser.dom(&page, "#groups=1"));
    assert_eq!(groups.len(), figures["alike"]["positions"].as_array().unwrap().len());
}

#[test]
fn it_fits_a_desk_and_a_phone_with_every_name_whole() {
    if !Browser::can_be_driven() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    succeeds(folder.path(), &["survey", "--quiet", "--guitar", "three-two-coil"]);
    Browser::drive("survey.js", &folder.path().join("drywire-survey"));
}
