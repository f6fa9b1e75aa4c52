//! A change of loudness in a listener's words.

use super::table::signed;

/// Changes below this are not told apart from none. Our own convention, about a quarter of a decibel.
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

/// Returns a change between the ends of `range`, in percent, in words and figures: `about a third less loud, 31–36 %`.
pub(super) fn in_words([low, high]: [f64; 2]) -> String {
    let change = f64::midpoint(low, high) / 100.0;
    let figures = match [low.abs().min(high.abs()), low.abs().max(high.abs())].map(|x| signed(x, 0)) {
        _ if low < 0.0 && high > 0.0 => format!("{} to {} %", signed(low, 0), signed(high, 0)),
        [one, other] if one == other => format!("{one} %"),
        [one, other] => format!("{one}–{other} %"),
    };
    let size = change.abs();
    let side = if change < 0.0 { "less loud" } else { "louder" };
    if size < NO_CHANGE {
        "as loud".to_owned()
    } else if change > 2.0 {
        format!("more than three times as loud, {figures} more")
    } else if change > 0.9 {
        format!("about {} as loud, {figures} more", if change > 1.5 { "three times" } else { "twice" })
    } else if size > 0.9 {
        format!("hardly heard, {figures} less loud")
    } else if size < 0.07 {
        format!("a little {side}, {figures}")
    } else {
        let nearest = PARTS.iter().min_by(|a, b| (a.0 - size).abs().total_cmp(&(b.0 - size).abs()));
        format!("about {} {side}, {figures}", nearest.map_or("", |(_, word)| word))
    }
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
            assert_eq!(in_words(range), words);
        }
    }
}
