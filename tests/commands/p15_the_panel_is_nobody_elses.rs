//! The panel is nobody else's: requests without its cookie, or with a foreign Host or Origin, get nothing; nothing outside
//! the folder is read or written.

#![allow(clippy::unwrap_used, reason = "a test stops where the panel is not as expected")]

use std::fs;
use std::io::Write;
use std::net::TcpStream;
use std::path::Path;
use std::process::Command;

use crate::common::panel::{Answer, Panel, send};

const GUITAR: &str = "format = 1\nname = \"mine\"\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\"\n";

fn with_a_guitar(folder: &Path) {
    fs::create_dir_all(folder.join("mine")).unwrap();
    fs::write(folder.join("mine/guitar.toml"), GUITAR).unwrap();
}

fn is_nothing(answer: &Answer) {
    assert_eq!((answer.status, answer.body.as_str()), (403, ""), "{answer:?}");
}

#[test]
fn what_comes_from_elsewhere_gets_nothing_and_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    with_a_guitar(folder.path());
    let panel = Panel::start(folder.path());
    let session = panel.enter();
    let own = session.headers();
    let own = |name: &str| {
        own.iter().find(|(own, _)| *own == name).map(|(name, value)| (*name, value.as_str())).unwrap()
    };
    let base = session.base.clone();
    assert_eq!(session.get("").status, 200);

    // The address was used: it works once.
    let again = send(panel.address, "GET", &panel.entrance, &[own("Host")], b"");
    assert_eq!(again.status, 403);
    assert!(again.header("set-cookie").is_none() && !again.body.contains(&base));

    let ask =
        |method: &str, path: &str, headers: &[(&str, &str)]| send(panel.address, method, path, headers, b"");
    let (host, cookie, site) = (own("Host"), own("Cookie"), own("Sec-Fetch-Site"));
    let set = format!("{base}g/mine/set");
    for path in [&base, &format!("{base}g/mine/"), &format!("{base}events"), &format!("{base}panel.js")] {
        is_nothing(&ask("GET", path, &[host, site]));
        is_nothing(&ask("GET", path, &[host, ("Cookie", "drywire=0123"), site]));
        is_nothing(&ask("GET", path, &[("Host", "localhost:80"), cookie, site]));
        is_nothing(&ask("GET", path, &[("Host", "rebound.example"), cookie, site]));
        for other in ["same-site", "cross-site"] {
            is_nothing(&ask("GET", path, &[host, cookie, ("Sec-Fetch-Site", other)]));
            let navigation = [
                host,
                cookie,
                ("Sec-Fetch-Site", other),
                ("Sec-Fetch-Mode", "navigate"),
                ("Sec-Fetch-Dest", "document"),
            ];
            is_nothing(&ask("GET", path, &navigation));
        }
        is_nothing(&ask("GET", path, &[host, cookie]));
        is_nothing(&ask("OPTIONS", path, &[host, cookie, site, own("Origin")]));
    }
    for path in ["/", "/style.css", "/0123456789abcdef0123456789abcdef/", "/enter", "/favicon.ico"] {
        is_nothing(&ask("GET", path, &[host, cookie, site]));
    }
    let other_port = format!("http://127.0.0.1:{}", panel.address.port() ^ 1);
    for origin in [
        None,
        Some("null"),
        Some(other_port.as_str()),
        Some("http://localhost"),
        Some("https://evil.example"),
    ] {
        let mut headers = vec![host, cookie, site, ("Content-Type", "application/x-www-form-urlencoded")];
        headers.extend(origin.map(|origin| ("Origin", origin)));
        is_nothing(&send(panel.address, "POST", &set, &headers, b"place=name&value=theirs"));
    }
    // State is not changed by a GET.
    let get = session.get("g/mine/set?place=name&value=theirs");
    assert_eq!(get.status, 405);
    assert!(session.get("g/mine/undo").status == 405 && session.get("g/mine/remove").status == 405);
    assert_eq!(fs::read_to_string(folder.path().join("mine/guitar.toml")).unwrap(), GUITAR);
    assert_eq!(session.post("g/mine/set", &[("place", "name"), ("value", "ours")]).status, 200);
}

#[test]
fn every_answer_keeps_the_page_to_itself() {
    let folder = tempfile::tempdir().unwrap();
    let panel = Panel::start(folder.path());
    let session = panel.enter();
    let answer = session.get("");
    let policy = answer.header("content-security-policy").unwrap();
    for part in ["default-src 'none'", "frame-ancestors 'none'", "script-src 'self'", "base-uri 'none'"] {
        assert!(policy.contains(part), "{policy}");
    }
    assert!(!policy.contains("unsafe"), "{policy}");
    for (name, value) in [
        ("referrer-policy", "no-referrer"),
        ("cache-control", "no-store"),
        ("x-content-type-options", "nosniff"),
    ] {
        assert_eq!(answer.header(name), Some(value));
    }
    // Nothing in the pages leads out.
    for page in ["", "new"] {
        let body = session.get(page).body;
        assert!(
            !body.contains("http://") && !body.contains("https://") && !body.contains(" style="),
            "{body}"
        );
    }
}

#[test]
fn a_second_panel_does_not_disturb_the_first_and_does_not_open_to_it() {
    let [one, other] = [tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap()];
    let [first, second] = [Panel::start(one.path()), Panel::start(other.path())];
    let [a, b] = [first.enter(), second.enter()];
    assert!(a.base != b.base && a.cookie != b.cookie);
    let crossed = [
        ("Host", b.address.to_string()),
        ("Cookie", a.cookie.clone()),
        ("Sec-Fetch-Site", "same-origin".to_owned()),
    ];
    let crossed: Vec<(&str, &str)> = crossed.iter().map(|(name, value)| (*name, value.as_str())).collect();
    is_nothing(&send(b.address, "GET", &b.base, &crossed, b""));
    assert_eq!((a.get("").status, b.get("").status), (200, 200));
}

#[test]
fn no_name_and_no_link_leads_out_of_the_folder() {
    let outside = tempfile::tempdir().unwrap();
    let folder = tempfile::tempdir().unwrap();
    with_a_guitar(outside.path());
    with_a_guitar(folder.path());
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink(outside.path().join("mine"), folder.path().join("linked")).unwrap();
        fs::create_dir(folder.path().join("half")).unwrap();
        let file = outside.path().join("mine/guitar.toml");
        std::os::unix::fs::symlink(file, folder.path().join("half/guitar.toml")).unwrap();
    }
    let panel = Panel::start(folder.path());
    let session = panel.enter();
    let listed = session.get("").body;
    assert!(
        listed.contains("/g/mine/") && !listed.contains("linked") && !listed.contains("half"),
        "{listed}"
    );
    for name in [
        "linked",
        "half",
        "..",
        "%2e%2e",
        "..%2fmine",
        "%2e%2e%2f%2e%2e",
        ".",
        "mine%2f..%2f..",
        "%00",
        "nobody",
    ] {
        for path in [
            "",
            "file",
            "set",
            "remove",
            "copy",
            "leads/",
            "leads/begin",
            "leads/put",
            "plan/put",
            "cavity/add",
            "cavity/take-plan",
        ] {
            let path = format!("g/{name}/{path}");
            let answer = session.get(&path);
            assert!([403, 404, 405, 400].contains(&answer.status), "{path}: {}", answer.status);
            let answer = session.post(
                &path,
                &[
                    ("place", "name"),
                    ("value", "theirs"),
                    ("name", "theirs"),
                    ("text", "theirs"),
                    ("leads", "white, grey"),
                    ("shield", ""),
                    ("coils", ""),
                    ("index", "0"),
                    ("one", "jack.tip"),
                    ("other", "jack.sleeve"),
                ],
            );
            assert!([403, 404, 405, 400].contains(&answer.status), "{path}: {}", answer.status);
        }
    }
    assert_eq!(fs::read_to_string(outside.path().join("mine/guitar.toml")).unwrap(), GUITAR);
    assert_eq!(fs::read_to_string(folder.path().join("mine/guitar.toml")).unwrap(), GUITAR);
    // Readings are not kept where a link leads.
    std::os::unix::fs::symlink(outside.path(), folder.path().join("mine/readings")).unwrap();
    let begun = [("leads", "white, grey"), ("shield", ""), ("coils", "")];
    assert!(session.post("g/mine/leads/begin", &begun).body.contains("is a link"));
    assert_eq!(fs::read_dir(outside.path()).unwrap().count(), 1);
    // What people call a guitar is text and never markup nor a path.
    for name in [
        "../../escaped",
        "<script>alert(1)</script>",
        "\" onload=\"x",
        "a\u{202e}b",
        "CON",
        "…",
        "'\\''; rm -rf ~",
    ] {
        let made = session.post("new", &[("name", name), ("count", "1")]);
        assert_eq!(made.status, 303, "{name}: {}", made.body);
        let to = made.header("location").unwrap();
        assert!(to.starts_with(&session.base), "{to}");
        let page = session.get(&to[session.base.len()..]).body;
        assert!(!page.contains("<script>alert") && !page.contains("\" onload=\""), "{name}");
    }
    let around: Vec<_> =
        fs::read_dir(folder.path().parent().unwrap()).unwrap().flatten().map(|e| e.file_name()).collect();
    assert!(!around.iter().any(|name| name == "escaped"));
}

#[test]
fn a_body_that_is_too_large_is_refused_before_it_is_read() {
    let folder = tempfile::tempdir().unwrap();
    with_a_guitar(folder.path());
    let panel = Panel::start(folder.path());
    let session = panel.enter();
    let headers = session.headers();
    let mut headers: Vec<(&str, &str)> =
        headers.iter().map(|(name, value)| (*name, value.as_str())).collect();
    headers.push(("Content-Type", "application/x-www-form-urlencoded"));
    headers.push(("Content-Length", "3221225472"));
    let path = format!("{}g/mine/set", session.base);
    assert_eq!(send(panel.address, "POST", &path, &headers, b"place=name&value=x").status, 413);
    // One that does not say how long it is.
    headers.pop();
    headers.push(("Transfer-Encoding", "chunked"));
    let mut head = format!("POST {path} HTTP/1.1\r\nConnection: close\r\n");
    for (name, value) in &headers {
        head += &format!("{name}: {value}\r\n");
    }
    let mut stream = TcpStream::connect(panel.address).unwrap();
    stream.write_all(format!("{head}\r\n").as_bytes()).unwrap();
    let chunk = format!("10000\r\n{}\r\n", "x".repeat(0x10000));
    let sent = (0..2000).take_while(|_| stream.write_all(chunk.as_bytes()).is_ok()).count();
    assert!(sent < 2000, "130 MB were taken");
    assert_eq!(session.get("").status, 200);
    let memory = fs::read_to_string(format!("/proc/{}/status", panel.id())).unwrap_or_default();
    if let Some(peak) = memory.lines().find_map(|line| line.strip_prefix("VmHWM:")) {
        let kilobytes: u64 = peak.trim().trim_end_matches(" kB").parse().unwrap();
        assert!(kilobytes < 150_000, "{kilobytes} kB");
    }
}

#[test]
#[cfg(target_os = "linux")]
fn a_panel_that_nobody_could_enter_or_that_could_keep_nothing_is_not_started() {
    let folder = tempfile::tempdir().unwrap();
    let panel = |of: &Path| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_drywire"));
        command.arg("panel").arg(of).arg("--no-open");
        command
    };
    let full = fs::File::options().write(true).open("/dev/full").unwrap();
    let ended = panel(folder.path()).stdout(full).output().unwrap();
    assert_eq!(ended.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&ended.stderr).contains("cannot write to standard output"), "{ended:?}");
    fs::write(folder.path().join("letter"), "Dear luthier").unwrap();
    let ended = panel(&folder.path().join("letter/bench")).output().unwrap();
    assert_eq!(ended.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&ended.stderr).contains("letter` is not a folder"), "{ended:?}");
}
