//! `play` and `blind` through a real sound stack without hardware: what reaches the device is the set bit for bit at
//! 0 dB outside of cross-fades, whose steps are no larger than the programme's own; the terminal is given back on any
//! exit; no device, a bad set and bad keys are told.
//!
//! The stack is alsa-lib's own file plugin over its null device. Where it cannot be used the tests say so and are
//! skipped, except where `CI` is set.

#![cfg(all(target_os = "linux", feature = "sound-card"))]
#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]
#![allow(clippy::print_stderr, reason = "what is skipped is told")]
#![allow(clippy::float_cmp, reason = "samples are compared to the last bit")]

use std::fs::{self, File};
use std::io::{Read, Write};
use std::os::unix::process::ExitStatusExt;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::sync::{Arc, Mutex};
use std::thread::sleep;
use std::time::{Duration, Instant};

use crate::common::program::{Set, read_wav};
use crate::common::stored::{sine, write_set};
use drywire::abx::Run;
use rustix::process::{Pid, Signal, kill_process};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{LocalModes, Termios, Winsize, tcgetattr, tcsetwinsize};
use serde_json::Value;

const RATE: u32 = 48_000;
const FADE: usize = 480;
const LONG: Duration = Duration::from_secs(30);

/// A folder with a sound stack of its own, and maybe a set.
struct Bench {
    folder: tempfile::TempDir,
}

impl Bench {
    /// A bench whose usual device writes what it gets to a file; `None` where there is no such stack.
    fn new() -> Option<Self> {
        let bench = Self { folder: tempfile::tempdir().unwrap() };
        let capture = bench.capture().display().to_string();
        bench.configure(&format!(
            "pcm.!default {{ type file slave.pcm {{ type null }} file \"{capture}\" format \"raw\" }}"
        ));
        let list = bench.drywire(&["play", "--list-devices"], "");
        if list.status.success() && String::from_utf8_lossy(&list.stdout).contains("default") {
            return Some(bench);
        }
        let told = String::from_utf8_lossy(&list.stderr);
        assert!(std::env::var_os("CI").is_none(), "no sound stack: {told}");
        eprintln!("skipped: alsa-lib has no file plugin here: {told}");
        None
    }

    fn configure(&self, text: &str) {
        fs::write(self.path("asound.conf"), text).unwrap();
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn capture(&self) -> PathBuf {
        self.path("captured.raw")
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_drywire"));
        command.args(arguments).current_dir(self.folder.path());
        command.env("ALSA_CONFIG_PATH", self.path("asound.conf"));
        command
    }

    /// Runs the program with `keys` on standard input.
    fn drywire(&self, arguments: &[&str], keys: &str) -> Output {
        let mut command = self.command(arguments);
        let mut child =
            command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        // A program that refuses its arguments reads no keys.
        let _ = child.stdin.take().unwrap().write_all(keys.as_bytes());
        child.wait_with_output().unwrap()
    }

    fn succeeds(&self, arguments: &[&str], keys: &str) -> Output {
        let output = self.drywire(arguments, keys);
        let told = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(0), "{arguments:?}: {told}");
        output
    }

    /// Runs the program and expects a refusal that says all of `said`.
    fn refuses(&self, arguments: &[&str], keys: &str, said: &[&str]) {
        let output = self.drywire(arguments, keys);
        let told = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {told}");
        for said in said.iter().chain(&["hint: "]) {
            assert!(told.contains(said), "{arguments:?} does not say `{said}`: {told}");
        }
        assert!(!told.contains("ALSA lib"), "the sound system speaks for itself: {told}");
    }

    /// A set of two takes in one channel, a quarter of a second long.
    fn small_set(&self) {
        let take = |amplitude: f64| vec![sine(12_000, RATE, 329.63, amplitude)];
        let takes = [("series", [take(0.5), take(0.7)]), ("parallel", [take(0.45), take(0.35)])];
        fs::create_dir(self.path("set")).unwrap();
        write_set(&self.path("set"), RATE, &takes);
    }

    /// The samples that reached the device, and nothing of an earlier run.
    fn captured(&self) -> Vec<f32> {
        let bytes = fs::read(self.capture()).unwrap();
        fs::remove_file(self.capture()).unwrap();
        bytes.chunks_exact(4).map(|b| f32::from_le_bytes(b.try_into().unwrap())).collect()
    }
}

/// The only channel of a file of a set, by an independent reader.
fn file(set: &Path, name: &str) -> Vec<f32> {
    let (planes, _) = read_wav(&set.join(name));
    assert_eq!(planes.len(), 1);
    #[expect(clippy::cast_possible_truncation, reason = "24 bits fit whole")]
    planes[0].iter().map(|x| *x as f32).collect()
}

fn largest_step(samples: &[f32]) -> f32 {
    samples.windows(2).map(|w| (w[1] - w[0]).abs()).fold(0.0, f32::max)
}

#[test]
fn the_device_gets_the_set_bit_for_bit_and_fades_have_no_step_larger_than_its_own() {
    let Some(bench) = Bench::new() else { return };
    let set = Set::heard(bench.folder.path(), &["--arrangements", "series,parallel,split-a"]);
    let [series, parallel, split, true_split] =
        ["matched/series", "matched/parallel", "matched/split-a", "as-is/split-a"]
            .map(|name| file(&set.folder, &format!("{name}.wav")));
    let frames = series.len();
    bench.succeeds(&["play", "set", "--once", "--level", "0dB"], "");
    let out = bench.captured();
    assert!(out.len() >= frames, "{} of {frames} frames", out.len());
    assert_eq!(out[..frames], series);
    assert!(out[frames..].iter().all(|x| *x == 0.0));

    bench.succeeds(&["play", "set", "--once", "--level=0dB", "--as-is", "--start", "split-a"], "");
    assert_eq!(bench.captured()[..frames], true_split);

    bench.succeeds(&["play", "set", "--level", "0dB"], "0.5s 2 1s 3 1.5s m");
    let out = bench.captured();
    let parts = [&series, &parallel, &split, &true_split];
    let switches = [0, 24_000, 48_000, 72_000, frames];
    for (i, part) in parts.into_iter().enumerate() {
        let from = switches[i] + if i > 0 { FADE } else { 0 };
        assert_eq!(out[from..switches[i + 1]], part[from..switches[i + 1]], "part {i}");
    }
    let own = parts.into_iter().map(|part| largest_step(part)).fold(0.0, f32::max);
    let fades = switches[1..4].iter().map(|at| largest_step(&out[at - 1..=at + FADE])).fold(0.0, f32::max);
    assert!(fades <= own, "a step of {fades} in a fade, of {own} in the programme");
    eprintln!("largest step in a fade {fades:.5}, in the programme {own:.5}");
}

#[test]
fn playing_begins_low_and_ends_where_the_keys_say() {
    let Some(bench) = Bench::new() else { return };
    bench.small_set();
    let told = bench.succeeds(&["play", "set"], "");
    let own = file(&bench.path("set"), "matched/series.wav");
    for (out, own) in bench.captured().iter().zip(&own) {
        assert!((out - 0.1 * own).abs() < 1e-7);
    }
    let told = String::from_utf8(told.stderr).unwrap();
    assert!(told.contains("Start playback low") && told.contains("never ran dry"), "{told}");

    // A loop of 100 ms goes round until the key that leaves, and fades out.
    bench.succeeds(&["play", "set", "--loop=50ms-150ms", "--level=0dB"], "1s q");
    let out = bench.captured();
    assert!(out.len() >= 48_000 + FADE);
    for round in 0..9 {
        let at = round * 4800;
        assert_eq!(out[at + FADE..at + 4800], own[2400 + FADE..7200], "round {round}");
    }
    assert!(out[48_000 + FADE..].iter().all(|x| *x == 0.0));
}

#[test]
fn what_cannot_be_played_is_told_and_the_page_is_offered() {
    let Some(bench) = Bench::new() else { return };
    bench.small_set();
    bench.refuses(&["play", "nowhere"], "", &["`nowhere`", "no such folder", "drywire hear"]);
    bench.refuses(&["blind", "nowhere"], "", &["`nowhere`", "no such folder", "drywire hear"]);
    bench.refuses(&["play", "set", "--start", "split"], "", &["no arrangement `split`", "series, parallel"]);
    bench.refuses(&["play", "set", "--loop=0s-1s"], "q", &["the set is 250 ms long"]);
    bench.refuses(&["play", "set", "--loop"], "1s 2", &["no key on standard input leaves"]);
    bench.refuses(&["play", "set"], "1s 2 %", &["`%` on standard input is no key"]);
    bench.refuses(&["play", "set"], "2s 2 1s 1", &["go back in time"]);
    bench.refuses(
        &["play", "set", "--device", "gramophone"],
        "",
        &["no output device `gramophone`", "default"],
    );
    bench.refuses(&["blind", "set", "--b", "series"], "", &["A and B are both `series`"]);
    let too_many = bench.drywire(&["blind", "set", "--trials", "101"], "");
    assert_eq!(too_many.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&too_many.stderr).contains("a whole number from 1 to 100 is wanted"));

    for stack in ["", "pcm.!default { type hw card 77 }"] {
        bench.configure(stack);
        for command in ["play", "blind"] {
            bench.refuses(&[command, "set"], "", &["cannot be played through a sound card", "listen.html"]);
        }
        fs::write(bench.path("set/listen.html"), "").unwrap();
        bench.refuses(&["play", "set"], "", &["open `set/listen.html` in a browser"]);
    }
}

fn results(bench: &Bench) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(bench.path("set"))
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .filter(|name| !["matched", "as-is", "figures.json"].contains(&name.as_str()))
        .collect();
    names.sort();
    names
}

#[test]
fn a_blind_comparison_keeps_its_result_and_a_run_that_is_left_has_none() {
    let Some(bench) = Bench::new() else { return };
    bench.small_set();
    let answers = "abx1 2 b2 1 x1 2 2 1";
    let mut orders = Vec::new();
    for number in 1..=3 {
        let printed = bench.succeeds(&["blind", "set", "--trials", "8", "--json"], answers).stdout;
        let kept = fs::read_to_string(bench.path("set").join(format!("blind-{number}.json"))).unwrap();
        let result: Value = serde_json::from_str(&kept).unwrap();
        assert_eq!(serde_json::from_slice::<Value>(&printed).unwrap(), result);
        assert_eq!((result["a"].as_str(), result["b"].as_str()), (Some("series"), Some("parallel")));
        assert_eq!(result["answers"], "abbaabba");
        let (x, said) = (result["x"].as_str().unwrap(), result["answers"].as_str().unwrap());
        let right = u32::try_from(x.chars().zip(said.chars()).filter(|(x, s)| x == s).count()).unwrap();
        assert_eq!((x.len(), result["right"].as_u64()), (8, Some(right.into())));
        let run = Run::new(8).unwrap();
        assert_eq!(result["p_value"].as_f64(), Some(run.p_value(right)));
        assert_eq!(result["difference_heard"], right >= run.needed().unwrap());
        orders.push(kept);
    }
    assert_eq!(results(&bench), ["blind-1.json", "blind-2.json", "blind-3.json"]);
    for (number, kept) in orders.iter().enumerate() {
        let now = fs::read_to_string(bench.path("set").join(format!("blind-{}.json", number + 1))).unwrap();
        assert_eq!(now, *kept, "an earlier result was changed");
    }
    for keys in ["1 2 q 1 2 1 2 1 2", "1 2 1", ""] {
        bench.refuses(&["blind", "set", "--trials", "8"], keys, &["of 8 trials; there is no result"]);
    }
    assert_eq!(results(&bench).len(), 3, "{:?}", results(&bench));
}

/// A terminal and what is written to it.
struct Pty {
    master: File,
    slave: File,
    screen: Arc<Mutex<String>>,
}

impl Pty {
    fn new(width: u16, height: u16) -> Self {
        let master = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).unwrap();
        grantpt(&master).unwrap();
        unlockpt(&master).unwrap();
        let name = ptsname(&master, Vec::new()).unwrap();
        let path = PathBuf::from(name.into_string().unwrap());
        let slave = File::options().read(true).write(true).open(path).unwrap();
        tcsetwinsize(&slave, Winsize { ws_row: height, ws_col: width, ws_xpixel: 0, ws_ypixel: 0 }).unwrap();
        let (master, screen) = (File::from(master), Arc::new(Mutex::new(String::new())));
        let (mut reader, shown) = (master.try_clone().unwrap(), Arc::clone(&screen));
        std::thread::spawn(move || {
            let mut buffer = [0; 4096];
            while let Ok(n @ 1..) = reader.read(&mut buffer) {
                shown.lock().unwrap().push_str(&String::from_utf8_lossy(&buffer[..n]));
            }
        });
        Self { master, slave, screen }
    }

    fn spawn(&self, mut command: Command) -> Child {
        let end = || Stdio::from(self.slave.try_clone().unwrap());
        command.stdin(end()).stdout(end()).stderr(end()).spawn().unwrap()
    }

    fn modes(&self) -> Termios {
        tcgetattr(&self.slave).unwrap()
    }

    fn is_raw(&self) -> bool {
        !self.modes().local_modes.intersects(LocalModes::ICANON | LocalModes::ECHO)
    }

    fn shows(&self, text: &str) {
        let begun = Instant::now();
        while !self.screen.lock().unwrap().contains(text) {
            assert!(begun.elapsed() < LONG, "`{text}` is not shown: {}", self.screen.lock().unwrap());
            sleep(Duration::from_millis(20));
        }
    }

    fn press(&mut self, keys: &str) {
        self.master.write_all(keys.as_bytes()).unwrap();
    }

    fn is_given_back(&self, before: &Termios) {
        let now = self.modes();
        assert_eq!(now.local_modes, before.local_modes);
        assert_eq!(now.input_modes, before.input_modes);
        assert_eq!(now.output_modes, before.output_modes);
        self.shows("\u{1b}[?1049l");
        let screen = self.screen.lock().unwrap();
        let last = |sequence: &str| screen.rfind(sequence).unwrap();
        assert!(last("\u{1b}[?1049l") > last("\u{1b}[?1049h"), "the screen is still another");
        assert!(last("\u{1b}[?25h") > last("\u{1b}[?25l"), "the cursor is still hidden");
    }
}

#[test]
fn the_terminal_is_given_back_by_keys_and_by_every_signal_that_ends_a_program() {
    let Some(bench) = Bench::new() else { return };
    bench.small_set();
    // Nothing is captured: a device without a clock would fill the disk.
    bench.configure("pcm.!default { type null }");
    let ends: [(&str, Option<Signal>); 6] = [
        ("q", None),
        ("\u{1b}", None),
        ("\u{3}", None),
        ("", Some(Signal::TERM)),
        ("", Some(Signal::INT)),
        ("", Some(Signal::HUP)),
    ];
    for (keys, signal) in ends {
        let mut pty = Pty::new(40, 24);
        let before = pty.modes();
        let mut child = pty.spawn(bench.command(&["play", "set"]));
        pty.shows("> 1 series");
        assert!(pty.is_raw());
        pty.press("2m-");
        pty.shows("> 2 parallel");
        pty.shows("true levels, level -21 dB");
        pty.press(keys);
        if let Some(signal) = signal {
            kill_process(Pid::from_child(&child), signal).unwrap();
        }
        let status = wait(&mut child);
        match signal {
            None => assert_eq!(status.code(), Some(0), "{keys:?}"),
            Some(signal) => assert_eq!(status.signal(), Some(signal.as_raw())),
        }
        pty.is_given_back(&before);
    }
}

#[test]
fn a_blind_comparison_at_a_terminal_never_shows_what_x_is() {
    let Some(bench) = Bench::new() else { return };
    bench.small_set();
    bench.configure("pcm.!default { type null }");
    let mut pty = Pty::new(40, 24);
    let before = pty.modes();
    let mut child = pty.spawn(bench.command(&["blind", "set", "--trials", "5"]));
    pty.shows("Trial 1 of 5");
    pty.shows("you hear X");
    for trial in 1..=5 {
        pty.shows(&format!("Trial {trial} of 5"));
        pty.press("1");
    }
    assert_eq!(wait(&mut child).code(), Some(0));
    pty.is_given_back(&before);
    pty.shows("exact one-sided binomial");
    assert_eq!(results(&bench), ["blind-1.json"]);
    // Only what a person asked to hear by its letter may be named, and no one did.
    assert!(
        !pty.screen.lock().unwrap().contains("you hear A")
            && !pty.screen.lock().unwrap().contains("you hear B")
    );
}

fn wait(child: &mut Child) -> std::process::ExitStatus {
    let begun = Instant::now();
    loop {
        if let Some(status) = child.try_wait().unwrap() {
            return status;
        }
        if begun.elapsed() > LONG {
            child.kill().unwrap();
            panic!("the program goes on");
        }
        sleep(Duration::from_millis(20));
    }
}
