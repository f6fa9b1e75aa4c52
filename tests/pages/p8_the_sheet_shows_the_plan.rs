//! `drywire lugs --sheet` writes one page, complete in itself, that shows the plan and treats all text from files as
//! text.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use drywire::document::Document;
use drywire::guitar::Guitar;
use drywire::lugs::{Asked, Described, Labels, Wanted, sheet};
use drywire::wiring::{Arrangement, Switch};
use sha2::{Digest, Sha256};

use crate::common::browser::Browser;

fn lugs(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_drywire"))
        .arg("lugs")
        .args(arguments)
        .current_dir(folder)
        .output()
        .expect("runs")
}

/// A guitar whose owner, or someone else, put markup wherever text may stand.
const HOSTILE: &str = "format = 1\nname = \"<img src=x onerror=alert(1)> & 'friends'\"\n\
    [[pickup]]\nname = \"bridge\"\nlike = \"hot-ceramic\"\n\
    [pickup.coil_a]\nleads = { plus = \"</text><script>alert(1)</script>\", minus = \"\\\" onload=\\\"x\" }\n\
    [pickup.coil_b]\nleads = { plus = \"<b>yellow</b>\", minus = \"green\" }\n\
    [[switch]]\nname = \"mode\"\ntable = \"on-on\"\njoints = [[\"a+\", \"hot\", \"L3\"], [\"a-\", \"L1\", \"R2\"], \
    [\"b+\", \"L2\"], [\"b-\", \"ground\", \"R3\", \"shield\"]]\n";

/// Returns the names of the elements in the order in which they open, and checks that each closes where it must.
fn elements(page: &str) -> Vec<String> {
    let (mut open, mut met): (Vec<String>, Vec<String>) = (Vec::new(), Vec::new());
    let style = page.find("<style>").expect("a style")..page.find("</style>").expect("its end");
    let page = page.replace(&page[style], "<style>");
    for tag in page.split('<').skip(1) {
        let (tag, _) = tag.split_once('>').unwrap_or_else(|| panic!("no end: <{tag}"));
        if let Some(name) = tag.strip_prefix('/') {
            assert_eq!(open.pop().as_deref(), Some(name), "wrong end");
        } else if !tag.starts_with('!') {
            let name = tag.split([' ', '/', '\n']).next().expect("a name").to_owned();
            met.push(name.clone());
            if !tag.ends_with('/') && name != "meta" {
                open.push(name);
            }
        }
    }
    assert_eq!(open, [""; 0], "left open");
    met
}

#[test]
fn text_from_files_stays_text_and_the_page_asks_for_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("guitar.toml"), HOSTILE).expect("written");
    let output = lugs(folder.path(), &["--check", "guitar.toml", "--sheet", "sheet.html"]);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let page = fs::read_to_string(folder.path().join("sheet.html")).expect("a page");
    let met = elements(&page);
    for never in ["script", "img", "b>yellow", "link", "iframe", "a", "foreignObject"] {
        assert!(!met.iter().any(|name| name == never), "{never}");
    }
    assert!(page.contains("&lt;img src=x onerror=alert(1)&gt; &amp; &#39;friends&#39;"));
    assert!(page.contains("default-src 'none'") && !page.contains("http:") && !page.contains("url("));
    assert!(!page.contains("onload=\"") && !page.contains("<script"));
}

#[test]
fn the_policy_allows_the_page_its_own_style_sheet_and_nothing_else() {
    let folder = tempfile::tempdir().expect("a folder");
    let arguments = ["--switch", "on-on", "--throws", "series,parallel", "--sheet", "sheet.html"];
    assert_eq!(lugs(folder.path(), &arguments).status.code(), Some(0));
    let page = fs::read_to_string(folder.path().join("sheet.html")).expect("a page");
    let between = |start: &str, end: &str| {
        let (_, rest) = page.split_once(start).unwrap_or_else(|| panic!("no {start}"));
        rest.split_once(end).expect("its end").0.to_owned()
    };
    let style = STANDARD.encode(Sha256::digest(between("<style>", "</style>")));
    assert_eq!(
        between("<meta http-equiv=\"Content-Security-Policy\" content=\"", "\""),
        format!("default-src 'none'; style-src 'sha256-{style}'; base-uri 'none'; form-action 'none'")
    );
    assert_eq!(page.matches("<style").count(), 1);
    assert!(!page.contains(" style=") && page.contains("<meta name=\"referrer\" content=\"no-referrer\">"));
}

/// Names that are written from right to left stand beside figures and brackets, and would draw them in.
#[test]
fn a_name_keeps_its_direction_of_writing_to_itself() {
    let folder = tempfile::tempdir().expect("a folder");
    let text = HOSTILE
        .replace("<img src=x onerror=alert(1)> & 'friends'", "גיטרה \u{202e}neerg\u{2066}")
        .replace("<b>yellow</b>", "צהוב");
    fs::write(folder.path().join("guitar.toml"), text).expect("written");
    let output = lugs(folder.path(), &["--check", "guitar.toml", "--sheet", "sheet.html"]);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let page = fs::read_to_string(folder.path().join("sheet.html")).expect("a page");
    assert!(page.contains("of <bdi>גיטרה neerg</bdi>. "), "{page}");
    assert!(page.contains("<b><bdi>צהוב</bdi> (b+)</b>"), "{page}");
    assert!(!page.contains(['\u{202e}', '\u{2066}']));
}

#[test]
fn the_names_of_a_switchs_lugs_stay_text() {
    let table = "format = 1\nname = \"odd\"\ntitle = \"one pole\"\n\
        [[pole]]\nname = \"only\"\nlugs = [\"<script>\", \"<b>\", \"&lt;\"]\ncommon = \"<b>\"\n\
        [[throw]]\nnumber = 1\nposition = \"up\"\ncontacts = [[\"<b>\", \"<script>\"]]\n\
        [[throw]]\nnumber = 2\nposition = \"down\"\ncontacts = [[\"<b>\", \"&lt;\"]]\n";
    let table = Document::new("odd.toml", table).interpret(Switch::read).expect("a table");
    let asked = vec![Asked::Named(Arrangement::Series), Asked::Split];
    let wanted = Wanted::new(table, asked).expect("as many throws as asked for");
    let guitar = Guitar::built_in("set-neck").expect("it is built in");
    let pickup = guitar.pickup(None).expect("it has one");
    let plan = wanted.fewest().plans.remove(0);
    let described =
        Described::new(plan, Labels::of(pickup, None), &guitar, pickup, None).expect("it has a solution");
    let page = sheet(&described, &guitar, pickup, None);
    assert!(!elements(&page).iter().any(|name| name == "script"));
    assert!(
        page.contains("<th scope=\"row\">&lt;script&gt;</th>") && page.contains(">&amp;lt;</th>"),
        "{page}"
    );
}

#[test]
fn the_page_has_the_drawing_the_throws_the_order_of_work_the_readings_and_the_cautions() {
    let folder = tempfile::tempdir().expect("a folder");
    for (switch, throws) in [
        ("on-on", "series,parallel"),
        ("on-on-single", "series,split"),
        ("on-on-on", "series,split,parallel"),
        ("on-off-on", "split,series,split"),
        ("on-on", "off,series-reversed"),
    ] {
        let output = lugs(folder.path(), &["--switch", switch, "--throws", throws, "--sheet", "sheet.html"]);
        assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
        let page = fs::read_to_string(folder.path().join("sheet.html")).expect("a page");
        let met = elements(&page);
        // The drawing, and for each throw its contacts and its schematic.
        let throws = throws.split(',').count();
        assert_eq!(met.iter().filter(|name| *name == "svg").count(), 1 + 2 * throws, "{switch}");
        assert_eq!(met.iter().filter(|name| *name == "article").count(), throws);
        for said in [
            "The switch from behind",
            "Order of work",
            "Check the bare switch",
            "Must read",
            "Unplug the guitar",
            "Never open an amplifier",
            "Never cut the bridge-ground",
        ] {
            assert!(page.contains(said), "{switch}: {said}");
        }
    }
}

/// Each wire's label says which end of which coil it is: this is what is soldered from.
#[test]
fn every_wire_of_the_drawing_is_labelled_with_its_own_coil_and_end() {
    let folder = tempfile::tempdir().expect("a folder");
    let leads = "[pickup.coil_a]\nleads = { start = \"white\", finish = \"grey\" }\n\
        [pickup.coil_b]\nleads = { start = \"red\", finish = \"black\" }\n";
    let text = format!("format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\"\n{leads}");
    fs::write(folder.path().join("chart.toml"), &text).expect("written");
    fs::write(folder.path().join("tap.toml"), text.replace("start", "plus").replace("finish", "minus"))
        .expect("written");
    for (file, ends) in [
        (
            "chart.toml",
            [
                ("white", "coil A start"),
                ("grey", "coil A finish"),
                ("red", "coil B start"),
                ("black", "coil B finish"),
            ],
        ),
        (
            "tap.toml",
            [("white", "coil A +"), ("grey", "coil A −"), ("red", "coil B +"), ("black", "coil B −")],
        ),
    ] {
        let arguments =
            ["--guitar", file, "--switch", "on-on", "--throws", "series,parallel", "--sheet", "sheet.html"];
        assert_eq!(lugs(folder.path(), &arguments).status.code(), Some(0));
        let page = fs::read_to_string(folder.path().join("sheet.html")).expect("a page");
        let drawing = page.split("<svg class=\"switch\"").nth(1).expect("a drawing").split("</svg>").next();
        let texts: Vec<&str> =
            drawing.expect("its end").split("</text>").filter_map(|text| text.rsplit('>').next()).collect();
        for (lead, end) in ends {
            let at =
                texts.iter().position(|text| *text == lead).unwrap_or_else(|| panic!("{lead}: {texts:?}"));
            assert_eq!(texts[at + 1], end, "{file}");
        }
    }
}

#[test]
fn a_sheet_replaces_no_file_that_is_read_and_no_folder() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("guitar.toml"), HOSTILE).expect("written");
    fs::create_dir(folder.path().join("folder.html")).expect("made");
    for target in ["guitar.toml", "./guitar.toml", "folder.html"] {
        let output = lugs(folder.path(), &["--check", "guitar.toml", "--sheet", target]);
        assert_eq!(output.status.code(), Some(2), "{target}");
    }
    assert_eq!(fs::read_to_string(folder.path().join("guitar.toml")).expect("there"), HOSTILE);
    assert_eq!(fs::read_dir(folder.path()).expect("a folder").count(), 2);
}

#[test]
fn the_same_plan_gives_the_same_page() {
    let folder = tempfile::tempdir().expect("a folder");
    let page = |name: &str| {
        let arguments = ["--switch", "on-on-on", "--throws", "split,series,split", "--sheet", name];
        assert_eq!(lugs(folder.path(), &arguments).status.code(), Some(0));
        fs::read(folder.path().join(name)).expect("a page")
    };
    assert_eq!(page("one.html"), page("two.html"));
}

/// The longest names there may be, and some that are written from right to left.
const LONG: &str = "format = 1\nname = \"GUITAR\"\n\
    [[pickup]]\nname = \"the-one-by-the-bridge-with-screws\"\nlike = \"mini\"\n\
    [pickup.coil_a]\nleads = { start = \"LEAD\", finish = \"אפור\" }\n\
    [pickup.coil_b]\nleads = { start = \"אדום 2\", finish = \"black\" }\n\
    [[switch]]\nname = \"the-toggle-beside-the-volume-knob\"\ntable = \"on-on\"\n\
    joints = [[\"a+\", \"hot\", \"L3\"], [\"a-\", \"L1\", \"R2\"], [\"b+\", \"L2\"], [\"b-\", \"ground\", \"R3\"]]\n";

#[test]
fn every_word_can_be_read_in_either_theme_on_a_desk_a_phone_and_paper() {
    if !Browser::can_be_driven() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let arguments =
        ["--switch", "on-on-on", "--throws", "series,split-a-open,parallel", "--sheet", "sheet.html"];
    assert_eq!(lugs(folder.path(), &arguments).status.code(), Some(0));
    let long = LONG.replace("GUITAR", &"גיטרה".repeat(16)).replace("LEAD", &"gelb".repeat(20));
    fs::write(folder.path().join("long.toml"), long.replace("-with-screws", "").replace("-knob", ""))
        .unwrap();
    let output = lugs(folder.path(), &["--check", "long.toml", "--sheet", "long.html"]);
    assert!(folder.path().join("long.html").exists(), "{}", String::from_utf8_lossy(&output.stderr));
    Browser::drive("sheet.js", folder.path());
}
