//! What a voice does to the sound, in a listener's words.

use std::fmt;

use crate::quantity::signed;

/// Changes of loudness below this are not told apart from none. Our own convention, about a quarter of a decibel.
const NO_CHANGE: f64 = 0.02;

/// The parts of a loudness that have a word.
const PARTS: [(f64, &str); 10] = [
    (0.1, "a tenth"),
    (1.0 / 7.0, "a seventh"),
    (1.0 / 6.0, "a sixth"),
    (0.2, "a fifth"),
    (0.25, "a quarter"),
    (1.0 / 3.0, "a third"),
    (0.4, "two fifths"),
    (0.5, "half"),
    (2.0 / 3.0, "two thirds"),
    (0.75, "three quarters"),
];

/// Ratios of two spectral centroids from which on a word holds. Our own convention: what is just noticed lies near 5 %.
const BRIGHTER: [(f64, &str); 3] = [(1.04, "a little"), (1.15, ""), (1.5, "much")];

/// The plain answer to what a voice does to the sound, against the baseline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Answer {
    /// The change of loudness in sones, as a share: −0.25 is a quarter less.
    pub loudness: Option<f64>,
    /// The spectral centroid over the baseline's.
    pub brightness: Option<f64>,
    /// Whether the source gives the voice only approximately.
    pub is_approximate: bool,
}

impl fmt::Display for Answer {
    /// Writes what there are figures for: `about a quarter less loud, a little brighter`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let told = [self.loudness.map(loudness), self.brightness.map(brightness)];
        let told: Vec<String> = told.into_iter().flatten().collect();
        let mark = if self.is_approximate && !told.is_empty() { "≈ " } else { "" };
        write!(f, "{mark}{}", told.join(", "))
    }
}

/// Returns the words for changes of loudness: each holds from its change on, the share by which it is more, up to the next.
pub fn loudness_steps() -> Vec<(f64, String)> {
    let between = PARTS.windows(2).map(|pair| f64::midpoint(pair[0].0, pair[1].0));
    let edges: Vec<f64> = [0.07].into_iter().chain(between).chain([0.9]).collect();
    let part = |i: usize, side: &str| format!("about {} {side}", PARTS[i].1);
    let softer = (0..PARTS.len()).rev().map(|i| (-edges[i + 1], part(i, "less loud")));
    let louder = (0..PARTS.len()).map(|i| (edges[i], part(i, "louder")));
    [(-1.0, "hardly heard".to_owned())]
        .into_iter()
        .chain(softer)
        .chain([
            (-edges[0], "a little less loud".to_owned()),
            (-NO_CHANGE, "as loud".to_owned()),
            (NO_CHANGE, "a little louder".to_owned()),
        ])
        .chain(louder)
        .chain([
            (0.9, "about twice as loud".to_owned()),
            (1.5, "about three times as loud".to_owned()),
            (2.0, "more than three times as loud".to_owned()),
        ])
        .collect()
}

/// Returns the words for ratios of spectral centroids: each holds from its ratio on, up to the next.
pub fn brightness_steps() -> Vec<(f64, String)> {
    let word = |degree: &str, side: &str| format!("{degree} {side}").trim().to_owned();
    let darker = BRIGHTER.iter().rev().map(|(_, degree)| word(degree, "darker"));
    let from = BRIGHTER.iter().rev().skip(1).map(|(ratio, _)| 1.0 / ratio);
    let from = [0.0].into_iter().chain(BRIGHTER.last().map(|(ratio, _)| 1.0 / ratio)).chain(from);
    let darker = from.clone().zip(darker);
    let same = from.last().map(|ratio| (ratio, "as bright".to_owned()));
    darker
        .chain(same)
        .chain(BRIGHTER.iter().map(|(ratio, degree)| (*ratio, word(degree, "brighter"))))
        .collect()
}

/// Returns the words of the last of `steps` that `value` reaches.
fn reached(steps: Vec<(f64, String)>, value: f64) -> String {
    steps.into_iter().rev().find(|(from, _)| value >= *from).map_or_else(String::new, |(_, words)| words)
}

/// Returns a change of loudness in words: `about a third less loud`. `change` is the share by which it is more.
pub fn loudness(change: f64) -> String {
    reached(loudness_steps(), change)
}

/// Returns a change of loudness between the ends of `range`, in percent, in words and figures: `about a third less loud,
/// 31–36 %`.
pub fn loudness_with_figures([low, high]: [f64; 2]) -> String {
    let change = f64::midpoint(low, high) / 100.0;
    let figures = match [low.abs().min(high.abs()), low.abs().max(high.abs())].map(|x| signed(x, 0)) {
        _ if low < 0.0 && high > 0.0 => format!("{} to {} %", signed(low, 0), signed(high, 0)),
        [one, other] if one == other => format!("{one} %"),
        [one, other] => format!("{one}–{other} %"),
    };
    let words = loudness(change);
    if change.abs() < NO_CHANGE {
        words
    } else if change > 0.9 {
        format!("{words}, {figures} more")
    } else if change < -0.9 {
        format!("{words}, {figures} less loud")
    } else {
        format!("{words}, {figures}")
    }
}

/// Returns how much brighter a sound is whose spectral centroid is `ratio` times another's: `a little brighter`.
pub fn brightness(ratio: f64) -> String {
    reached(brightness_steps(), ratio)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_change_is_told_in_words_with_its_range() {
        for (range, words) in [
            ([-36.2, -31.4], "about a third less loud, 31–36 %"),
            ([-50.1, -49.9], "about half less loud, 50 %"),
            ([-0.4, 0.3], "as loud"),
            ([-6.0, -2.0], "a little less loud, 2–6 %"),
            ([-95.0, -91.0], "hardly heard, 91–95 % less loud"),
            ([18.0, 21.0], "about a fifth louder, 18–21 %"),
            ([90.0, 110.0], "about twice as loud, 90–110 % more"),
            ([-1.0, 8.0], "a little louder, −1 to 8 %"),
        ] {
            assert_eq!(loudness_with_figures(range), words);
        }
    }

    #[test]
    fn the_steps_rise_and_a_word_holds_from_its_step_on() {
        for steps in [loudness_steps(), brightness_steps()] {
            assert!(steps.windows(2).all(|pair| pair[0].0 < pair[1].0), "{steps:?}");
        }
        for (change, words) in [
            (-1.0, "hardly heard"),
            (-0.89, "about three quarters less loud"),
            (-0.13, "about a seventh less loud"),
            (-0.019, "as loud"),
            (0.02, "a little louder"),
            (0.12, "about a tenth louder"),
            (1.6, "about three times as loud"),
        ] {
            assert_eq!(loudness(change), words);
        }
    }

    #[test]
    fn brightness_has_seven_words_that_mirror_each_other() {
        for (ratio, words) in [
            (1.6, "much brighter"),
            (1.2, "brighter"),
            (1.05, "a little brighter"),
            (1.0, "as bright"),
            (1.0 / 1.05, "a little darker"),
            (1.0 / 1.2, "darker"),
            (1.0 / 1.6, "much darker"),
        ] {
            assert_eq!(brightness(ratio), words);
        }
    }

    #[test]
    fn the_plain_answer_tells_what_there_are_figures_for() {
        let answer = |loudness, brightness, is_approximate| {
            Answer { loudness, brightness, is_approximate }.to_string()
        };
        assert_eq!(answer(Some(-0.25), Some(1.05), false), "about a quarter less loud, a little brighter");
        assert_eq!(answer(None, Some(1.3), true), "≈ brighter");
        assert_eq!(answer(None, None, true), "");
    }
}
