//! Voices that are heard together.

use super::{Scope, SelectionError, Voice, VoiceError, VoiceResponse, baseline_among, voices_named};
use crate::guitar::Guitar;

/// Voices of one guitar, at least one, each with its response, and which of them the others are told against.
#[derive(Debug, Clone)]
pub struct Selection<'g> {
    guitar: &'g Guitar,
    scope: Scope<'g>,
    responses: Vec<VoiceResponse>,
    baseline: usize,
}

impl<'g> Selection<'g> {
    /// Returns the voices called `names` of `guitar`, or the usual ones where nothing is named, of `pickup` where one is
    /// named; `baseline` is the name of one of them, unless named `series`, else the first.
    ///
    /// # Errors
    /// [`SelectionError`] where a name asks for nothing that can be heard.
    pub fn of_names(
        guitar: &'g Guitar,
        pickup: Option<&str>,
        names: &[impl AsRef<str>],
        baseline: Option<&str>,
    ) -> Result<Self, SelectionError> {
        let scope = Scope::of_names(guitar, pickup, names)?;
        let voices = voices_named(guitar, scope, names)?;
        Self::of_voices(guitar, scope, &voices, baseline_among(&voices, baseline)?)
    }

    /// Returns the voices of `guitar` that are usual where nothing is named.
    ///
    /// # Errors
    /// [`SelectionError`] where none of them can be heard.
    pub fn usual(guitar: &'g Guitar) -> Result<Self, SelectionError> {
        Self::of_names(guitar, None, &[""; 0], None)
    }

    /// Returns `voices` of what is heard of `guitar`, told against the one at the place `baseline`.
    ///
    /// # Errors
    /// [`SelectionError::Nothing`] where there is none at that place, and [`SelectionError::Voice`] where one has no
    /// response.
    pub fn of_voices(
        guitar: &'g Guitar,
        scope: Scope<'g>,
        voices: &[Voice],
        baseline: usize,
    ) -> Result<Self, SelectionError> {
        if baseline >= voices.len() {
            return Err(SelectionError::Nothing);
        }
        let responses: Result<Vec<VoiceResponse>, VoiceError> =
            voices.iter().map(|voice| voice.response(guitar, scope)).collect();
        Ok(Self { guitar, scope, responses: responses?, baseline })
    }

    /// Returns the guitar.
    pub fn guitar(&self) -> &'g Guitar {
        self.guitar
    }

    /// Returns what of the guitar is heard.
    pub fn scope(&self) -> Scope<'g> {
        self.scope
    }

    /// Returns the voices with their responses, at least one.
    pub fn responses(&self) -> &[VoiceResponse] {
        &self.responses
    }

    /// Returns the place of the baseline among the voices.
    pub fn baseline(&self) -> usize {
        self.baseline
    }

    /// Returns the name of the baseline.
    pub fn baseline_name(&self) -> &str {
        self.responses[self.baseline].voice().name()
    }
}
