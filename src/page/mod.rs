//! `listen.html`: one file that plays a set, by itself, without any network; and `survey.html`, one to look through a
//! survey.
//!
//! The page carries the source once, at 24 bits, and for each voice the equations of its circuit. Its script solves
//! them, makes the kernels as the program does, and hears the source through all of them at once; so knobs can be
//! turned to any position, and a listener's own sound can take the source's place.
//!
//! The script and the style sheet stand under `src/page/` as they are read. A content security policy allows exactly
//! these two, by their digests, and no request. Text from files enters as text only: escaped where the program writes
//! it, by `textContent` where the script does.
//!
//! Behind the amplifier a voice is worked out by the same worker in double precision, piece by piece, and played from as
//! soon as there is enough of it. Opened with `#check={"voices":["series"],"turned":{"volume":5},"amp":"edge"}` (every part
//! optional, as a URI component) the page writes into the element `checked`, as JSON, what it makes of the source: for each voice its `gains` (`matched` and
//! `true`) and, before any gain, the samples of each channel as 32-bit floats in base64. With `#check` alone it lays
//! its mixer open as `globalThis.bench`, for tests that drive a browser.

mod amplifier;
mod excerpt;
pub mod html;
mod parts;
mod payload;
mod survey;
mod terms;
mod values;

pub use excerpt::{Excerpt, USUAL_EXCERPT};
pub use parts::{BLIND_PART, BlindRun, PARTS_SCRIPT, WAVE_PART, WAVE_STYLE};
pub use payload::answer_of;
pub use survey::survey_page;
pub use terms::Glossary;

use html::table;
use payload::Payload;

use crate::cautions;
use crate::markup::{COLOURS, COMPONENTS, Head, base64, content, escaped, filled, json_in_script, list};
use crate::plot::hue_style;
use crate::render::{Configuration, MatchBy, RenderError};
use crate::report::{RecordedThrough, SetFigures};
use crate::response::{OneChannel, VoiceError, VoiceResponse};
use crate::words;

const TEMPLATE: &str = include_str!("listen.html");
const STYLE: &str = include_str!("listen.css");
/// What takes long: run in the page, and in a worker that is made of it.
const ENGINE: &str = concat!(
    include_str!("script/transform.js"),
    include_str!("script/largest.js"),
    include_str!("script/kernel.js"),
    include_str!("script/circuit.js"),
    include_str!("script/voice.js"),
    include_str!("script/resonance.js"),
    include_str!("script/levels.js"),
    include_str!("script/amp.js"),
    include_str!("script/amplified.js"),
    include_str!("script/engine.js"),
);
const SCRIPT: &str = concat!(
    include_str!("script/made.js"),
    include_str!("script/draw.js"),
    include_str!("script/calls.js"),
    include_str!("script/player.js"),
    include_str!("script/tape.js"),
    include_str!("script/reel.js"),
    include_str!("script/loudness.js"),
    include_str!("script/known.js"),
    include_str!("script/behind.js"),
    include_str!("script/mixer.js"),
    include_str!("script/sounds.js"),
    include_str!("script/own.js"),
    include_str!("script/knob.js"),
    include_str!("script/wave.js"),
    include_str!("script/answers.js"),
    include_str!("script/cards.js"),
    include_str!("script/curves.js"),
    include_str!("script/terms.js"),
    include_str!("script/blind.js"),
    include_str!("script/check.js"),
    include_str!("script/main.js"),
);

/// A picture for the page, once for light and once for dark surroundings.
#[derive(Debug, Clone)]
pub struct Illustration {
    /// The heading above it.
    pub title: String,
    /// What it shows, for those who do not see it.
    pub description: String,
    /// An SVG document for light surroundings.
    pub light: String,
    /// The same for dark ones.
    pub dark: String,
}

/// What a page is made of.
#[derive(Debug, Clone)]
pub struct PageData<'d> {
    /// The guitar, the pickup and how the source was taken.
    pub configuration: &'d Configuration<'d>,
    /// The voices in their order.
    pub voices: &'d [VoiceResponse],
    /// The figures of the set; those of a voice are found by its name.
    pub figures: &'d SetFigures,
    /// The figures of the sound that is played where the files are heard through an amplifier: those without it.
    pub without: Option<&'d SetFigures>,
    /// What what is played at the jack is matched by.
    pub matched_by: MatchBy,
    /// What the files are matched by.
    pub files_matched_by: MatchBy,
    /// The loudest moment of the baseline at the jack, as an amplitude, where it is known: by it an amplifier is driven.
    pub loudest: Option<f64>,
    /// The part of the source that is played.
    pub excerpt: &'d Excerpt,
    /// Pictures, such as the responses.
    pub illustrations: &'d [Illustration],
}

impl PageData<'_> {
    /// Returns the figures of what is played.
    fn played(&self) -> &SetFigures {
        self.without.unwrap_or(self.figures)
    }
}

/// Why a page cannot be made.
#[derive(Debug, thiserror::Error)]
pub enum PageError {
    /// A voice's circuit cannot be built.
    #[error(transparent)]
    Voice(#[from] VoiceError),
    /// A voice has no second-order model.
    #[error(transparent)]
    Render(#[from] RenderError),
}

/// Returns the page as one HTML document.
///
/// # Errors
/// [`PageError`] where a voice cannot be carried.
///
/// # Panics
/// Only where this module's own template has a fault, which a test rules out.
pub fn listen_page(data: &PageData<'_>) -> Result<String, PageError> {
    let (samples, unit) = samples(data.excerpt);
    let payload = Payload::of(data, unit)?;
    let json = serde_json::to_string(&payload).expect("the payload holds nothing that JSON cannot");
    let figures = data.figures;
    let head = Head {
        about: &format!("{}, {}", figures.guitar, figures.pickup),
        kind: "listen",
        style: &[COLOURS, &hue_style(), COMPONENTS, WAVE_STYLE, STYLE],
        scripts: &[ENGINE, SCRIPT],
        has_worker: true,
        has_pictures: true,
    };
    let assumed = [figures.assumed.as_slice(), figures.notes.as_slice()].concat();
    let titles: Vec<(&str, String)> = data
        .voices
        .iter()
        .map(|v| (v.voice().name(), words::voice(v, data.configuration.guitar, data.configuration.scope)))
        .collect();
    let baseline = titles.iter().find(|(name, _)| *name == figures.baseline);
    let baseline = content(baseline.map_or(figures.baseline.as_str(), |(_, title)| title));
    let is_approximate =
        |name: &str| figures.arrangements.iter().any(|a| a.name == name && a.approximate == Some(true));
    let row = |name: &str| match titles.iter().find(|(own, _)| *own == name) {
        Some((_, title)) => {
            let mark = if is_approximate(name) { "≈ " } else { "" };
            format!("{mark}{} <span class=\"key\">{}</span>", content(title), content(name))
        }
        None => content(name),
    };
    let source = figures.source.as_ref().map_or("the source", |s| s.file.as_str());
    Ok(filled(
        TEMPLATE,
        &[
            ("head", &head.to_string()),
            ("guitar", &escaped(&figures.guitar)),
            ("about", &content(&about(data))),
            ("baseline", &baseline),
            ("answers_against", &answers_against(&baseline)),
            ("ears", cautions::EARS),
            ("amplifier_is", &format!("{} {}", cautions::DRIVEN, cautions::AMPLIFIER)),
            ("wave", WAVE_PART),
            ("blind", BLIND_PART),
            ("own", &escaped(&own(data))),
            ("levels_against", &format!("Levels and drops are told against {baseline}.")),
            (
                "figures_of",
                &format!(
                    "The figures are those of {}, with the controls as the guitar’s file has them.{}",
                    content(source),
                    if figures.arrangements.iter().any(|a| a.approximate == Some(true)) {
                        format!(
                            " ≈ marks what this source gives only approximately, its level too: within {}.",
                            OneChannel::BOUND
                        )
                    } else {
                        String::new()
                    }
                ),
            ),
            (
                "figures",
                &(table("Figures of the responses", &figures.response_table(), &terms::marked, &row)
                    + &amplifier_table(figures, &row)
                    + &table("Figures of the files", &figures.sound_table(), &terms::marked, &row)
                    + &table("What is heard", &figures.heard_table(), &terms::marked, &row)),
            ),
            ("illustrations", &illustrations(data.illustrations)),
            ("values", &values::values(data.configuration.guitar, data.configuration.scope)),
            ("honesty", &escaped(&figures.honesty)),
            ("assumed", &list(&assumed)),
            ("bench_cautions", &list(&cautions::BENCH)),
            ("program", &escaped(&figures.program)),
            ("terms", &Glossary::FIGURES.notes()),
            ("sound", &base64(&samples)),
            ("set", &json_in_script(&json)),
            ("engine", ENGINE),
            ("script", SCRIPT),
        ],
    ))
}

/// Returns what is left of each change behind the amplifier; nothing where there is none.
fn amplifier_table(figures: &SetFigures, row: &dyn Fn(&str) -> String) -> String {
    figures.amplifier.as_ref().zip(figures.amplifier_table()).map_or_else(String::new, |(amplifier, told)| {
        let heading = format!(
            "Changes at the jack and at the loudspeaker: the files of the set are heard through {}",
            amplifier.words()
        );
        table(&heading, &told, &terms::marked, row)
    })
}

/// Returns what says against what the cards' answers are told, and what their figures are.
fn answers_against(baseline: &str) -> String {
    let figures = terms::marked("as heard, in words and in LU, and brightness, by the spectral centroid");
    format!("What each does against {baseline}: loudness {figures}. ≈ marks what is approximate.")
}

/// Returns the excerpt's samples as 24-bit integers, channel after channel, and the amplitude of one step.
///
/// A step is 2⁻²³ where that holds every sample, and a power of two more where a floating-point source goes above full
/// scale.
fn samples(excerpt: &Excerpt) -> (Vec<u8>, f64) {
    const LARGEST: f64 = 8_388_607.0;
    let highest = excerpt.planes().iter().flatten().fold(0.0f64, |m, x| m.max(x.abs()));
    let mut unit = 2f64.powi(-23);
    // −1 itself is an integer of 24 bits, +1 is not.
    let fits = |unit: f64| {
        let all = excerpt.planes().iter().flatten();
        highest / unit <= LARGEST
            || all.map(|x| (x / unit).round()).all(|n| (-LARGEST - 1.0..=LARGEST).contains(&n))
    };
    while !fits(unit) {
        unit *= 2.0;
    }
    #[expect(
        clippy::cast_possible_truncation,
        reason = "the unit was chosen so that every sample fits 24 bits"
    )]
    let integer = |x: &f64| ((x / unit).round() as i32).to_le_bytes();
    let bytes = excerpt.planes().iter().flatten().flat_map(|x| integer(x).into_iter().take(3)).collect();
    (bytes, unit)
}

fn about(data: &PageData<'_>) -> String {
    let figures = data.figures;
    let [start, length, whole] = data.excerpt.times().map(crate::quantity::Seconds::value);
    let file = figures.source.as_ref().map_or("the source", |s| s.file.as_str());
    let part = if data.excerpt.is_whole() {
        format!("{length:.1} s")
    } else {
        format!("an excerpt: {length:.1} s of {whole:.1} s, from {start:.1} s on")
    };
    let through = match figures.source.as_ref().map(|s| &s.recorded_through) {
        None | Some(RecordedThrough::Neutral) => String::new(),
        Some(RecordedThrough::Voice(through)) => format!(", recorded through {through}"),
    };
    let heard = figures.heard();
    let (first, rest) = heard.split_at(1);
    format!("{}{rest} · {file}, {part}{through}", first.to_uppercase())
}

/// Returns how a listener's own sound is taken.
fn own(data: &PageData<'_>) -> String {
    let through = match data.configuration.recorded {
        None => "as a neutral source, each channel alike".to_owned(),
        Some(recorded) => {
            format!("as if it, too, was recorded through {}", recorded.response().voice().name())
        }
    };
    let limits = if data.voices.iter().any(|v| data.configuration.rule(v).is_approximate()) {
        format!(
            " It does not tell the coils apart, so single coils and coils against each other are approximate: within {}.",
            OneChannel::BOUND
        )
    } else {
        String::new()
    };
    format!("Hear a sound of yours through the same arrangements, taken {through}.{limits}")
}

fn illustrations(illustrations: &[Illustration]) -> String {
    let image = |svg: &str, description: &str, class: &str| {
        format!(
            "<img class=\"{class}\" src=\"data:image/svg+xml;base64,{}\" alt=\"{}\">",
            base64(svg.as_bytes()),
            escaped(description)
        )
    };
    let figure = |p: &Illustration| {
        format!(
            "<section class=\"plot\"><h2>{}</h2>{}{}</section>\n",
            escaped(&p.title),
            image(&p.light, &p.description, "light"),
            image(&p.dark, &p.description, "dark")
        )
    };
    illustrations.iter().map(figure).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Seconds;
    use crate::sound::Sound;

    fn carried(plane: &[f64]) -> (Vec<f64>, f64) {
        let sound = Sound::from_planes("test", 48_000, vec![plane.to_vec()]).unwrap();
        let (bytes, unit) = samples(&Excerpt::loudest(&sound, Seconds::new(1.0)).unwrap());
        let integer = |b: &[u8]| i32::from_le_bytes([0, b[0], b[1], b[2]]) >> 8;
        (bytes.chunks_exact(3).map(|b| f64::from(integer(b)) * unit).collect(), unit)
    }

    #[test]
    fn samples_of_24_bits_are_carried_without_loss() {
        let step = 2f64.powi(-23);
        let plane = [0.0, step, -step, 0.5, -0.5, 1.0 - step, -1.0, 1234567.0 * step];
        assert_eq!(carried(&plane), (plane.to_vec(), step));
    }

    #[test]
    fn samples_above_full_scale_are_carried_in_larger_steps() {
        let (back, unit) = carried(&[1.0, -3.75, 0.25]);
        assert_eq!((back, unit), (vec![1.0, -3.75, 0.25], 2f64.powi(-21)));
    }

    #[test]
    fn the_script_and_the_style_cannot_end_their_elements() {
        for script in [ENGINE, SCRIPT] {
            assert!(!script.contains("</script") && !script.contains("<!--"));
        }
        assert!(!STYLE.contains("</style"));
    }
}
