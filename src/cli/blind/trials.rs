//! The trials of a blind comparison: what X was, and what it was said to be.

use drywire::abx::Run;

use crate::cli::Failure;

/// One of the two.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    A,
    B,
}

impl Side {
    /// Returns 0 for A and 1 for B.
    pub(super) fn index(self) -> usize {
        match self {
            Self::A => 0,
            Self::B => 1,
        }
    }

    /// Returns the letter.
    pub(super) fn letter(self) -> char {
        match self {
            Self::A => 'a',
            Self::B => 'b',
        }
    }
}

/// A run under way, or done.
#[derive(Debug)]
pub(super) struct Trials {
    run: Run,
    hidden: Vec<Side>,
    answers: Vec<Side>,
}

/// Returns what X is in each of `trials` trials, each side as likely, from the operating system's randomness.
pub(super) fn hidden_order(trials: u32) -> Result<Vec<Side>, Failure> {
    let mut drawn = vec![0u8; trials as usize];
    getrandom::fill(&mut drawn).map_err(|e| {
        let message = format!("the operating system gives no randomness: {e}");
        Failure::input(message, "the set's listen.html has a blind comparison too")
    })?;
    Ok(drawn.iter().map(|byte| if byte & 1 == 0 { Side::A } else { Side::B }).collect())
}

impl Trials {
    /// Returns a run without answers, X being what `hidden` says for each trial.
    pub(super) fn new(run: Run, hidden: Vec<Side>) -> Self {
        debug_assert_eq!(hidden.len(), run.trials() as usize);
        Self { run, hidden, answers: Vec::new() }
    }

    /// Returns the run.
    pub(super) fn run(&self) -> Run {
        self.run
    }

    /// Returns what X is in the present trial, `None` where all are done.
    pub(super) fn x(&self) -> Option<Side> {
        self.hidden.get(self.answers.len()).copied()
    }

    /// Takes the answer of the present trial.
    pub(super) fn answer(&mut self, side: Side) {
        if self.x().is_some() {
            self.answers.push(side);
        }
    }

    /// Returns the number of trials done.
    pub(super) fn done(&self) -> u32 {
        u32::try_from(self.answers.len()).unwrap_or(u32::MAX)
    }

    /// Returns the number of right answers.
    pub(super) fn right(&self) -> u32 {
        let right = self.hidden.iter().zip(&self.answers).filter(|(x, said)| x == said);
        u32::try_from(right.count()).unwrap_or(u32::MAX)
    }

    /// Returns what X was in each trial done, and what was said, a letter each.
    pub(super) fn letters(&self) -> [String; 2] {
        let of = |sides: &[Side]| sides.iter().map(|side| side.letter()).collect();
        [of(&self.hidden[..self.answers.len()]), of(&self.answers)]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_trial_takes_one_answer_and_the_last_ends_the_run() {
        let mut trials = Trials::new(Run::new(3).unwrap(), vec![Side::A, Side::B, Side::B]);
        for (x, said) in [(Side::A, Side::A), (Side::B, Side::A), (Side::B, Side::B)] {
            assert_eq!(trials.x(), Some(x));
            trials.answer(said);
        }
        trials.answer(Side::A);
        assert_eq!((trials.x(), trials.done(), trials.right()), (None, 3, 2));
        assert_eq!(trials.letters(), ["abb", "aab"]);
    }

    /// Of 6000 fair draws fewer than 2800 or more than 3200 of one side come once in four million runs.
    #[test]
    fn both_sides_are_drawn_alike() {
        let mut of_a = 0;
        for _ in 0..60 {
            of_a += hidden_order(100).unwrap().iter().filter(|side| **side == Side::A).count();
        }
        assert!((2800..=3200).contains(&of_a), "{of_a} of 6000");
    }
}
