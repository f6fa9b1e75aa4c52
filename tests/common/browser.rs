//! Pages made of whole sets and opened in a browser without a window.
#![allow(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a test that is skipped says why, a driver what it found"
)]

use std::path::{Path, PathBuf};
use std::process::Command;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use drywire::guitar::Guitar;
use drywire::page::{Excerpt, Illustration, PageData, listen_page};
use drywire::plot::{Picture, Theme, svg};
use drywire::quantity::DbSpl;
use drywire::render::{Channels, Configuration, MatchBy, Model};
use drywire::report::{ArrangementFigures, SetFigures};
use drywire::response::{Recorded, Scope, Voice, VoiceResponse};
use drywire::set::SetSpec;
use drywire::sound::{Depth, Sound};
use serde_json::Value;

/// A browser without a window.
pub struct Browser(PathBuf);

impl Browser {
    /// Returns the browser that is installed. Where there is none, says so and returns nothing; in continuous
    /// integration, which installs one, that fails.
    pub fn installed() -> Option<Self> {
        let folders = std::env::var_os("PATH").unwrap_or_default();
        let found = std::env::split_paths(&folders).map(|f| f.join("chromium")).find(|p| p.is_file());
        if found.is_none() {
            assert!(std::env::var_os("CI").is_none(), "no `chromium` on the path");
            println!("skipped: there is no `chromium` on the path to open a page in");
        }
        found.map(Self)
    }

    /// Returns whether there is a browser and what drives it. Where there is not, says so; in continuous integration,
    /// which installs both, that fails.
    pub fn can_be_driven() -> bool {
        let installed =
            Path::new("tests/browser/node_modules/playwright-core").is_dir() && node_is_installed();
        if !installed {
            assert!(std::env::var_os("CI").is_none(), "`npm install` was not run in tests/browser");
            println!("skipped: `npm install` was not run in tests/browser");
        }
        installed && Self::installed().is_some()
    }

    /// Drives the pages in `folder` by a script of `tests/browser`, and expects it to find nothing wrong.
    pub fn drive(script: &str, folder: &Path) {
        let script = Path::new("tests/browser").join(script);
        let driven = Command::new("node").arg(script).arg(folder).output().unwrap();
        print!("{}", String::from_utf8_lossy(&driven.stdout));
        eprint!("{}", String::from_utf8_lossy(&driven.stderr));
        assert!(driven.status.success());
    }

    /// Opens `page` with `check` as its question and returns what it writes about itself.
    pub fn check(&self, page: &Path, check: &Value) -> Value {
        let dom = self.dom(page, &format!("#check={}", uri_component(&check.to_string())));
        let start = "<script type=\"application/json\" id=\"checked\">";
        let (_, rest) = dom.split_once(start).unwrap_or_else(|| {
            let trouble = dom.split_once("id=\"trouble\"").and_then(|(_, rest)| rest.split_once('<'));
            panic!("the page gave no answer: {}", trouble.map_or("no page", |(text, _)| text))
        });
        serde_json::from_str(rest.split_once("</script>").unwrap().0).unwrap()
    }

    /// Opens `page` and returns its document when all is done.
    pub fn dom(&self, page: &Path, hash: &str) -> String {
        let profile = tempfile::tempdir().unwrap();
        let output = Command::new(&self.0)
            .args([
                "--headless",
                "--no-sandbox",
                "--disable-gpu",
                "--virtual-time-budget=10000000",
                "--dump-dom",
            ])
            .arg(format!("--user-data-dir={}", profile.path().display()))
            .arg(format!("file://{}{hash}", page.canonicalize().unwrap().display()))
            .output()
            .unwrap();
        String::from_utf8(output.stdout).unwrap()
    }
}

/// Returns whether there is something to run scripts with. Where there is not, says so; in continuous integration,
/// which installs it, that fails.
pub fn node_is_installed() -> bool {
    let installed = Command::new("node").arg("--version").output().is_ok_and(|o| o.status.success());
    if !installed {
        assert!(std::env::var_os("CI").is_none(), "no `node` on the path");
        println!("skipped: there is no `node` on the path to run scripts with");
    }
    installed
}

fn uri_component(text: &str) -> String {
    text.bytes()
        .map(|b| if b.is_ascii_alphanumeric() { char::from(b).to_string() } else { format!("%{b:02X}") })
        .collect()
}

/// A set to be made: of the first pickup, or of the whole guitar where its file says how its pickups are joined.
pub struct SetOf<'s> {
    pub guitar: &'s Guitar,
    pub voices: &'s [&'s str],
    pub sound: &'s Sound,
    pub channels: Channels,
    pub model: Model,
    pub by: MatchBy,
    pub recorded: Option<&'s Recorded>,
    /// Remarks that the figures carry beside their own.
    pub notes: &'s [&'s str],
}

/// A set as written, in memory, and its page.
pub struct Made {
    pub figures: SetFigures,
    /// The planes of each file, matched and as is, of each voice in turn, as an independent reader reads them.
    pub files: Vec<[Vec<Vec<f64>>; 2]>,
    pub excerpt: Excerpt,
    pub page: String,
}

impl SetOf<'_> {
    fn scope(&self) -> Scope<'_> {
        let are_positions = self.voices.iter().all(|name| name.contains([':', '=']));
        if are_positions { Scope::Guitar } else { (&self.guitar.pickups()[0]).into() }
    }

    pub fn responses(&self) -> Vec<VoiceResponse> {
        let of = |name: &&str| {
            let voice = match self.scope() {
                Scope::Pickup(_) => Voice::of(name.parse().unwrap()),
                Scope::Guitar => Voice::at_position(self.guitar, name).unwrap(),
            };
            voice.response(self.guitar, self.scope()).unwrap()
        };
        self.voices.iter().map(of).collect()
    }

    pub fn make(&self, excerpt: Excerpt) -> Made {
        let responses = self.responses();
        let configuration = Configuration {
            guitar: self.guitar,
            scope: self.scope(),
            rate_hz: self.sound.rate_hz(),
            source_channels: self.sound.channels(),
            channels: self.channels,
            model: self.model,
            recorded: self.recorded,
            hum: None,
        };
        let spec = SetSpec {
            configuration,
            sound: self.sound,
            responses: &responses,
            baseline: 0,
            by: self.by,
            depth: Depth::Pcm24,
            with_impulses: false,
            with_spectra: false,
            listening_level: DbSpl::new(75.0),
            workers: 2,
        };
        let mut figures = SetFigures::new(self.guitar, self.scope(), self.voices[0]);
        figures.notes.extend(self.notes.iter().map(ToString::to_string));
        for response in &responses {
            let told = ArrangementFigures::new(response.voice().name(), &response.figures().unwrap(), None);
            figures.arrangements.push(told);
        }
        let mut open = |_: &str| Ok(std::io::Cursor::new(Vec::new()));
        let written = spec.fill(&mut figures, &mut open, &|_| ()).unwrap().files;
        let planes: Vec<Vec<Vec<f64>>> =
            written.into_iter().map(|file| planes_of(&file.into_inner())).collect();
        let files = planes.chunks(2).map(|pair| [pair[0].clone(), pair[1].clone()]).collect();
        let picture = Picture::new(&responses, &figures).unwrap();
        let illustration = Illustration {
            title: "Responses".to_owned(),
            description: "The response at the jack of each arrangement".to_owned(),
            light: svg(&picture, Theme::Light),
            dark: svg(&picture, Theme::Dark),
        };
        let data = PageData {
            configuration: &spec.configuration,
            voices: &responses,
            figures: &figures,
            matched_by: self.by,
            excerpt: &excerpt,
            illustrations: &[illustration],
        };
        let page = listen_page(&data).unwrap();
        Made { figures, files, excerpt, page }
    }
}

impl Made {
    /// Returns the part of a file's planes that the page plays.
    pub fn played(&self, file: &[Vec<f64>]) -> Vec<Vec<f64>> {
        let played = self.excerpt.played();
        let [start, end] = [played.start, played.end].map(|frame| usize::try_from(frame).unwrap());
        file.iter().map(|plane| plane[start..end].to_vec()).collect()
    }
}

fn planes_of(bytes: &[u8]) -> Vec<Vec<f64>> {
    let mut reader = hound::WavReader::new(bytes).unwrap();
    let channels = usize::from(reader.spec().channels);
    let mut planes = vec![Vec::new(); channels];
    for (i, sample) in reader.samples::<i32>().enumerate() {
        planes[i % channels].push(f64::from(sample.unwrap()) / f64::from(1 << 23));
    }
    planes
}

/// Returns the gain that the page has for a voice at `matched` or `true` levels.
pub fn gain_from(checked: &Value, voice: &str, levels: &str) -> f64 {
    checked["voices"][voice]["gains"][levels].as_f64().unwrap()
}

/// Returns the channels that the page made of a voice, times a gain.
pub fn planes_from(checked: &Value, voice: &str, gain: f64) -> Vec<Vec<f64>> {
    let plane = |text: &Value| {
        let bytes = STANDARD.decode(text.as_str().unwrap()).unwrap();
        let floats = bytes.chunks_exact(4).map(|b| f32::from_le_bytes(b.try_into().unwrap()));
        floats.map(|x| f64::from(x) * gain).collect()
    };
    checked["voices"][voice]["planes"].as_array().unwrap().iter().map(plane).collect()
}

/// Returns the residual of `ours` against `theirs` in decibels: RMS of the difference over RMS.
pub fn residual_db(ours: &[Vec<f64>], theirs: &[Vec<f64>]) -> f64 {
    assert_eq!(ours.len(), theirs.len(), "channels");
    let power = |planes: &mut dyn Iterator<Item = f64>| planes.map(|x| x * x).sum::<f64>();
    for (one, other) in ours.iter().zip(theirs) {
        assert_eq!(one.len(), other.len(), "frames");
    }
    let pairs = || ours.iter().flatten().zip(theirs.iter().flatten());
    let off = power(&mut pairs().map(|(a, b)| a - b));
    let all = power(&mut theirs.iter().flatten().copied());
    assert!(off.is_finite() && all > 0.0);
    10.0 * (off / all).log10()
}
