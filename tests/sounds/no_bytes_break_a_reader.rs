//! No bytes, however broken, make a reader of files panic or hang: each of the fuzzer's targets is run on its seeds, on
//! every input that ever broke it, and on mutations of both.
//!
//! `DRYWIRE_FUZZ_SECONDS` sets for how long each target is run; without it that is two seconds. The mutations are drawn
//! from a fixed seed, so that a longer run begins with what a shorter one did.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]
#![allow(clippy::print_stdout, reason = "the number of runs is told")]

use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// The longest that one input may take.
const PATIENCE: Duration = Duration::from_secs(5);

#[derive(Clone, Copy)]
struct Target {
    name: &'static str,
    run: fn(&[u8]),
    /// Where its seeds lie, beside `fuzz/seeds/NAME`.
    seeds: &'static str,
    /// What its files are made of.
    words: &'static [&'static str],
}

const TEXT: &[&str] = &[
    "\"",
    "'",
    "\"\"\"",
    "=",
    "[",
    "]",
    "[[",
    "]]",
    "{",
    "}",
    ",",
    ".",
    "\n",
    "#",
    "\\u0000",
    "\\n",
    "\u{9b}",
    "\u{202e}",
    "0",
    "-1",
    "1e999",
    "nan",
    "inf",
    "-0.0",
    "0x7fffffffffffffff",
    "9e-324",
    "true",
    "1979-05-27",
    "\"\"",
    "\"5k\"",
    "\"1G\"",
    "\"0\"",
    "\"-1p\"",
    "[]",
    "{}",
    "[[]]",
];

const TARGETS: [Target; 5] = [
    Target {
        name: "sound",
        run: crate::targets::sound::run,
        seeds: "tests/data/sound",
        words: &[
            "RIFF",
            "RF64",
            "BW64",
            "WAVE",
            "fmt ",
            "data",
            "ds64",
            "LIST",
            "fLaC",
            "OggS",
            "FORM",
            "AIFF",
            "COMM",
            "SSND",
            "ID3",
            "\0\0\0\0",
            "\u{1}\0",
            "\u{3}\0",
            "\0\0\0\u{7f}",
            "\u{7f}\u{7f}\u{7f}\u{7f}",
        ],
    },
    Target { name: "guitar", run: crate::targets::guitar::run, seeds: "presets/guitars", words: TEXT },
    Target {
        name: "readings",
        run: crate::targets::readings::run,
        seeds: "fuzz/seeds/readings",
        words: TEXT,
    },
    Target { name: "switch", run: crate::targets::switch::run, seeds: "presets/switches", words: TEXT },
    Target {
        name: "set",
        run: crate::targets::set::run,
        seeds: "fuzz/seeds/set",
        words: &[
            "null",
            "-1",
            "1e308",
            "[]",
            "{}",
            "\"\"",
            "\"../x\"",
            "\"/etc/passwd\"",
            "\"series\"",
            "matched/",
            "as-is/",
            "series",
            "parallel",
            ".wav",
            "\\u0000",
            "\\u202e",
            "[[[[[[[[",
            "{\"\":{\"\":",
        ],
    },
];

fn target(name: &str) -> Target {
    *TARGETS.iter().find(|target| target.name == name).unwrap()
}

fn files_in(folder: &Path) -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> =
        fs::read_dir(folder).into_iter().flatten().map(|entry| entry.unwrap().path()).collect();
    files.retain(|path| path.is_file());
    files.sort();
    files
}

impl Target {
    /// Returns the seeds, and all that ever broke the target.
    fn inputs(self) -> Vec<Vec<u8>> {
        let own = format!("fuzz/seeds/{}", self.name);
        let crashes = format!("tests/data/crashes/{}", self.name);
        let mut folders = vec![self.seeds, &own, &crashes];
        folders.dedup();
        let files = folders.into_iter().flat_map(|folder| files_in(Path::new(folder)));
        files.map(|path| fs::read(path).unwrap()).filter(|bytes| bytes.len() < 32_768).collect()
    }
}

/// What draws the mutations.
struct Mutator {
    random: ChaCha8Rng,
    inputs: Vec<Vec<u8>>,
    words: &'static [&'static str],
}

impl Mutator {
    fn below(&mut self, limit: usize) -> usize {
        let drawn = usize::try_from(self.random.next_u64() >> 33).unwrap();
        drawn % limit.max(1)
    }

    /// Returns one of the inputs with up to eight changes, most of them near each other or near the beginning, where
    /// headers are.
    fn next(&mut self) -> Vec<u8> {
        let drawn = self.below(self.inputs.len());
        let mut bytes = self.inputs[drawn].clone();
        for _ in 0..=self.below(8) {
            self.change(&mut bytes);
        }
        bytes
    }

    fn place(&mut self, bytes: &[u8]) -> usize {
        let near = if self.below(2) == 0 { bytes.len().min(128) } else { bytes.len() };
        self.below(near)
    }

    fn change(&mut self, bytes: &mut Vec<u8>) {
        let at = self.place(bytes);
        let to = (at + 1 + self.below(64)).min(bytes.len());
        match self.below(8) {
            0 if at < bytes.len() => bytes[at] ^= 1 << self.below(8),
            1 if at < bytes.len() => bytes[at] = [0, 0xFF, 0x7F, 0x80, 1][self.below(5)],
            2 if at < to => drop(bytes.drain(at..to)),
            3 if at < to => {
                let copy = bytes[at..to].to_vec();
                let place = self.place(bytes);
                bytes.splice(place..place, copy);
            }
            4 => {
                let word = self.words[self.below(self.words.len())].as_bytes();
                let end = if self.below(2) == 0 { at } else { (at + word.len()).min(bytes.len()) };
                bytes.splice(at..end, word.iter().copied());
            }
            5 => {
                // A piece of another input.
                let other = self.below(self.inputs.len());
                let other = self.inputs[other].clone();
                let from = self.below(other.len());
                let end = (from + 1 + self.below(256)).min(other.len());
                bytes.splice(at..at, other[from.min(end)..end].iter().copied());
            }
            6 if self.below(8) == 0 => bytes.truncate(at),
            7 if self.below(8) == 0 => {
                let piece = bytes[at.min(to)..to].to_vec();
                let many = piece.repeat(1 + self.below(500));
                bytes.splice(at..at, many);
            }
            _ => {}
        }
    }
}

/// Writes what broke a target where it outlives the test, and says so.
fn keep(target: Target, bytes: &[u8], what: &str) -> ! {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("{}-{}.bin", target.name, bytes.len()));
    fs::write(&path, bytes).unwrap();
    panic!(
        "the target `{}` {what}; mend it, and keep {} in tests/data/crashes/{}",
        target.name,
        path.display(),
        target.name
    );
}

/// Runs a target on its inputs and on what `mutations` makes of them, watched from outside, since what hangs says
/// nothing itself.
fn hold(name: &str, time: Duration) -> u64 {
    let target = target(name);
    let current = Arc::new(Mutex::new(Vec::new()));
    let (tell, told) = channel();
    let at_work = Arc::clone(&current);
    let worker = thread::spawn(move || {
        let begun = Instant::now();
        let inputs = target.inputs();
        assert!(!inputs.is_empty(), "no seeds");
        let mut mutator =
            Mutator { random: ChaCha8Rng::seed_from_u64(1), inputs: inputs.clone(), words: target.words };
        let mut whole = inputs.into_iter();
        while let Some(bytes) = whole.next().or_else(|| (begun.elapsed() < time).then(|| mutator.next())) {
            at_work.lock().unwrap().clone_from(&bytes);
            let is_held = catch_unwind(AssertUnwindSafe(|| (target.run)(&bytes))).is_ok();
            tell.send(is_held).unwrap();
        }
    });
    let mut runs = 0;
    loop {
        match told.recv_timeout(PATIENCE) {
            Ok(true) => runs += 1,
            Ok(false) => keep(target, &current.lock().unwrap(), "panicked"),
            Err(RecvTimeoutError::Timeout) => keep(target, &current.lock().unwrap(), "takes too long"),
            Err(RecvTimeoutError::Disconnected) => break,
        }
    }
    worker.join().unwrap();
    runs
}

fn mutations_are_read_or_refused(name: &str) {
    let seconds = std::env::var("DRYWIRE_FUZZ_SECONDS").map_or(2, |n| n.parse().unwrap());
    let runs = hold(name, Duration::from_secs(seconds));
    println!("{name}: {runs} inputs in {seconds} s");
    assert!(runs > 20, "{runs} inputs tell nothing");
}

#[test]
fn mutated_sound_files_are_read_or_refused() {
    mutations_are_read_or_refused("sound");
}

#[test]
fn mutated_guitar_files_are_read_or_refused() {
    mutations_are_read_or_refused("guitar");
}

#[test]
fn mutated_readings_files_are_read_or_refused() {
    mutations_are_read_or_refused("readings");
}

#[test]
fn mutated_switch_tables_are_read_or_refused() {
    mutations_are_read_or_refused("switch");
}

#[test]
fn mutated_figures_of_a_set_are_read_or_refused() {
    mutations_are_read_or_refused("set");
}
