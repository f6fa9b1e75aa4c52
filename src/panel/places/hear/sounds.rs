//! The sounds that are played, as they were read.

use std::fs;
use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};

use drywire::job::{Source, SourceError};
use drywire::page::Excerpt;
use drywire::quantity::Seconds;
use drywire::render::Channels;
use drywire::response::Selection;
use drywire::sound::Sound;

use super::super::shown::Shown;
use crate::panel::guitars::{FolderName, Guitars, GuitarsError, TakesFor};

/// The most sounds that are kept.
const MOST: usize = 3;
/// The longest part of a take that is played at once.
pub(super) const LONGEST: Seconds = Seconds::new(60.0);

/// A sound that is played.
#[derive(Debug)]
pub(super) struct Played {
    /// What is played, with what rings before it.
    pub(super) source: Source,
    /// How many frames of it lie before what is played.
    pub(super) lead: u64,
    /// How many frames are played.
    pub(super) frames: u64,
    /// Where in the take they begin, how long they last, and how long the take is.
    pub(super) times: [Seconds; 3],
}

/// The sounds that were played last.
#[derive(Debug, Default)]
pub(crate) struct KnownSounds(Mutex<Vec<(String, Arc<Played>)>>);

/// Why there is no sound.
#[derive(Debug, thiserror::Error)]
pub(super) enum NoSound {
    #[error(transparent)]
    Guitars(#[from] GuitarsError),
    #[error(transparent)]
    Source(#[from] SourceError),
    #[error("there is no built-in take `{0}`")]
    Unknown(String),
    #[error("the take lasts {0}")]
    PastTheEnd(Seconds),
    #[error("`{0}` is not a time in seconds such as 75 or 1:15")]
    Time(String),
}

impl NoSound {
    pub(super) fn hint(&self) -> String {
        match self {
            Self::Guitars(error) => error.hint(),
            Self::Source(error) => error.hint(),
            Self::Unknown(_) => "choose one of the list".to_owned(),
            Self::PastTheEnd(_) => "begin before that, or leave it empty for the loudest part".to_owned(),
            Self::Time(_) => "leave it empty for the loudest part".to_owned(),
        }
    }
}

impl KnownSounds {
    /// Returns the sound that is `shown` of the guitar in the folder `own`.
    pub(super) fn of(
        &self,
        guitars: &Guitars,
        own: &FolderName,
        selection: &Selection<'_>,
        shown: &Shown,
    ) -> Result<Arc<Played>, NoSound> {
        let (guitar, scope) = (selection.guitar(), selection.scope());
        let path = match shown.own_take() {
            Some(name) => Some(guitars.take(own, TakesFor::Hearing, name)?),
            None => None,
        };
        let changed = path
            .as_ref()
            .and_then(|path| fs::metadata(path).ok())
            .map(|file| (file.modified().ok(), file.len()));
        // A chord is plucked where the coils lie.
        let strings = format!("{:?}{:?}", guitar.scale(), scope.places_by_pickup(guitar));
        let channels = shown.channels();
        let key = format!("{own} {} {} {channels:?} {changed:?} {strings}", shown.take, shown.from);
        let mut known = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(place) = known.iter().position(|(own, _)| *own == key) {
            let found = known.remove(place);
            let played = Arc::clone(&found.1);
            known.push(found);
            return Ok(played);
        }
        drop(known);
        let source = match &path {
            Some(path) => Source::open(path, channels, false)?,
            None if shown.take.is_empty() => Source::plucked(guitar, scope)?,
            None => Source::built_in(&shown.take).ok_or_else(|| NoSound::Unknown(shown.take.clone()))??,
        };
        let played = Arc::new(played(source, &shown.from)?);
        let mut known = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if known.len() >= MOST {
            known.remove(0);
        }
        known.push((key, Arc::clone(&played)));
        Ok(played)
    }
}

/// Hears the part of a new take that is played first.
///
/// # Errors
/// [`NoSound`] where it cannot be.
pub(super) fn heard_of(path: &Path) -> Result<(), NoSound> {
    played(Source::open(path, None, false)?, "").map(|_| ())
}

/// Returns the part of `source` that is played, the loudest where none is asked for.
fn played(source: Source, from: &str) -> Result<Played, NoSound> {
    let from = match from.trim() {
        "" => None,
        given => Some(seconds(given).ok_or_else(|| NoSound::Time(given.to_owned()))?),
    };
    if from.is_some_and(|start| start >= source.sound.duration()) {
        return Err(NoSound::PastTheEnd(source.sound.duration()));
    }
    let excerpt = match from {
        Some(start) => Excerpt::at(&source.sound, start, LONGEST),
        None => Excerpt::loudest(&source.sound, LONGEST),
    };
    let excerpt = excerpt.map_err(SourceError::from)?;
    let (lead, range, times) = (excerpt.lead(), excerpt.played(), excerpt.times());
    let Source { sound, channels, is_made } = source;
    let sound = if excerpt.is_whole() {
        sound
    } else {
        Sound::from_planes(sound.file_name(), sound.rate_hz(), excerpt.planes().to_vec())
            .map_err(SourceError::from)?
    };
    Ok(Played { source: Source { sound, channels, is_made }, lead, frames: range.end - range.start, times })
}

impl Played {
    /// Returns how many coils have a channel each; none where the sound tells them not apart.
    pub(super) fn coils(&self) -> usize {
        match self.source.channels {
            Channels::Stereo => 0,
            Channels::Coils => self.source.sound.channels(),
        }
    }
}

/// Returns a time that is written as seconds or as minutes and seconds.
fn seconds(text: &str) -> Option<Seconds> {
    let plain = |text: &str| {
        text.trim()
            .trim_end_matches('s')
            .trim()
            .replace(',', ".")
            .parse::<f64>()
            .ok()
            .filter(|s| s.is_finite() && *s >= 0.0)
    };
    let time = match text.split_once(':') {
        Some((minutes, seconds)) => plain(minutes)? * 60.0 + plain(seconds).filter(|s| *s < 60.0)?,
        None => plain(text)?,
    };
    Some(Seconds::new(time))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_time_is_seconds_or_minutes_and_seconds() {
        for (text, time) in [
            ("75", Some(75.0)),
            ("1:15", Some(75.0)),
            ("2,5 s", Some(2.5)),
            ("9:99", None),
            ("-1", None),
            ("soon", None),
        ] {
            assert_eq!(seconds(text), time.map(Seconds::new), "{text}");
        }
    }
}
