//! The panel, started by itself and asked as a browser asks it, or as others might.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// A running panel, which is killed as this is dropped.
pub struct Panel {
    process: Child,
    pub address: SocketAddr,
    /// The path at which the panel is entered once.
    pub entrance: String,
}

/// One who was let in.
pub struct Session {
    pub address: SocketAddr,
    pub base: String,
    pub cookie: String,
}

/// An answer.
#[derive(Debug)]
pub struct Answer {
    pub status: u16,
    pub headers: Vec<(String, String)>,
    pub body: String,
}

impl Answer {
    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers.iter().find(|(own, _)| own.eq_ignore_ascii_case(name)).map(|(_, value)| value.as_str())
    }
}

impl Panel {
    /// Starts a panel of the guitars in `folder`.
    pub fn start(folder: &Path) -> Self {
        Self::start_by(Command::new(env!("CARGO_BIN_EXE_drywire")).arg("panel").arg(folder).arg("--no-open"))
    }

    /// Starts a panel by `command`, which prints its address.
    pub fn start_by(command: &mut Command) -> Self {
        let mut process = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let mut line = String::new();
        BufReader::new(process.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let rest = line.trim().strip_prefix("http://").unwrap_or_else(|| panic!("{line}"));
        let (address, path) = rest.split_once('/').unwrap();
        Self { process, address: address.parse().unwrap(), entrance: format!("/{path}") }
    }

    /// Starts a panel whose folder is a disk of 64 KiB with one guitar on it, whose file says `text`, mounted where no other
    /// program sees it; returns it with the place at which its disk is seen. None where the system lets no program mount one.
    #[cfg(target_os = "linux")]
    pub fn on_a_small_disk(place: &Path, text: &str) -> Option<(Self, PathBuf)> {
        let script = "mount -t tmpfs -o size=65536 tmpfs \"$0\" && mkdir \"$0/mine\" && printf '%s' \"$2\" > \"$0/mine/guitar.toml\" && \
                      exec \"$1\" panel \"$0\" --no-open";
        let command = |how: &[&str], script: &str| {
            let mut command = Command::new("unshare");
            command
                .args(how)
                .args(["sh", "-c", script])
                .arg(place)
                .args([env!("CARGO_BIN_EXE_drywire"), text]);
            command
        };
        let hows = [&["--mount"][..], &["--mount", "--map-root-user"]];
        let is_allowed = |how: &&&[&str]| {
            let mounts = command(how, "mount -t tmpfs tmpfs \"$0\"").output();
            mounts.is_ok_and(|output| output.status.success())
        };
        let how = hows.iter().find(is_allowed)?;
        let panel = Self::start_by(&mut command(how, script));
        let seen = PathBuf::from(format!("/proc/{}/root{}", panel.id(), place.display()));
        std::fs::read(seen.join("mine/guitar.toml")).ok()?;
        Some((panel, seen))
    }

    /// Mounts the small disk at `place` anew, `ro` or `rw`, and returns whether that can be done.
    #[cfg(target_os = "linux")]
    pub fn remount(&self, place: &Path, how: &str) -> bool {
        let mut command = Command::new("nsenter");
        command.args([
            "--mount",
            "--target",
            &self.id().to_string(),
            "mount",
            "-o",
            &format!("remount,{how}"),
        ]);
        command.arg(place).status().unwrap().success()
    }

    /// Enters by the address that was printed.
    pub fn enter(&self) -> Session {
        let answer = send(self.address, "GET", &self.entrance, &[("Host", &self.address.to_string())], b"");
        assert_eq!(answer.status, 200, "{answer:?}");
        let set = answer.header("set-cookie").unwrap();
        let (cookie, rest) = set.split_once(';').unwrap();
        let base = rest.split("Path=").nth(1).unwrap().split(';').next().unwrap();
        assert!(answer.body.contains(&format!("url={base}")), "{}", answer.body);
        Session { address: self.address, base: base.to_owned(), cookie: cookie.to_owned() }
    }

    /// Ends it as a power cut does.
    pub fn kill(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }

    /// Asks it to end, and returns its exit code.
    #[cfg(unix)]
    pub fn ask_to_end(&mut self) -> Option<i32> {
        Command::new("kill").args(["-TERM", &self.process.id().to_string()]).status().unwrap();
        self.process.wait().unwrap().code()
    }

    pub fn id(&self) -> u32 {
        self.process.id()
    }
}

impl Drop for Panel {
    fn drop(&mut self) {
        self.kill();
    }
}

impl Session {
    /// The headers that a browser sends from a page of the panel.
    pub fn headers(&self) -> Vec<(&'static str, String)> {
        vec![
            ("Host", self.address.to_string()),
            ("Cookie", self.cookie.clone()),
            ("Sec-Fetch-Site", "same-origin".to_owned()),
            ("Origin", format!("http://{}", self.address)),
        ]
    }

    pub fn get(&self, path: &str) -> Answer {
        let headers = self.headers();
        let headers: Vec<(&str, &str)> =
            headers[..3].iter().map(|(name, value)| (*name, value.as_str())).collect();
        send(self.address, "GET", &format!("{}{path}", self.base), &headers, b"")
    }

    pub fn post(&self, path: &str, form: &[(&str, &str)]) -> Answer {
        let headers = self.headers();
        let mut headers: Vec<(&str, &str)> =
            headers.iter().map(|(name, value)| (*name, value.as_str())).collect();
        headers.push(("Content-Type", "application/x-www-form-urlencoded"));
        let body: Vec<String> =
            form.iter().map(|(name, value)| format!("{}={}", component(name), component(value))).collect();
        send(self.address, "POST", &format!("{}{path}", self.base), &headers, body.join("&").as_bytes())
    }
}

/// Returns `text` as a component of a form.
pub fn component(text: &str) -> String {
    text.bytes()
        .map(|byte| match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'.' | b'_' => char::from(byte).to_string(),
            other => format!("%{other:02X}"),
        })
        .collect()
}

/// Sends a request and returns its answer.
pub fn send(address: SocketAddr, method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> Answer {
    let mut head = format!("{method} {path} HTTP/1.1\r\nConnection: close\r\n");
    for (name, value) in headers {
        head += &format!("{name}: {value}\r\n");
    }
    if method == "POST" && !headers.iter().any(|(name, _)| *name == "Content-Length") {
        head += &format!("Content-Length: {}\r\n", body.len());
    }
    let mut stream = TcpStream::connect(address).unwrap();
    stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
    stream.write_all(head.as_bytes()).unwrap();
    stream.write_all(b"\r\n").unwrap();
    // It may have answered and gone before all is sent.
    let _ = stream.write_all(body);
    let mut text = Vec::new();
    stream.read_to_end(&mut text).unwrap();
    read(&String::from_utf8_lossy(&text))
}

fn read(text: &str) -> Answer {
    let (head, body) = text.split_once("\r\n\r\n").unwrap_or((text, ""));
    let mut lines = head.lines();
    let status = lines.next().and_then(|line| line.split(' ').nth(1)).and_then(|code| code.parse().ok());
    let headers = lines.filter_map(|line| line.split_once(": ")).map(|(n, v)| (n.to_owned(), v.to_owned()));
    Answer { status: status.unwrap_or(0), headers: headers.collect(), body: body.to_owned() }
}

/// Fills the disk on which `folder` lies by a file in it, and returns that.
pub fn fill(folder: &Path) -> (PathBuf, std::fs::File) {
    let filler = folder.join("filler");
    let mut filling = std::fs::File::create(&filler).unwrap();
    while filling.write_all(&[1; 4096]).is_ok() {}
    while filling.write_all(&[1]).is_ok() {}
    (filler, filling)
}

/// Waits until `is_so`, for at most a while.
pub fn until(what: &str, mut is_so: impl FnMut() -> bool) {
    let begin = Instant::now();
    while !is_so() {
        assert!(begin.elapsed() < Duration::from_secs(20), "never: {what}");
        std::thread::sleep(Duration::from_millis(20));
    }
}
