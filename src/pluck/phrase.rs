//! A phrase in text: what is played, one event after the other.
//!
//! Events stand apart by white space, and a `|` between them is for the eye alone. An event is
//!
//! ```text
//! [^] WHAT [@STRING] [:BEATS] [*FORCE] [~]
//! ```
//!
//! where WHAT is a note (`E2`, `A#3`, `Bb2`), the frets of a chord from the lowest string to the highest
//! (`022100`, `x` for a string not played, dots between them where a fret has two digits: `x.10.12.12.12.10`),
//! or `-` for a pause. `^` strums from the highest string. STRING, 1 for the highest to 6, says where a note is
//! played; otherwise it is the string on which the fret is lowest. BEATS hold until others are given, one at
//! first. FORCE, above 0 up to 1, is this event's own. A note sounds until the next event, with `~` until its
//! string is played again; the last event sounds to the end.

use std::ops::Range;

use super::{FRETS, Pitch, STANDARD};
use crate::document::{Fault, Refusal};
use crate::quantity::counted;

/// The longest phrase in bytes of text.
pub(super) const MAX_TEXT: usize = 16 * 1024;

/// What is played, checked: at least one note, and no note that the guitar does not have.
#[derive(Debug, Clone, PartialEq)]
pub struct Phrase {
    events: Vec<Event>,
}

/// What happens at one moment, and how long until the next.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Event {
    pub(super) beats: f64,
    pub(super) force: f64,
    pub(super) rings: bool,
    /// The strings in the order in which they are struck; none in a pause.
    pub(super) strokes: Vec<Stroke>,
}

/// A string struck at a fret.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Stroke {
    /// Counted from the lowest, 0 to 5.
    pub(super) string: usize,
    pub(super) fret: u8,
}

const BEATS: &str = "a number of beats from 0.0625 to 64";

impl Phrase {
    /// Returns the phrase that `text` states, which messages call `name`.
    ///
    /// # Errors
    /// [`Refusal`] with every event that cannot be read or played, each in its place.
    pub fn parse(name: &str, text: &str) -> Result<Self, Refusal> {
        let mut faults = Vec::new();
        let mut events = Vec::new();
        let mut beats = 1.0;
        if text.len() > MAX_TEXT {
            faults.push(
                Fault::new(0..0, format!("a phrase of {} bytes; at most {MAX_TEXT} are read", text.len()))
                    .hint("play it in two parts"),
            );
        } else {
            for (word, at) in words(text).filter(|(word, _)| *word != "|") {
                match read_event(word, at, &mut beats) {
                    Ok(event) => events.push(event),
                    Err(fault) => faults.push(fault),
                }
            }
            if faults.is_empty() && events.iter().all(|event| event.strokes.is_empty()) {
                faults.push(Fault::new(0..text.len(), "a phrase without a note").hint("try `E2`"));
            }
        }
        if faults.is_empty() { Ok(Self { events }) } else { Err(Refusal::new(name, text, faults)) }
    }

    pub(super) fn events(&self) -> &[Event] {
        &self.events
    }
}

/// The words of `text`, each with the bytes at which it stands.
fn words(text: &str) -> impl Iterator<Item = (&str, Range<usize>)> {
    let mut next = 0;
    text.split_inclusive(char::is_whitespace)
        .map(move |piece| {
            let (start, word) = (next, piece.trim_end());
            next += piece.len();
            (word, start..start + word.len())
        })
        .filter(|(word, _)| !word.is_empty())
}

fn read_event(word: &str, at: Range<usize>, beats: &mut f64) -> Result<Event, Fault> {
    let fault = |message: String, hint: &str| Fault::new(at.clone(), message).hint(hint);
    let (rest, rings) = word.strip_suffix('~').map_or((word, false), |rest| (rest, true));
    let (rest, force) = split(rest, '*');
    let (rest, length) = split(rest, ':');
    let (rest, place) = split(rest, '@');
    let (what, upward) = rest.strip_prefix('^').map_or((rest, false), |rest| (rest, true));

    if let Some(given) = length {
        *beats = number(given, |b| (0.0625..=64.0).contains(&b))
            .ok_or_else(|| fault(format!("`:{given}` is not {BEATS}"), "such as `E2:1.5`"))?;
    }
    let force = match force {
        None => 1.0,
        Some(given) => number(given, |f| f > 0.0 && f <= 1.0).ok_or_else(|| {
            fault(format!("`*{given}` is not a force above 0 and up to 1"), "such as `E2*0.5`")
        })?,
    };
    let place = match place {
        None => None,
        Some(given) => Some(string_number(given).ok_or_else(|| {
            fault(
                format!("`@{given}` is not a string, 1 for the highest to 6 for the lowest"),
                "such as `E4@2`",
            )
        })?),
    };
    let chord = frets(what);
    if upward && chord.is_none() {
        return Err(fault(format!("`^` strums a chord upward, and `{what}` is none"), "such as `^022100`"));
    }
    let strokes = match (what, chord) {
        ("-", _) => Vec::new(),
        (_, Some(Ok(mut strokes))) => {
            if upward {
                strokes.reverse();
            }
            strokes
        }
        (_, Some(Err(message))) => {
            return Err(fault(
                message,
                "six frets from the lowest string to the highest, such as `022100`, `x32010` or `x.10.12.12.12.10`",
            ));
        }
        (note, None) => {
            let pitch: Pitch = note.parse().map_err(|e: super::UnknownNote| {
                fault(e.to_string(), "or six frets such as `022100`, or `-`")
            })?;
            vec![
                stroke(pitch, place)
                    .map_err(|message| fault(message, "the open strings are E2 A2 D3 G3 B3 E4"))?,
            ]
        }
    };
    if place.is_some() && (strokes.len() != 1 || frets(what).is_some()) {
        return Err(fault(
            format!("`@` says where a single note is played, and `{what}` is none"),
            "leave it out",
        ));
    }
    Ok(Event { beats: *beats, force, rings, strokes })
}

fn split(text: &str, mark: char) -> (&str, Option<&str>) {
    text.split_once(mark).map_or((text, None), |(before, after)| (before, Some(after)))
}

fn number(text: &str, allowed: impl Fn(f64) -> bool) -> Option<f64> {
    crate::quantity::parse_plain(text).ok().filter(|value| allowed(*value))
}

/// The string of a number from 1, the highest, counted from the lowest.
fn string_number(text: &str) -> Option<usize> {
    let &[digit @ b'1'..=b'6'] = text.as_bytes() else { return None };
    Some(STANDARD.len() - usize::from(digit - b'0'))
}

/// The strokes of a chord, low string first; `None` where `text` is none, an error where it is a wrong one.
fn frets(text: &str) -> Option<Result<Vec<Stroke>, String>> {
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit() || b == b'x');
    let parts: Vec<&str> = if text.contains('.') {
        text.split('.').collect()
    } else {
        (text.len() > 1 && digits(text)).then(|| text.split("").filter(|p| !p.is_empty()).collect())?
    };
    if parts.len() != STANDARD.len() {
        return Some(Err(format!(
            "`{text}` has {} for {} strings",
            counted(parts.len(), "fret"),
            STANDARD.len()
        )));
    }
    let mut strokes = Vec::new();
    for (string, part) in parts.into_iter().enumerate() {
        match part.parse() {
            _ if part == "x" => {}
            Ok(fret) if fret <= FRETS && digits(part) => strokes.push(Stroke { string, fret }),
            _ => return Some(Err(format!("`{part}` is no fret from 0 to {FRETS}, nor `x`"))),
        }
    }
    Some(if strokes.is_empty() { Err(format!("`{text}` plays no string")) } else { Ok(strokes) })
}

/// Where `pitch` is played: on the string asked for, or on the one with the lowest fret.
fn stroke(pitch: Pitch, place: Option<usize>) -> Result<Stroke, String> {
    let strings = place.map_or(0..STANDARD.len(), |string| string..string + 1);
    strings
        .filter_map(|string| {
            let fret = pitch.semitones_above(STANDARD[string].open()).filter(|fret| *fret <= FRETS)?;
            Some(Stroke { string, fret })
        })
        .min_by_key(|stroke| stroke.fret)
        .ok_or_else(|| match place {
            Some(string) => format!(
                "`{pitch}` is not on string {}, which has {} and the {FRETS} frets above it",
                STANDARD.len() - string,
                STANDARD[string].open()
            ),
            None => format!("`{pitch}` is on none of the six strings with their {FRETS} frets"),
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(text: &str) -> Vec<String> {
        let refusal = Phrase::parse("--notes", text).expect_err(text);
        refusal.faults().iter().map(|f| format!("{} {}", f.span.start, f.message)).collect()
    }

    fn strokes(text: &str) -> Vec<(usize, u8)> {
        let phrase = Phrase::parse("x", text).unwrap();
        phrase.events.iter().flat_map(|e| &e.strokes).map(|s| (s.string, s.fret)).collect()
    }

    #[test]
    fn notes_chords_and_pauses_are_read_with_what_belongs_to_them() {
        let phrase = Phrase::parse("x", "E2:0.5*0.7 A#3~ | -:2\n^x02210").unwrap();
        let told: Vec<_> =
            phrase.events.iter().map(|e| (e.beats, e.force, e.rings, e.strokes.len())).collect();
        assert_eq!(
            told,
            [(0.5, 0.7, false, 1), (0.5, 1.0, true, 1), (2.0, 1.0, false, 0), (2.0, 1.0, false, 5)]
        );
        assert_eq!(phrase.events[3].strokes[0], Stroke { string: 5, fret: 0 });
    }

    #[test]
    fn a_note_is_played_where_its_fret_is_lowest_unless_a_string_is_named() {
        assert_eq!(strokes("E2 F#2 A2 Bb3 E4 E6"), [(0, 0), (0, 2), (1, 0), (3, 3), (5, 0), (5, 24)]);
        assert_eq!(strokes("E4@1 E4@2 E4@6"), [(5, 0), (4, 5), (0, 24)]);
    }

    #[test]
    fn frets_of_two_digits_stand_between_dots() {
        assert_eq!(strokes("x.10.12.12.12.10"), [(1, 10), (2, 12), (3, 12), (4, 12), (5, 10)]);
        assert_eq!(strokes("022100"), strokes("0.2.2.1.0.0"));
    }

    #[test]
    fn every_event_that_cannot_be_played_is_refused_in_its_place() {
        assert_eq!(
            told("E2 H2 D2 E2@1 E2:0 E2*2 02210 ^E2 x.25.0.0.0.0 022100@6 xxxxxx"),
            [
                "3 `H2` is no note: a letter A to G, `#` or `b` if any, and the octave 0 to 8, such as E2, A#3 or Bb2",
                "6 `D2` is on none of the six strings with their 24 frets",
                "9 `E2` is not on string 1, which has E4 and the 24 frets above it",
                "14 `:0` is not a number of beats from 0.0625 to 64",
                "19 `*2` is not a force above 0 and up to 1",
                "24 `02210` has 5 frets for 6 strings",
                "30 `^` strums a chord upward, and `E2` is none",
                "34 `25` is no fret from 0 to 24, nor `x`",
                "47 `@` says where a single note is played, and `022100` is none",
                "56 `xxxxxx` plays no string",
            ]
        );
        assert_eq!(told(" - | -"), ["0 a phrase without a note"]);
        assert_eq!(told(&"E2 ".repeat(MAX_TEXT)).len(), 1);
    }

    proptest::proptest! {
        #[test]
        fn no_text_panics(text in "[-A-Hb#0-9x.:*@~^| é]{0,40}") {
            let _ = Phrase::parse("x", &text);
        }
    }
}
