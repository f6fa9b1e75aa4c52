//! Titles and answers in words: what a voice does, and what it does to the sound. Everything that shows voices to people
//! takes them from here; names such as `split-a`, `mode:1` or `selector:2` stand second.

mod answer;
mod title;

pub use answer::{Answer, brightness, brightness_steps, loudness, loudness_steps, loudness_with_figures};
pub use title::{arrangement, details, voice};

/// What two coils leave of hum that cancel it, as alike as two coils are: 3 % of difference in their turns leaves so much in
/// series. Common practice, no source.
pub const HUM_CANCELS: &str = "down to ≈ −30 dB";
