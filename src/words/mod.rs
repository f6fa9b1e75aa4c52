//! Titles and answers in words: what a voice does, and what it does to the sound. Everything that shows voices to people
//! takes them from here; names such as `split-a`, `mode:1` or `selector:2` stand second.

mod answer;
mod title;

pub use answer::{Answer, brightness, brightness_steps, loudness, loudness_steps, loudness_with_figures};
pub use title::{arrangement, details, standing, voice};

use crate::quantity::signed;

/// What two coils leave of hum that cancel it, as alike as two coils are: 3 % of difference in their turns leaves so much in
/// series. Common practice, no source.
pub const HUM_CANCELS: &str = "down to ≈ −30 dB";
const LEFT: f64 = -30.0;

/// Returns whether a level of hum in dB against one coil's, `None` below −120, counts as cancelled.
pub fn hum_cancels(level: Option<f64>) -> bool {
    level.is_none_or(|level| level < LEFT)
}

/// Returns what is left of hum that two coils cancel, in words.
pub fn hum_left(level: Option<f64>) -> String {
    match level {
        Some(level) if !hum_cancels(Some(level)) => {
            format!("down to {} dB, for the coils are not alike", signed(level, 1))
        }
        Some(_) | None => HUM_CANCELS.to_owned(),
    }
}

/// Returns what is said of a level of hum in dB against one coil's, `None` below −120. No figure is told of what two coils
/// cancel further than they are alike.
pub fn hum(level: Option<f64>) -> String {
    match level {
        Some(level) if !hum_cancels(Some(level)) => format!("{} dB", signed(level, 1)),
        Some(_) | None => HUM_CANCELS.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hum_that_coils_cancel_is_told_as_far_as_they_are_alike() {
        for (level, words) in [
            (None, "down to ≈ −30 dB"),
            (Some(-33.7), "down to ≈ −30 dB"),
            (Some(-18.4), "down to −18.4 dB, for the coils are not alike"),
        ] {
            assert_eq!(hum_left(level), words);
        }
    }
}
