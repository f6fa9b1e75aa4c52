//! Sets made in memory, their pages, and what a page that checks itself says of them.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use drywire::amp::Amplification;
use drywire::guitar::Guitar;
use drywire::page::{Excerpt, Illustration, PageData, USUAL_EXCERPT, listen_page};
use drywire::plot::{Picture, Theme, svg};
use drywire::quantity::DbSpl;
use drywire::render::{Channels, Configuration, MatchBy, Model};
use drywire::report::{ArrangementFigures, SetFigures};
use drywire::response::{Recorded, Scope, Voice, VoiceResponse};
use drywire::set::SetSpec;
use drywire::sound::{Depth, Sound};
use serde_json::Value;

/// A set to be made: of the first pickup, or of the whole guitar where its file says how its pickups are joined.
pub struct SetOf<'s> {
    pub guitar: &'s Guitar,
    pub voices: &'s [&'s str],
    pub sound: &'s Sound,
    pub channels: Channels,
    pub model: Model,
    pub by: MatchBy,
    pub recorded: Option<&'s Recorded>,
    /// The amplifier that the files are heard through.
    pub amplification: Option<Amplification>,
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

impl<'s> SetOf<'s> {
    /// A set as most are: of the source as it is, of the whole circuit, matched by loudness.
    pub fn new(guitar: &'s Guitar, voices: &'s [&'s str], sound: &'s Sound) -> Self {
        let (channels, model, by) = (Channels::Stereo, Model::Circuit, MatchBy::Loudness);
        Self { guitar, voices, sound, channels, model, by, recorded: None, amplification: None, notes: &[] }
    }

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

    /// Makes the set, its page with the usual excerpt.
    pub fn make(&self) -> Made {
        self.with(Excerpt::loudest(self.sound, USUAL_EXCERPT).unwrap())
    }

    pub fn with(&self, excerpt: Excerpt) -> Made {
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
            amplification: self.amplification,
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
        let filled = spec.fill(&mut figures, &mut open, &|_| ()).unwrap();
        let written = filled.files;
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
            without: filled.without.as_ref().map(|without| &without.figures),
            matched_by: filled.without.as_ref().map_or(self.by, |without| without.by),
            files_matched_by: filled.by,
            loudest: filled.loudest,
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
