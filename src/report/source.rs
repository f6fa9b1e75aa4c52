//! The source of a set, and what is heard of a guitar, as data.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::render::{Channels, MatchBy, Model};
use crate::response::Scope;

/// The source of a set and how it was taken.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SourceFigures {
    /// The file's name without its path, or what the built-in source is called.
    pub file: String,
    /// Samples a second.
    pub rate_hz: u32,
    /// Channels.
    pub channels: usize,
    /// Length in seconds.
    pub duration_s: f64,
    /// What it was recorded through.
    pub recorded_through: RecordedThrough,
    /// What the channels stand for.
    pub channels_are: Channels,
    /// What the voices were rendered by.
    pub model: Model,
    /// The frequency of the mains whose hum was added; null where none was.
    #[serde(default)]
    pub hum_hz: Option<u32>,
    /// The RMS level of the hum's EMF in a coil of one turn, the source's full scale being 1 in a coil of output 1.
    #[serde(default)]
    pub hum_level_dbfs: Option<f64>,
    /// The sound pressure level at which the baseline's as-is file is taken to be heard.
    #[serde(default)]
    pub listening_level_db_spl: Option<f64>,
    /// What the matched files are matched by.
    pub matched_by: MatchedBy,
    /// How the spectral centroid is defined.
    pub spectral_centroid: String,
    /// How RMS is counted.
    pub rms: String,
}

/// What of a guitar is heard, by name; as text the pickup's name, or `whole guitar`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(from = "String", into = "String")]
pub enum ScopeName {
    /// One pickup, of this name.
    Pickup(String),
    /// All pickups as the guitar joins them.
    Guitar,
}

impl From<Scope<'_>> for ScopeName {
    fn from(scope: Scope<'_>) -> Self {
        match scope {
            Scope::Pickup(pickup) => Self::Pickup(pickup.name().to_string()),
            Scope::Guitar => Self::Guitar,
        }
    }
}

impl From<String> for ScopeName {
    fn from(text: String) -> Self {
        if text == Scope::Guitar.to_string() { Self::Guitar } else { Self::Pickup(text) }
    }
}

impl From<ScopeName> for String {
    fn from(name: ScopeName) -> Self {
        name.to_string()
    }
}

impl fmt::Display for ScopeName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Pickup(name) => f.pad(name),
            Self::Guitar => Scope::Guitar.fmt(f),
        }
    }
}

/// What a source was recorded through; as text the voice's name, or `neutral`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(from = "String", into = "String")]
pub enum RecordedThrough {
    /// Nothing: it is held for the strings' own sound.
    Neutral,
    /// The voice of this name.
    Voice(String),
}

/// The text of a source that was recorded through nothing.
const NEUTRAL: &str = "neutral";

impl From<String> for RecordedThrough {
    fn from(text: String) -> Self {
        if text == NEUTRAL { Self::Neutral } else { Self::Voice(text) }
    }
}

impl From<RecordedThrough> for String {
    fn from(through: RecordedThrough) -> Self {
        match through {
            RecordedThrough::Neutral => NEUTRAL.to_owned(),
            RecordedThrough::Voice(name) => name,
        }
    }
}

/// What files are matched by in the end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum MatchedBy {
    /// Integrated loudness.
    Loudness,
    /// RMS.
    Rms,
    /// Nothing: all are silent.
    Nothing,
}

impl From<Option<MatchBy>> for MatchedBy {
    fn from(by: Option<MatchBy>) -> Self {
        match by {
            Some(MatchBy::Loudness) => Self::Loudness,
            Some(MatchBy::Rms) => Self::Rms,
            None => Self::Nothing,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_told_by_a_word_is_read_back_from_it() {
        let text = |value: &dyn Fn() -> serde_json::Result<String>| value().expect("a text");
        let guitar = Scope::Guitar.into();
        for (name, told) in [(guitar, "\"whole guitar\""), (ScopeName::Pickup("neck".to_owned()), "\"neck\"")]
        {
            assert_eq!(text(&|| serde_json::to_string(&name)), told);
            assert_eq!(serde_json::from_str::<ScopeName>(told).expect("a name"), name);
        }
        let series = RecordedThrough::Voice("series".to_owned());
        for (through, told) in [(RecordedThrough::Neutral, "\"neutral\""), (series, "\"series\"")] {
            assert_eq!(text(&|| serde_json::to_string(&through)), told);
            assert_eq!(serde_json::from_str::<RecordedThrough>(told).expect("a name"), through);
        }
        let words = [
            text(&|| serde_json::to_string(&[Channels::Stereo, Channels::Coils])),
            text(&|| serde_json::to_string(&[Model::Circuit, Model::SecondOrder])),
            text(&|| serde_json::to_string(&[MatchedBy::Loudness, MatchedBy::Rms, MatchedBy::Nothing])),
        ];
        assert_eq!(
            words,
            [r#"["stereo","coils"]"#, r#"["circuit","second-order"]"#, r#"["loudness","rms","nothing"]"#]
        );
    }
}
