//! The blind comparison, which pages and the panel have alike: its part of a page, its script, and the runs that it offers.

use serde::Serialize;

use crate::abx::Run;

/// Its part of a page.
pub const BLIND_PART: &str = include_str!("blind.html");
/// Its script, which makes a class `Blind` known.
pub const BLIND_SCRIPT: &str = concat!(include_str!("script/made.js"), include_str!("script/blind.js"));

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
