//! What pages and the panel have alike: the waveform and the blind comparison, each with its part of a page, their script, and
//! the runs that a comparison offers.

use serde::Serialize;

use crate::abx::Run;

/// The waveform's part of a page.
pub const WAVE_PART: &str = include_str!("wave.html");
/// The waveform's part of a style sheet.
pub const WAVE_STYLE: &str = include_str!("wave.css");
/// The blind comparison's part of a page.
pub const BLIND_PART: &str = include_str!("blind.html");
/// The script of both, which makes the classes `Wave` and `Blind` known.
pub const PARTS_SCRIPT: &str = concat!(
    include_str!("script/made.js"),
    include_str!("script/largest.js"),
    include_str!("script/wave.js"),
    include_str!("script/blind.js"),
);

/// The numbers of trials that are offered.
const TRIALS: [u32; 6] = [10, 12, 16, 20, 25, 30];

/// A run that is offered.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BlindRun {
    trials: u32,
    needed: u32,
    /// The p value of each number of right answers, from none on.
    p: Vec<f64>,
}

impl BlindRun {
    /// Returns the runs that are offered.
    pub fn all() -> Vec<Self> {
        let of = |run: Run| {
            let p = (0..=run.trials()).map(|right| run.p_value(right)).collect();
            Some(Self { trials: run.trials(), needed: run.needed()?, p })
        };
        TRIALS.iter().filter_map(|trials| of(Run::new(*trials).ok()?)).collect()
    }
}
