//! Titles and answers in words: what a voice does, and what it does to the sound. Everything that shows voices to people
//! takes them from here; names such as `split-a`, `mode:1` or `selector:2` stand second.

mod answer;
mod title;

pub use answer::{Answer, brightness, brightness_steps, loudness, loudness_steps, loudness_with_figures};
pub use title::{arrangement, details, voice};
