//! The panel is nobody else's, at each of its places: what is asked there without its cookie, from elsewhere, in another form or
//! at another size gets nothing and changes nothing, and no name and no link leads out of the folder.

#![allow(clippy::unwrap_used, reason = "a test stops where the panel is not as expected")]

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use crate::common::panel::{Panel, Session, send, until};

const GUITAR: &str = "format = 1\nname = \"mine\"\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\"\n[[switch]]\nname = \"mode\"\ntable = \"on-on\"\n\
    joints = [[\"a+\", \"hot\", \"L3\"], [\"a-\", \"L1\", \"R2\"], [\"b+\", \"L2\"], [\"b-\", \"ground\", \"R3\"]]\n[harness]\n\
    wires = [[\"volume.2\", \"jack.tip\"]]\n";
const READINGS: &str = "leads = [\"white\", \"grey\", \"red\", \"blue\"]\n";

/// What can be asked for at a place.
const SEEN: [&str; 9] = [
    "leads/spare/",
    "leads/",
    "g/mine/leads/",
    "g/mine/plan/",
    "g/mine/cavity/",
    "g/mine/prove/",
    "g/mine/survey/",
    "g/mine/send/",
    "g/mine/send/file/cavity.html",
];

type Form = &'static [(&'static str, &'static str)];

/// What changes something at a place, with a form that it takes.
const CHANGES: [(&str, Form); 23] = [
    ("leads/begin", &[("called", "x"), ("leads", "white, grey, red"), ("shield", ""), ("coils", "")]),
    ("leads/spare/read", &[("kind", "ohms"), ("one", "white"), ("other", "grey"), ("reads", "open")]),
    ("leads/spare/take-back", &[("index", "0")]),
    ("leads/spare/put", &[("into", "mine/bridge")]),
    ("leads/spare/begin-anew", &[]),
    ("g/mine/leads/begin", &[("leads", "white, grey, red"), ("shield", ""), ("coils", "")]),
    ("g/mine/leads/read", &[("kind", "ohms"), ("one", "white"), ("other", "grey"), ("reads", "open")]),
    ("g/mine/leads/take-back", &[("index", "0")]),
    ("g/mine/leads/put", &[]),
    ("g/mine/leads/begin-anew", &[]),
    ("g/mine/plan/put", &[("index", "0")]),
    ("g/mine/plan/put-down", &[("fixed", "hot"), ("was", ""), ("to", "L1")]),
    ("g/mine/cavity/take-plan", &[]),
    ("g/mine/cavity/add", &[("one", "jack.tip"), ("other", "jack.sleeve")]),
    ("g/mine/cavity/put-down", &[("fixed", "jack.tip"), ("was", ""), ("to", "jack.sleeve")]),
    ("g/mine/cavity/move-part", &[("part", "volume"), ("right", "40"), ("down", "0")]),
    ("g/mine/cavity/take-off", &[("index", "0")]),
    ("g/mine/cavity/mend", &[("index", "0")]),
    ("g/mine/prove/set", &[("place", "mode:1"), ("value", "7.9k")]),
    ("g/mine/prove/anew", &[]),
    ("g/mine/survey/make", &[("heard", ""), ("within", "3")]),
    ("g/mine/send/make", &[("what", "cavity")]),
    ("new", &[("name", "theirs"), ("count", "1")]),
];

fn with_all(folder: &Path) {
    for (path, text) in [
        ("mine/guitar.toml", GUITAR),
        ("mine/readings/leads-bridge.toml", READINGS),
        ("mine/readings/proof.toml", ""),
        ("mine/sent/cavity.html", "<title>theirs</title>"),
        ("readings/leads-spare.toml", READINGS),
    ] {
        let path = folder.join(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }
}

/// Returns every file below a folder with what it holds.
fn all(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut files = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap().flatten() {
        if entry.file_type().unwrap().is_dir() {
            files.extend(all(&entry.path()));
        } else {
            files.insert(entry.path(), fs::read(entry.path()).unwrap_or_default());
        }
    }
    files
}

/// Sends a form with these headers in place of those of the panel's own pages, or without them.
fn posted(session: &Session, path: &str, other: &[(&'static str, Option<&str>)], body: &[u8]) -> u16 {
    let mut headers = session.headers();
    headers.push(("Content-Type", "application/x-www-form-urlencoded".to_owned()));
    for (name, value) in other {
        headers.retain(|(own, _)| own != name);
        headers.extend(value.map(|value| (*name, value.to_owned())));
    }
    let headers: Vec<(&str, &str)> = headers.iter().map(|(name, value)| (*name, value.as_str())).collect();
    let answer = send(session.address, "POST", &format!("{}{path}", session.base), &headers, body);
    assert!(answer.status != 403 || answer.body.is_empty(), "{path}: {}", answer.body);
    answer.status
}

#[test]
fn what_comes_from_elsewhere_gets_nothing_at_any_place() {
    let folder = tempfile::tempdir().unwrap();
    with_all(folder.path());
    let before = all(folder.path());
    let panel = Panel::start(folder.path());
    let session = panel.enter();
    let foreign: [(&'static str, Option<&str>); 11] = [
        ("Cookie", None),
        ("Cookie", Some("drywire=0123456789abcdef0123456789abcdef")),
        ("Host", Some("localhost")),
        ("Host", Some("rebound.example")),
        ("Sec-Fetch-Site", None),
        ("Sec-Fetch-Site", Some("same-site")),
        ("Sec-Fetch-Site", Some("cross-site")),
        ("Sec-Fetch-Site", Some("none")),
        ("Origin", None),
        ("Origin", Some("null")),
        ("Origin", Some("https://elsewhere.example")),
    ];
    for (path, form) in CHANGES {
        let body: Vec<String> = form.iter().map(|(name, value)| format!("{name}={value}")).collect();
        let body = body.join("&");
        for (name, value) in foreign {
            let status = posted(&session, path, &[(name, value)], body.as_bytes());
            assert_eq!(status, 403, "{path} {name}: {value:?}");
        }
        // Nothing is changed by looking, and nothing but a form of the panel's own is taken.
        let looked = session.get(path).status;
        assert!([405, 404].contains(&looked) || path == "new", "{path}: {looked}");
        if !form.is_empty() {
            for kind in ["application/json", "text/plain", "multipart/form-data; boundary=x"] {
                let status = posted(&session, path, &[("Content-Type", Some(kind))], body.as_bytes());
                assert_eq!(status, 415, "{path} {kind}");
            }
            let broken = posted(&session, path, &[], b"%%%=%ff&&&index=-1&index=x");
            // Where fields may be left out it is taken for a form without any, and does nothing.
            let may_be_empty = path == "new" || path.ends_with("/read");
            assert!([400, 422].contains(&broken) || may_be_empty && broken == 200, "{path}: {broken}");
        }
        let long = "1".repeat(300 * 1024);
        assert_eq!(posted(&session, path, &[], format!("index={long}").as_bytes()), 413, "{path}");
    }
    // What is no form of the panel's is refused in its own words, on a page where one was asked for.
    let not_ours = "what was sent is not what this page sends";
    for (answer, status, words) in [
        (session.post("g/mine/set", &[("plaec", "name")]), 422, not_ours),
        (session.post("g/mine/cavity/mend", &[("index", "first")]), 422, not_ours),
        (session.get("g/mine/?voice=a&voice=b"), 400, not_ours),
        (session.get("g/mine/measure/signal?rate=fast"), 422, not_ours),
        (session.get("g/mine/nowhere/"), 404, "no such page"),
        (session.get("g/%ff/"), 404, "no such page"),
        (session.get("g/mine/undo"), 405, "no page to look at"),
        (session.post("g/mine/file", &[("text", &"#".repeat(300 * 1024))]), 413, "256 KiB"),
    ] {
        assert_eq!(answer.status, status, "{}", answer.body);
        assert!(answer.body.contains(words), "{}", answer.body);
        for foreign in ["deserialize", "missing field", "invalid digit", "Invalid UTF-8"] {
            assert!(!answer.body.contains(foreign), "{}", answer.body);
        }
    }
    for path in SEEN {
        assert_eq!(session.get(path).status, 200, "{path}");
        for (name, value) in
            [("Cookie", None), ("Host", Some("rebound.example")), ("Sec-Fetch-Site", Some("cross-site"))]
        {
            let mut headers = session.headers();
            headers.pop();
            headers.retain(|(own, _)| *own != name);
            headers.extend(value.map(|value: &str| (name, value.to_owned())));
            let headers: Vec<(&str, &str)> = headers.iter().map(|(n, v)| (*n, v.as_str())).collect();
            let answer = send(session.address, "GET", &format!("{}{path}", session.base), &headers, b"");
            assert_eq!((answer.status, answer.body.as_str()), (403, ""), "{path} {name}");
        }
    }
    // What was made to be sent is a download and never a page of the panel's own.
    let made = session.get("g/mine/send/file/cavity.html");
    assert!(made.header("content-disposition").unwrap().starts_with("attachment"), "{made:?}");
    assert_eq!(all(folder.path()), before);
}

#[test]
fn no_name_leads_to_another_file_at_any_place() {
    let folder = tempfile::tempdir().unwrap();
    with_all(folder.path());
    let before = all(folder.path());
    let panel = Panel::start(folder.path());
    let session = panel.enter();
    for name in [
        "..",
        "%2e%2e",
        "..%2fmine",
        "%2e%2e%2f%2e%2e",
        ".",
        "mine%2f..",
        "%00",
        "nobody",
        "readings",
        ".hidden",
    ] {
        for (path, form) in
            CHANGES.iter().filter(|(path, _)| path.contains("/mine/") || path.contains("/spare/"))
        {
            let path = path.replace("/mine/", &format!("/{name}/")).replace("/spare/", &format!("/{name}/"));
            let status = session.post(&path, form).status;
            assert!([400, 403, 404, 405].contains(&status), "{path}: {status}");
        }
        for path in SEEN {
            let path = path.replace("/mine/", &format!("/{name}/")).replace("/spare/", &format!("/{name}/"));
            let path = path.replace("cavity.html", &format!("{name}%2fguitar.toml"));
            let status = session.get(&path).status;
            assert!([400, 403, 404, 405].contains(&status) || path == "leads/", "{path}: {status}");
        }
    }
    for into in
        ["../mine/bridge", "mine/../bridge", "nobody/bridge", "mine/", "mine", "/bridge", "mine/middle"]
    {
        let answer = session.post("leads/spare/put", &[("into", into)]);
        assert_eq!(answer.status, 200, "{into}");
        assert!(answer.body.contains("role=\"alert\""), "{into}");
    }
    for (path, form) in [
        ("g/mine/send/make", &[("what", "../guitar.toml")][..]),
        ("g/mine/send/make", &[("what", "switch:../../x")]),
        ("g/mine/send/make", &[("what", "survey:..")]),
        ("g/mine/survey/make", &[("heard", "../.."), ("within", "3")]),
        ("g/mine/survey/make", &[("heard", ""), ("within", "much")]),
        ("g/mine/prove/set", &[("place", "../guitar"), ("value", "7.9k")]),
    ] {
        assert_eq!(session.post(path, form).status, 200, "{path}");
        until("said what became of it", || {
            let page = session.get(path.trim_end_matches("make").trim_end_matches("set")).body;
            !page.contains("on its way") && !page.contains("The circuits are found")
        });
    }
    let mut after = all(folder.path());
    // A reading at a place of no guitar is kept as it was written, in the readings' own file.
    let proof = folder.path().join("mine/readings/proof.toml");
    assert!(String::from_utf8(after.insert(proof, Vec::new()).unwrap()).unwrap().contains("../guitar"));
    assert_eq!(after, before);
}

#[test]
#[cfg(unix)]
fn no_link_leads_out_at_any_place() {
    use std::os::unix::fs::symlink;
    let outside = tempfile::tempdir().unwrap();
    let folder = tempfile::tempdir().unwrap();
    for name in ["readings", "sent", "surveys", "sets"] {
        fs::create_dir_all(folder.path().join("mine")).unwrap();
        symlink(outside.path(), folder.path().join("mine").join(name)).unwrap();
    }
    symlink(outside.path(), folder.path().join("readings")).unwrap();
    fs::write(folder.path().join("mine/guitar.toml"), GUITAR).unwrap();
    fs::write(outside.path().join("letter.html"), "Dear luthier").unwrap();
    fs::write(outside.path().join("leads-spare.toml"), READINGS).unwrap();
    let before = all(outside.path());
    let panel = Panel::start(folder.path());
    let session = panel.enter();
    for (path, form) in CHANGES.iter().filter(|(path, _)| *path != "new") {
        let status = session.post(path, form).status;
        assert!([200, 403].contains(&status), "{path}: {status}");
    }
    for what in ["listen", "switch:mode", "cavity", "archive", "survey:all"] {
        session.post("g/mine/send/make", &[("what", what)]);
        until("said what became of it", || !session.get("g/mine/send/").body.contains("on its way"));
    }
    until("said that the survey cannot be made", || session.get("g/mine/survey/").body.contains("is a link"));
    assert_eq!(session.get("g/mine/send/file/letter.html").status, 403);
    assert_eq!(session.get("leads/spare/").status, 403);
    assert!(!session.get("leads/").body.contains("spare"));
    for path in ["g/mine/leads/begin", "g/mine/prove/set"] {
        let (_, form) = CHANGES.into_iter().find(|(own, _)| *own == path).unwrap();
        assert!(session.post(path, form).body.contains("is a link"), "{path}");
    }
    assert_eq!(all(outside.path()), before);
}
