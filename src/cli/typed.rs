//! What is typed after an option: one reader for each kind of value, its unit written or not.

use std::ops::RangeInclusive;

use drywire::quantity::{Hertz, Quantity, Seconds, parse_plain, parse_quantity};

/// A number with a unit of its own, such as a level: the spellings of the unit, the longest first and all in small
/// letters, and what is told where it is none.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Kind {
    units: &'static [&'static str],
    /// What is wanted, in a few words.
    wanted: &'static str,
}

/// A difference of levels.
pub(crate) const DECIBELS: Kind = Kind { units: &["db"], wanted: "a number of decibels" };
/// A level against digital full scale.
pub(crate) const FULL_SCALE: Kind =
    Kind { units: &["dbfs", "db fs", "db"], wanted: "a number of decibels against full scale" };
/// A sound pressure level.
pub(crate) const SOUND_PRESSURE: Kind =
    Kind { units: &["db spl", "dbspl", "db(spl)", "db"], wanted: "a number of decibels" };
/// A tempo.
pub(crate) const BEATS: Kind =
    Kind { units: &["beats a minute", "bpm", "/min"], wanted: "a number of beats a minute" };
/// A number without any unit.
pub(crate) const FACTOR: Kind = Kind { units: &["×", "x"], wanted: "a number" };

impl Kind {
    /// Returns the finite number that `text` states, its unit written or not; `allowed` is only told.
    pub(crate) fn number(self, text: &str, allowed: &RangeInclusive<f64>) -> Result<f64, String> {
        let text = plain_minus(text);
        let small = text.to_lowercase();
        let bare = self.units.iter().find_map(|unit| small.strip_suffix(unit)).unwrap_or(&small);
        parse_plain(bare).map_err(|_| self.refusal(allowed))
    }

    /// Returns the number that `text` states where it is one of those `allowed`.
    pub(crate) fn number_within(self, text: &str, allowed: &RangeInclusive<f64>) -> Result<f64, String> {
        let number = self.number(text, allowed)?;
        if allowed.contains(&number) { Ok(number) } else { Err(self.refusal(allowed)) }
    }

    fn refusal(self, allowed: &RangeInclusive<f64>) -> String {
        format!("{} from {} to {} is wanted", self.wanted, allowed.start(), allowed.end())
    }
}

/// Returns the quantity that an option's text states, or why it is none.
pub(crate) fn quantity<Q: Quantity>(text: &str) -> Result<Q, String> {
    parse_quantity(&plain_minus(text)).map_err(|e| e.to_string())
}

/// Returns the moment or length of time that an option's text states, which is not below zero.
pub(crate) fn time(text: &str) -> Result<Seconds, String> {
    let time: Seconds = quantity(text)?;
    if time.value() < 0.0 { Err(format!("{time} is below zero; allowed is from 0 s")) } else { Ok(time) }
}

/// Returns the part of a sound that an option's text states, such as `0.5s-1.5s`, or why it states none.
pub(crate) fn part(text: &str) -> Result<(Seconds, Seconds), String> {
    const SHORTEST: f64 = 0.05;
    let ends = text.split_once(['-', '\u{2013}']).or_else(|| text.split_once(" to "));
    let (from, to) = ends.ok_or("wanted is FROM-TO, such as 0.5s-1.5s")?;
    let (from, to) = (time(from)?, time(to)?);
    if to.value() - from.value() < SHORTEST {
        return Err("the end is to come at least 50 ms after the beginning".to_owned());
    }
    Ok((from, to))
}

/// Returns the rate that an option's text states, in whole hertz; `allowed` is only told.
pub(crate) fn rate(text: &str, allowed: &RangeInclusive<u32>) -> Result<u32, String> {
    let stated: Option<Hertz> = quantity(text).ok();
    stated.and_then(|rate| whole_number(rate.value())).and_then(|rate| u32::try_from(rate).ok()).ok_or_else(
        || {
            format!(
                "a whole number of hertz from {} to {} is wanted, such as 48 kHz",
                allowed.start(),
                allowed.end()
            )
        },
    )
}

/// Returns a reader of a whole number among `allowed`.
pub(crate) fn whole<N: TryFrom<u64>>(
    allowed: RangeInclusive<u64>,
) -> impl Fn(&str) -> Result<N, String> + Clone {
    move |text| {
        let number = text.trim().parse().ok().filter(|number| allowed.contains(number));
        number
            .and_then(|number| N::try_from(number).ok())
            .ok_or_else(|| format!("a whole number from {} to {} is wanted", allowed.start(), allowed.end()))
    }
}

/// Returns whether `word` is a unit, as it stands alone where a value and its unit were cut apart by a space.
pub(crate) fn is_unit(word: &str) -> bool {
    const UNITS: [&str; 15] =
        ["bpm", "db", "dbfs", "dbspl", "spl", "hz", "khz", "s", "ms", "mm", "cm", "m", "in", "bit", "bits"];
    UNITS.contains(&word.to_lowercase().as_str())
}

/// Returns what to do about a `word` that is a unit alone, after the `number` that it may be the unit of.
pub(crate) fn of_a_unit(word: &str, number: Option<&str>) -> String {
    let number = number.unwrap_or("10");
    format!(
        "a value and its unit are one word, such as {number}{word}, or stand in quotes: \"{number} {word}\""
    )
}

/// Returns `text` without blanks around it and with the minus sign of the keyboard in place of the printed one.
fn plain_minus(text: &str) -> String {
    text.trim().replace('\u{2212}', "-")
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a whole number that is not negative, saturated"
)]
fn whole_number(value: f64) -> Option<u64> {
    (value >= 0.0 && value.fract() == 0.0).then_some(value as u64)
}

#[cfg(test)]
mod tests {
    use drywire::quantity::Metres;

    use super::*;

    #[test]
    fn a_number_is_read_with_its_unit_and_without() {
        for (kind, text, value) in [
            (DECIBELS, "-20 dB", -20.0),
            (DECIBELS, "\u{2212}3", -3.0),
            (DECIBELS, "-6.5db", -6.5),
            (FULL_SCALE, "-12dBFS", -12.0),
            (FULL_SCALE, "-12 dB", -12.0),
            (SOUND_PRESSURE, "75 dB SPL", 75.0),
            (SOUND_PRESSURE, "75dBSPL", 75.0),
            (BEATS, "90 bpm", 90.0),
            (BEATS, "90/min", 90.0),
            (FACTOR, " 2 ", 2.0),
        ] {
            assert_eq!(kind.number(text, &(0.0..=1.0)), Ok(value), "{text}");
        }
    }

    #[test]
    fn what_is_no_number_is_answered_with_what_is_allowed() {
        for text in ["nan", "inf", "-inf", "", "loud", "90 dBFS", "1e999"] {
            let refused = BEATS.number(text, &(20.0..=400.0));
            assert_eq!(
                refused,
                Err("a number of beats a minute from 20 to 400 is wanted".to_owned()),
                "{text}"
            );
        }
        assert!(DECIBELS.number_within("41", &(0.05..=40.0)).is_err());
    }

    #[test]
    fn times_rates_and_counts_are_read_as_they_are_written() {
        for (text, seconds) in [("10 s", 10.0), ("500ms", 0.5), ("500 ms", 0.5), ("4", 4.0)] {
            assert_eq!(time(text), Ok(Seconds::new(seconds)), "{text}");
        }
        for text in ["-1", "-1s", "nan", "inf", "soon"] {
            assert!(time(text).is_err(), "{text}");
        }
        for (text, hertz) in [("48k", 48_000), ("44.1 kHz", 44_100), ("48000Hz", 48_000), ("8000", 8_000)] {
            assert_eq!(rate(text, &(8_000..=384_000)), Ok(hertz), "{text}");
        }
        for text in ["nan", "-48k", "44.1", "5e9", "fast"] {
            let refused = rate(text, &(8_000..=384_000)).expect_err(text);
            assert!(refused.contains("from 8000 to 384000"), "{refused}");
        }
        let whole = whole::<u8>(1..=12);
        assert_eq!(whole(" 7 "), Ok(7));
        for text in ["0", "13", "1.5", "-1", "nan", "many"] {
            assert_eq!(whole(text), Err("a whole number from 1 to 12 is wanted".to_owned()), "{text}");
        }
        assert_eq!(quantity::<Metres>("140 mm"), Ok(Metres::new(0.14)));
    }

    #[test]
    fn a_part_has_a_beginning_and_a_later_end() {
        let wanted = Ok((Seconds::new(0.5), Seconds::new(1.5)));
        for text in ["0.5s-1500ms", "0.5 s - 1.5 s", "0.5 to 1.5", "0.5s\u{2013}1.5s"] {
            assert_eq!(part(text), wanted, "{text}");
        }
        for text in ["", "1s", "2s-1s", "1s-1.01s", "a-b", "nan-2s", "-1s-2s"] {
            assert!(part(text).is_err(), "{text}");
        }
    }
}
