//! `survey.html` sifts and sorts every circuit in a browser, by itself, under its own policy, and can be read on a desk
//! and on a phone; `tests/browser/survey.js` looks at it.

#![allow(clippy::unwrap_used, reason = "a test stops where the page is not as expected")]

use crate::common::browser::Browser;
use crate::common::program::succeeds;

/// The cells of the rows that the page shows, without markup; a group's heading is a row of one cell.
fn rows(dom: &str) -> Vec<Vec<String>> {
    let (_, rows) = dom.split_once("<tbody id=\"rows\">").unwrap();
    let (rows, _) = rows.split_once("</tbody>").unwrap();
    let text = |cell: &str| {
        let inside = cell.split_once('>').unwrap().1.replace("<wbr>", "");
        let parts = inside.split('<').map(|part| part.split_once('>').map_or(part, |(_, text)| text));
        parts.collect::<Vec<_>>().join(" ").split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let cells = |row: &str| row.split("<t").skip(1).map(text).collect();
    rows.split("<tr").skip(1).map(|row| cells(row.split_once('>').unwrap().1)).collect()
}

/// The rows of the circuits in phase, and of those out of phase, without their headings.
fn by_phase(rows: Vec<Vec<String>>) -> [Vec<Vec<String>>; 2] {
    let mut groups = [Vec::new(), Vec::new()];
    let mut own = None;
    for row in rows {
        match row.as_slice() {
            [heading] if heading == "In phase" && own.is_none() => own = Some(0),
            [heading] if heading == "Out of phase" && own != Some(1) => own = Some(1),
            [other] => panic!("{other} is no heading, or comes again"),
            _ => groups[own.expect("a heading comes first")].push(row),
        }
    }
    groups
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

    let [in_phase, against] = by_phase(rows(&browser.dom(&page, "")));
    assert_eq!(in_phase.len() + against.len(), circuits.len());
    for (rows, phase) in [(&in_phase, true), (&against, false)] {
        assert!(rows.len() > 10);
        for (row, circuit) in rows.iter().zip(circuits.iter().filter(|c| c["in_phase"] == phase)) {
            let [title, name] = ["title", "name"].map(|key| circuit[key].as_str().unwrap());
            assert!(row[0].starts_with(&format!("{title} {name}")), "{row:?}: {title}, {name}");
            let level = format!("{:.1}", circuit["level_db"].as_f64().unwrap()).replace('-', "−");
            assert!(row[3] == level || level == "−0.0" && row[3] == "0.0", "{row:?} {circuit}");
        }
    }
    let titles: Vec<&str> = circuits.iter().map(|c| c["title"].as_str().unwrap()).collect();
    assert!(
        titles.contains(&"bridge alone") && titles.contains(&"bridge and neck in parallel"),
        "{titles:?}"
    );

    let [sifted, none] = by_phase(rows(
        &browser.dom(&page, "#words=neck%3Dparallel+SELECTOR%3A2+bridge+and&phase=in&sort=3&down=1"),
    ));
    assert!(none.is_empty());
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

    let groups = by_phase(rows(&browser.dom(&page, "#groups=1"))).concat();
    assert_eq!(groups.len(), figures["alike"]["positions"].as_array().unwrap().len());
}

/// Pickups, switches and a selector with the longest names there may be, on a guitar whose name runs from right to left.
fn long_names() -> String {
    let long = |name: &str| format!("{name:-<32}").replace("--", "-x");
    let pickup = |name: &str, from: &str| {
        format!(
            "[[pickup]]\nname = \"{}\"\nlike = \"mini\"\nfrom_bridge = \"{from}\"\n\
             [pickup.coil_a]\nleads = {{ plus = \"שחור\", minus = \"לבן\" }}\n",
            long(name)
        )
    };
    let selector = format!(
        "[[selector]]\nname = \"{}\"\ntable = \"three-way-toggle\"\n\
         joints = [[\"{}\", \"1\"], [\"{}\", \"2\"], [\"out\", \"0\"]]\n",
        long("the-selector"),
        long("the-bridge"),
        long("the-neck")
    );
    let name = "גיטרה".repeat(16);
    let [bridge, neck] = [pickup("the-bridge", "45 mm"), pickup("the-neck", "150 mm")];
    format!("format = 1\nname = \"{name}\"\n{bridge}{neck}{selector}")
}

#[test]
fn it_fits_a_desk_a_phone_and_paper_with_every_name_whole() {
    if !Browser::can_be_driven() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    succeeds(folder.path(), &["survey", "--quiet", "--guitar", "three-two-coil"]);
    std::fs::write(folder.path().join("long.toml"), long_names()).unwrap();
    let survey = ["survey", "--quiet", "--guitar", "long.toml", "--out", "drywire-survey/long"];
    succeeds(folder.path(), &survey);
    Browser::drive("survey.js", &folder.path().join("drywire-survey"));
}
